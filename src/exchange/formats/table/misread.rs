//! Columns of which no cell can be read as what the heading is taken to mean: most likely it means something else.

use super::column::Column;
use super::dialect::Dialect;
use crate::book::Weight;
use crate::exchange::tools::heading::Field;
use crate::exchange::tools::value::{feet_and_inches, is_blank, number, target_ids};
use crate::exchange::tools::when::{When, clock};

/// What is said of each column that is likely misread; nothing of the others.
pub(super) fn misread(dialect: &Dialect) -> Vec<Option<String>> {
    dialect.columns.iter().enumerate().map(|(n, column)| of(dialect, n, column)).collect()
}

fn of(dialect: &Dialect, n: usize, column: &Column) -> Option<String> {
    let field = column.field()?;
    let filled = || dialect.cells(n).filter(|cell| !is_blank(cell));
    filled().next()?;
    // The first that is as it should be ends it.
    (!filled().any(|cell| is_readable(field, cell, column.comma))).then(|| {
        format!(
            "; none of {} looked at under \"{1}\" can be read as that, so if the column holds something else, say what, as with --columns \
             \"{1}=notes\"",
            filled().count(),
            column.title
        )
    })
}

/// Whether a cell is what its field holds, where that can be told.
fn is_readable(field: Field, cell: &str, comma: bool) -> bool {
    use Field::{Clock, Date, Depth, End, Level, Mass, Sigma, Size, Start, TargetId, Time};
    let is_when = || [true, false].into_iter().any(|day_first| When::read(cell, day_first).is_some());
    match field {
        Date => is_when(),
        Time | Clock | Start | End => is_when() || clock(cell).is_some(),
        // Under "weight" may stand one of the words heavy and light.
        Mass => number(cell, comma).is_some() || cell.trim().parse::<Weight>().is_ok(),
        Depth | Level | Sigma | Size => number(cell, comma).is_some() || feet_and_inches(cell).is_some(),
        TargetId => target_ids(cell, comma).is_some(),
        _ => true,
    }
}
