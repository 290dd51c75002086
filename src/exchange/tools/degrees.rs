//! Longitudes and latitudes as people write them: signs or letters, degrees with minutes and seconds, pairs in one cell.

use super::value::number;

/// Which of the two a number of degrees is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Axis {
    Lon,
    Lat,
}

impl Axis {
    pub(in crate::exchange) fn name(self) -> &'static str {
        match self {
            Self::Lon => "longitude",
            Self::Lat => "latitude",
        }
    }

    /// The letters of this axis, positive side first.
    fn letters(self) -> (char, char) {
        match self {
            Self::Lon => ('E', 'W'),
            Self::Lat => ('N', 'S'),
        }
    }

    /// -1 or 1, as a column of letters or words says.
    ///
    /// # Errors
    /// What is wrong with the letter: one of the other axis, or the O that is east in some languages and west in others.
    pub(in crate::exchange) fn side(self, text: &str) -> Result<f64, String> {
        let (positive, negative) = self.letters();
        let upper = text.trim().to_uppercase();
        let first = upper.chars().next().unwrap_or(' ');
        let word = upper.len() > 1 && !["NORTH", "SOUTH", "EAST", "WEST"].contains(&upper.as_str());
        match first {
            c if c == positive && !word => Ok(1.0),
            c if c == negative && !word => Ok(-1.0),
            'O' => Err(format!("\"{text}\" means east in some languages and west in others; write E or W")),
            _ => Err(format!("\"{text}\" is no side of a {}; write {positive} or {negative}", self.name())),
        }
    }
}

/// Degrees from one cell: decimal, or with minutes and seconds; signed, or with a letter before or behind.
///
/// # Errors
/// A sentence that quotes the cell.
pub(in crate::exchange) fn degrees(text: &str, comma: bool, axis: Axis) -> Result<f64, String> {
    let wrong = || format!("its {} \"{}\" is not a number of degrees", axis.name(), text.trim());
    if let Some((value, None)) = number(text, comma) {
        return Ok(value);
    }
    let upper = text.trim().to_uppercase().replace('−', "-");
    let is_letter = |c: &char| matches!(c, 'N' | 'S' | 'E' | 'W' | 'O');
    let letter = upper.chars().next().filter(is_letter).or(upper.chars().last().filter(is_letter));
    let side = letter.map(|c| axis.side(&c.to_string())).transpose().map_err(|why| format!("{}: {why}", wrong()))?;
    let body = upper.trim_start_matches(|c: char| is_letter(&c)).trim_end_matches(|c: char| is_letter(&c)).trim();
    let (body, minus) = body.strip_prefix('-').map_or((body, false), |b| (b, true));
    if minus && side == Some(1.0) {
        return Err(format!("its {} \"{}\" has a minus and a letter that say opposite sides", axis.name(), text.trim()));
    }
    let body = body.trim_start_matches('+');
    if body.chars().any(|c| c.is_alphabetic() || c == '-' || c == '+') {
        return Err(wrong());
    }
    let parts: Vec<&str> =
        body.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).filter(|p| !p.is_empty()).collect();
    let values: Vec<f64> = parts.iter().map(|p| number(p, comma).map(|(v, _)| v)).collect::<Option<_>>().ok_or_else(wrong)?;
    let whole = in_sixties(&values).ok_or_else(wrong)?;
    Ok(if minus || side == Some(-1.0) { -whole } else { whole })
}

/// Degrees, minutes and seconds, none negative, put together; only the last may have a fraction.
pub(in crate::exchange) fn in_sixties(parts: &[f64]) -> Option<f64> {
    let (last, before) = parts.split_last()?;
    let small = parts.iter().skip(1).all(|v| (0.0..60.0).contains(v));
    if parts.len() > 3 || !small || parts.first()? < &0.0 || before.iter().any(|v| v.fract() != 0.0) || !last.is_finite() {
        return None;
    }
    Some(parts.iter().zip([1.0, 60.0, 3600.0]).map(|(v, per)| v / per).sum())
}

/// One of a pair of degrees in one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::exchange) struct Degrees {
    pub(in crate::exchange) value: f64,
    /// Which axis its letter says it is on.
    pub(in crate::exchange) axis: Option<Axis>,
}

/// A pair of degrees in one cell, in the order in which they stand; `POINT (x y)` is longitude first by its standard
/// (OGC 06-103r4).
pub(in crate::exchange) fn pair(text: &str) -> Option<[Degrees; 2]> {
    let text = text.trim();
    let upper = text.to_uppercase();
    if let Some(inside) = upper.strip_prefix("POINT") {
        let numbers = inside.trim().strip_prefix('(')?.strip_suffix(')')?;
        let (x, y) = numbers.trim().split_once(char::is_whitespace)?;
        let read = |t: &str, axis| Some(Degrees { value: t.trim().parse().ok()?, axis: Some(axis) });
        return Some([read(x, Axis::Lon)?, read(y, Axis::Lat)?]);
    }
    let (first, second) = halves(text)?;
    Some([one(first)?, one(second)?])
}

fn one(text: &str) -> Option<Degrees> {
    let upper = text.trim().to_uppercase();
    let letter = |c: Option<char>| match c {
        Some('N' | 'S') => Some(Axis::Lat),
        Some('E' | 'W') => Some(Axis::Lon),
        _ => None,
    };
    let axis = letter(upper.chars().next()).or(letter(upper.chars().last()));
    let comma = text.contains(',') && !text.contains('.');
    let value = degrees(text, comma, axis.unwrap_or(Axis::Lon)).ok()?;
    Some(Degrees { value, axis })
}

/// Where one of a pair ends and the other begins: at a semicolon or bar, a comma that is no decimal sign, a letter, or
/// the only blank.
fn halves(text: &str) -> Option<(&str, &str)> {
    if let Some(found) = text.split_once([';', '|', '/']) {
        return Some(found);
    }
    if let Some(found) = text.split_once(", ") {
        return Some(found);
    }
    if text.matches(',').count() == 1 && !text.contains(char::is_whitespace) {
        return text.split_once(',');
    }
    if text.matches(',').count() == 1 && text.contains('.') {
        return text.split_once(',');
    }
    let letters: Vec<usize> = text.char_indices().filter(|(_, c)| "NSEWnsew".contains(*c)).map(|(i, _)| i).collect();
    if let [first, second] = letters.as_slice() {
        // "50.1N 5.5W" parts behind the first letter, "N50.1 W5.5" before the second.
        let leads = text.trim_start().starts_with(|c: char| c.is_alphabetic());
        return Some(text.split_at(if leads { *second } else { first + 1 }));
    }
    let mut blanks = text.split_whitespace();
    match (blanks.next(), blanks.next(), blanks.next()) {
        (Some(a), Some(b), None) => Some((a, b)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_in_every_notation() {
        for (text, comma, axis, wanted) in [
            ("-20.5", false, Axis::Lon, -20.5),
            ("20.5 W", false, Axis::Lon, -20.5),
            ("W20.5", false, Axis::Lon, -20.5),
            ("20.5°W", false, Axis::Lon, -20.5),
            ("-20.5 W", false, Axis::Lon, -20.5),
            ("45° 30' 36\" N", false, Axis::Lat, 45.51),
            ("45 30.6 N", false, Axis::Lat, 45.51),
            ("45°30.6'", false, Axis::Lat, 45.51),
            ("-5 32 24", false, Axis::Lon, -5.54),
            ("S 45 30", false, Axis::Lat, -45.5),
            ("45,5", true, Axis::Lat, 45.5),
            ("45°30,6' N", true, Axis::Lat, 45.51),
        ] {
            let got = degrees(text, comma, axis).unwrap();
            assert!((got - wanted).abs() < 1e-12, "{text}: {got}");
        }
        for (text, axis) in [
            ("45 75", Axis::Lat),
            ("here", Axis::Lat),
            ("5.5 W", Axis::Lat),
            ("-5.5 E", Axis::Lon),
            ("5.5 O", Axis::Lon),
            ("45.5 30", Axis::Lat),
            ("5-30", Axis::Lat),
            ("", Axis::Lat),
        ] {
            assert!(degrees(text, false, axis).is_err(), "{text}");
        }
        assert!(degrees("5.5 O", false, Axis::Lon).unwrap_err().contains("east in some languages and west in others"));
    }

    #[test]
    fn sides_by_letter_or_word() {
        assert_eq!((Axis::Lon.side(" w "), Axis::Lon.side("East"), Axis::Lat.side("S")), (Ok(-1.0), Ok(1.0), Ok(-1.0)));
        for (axis, text) in [(Axis::Lon, "N"), (Axis::Lat, "W"), (Axis::Lon, "O"), (Axis::Lon, ""), (Axis::Lon, "wet")] {
            assert!(axis.side(text).is_err(), "{text}");
        }
    }

    #[test]
    fn pairs_in_one_cell() {
        let of = |text| pair(text).map(|[a, b]| ((a.value, a.axis), (b.value, b.axis)));
        let plain = Some(((50.1, None), (-5.5, None)));
        for text in ["50.1, -5.5", "50.1,-5.5", "50.1 -5.5", "50.1; -5.5", "50,1; -5,5", " 50,1 -5,5 "] {
            assert_eq!(of(text), plain, "{text}");
        }
        let lettered = Some(((50.1, Some(Axis::Lat)), (-5.5, Some(Axis::Lon))));
        for text in ["50.1N 5.5W", "N50.1 W5.5", "50.1 N, 5.5 W", "50° 06' N 5° 30' W", "N50 06 W5 30"] {
            assert_eq!(of(text), lettered, "{text}");
        }
        assert_eq!(of("POINT (-5.5 50.1)"), Some(((-5.5, Some(Axis::Lon)), (50.1, Some(Axis::Lat)))));
        for text in ["", "50.1", "50,1,5,5", "near the pier", "50 06 5 30"] {
            assert_eq!(of(text), None, "{text}");
        }
    }
}
