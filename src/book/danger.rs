//! Words that speak of ordnance beyond the list of kinds, and words that only sound like it. Common practice, no published
//! source. Where it is in doubt a thing is told as possible ordnance: a person who knows better chooses another kind.

/// What is said wherever there may be ordnance, in one wording everywhere. Common practice, no published source.
pub const ORDNANCE_CAUTION: &str = "Do not touch, move or dig again what may be ordnance: keep away, mark the place from a distance and call the emergency services.";

/// Phrases that hold a dangerous word and speak of something else; they give no kind.
const HARMLESS: &[&str] = &[
    "bomb shaped",
    "grenade shaped",
    "rocket shaped",
    "shell shaped",
    "mine token",
    "mine check",
    "mine tag",
    "mine tally",
    "mine shaft",
    "mine worker",
    "mine lamp",
    "mine pump",
    "shrapnel ball",
    "bomb squad badge",
    "rocket lolly",
    "rocket salad",
    "bague grenat",
    "pierre grenat",
    "grenat ring",
    "granat ring",
    "granat smykke",
    "flare jeans",
    "bomb disposal badge",
    "bath bomb",
    "bomb crater",
];

/// Single words that mean a weapon when they are all that was written, and anything else within a sentence.
const ALONE: &[&str] = &["mine", "mines", "minen", "miner", "mina", "minas", "mijn", "mijnen"];

/// What a compound of German, Dutch or Danish ends with when it names one of these.
const ENDINGS: &[&str] = &[
    "granate",
    "granaten",
    "granaat",
    "granat",
    "granater",
    "bombe",
    "bomben",
    "munition",
    "munitie",
    "sprengkörper",
    "sprengkoerper",
    "sprengstoff",
    "sprængstof",
];

/// What ammunition for a cannon is written with; a case alone may be live, and a cap or tracer in it as well.
const OF_A_CANNON: &[&str] = &[
    "shell",
    "case",
    "casing",
    "round",
    "cartridge",
    "projectile",
    "hülse",
    "huelse",
    "geschoss",
    "douille",
    "obus",
    "huls",
    "vaina",
    "casquillo",
    "hylster",
    "bossolo",
    "proiettile",
];
/// From this calibre on a round holds an explosive more often than not, millimetres.
const CANNON_MM: f64 = 20.0;
/// No gun that left rounds on a beach was larger, millimetres; a larger figure is a length.
const LARGEST_MM: f64 = 500.0;

/// The phrases that take a dangerous word in them away, as words in lower case.
pub(super) fn harmless() -> impl Iterator<Item = Vec<String>> {
    HARMLESS.iter().map(|p| p.split(' ').map(str::to_owned).collect())
}

/// Whether the words speak of a weapon by what stands alone, by a compound's ending, or by a cannon's calibre.
pub(super) fn speaks(words: &[String]) -> bool {
    let alone = matches!(words, [only] if ALONE.contains(&only.as_str()));
    let compound = words.iter().any(|w| ENDINGS.iter().any(|e| w.len() > e.len() && w.ends_with(e)));
    alone || compound || live(words) || (of_a_cannon(words) && calibre(words))
}

/// A round said to be live, before its word or behind it. A shell of the sea may live too, and is told by other words.
fn live(words: &[String]) -> bool {
    let round = |w: &String| matches!(w.strip_suffix('s').unwrap_or(w), "cartridge" | "bullet" | "round" | "ammo");
    words.windows(2).any(|w| (w[0] == "live" && round(&w[1])) || (w[1] == "live" && round(&w[0])))
}

/// What one writes of a thing that one takes for something without being sure.
const SUPPOSED: &[&str] =
    &["looks like", "look like", "may be", "might be", "could be", "possible", "possibly", "suspected", "probably", "perhaps"];
/// How many words behind that still say what.
const SAID_IN: usize = 4;

/// What notes suppose a thing to be, as words in lower case: the few words behind "looks like" and its like.
pub(super) fn supposed(words: &[String]) -> impl Iterator<Item = &[String]> {
    (0..words.len()).filter_map(move |at| {
        let begins = |said: &&str| {
            let said: Vec<&str> = said.split(' ').collect();
            words.get(at..at + said.len()).filter(|w| w.iter().zip(&said).all(|(a, b)| a == b)).map(|_| at + said.len())
        };
        let from = SUPPOSED.iter().find_map(begins)?;
        words.get(from..words.len().min(from + SAID_IN))
    })
}

fn of_a_cannon(words: &[String]) -> bool {
    let is = |w: &String| OF_A_CANNON.contains(&w.as_str()) || w.strip_suffix('s').is_some_and(|w| OF_A_CANNON.contains(&w));
    // The shells of the sea and what is made of them are measured in millimetres too.
    let of_the_sea =
        ["button", "sea", "necklace", "bracelet", "pearl", "cockle", "scallop", "oyster", "mussel", "limpet", "whelk"];
    words.iter().any(is) && !words.iter().any(|w| of_the_sea.contains(&w.as_str()))
}

/// `20mm`, `20 mm`, `25 pounder`, `25pdr`.
fn calibre(words: &[String]) -> bool {
    let large = |number: &str| number.parse::<f64>().is_ok_and(|mm| (CANNON_MM..=LARGEST_MM).contains(&mm));
    let counts = |number: &str| number.parse::<u16>().is_ok_and(|pounds| (1..=100).contains(&pounds));
    let pounder = |w: &str| matches!(w, "pounder" | "pdr" | "pounders");
    words.iter().any(|w| w.strip_suffix("mm").is_some_and(large) || w.strip_suffix("pdr").is_some_and(counts))
        || words.windows(2).any(|w| (w[1] == "mm" && large(&w[0])) || (pounder(&w[1]) && counts(&w[0])))
}
