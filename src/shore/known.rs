//! Which of the triangulated sand is known, and where the survey has gaps.
//!
//! A facet between levels that stand far apart says nothing of what lies between them: a strip is most often
//! left out because it held water. So a facet is known only when it reaches, in the beach's own directions,
//!
//! - across the shore no farther than [`ACROSS_MOST_M`], and along it no farther than [`ALONG_MOST_M`]: runnels
//!   run along the shore and are narrow across it, channels cut through it and are narrow along it;
//! - in either direction no farther than the survey's own spacing there, times [`WIDER`] on even sand and
//!   [`WIDER_ROUGH`] on sand that departs from its neighbours by [`ROUGH_M`]: a step that a surveyor took twice as
//!   long as those beside it is a step over something. Below [`ACROSS_LEAST_M`] and [`ALONG_LEAST_M`] the spacing is
//!   not asked.
//!
//! The spacing at a facet is the largest, over its corners, of the distance to the nearest level that lies
//! more across than along (or more along than across). The figures are judgements, no published source; how
//! often they let a runnel pass and what honest ground they cost is measured in `tests/rooms/route/unsurveyed.rs`.
//! O(facets + corners x legs of the baseline).

use serde::{Deserialize, Serialize};

use super::ShorePoint;

/// Farthest that known ground reaches between levels across the shore, metres, ...
pub const ACROSS_MOST_M: f64 = 20.0;
/// ... and along it, metres.
pub const ALONG_MOST_M: f64 = 35.0;
/// Nearer than this across the shore levels stand close enough whatever their spacing, metres, ...
const ACROSS_LEAST_M: f64 = 8.0;
/// ... and along it, metres.
const ALONG_LEAST_M: f64 = 16.0;
/// How many times its own spacing a survey may step and still be said to know what lies between, on even sand, ...
const WIDER: f64 = 1.75;
/// ... and on rough sand.
const WIDER_ROUGH: f64 = 1.4;
/// Sand is even up to this departure from the plane through its neighbours, metres, ...
const EVEN_M: f64 = 0.10;
/// ... and rough from this on, metres.
const ROUGH_M: f64 = 0.25;
/// Levels nearer to each other than this were taken of one place, metres.
const SAME_PLACE_M: f64 = 1.0;
/// So many of them make a dense survey and not a level taken twice.
const DENSE: usize = 3;
/// A gap smaller than this is not worth a sentence, m².
const TOLD_M2: f64 = 150.0;

/// Which way the levels round a gap stand too far apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GapWay {
    /// Across the shore: a strip along it was left out.
    Across,
    /// Along the shore: lines of levels stand too far apart.
    Along,
}

/// Ground between measured levels that nobody surveyed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gap {
    /// Which way the levels stand too far apart.
    pub way: GapWay,
    /// Lowest and highest along, metres.
    pub along_m: (f64, f64),
    /// Lowest and highest across, metres.
    pub across_m: (f64, f64),
    /// How far apart the levels stand that way, at most, metres.
    pub wide_m: f64,
    /// How far apart they may stand there to be known, metres.
    pub most_m: f64,
    /// Its size, m².
    pub area_m2: f64,
}

/// A facet as it is judged.
pub(super) struct Judged {
    pub(super) known: bool,
    /// How far it reaches across and along, metres.
    reach_m: (f64, f64),
    /// How far it may, metres.
    most_m: (f64, f64),
}

/// The levels by the shore, with how far the nearest of each stand.
pub(super) struct Spacing {
    places: Vec<ShorePoint>,
    /// Nearest level across and along, metres; infinite where none lies that way.
    own_m: Vec<(f64, f64)>,
    wider: f64,
}

impl Spacing {
    /// Spacing of levels at `places`, whose neighbours are listed, on sand that departs from even by `departure_m`.
    pub(super) fn measured(places: Vec<ShorePoint>, around: impl Fn(usize) -> Vec<usize>, departure_m: f64) -> Self {
        let nearest = |n: usize| {
            let steps = |across: bool| {
                let here = places[n];
                let lengths: Vec<f64> = around(n)
                    .into_iter()
                    .map(|m| ((places[m].along_m - here.along_m).abs(), (places[m].across_m - here.across_m).abs()))
                    .filter(|(along, over)| (over >= along) == across)
                    .map(|(along, over)| along.hypot(over))
                    .collect();
                let dense = lengths.iter().filter(|m| **m < SAME_PLACE_M).count() >= DENSE;
                let apart = lengths.into_iter().filter(|m| dense || *m >= SAME_PLACE_M);
                apart.fold(f64::INFINITY, f64::min)
            };
            (steps(true), steps(false))
        };
        let own_m = (0..places.len()).map(nearest).collect();
        let rough = ((departure_m - EVEN_M) / (ROUGH_M - EVEN_M)).clamp(0.0, 1.0);
        Self { places, own_m, wider: WIDER + rough * (WIDER_ROUGH - WIDER) }
    }

    /// Whether a facet is known.
    pub(super) fn judge(&self, facet: [u32; 3]) -> Judged {
        let corners = facet.map(|n| n as usize);
        let reach = |of: fn(&ShorePoint) -> f64| {
            let all = corners.map(|n| of(&self.places[n]));
            all.iter().copied().fold(f64::NEG_INFINITY, f64::max) - all.iter().copied().fold(f64::INFINITY, f64::min)
        };
        let own = |of: fn(&(f64, f64)) -> f64| corners.iter().map(|n| of(&self.own_m[*n])).fold(0.0, f64::max);
        let most = |own_m: f64, least: f64, most: f64| (self.wider * own_m).clamp(least, most);
        let reach_m = (reach(|p| p.across_m), reach(|p| p.along_m));
        let most_m = (most(own(|o| o.0), ACROSS_LEAST_M, ACROSS_MOST_M), most(own(|o| o.1), ALONG_LEAST_M, ALONG_MOST_M));
        Judged { known: reach_m.0 <= most_m.0 && reach_m.1 <= most_m.1, reach_m, most_m }
    }

    /// The gaps that facets judged unknown make together, the largest first. `beside` lists the facets that share an
    /// edge with one; `outside` says which lie off the survey altogether (between the ends of its lines).
    pub(super) fn gaps(
        &self,
        facets: &[[u32; 3]],
        judged: &[Judged],
        areas_m2: &[f64],
        beside: impl Fn(usize) -> Vec<usize>,
        outside: impl Fn(usize) -> bool,
    ) -> Vec<Gap> {
        let mut seen: Vec<bool> = judged.iter().enumerate().map(|(n, j)| j.known || outside(n)).collect();
        let mut gaps = Vec::new();
        for first in 0..facets.len() {
            if seen[first] {
                continue;
            }
            seen[first] = true;
            let way = judged[first].way();
            let (mut waiting, mut members) = (vec![first], Vec::new());
            while let Some(n) = waiting.pop() {
                members.push(n);
                for next in beside(n) {
                    if !seen[next] && judged[next].way() == way {
                        seen[next] = true;
                        waiting.push(next);
                    }
                }
            }
            gaps.extend(self.gap(way, facets, judged, areas_m2, &members));
        }
        gaps.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
        gaps
    }

    fn gap(&self, way: GapWay, facets: &[[u32; 3]], judged: &[Judged], areas_m2: &[f64], members: &[usize]) -> Option<Gap> {
        let area_m2: f64 = members.iter().map(|n| areas_m2[*n]).sum();
        let span = |of: fn(&ShorePoint) -> f64| {
            let all = members.iter().flat_map(|n| facets[*n]).map(|c| of(&self.places[c as usize]));
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let by_way = |(across, along): (f64, f64)| if way == GapWay::Across { across } else { along };
        let wide_m = members.iter().map(|n| by_way(judged[*n].reach_m)).fold(0.0, f64::max);
        let most_m = members.iter().map(|n| by_way(judged[*n].most_m)).fold(f64::INFINITY, f64::min);
        let (along_m, across_m) = (span(|p| p.along_m), span(|p| p.across_m));
        // Slivers along the edge of the survey are long and thin: their size tells them.
        let thin = area_m2 / wide_m.max(1e-9) < 5.0;
        (area_m2 >= TOLD_M2 && !thin).then_some(Gap { way, along_m, across_m, wide_m, most_m, area_m2 })
    }
}

impl Judged {
    /// The way in which it reaches farthest beyond what it may.
    fn way(&self) -> GapWay {
        if self.reach_m.0 / self.most_m.0 >= self.reach_m.1 / self.most_m.1 { GapWay::Across } else { GapWay::Along }
    }
}

impl Gap {
    /// Where it lies, how wide it is, what it is taken for and what would close it, in a sentence or two; `band` names
    /// the band it seems to lie in.
    pub fn said(&self, band: Option<&str>) -> String {
        let ((a0, a1), (c0, c1)) = (self.along_m, self.across_m);
        let band = band.map_or_else(String::new, |b| format!(", {b} by the levels beside it"));
        let place = format!("{a0:.0} to {a1:.0} m along and {c0:.0} to {c1:.0} m across{band}");
        let most = self.most_m.floor();
        match self.way {
            GapWay::Across => format!(
                "Nobody surveyed a strip up to {:.0} m wide at {place}: it is taken to be a runnel, and no route stands on it or crosses it. Levels through it, down to its bed, at most {most:.0} m apart across the shore would make it known.",
                self.wide_m
            ),
            GapWay::Along => format!(
                "Lines of levels stand up to {:.0} m apart at {place}: a channel between them would not show, and no route stands there or crosses it. Lines across the shore at most {most:.0} m apart would make it known.",
                self.wide_m
            ),
        }
    }
}
