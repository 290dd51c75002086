//! Units of lengths, masses, times and angles, as headings and values state them in seven languages.

/// A unit as a heading or a value states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::exchange) struct Unit {
    /// How messages call it.
    pub(in crate::exchange) word: &'static str,
    /// What it is a unit of.
    pub(in crate::exchange) of: Quantity,
    /// How many metres, grams, seconds or degrees it is.
    pub(in crate::exchange) factor: f64,
}

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Quantity {
    Length,
    Mass,
    Time,
    Angle,
}

impl Unit {
    pub(in crate::exchange) const METRE: Self = Self { word: "metres", of: Quantity::Length, factor: 1.0 };
    pub(in crate::exchange) const CENTIMETRE: Self = Self { word: "centimetres", of: Quantity::Length, factor: 0.01 };
    pub(in crate::exchange) const MILLIMETRE: Self = Self { word: "millimetres", of: Quantity::Length, factor: 0.001 };
    pub(in crate::exchange) const FOOT: Self = Self { word: "feet", of: Quantity::Length, factor: 0.3048 };
    pub(in crate::exchange) const GRAM: Self = Self { word: "grams", of: Quantity::Mass, factor: 1.0 };

    /// The unit a word means. The inch, foot, ounce and pound are the international ones
    /// (NIST Handbook 44, appendix C); an ounce is avoirdupois. The words of other languages mean these too, and not the
    /// old feet and inches of their countries.
    pub(in crate::exchange) fn named(word: &str) -> Option<Self> {
        let inch = Self { word: "inches", of: Quantity::Length, factor: 0.0254 };
        Some(match word.trim().trim_end_matches('.').to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" | "millimètres" | "milímetros" | "millimetri" => {
                Self::MILLIMETRE
            }
            "cm" | "cms" | "centimetre" | "centimetres" | "centimeter" | "centimeters" | "zentimeter" | "centimètre"
            | "centimètres" | "centímetro" | "centímetros" | "centimetros" | "centimetri" => Self::CENTIMETRE,
            "m" | "metre" | "metres" | "meter" | "meters" | "mètre" | "mètres" | "metro" | "metros" | "metri" => Self::METRE,
            "in" | "ins" | "inch" | "inches" | "\"" | "″" | "zoll" | "pouce" | "pouces" | "pulgada" | "pulgadas" | "pollice"
            | "pollici" | "duim" | "duimen" | "tomme" | "tommer" => inch,
            "ft" | "foot" | "feet" | "fuß" | "fuss" | "pied" | "pieds" | "voet" | "voeten" | "pie" | "pies" | "fod" | "piede"
            | "piedi" => Self::FOOT,
            "us survey feet" | "us survey foot" | "us survey ft" | "survey feet" | "survey foot" | "survey ft" | "ftus"
            | "us-ft" => Self { word: "US survey feet", factor: 1200.0 / 3937.0, ..Self::FOOT },
            "mg" | "milligrams" => Self { word: "milligrams", factor: 0.001, ..Self::GRAM },
            "g" | "gm" | "gms" | "gram" | "grams" | "gramme" | "grammes" | "gramm" | "gramos" | "grammi" => Self::GRAM,
            "kg" | "kilogram" | "kilograms" => Self { word: "kilograms", factor: 1000.0, ..Self::GRAM },
            "gn" | "grain" | "grains" => Self { word: "grains", factor: 0.064_798_91, ..Self::GRAM },
            "dwt" | "pennyweight" | "pennyweights" => Self { word: "pennyweights", factor: 1.555_173_84, ..Self::GRAM },
            "ozt" | "troy oz" | "troy ounce" | "troy ounces" => Self { word: "troy ounces", factor: 31.103_476_8, ..Self::GRAM },
            "oz" | "ounce" | "ounces" | "unze" | "unzen" | "onza" | "onzas" => {
                Self { word: "ounces", factor: 28.349_523_125, ..Self::GRAM }
            }
            "lb" | "lbs" | "pound" | "pounds" => Self { word: "pounds", factor: 453.592_37, ..Self::GRAM },
            "s" | "sec" | "secs" | "seconds" => Self { word: "seconds", of: Quantity::Time, factor: 1.0 },
            "deg" | "degrees" | "°" => Self { word: "degrees", of: Quantity::Angle, factor: 1.0 },
            _ => return None,
        })
    }
}

/// The words that stand in brackets in a heading.
pub(in crate::exchange) fn in_brackets(text: &str) -> Vec<&str> {
    let inside = text.split_once(['(', '[']).map_or("", |(_, rest)| rest);
    let parted = |c: char| c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | ',' | ';');
    inside.split(parted).filter(|w| !w.is_empty()).collect()
}

/// The one unit that words in brackets name: `cm`, `in cm`, `ft above datum`, `m AOD`, `US survey feet`.
pub(super) fn stated_unit(words: &[&str]) -> Option<Unit> {
    if let Some(whole) = Unit::named(&words.join(" ")) {
        return Some(whole);
    }
    // Of "US survey feet above datum" the feet alone would be others.
    if let [a, b, c, ..] = words
        && let Some(whole) = Unit::named(&[*a, *b, *c].join(" "))
    {
        return Some(whole);
    }
    let links = |n: usize| {
        words.get(n).is_some_and(|w| matches!(w.to_lowercase().as_str(), "in" | "en" | "i"))
            && words.get(n + 1).is_some_and(|next| Unit::named(next).is_some())
    };
    let of_a_datum = |word: &str| {
        let lower = word.to_lowercase();
        let datum = |rest: &&str| rest.len() > 1 && (is_of_a_datum(rest) || matches!(*rest, "cd" | "msl"));
        lower.strip_prefix('m').filter(datum).map(|_| Unit::METRE)
    };
    let mut named =
        words.iter().enumerate().filter(|(n, _)| !links(*n)).filter_map(|(_, w)| Unit::named(w).or_else(|| of_a_datum(w)));
    let first = named.next()?;
    named.all(|unit| unit == first).then_some(first)
}

/// The unit that a mark behind a heading is: `depth "`.
pub(super) fn marked_unit(main: &str) -> Option<Unit> {
    let main = main.trim_end();
    if main.ends_with(['"', '″', '”']) {
        return Unit::named("in");
    }
    main.ends_with(['′', '\'']).then_some(Unit::FOOT)
}

/// Whether a word in brackets behind a measure says something else than its unit.
pub(super) fn says_no_unit(word: &str) -> bool {
    const OTHERWISE: &[&str] = &[
        "above",
        "below",
        "over",
        "under",
        "to",
        "of",
        "the",
        "from",
        "in",
        "at",
        "about",
        "approx",
        "approximate",
        "approximately",
        "ca",
        "circa",
        "est",
        "estimate",
        "estimated",
        "measured",
        "optional",
        "if",
        "known",
        "max",
        "min",
        "mean",
        "average",
        "top",
        "land",
        "chart",
        "ordnance",
        "sea",
        "sand",
        "surface",
        "msl",
        "lat",
        "cd",
        "mllw",
        "mhws",
        "mlws",
        "mhw",
        "mlw",
        "lidar",
    ];
    let word = word.trim_matches(['.', ':', '~', '?']).to_lowercase();
    word.is_empty() || is_of_a_datum(&word) || OTHERWISE.contains(&word.as_str())
}

/// A word for a level, or for what surveyed heights are above.
pub(super) fn is_of_a_datum(word: &str) -> bool {
    matches!(
        word,
        "level"
            | "levels"
            | "od"
            | "aod"
            | "odn"
            | "odm"
            | "datum"
            | "heightod"
            | "z"
            | "navd"
            | "navd88"
            | "ahd"
            | "nhn"
            | "nap"
            | "ngf"
            | "dvr90"
            | "taw"
            | "rh2000"
            | "nn2000"
            | "alicante"
            | "livello"
            | "niveau"
            | "nivel"
            | "peil"
            | "kote"
    )
}
