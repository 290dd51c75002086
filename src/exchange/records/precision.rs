//! How finely a permission lets places be told, from every field that may say so: never finer than any of them.

use super::row::Row;
use crate::book::{KindGroup, PlaceRule, Telling};
use crate::earth::SquareSide;
use crate::exchange::tools::heading::{Field, Unit};
use crate::exchange::tools::value::{number, yes};

/// Words that name how finely places are told, beside the fields of that name: those of the options and of the tables that the
/// program itself writes. Of other records they mean other things, so only a permission reads them.
const PRECISION: [&str; 8] =
    ["precision", "placeprecision", "square", "squares", "squareside", "coarsen", "coarsening", "positiongrid"];
const EXACT: [&str; 2] = ["exact", "exactpositions"];
const BY_KIND: &str = "places";

/// A heading without its marks, and the unit at its end, metres.
fn plain(title: &str) -> (String, Option<f64>) {
    let words: Vec<String> =
        title.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() && length(last).is_some() => (rest.concat(), length(last)),
        _ => (words.concat(), None),
    }
}

/// Whether a heading of a permission that is no field of its own is read here.
pub(in crate::exchange) fn is_read(title: &str) -> bool {
    let (name, _) = plain(title);
    name == BY_KIND || PRECISION.contains(&name.as_str())
}

fn length(word: &str) -> Option<f64> {
    match word {
        "km" | "kms" | "kilometre" | "kilometres" | "kilometer" | "kilometers" => Some(1000.0),
        other => Unit::named(other).filter(|u| u.of == Unit::METRE.of).map(|u| u.factor),
    }
}

/// What one field asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Asked {
    Exact,
    Squares(SquareSide),
    Withheld,
}

/// "1 km", "100 m", "squares of 100 m", "exact" or "withheld"; a bare number counts in the heading's unit, else in metres.
fn asked(title: &str, text: &str, comma: bool) -> Result<Asked, String> {
    let words = text.trim().trim_end_matches('.').to_lowercase();
    let words = ["squares of", "square of", "grid of"].iter().find_map(|w| words.strip_prefix(w)).unwrap_or(&words).trim();
    match words {
        "exact" | "exactly" => return Ok(Asked::Exact),
        "withheld" | "withhold" | "not told" => return Ok(Asked::Withheld),
        _ => {}
    }
    let end = words.find(|c: char| c.is_alphabetic()).unwrap_or(words.len());
    let (digits, unit) = words.split_at(end);
    let unit_m = if unit.trim().is_empty() { Some(plain(title).1.unwrap_or(1.0)) } else { length(unit.trim()) };
    let metres = number(digits, comma).filter(|(_, unit)| unit.is_none()).zip(unit_m).map(|((value, _), unit_m)| value * unit_m);
    let metres = metres.ok_or_else(|| format!("\"{text}\" in {title} does not say how finely places may be told; {USABLE}"))?;
    let side = SquareSide::with_side(metres);
    side.map(Asked::Squares).ok_or_else(|| format!("there are no squares of {metres} m to tell places by; {USABLE}"))
}

const USABLE: &str = "use 10, 100, 1000, 10000 or 100000 m, exact or withheld";

/// Whether places are exact, the side of the squares, and the rules by kind.
pub(super) fn read(row: &Row) -> Result<(bool, Option<f64>, Vec<PlaceRule>), String> {
    let exact = match row.text(Field::Exact) {
        "" => None,
        text => Some(yes(text).ok_or_else(|| format!("\"{text}\" in exact_positions is neither yes nor no"))?),
    };
    // A second word for it stands among the others only where it says otherwise.
    if row.others_where(|title| EXACT.contains(&plain(title).0.as_str())).next().is_some() {
        return Err("exact and exact_positions say otherwise; leave one of them out".to_owned());
    }
    let comma = row.comma(Field::Coarsen);
    let of_the_field = Some((row.title(Field::Coarsen), row.text(Field::Coarsen))).filter(|(_, text)| !text.is_empty());
    let others = row.others_where(|title| PRECISION.contains(&plain(title).0.as_str()));
    let mut said: Option<(String, Asked)> = None;
    for (title, text) in of_the_field.into_iter().chain(others) {
        let asked = asked(title, text, comma)?;
        if let Some((first, _)) = said.as_ref().filter(|(_, other)| *other != asked) {
            return Err(format!("{first} and {title} say otherwise how finely places may be told; leave one of them out"));
        }
        said = Some((title.to_owned(), asked));
    }
    let mut rules = rules(row)?;
    Ok(match (exact, said) {
        (Some(false), Some((title, Asked::Exact))) => {
            return Err(format!(
                "{title} says that places are exact and exact_positions that they are not; leave one of them out"
            ));
        }
        (exact, None) => (exact.unwrap_or(false), None, rules),
        (_, Some((_, Asked::Exact))) => (true, None, rules),
        // Beside exactness a grid, or nothing at all, asks for less.
        (exact, Some((_, Asked::Squares(side)))) => (exact.unwrap_or(false), Some(side.m()), rules),
        (_, Some((_, Asked::Withheld))) => {
            let rest = KindGroup::ALL.iter().filter(|group| rules.iter().all(|rule| rule.group != **group)).copied();
            let rest: Vec<PlaceRule> = rest.map(|group| PlaceRule { group, told: Telling::Withheld }).collect();
            rules.extend(rest);
            (false, None, rules)
        }
    })
}

/// The rules by kind, under whichever heading they stand.
fn rules(row: &Row) -> Result<Vec<PlaceRule>, String> {
    let read = |text: &str| PlaceRule::read_all(text).map_err(|e| e.to_string());
    let field = read(row.text(Field::Places))?;
    let other = row.others_where(|title| plain(title).0 == BY_KIND).map(|(_, text)| read(text)).next().transpose()?;
    match other {
        Some(other) if row.has(Field::Places) && other != field => {
            Err("places and places_by_kind say otherwise how places are told; leave one of them out".to_owned())
        }
        Some(other) => Ok(other),
        None => Ok(field),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_read_with_its_unit_and_nothing_is_guessed() {
        let of = |title, text| asked(title, text, false);
        for (title, text, side) in [
            ("coarsen_m", "1 km", SquareSide::Km1),
            ("coarsen_m", "1km", SquareSide::Km1),
            ("coarsen_m", "100", SquareSide::M100),
            ("coarsen_m", "100 m", SquareSide::M100),
            ("square_m", "1000", SquareSide::Km1),
            ("square_km", "10", SquareSide::Km10),
            ("precision", "10", SquareSide::M10),
            ("precision", "squares of 1 km", SquareSide::Km1),
        ] {
            assert_eq!(of(title, text), Ok(Asked::Squares(side)), "{title} {text}");
        }
        assert_eq!(of("precision", "Withheld"), Ok(Asked::Withheld));
        assert_eq!(of("precision", "exact"), Ok(Asked::Exact));
        for bad in ["about a field", "250 m", "-5", "1 kg", "1 km or so", "true", "10, 100", "1e3 m"] {
            assert!(of("coarsen_m", bad).is_err(), "{bad}");
        }
        assert!(is_read("square_m") && is_read("places") && is_read("precision") && !is_read("place_told"));
    }
}
