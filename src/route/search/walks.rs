//! The ways between blocks and accesses over the walking ground, with the spans in which they are open.
//!
//! From each place two shortest paths to every other are found (Dijkstra): the quickest, and one that keeps
//! to higher ground, where time counts up to five times on squares that are soon lost to the water. A path
//! may be begun at a moment when each of its squares will be safe at the moment one comes by; walked the
//! other way its times differ, so both are kept. O(n log n) in the squares a place, worked out only for
//! places that a route came to hold.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

use super::{Leg, Legs};
use crate::route::ground::cells::Cells;
use crate::route::ground::dryness::Span;
use crate::route::ground::ways_out::WaysOut;

/// How many ways between two places.
const KINDS: usize = 2;

/// The ways of one place: to and from every other.
struct Row {
    /// Which row was worked out first: of two that know a way the earlier one answers, for ever.
    order: u32,
    out: Vec<[Leg; KINDS]>,
    back: Vec<[Leg; KINDS]>,
}

/// A square reached from a place, with the spans in which its path may be begun at either end.
#[derive(Clone, Copy)]
struct Reached {
    walk_s: i32,
    out: Span,
    back: Span,
    from: usize,
}

/// The walking ground as a web of ways between places.
pub(in crate::route) struct Walks<'a> {
    cells: &'a Cells,
    ways_out: &'a WaysOut,
    /// Seconds to cross a metre of each square.
    pace: &'a [f64],
    /// Square of each place: blocks first, then accesses; seconds from the square to the place.
    places: Vec<(usize, i32)>,
    /// Length of the longest span, to tell ground that is soon lost.
    longest_s: f64,
    rows: Vec<OnceLock<Row>>,
    count: AtomicU32,
}

impl<'a> Walks<'a> {
    pub(in crate::route) fn new(cells: &'a Cells, ways_out: &'a WaysOut, pace: &'a [f64], places: Vec<(usize, i32)>) -> Self {
        let lengths = (0..cells.len()).filter_map(|n| ways_out.safe(n)).map(|s| s.to_s - s.from_s);
        let longest_s = f64::from(lengths.max().unwrap_or(1).max(1));
        let rows = places.iter().map(|_| OnceLock::new()).collect();
        Self { cells, ways_out, pace, places, longest_s, rows, count: AtomicU32::new(0) }
    }

    fn row(&self, place: usize) -> &Row {
        self.rows[place].get_or_init(|| {
            let none = [Leg::NONE; KINDS];
            let order = self.count.fetch_add(1, Ordering::Relaxed);
            let mut row = Row { order, out: vec![none; self.places.len()], back: vec![none; self.places.len()] };
            let (cell, link_s) = self.places[place];
            for kind in 0..KINDS {
                let reached = self.reach(cell, kind);
                for (n, &(to, to_link_s)) in self.places.iter().enumerate() {
                    let Some(r) = &reached[to] else { continue };
                    let walk_s = r.walk_s + link_s + to_link_s;
                    // A path begun at its place is on its first square `link` later.
                    let leg = |span: Span, first_s: i32| Leg { walk_s, from_s: span.from_s - first_s, to_s: span.to_s - first_s };
                    row.out[n][kind] = leg(r.out, link_s);
                    row.back[n][kind] = leg(r.back, to_link_s);
                }
            }
            row
        })
    }

    /// The squares of the way that a leg stands for, in order, with the seconds from its beginning at which
    /// each is passed.
    pub(in crate::route) fn path(&self, from: usize, to: usize, leg: Leg) -> Option<Vec<(usize, i32)>> {
        let kind = self.legs(from, to).iter().position(|l| *l == leg)?;
        let turned = self.turned(from, to);
        let (a, b) = if turned { (to, from) } else { (from, to) };
        let reached = self.reach(self.places[a].0, kind);
        let mut path = Vec::new();
        let mut at = self.places[b].0;
        loop {
            let r = reached[at]?;
            path.push((at, r.walk_s));
            if r.from == at {
                break;
            }
            at = r.from;
        }
        if turned {
            let whole = path.first()?.1;
            path.iter_mut().for_each(|(_, s)| *s = whole - *s);
        } else {
            path.reverse();
        }
        let first_s = self.places[from].1;
        path.iter_mut().for_each(|(_, s)| *s += first_s);
        Some(path)
    }

    /// Whether the ways between two places are those found from the second.
    fn turned(&self, from: usize, to: usize) -> bool {
        match (self.rows[from].get(), self.rows[to].get()) {
            (Some(a), Some(b)) => b.order < a.order,
            (None, Some(_)) => true,
            (_, None) => false,
        }
    }

    fn reach(&self, source: usize, kind: usize) -> Vec<Option<Reached>> {
        let mut reached: Vec<Option<Reached>> = vec![None; self.cells.len()];
        let mut done = vec![false; self.cells.len()];
        let Some(safe) = self.ways_out.safe(source) else { return reached };
        let mut heap = BinaryHeap::from([Reverse((0_u64, source))]);
        let mut costs = vec![u64::MAX; self.cells.len()];
        costs[source] = 0;
        reached[source] = Some(Reached { walk_s: 0, out: safe, back: safe, from: source });
        while let Some(Reverse((cost, cell))) = heap.pop() {
            if done[cell] {
                continue;
            }
            done[cell] = true;
            let Some(here) = reached[cell] else { continue };
            for (next, length_m, sides) in self.cells.steps(cell) {
                if done[next] {
                    continue;
                }
                let Some(safe) = self.ways_out.safe(next) else { continue };
                let step_s = (length_m * 0.5 * (self.pace[cell] + self.pace[next])).ceil() as i32;
                let dear = if kind == 0 { 1.0 } else { 1.0 + 4.0 * (1.0 - f64::from(safe.to_s - safe.from_s) / self.longest_s) };
                let total = cost + (f64::from(step_s) * dear * 16.0) as u64;
                if total >= costs[next] {
                    continue;
                }
                let Some(r) = here.onward(cell, step_s, safe, sides.map(|s| s.map(|n| self.ways_out.safe(n)))) else { continue };
                costs[next] = total;
                reached[next] = Some(r);
                heap.push(Reverse((total, next)));
            }
        }
        reached
    }
}

impl Reached {
    /// One step further; `None` when no moment remains at which the path could be walked either way.
    fn onward(self, cell: usize, step_s: i32, safe: Span, sides: Option<[Option<Span>; 2]>) -> Option<Self> {
        let walk_s = self.walk_s + step_s;
        let mut out = Span { from_s: self.out.from_s.max(safe.from_s - walk_s), to_s: self.out.to_s.min(safe.to_s - walk_s) };
        let mut back = Span { from_s: safe.from_s.max(self.back.from_s - step_s), to_s: safe.to_s.min(self.back.to_s - step_s) };
        for side in sides.into_iter().flatten() {
            // The corner is cut somewhere between leaving one middle and reaching the next.
            let side = side?;
            out = Span { from_s: out.from_s.max(side.from_s - self.walk_s), to_s: out.to_s.min(side.to_s - walk_s) };
            back = Span { from_s: back.from_s.max(side.from_s), to_s: back.to_s.min(side.to_s - step_s) };
        }
        (out.from_s <= out.to_s || back.from_s <= back.to_s).then_some(Self { walk_s, out, back, from: cell })
    }
}

impl Legs for Walks<'_> {
    fn legs(&self, from: usize, to: usize) -> [Leg; 2] {
        if self.turned(from, to) { self.row(to).back[from] } else { self.row(from).out[to] }
    }

    fn prepare(&self, place: usize) {
        self.row(place);
    }
}
