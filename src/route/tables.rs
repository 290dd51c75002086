//! What a route reads of a book.

use crate::bench::BenchTables;
use crate::book::FindTables;
use crate::book::part::part;

part! {
    /// What a route is planned on, beside the beach, its reading and the ground covered.
    pub struct RouteTables: setups, outings, finds, signals, zones, accesses, barriers, permissions, bench;
    holds BenchTables: setups, outings, bench, finds, signals;
    holds FindTables: finds;
}

part! {
    /// Where people come onto the sand.
    pub struct AccessTables: accesses;
}
