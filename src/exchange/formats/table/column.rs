//! One column of a table: its heading, what it means, and how its values are written.

use std::sync::Arc;

use csv::StringRecord;

use crate::exchange::tools::heading::{Field, Meaning};

/// One column of a table.
#[derive(Debug)]
pub(super) struct Column {
    /// Its heading as it stands.
    pub(super) title: Arc<str>,
    /// What it means, if that is known.
    pub(super) meaning: Option<Meaning>,
    /// Whether a comma parts whole from fraction in it.
    pub(super) comma: bool,
    /// What may be thousands in it, though read as a fraction.
    pub(super) thousands: Option<Thousands>,
}

/// Values of a column with a sign before three digits, which a file that writes its fractions otherwise may mean for
/// thousands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Thousands {
    /// The first of them, as it stands.
    pub(super) text: String,
    /// Its line.
    pub(super) line: u64,
    /// How many.
    pub(super) count: u64,
}

impl Column {
    pub(super) fn field(&self) -> Option<Field> {
        self.meaning.as_ref().map(|m| m.field)
    }
}

/// A row as it is shown in a sentence.
pub(super) fn shown(row: &StringRecord) -> String {
    row.iter().collect::<Vec<_>>().join(" | ").chars().take(80).collect()
}

/// The sign between two digits of a measured value.
pub(super) fn decimal_sign(cell: &str) -> Option<char> {
    let digits = cell.trim_start_matches(|c: char| !c.is_ascii_digit());
    let (whole, rest) = digits.split_once([',', '.'])?;
    let both = whole.bytes().last().is_some_and(|b| b.is_ascii_digit()) && rest.starts_with(|c: char| c.is_ascii_digit());
    both.then(|| digits[whole.len()..].chars().next()).flatten()
}

/// Whether a field is a number that may have a fraction.
pub(super) fn is_measured(field: Field) -> bool {
    use Field::{
        Coarsen, CoilWidth, Depth, Direction, East, EastWest, Hs, Lat, LatMinutes, LatSeconds, Level, Lon, LonMinutes,
        LonSeconds, Mass, North, NorthSouth, Scraped, Sigma, Size, Surge, TargetId, Tp, X, Y,
    };
    matches!(
        field,
        Coarsen
            | CoilWidth
            | Depth
            | Direction
            | East
            | EastWest
            | Hs
            | Lat
            | LatMinutes
            | LatSeconds
            | Level
            | Lon
            | LonMinutes
            | LonSeconds
            | Mass
            | North
            | NorthSouth
            | Scraped
            | Sigma
            | Size
            | Surge
            | TargetId
            | Tp
            | X
            | Y
    )
}
