//! What the bench reads of a book.

use crate::book::part::part;

part! {
    /// What set-ups learn from, and what is asked of them.
    pub struct BenchTables: setups, outings, bench, finds, signals;
}

part! {
    /// What the time at a hole is measured from.
    pub struct PaceTables: tracks, finds;
}
