use super::lanes::lanes;
use super::likely::spread;
use super::route::{Doing, Step, Visit};
use crate::earth::Local;
use crate::route::ground::block::Candidate;
use crate::route::ground::cells::Cells;
use crate::route::ground::dryness::Dryness;
use crate::route::ground::gates::WayIn;
use crate::route::params::Params;
use crate::route::search::walks::Walks;
use crate::route::search::{Leg, Legs, Tour};
use crate::shore::Shore;

/// What a tour is drawn on.
pub(in crate::route) struct Draw<'a> {
    pub(in crate::route) shore: &'a Shore,
    pub(in crate::route) cells: &'a Cells,
    pub(in crate::route) walks: &'a Walks<'a>,
    pub(in crate::route) dryness: &'a Dryness,
    pub(in crate::route) blocks: &'a [Candidate],
    /// Where the search's accesses are, in its order.
    pub(in crate::route) ways_in: Vec<&'a WayIn>,
    /// Since when one stands where one sets out, if that is on the sand: the waiting is part of the way.
    pub(in crate::route) waits_from_s: Option<i32>,
    /// How much days differ in what they give.
    pub(in crate::route) day_variance: f64,
    pub(in crate::route) params: &'a Params,
}

/// A tour as a way with times.
pub(in crate::route) struct Drawn {
    pub(in crate::route) from: WayIn,
    pub(in crate::route) to: WayIn,
    pub(in crate::route) visits: Vec<Visit>,
    pub(in crate::route) trace: Vec<Step>,
    pub(in crate::route) walked_m: f64,
}

impl Draw<'_> {
    /// Draws a tour; `None` when a leg of it is not there.
    pub(in crate::route) fn draw(&self, tour: &Tour) -> Option<Drawn> {
        let gate = |g: usize| self.blocks.len() + g;
        let (from, to) = ((*self.ways_in.get(tour.start)?).clone(), (*self.ways_in.get(tour.end)?).clone());
        let first = *tour.stops.first()?;
        let (leg, leave_s) = self.latest(gate(tour.start), first, *tour.begin_s.first()?)?;
        let (begin, end) = (from.at, to.at);
        let waits = self.waits_from_s.filter(|s| *s < leave_s);
        let trace = waits.into_iter().chain([leave_s]).map(|s| self.step(begin, f64::from(s), Doing::Walking)).collect();
        let mut drawn = Drawn { from, to, visits: Vec::new(), trace, walked_m: 0.0 };
        let mut arrive_s = self.walk(&mut drawn, gate(tour.start), first, leg, leave_s)?;
        for (n, &stop) in tour.stops.iter().enumerate() {
            let begin_s = *tour.begin_s.get(n)?;
            let done_s = begin_s + self.blocks[stop].takes_s;
            self.work(&mut drawn, n, stop, arrive_s, begin_s)?;
            let (next, (leg, leave_s)) = match (tour.stops.get(n + 1), tour.begin_s.get(n + 1)) {
                (Some(&next), Some(&by)) => (next, self.latest(stop, next, by)?),
                _ => (gate(tour.end), self.soonest(stop, gate(tour.end), done_s)?),
            };
            let leave_s = leave_s.min(self.blocks[stop].span.to_s).max(done_s);
            drawn.visits.last_mut()?.leave = self.dryness.time(leave_s);
            drawn.trace.push(self.step(drawn.trace.last()?.at, f64::from(leave_s), Doing::Walking));
            arrive_s = self.walk(&mut drawn, stop, next, leg, leave_s)?;
        }
        drawn.trace.push(self.step(end, f64::from(arrive_s), Doing::Walking));
        // Somebody was told when all are off the sand: whoever stays on a block to its last moment must keep to that, straight
        // from there or by the blocks after it.
        let (mut next, mut out_s) = (gate(tour.end), arrive_s);
        for (visit, &stop) in drawn.visits.iter_mut().zip(&tour.stops).rev() {
            let ways = [self.latest(stop, gate(tour.end), arrive_s), self.latest(stop, next, out_s)];
            out_s = ways.into_iter().flatten().map(|(_, s)| s).max().unwrap_or(out_s);
            visit.leave_by = visit.dry_by.min(self.dryness.time(out_s)).max(visit.leave);
            next = stop;
        }
        drawn.walked_m = walked(&drawn.trace);
        Some(drawn)
    }

    fn step(&self, at: Local, seconds: f64, doing: Doing) -> Step {
        let time = self.dryness.time(0) + jiff::SignedDuration::from_millis((seconds * 1000.0).round() as i64);
        Step { at, time, doing }
    }

    /// The leg that may be begun latest to be there by a moment, and when.
    fn latest(&self, from: usize, to: usize, by_s: i32) -> Option<(Leg, i32)> {
        let legs = self.walks.legs(from, to);
        let leave = |l: Leg| Some((l, l.to_s.min(by_s.saturating_sub(l.walk_s)))).filter(|(l, s)| *s >= l.from_s);
        legs.into_iter().filter_map(leave).max_by_key(|(_, s)| *s)
    }

    /// The leg that arrives soonest for someone ready at a moment, and when it is begun.
    fn soonest(&self, from: usize, to: usize, ready_s: i32) -> Option<(Leg, i32)> {
        let legs = self.walks.legs(from, to);
        let leave = |l: Leg| Some((l, l.from_s.max(ready_s))).filter(|(l, s)| *s <= l.to_s);
        legs.into_iter().filter_map(leave).min_by_key(|(l, s)| s + l.walk_s)
    }

    /// Walks a leg square by square; when it is done.
    fn walk(&self, drawn: &mut Drawn, from: usize, to: usize, leg: Leg, leave_s: i32) -> Option<i32> {
        for (cell, after_s) in self.walks.path(from, to, leg)? {
            let at = self.cells.lay.to_local(self.cells.middle(cell));
            drawn.trace.push(self.step(at, f64::from(leave_s + after_s), Doing::Walking));
        }
        Some(leave_s + leg.walk_s)
    }

    /// Works a block: to its first lane, along the lanes, back to its middle.
    fn work(&self, drawn: &mut Drawn, n: usize, stop: usize, arrive_s: i32, begin_s: i32) -> Option<()> {
        let block = &self.blocks[stop];
        let middle = self.cells.lay.to_local(self.cells.middle(block.cell));
        let came_from = drawn.trace.iter().rev().map(|s| s.at).find(|p| p.distance_m(middle) > 1.0).unwrap_or(middle);
        let ebb = begin_s + block.takes_s / 2 < 0;
        let lanes = lanes(block, self.shore, self.params, ebb, came_from);
        let (first, last) = (lanes.first()?[0], lanes.last()?[1]);
        let pace = self.params.walk_dry_m_s.min(self.params.walk_wet_m_s);
        let done_s = f64::from(begin_s + block.takes_s);
        let links_s = (middle.distance_m(first) + middle.distance_m(last)) / pace;
        let (start, end) = (f64::from(begin_s) + middle.distance_m(first) / pace, done_s - middle.distance_m(last) / pace);
        if links_s >= f64::from(block.takes_s) {
            return None;
        }
        drawn.trace.push(self.step(middle, f64::from(begin_s), Doing::Walking));
        drawn.trace.push(self.step(first, start, Doing::Walking));
        let points: Vec<Local> = lanes.iter().flatten().copied().collect();
        let total_m: f64 = points.windows(2).map(|w| w[0].distance_m(w[1])).sum();
        let mut gone_m = 0.0;
        for pair in points.windows(2) {
            gone_m += pair[0].distance_m(pair[1]);
            let at_s = start + (end - start) * gone_m / total_m.max(1e-9);
            drawn.trace.push(self.step(pair[1], at_s, Doing::Searching(n)));
        }
        drawn.trace.push(self.step(middle, done_s, Doing::Walking));
        drawn.visits.push(Visit {
            block: block.id,
            corners: block.corners,
            along_m: (block.along_m.0 + block.along_m.1) / 2.0,
            across_m: (block.across_m.0 + block.across_m.1) / 2.0,
            arrive: self.dryness.time(arrive_s),
            begin: self.dryness.time(begin_s),
            leave: self.dryness.time(begin_s + block.takes_s),
            leave_by: self.dryness.time(block.leave_by_s),
            dry_by: self.dryness.time(block.leave_by_s),
            finds: block.finds,
            finds_sd: spread(&[block], self.day_variance),
            area_m2: block.area_m2,
            level_m: block.level_m,
            lanes,
        });
        Some(())
    }
}

/// Metres walked without searching.
fn walked(trace: &[Step]) -> f64 {
    let walking = |w: &&[Step]| w[1].doing == Doing::Walking;
    trace.windows(2).filter(walking).map(|w| w[0].at.distance_m(w[1].at)).sum()
}
