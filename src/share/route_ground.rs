//! What the card's map draws of the ground: the edge of what was surveyed, runnels and the bars before them.

use geo_types::Polygon;

use crate::earth::Local;
use crate::shore::{Shore, ShorePoint};

/// Sections are laid this far apart along the shore, metres, and places in them this far across.
const ALONG_M: f64 = 10.0;
const ACROSS_M: f64 = 2.5;
/// Sand lower than that seaward of it by this much holds water when the tide has left, metres: less is within what
/// a survey tells.
const DEEP_M: f64 = 0.1;

/// The edge of the ground whose level counts as known, in the beach's plane. It is all that decides where the map
/// draws that edge.
pub(super) fn survey_edge(shore: &Shore) -> Vec<Polygon<f64>> {
    shore.outline().0
}

/// A stretch of a runnel: sand that the flood fills from behind, with the crest of the bar before it.
pub(super) struct Runnel {
    /// Its corners in the beach's plane.
    pub(super) corners: [Local; 4],
    /// The crest of the bar on its sea side.
    pub(super) crest: [Local; 2],
}

/// The runnels between two places along the shore, metres.
pub(super) fn runnels(shore: &Shore, (from_m, to_m): (f64, f64)) -> Vec<Runnel> {
    let count = ((to_m - from_m) / ALONG_M).ceil().max(0.0) as u32;
    (0..count).flat_map(|n| across(shore, from_m + (f64::from(n) + 0.5) * ALONG_M)).collect()
}

/// The runnels of one section, from the sea to the land: wherever the sand lies lower than some seaward of it.
fn across(shore: &Shore, along_m: f64) -> Vec<Runnel> {
    let mut found: Vec<(f64, f64, f64)> = Vec::new();
    let mut crest: Option<(f64, f64)> = None;
    let mut open = false;
    for place in shore.section(along_m, ACROSS_M).iter().rev() {
        let low = crest.filter(|(level_m, _)| place.land_m < level_m - DEEP_M);
        match (low, found.last_mut()) {
            (Some(_), Some((back_m, ..))) if open => *back_m = place.across_m,
            (Some((_, crest_m)), _) => found.push((place.across_m, place.across_m, crest_m)),
            (None, _) => {}
        }
        open = low.is_some();
        if crest.is_none_or(|(level_m, _)| place.land_m > level_m) {
            crest = Some((place.land_m, place.across_m));
        }
    }
    let at = |along_m: f64, across_m: f64| shore.to_local(ShorePoint::new(along_m, across_m));
    let (left_m, right_m) = (along_m - ALONG_M / 2.0, along_m + ALONG_M / 2.0);
    let half_m = ACROSS_M / 2.0;
    found
        .into_iter()
        .map(|(back_m, front_m, crest_m)| Runnel {
            corners: [
                at(left_m, back_m - half_m),
                at(right_m, back_m - half_m),
                at(right_m, front_m + half_m),
                at(left_m, front_m + half_m),
            ],
            crest: [at(left_m, crest_m), at(right_m, crest_m)],
        })
        .collect()
}
