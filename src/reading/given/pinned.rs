//! Finds of which many were noted at one and the same position: where one stood to note them, or parked, but hardly
//! where each was found.

use std::collections::BTreeMap;

use rstar::RTree;
use rstar::primitives::GeomWithData;
use serde::{Deserialize, Serialize};

use super::placed::PlacedFinds;
use crate::earth::{Local, LonLat};
use crate::reading::error::ReadingError;

/// Many finds noted at one and the same position.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pinned {
    /// The position.
    pub at: LonLat,
    /// How many finds.
    pub finds: usize,
}

impl Pinned {
    /// The positions that many finds share, most finds first.
    pub(in crate::reading) fn told(laid: &PlacedFinds) -> Result<Vec<Self>, ReadingError> {
        laid.heaps.iter().map(|(at, finds)| Ok(Self { at: laid.frame.to_lonlat(*at)?, finds: *finds })).collect()
    }
}

/// Fewer finds than this at one position are no heap.
const LEAST_HEAP: usize = 5;
/// Positions that differ by less than this are one, metres.
const ONE_PLACE_M: f64 = 0.05;
/// A heap holds more than half of all finds within this of it, metres: on ground so rich that finds lie on each other
/// by the rounding of coordinates, its neighbours are as full.
const ROUND_M: f64 = 5.0;
/// So many heaps within that of each other are places where one stood on several days, and none speaks against another;
/// more are ground that is rich all over, ...
const FEW_HEAPS: usize = 3;
/// ... and so are smaller ones.
const LARGE_HEAP: usize = 2 * LEAST_HEAP;

/// Which finds share a position with many others, and those positions with their finds, most finds first.
pub(in crate::reading) fn pinned(places: &[Local]) -> (Vec<bool>, Vec<(Local, usize)>) {
    let lattice = |p: &Local| ((p.east_m / ONE_PLACE_M).round() as i64, (p.north_m / ONE_PLACE_M).round() as i64);
    let mut by_place: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (n, p) in places.iter().enumerate() {
        by_place.entry(lattice(p)).or_default().push(n);
    }
    let mut is_pinned = vec![false; places.len()];
    let mut heaps = Vec::new();
    if by_place.values().all(|own| own.len() < LEAST_HEAP) {
        return (is_pinned, heaps);
    }
    let tree = RTree::bulk_load(
        by_place.values().map(|own| GeomWithData::new([places[own[0]].east_m, places[own[0]].north_m], own.len())).collect(),
    );
    for own in by_place.values().filter(|own| own.len() >= LEAST_HEAP) {
        let at = places[own[0]];
        let round: Vec<usize> = tree.locate_within_distance([at.east_m, at.north_m], ROUND_M * ROUND_M).map(|p| p.data).collect();
        let near: Vec<usize> = round.iter().copied().filter(|finds| *finds >= LARGE_HEAP).collect();
        let heaped = if own.len() >= LARGE_HEAP && near.len() <= FEW_HEAPS { near.iter().sum::<usize>() } else { own.len() };
        if 2 * heaped > round.iter().sum::<usize>() {
            own.iter().for_each(|n| is_pinned[*n] = true);
            heaps.push((at, own.len()));
        }
    }
    heaps.sort_by_key(|h| std::cmp::Reverse(h.1));
    (is_pinned, heaps)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(east_m: f64, north_m: f64) -> Local {
        Local { east_m, north_m }
    }

    #[test]
    fn heaps_near_each_other_are_heaps_and_rich_ground_is_none() {
        for apart_m in [3.0, 6.0, 25.0] {
            let mut places = vec![at(0.0, 0.0); 20];
            places.extend(vec![at(apart_m, 0.0); 20]);
            places.extend((0..6).map(|n| at(10.0 * f64::from(n) + 1.5, 2.0)));
            let (is_pinned, heaps) = pinned(&places);
            assert_eq!((heaps.len(), is_pinned.iter().filter(|p| **p).count()), (2, 40), "{apart_m} m apart");
        }
        // Coordinates that are rounded to a metre on ground where many finds lie in each.
        let rich: Vec<Local> = (0..400).flat_map(|n| vec![at(f64::from(n % 20), f64::from(n / 20)); 6]).collect();
        assert_eq!(pinned(&rich).1.len(), 0);
    }
}
