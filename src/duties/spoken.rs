//! Words by which a find's own text names what carries a duty: English, German, French, Dutch, Danish. Whole words, so that nothing is
//! found within another; common practice, no published source.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use super::list::Subject;

/// Phrases in lower case, parted by bars; what stands for an apostrophe or a hyphen in them is a space.
const PHRASES: [(Subject, &str); 5] = [
    (
        Subject::Ordnance,
        "bullet|cartridge|rounds|round ,|live round|patrone|patronen|patronenhülse|geschoss|geschoß|geschosse|gewehrkugel|bleikugel|\
         projektil|balle|cartouche|douille|kogel|kogels|kogelhuls|patroon|patronenhuls|patroonhuls|munition|munitie|\
         patron|patronhylster|projektil|geværkugle|ammunition",
    ),
    (
        Subject::HumanRemains,
        "human|skull|skeleton|burial|grave|cremation|cremated|cremains|cremation urn|funerary urn|urn|ashes|bone|jaw|jawbone|femur|\
         dog tag|dogtag|identity disc|\
         knochen|menschenknochen|gebein|gebeine|schädel|schaedel|kiefer|unterkiefer|oberschenkelknochen|urne|urnen|asche|skelett|grab|\
         erkennungsmarke|os|ossement|ossements|crâne|crane humain|mâchoire|fémur|cendres|squelette|tombe|plaque d identité|\
         plaque militaire|bot|botten|bottenresten|schedel|kaak|kaakbeen|dijbeen|asbus|asurn|crematieas|skelet|graf|\
         identiteitsplaatje|militair plaatje|\
         teeth|human remains|skeletal remains|coffin|coffin handle|coffin plate|vertebra|pelvis|knogle|knogler|menneskeknogle|\
         menneskeknogler|kranie|kraniet|kæbe|kæbeben|lårben|grav|aske",
    ),
    (
        Subject::Treasure,
        "hoard|torc|torque|axe head|axehead|arrowhead|arrow head|brooch|brooches|fibula|fibulae|denarius|denarii|stater|sovereign|\
         half sovereign|guinea|groat|ducat|escudo|piece of eight|pieces of eight|dirham|doubloon|spindle whorl|spearhead|spear head|\
         sword|dagger|strap end|pilgrim badge|pilgrim s badge|posy ring|seal|seal matrix|ingot|\
         hort|hortfund|münzschatz|münzhort|schatzfund|torques|axtkopf|beilkopf|axtklinge|tüllenbeil|pfeilspitze|pfeilspitzen|fibel|\
         fibeln|brosche|denar|denare|goldstater|dirhem|dublone|dublonen|spinnwirtel|siegel|siegelstempel|barren|goldbarren|silberbarren|\
         trésor|dépôt monétaire|tête de hache|hache|pointe de flèche|pointes de flèche|broche|fibule|denier|statère|souverain|doublon|\
         fusaïole|sceau|sceaux|lingot|\
         schat|muntschat|bijlkop|bijl|pijlpunt|pijlpunten|fibulae|mantelspeld|denarie|stater|sovereign|dubloen|dubloenen|spinklos|\
         spinsteen|spinsteentje|zegel|zegelstempel|baar|goudbaar|zilverbaar|\
         danefæ|skat|skattefund|møntskat|fibula|økse|økseblad|pilespids|spydspids|sværd|tenvægt|segl|seglstampe|guldbarre|sølvbarre",
    ),
    (
        Subject::Wreck,
        "wreck|shipwreck|wreckage|wreck timber|ship timber|trenail|treenail|ship s|ships|ship fitting|porthole|cannon|cannonball|\
         anchor stock|rigging|sextant|copper sheathing|sheathing nail|deadeye|aircraft|aircraft part|aeroplane|airplane|fuselage|cargo|\
         wrack|wrackholz|wrackteil|schiffsholz|schiffsplanke|schiffsteil|schiffsbeschlag|schiffsnagel|holznagel|bullauge|kanone|\
         flugzeugteil|flugzeugteile|flugzeug|épave|bois d épave|gournable|ferrure de navire|ferrures de navire|hublot|canon|avion|\
         pièce d avion|wrak|wrakhout|wrakstuk|scheepshout|scheepsbeslag|scheepsdeel|scheepsnagel|houten pen|patrijspoort|kanon|vliegtuig|\
         vliegtuigdeel|vliegtuigonderdeel|\
         anchor|anchor chain|ship bell|ship nail|ship spike|boat nail|propeller|plane part|vrag|vragdel|vragrest|skibstømmer|skibsdel|\
         skibsnagle|trænagle|koøje|anker|ankre|flydel|kanonkugle",
    ),
    (
        Subject::Ivory,
        "ivory|tusk|walrus tooth|whale tooth|whale s tooth|scrimshaw|elfenbein|stoßzahn|stosszahn|walzahn|pottwalzahn|walrosszahn|\
         ivoire|défense d éléphant|dent de baleine|dent de cachalot|dent de morse|ivoor|slagtand|walvistand|potvistand|walrustand|\
         elfenben|hvaltand|stødtand",
    ),
];

/// What says that a word above is part of another thing: an anchor's picture on a button is no anchor.
const NO_WRECK: &str = "button|badge|brooch|charm|pendant|toy|pattern|earring|necklace|bracelet|cufflink";

/// Other things that such a word is part of.
const OTHER_THINGS: &str = "skull ring|skull pendant|skull charm|skull badge|bone china|bone handle|bone button|bone comb|\
     printer cartridge|ink cartridge|gas cartridge|rubber seal|balle de golf|balle de tennis|\
     patron saint|false teeth|comb teeth|shark teeth|toy sword|toy dagger|cocktail sword";

/// The text as words in lower case with one space about each, and a comma where a part of it ends.
fn plain<'t>(texts: impl IntoIterator<Item = &'t String>) -> String {
    let mut words = String::from(" ");
    for text in texts {
        let mut word = false;
        for c in text.to_lowercase().chars().chain([',']) {
            if c.is_alphanumeric() {
                words.push(c);
                word = true;
                continue;
            }
            if std::mem::take(&mut word) {
                words.push(' ');
            }
            if ",;.()".contains(c) && !words.ends_with(", ") {
                words.push_str(", ");
            }
        }
    }
    words
}

/// Phrases as they are looked for, each alone and with an s.
struct Phrases(Vec<String>);

impl Phrases {
    fn of_text(phrases: &str) -> Self {
        Self(phrases.split('|').flat_map(|p| [format!(" {p} "), format!(" {p}s ")]).collect())
    }

    fn stand_in(&self, words: &str) -> bool {
        self.0.iter().any(|p| words.contains(p.as_str()))
    }
}

/// All phrases, made once: a book holds a hundred thousand finds.
static SPOKEN: LazyLock<[(Subject, Phrases); 5]> = LazyLock::new(|| PHRASES.map(|(s, text)| (s, Phrases::of_text(text))));
static NOT_OF_WRECKS: LazyLock<Phrases> = LazyLock::new(|| Phrases::of_text(NO_WRECK));

/// What texts of a find speak of.
pub(super) fn of(texts: [&str; 4]) -> BTreeSet<Subject> {
    let texts = texts.map(str::to_owned);
    let mut words = plain(&texts);
    for thing in OTHER_THINGS.split('|') {
        words = words.replace(&format!(" {thing} "), " ");
    }
    let spoken = SPOKEN
        .iter()
        .filter(|(subject, phrases)| phrases.stand_in(&words) && !(*subject == Subject::Wreck && NOT_OF_WRECKS.stand_in(&words)));
    spoken.map(|(subject, _)| *subject).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speaks(text: &str) -> Vec<Subject> {
        of([text, "", "", ""]).into_iter().collect()
    }

    #[test]
    fn each_language_names_what_carries_a_duty() {
        for (subject, texts) in [
            (
                Subject::Treasure,
                "danefæ/møntskat/pilespids/pieces of eight/spear head/strap end/hoard of coins/bronze torc/axe head/arrowheads/Roman fibula/denarius/stater/sovereign/dirham/doubloon/spindle whorl/lead seal/silver ingot/Hortfund/Axtkopf/Pfeilspitze/Fibel/Denar/Dublone/Spinnwirtel/Siegel/Barren/trésor/tête de hache/pointe de flèche/fibule/denier/fusaïole/sceau/lingot/muntschat/bijlkop/pijlpunt/mantelspeld/dubloen/spinsteen/zegel/baar",
            ),
            (
                Subject::HumanRemains,
                "bone/skull/jaw/femur/urn/ashes/dog tag/human teeth/coffin plate/menneskeknogle/kranie/Knochen/Schädel/Unterkiefer/Urne/Asche/Erkennungsmarke/ossement/crâne/mâchoire/fémur/cendres/botten/schedel/kaak/dijbeen/asurn",
            ),
            (Subject::Ivory, "ivory/Elfenbein/ivoire/ivoor/elfenben/whale tooth/scrimshaw/Walzahn/dent de cachalot/potvistand"),
            (
                Subject::Wreck,
                "small anchor/ship nail/vragdel/wreck timber/trenail/ship's fittings/aircraft part/Wrackholz/Flugzeugteil/épave/pièce d'avion/wrakhout/vliegtuigdeel",
            ),
            (Subject::Ordnance, "patron/bullet/cartridge/live round/a round/rounds/Patrone/cartouche/patroon"),
        ] {
            for text in texts.split('/') {
                assert!(speaks(text).contains(&subject), "{text}: {:?}", speaks(text));
            }
        }
    }

    #[test]
    fn no_word_is_found_within_another_or_as_part_of_another_thing() {
        for text in [
            "sealed tin",
            "trombone",
            "turned",
            "jawbreaker wrapper",
            "round washer",
            "button, cannon pattern",
            "fouled anchor button",
            "anchor charm",
            "patron saint medal",
            "false teeth",
            "skull ring",
            "inhuman",
        ] {
            assert_eq!(speaks(text), [], "{text}");
        }
    }
}
