//! How a route fares when things go otherwise: late, more water, less sand.

use jiff::Timestamp;

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
    /// How the moment to turn back moves, the least bad first among those of height. A worse case never has a later
    /// moment than one less bad, nor than the plan: whatever falls out of the route then, the rest is not stayed
    /// on for longer.
    pub(in crate::route) fn what_if(&self, tide: &Tide, route: &Route, chosen: &[&Candidate]) -> Vec<WhatIf> {
        // Sand that was surveyed long ago is taken lower already.
        let than = if self.asked.params.sand_lower_m > 0.0 { "still" } else { "than surveyed" };
        let sand = format!("sand {IF_SAND_M} m lower {than}");
        let sand = self.higher(tide, route, chosen, (IF_SAND_M, sand), Some(route.turn_back));
        let said = format!("water {IF_WATER_M} m higher than predicted");
        let water = self.higher(tide, route, chosen, (IF_WATER_M, said), sand.turn_back);
        let late_s = |n: usize| tide.dryness.seconds(route.visits[n].leave) + IF_LATE_S;
        let lost = (0..chosen.len()).filter(|n| late_s(*n) > chosen[*n].leave_by_s.min(chosen[*n].span.to_s)).collect();
        let late = WhatIf {
            said: format!("arriving {} minutes late", IF_LATE_S / 60),
            turn_back: Some(route.turn_back),
            lost,
            never_safe: Vec::new(),
        };
        vec![late, water, sand]
    }

    /// The same where the water stands higher against the sand; `no_later` is the moment of what is less bad.
    fn higher(
        &self,
        tide: &Tide,
        route: &Route,
        chosen: &[&Candidate],
        (more_m, said): (f64, String),
        no_later: Option<Timestamp>,
    ) -> WhatIf {
        let ways_out = self.ways_out(tide, more_m, 0.0).ok().map(|(_, w)| w);
        let span = |n: usize| -> Option<Span> {
            let ways_out = ways_out.as_ref()?;
            let whole = Span { from_s: i32::MIN, to_s: i32::MAX };
            let safe = self.touched(chosen[n]).try_fold(whole, |s, c| s.shared(ways_out.safe(c)?))?;
            // Never longer than the plan itself, which may have been made with more margin than was asked for.
            Some(Span { to_s: safe.to_s.min(chosen[n].leave_by_s), ..safe }).filter(|s| s.from_s <= s.to_s)
        };
        let spans: Vec<Option<Span>> = (0..chosen.len()).map(span).collect();
        let holds = |n: usize| {
            let visit = &route.visits[n];
            let (begin_s, leave_s) = (tide.dryness.seconds(visit.begin), tide.dryness.seconds(visit.leave));
            spans[n].is_some_and(|s| s.from_s <= begin_s && leave_s <= s.to_s)
        };
        let first = spans.iter().flatten().map(|s| tide.dryness.time(s.to_s)).min();
        WhatIf {
            said,
            turn_back: first.zip(no_later).map(|(a, b)| a.min(b)),
            lost: (0..chosen.len()).filter(|n| !holds(*n)).collect(),
            never_safe: (0..chosen.len()).filter(|n| spans[*n].is_none()).collect(),
        }
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

impl WhatIf {
    /// What becomes of the blocks: "the plan holds"; "block 3 cannot be worked at its time"; "2 blocks are never dry
    /// then, 1 and 4: leave them out".
    pub fn blocks_said(&self) -> String {
        let late: Vec<usize> = self.lost.iter().copied().filter(|n| !self.never_safe.contains(n)).collect();
        let number = |n: &[usize]| n.first().map_or(0, |n| n + 1);
        let late = match late.len() {
            0 => None,
            1 => Some(format!("block {} cannot be worked at its time", number(&late))),
            n => Some(format!("{n} blocks cannot be worked at their times, the first is {}", number(&late))),
        };
        let never = match self.never_safe.len() {
            0 => None,
            1 => Some(format!("block {} is never dry then, with a dry way out: leave it out", number(&self.never_safe))),
            n => Some(format!("{n} blocks are never dry then, with a dry way out ({}): leave them out", self.never_said())),
        };
        let both: Vec<String> = never.into_iter().chain(late).collect();
        if both.is_empty() { "the plan holds".to_owned() } else { both.join("; ") }
    }

    /// "1, 4 and 5"; of many the first few.
    fn never_said(&self) -> String {
        const MOST: usize = 6;
        let numbers: Vec<String> = self.never_safe.iter().map(|n| (n + 1).to_string()).collect();
        match numbers.split_last() {
            Some((last, rest)) if !rest.is_empty() && numbers.len() <= MOST => format!("{} and {last}", rest.join(", ")),
            Some(_) if numbers.len() > MOST => format!("{} and {} more", numbers[..MOST].join(", "), numbers.len() - MOST),
            _ => numbers.concat(),
        }
    }
}
