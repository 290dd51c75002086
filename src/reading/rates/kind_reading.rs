use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rate::Rate;
use super::yields::Part;
use crate::book::Kind;
use crate::reading::exposure::Outings;
use crate::reading::given::{KindCount, PlacedFinds, WeightChoice, kinds_of};

/// What one kind gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KindReading {
    /// The kind.
    pub kind: Kind,
    /// How many were found.
    pub finds: usize,
    /// Finds of it per 100 m² of a visit to rested ground.
    pub rate: Option<Rate>,
}

/// Rates by kind, most frequent first: of finds that are not set apart or, where no ground is known, the counts of all.
pub(in crate::reading) fn kinds(laid: &PlacedFinds, outings: &Outings) -> Vec<KindReading> {
    let counted = |n: usize| outings.exposure.is_none_or(|e| e.of_find[n].is_some());
    let members: Vec<_> = laid.finds.iter().enumerate().filter(|(n, _)| counted(*n)).map(|(_, f)| f).collect();
    let whole = outings.exposure.map(|e| (e, e.by_outing(0..e.visits.squares())));
    let reading = |KindCount { kind, finds }| {
        let rate = whole.as_ref().and_then(|(exposure, by_outing)| {
            Part::new(exposure, by_outing, laid, |_, f| f.kind == kind).rate(WeightChoice::All)
        });
        KindReading { kind, finds, rate }
    };
    kinds_of(&members).into_par_iter().map(reading).collect()
}
