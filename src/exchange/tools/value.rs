//! Numbers, coordinates and words as people write them.

use super::heading::Unit;

/// Whether a cell says nothing: empty, a dash, `n/a` and the like.
pub(in crate::exchange) fn is_blank(text: &str) -> bool {
    let text = text.trim();
    text.is_empty()
        || matches!(text.to_lowercase().as_str(), "-" | "--" | "?" | "n/a" | "na" | "nan" | "none" | "null" | "unknown")
}

/// A number with an optional unit after it: `12`, `12.5 cm`, `6"`, `~15`; with `comma`, `12,5`.
pub(in crate::exchange) fn number(text: &str, comma: bool) -> Option<(f64, Option<Unit>)> {
    let text = text.trim().trim_start_matches(['~', '≈', '+']).trim_start().replace('−', "-");
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+');
    let exponent = |i: usize| {
        let rest = text.get(i + 1..).unwrap_or_default().trim_start_matches(['+', '-']);
        i > 0 && rest.starts_with(|c: char| c.is_ascii_digit())
    };
    let end = text
        .char_indices()
        .find(|(i, c)| !(is_number(*c) || (matches!(c, 'e' | 'E') && exponent(*i))))
        .map_or(text.len(), |(i, _)| i);
    let (digits, rest) = text.split_at(end);
    let unit = match rest.trim() {
        "" => None,
        word => Some(Unit::named(word)?),
    };
    let digits = if comma && !digits.contains('.') { digits.replacen(',', ".", 1) } else { digits.to_owned() };
    let value: f64 = digits.parse().ok()?;
    value.is_finite().then_some((value, unit))
}

/// Feet with inches, such as `1ft 2in`, `1' 2"` or `2′`, in metres.
pub(in crate::exchange) fn feet_and_inches(text: &str) -> Option<f64> {
    let plain = text.trim().to_lowercase().replace('′', "'").replace('″', "\"").replace("''", "\"");
    let (feet, rest) = plain.split_once('\'').or_else(|| plain.split_once("ft")).or_else(|| plain.split_once("feet"))?;
    let feet: f64 = feet.trim().parse().ok()?;
    let rest = rest.trim().trim_end_matches('.').trim();
    let inches = match rest.trim_end_matches(['"', '.']).trim_end_matches("inches").trim_end_matches("in").trim() {
        "" if rest.is_empty() => 0.0,
        inches => inches.parse().ok()?,
    };
    let can_be = feet >= 0.0 && feet.fract() == 0.0 && (0.0..12.0).contains(&inches);
    can_be.then_some(feet * 0.3048 + inches * 0.0254)
}

/// Whole numbers in a row: `12 13 12`, `12;13`, `[12, 13]`; a minus is a sign only before its number.
pub(in crate::exchange) fn whole_numbers(text: &str) -> Option<Vec<i32>> {
    text.trim()
        .trim_matches(['[', ']'])
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '/' | '|'))
        .filter(|w| !w.is_empty())
        .map(|w| w.parse().ok())
        .collect()
}

/// The target IDs of a cell: whole numbers in a row, or one number, rounded. Where a comma is the decimal sign it parts no
/// numbers.
pub(in crate::exchange) fn target_ids(text: &str, comma: bool) -> Option<Vec<i32>> {
    whole_numbers(text)
        .filter(|_| !(comma && text.contains(',')))
        .or_else(|| number(text, comma).map(|(v, _)| vec![v.round() as i32]))
}

/// One number for a target ID; of a range such as `12-14` or several, the middle.
pub(in crate::exchange) fn target_id(text: &str, comma: bool) -> Option<f64> {
    // Two digits and more behind a comma are another number: detectors give whole ones.
    let two = comma && text.split_once(',').is_some_and(|(_, rest)| rest.trim().chars().filter(char::is_ascii_digit).count() > 1);
    if let Some((value, None)) = number(text, comma).filter(|_| !two) {
        return Some(value);
    }
    let range = text.trim().split_once(['-', '–']).filter(|(a, _)| !a.is_empty());
    let mut ids = match range {
        Some((a, b)) => vec![a.trim().parse().ok()?, b.trim().parse().ok()?],
        None => whole_numbers(text)?,
    };
    ids.sort_unstable();
    let (low, high) = (ids.get(ids.len().checked_sub(1)? / 2)?, ids.get(ids.len() / 2)?);
    Some((f64::from(*low) + f64::from(*high)) / 2.0)
}

/// Yes or no.
pub(in crate::exchange) fn yes(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "allowed" => Some(true),
        "no" | "n" | "false" | "0" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_units_and_commas() {
        let of = |text, comma| number(text, comma).map(|(v, u)| (v, u.map(|u| u.word)));
        assert_eq!(of(" 12.5 cm", false), Some((12.5, Some("centimetres"))));
        assert_eq!(of("6\"", false), Some((6.0, Some("inches"))));
        assert_eq!(of("~15", false), Some((15.0, None)));
        assert_eq!(of("12,5", true), Some((12.5, None)));
        assert_eq!(of("12,5", false), None);
        assert_eq!(of("1e-3", false), Some((0.001, None)));
        assert_eq!(of("3.4g", false), Some((3.4, Some("grams"))));
        assert_eq!(of("deep", false), None);
        assert_eq!(of("1e999", false), None);
    }

    #[test]
    fn feet_with_inches() {
        for (text, metres) in
            [("1ft 2in", 0.3556), ("1' 2\"", 0.3556), ("1′2″", 0.3556), ("2'", 0.6096), ("0ft 6 in.", 0.1524), ("1 ft", 0.3048)]
        {
            let got = feet_and_inches(text).unwrap();
            assert!((got - metres).abs() < 1e-12, "{text}: {got}");
        }
        for text in ["5-7 cm", "1ft 14in", "1.5ft 2in", "-1ft", "ft", "1ft deep", "12", "soft 2"] {
            assert_eq!(feet_and_inches(text), None, "{text}");
        }
    }

    #[test]
    fn target_ids_one_or_many() {
        assert_eq!(target_id("-4", false), Some(-4.0));
        assert_eq!(target_id("12-14", false), Some(13.0));
        assert_eq!(target_id("12 15 13", false), Some(13.0));
        assert_eq!(
            (target_id("43,5", true), target_id("43,44", true), target_id("43,44,43", true)),
            (Some(43.5), Some(43.5), Some(43.0))
        );
        assert_eq!(whole_numbers("[12, -3]"), Some(vec![12, -3]));
        assert_eq!(whole_numbers("12 x"), None);
    }
}
