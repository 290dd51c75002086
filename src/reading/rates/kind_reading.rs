use serde::{Deserialize, Serialize};

use super::rate::Rate;
use crate::book::Kind;
use crate::reading::given::{Ground, KindCount, Outings, PlacedFinds, kinds_of};

/// What one kind gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KindReading {
    /// The kind.
    pub kind: Kind,
    /// How many were found.
    pub finds: usize,
    /// Finds of it per 100 m² swept.
    pub rate: Option<Rate>,
}

/// Rates by kind, most frequent first: of finds whose outing's ground is known or, where outings are
/// not told apart, of all.
pub(in crate::reading) fn kinds(ground: &Ground, laid: &PlacedFinds, outings: &Outings) -> Vec<KindReading> {
    let known = outings.all.is_empty();
    let members: Vec<_> = laid.finds.iter().zip(&outings.of_find).filter(|(_, o)| known || o.is_some()).map(|(f, _)| f).collect();
    let swept_m2 = ground.covered.map(|c| c.swept_m2());
    let reading = |KindCount { kind, finds }| {
        let rate = swept_m2.and_then(|m2| Rate::new(finds as f64, m2));
        KindReading { kind, finds, rate }
    };
    kinds_of(&members).into_iter().map(reading).collect()
}
