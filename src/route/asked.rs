//! What a route is asked for.

use jiff::Timestamp;

use super::params::Params;
use super::tables::RouteTables;
use super::worth::Worth;
use crate::shore::Setting;
use crate::trust::Told;

/// What a route is asked for.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    /// The book, as a snapshot.
    pub book: &'a RouteTables,
    /// The beach with its sand and water.
    pub setting: &'a Setting,
    /// What its ground is worth.
    pub worth: &'a dyn Worth,
    /// Not before this.
    pub after: Timestamp,
    /// Most hours from the first step on the sand to the last; `None`: as long as the water allows, eight at most.
    pub hours: Option<f64>,
    /// The low water wanted; `None`: the first that serves.
    pub low: Option<Timestamp>,
    /// What is doubted of all that it stands on. None is planned while one of them bars it; the others are told.
    pub doubts: &'a [Told],
    /// How to plan.
    pub params: &'a Params,
}
