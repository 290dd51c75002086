//! Rows of headings: what tables of known targets alone have among them, and how such a row is told from one of a record.

use csv::StringRecord;

use crate::exchange::tools::heading::{Unit, meaning};
use crate::exchange::tools::value::{is_blank, number};
use crate::exchange::tools::when::When;

/// So many cells tell whether a row may be headings.
const FIRST: usize = 3;

/// Whether a row of a table is headings: no number among them, most known, none twice. A single letter is a heading, too, but
/// more often a word for nothing.
pub(super) fn is_headings(row: &StringRecord) -> bool {
    let filled = || row.iter().map(str::trim).filter(|cell| !is_blank(cell));
    let is_number = |cell: &str| cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | '\u{2212}'));
    let known =
        |cell: &str| cell.chars().nth(1).is_some() && (heads_readings(cell) || (!is_number(cell) && meaning(cell).is_some()));
    let first: Vec<&str> = filled().take(FIRST).collect();
    // Most rows are told by their first cells.
    if first.len() < 2 || first.first().is_some_and(|cell| is_number(cell)) || first.iter().filter(|cell| known(cell)).count() < 2
    {
        return false;
    }
    let cells: Vec<String> = filled().map(str::to_lowercase).collect();
    let mut apart = cells.clone();
    apart.sort_unstable();
    apart.dedup();
    let numbers = cells.iter().any(|cell| is_number(cell) && !heads_readings(cell));
    !numbers && apart.len() == cells.len() && 3 * cells.iter().filter(|cell| known(cell)).count() >= 2 * cells.len()
}

/// Whether a row without any known heading reads like a record: several cells say something, and one is a number or a date.
pub(super) fn reads_like_data(row: &StringRecord) -> bool {
    let filled = || row.iter().map(str::trim).filter(|cell| !is_blank(cell));
    filled().nth(1).is_some() && filled().any(is_value) && !filled().any(|cell| meaning(cell).is_some())
}

/// Whether a cell is a number or a date, as headings are not.
pub(super) fn is_value(cell: &str) -> bool {
    let begins = cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | '\u{2212}'));
    let is_number = || number(cell, false).or_else(|| number(cell, true)).is_some();
    begins && (is_number() || [true, false].into_iter().any(|day_first| When::read(cell, day_first).is_some()))
}

/// Whether a row is a table's own headings once more.
pub(super) fn repeats<'t>(row: &StringRecord, titles: impl Iterator<Item = &'t str>) -> bool {
    let mut titles = titles.enumerate().filter(|(_, title)| !title.trim().is_empty()).peekable();
    let same = |(n, title): (usize, &str)| row.get(n).is_some_and(|cell| cell.trim().eq_ignore_ascii_case(title.trim()));
    titles.peek().is_some() && titles.all(same)
}

/// Whether a heading is one that only tables of known targets have: of a pass, or of a depth.
fn heads_readings(title: &str) -> bool {
    is_pass(title) || at_depth(title).is_some()
}

/// `Pass 1`, `Reading 2`.
pub(super) fn is_pass(title: &str) -> bool {
    let title = title.trim().to_lowercase();
    let word = title.trim_end_matches(|c: char| c.is_ascii_digit());
    let named = matches!(
        word.trim_end_matches([' ', '_', '-', '.', '#']),
        "pass" | "reading" | "read" | "swing" | "sweep" | "direction" | "number" | "target id" | "digits"
    );
    named && word.len() < title.len()
}

/// `10 cm`, `ID at 4"`, `10cm ID2`: the depth and its unit.
pub(super) fn at_depth(title: &str) -> Option<(String, Unit)> {
    let title = title.trim().to_lowercase().replace(['(', ')', '[', ']', '@', '_', '#'], " ");
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    // The first number with a unit after it; one of a numbered `ID2` has none.
    let starts = title.char_indices().filter(|(n, c)| {
        let before = title.get(..*n).and_then(|t| t.chars().next_back());
        c.is_ascii_digit() && before.is_none_or(|b| !is_number(b) && !b.is_alphabetic())
    });
    for (start, _) in starts {
        let rest = title.get(start..)?;
        let end = rest.find(|c: char| !is_number(c)).unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let after = after.trim_start();
        let stop = after.find(|c: char| !(c.is_alphabetic() || matches!(c, '"' | '″' | '\''))).unwrap_or(after.len());
        let (word, tail) = after.split_at(stop);
        let unit = match word {
            "\"" | "″" => Unit::named("in"),
            _ => Unit::named(word),
        };
        let Some(unit) = unit.filter(|u| u.of == Unit::CENTIMETRE.of) else { continue };
        let said = format!("{} {tail}", title.get(..start)?);
        let plain = |w: &str| w.trim_matches(|c: char| !c.is_alphabetic()).to_owned();
        let known =
            ["", "id", "ids", "at", "depth", "deep", "vdi", "tid", "target", "reading", "read", "pass", "number", "numbers"];
        if said.split_whitespace().all(|w| known.contains(&plain(w).as_str())) {
            return Some((number.to_owned(), unit));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is(cells: &[&str]) -> bool {
        is_headings(&StringRecord::from(cells.to_vec()))
    }

    #[test]
    fn headings_are_told_from_rows() {
        for heads in [
            &["setup", "target", "kind", "depth_cm", "ID1", "ID2"][..],
            &["Target", "Kind", "5 cm", "15 cm"],
            &["lat", "lon", "what"],
            &["my own", "target", "kind", "depth_cm"],
            &["Target", "Kind", "Depth (cm)", "Pass 1", "Pass 2", "remarks of mine"],
        ] {
            assert!(is(heads), "{heads:?}");
        }
        for row in [
            &["wet", "worn coin", "coin", "5", "43 44"][..],
            &["bent nail", "nail", "x", "x", "x"],
            &["mode", "signal", "x", "x"],
            &["signal", "mode", "5", "43"],
            &["second run on dry sand"],
            &["target", "kind", "5", "43"],
            &["50.1", "-5.1", "lat"],
            &[],
        ] {
            assert!(!is(row), "{row:?}");
        }
    }

    #[test]
    fn a_first_row_that_is_a_record_is_told_from_headings_of_one_s_own() {
        let is = |cells: &[&str]| reads_like_data(&StringRecord::from(cells.to_vec()));
        for record in [&["-20.0001", "45.0001", "ring"][..], &["ring", "2026-05-01"], &["1", "2", "3"], &["key", "", "45,5"]] {
            assert!(is(record), "{record:?}");
        }
        for other in [&["Finds 2026", "", ""][..], &["mein Fund", "Ort"], &["Dear diary", ""], &["lat", "45.1"], &[]] {
            assert!(!is(other), "{other:?}");
        }
    }

    #[test]
    fn depths_are_read_from_headings() {
        let of = |title| at_depth(title).map(|(depth, unit)| (depth, unit.word));
        for title in ["10 cm", "10cm", "ID at 10 cm", "IDs (10 cm)", "10cm ID2", "depth 10 cm", "ID1 10 cm"] {
            assert_eq!(of(title), Some(("10".to_owned(), "centimetres")), "{title}");
        }
        assert_eq!(of("4\""), Some(("4".to_owned(), "inches")));
        assert_eq!(of("7.5 in"), Some(("7.5".to_owned(), "inches")));
        for title in ["10", "ID1", "coil 28 cm", "10 kg", "sensitivity", "20 of 25", ""] {
            assert_eq!(of(title), None, "{title}");
        }
    }
}
