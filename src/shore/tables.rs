//! What the layout of a beach reads of a book.

use crate::book::part::part;

part! {
    /// What the sand and the water of beaches are made from.
    pub struct SandTables: levels, tide_tables, gauges;
}

part! {
    /// Where people went, from which a missing baseline is guessed.
    pub struct PlaceTables: finds, tracks;
}
