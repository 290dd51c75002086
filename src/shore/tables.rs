//! What the layout of a beach reads of a book.

use crate::book::part::part;

part! {
    /// What the sand, the water and the waves of beaches are made from.
    pub struct SandTables: levels, tide_tables, gauges, seas, storms;
}

part! {
    /// Where people went, from which a missing baseline is guessed, and where they come onto the sand.
    pub struct PlaceTables: finds, tracks, accesses;
}
