//! The moves of the search: stops put in, exchanged, moved, turned round, and shaken out again.

use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::{Draft, Problem};

/// The state of one search.
pub(super) struct Search<'p, 'a> {
    pub(super) problem: &'p Problem<'a>,
    pub(super) rng: ChaCha8Rng,
    pub(super) inside: Vec<bool>,
    /// Power of the value in what an insertion is judged by.
    pub(super) taste: f64,
    /// How often a place for a stop was worked out.
    pub(super) tried: u64,
}

/// With more places worked out than this what there is is finished and no more sought, as on a wide beach where hundreds of blocks
/// lie open for hours. (On one of 378 such blocks, 67 of them in the route, 200 rounds brought nothing over none; the demo beach's
/// route is the same with and without this end. A judgement; how long it lasts was not measured.) A count and no clock, so that the
/// same question has the same answer.
const MOST_TRIED: u64 = 600_000_000;

impl Search<'_, '_> {
    fn mark(&mut self, draft: &Draft) {
        self.inside.fill(false);
        for &s in &draft.stops {
            self.inside[s] = true;
        }
    }

    /// Whether enough was tried.
    pub(super) fn is_spent(&self) -> bool {
        self.tried > MOST_TRIED
    }

    /// Insertions, exchanges and moves until none helps.
    pub(super) fn improve(&mut self, draft: &mut Draft) {
        self.mark(draft);
        loop {
            while self.insert(draft) {}
            if self.is_spent() || !self.exchange(draft) && !self.tighten(draft) {
                return;
            }
        }
    }

    /// The insertion with the most value (to the power of the taste) for its time, give or take a quarter.
    fn insert(&mut self, draft: &mut Draft) -> bool {
        let mut best: Option<(f64, usize, usize)> = None;
        for (stop, s) in self.problem.stops.iter().enumerate() {
            if self.inside[stop] || s.value <= 0.0 {
                continue;
            }
            self.tried += draft.stops.len() as u64 + 1;
            let cheapest = (0..=draft.stops.len()).filter_map(|n| Some((self.problem.cost(draft, n, stop)?, n))).min();
            let Some((cost, n)) = cheapest else { continue };
            let worth = s.value.powf(self.taste) / f64::from(cost.max(1)) * self.rng.random_range(0.8..1.25);
            if best.is_none_or(|(b, _, _)| worth > b) {
                best = Some((worth, stop, n));
            }
        }
        let Some((_, stop, n)) = best else { return false };
        self.put(draft, n, stop)
    }

    fn put(&mut self, draft: &mut Draft, n: usize, stop: usize) -> bool {
        self.problem.legs.prepare(stop);
        let mut tried = draft.clone();
        tried.stops.insert(n, stop);
        let fits = self.problem.time(&mut tried);
        assert!(fits || !cfg!(test), "an insertion judged to fit does");
        // Marked either way, so that a stop that turns out not to fit is not tried for ever.
        self.inside[stop] = true;
        if fits {
            *draft = tried;
        }
        fits
    }

    /// One stop for a better one outside, anywhere in the route.
    fn exchange(&mut self, draft: &mut Draft) -> bool {
        let mut best: Option<(f64, Draft, usize)> = None;
        let mut without = draft.clone();
        for out in 0..draft.stops.len() {
            without.stops.clone_from(&draft.stops);
            let gone = without.stops.remove(out);
            if !self.problem.time(&mut without) {
                continue;
            }
            let least = self.problem.stops[gone].value;
            for (stop, s) in self.problem.stops.iter().enumerate() {
                let gain = s.value - least;
                if self.inside[stop] || gain <= 1e-9 || best.as_ref().is_some_and(|(b, _, _)| gain <= *b) {
                    continue;
                }
                self.tried += without.stops.len() as u64 + 1;
                let place = (0..=without.stops.len()).filter_map(|n| Some((self.problem.cost(&without, n, stop)?, n))).min();
                if let Some((_, n)) = place {
                    let mut tried = without.clone();
                    tried.stops.insert(n, stop);
                    best = Some((gain, tried, stop));
                }
            }
        }
        let Some((_, mut tried, stop)) = best else { return false };
        self.problem.legs.prepare(stop);
        if !self.problem.time(&mut tried) {
            return false;
        }
        *draft = tried;
        self.mark(draft);
        true
    }

    /// Moves one stop, or turns a run of stops round, where that brings one back sooner.
    fn tighten(&mut self, draft: &mut Draft) -> bool {
        let size = draft.stops.len();
        let mut helped = false;
        let mut without = draft.clone();
        for from in 0..size {
            without.stops.clone_from(&draft.stops);
            let stop = without.stops.remove(from);
            if !self.problem.time(&mut without) {
                continue;
            }
            self.tried += without.stops.len() as u64 + 1;
            let place = (0..=without.stops.len()).filter_map(|n| Some((self.problem.cost(&without, n, stop)?, n))).min();
            let Some((_, n)) = place else { continue };
            let mut tried = without.clone();
            tried.stops.insert(n, stop);
            if self.problem.time(&mut tried) && tried.back_s < draft.back_s {
                *draft = tried;
                helped = true;
            }
        }
        for from in 0..size.saturating_sub(1) {
            for to in from + 1..size.min(from + 12) {
                let mut tried = draft.clone();
                tried.stops[from..=to].reverse();
                if self.problem.time(&mut tried) && tried.back_s < draft.back_s {
                    *draft = tried;
                    helped = true;
                }
            }
        }
        helped
    }

    /// Takes out a run of stops, or as often some at random; now and then other accesses are tried as well.
    pub(super) fn shake(&mut self, draft: &mut Draft, starts: &[Draft], place: usize, run: usize) {
        let size = draft.stops.len();
        let scattered = self.rng.random_bool(0.5);
        for n in 0..run.min(size) {
            if scattered {
                draft.stops.remove(self.rng.random_range(0..draft.stops.len()));
                continue;
            }
            // The run goes round the end; positions shift as stops go.
            let at = if place + n < size { place } else { 0 };
            if at < draft.stops.len() {
                draft.stops.remove(at);
            }
        }
        if starts.len() > 1 && self.rng.random_bool(0.15) {
            let other = &starts[self.rng.random_range(0..starts.len())];
            let mut tried = draft.clone();
            (tried.start, tried.end) = (other.start, other.end);
            // Stops that the other accesses cannot serve go, one after another.
            while !self.problem.time(&mut tried) && !tried.stops.is_empty() {
                let at = self.rng.random_range(0..tried.stops.len());
                tried.stops.remove(at);
            }
            if self.problem.time(&mut tried) {
                *draft = tried;
                return;
            }
        }
        // Taking stops out can close a leg that detoured through them; then more go.
        while !self.problem.time(draft) && !draft.stops.is_empty() {
            draft.stops.pop();
        }
        if draft.stops.is_empty()
            && !self.problem.time(draft)
            && let Some(start) = starts.first()
        {
            *draft = start.clone();
        }
    }
}
