//! The search for a route: orienteering with time windows and a choice of accesses.
//!
//! Stops have a value, a time they take and a span in which they may be worked; legs have a walking time
//! and a span in which they may be begun (the water opens and closes them). Wanted is the route from one
//! access to another with the most value. Iterated local search after Vansteenwegen, Souffriau, Vanden
//! Berghe & Van Oudheusden (2009), *Iterated local search for the team orienteering problem with time
//! windows*: insert by value² over the time an insertion costs until nothing fits, then take out a run of
//! stops and begin again, the run's place and length wandering through the route. Added here: single stops
//! are exchanged for better ones, stops are moved to where they cost less time, the power of the value
//! is drawn anew each round, as often as a run some stops are taken out at random, the accesses are changed,
//! and a route somewhat worse than the best is sometimes worked on.
//!
//! Arrivals are the earliest possible and departures the latest possible, kept for every stop, so an
//! insertion is judged in constant time and exactly. A round costs O(stops x route).

mod moves;
pub(super) mod walks;

use std::time::Instant;

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

use self::moves::Search;
use super::ground::dryness::Span;
use crate::{Cancelled, Progress};

/// A place worth stopping at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// What it is worth; not negative.
    pub value: f64,
    /// How long it takes, seconds.
    pub takes_s: i32,
    /// Not begun before this, seconds.
    pub open_s: i32,
    /// Done with and left by this, seconds.
    pub close_s: i32,
}

/// One way from a place to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// Time it takes, seconds.
    pub walk_s: i32,
    /// Not begun before this, seconds.
    pub from_s: i32,
    /// Not begun after this, seconds.
    pub to_s: i32,
}

impl Leg {
    /// No way at all.
    pub const NONE: Self = Self { walk_s: 0, from_s: i32::MAX, to_s: i32::MIN };
}

/// The ways between places. Stops are numbered first, accesses after them.
pub trait Legs: Sync {
    /// The ways from one place to another, at most two that differ in when they are open; [`Leg::NONE`]
    /// stands for a missing one.
    fn legs(&self, from: usize, to: usize) -> [Leg; 2];
    /// Told that a place is now part of a route, so that its ways are worth preparing.
    fn prepare(&self, _place: usize) {}
}

/// What is to be solved.
pub struct Problem<'a> {
    /// The stops, numbered from 0.
    pub stops: &'a [Stop],
    /// Each access: not left before the first, not come back to after the second, seconds. Numbered on
    /// from the stops.
    pub gates: &'a [(i32, i32)],
    /// The ways between all of them.
    pub legs: &'a dyn Legs,
    /// The only access to begin at, counted among the accesses; `None` leaves the choice.
    pub start: Option<usize>,
    /// The only access to end at; `None` leaves the choice.
    pub end: Option<usize>,
}

/// The order in which stops are worked.
#[derive(Debug, Clone, PartialEq)]
pub struct Tour {
    /// The access it begins at, counted among the accesses.
    pub start: usize,
    /// The access it ends at.
    pub end: usize,
    /// The stops in order.
    pub stops: Vec<usize>,
    /// When each is begun, seconds.
    pub begin_s: Vec<i32>,
    /// When the last access is reached, seconds.
    pub back_s: i32,
    /// The sum of values.
    pub value: f64,
}

/// How long and from which seed to search.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Seed of everything random.
    pub seed: u64,
    /// Rounds.
    pub rounds: u32,
    /// Most time, seconds.
    pub time_limit_s: Option<f64>,
}

/// Looks on while tours are sought.
pub trait Watch {
    /// Told of a tour better than any before it.
    fn better(&mut self, tour: &Tour);
    /// Whether the best so far will do.
    fn enough(&mut self) -> bool;
}

/// Nobody looks on.
impl Watch for () {
    fn better(&mut self, _tour: &Tour) {}
    fn enough(&mut self) -> bool {
        false
    }
}

/// The route under work with its earliest and latest times.
#[derive(Clone)]
struct Draft {
    start: usize,
    end: usize,
    stops: Vec<usize>,
    /// Earliest moment each stop is done.
    done_s: Vec<i32>,
    /// Latest moment each stop may be begun.
    latest_s: Vec<i32>,
    back_s: i32,
    value: f64,
}

impl<'a> Problem<'a> {
    fn gate(&self, gate: usize) -> usize {
        self.stops.len() + gate
    }

    /// Earliest arrival on a leg by someone ready at a moment, who may wait until the way opens.
    fn arrive(&self, from: usize, to: usize, ready_s: i32) -> Option<i32> {
        let legs = self.legs.legs(from, to);
        let by = |l: &Leg| {
            let leave = ready_s.max(l.from_s);
            (leave <= l.to_s).then(|| leave + l.walk_s)
        };
        legs.iter().filter_map(by).min()
    }

    /// Latest moment to be ready at one end so that the other is reached by a moment.
    fn leave(&self, from: usize, to: usize, by_s: i32) -> Option<i32> {
        let legs = self.legs.legs(from, to);
        let at = |l: &Leg| {
            let leave = l.to_s.min(by_s.saturating_sub(l.walk_s));
            (leave >= l.from_s).then_some(leave)
        };
        legs.iter().filter_map(at).max()
    }

    /// Works out the times of a draft; `false` when it cannot be walked.
    fn time(&self, draft: &mut Draft) -> bool {
        draft.done_s.clear();
        let (mut at, mut ready) = (self.gate(draft.start), self.gates[draft.start].0);
        for &stop in &draft.stops {
            let s = &self.stops[stop];
            let Some(arrival) = self.arrive(at, stop, ready) else { return false };
            ready = arrival.max(s.open_s) + s.takes_s;
            if ready > s.close_s {
                return false;
            }
            draft.done_s.push(ready);
            at = stop;
        }
        let (end, back_by) = (self.gate(draft.end), self.gates[draft.end].1);
        match self.arrive(at, end, ready) {
            Some(back) if back <= back_by => draft.back_s = back,
            _ => return false,
        }
        draft.latest_s.clear();
        draft.latest_s.resize(draft.stops.len(), 0);
        let (mut next, mut by) = (end, back_by);
        for (n, &stop) in draft.stops.iter().enumerate().rev() {
            let s = &self.stops[stop];
            // The way on is open at the latest moment found, or the forward pass had failed.
            let Some(leave) = self.leave(stop, next, by) else { return false };
            by = leave.min(s.close_s) - s.takes_s;
            draft.latest_s[n] = by;
            next = stop;
        }
        draft.value = draft.stops.iter().map(|&s| self.stops[s].value).sum();
        true
    }

    /// What inserting a stop before position `n` costs in time, if it fits.
    fn cost(&self, draft: &Draft, n: usize, stop: usize) -> Option<i32> {
        let s = &self.stops[stop];
        let (before, ready) = match n.checked_sub(1) {
            Some(b) => (draft.stops[b], draft.done_s[b]),
            None => (self.gate(draft.start), self.gates[draft.start].0),
        };
        let done = self.arrive(before, stop, ready)?.max(s.open_s) + s.takes_s;
        if done > s.close_s {
            return None;
        }
        match draft.stops.get(n) {
            Some(&next) => {
                let begun = self.arrive(stop, next, done)?.max(self.stops[next].open_s);
                let was = draft.done_s[n] - self.stops[next].takes_s;
                (begun <= draft.latest_s[n]).then_some(begun - was)
            }
            None => {
                let back = self.arrive(stop, self.gate(draft.end), done)?;
                (back <= self.gates[draft.end].1).then_some(back - draft.back_s)
            }
        }
    }

    /// The route without stops between two accesses; one comes back to where one set out if nothing else.
    fn empty(&self, start: usize, end: usize) -> Option<Draft> {
        let (stops, done_s, latest_s) = (Vec::new(), Vec::new(), Vec::new());
        let mut draft = Draft { start, end, stops, done_s, latest_s, back_s: 0, value: 0.0 };
        self.time(&mut draft).then_some(draft)
    }

    /// Begins each stop as late as costs nothing, so that waiting is done before setting out. When it set
    /// out follows from the first stop.
    fn settle(&self, draft: &Draft) -> Tour {
        let mut begin_s: Vec<i32> =
            draft.stops.iter().zip(&draft.done_s).map(|(&s, done)| done - self.stops[s].takes_s).collect();
        for n in (0..draft.stops.len().saturating_sub(1)).rev() {
            let (here, next) = (draft.stops[n], draft.stops[n + 1]);
            if let Some(leave) = self.leave(here, next, begin_s[n + 1]) {
                let s = &self.stops[here];
                begin_s[n] = begin_s[n].max(leave.min(s.close_s) - s.takes_s);
            }
        }
        Tour { start: draft.start, end: draft.end, stops: draft.stops.clone(), begin_s, back_s: draft.back_s, value: draft.value }
    }

    /// Searches; the best tour found, which may have no stop. `None` when no two accesses are joined.
    ///
    /// # Errors
    /// [`Cancelled`] when called off.
    pub fn solve(&self, effort: Effort, progress: &Progress) -> Result<Option<Tour>, Cancelled> {
        self.solve_watched(effort, progress, &mut ())
    }

    /// As [`Problem::solve`], telling of each better tour as it is found, and done when that is enough.
    ///
    /// # Errors
    /// [`Cancelled`] when called off.
    pub fn solve_watched(&self, effort: Effort, progress: &Progress, watch: &mut dyn Watch) -> Result<Option<Tour>, Cancelled> {
        for gate in 0..self.gates.len() {
            self.legs.prepare(self.gate(gate));
        }
        let fits = |wanted: Option<usize>, gate: usize| wanted.is_none_or(|w| w == gate);
        let pairs = (0..self.gates.len()).flat_map(|a| (0..self.gates.len()).map(move |b| (a, b)));
        let pairs = pairs.filter(|(a, b)| fits(self.start, *a) && fits(self.end, *b));
        let starts: Vec<Draft> = pairs.filter_map(|(a, b)| self.empty(a, b)).collect();
        let Some(first) = starts.first() else { return Ok(None) };
        let mut work = Search {
            problem: self,
            rng: ChaCha8Rng::seed_from_u64(effort.seed),
            inside: vec![false; self.stops.len()],
            taste: 2.0,
            tried: 0,
        };
        let begun = Instant::now();
        let late = || effort.time_limit_s.is_some_and(|most| begun.elapsed().as_secs_f64() > most);
        let mut best = first.clone();
        // Each pair of accesses once, greedily; then rounds from the best.
        for start in &starts {
            progress.check()?;
            let mut draft = start.clone();
            work.improve(&mut draft);
            if better(&draft, &best) {
                best = draft;
                watch.better(&self.settle(&best));
            }
            if late() || watch.enough() || work.is_spent() {
                break;
            }
        }
        let mut current = best.clone();
        let (mut place, mut run, mut idle) = (0_usize, 1_usize, 0_u32);
        for round in 0..effort.rounds {
            progress.check()?;
            progress.set(f64::from(round) / f64::from(effort.rounds.max(1)));
            if late() || watch.enough() || work.is_spent() {
                break;
            }
            let mut draft = current.clone();
            work.shake(&mut draft, &starts, place, run);
            work.taste = work.rng.random_range(0.5..3.0);
            work.improve(&mut draft);
            let slack = 0.04 * work.rng.random::<f64>().powi(2) * best.value;
            idle += 1;
            if better(&draft, &best) {
                best = draft.clone();
                (run, idle) = (1, 0);
                watch.better(&self.settle(&best));
            }
            if draft.value + slack >= current.value {
                current = draft;
            }
            // Stuck for long, one begins again from nothing; for a while, from the best.
            if idle > 0 && idle.is_multiple_of(450) {
                current = starts[work.rng.random_range(0..starts.len())].clone();
            } else if idle > 0 && idle.is_multiple_of(100) {
                current = best.clone();
            }
            let size = current.stops.len().max(1);
            place = (place + run) % size;
            run = if run >= (size / 2).max(3) { 1 } else { run + 1 };
        }
        Ok(Some(self.settle(&best)))
    }
}

/// More value, or as much sooner done.
fn better(a: &Draft, b: &Draft) -> bool {
    a.value > b.value + 1e-9 || (a.value > b.value - 1e-9 && a.back_s < b.back_s && a.stops.len() <= b.stops.len())
}

/// Kept here so that a span can be laid over a stop.
impl Stop {
    pub(super) fn within(value: f64, takes_s: i32, span: Span) -> Self {
        Self { value, takes_s, open_s: span.from_s, close_s: span.to_s }
    }
}
