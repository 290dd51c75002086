//! From where, and until when, a person gets off the beach dry.
//!
//! A way out taken at a moment is safe when every square of it is already dry at that moment and stays dry
//! until the person has passed, and longer by the time margin. For each square two ways out are followed:
//! the one that can be taken latest (label-setting search backwards from the accesses on the latest moment
//! to leave: leave(c) = min(close(c) - margin, leave(n) - walk)), and the one that opens earliest. Each
//! carries both of its ends, so that the span of moments at which *one and the same* way is open is known.
//! The two spans are joined where they overlap, else the later one is kept. O(n log n) in the squares.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::cells::Cells;
use super::dryness::{Dryness, Span};

/// The walk out is reckoned longer by this factor: nobody walks from middle to middle of squares.
const DETOUR: f64 = 1.15;
/// Kept on top of the time margin, seconds, so that rounding never eats into it.
const SPARE_S: i32 = 90;

/// Where an access meets the walking ground.
#[derive(Debug, Clone, Copy)]
pub(in crate::route) struct Gate {
    /// The square.
    pub(in crate::route) cell: usize,
    /// From its middle to the access, metres.
    pub(in crate::route) link_m: f64,
    /// When the access itself is dry and may be reached.
    pub(in crate::route) span: Span,
}

/// The pace and margin of the way out.
#[derive(Debug, Clone, Copy)]
pub(in crate::route) struct Retreat {
    pub(in crate::route) walk_m_s: f64,
    pub(in crate::route) margin_s: i32,
}

impl Retreat {
    fn walk_s(self, metres: f64) -> i32 {
        (metres * DETOUR / self.walk_m_s).ceil() as i32
    }
}

/// For each square the span of moments at which a person may be there.
pub(in crate::route) struct WaysOut {
    safe: Vec<Option<Span>>,
}

impl WaysOut {
    /// When one may be on a square; `None`: never.
    pub(in crate::route) fn safe(&self, cell: usize) -> Option<Span> {
        self.safe[cell]
    }

    /// Finds them. `margin_m` is what the water must stay below the sand.
    pub(in crate::route) fn find(cells: &Cells, dryness: &Dryness, margin_m: f64, gates: &[Gate], retreat: Retreat) -> Self {
        let dry: Vec<Option<Span>> = (0..cells.len())
            .map(|n| {
                let span = if cells.is_ground(n) { dryness.span(cells.level_m(n) - margin_m) } else { None }?;
                let last = Span { to_s: span.to_s - retreat.margin_s - SPARE_S, ..span };
                (last.from_s <= last.to_s).then_some(last)
            })
            .collect();
        let latest = follow(cells, &dry, gates, retreat, |span| -i64::from(span.to_s));
        let earliest = follow(cells, &dry, gates, retreat, |span| i64::from(span.from_s));
        let join = |(latest, earliest): (Option<Span>, Option<Span>)| match (latest, earliest) {
            (Some(a), Some(b)) if a.shared(b).is_some() => {
                Some(Span { from_s: a.from_s.min(b.from_s), to_s: a.to_s.max(b.to_s) })
            }
            (a, _) => a,
        };
        Self { safe: latest.into_iter().zip(earliest).map(join).collect() }
    }
}

/// A way still to be followed: its worth, its length negated, its square, its span.
type Waiting = Reverse<(i64, i32, usize, i32, i32)>;

/// Follows the ways out from the accesses, the best first by `worth` (least wins); each square keeps the
/// span of the one way that reached it first.
fn follow(
    cells: &Cells,
    dry: &[Option<Span>],
    gates: &[Gate],
    retreat: Retreat,
    worth: impl Fn(Span) -> i64,
) -> Vec<Option<Span>> {
    let mut safe: Vec<Option<Span>> = vec![None; cells.len()];
    // Of ways equally good by `worth` the one open longest goes first.
    let mut heap: BinaryHeap<Waiting> = BinaryHeap::new();
    let push = |heap: &mut BinaryHeap<Waiting>, cell: usize, way: Option<Span>| {
        if let Some(span) = way.filter(|s| s.from_s <= s.to_s) {
            heap.push(Reverse((worth(span), span.from_s - span.to_s, cell, span.from_s, span.to_s)));
        }
    };
    for gate in gates {
        let walk_s = retreat.walk_s(gate.link_m);
        let reach = Span { from_s: gate.span.from_s, to_s: gate.span.to_s - walk_s };
        push(&mut heap, gate.cell, dry[gate.cell].and_then(|d| d.shared(reach)));
    }
    while let Some(Reverse((_, _, cell, from_s, to_s))) = heap.pop() {
        if safe[cell].is_some() {
            continue;
        }
        safe[cell] = Some(Span { from_s, to_s });
        for (next, length_m, sides) in cells.steps(cell) {
            if safe[next].is_some() {
                continue;
            }
            let ahead = Span { from_s, to_s: to_s - retreat.walk_s(length_m) };
            let mut way = dry[next].and_then(|d| d.shared(ahead));
            for side in sides.into_iter().flatten() {
                way = way.and_then(|w| w.shared(dry[side]?));
            }
            push(&mut heap, next, way);
        }
    }
    safe
}
