//! Figures said as words, the same on every card.

use crate::app::state::FrameContext;
use crate::reading::{LevelRange, Rate, odds};

/// How often luck alone would bring as much.
pub(super) fn chance(p: f64) -> String {
    odds(p)
}

pub(super) fn level(shown: &FrameContext<'_>, l: LevelRange) -> String {
    let (shift, datum) = shown.beach.and_then(|b| b.datum_offset_m).map_or((0.0, "land datum"), |o| (o, "tide datum"));
    format!("sand {:.1} to {:.1} m above {datum}", l.low_m + shift, l.high_m + shift)
}

/// A band within a sentence: "between MHWN and MSL", "above MHWS".
pub(super) fn band(name: &str) -> String {
    name.split_once(" to ").map_or_else(|| name.to_owned(), |(high, low)| format!("between {high} and {low}"))
}

pub(super) fn rate(r: Rate) -> String {
    format!("{:.2} per 100 m² of rested ground ({:.2} to {:.2})", r.per_100m2, r.low, r.high)
}

pub(super) fn share(here: f64, elsewhere: Option<f64>, p: f64) -> String {
    let rest = elsewhere.map_or_else(String::new, |e| format!(" against {:.0} % elsewhere", e * 100.0));
    format!("{:.0} %{rest} (by luck {})", here * 100.0, chance(p))
}

pub(super) fn outings(n: usize) -> String {
    if n == 1 { "one outing".to_owned() } else { format!("{n} outings") }
}

/// Thousands kept apart by a space that does not break.
pub(super) fn whole(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut said = String::new();
    for (n, digit) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            said.push('\u{a0}');
        }
        said.push(digit);
    }
    if value <= -0.5 { format!("-{said}") } else { said }
}

/// A sentence of the reading as it is set on the sheet: long figures broken up, and no line ending between a figure
/// and its unit or within a chance.
pub(super) fn set(text: &str) -> String {
    let mut said = String::new();
    let mut rest = text;
    while let Some(from) = rest.find(|c: char| c.is_ascii_digit()) {
        let digits: &str = &rest[from..];
        let digits = &digits[..digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len())];
        said += &rest[..from];
        // A run after a point or within a date or name is no whole figure.
        let is_whole = !rest[..from].ends_with(['.', '-', ':']) && digits.len() >= 5;
        said += &digits.parse::<f64>().ok().filter(|_| is_whole).map_or_else(|| digits.to_owned(), whole);
        rest = &rest[from + digits.len()..];
    }
    said += rest;
    said.replace(" m²", "\u{a0}m²").replace(" in 100", "\u{a0}in\u{a0}100").replace("1 in ", "1\u{a0}in\u{a0}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_are_said_in_the_usual_way() {
        assert_eq!(chance(0.0004), "fewer than 1 in 1000");
        assert_eq!((chance(0.0314), chance(0.7)), ("1 in 32".to_owned(), "70 in 100".to_owned()));
    }

    #[test]
    fn a_sentence_is_set_with_its_figures_broken_up_and_held_to_their_units() {
        assert_eq!(set("another 360000 m² and 51000 m² more"), "another 360\u{a0}000\u{a0}m² and 51\u{a0}000\u{a0}m² more");
        assert_eq!(set("2025-09-16, 0.123456 m, 1 in 40"), "2025-09-16, 0.123456 m, 1\u{a0}in\u{a0}40");
        assert_eq!(set("7200 m² by 5"), "7200\u{a0}m² by 5");
        assert_eq!(set(""), "");
    }

    #[test]
    fn long_figures_are_broken_up() {
        let told: Vec<String> = [0.0, 12.4, 999.6, 119_522.0, -1500.0].into_iter().map(whole).collect();
        assert_eq!(told, ["0", "12", "1\u{a0}000", "119\u{a0}522", "-1\u{a0}500"]);
    }
}
