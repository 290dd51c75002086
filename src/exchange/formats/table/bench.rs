//! Tables of known targets: one reading a row, its numbers in one column or in several (`ID1`, `Pass 2`), or one target
//! a row with a column for each depth (`5 cm`, `10 in`).

use std::sync::Arc;

use csv::StringRecord;

use super::column::Column;
use super::dialect::Dialect;
use super::headings::{at_depth, is_pass};
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

/// Takes columns such as `Pass 1` and `Reading 2` for target IDs, where the headings are those of known targets; and those
/// without a heading that follow one of target IDs and hold whole numbers, as a heading often stands over the first alone.
pub(super) fn settle_passes(dialect: &mut Dialect) {
    if !is_of_targets(dialect) {
        return;
    }
    let one_more = || Some(Meaning { field: Field::TargetId, unit: None, clock: None, numbered: true });
    for column in dialect.columns.iter_mut().filter(|c| c.meaning.is_none()) {
        if is_pass(&column.title) {
            column.meaning = one_more();
        }
    }
    for n in 1..dialect.columns.len() {
        let follows = dialect.columns.get(n - 1).and_then(Column::field) == Some(Field::TargetId);
        let filled = || dialect.cells(n).filter(|cell| !is_blank(cell));
        let numbers = filled().next().is_some() && filled().all(|cell| cell.trim().parse::<i32>().is_ok());
        let untitled = dialect.columns.get(n).is_some_and(|c| c.title.trim().is_empty());
        if follows
            && untitled
            && numbers
            && let Some(column) = dialect.columns.get_mut(n)
        {
            column.meaning = one_more();
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

/// What stands in some columns of a line, with their headings.
type Cells<'r> = Vec<(&'r Arc<str>, &'r str)>;

/// Whether a column of a table stands for a depth.
pub(super) fn is_at_depth(depths: &[AtDepth], column: usize) -> bool {
    depths.iter().any(|d| d.column == column)
}

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
                None if is_at_depth(depths, n) => {}
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
