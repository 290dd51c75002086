//! What the name of a waypoint says beside the thing: "gold ring 44 15cm" gives a target ID and a depth.
//!
//! The rule: behind the first word, a number with a unit of centimetres, inches or feet is the depth, one in millimetres the
//! size, one with a unit of mass the mass; a single whole number of up to three digits with no word behind it is the
//! target ID, also after `id` or `vdi`; a pair such as `12-14` gives its middle. Two bare numbers give none. A number
//! before any word, written on to letters (`2p`, `9ct`) or with four digits (a year, `1914-18`) belongs to the thing, and so
//! does a fineness behind a word of jewellery (`ring 585`).

use crate::book::ZoneUse;
use crate::exchange::tools::heading::{Quantity, Unit};
use crate::exchange::tools::value::{number, target_id};

/// What a name says beside the thing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Spoken {
    pub(super) target_id: Option<f64>,
    pub(super) depth_m: Option<f64>,
    pub(super) size_mm: Option<f64>,
    pub(super) mass_g: Option<f64>,
}

impl Spoken {
    pub(super) fn says_anything(&self) -> bool {
        *self != Self::default()
    }
}

/// Words whose number counts or measures something else.
const OTHERWISE: &[&str] = &[
    "size",
    "no",
    "nr",
    "number",
    "hole",
    "spot",
    "day",
    "field",
    "area",
    "zone",
    "x",
    "of",
    "page",
    "lane",
    "find",
    "waypoint",
    "wpt",
    "wp",
    "point",
    "poi",
    "mark",
    "marker",
    "fund",
    "fundstelle",
    "trouvaille",
    "vondst",
    "hallazgo",
    "punkt",
    "punto",
];

/// The finenesses that precious metals are stamped with, in thousandths (ISO 9202, and 417, 835 and 958 beside it; from
/// memory).
const FINENESS: &[&str] = &["333", "375", "417", "585", "750", "800", "835", "916", "925", "950", "958", "990", "999"];

/// Words of what bears such a stamp: common practice, no published source.
const PRECIOUS: &[&str] = &[
    "ring",
    "rings",
    "earring",
    "earrings",
    "gold",
    "silver",
    "sterling",
    "platinum",
    "chain",
    "bracelet",
    "necklace",
    "pendant",
    "brooch",
    "band",
    "charm",
    "goldring",
    "silberring",
    "silber",
    "kette",
    "bague",
    "argent",
    "or",
    "anillo",
    "oro",
    "plata",
    "anello",
    "argento",
    "zilver",
    "goud",
    "guld",
    "s\u{f8}lv",
];

/// Steps of one in a row, over this share of the numbers, count.
const COUNTING: f64 = 0.8;
/// So many numbers that only rise count, too.
const RISING: usize = 5;

/// Whether numbers count something rather than measure it, in the order in which they stand.
pub(super) fn counts_up(numbers: &[f64]) -> bool {
    let steps = || numbers.windows(2).map(|w| w[1] - w[0]);
    let by_one = steps().filter(|s| *s == 1.0).count();
    let rises = numbers.len() >= RISING && steps().all(|s| s > 0.0);
    match numbers {
        [] => false,
        [alone] => *alone == 0.0 || *alone == 1.0,
        _ => rises || by_one as f64 >= COUNTING * (numbers.len() - 1) as f64,
    }
}

pub(super) fn spoken(name: &str) -> Spoken {
    let tokens: Vec<&str> =
        name.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')')).filter(|t| !t.is_empty()).collect();
    let is_word = |t: &str| t.chars().any(char::is_alphabetic) && number(t, false).is_none();
    let mut said = Spoken::default();
    let mut bare: Vec<(usize, &str)> = Vec::new();
    let (mut last_word, mut n) = (None, 0);
    while let Some(token) = tokens.get(n) {
        let next = tokens.get(n + 1).copied();
        let (value, unit, used) = match number(token, false) {
            Some((value, Some(unit))) => (Some(value), Some(unit), 1),
            // "15 cm": the unit stands apart, and is one only if no words go on from it, as in "2 in the sand".
            Some((value, None)) => match next.and_then(Unit::named).filter(|_| tokens.get(n + 2).is_none_or(|t| !is_word(t))) {
                Some(unit) => (Some(value), Some(unit), 2),
                None => (Some(value), None, 1),
            },
            None => (None, None, 1),
        };
        match (value, unit, last_word) {
            (Some(value), Some(unit), Some(_)) => said.measure(value, unit),
            (Some(_), None, Some(_)) if is_fineness(token, tokens.get(..n).unwrap_or_default()) => {}
            (Some(_), None, Some(_)) => bare.push((n, token)),
            (None, ..) if is_word(token) => last_word = Some(n),
            // A pair such as "12-14" is no single number.
            (None, _, Some(_)) => bare.push((n, token)),
            _ => {}
        }
        n += used;
    }
    if let ([(at, text)], Some(last)) = (bare.as_slice(), last_word) {
        let before = tokens.get(at.wrapping_sub(1)).map(|t| t.to_lowercase()).unwrap_or_default();
        let digits = |part: &str| part.chars().filter(char::is_ascii_digit).count();
        let pair = text.trim_start_matches('-').contains('-');
        let short = (1..=3).contains(&digits(text)) || (pair && text.split('-').all(|part| digits(part) <= 3));
        if last < *at && short && !text.contains('.') && !OTHERWISE.contains(&before.trim_end_matches('.')) {
            said.target_id = target_id(text, false).filter(|v| (-99.0..=999.0).contains(v));
        }
    }
    said
}

/// Whether a number is the stamp of a precious thing that the words before it name.
fn is_fineness(token: &str, before: &[&str]) -> bool {
    FINENESS.contains(&token) && before.iter().any(|word| PRECIOUS.contains(&word.to_lowercase().as_str()))
}

impl Spoken {
    fn measure(&mut self, value: f64, unit: Unit) {
        let si = value * unit.factor;
        match (unit.of, unit.word) {
            (Quantity::Length, "millimetres") => self.size_mm = Some(value),
            // Nobody digs metres; such a number says how far from something.
            (Quantity::Length, "metres") => {}
            (Quantity::Length, _) if si <= 2.0 => self.depth_m = Some(si),
            (Quantity::Mass, _) => self.mass_g = Some(si),
            _ => {}
        }
    }
}

/// The words of a text in lower case, numbers left out.
fn plain_words(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty() && !w.chars().all(|c| c.is_ascii_digit()))
        .map(str::to_lowercase)
        .collect()
}

/// Whether words hold one of some phrases.
fn say_one_of(words: &[String], phrases: &[&str]) -> bool {
    phrases.iter().any(|phrase| {
        let phrase: Vec<&str> = phrase.split(' ').collect();
        words.windows(phrase.len()).any(|w| w.iter().zip(&phrase).all(|(a, b)| a == b))
    })
}

/// Words by which people say that something was found: common practice, no published source.
const FOUND: &[&str] = &[
    "find",
    "finds",
    "found",
    "recovered",
    "returned",
    "fund",
    "funde",
    "gefunden",
    "trouvaille",
    "trouvailles",
    "trouvé",
    "retrouvé",
    "vondst",
    "vondsten",
    "gevonden",
    "hallazgo",
    "hallazgos",
    "encontrado",
    "ritrovamenti",
    "trovato",
    "fundet",
];

/// Whether the name of a folder says that what stands in it was not dug: common practice, no published source.
pub(in crate::exchange) fn folder_without_finds(folder: &str) -> bool {
    const NO_FINDS: &[&str] = &[
        "to search",
        "to do",
        "todo",
        "to dig",
        "to check",
        "to visit",
        "to try",
        "search next",
        "plans",
        "ideas",
        "lost",
        "missing",
        "verloren",
        "access",
        "accesses",
        "access points",
        "parking",
        "car park",
        "car parks",
        "parkplatz",
        "parkplätze",
        "aparcamiento",
        "parcheggio",
        "parkeerplaats",
        "parkeringsplads",
        "zugang",
        "zugänge",
        "accès",
    ];
    let words = plain_words(folder);
    say_one_of(&words, NO_FINDS) && !say_one_of(&words, FOUND)
}

/// Whether the name of a folder says that what stands in it was heard and not dug.
pub(in crate::exchange) fn folder_of_signals(folder: &str) -> bool {
    let words = plain_words(folder);
    say_one_of(&words, &["signal", "signals", "signale", "signaux", "signalen", "señales", "segnali", "signaler"])
        && !say_one_of(&words, FOUND)
}

/// Whether a name speaks of danger or a ban, and of no thing: words that things have as well do not tell.
pub(super) fn names_danger(name: &str) -> bool {
    const ALSO_OF_THINGS: &[&str] = &[
        "vase",
        "closed",
        "cliff",
        "cliffs",
        "rockfall",
        "mines",
        "silt",
        "fango",
        "slik",
        "munition",
        "munitions",
        "ammunition",
    ];
    let words: Vec<String> = plain_words(name).into_iter().filter(|w| !ALSO_OF_THINGS.contains(&w.as_str())).collect();
    matches!(ZoneUse::keep_off(&words.join(" ")), Some(ZoneUse::NoSearch | ZoneUse::Mud)) && !say_one_of(&words, FOUND)
}

/// Whether a name speaks of something that was lost and not found.
pub(super) fn names_loss(name: &str) -> bool {
    const LOST: &[&str] =
        &["lost", "verloren", "perdu", "perdue", "perdido", "perdida", "perso", "smarrito", "smarrita", "tabt", "mistet"];
    let words = plain_words(name);
    say_one_of(&words, LOST) && !say_one_of(&words, FOUND)
}

/// Whether a waypoint names a place one goes to rather than a thing one digs: common practice, no published source.
pub(super) fn names_a_place(texts: &[&str]) -> bool {
    const PLACES: &[&str] = &[
        "car park",
        "carpark",
        "parking",
        "parking area",
        "parked",
        "start",
        "finish",
        "toilet",
        "toilets",
        "wc",
        "restroom",
        "cafe",
        "café",
        "restaurant",
        "pub",
        "bar",
        "hotel",
        "home",
        "lodging",
        "campground",
        "campsite",
        "camp",
        "bus stop",
        "station",
        "steps",
        "stairs",
        "slipway",
        "ramp",
        "gate",
        "entrance",
        "exit",
        "access",
        "path",
        "footpath",
        "lifeguard",
        "first aid",
        "meeting point",
        "viewpoint",
        "trailhead",
        "parkplatz",
        "aparcamiento",
        "parcheggio",
        "parkeerplaats",
        "parkeringsplads",
        "waypoint home",
        "residence",
    ];
    texts.iter().any(|text| say_one_of(&plain_words(text), PLACES))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_gives_target_id_depth_size_and_mass_by_the_rule() {
        let of = |name| {
            let s = spoken(name);
            (s.target_id, s.depth_m.map(|d| (d * 1e4).round() / 1e4), s.size_mm, s.mass_g)
        };
        assert_eq!(of("gold ring 44 15cm"), (Some(44.0), Some(0.15), None, None));
        assert_eq!(of("gold ring, 44, 15 cm"), (Some(44.0), Some(0.15), None, None));
        assert_eq!(of("penny 6\" 71"), (Some(71.0), Some(0.1524), None, None));
        assert_eq!(of("ring 4.2g id 12-14"), (Some(13.0), None, None, Some(4.2)));
        assert_eq!(of("button 22mm"), (None, None, Some(22.0), None));
        for name in [
            "ring",
            "2 pence",
            "2p coin",
            "9ct ring",
            "penny 1914",
            "ring size 12",
            "2 euro 2002",
            "coin 2 in the sand",
            "coin 50 pence",
            "44 15cm",
            "foil 12 44",
            "find no. 7",
            "coin 5m from groyne",
            "button 1914-18",
            "ring 585",
            "gold band 750",
            "Find 8",
            "Waypoint 7",
            "",
        ] {
            assert!(!spoken(name).says_anything(), "{name}: {:?}", spoken(name));
        }
    }

    #[test]
    fn numbers_that_go_on_count_and_others_do_not() {
        for counting in [&[1.0, 2.0, 3.0][..], &[1.0], &[7.0, 8.0], &[3.0, 7.0, 12.0, 13.0, 40.0]] {
            assert!(counts_up(counting), "{counting:?}");
        }
        for ids in [&[44.0][..], &[44.0, 12.0], &[12.0, 13.0, 12.0], &[60.0, 71.0, 72.0, 44.0], &[]] {
            assert!(!counts_up(ids), "{ids:?}");
        }
    }

    #[test]
    fn what_was_lost_or_forbids_is_told_from_things() {
        for text in ["Danger soft mud", "Quicksand", "Do not dig here", "Betreten verboten"] {
            assert!(names_danger(text), "{text}");
        }
        for text in ["coin", "glass vase", "nail by the cliff", "found in soft mud"] {
            assert!(!names_danger(text), "{text}");
        }
        assert!(names_loss("Gold ring lost here") && !names_loss("lost ring found") && !names_loss("gold ring"));
        assert!(folder_without_finds("My map Places to search") && !folder_without_finds("Finds at Lost Bay"));
        assert!(folder_of_signals("Signals") && !folder_of_signals("Finds and signals"));
    }

    #[test]
    fn places_are_told_from_things() {
        for text in ["Car park", "CAR PARK 2", "Toilets", "Parking Area", "Start", "steps down"] {
            assert!(names_a_place(&[text]), "{text}");
        }
        for text in ["gold ring", "bar brooch ring", "started here"] {
            assert_eq!(names_a_place(&[text]), text.contains("bar "), "{text}");
        }
    }
}
