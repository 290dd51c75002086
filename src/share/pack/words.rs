//! Words of a find that leave where its place is told coarsely: those of things, ages and offices that are listed, and no others.
//!
//! People write where a thing lay in every language and in names that no list of forbidden words could hold ("by the boathouse",
//! "third groyne", four words of a code), so words leave only where every one of them is known to say nothing of a place.

use crate::book::Kinds;

/// What is said where words were written that are not told.
pub(super) const NOT_TOLD: &str = "noted, not told here";

/// What words are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    /// A thing and how it is.
    Thing,
    /// How old it is.
    Age,
    /// To whom it was reported, and what was done with it.
    Report,
}

/// The words, or that they are not told where places are not to be told and they may tell one.
pub(super) fn kept(text: &str, exact: bool, of: Of) -> String {
    if exact || may_leave(text, of) { text.to_owned() } else { NOT_TOLD.to_owned() }
}

/// Whether every word is one that says nothing of a place.
pub(super) fn may_leave(text: &str, of: Of) -> bool {
    let is_of_a_thing = |word: &str| THING.contains(&word);
    match of {
        Of::Age => is_age(text),
        Of::Thing => is_plain(text) && Kinds::shipped().makes_up(text, is_of_a_thing),
        Of::Report => {
            let text = text.to_lowercase().replace("receiver of wreck", "receiver");
            is_plain(&text) && Kinds::shipped().makes_up(&text, |word| is_of_a_thing(word) || REPORT.contains(&word))
        }
    }
}

/// Materials, states, sizes, colours and things that the list of kinds has no word for. Common practice, no published source.
#[rustfmt::skip]
const THING: [&str; 186] = [
    "gold", "golden", "silver", "copper", "bronze", "brass", "lead", "iron", "steel", "tin", "pewter", "nickel", "zinc",
    "aluminium", "aluminum", "platinum", "palladium", "titanium", "tungsten", "plastic", "glass", "ceramic", "wooden",
    "leather", "enamel", "enamelled", "gilt", "gilded", "plated", "plate", "alloy", "ivory", "pearl", "amber", "diamond",
    "ruby", "sapphire", "emerald", "stainless", "sterling", "carat", "hallmark", "hallmarked", "worn", "bent", "broken",
    "cut", "cleaned", "clean", "corroded", "rusty", "rusted", "encrusted", "crusted", "complete", "incomplete", "damaged",
    "cracked", "holed", "pierced", "clipped", "folded", "twisted", "squashed", "crushed", "flattened", "polished",
    "scratched", "dirty", "patinated", "patina", "good", "fair", "poor", "fine", "mint", "toned", "very", "badly",
    "slightly", "half", "part", "fragment", "fragments", "piece", "pieces", "bit", "bits", "missing", "lost", "whole",
    "loose", "condition", "conserved", "untouched", "decorated", "engraved", "inscribed", "initials", "hammered", "milled",
    "cast", "stamped", "small", "large", "big", "little", "tiny", "thin", "thick", "heavy", "round", "oval", "flat",
    "hollow", "solid", "green", "red", "blue", "white", "black", "yellow", "grey", "gray", "brown", "old", "new", "modern",
    "ancient", "antique", "vintage", "unidentified", "possible", "possibly", "probable", "probably", "maybe", "likely",
    "perhaps", "illegible", "foreign", "medal", "locket", "crucifix", "clasp", "strap", "padlock", "knife", "spoon",
    "teaspoon", "cutlery", "soldier", "thimble", "whistle", "bead", "cufflink", "brooch", "fibula", "denarius", "stater",
    "groat", "halfpenny", "crown", "guinea", "pence", "hoard", "lump", "scrap", "slag", "junk", "litter", "lure", "swivel",
    "rivet", "mount", "and", "or", "with", "without", "of", "a", "an", "no", "not", "is", "was",
];

/// Offices and what is done with finds. Common practice, no published source.
#[rustfmt::skip]
const REPORT: [&str; 67] = [
    "museum", "curator", "finds", "find", "officer", "office", "liaison", "coroner", "police", "receiver", "landowner",
    "owner", "holder", "trust", "council", "county", "national", "heritage", "archaeologist", "archaeological",
    "archaeology", "unit", "treasure", "trove", "scheme", "antiquities", "department", "society", "club", "finder",
    "family", "reported", "report", "told", "shown", "handed", "given", "returned", "sold", "kept", "keep", "recycled",
    "scrapped", "binned", "thrown", "away", "donated", "lent", "recorded", "registered", "declared", "submitted", "offered",
    "awaiting", "pending", "waiting", "yes", "none", "yet", "duty", "once", "to", "the", "s", "letter", "phone", "email",
];

/// Ages in words, in the languages of the list of kinds. Common practice, no published source.
#[rustfmt::skip]
const AGE: [&str; 131] = [
    "roman", "romano", "british", "celtic", "saxon", "anglo", "viking", "norman", "medieval", "mediaeval", "tudor",
    "elizabethan", "jacobean", "stuart", "georgian", "victorian", "edwardian", "modern", "recent", "contemporary",
    "prehistoric", "neolithic", "mesolithic", "palaeolithic", "byzantine", "greek", "carolingian", "merovingian",
    "hanoverian", "napoleonic", "colonial", "bronze", "iron", "middle", "dark", "ages", "age", "era", "period", "reign",
    "pre", "early", "late", "mid", "later", "earlier", "of", "the", "to", "or", "and", "before", "after", "about", "around",
    "circa", "approx", "probably", "possibly", "perhaps", "maybe", "likely", "unknown", "uncertain", "undated", "old",
    "ancient", "antique", "new", "world", "wartime", "years", "decade", "george", "victoria", "edward", "elizabeth",
    "william", "charles", "james", "henry", "anne", "römisch", "mittelalter", "mittelalterlich", "neuzeit", "neuzeitlich",
    "bronzezeit", "eisenzeit", "steinzeit", "antik", "romain", "romaine", "gallo", "médiéval", "moderne", "antiquité",
    "moyen", "âge", "époque", "bis", "um", "vor", "nach", "vers", "romeins", "romeinse", "middeleeuws", "middeleeuwen",
    "bronstijd", "ijzertijd", "romana", "medioevo", "moderno", "antico", "antiguo", "edad", "media", "romersk",
    "middelalder", "vikingetid", "jernalder", "bronzealder", "stenalder", "nyere", "tid", "gammel", "ca", "c", "ii", "iii",
];

/// Words of an age that say nothing of a place only one after the other: a third stone does.
const AGE_TOGETHER: [[&str; 2]; 12] = [
    ["post", "medieval"],
    ["post", "mediaeval"],
    ["post", "roman"],
    ["stone", "age"],
    ["first", "world"],
    ["second", "world"],
    ["world", "war"],
    ["first", "century"],
    ["second", "century"],
    ["third", "century"],
    ["first", "half"],
    ["second", "half"],
];

/// What follows or goes before a year.
const ERA: [&str; 4] = ["ad", "bc", "ce", "bce"];
/// What follows the number of a century.
const CENTURY: [&str; 12] = [
    "century",
    "centuries",
    "cent",
    "jahrhundert",
    "jahrhunderts",
    "jh",
    "jhd",
    "siècle",
    "eeuw",
    "århundrede",
    "siglo",
    "secolo",
];
/// What stands between two years.
const TO: [&str; 6] = ["to", "or", "and", "bis", "til", "until"];
/// No year is later than this.
const LAST_YEAR: u32 = 2100;

/// No figure of any script, no mark but those of a sentence, and no three words joined by dots, as some write a place.
fn is_plain(text: &str) -> bool {
    let joined = |word: &str| {
        let parts: Vec<&str> = word.split(['.', '\u{3002}', '\u{ff0e}', '\u{ff61}', '\u{b7}']).collect();
        let is_word = |part: &&str| part.chars().any(char::is_alphabetic);
        parts.windows(3).any(|three| three.iter().all(is_word))
    };
    let sound = |c: char| c.is_alphabetic() || c.is_whitespace() || "-\u{2013}/.,;:?!()&+\"'\u{2019}".contains(c);
    text.chars().all(sound) && !text.split_whitespace().any(joined)
}

/// A word of an age with where it stands in the text.
struct Word<'t> {
    text: String,
    figure: Option<Figure>,
    before: &'t str,
}

/// A year, decade or century as it is written.
#[derive(Debug, Clone, Copy)]
struct Figure {
    number: u32,
    /// Whether it is a year or a decade by itself; a shorter one needs an era, a century or a year before it.
    alone: bool,
}

/// Years and centuries in plain words: at most two figures, the second after a dash or a word for one, each a year that can be.
/// Four figures and four are a place on a grid, and so are two and two with letters.
fn is_age(text: &str) -> bool {
    let sound = |c: char| c.is_alphanumeric() || c.is_whitespace() || "-\u{2013}/.,?()~'\u{2019}".contains(c);
    if !text.chars().all(sound) {
        return false;
    }
    let Some(words) = words_of_an_age(text) else { return false };
    let word = |n: usize| words.get(n).map_or("", |w| w.text.as_str());
    let is_of_a_figure = |n: usize| ERA.contains(&word(n)) || CENTURY.contains(&word(n));
    let together = |n: usize| AGE_TOGETHER.contains(&[word(n), word(n + 1)]);
    let is_known = |n: usize| {
        let listed = [&AGE[..], &ERA[..], &CENTURY[..], &TO[..]].iter().any(|list| list.contains(&word(n)));
        words[n].figure.is_some() || listed || together(n) || (n > 0 && together(n - 1))
    };
    if !(0..words.len()).all(is_known) {
        return false;
    }
    let figures: Vec<(usize, Figure)> = words.iter().enumerate().filter_map(|(n, w)| Some((n, w.figure?))).collect();
    let has_era = |n: usize| is_of_a_figure(n + 1) || (n > 0 && ERA.contains(&word(n - 1)));
    match figures[..] {
        [] => true,
        [(n, one)] => one.alone || has_era(n),
        [(a, one), (b, two)] => {
            let dash = words[a + 1..=b].iter().any(|w| w.before.contains(['-', '\u{2013}', '/']));
            let to = (a + 1..b).any(|n| TO.contains(&word(n)));
            let about = |n: usize| ["c", "ca", "circa"].contains(&word(n));
            let between = (a + 1..b).all(|n| TO.contains(&word(n)) || is_of_a_figure(n) || about(n));
            // "1914-18"; and years before Christ run backward.
            let short = one.alone && !two.alone && b == a + 1 && one.number % 100 < two.number;
            let backward = words.iter().any(|w| ["bc", "bce"].contains(&w.text.as_str()));
            let in_order = backward || short || one.number <= two.number;
            let can_be = |n: usize, figure: Figure| figure.alone || has_era(n);
            // "17th or 18th century": the word after the last is of both.
            let first = can_be(a, one) || has_era(b);
            (dash || to) && between && in_order && first && (short || can_be(b, two))
        }
        _ => false,
    }
}

/// The words of an age; `None` where one holds a figure that is no year.
fn words_of_an_age(text: &str) -> Option<Vec<Word<'_>>> {
    let mut words = Vec::new();
    let mut rest = text;
    while let Some(start) = rest.find(char::is_alphanumeric) {
        let (before, from) = rest.split_at(start);
        let end = from.find(|c: char| !c.is_alphanumeric()).unwrap_or(from.len());
        let (word, after) = from.split_at(end);
        let word = word.to_lowercase();
        let figure = if word.chars().any(char::is_numeric) { Some(figure(&word)?) } else { None };
        words.push(Word { text: word, figure, before });
        rest = after;
    }
    Some(words)
}

/// "1914", "c1800", "1950s", "19th", "43".
fn figure(word: &str) -> Option<Figure> {
    let bare = word.strip_prefix('c').unwrap_or(word);
    let digits = bare.trim_end_matches(|c: char| !c.is_ascii_digit());
    if digits.len() > 4 || digits.starts_with('0') || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let number: u32 = digits.parse().ok()?;
    let alone = match &bare[digits.len()..] {
        "" => digits.len() >= 3,
        "s" => digits.len() >= 2,
        // Of a century.
        "st" | "nd" | "rd" | "th" | "e" if number <= 30 => false,
        _ => return None,
    };
    (number <= LAST_YEAR).then_some(Figure { number, alone })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_may_be_a_place_a_time_or_a_photograph_stay() {
        let telling = [
            "N50 20.480 W004 10.280",
            "IMG_20250503_101200",
            "coin 10:15",
            "SX 45",
            // Arabic-Indic, Devanagari and full-width digits (Unicode, general category Nd), a fraction (No).
            "\u{665}\u{660}",
            "\u{96b}\u{966}",
            "\u{ff15}\u{ff10}",
            "\u{bd} way down",
            "invented.words.here",
            "coin.ring.penny",
            "at ///invented.words.here",
            "ring, twelve paces north of the boat sheds steps",
            "ten metres from the wreck post",
            "roman brooch by the oak",
            "found near gate at ten past ten",
            "fundet bag klitten",
            "gold ring, third groyne",
            "coin veinte pasos al norte del espigón",
            "Münze zwölf Schritte nördlich vom Steg",
            "coin by Smith's boathouse",
            "ring NW corner of car park",
            "coin, big rock",
            "penny lifeguard hut dunes end",
            "quebec kilo four",
            "nine four two six",
            "gcjsxq",
            "ring \u{1f5fc}",
        ];
        for text in ["by the wreck", "given to the wreck", "in the office"] {
            assert!(!may_leave(text, Of::Report), "{text}");
        }
        for text in telling {
            for of in [Of::Thing, Of::Age, Of::Report] {
                assert!(!may_leave(text, of), "{text} {of:?}");
            }
        }
        assert_eq!(kept("50.3", false, Of::Thing), NOT_TOLD);
        assert_eq!(kept("50.3", true, Of::Thing), "50.3");
    }

    #[test]
    fn plain_words_of_things_and_offices_leave() {
        for text in [
            "",
            "penny",
            "ring-pull",
            "gold ring",
            "bent silver ring",
            "pièce de monnaie",
            "bottle caps",
            "Worn. Cleaned.",
            "mother of pearl button",
            "hot rock",
        ] {
            assert!(may_leave(text, Of::Thing), "{text}");
        }
        for text in
            ["the trust's office", "finds liaison officer", "kept", "not yet", "recycled", "county museum", "Receiver of Wreck"]
        {
            assert!(may_leave(text, Of::Report), "{text}");
        }
    }

    #[test]
    fn an_age_may_be_years_or_centuries_and_nothing_else_with_a_figure() {
        for age in [
            "1914",
            "1950s to 1960s",
            "c. 1800",
            "17th century",
            "43 AD",
            "500 BC - 100 BCE",
            "1837-1901",
            "1837 to 1901",
            "1914-18",
            "17th or 18th century",
            "19. Jahrhundert",
            "Roman",
            "late medieval",
            "post-medieval",
            "Second World War",
            "c1700?",
            "1026",
            "",
        ] {
            assert_eq!(kept(age, false, Of::Age), age);
        }
        for age in [
            "50.3412 4.1712",
            "10:15",
            "SX 4567 8901",
            "sx 4567",
            "50n 4w",
            "1 2 3",
            "20250503",
            "N 5034",
            "\u{665}\u{660}",
            "5034' 0417'E",
            "5262 4085",
            "0526 0041",
            "1026 1041",
            "a 52 b 62",
            "52 north 4 west",
            "12 paces",
            "third stone",
            "second post",
            "1850 north of pier",
            "long eight foot pole",
            "half past ten",
            "ten ten",
        ] {
            assert_eq!(kept(age, false, Of::Age), NOT_TOLD, "{age}");
        }
    }
}
