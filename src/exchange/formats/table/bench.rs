//! Tables of known targets: one reading a row, its numbers in one column or in several (`ID1`, `Pass 2`), or one target
//! a row with a column for each depth (`5 cm`, `10 in`).

use std::sync::Arc;

use csv::StringRecord;

use super::dialect::Dialect;
use crate::exchange::records::row::Row;
use crate::exchange::take_in::taking::Mark;
use crate::exchange::tools::heading::{Field, Meaning, Unit};
use crate::exchange::tools::value::is_blank;

/// A column that holds what was heard at one depth.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AtDepth {
    column: usize,
    /// The depth as the heading has it.
    depth: String,
    unit: Unit,
}

/// What names a bench target, in words or by its kind.
const NAMED: [Field; 4] = [Field::Target, Field::Kind, Field::What, Field::Name];
/// What a table of known targets never holds: it lies nowhere and nothing in it was found.
const NEVER: [Field; 12] = [
    Field::Lon,
    Field::Lat,
    Field::X,
    Field::Y,
    Field::East,
    Field::North,
    Field::Pair,
    Field::GridRef,
    Field::Level,
    Field::Mass,
    Field::Start,
    Field::Hs,
];

/// Whether the headings are those of known targets, as far as they say.
fn is_of_targets(dialect: &Dialect) -> bool {
    let has = |field: &Field| dialect.columns.iter().any(|c| c.field() == Some(*field));
    NAMED.iter().any(has) && !NEVER.iter().any(has)
}

/// Takes columns such as `Pass 1` and `Reading 2` for target IDs, where the headings are those of known targets.
pub(super) fn settle_passes(dialect: &mut Dialect) {
    if !is_of_targets(dialect) {
        return;
    }
    for column in dialect.columns.iter_mut().filter(|c| c.meaning.is_none()) {
        let title = column.title.trim().to_lowercase();
        let word = title.trim_end_matches(|c: char| c.is_ascii_digit());
        let is_pass = matches!(
            word.trim_end_matches([' ', '_', '-', '.', '#']),
            "pass" | "reading" | "read" | "swing" | "sweep" | "direction" | "number" | "target id" | "digits"
        );
        if is_pass && word.len() < title.len() {
            column.meaning = Some(Meaning { field: Field::TargetId, unit: None, clock: None, numbered: true });
        }
    }
}

/// The columns that stand for depths, where the headings are those of known targets.
pub(super) fn depths(dialect: &Dialect) -> Vec<AtDepth> {
    let has_depth = dialect.columns.iter().any(|c| c.field() == Some(Field::Depth));
    if has_depth || !is_of_targets(dialect) {
        return Vec::new();
    }
    let unknown = dialect.columns.iter().enumerate().filter(|(_, c)| c.meaning.is_none());
    unknown.filter_map(|(column, c)| at_depth(&c.title).map(|(depth, unit)| AtDepth { column, depth, unit })).collect()
}

/// `10 cm`, `ID at 4"`, `10cm ID2`: the depth and its unit.
fn at_depth(title: &str) -> Option<(String, Unit)> {
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

/// What stands in some columns of a line, with their headings.
type Cells<'r> = Vec<(&'r Arc<str>, &'r str)>;

/// The readings of one line: one for each depth at which something is written, in the order of the columns.
pub(super) fn rows(dialect: &Dialect, depths: &[AtDepth], record: &StringRecord, mark: Mark, day_first: bool) -> Vec<Row> {
    let mut read: Vec<(&AtDepth, Cells<'_>)> = Vec::new();
    for at in depths {
        let (Some(cell), Some(column)) = (record.get(at.column), dialect.columns.get(at.column)) else { continue };
        // Elsewhere no value; of what was heard it is that nothing was.
        let cell = if cell.trim().eq_ignore_ascii_case("none") { "nothing" } else { cell };
        if is_blank(cell) {
            continue;
        }
        match read.iter_mut().find(|(other, _)| other.depth == at.depth && other.unit == at.unit) {
            Some((_, cells)) => cells.push((&column.title, cell)),
            None => read.push((at, vec![(&column.title, cell)])),
        }
    }
    let of_depth = |(at, cells): (&AtDepth, Cells<'_>)| {
        let mut row = Row::new(mark, day_first);
        for (n, (cell, column)) in record.iter().zip(&dialect.columns).enumerate() {
            match &column.meaning {
                Some(meaning) => row.add(meaning, &column.title, cell, column.comma),
                None if depths.iter().any(|d| d.column == n) => {}
                None => row.add_headed(&column.title, cell),
            }
        }
        let meaning = |field, unit| Meaning { field, unit, clock: None, numbered: true };
        for (title, cell) in cells {
            row.add(&meaning(Field::TargetId, None), title, cell, false);
            if !row.has(Field::Depth) {
                row.add(&meaning(Field::Depth, Some(at.unit)), title, &at.depth, at.depth.contains(','));
            }
        }
        row
    };
    read.into_iter().map(of_depth).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

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
