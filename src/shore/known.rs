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
//! The step at a level is the distance to the nearest one that lies more across than along (or more along than
//! across); the spacing at a corner is what four in five of the steps within [`ROUND_M`] of it do not exceed, and that
//! of a facet is the largest of its corners'. The figures are judgements, no published source; how
//! often they let a runnel pass and what honest ground they cost is measured in `tests/rooms/route/surveys.rs`.
//! O(corners x (corners near by + legs of the baseline)).

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::ShorePoint;
use crate::tide::whole;

/// Farthest apart that levels stand across the shore with known ground between, metres, ...
pub const ACROSS_MOST_M: f64 = 20.0;
/// ... and along it, metres.
pub const ALONG_MOST_M: f64 = 35.0;
/// A survey of so many metres is laid out by pacing or a tape: its steps are a little longer here and there.
const NOMINAL: f64 = 1.025;
/// A whole facet reaches no farther than so many times that.
const TWO_STEPS: f64 = 1.5;
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
/// The survey's own steps are looked at within this of a level, metres, ...
const ROUND_M: f64 = 45.0;
/// ... but no more of them than this.
const MOST_ROUND: usize = 120;
/// Levels nearer to each other than this were taken of one place, metres.
const SAME_PLACE_M: f64 = 1.0;
/// So many of them make a dense survey and not a level taken twice.
const DENSE: usize = 3;
/// A gap smaller than this is not worth a sentence of its own, m²; ...
const TOLD_M2: f64 = 400.0;
/// ... one smaller than this is not even counted.
const COUNTED_M2: f64 = 1.0;

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

/// The gaps of a survey.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Gaps {
    /// Those worth a sentence each, the largest first.
    pub(super) told: Vec<Gap>,
    /// The rest together.
    pub(super) small: SmallGaps,
}

/// Gaps too small for a sentence each.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct SmallGaps {
    /// How many.
    pub places: usize,
    /// All of them together, m².
    pub area_m2: f64,
}

impl SmallGaps {
    /// "3 small places, together 410 m², were never surveyed: ..."; `None` where there are none.
    pub fn said(&self) -> Option<String> {
        let (places, area_m2) = (self.places, self.area_m2);
        match places {
            0 => None,
            1 => Some(format!(
                "1 small place of {area_m2:.0} m² was never surveyed: hatched in Plan, and no route stands on it or crosses it."
            )),
            _ => Some(format!(
                "{places} small places, together {area_m2:.0} m², were never surveyed: hatched in Plan, and no route stands on them or \
                 crosses them."
            )),
        }
    }
}

/// A facet as it is judged.
pub(super) struct Judged {
    pub(super) known: bool,
    /// Its widest step from corner to corner across and along, metres.
    step_m: (f64, f64),
    /// How wide they may be, metres.
    most_m: (f64, f64),
}

/// The levels by the shore, with the survey's spacing about each.
pub(super) struct Spacing {
    places: Vec<ShorePoint>,
    /// Across and along, metres; infinite where no level lies that way.
    usual_m: Vec<(f64, f64)>,
    wider: f64,
}

impl Spacing {
    /// Spacing of levels at `places`, whose neighbours are listed, on sand that departs from even by `departure_m`.
    pub(super) fn measured(places: Vec<ShorePoint>, around: &[Vec<usize>], departure_m: f64) -> Self {
        let steps: Vec<(f64, f64)> = (0..places.len()).map(|n| steps(&places, n, &around[n])).collect();
        let usual = |(near, seen): &mut (Vec<usize>, Vec<usize>), n: usize| {
            round(&places, around, n, near, seen);
            let four_in_five = |of: fn(&(f64, f64)) -> f64| {
                let mut all: Vec<f64> = near.iter().map(|m| of(&steps[*m])).filter(|m| m.is_finite()).collect();
                all.sort_by(f64::total_cmp);
                all.get((all.len() * 4 / 5).min(all.len().saturating_sub(1))).copied().unwrap_or(f64::INFINITY)
            };
            (four_in_five(|s| s.0), four_in_five(|s| s.1))
        };
        let empty = || (Vec::new(), vec![usize::MAX; places.len()]);
        let usual_m = (0..places.len()).into_par_iter().map_init(empty, usual).collect();
        let rough = ((departure_m - EVEN_M) / (ROUGH_M - EVEN_M)).clamp(0.0, 1.0);
        Self { places, usual_m, wider: WIDER + rough * (WIDER_ROUGH - WIDER) }
    }

    /// Whether a facet is known.
    pub(super) fn judge(&self, facet: [u32; 3]) -> Judged {
        let corners = facet.map(|n| n as usize);
        let sorted = |of: fn(&ShorePoint) -> f64| {
            let mut all = corners.map(|n| of(&self.places[n]));
            all.sort_by(f64::total_cmp);
            all
        };
        let (across, along) = (sorted(|p| p.across_m), sorted(|p| p.along_m));
        let step = |[a, b, c]: [f64; 3]| (b - a).max(c - b);
        let reach = |[a, _, c]: [f64; 3]| c - a;
        let usual = |of: fn(&(f64, f64)) -> f64| corners.iter().map(|n| of(&self.usual_m[*n])).fold(0.0, f64::max);
        let most = |usual_m: f64, least: f64, most: f64| (self.wider * usual_m).clamp(least, most);
        let step_m = (step(across), step(along));
        let most_m = (most(usual(|u| u.0), ACROSS_LEAST_M, ACROSS_MOST_M), most(usual(|u| u.1), ALONG_LEAST_M, ALONG_MOST_M));
        let small = reach(across) <= TWO_STEPS * ACROSS_MOST_M && reach(along) <= TWO_STEPS * ALONG_MOST_M;
        let is_near = |step_m: f64, most_m: f64| step_m <= NOMINAL * most_m;
        Judged { known: small && is_near(step_m.0, most_m.0) && is_near(step_m.1, most_m.1), step_m, most_m }
    }

    /// The gaps that facets judged unknown make together, the largest first. `beside` lists the facets that share an
    /// edge with one; `outside` says which lie off the survey altogether (slivers along its edge, and what lies
    /// between the ends of its lines).
    pub(super) fn gaps(
        &self,
        facets: &[[u32; 3]],
        judged: &[Judged],
        areas_m2: &[f64],
        beside: impl Fn(usize) -> Vec<usize>,
        outside: impl Fn(usize) -> bool,
    ) -> Gaps {
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
            gaps.push(self.gap(way, facets, judged, areas_m2, &members));
        }
        gaps.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
        let small = gaps.split_off(gaps.partition_point(|g| g.area_m2 >= TOLD_M2));
        let counted = small.iter().map(|g| g.area_m2).filter(|m2| *m2 >= COUNTED_M2);
        let small = counted.fold(SmallGaps::default(), |s, m2| SmallGaps { places: s.places + 1, area_m2: s.area_m2 + m2 });
        Gaps { told: gaps, small }
    }

    fn gap(&self, way: GapWay, facets: &[[u32; 3]], judged: &[Judged], areas_m2: &[f64], members: &[usize]) -> Gap {
        let area_m2: f64 = members.iter().map(|n| areas_m2[*n]).sum();
        let span = |of: fn(&ShorePoint) -> f64| {
            let all = members.iter().flat_map(|n| facets[*n]).map(|c| of(&self.places[c as usize]));
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let by_way = |(across, along): (f64, f64)| if way == GapWay::Across { across } else { along };
        let wide_m = members.iter().map(|n| by_way(judged[*n].step_m)).fold(0.0, f64::max);
        let most_m = members.iter().map(|n| by_way(judged[*n].most_m)).fold(f64::INFINITY, f64::min);
        let (along_m, across_m) = (span(|p| p.along_m), span(|p| p.across_m));
        Gap { way, along_m, across_m, wide_m, most_m, area_m2 }
    }
}

/// Distance to the nearest of its neighbours that lies more across than along, and more along than across, metres.
fn steps(places: &[ShorePoint], n: usize, around: &[usize]) -> (f64, f64) {
    let nearest = |is_across: bool| {
        let lengths: Vec<f64> = around
            .iter()
            .map(|m| ((places[*m].along_m - places[n].along_m).abs(), (places[*m].across_m - places[n].across_m).abs()))
            .filter(|(along, across)| (across >= along) == is_across)
            .map(|(along, across)| along.hypot(across))
            .collect();
        let dense = lengths.iter().filter(|m| **m < SAME_PLACE_M).count() >= DENSE;
        lengths.into_iter().filter(|m| dense || *m >= SAME_PLACE_M).fold(f64::INFINITY, f64::min)
    };
    (nearest(true), nearest(false))
}

/// The levels about one, nearest by the number of facets between; `seen` says for which level each was met last.
fn round(places: &[ShorePoint], around: &[Vec<usize>], n: usize, near: &mut Vec<usize>, seen: &mut [usize]) {
    near.clear();
    near.push(n);
    seen[n] = n;
    let mut next = 0;
    while next < near.len() && near.len() < MOST_ROUND {
        for &m in &around[near[next]] {
            let away_m = (places[m].along_m - places[n].along_m).hypot(places[m].across_m - places[n].across_m);
            if seen[m] != n && away_m <= ROUND_M {
                seen[m] = n;
                near.push(m);
            }
        }
        next += 1;
    }
}

impl Judged {
    /// The way in which its steps are widest against what they may be.
    fn way(&self) -> GapWay {
        if self.step_m.0 / self.most_m.0 >= self.step_m.1 / self.most_m.1 { GapWay::Across } else { GapWay::Along }
    }
}

impl Gap {
    /// Where it lies, how wide it is, what it is taken for and what would close it, in a sentence or two; `band` names
    /// the band it seems to lie in.
    pub fn said(&self, band: Option<&str>) -> String {
        let [a0, a1, c0, c1] = [self.along_m.0, self.along_m.1, self.across_m.0, self.across_m.1].map(whole);
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
