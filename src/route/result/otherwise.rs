//! How a route fares when things go otherwise: late, more water, less sand.

use super::route::{Route, WhatIf};
use crate::route::ground::block::Candidate;
use crate::route::ground::dryness::Span;
use crate::route::ground::planner::{Planner, Tide};

/// Water higher than predicted, and sand lower than surveyed, metres.
const IF_WATER_M: f64 = 0.3;
const IF_SAND_M: f64 = 0.2;
/// Lateness, seconds.
const IF_LATE_S: i32 = 30 * 60;

impl Planner<'_> {
    /// How the moment to turn back moves.
    pub(in crate::route) fn what_if(&self, tide: &Tide, route: &Route, chosen: &[&Candidate]) -> Vec<WhatIf> {
        let leave_s: Vec<i32> = route.visits.iter().map(|v| tide.dryness.seconds(v.leave)).collect();
        let begin_s: Vec<i32> = route.visits.iter().map(|v| tide.dryness.seconds(v.begin)).collect();
        let lost = |holds: &dyn Fn(usize) -> bool| -> (usize, Option<usize>) {
            let gone: Vec<usize> = (0..chosen.len()).filter(|n| !holds(*n)).collect();
            (gone.len(), gone.first().copied())
        };
        let higher = |more_m: f64, said: String| {
            let ways_out = self.ways_out(tide, more_m, 0.0).ok().map(|(_, w)| w);
            let span = |n: usize| -> Option<Span> {
                let ways_out = ways_out.as_ref()?;
                self.touched(chosen[n]).try_fold(Span { from_s: i32::MIN, to_s: i32::MAX }, |s, c| s.shared(ways_out.safe(c)?))
            };
            let holds = |n: usize| span(n).is_some_and(|s| s.from_s <= begin_s[n] && leave_s[n] <= s.to_s);
            let (visits_lost, first_lost) = lost(&holds);
            let turn_back = (0..chosen.len()).filter_map(span).map(|s| s.to_s).min().map(|s| tide.dryness.time(s));
            WhatIf { said, turn_back, visits_lost, first_lost }
        };
        let holds = |n: usize| leave_s[n] + IF_LATE_S <= chosen[n].leave_by_s.min(chosen[n].span.to_s);
        let (visits_lost, first_lost) = lost(&holds);
        vec![
            WhatIf {
                said: format!("arriving {} minutes late", IF_LATE_S / 60),
                turn_back: Some(route.turn_back),
                visits_lost,
                first_lost,
            },
            higher(IF_WATER_M, format!("water {IF_WATER_M} m higher than predicted")),
            higher(IF_SAND_M, format!("sand {IF_SAND_M} m lower than surveyed")),
        ]
    }

    /// The squares that a block touches.
    pub(in crate::route) fn touched(&self, block: &Candidate) -> impl Iterator<Item = usize> {
        use geo::{BoundingRect, Intersects};
        let ring = block.corners.iter().chain(&block.corners[..1]).map(|c| self.cells.lay.lay_at(*c)).collect();
        let quad = geo_types::Polygon::new(geo_types::LineString(ring), Vec::new());
        let bounds = quad.bounding_rect();
        bounds.into_iter().flat_map(|b| self.cells.within(b)).filter(move |n| quad.intersects(&self.cells.rect(*n)))
    }

    /// Standard errors of the sand in the squares of a block: the largest counts, metres.
    pub(in crate::route) fn sand_error_m(&self, block: &Candidate) -> f64 {
        self.touched(block).map(|n| self.cells.sigma_m(n)).fold(0.0, f64::max) * self.asked.params.sand_sigmas
    }
}
