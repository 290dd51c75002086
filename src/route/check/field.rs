use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use jiff::Timestamp;

use super::bars::Fence;
use super::water::{Highest, Sea};
use crate::earth::Local;

/// Side of a square, metres.
const SIDE_M: f64 = 5.0;
/// Sand is read this far around a corner of the grid, metres: as wide as a person may stray.
const AROUND_M: f64 = 2.0;
/// An access is reached straight from as far as this, metres, ...
const LINK_M: f64 = 40.0;
/// ... the last of it over ground whose level need not be known, metres.
const BARE_M: f64 = 22.0;
/// So little unknown ground between known is no gap, metres.
const CRACK_M: f64 = 4.0;

type Node = (i32, i32);
type SandAt<'a> = &'a dyn Fn(Local) -> Option<f64>;

/// A way out that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Out {
    /// How long it takes, seconds.
    pub(super) walk_s: f64,
    /// By how much longer the driest way stays open, seconds.
    pub(super) spare_s: f64,
}

/// The sand as a grid of places to step on, read when first asked for, with the last way out that held.
pub(super) struct Field<'a> {
    sand: SandAt<'a>,
    fence: &'a Fence,
    accesses: &'a [Local],
    walk_m_s: f64,
    margin_s: f64,
    levels: BTreeMap<Node, f64>,
    steps: BTreeMap<(Node, Node), bool>,
    /// Nodes of the last way out, from the access backwards, and the walk from the last node to the access.
    kept: Option<(Vec<Node>, f64)>,
}

fn place(n: Node) -> Local {
    Local::new(f64::from(n.0) * SIDE_M, f64::from(n.1) * SIDE_M)
}

impl<'a> Field<'a> {
    pub(super) fn new(sand: SandAt<'a>, fence: &'a Fence, accesses: &'a [Local], walk_m_s: f64, margin_s: f64) -> Self {
        let (levels, steps) = (BTreeMap::new(), BTreeMap::new());
        Self { sand, fence, accesses, walk_m_s, margin_s, levels, steps, kept: None }
    }

    /// Level of the sand around a corner less every margin, metres; minus infinity where nobody walks.
    fn level(&mut self, n: Node) -> f64 {
        if let Some(known) = self.levels.get(&n) {
            return *known;
        }
        let at = place(n);
        let around = [(0.0, 0.0), (AROUND_M, 0.0), (-AROUND_M, 0.0), (0.0, AROUND_M), (0.0, -AROUND_M)];
        let read = |(e, n): (f64, f64)| (self.sand)(Local::new(at.east_m + e, at.north_m + n)).unwrap_or(f64::NEG_INFINITY);
        let level =
            if self.fence.holds(at) { f64::NEG_INFINITY } else { around.into_iter().map(read).fold(f64::INFINITY, f64::min) };
        self.levels.insert(n, level);
        level
    }

    fn open(&mut self, a: Node, b: Node) -> bool {
        let key = if a < b { (a, b) } else { (b, a) };
        let fence = self.fence;
        *self.steps.entry(key).or_insert_with(|| !fence.between(place(a), place(b)))
    }

    /// Whether an access can be reached straight from a place: near enough, with nothing in between, and over no
    /// ground that nobody surveyed but what lies before the access itself.
    pub(super) fn linked(&self, at: Local, access: Local) -> bool {
        let away_m = access.distance_m(at);
        if away_m > LINK_M || self.fence.between(at, access) {
            return false;
        }
        let parts = (away_m / AROUND_M).ceil().max(1.0);
        let step_m = away_m / parts;
        let mut bare_m = 0.0;
        for n in 0..=parts as u32 {
            let part = f64::from(n) / parts;
            let between = |a: f64, b: f64| a + (b - a) * part;
            let p = Local::new(between(at.east_m, access.east_m), between(at.north_m, access.north_m));
            if (self.sand)(p).is_none() {
                bare_m += step_m;
            } else if bare_m > CRACK_M {
                return false;
            } else {
                bare_m = 0.0;
            }
        }
        bare_m <= BARE_M
    }

    /// Walk from a corner to the nearest access that can be reached straight, metres.
    fn to_access(&self, n: Node) -> Option<f64> {
        let at = place(n);
        let reach = |a: &Local| self.linked(at, *a).then_some(a.distance_m(at));
        self.accesses.iter().filter_map(reach).min_by(f64::total_cmp)
    }

    /// A way out from a place at a moment, if there is one.
    pub(super) fn way_out(&mut self, at: Local, time: Timestamp, sea: &Sea) -> Option<Out> {
        let highest = sea.highest_from(time);
        // The place itself must outlast the margin.
        if (self.sand)(at)? <= highest.within(self.margin_s) {
            return None;
        }
        if let Some(out) = self.straight(at, &highest) {
            return Some(out);
        }
        let corner = ((at.east_m / SIDE_M).floor() as i32, (at.north_m / SIDE_M).floor() as i32);
        let mut starts: Vec<(f64, Node)> = [(0, 0), (1, 0), (0, 1), (1, 1)]
            .into_iter()
            .map(|(x, y)| (corner.0 + x, corner.1 + y))
            .filter(|n| !self.fence.between(at, place(*n)))
            .map(|n| (at.distance_m(place(n)), n))
            .collect();
        starts.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(out) = starts.first().and_then(|s| self.as_before(*s, &highest)) {
            return Some(out);
        }
        self.search(&starts, &highest)
    }

    /// The straight way to an access close by: wherever its sand is known it must stay dry.
    fn straight(&self, at: Local, highest: &Highest) -> Option<Out> {
        let way = |access: &Local| {
            if !self.linked(at, *access) {
                return None;
            }
            let away_m = access.distance_m(at);
            let walk_s = away_m / self.walk_m_s;
            let mut spare_s = f64::INFINITY;
            let parts = (away_m / AROUND_M).ceil() as u32;
            for n in 0..=parts {
                let part = f64::from(n) / f64::from(parts.max(1));
                let between = |a: f64, b: f64| a + (b - a) * part;
                let p = Local::new(between(at.east_m, access.east_m), between(at.north_m, access.north_m));
                let Some(level) = (self.sand)(p) else { continue };
                if level <= highest.within(walk_s + self.margin_s) {
                    return None;
                }
                spare_s = spare_s.min(highest.below_s(level) - walk_s);
            }
            Some(Out { walk_s, spare_s })
        };
        self.accesses.iter().filter_map(way).min_by(|a, b| a.walk_s.total_cmp(&b.walk_s))
    }

    /// The last way out, lengthened from where one has got to since.
    fn as_before(&mut self, (away_m, start): (f64, Node), highest: &Highest) -> Option<Out> {
        let (mut way, link_m) = self.kept.clone()?;
        match way.iter().position(|n| *n == start) {
            Some(n) => way.truncate(n + 1),
            None => {
                let end = *way.last()?;
                let near = (end.0 - start.0).abs() <= 1 && (end.1 - start.1).abs() <= 1;
                if !near || !self.open(end, start) {
                    return None;
                }
                way.push(start);
            }
        }
        let out = self.walk(&way, away_m, link_m, highest)?;
        self.kept = Some((way, link_m));
        Some(out)
    }

    /// Walks a way from its last node to its first, and on to the access.
    fn walk(&mut self, way: &[Node], away_m: f64, link_m: f64, highest: &Highest) -> Option<Out> {
        let mut walked_m = away_m;
        let mut spare_s = f64::INFINITY;
        let mut before: Option<Node> = None;
        for &n in way.iter().rev() {
            walked_m += before.map_or(0.0, |b| place(b).distance_m(place(n)));
            before = Some(n);
            let passed_s = walked_m / self.walk_m_s;
            let level = self.level(n);
            if level <= highest.within(passed_s + self.margin_s) {
                return None;
            }
            spare_s = spare_s.min(highest.below_s(level) - passed_s);
        }
        let walk_s = (walked_m + link_m) / self.walk_m_s;
        self.reached_dry(*way.first()?, link_m, walk_s, highest).then_some(Out { walk_s, spare_s })
    }

    /// Whether the access, where its sand is known, is dry when one comes to it.
    fn reached_dry(&self, last: Node, link_m: f64, walk_s: f64, highest: &Highest) -> bool {
        let at = place(last);
        self.accesses.iter().any(|a| {
            (a.distance_m(at) - link_m).abs() < 1e-6
                && (self.sand)(*a).is_none_or(|level| level > highest.within(walk_s + self.margin_s))
        })
    }

    /// Looks for the quickest way out (A* on the straight distance to the nearest access). One never waits:
    /// a place passed sooner is only drier, so the quickest way to each corner is the only one to keep.
    fn search(&mut self, starts: &[(f64, Node)], highest: &Highest) -> Option<Out> {
        let accesses = self.accesses;
        let ahead = |n: Node| accesses.iter().map(|a| a.distance_m(place(n))).fold(f64::INFINITY, f64::min);
        let mm = |m: f64| (m * 1000.0) as u64;
        let mut heap = BinaryHeap::new();
        let mut best: BTreeMap<Node, (f64, Node)> = BTreeMap::new();
        for &(away_m, n) in starts {
            if self.level(n) > highest.within(away_m / self.walk_m_s + self.margin_s) {
                best.insert(n, (away_m, n));
                heap.push(Reverse((mm(away_m + ahead(n)), n, false)));
            }
        }
        let mut done = std::collections::BTreeSet::new();
        while let Some(Reverse((_, n, _))) = heap.pop() {
            if !done.insert(n) {
                continue;
            }
            let walked_m = best.get(&n)?.0;
            if let Some(link_m) = self.to_access(n)
                && self.reached_dry(n, link_m, (walked_m + link_m) / self.walk_m_s, highest)
            {
                return self.keep(n, &best, link_m, highest);
            }
            for (dx, dy) in [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)] {
                let next = (n.0 + dx, n.1 + dy);
                if done.contains(&next) || !self.open(n, next) {
                    continue;
                }
                let m = walked_m + place(n).distance_m(place(next));
                let better = best.get(&next).is_none_or(|(had, _)| m < *had);
                if better && self.level(next) > highest.within(m / self.walk_m_s + self.margin_s) {
                    best.insert(next, (m, n));
                    heap.push(Reverse((mm(m + ahead(next)), next, false)));
                }
            }
        }
        None
    }

    fn keep(&mut self, last: Node, best: &BTreeMap<Node, (f64, Node)>, link_m: f64, highest: &Highest) -> Option<Out> {
        let mut way = vec![last];
        let mut at = last;
        while let Some(&(_, from)) = best.get(&at)
            && from != at
        {
            way.push(from);
            at = from;
        }
        let away_m = best.get(&at)?.0;
        let out = self.walk(&way, away_m, link_m, highest)?;
        self.kept = Some((way, link_m));
        Some(out)
    }
}
