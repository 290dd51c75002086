//! The sums of a pack, worked out once: report, sheets and manifest say the same.

use std::collections::BTreeMap;

use geo_types::MultiPolygon;

use super::places::AreaId;
use super::told::{Covered, Place, Told};
use crate::share::picture::MarkedSquare;

/// Sums over what is told.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sums {
    pub(super) finds: usize,
    pub(super) rubbish: usize,
    pub(super) outings: usize,
    pub(super) days: usize,
    pub(super) hours: f64,
    /// Of the outings that are told with a figure; `None` where none is.
    pub(super) covered_m2: Option<f64>,
    /// How many are told with less than a figure, and with which.
    pub(super) covered_below: Option<(usize, f64)>,
    pub(super) litter_kg: Option<f64>,
}

impl Sums {
    pub(super) fn of_told(told: &Told) -> Self {
        let sum = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum());
        let about = |covered: Covered| if let Covered::About(m2) = covered { Some(m2) } else { None };
        let less = |covered: Covered| if let Covered::Below(m2) = covered { Some(m2) } else { None };
        let below: Vec<f64> = told.outings.iter().filter_map(|o| less(o.covered)).collect();
        let days: std::collections::BTreeSet<_> = told.outings.iter().map(|o| o.day).collect();
        Self {
            finds: told.finds.len(),
            rubbish: told.finds.iter().filter(|f| f.rubbish).count(),
            outings: told.outings.len(),
            days: days.len(),
            hours: told.outings.iter().map(|o| o.hours).sum(),
            covered_m2: sum(told.outings.iter().filter_map(|o| about(o.covered)).collect()),
            covered_below: below.first().map(|m2| (below.len(), *m2)),
            litter_kg: sum(told.outings.iter().filter_map(|o| o.litter_kg).collect()),
        }
    }
}

/// The areas that finds are told to lie in, for the picture: each with its number, its outline and how many finds.
pub(super) struct ToldAreas<'t> {
    by_id: BTreeMap<AreaId, (usize, &'t MultiPolygon<f64>, usize)>,
}

impl<'t> ToldAreas<'t> {
    /// Numbered from 1 on by where they lie, so that a number says no more than its area.
    pub(super) fn of_told(told: &'t Told) -> Self {
        let mut by_id: BTreeMap<AreaId, (usize, &MultiPolygon<f64>, usize)> = BTreeMap::new();
        for find in &told.finds {
            if let Place::Area(id, _, outline) = &find.place {
                by_id.entry(*id).or_insert((0, outline, 0)).2 += 1;
            }
        }
        by_id.values_mut().enumerate().for_each(|(n, area)| area.0 = n + 1);
        Self { by_id }
    }

    /// The number of the area that a place is told to lie in.
    pub(super) fn number(&self, place: &Place) -> Option<usize> {
        let Place::Area(id, ..) = place else { return None };
        self.by_id.get(id).map(|area| area.0)
    }

    /// The areas as they are drawn, by how an area is laid out.
    pub(super) fn marked(&self, area: impl Fn(&MultiPolygon<f64>) -> Option<MultiPolygon<f64>>) -> Vec<MarkedSquare> {
        let one = |(number, outline, finds): &(usize, &MultiPolygon<f64>, usize)| {
            Some(MarkedSquare { area: area(outline)?, number: *number, finds: *finds })
        };
        self.by_id.values().filter_map(one).collect()
    }
}
