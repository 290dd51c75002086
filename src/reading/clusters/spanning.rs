//! The minimum spanning tree of mutual reachability.
//!
//! The reach of a point is the distance to its `min_points`-th neighbour, itself counted; two points
//! are as far apart as the greatest of their reaches and their distance. The tree is grown as Boruvka
//! (1926) did: in each round every part takes its shortest edge to another part. Edges of equal
//! weight are ordered by plain distance, so that points join what lies nearest first.
//!
//! Each point seeks its own nearest in another part with the k-d tree, in which nodes are passed over
//! that lie in the point's part, reach too far, or cannot beat what its part has already found (March,
//! Ram & Gray 2010 use such bounds on two trees at once). What a point found in one round stays its
//! best until that, too, has joined its part, so most need no search. All cores are used; the
//! tree does not depend on how many, as only edges longer than the one taken are ever passed over.
//! About O(n log n) where points are not all in one place.

use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;

use super::kd_tree::{At, KdTree, gap2};
use crate::{Cancelled, Progress};

/// An edge of the tree between two of its points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    /// Squared distance of mutual reachability, m², and the plain one.
    pub(super) weight2: f64,
    pub(super) gap2: f64,
    pub(super) ends: [u32; 2],
}

impl Edge {
    /// Shorter first.
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.weight2.total_cmp(&other.weight2).then(self.gap2.total_cmp(&other.gap2)).then(self.ends.cmp(&other.ends))
    }
}

/// What a point knows of its way out of its part.
#[derive(Debug, Clone, Copy)]
struct Out {
    weight2: f64,
    gap2: f64,
    /// The nearest point outside; [`NOBODY`] when nothing as near as the weight is left.
    to: u32,
}

const NOBODY: u32 = u32::MAX;
/// A node whose points are of several parts.
const MIXED: u32 = u32::MAX;

struct Forest<'a> {
    tree: &'a KdTree,
    /// Squared reach of each point, and the least of each node.
    reach2: Vec<f64>,
    least_reach2: Vec<f64>,
    /// The part each point is in, and each node if it is in one.
    part: Vec<u32>,
    node_part: Vec<u32>,
    /// Squared weight of the shortest edge that leaves each part, as bits, as far as is known.
    shortest: Vec<AtomicU64>,
}

/// The edges of the spanning tree, in no order; none with fewer points than `min_points`.
pub(super) fn spanning_tree(tree: &KdTree, min_points: usize, progress: &Progress) -> Result<Vec<Edge>, Cancelled> {
    let count = tree.points.len();
    if count < min_points.max(2) {
        return Ok(Vec::new());
    }
    let reach2: Vec<f64> =
        tree.points.par_iter().with_min_len(512).map_init(Vec::new, |near, p| tree.kth_gap2(*p, min_points, near)).collect();
    progress.check()?;
    let mut forest = Forest {
        tree,
        least_reach2: of_nodes(tree, |points| reach2[points].iter().copied().fold(f64::INFINITY, f64::min), f64::min),
        reach2,
        part: (0..count as u32).collect(),
        node_part: Vec::new(),
        shortest: (0..count).map(|_| AtomicU64::new(0)).collect(),
    };
    let mut outs: Vec<Out> = forest.reach2.iter().map(|r| Out { weight2: *r, gap2: 0.0, to: NOBODY }).collect();
    let mut roots: Vec<u32> = (0..count as u32).collect();
    let mut edges = Vec::with_capacity(count - 1);
    while edges.len() + 1 < count {
        progress.check()?;
        forest.look_out(&mut outs);
        for edge in forest.shortest_edges(&outs) {
            let [a, b] = edge.ends.map(|n| find(&mut roots, n));
            if a != b {
                roots[a.max(b) as usize] = a.min(b);
                edges.push(edge);
            }
        }
        for n in 0..count as u32 {
            forest.part[n as usize] = find(&mut roots, n);
        }
    }
    Ok(edges)
}

fn find(roots: &mut [u32], mut n: u32) -> u32 {
    while roots[n as usize] != n {
        roots[n as usize] = roots[roots[n as usize] as usize];
        n = roots[n as usize];
    }
    n
}

/// A value of each node, from those of the leaves up.
fn of_nodes<T: Copy + Default>(tree: &KdTree, of_leaf: impl Fn(std::ops::Range<usize>) -> T, both: impl Fn(T, T) -> T) -> Vec<T> {
    let mut values = vec![T::default(); tree.nodes.len()];
    // Children come after their parent, so against the order they are ready first.
    let (mut open, mut order) = (vec![tree.root()], Vec::with_capacity(tree.nodes.len()));
    while let Some(at) = open.pop() {
        order.push(at);
        open.extend(at.children().into_iter().flatten());
    }
    for at in order.into_iter().rev() {
        values[at.node] = match at.children() {
            Some([a, b]) => both(values[a.node], values[b.node]),
            None => of_leaf(tree.nodes[at.node].all()),
        };
    }
    values
}

impl Forest<'_> {
    /// One round: every point that may have the shortest edge of its part knows it afterwards.
    fn look_out(&mut self, outs: &mut [Out]) {
        let part = &self.part;
        let of_leaf = |points: std::ops::Range<usize>| {
            let own = &part[points];
            own.first().copied().filter(|first| own.iter().all(|p| p == first)).unwrap_or(MIXED)
        };
        self.node_part = of_nodes(self.tree, of_leaf, |a, b| if a == b { a } else { MIXED });
        self.shortest.par_iter().with_min_len(4096).for_each(|s| s.store(f64::INFINITY.to_bits(), Ordering::Relaxed));
        outs.par_iter_mut().zip(&self.part).with_min_len(4096).for_each(|(out, part)| {
            if out.to != NOBODY && self.part[out.to as usize] == *part {
                out.to = NOBODY;
            }
            if out.to != NOBODY {
                self.tell(*part, out.weight2);
            }
        });
        outs.par_iter_mut().enumerate().with_min_len(256).for_each(|(n, out)| {
            let known = self.known(self.part[n]);
            if out.to != NOBODY || out.weight2 > known {
                return;
            }
            let mut best = Out { weight2: f64::INFINITY, gap2: f64::INFINITY, to: NOBODY };
            self.seek(n, self.tree.root(), &mut best);
            // What was passed over is farther than what the part knows by now, and so may be shorter
            // than anything else that is farther.
            let known = self.known(self.part[n]);
            if best.to == NOBODY || best.weight2 > known {
                best = Out { weight2: known.max(out.weight2), gap2: 0.0, to: NOBODY };
            } else {
                self.tell(self.part[n], best.weight2);
            }
            *out = best;
        });
    }

    /// Weights are not negative, so their bits are in the order of the numbers.
    fn tell(&self, part: u32, weight2: f64) {
        self.shortest[part as usize].fetch_min(weight2.to_bits(), Ordering::Relaxed);
    }

    fn known(&self, part: u32) -> f64 {
        f64::from_bits(self.shortest[part as usize].load(Ordering::Relaxed))
    }

    /// The nearest of another part to point `n` below a node, if nearer than the best so far and not
    /// farther than what its part knows.
    fn seek(&self, n: usize, at: At, best: &mut Out) {
        let (own, reach2, p) = (self.part[n], self.reach2[n], self.tree.points[n]);
        let Some(children) = at.children() else {
            for m in self.tree.nodes[at.node].all().filter(|m| self.part[*m] != own) {
                let gap2 = gap2(p, self.tree.points[m]);
                let weight2 = gap2.max(reach2).max(self.reach2[m]);
                if (weight2, gap2) < (best.weight2, best.gap2) {
                    *best = Out { weight2, gap2, to: m as u32 };
                }
            }
            return;
        };
        let bounds = children.map(|c| {
            let gap2 = self.tree.nodes[c.node].gap2(p);
            (gap2.max(reach2).max(self.least_reach2[c.node]), gap2)
        });
        let first = usize::from(bounds[1] < bounds[0]);
        for k in [first, 1 - first] {
            let node = children[k].node;
            let hopeless = bounds[k] >= (best.weight2, best.gap2) || bounds[k].0 > self.known(own);
            if !hopeless && self.node_part[node] != own {
                self.seek(n, children[k], best);
            }
        }
    }

    /// The shortest edge that leaves each part, in the order of the parts.
    fn shortest_edges(&self, outs: &[Out]) -> Vec<Edge> {
        let mut chosen: Vec<Option<Edge>> = vec![None; outs.len()];
        for ((n, out), part) in (0..).zip(outs).zip(&self.part).filter(|((_, out), _)| out.to != NOBODY) {
            let edge = Edge { weight2: out.weight2, gap2: out.gap2, ends: [n, out.to] };
            let slot = &mut chosen[*part as usize];
            if slot.is_none_or(|s| edge.order(&s).is_lt()) {
                *slot = Some(edge);
            }
        }
        chosen.into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Prim's tree over all pairs: the same weights in order.
    fn by_definition(tree: &KdTree, min_points: usize) -> Vec<f64> {
        let (points, n) = (&tree.points, tree.points.len());
        let reach: Vec<f64> = points.iter().map(|p| tree.kth_gap2(*p, min_points, &mut Vec::new())).collect();
        let (mut known, mut inside, mut now, mut weights) = (vec![f64::INFINITY; n], vec![false; n], 0, Vec::new());
        for _ in 1..n {
            inside[now] = true;
            for m in (0..n).filter(|m| !inside[*m]) {
                known[m] = known[m].min(gap2(points[now], points[m]).max(reach[now]).max(reach[m]));
            }
            now = (0..n).filter(|m| !inside[*m]).min_by(|a, b| known[*a].total_cmp(&known[*b])).unwrap();
            weights.push(known[now]);
        }
        weights.sort_by(f64::total_cmp);
        weights
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn it_weighs_what_prim_s_does(points in prop::collection::vec((0_i32..60, 0_i32..60), 2..250), min_points in 1_usize..12) {
            let points: Vec<[f64; 2]> = points.iter().map(|(x, y)| [f64::from(*x), f64::from(*y)]).collect();
            prop_assume!(points.len() >= min_points);
            let tree = KdTree::new(&points);
            let mut weights: Vec<f64> =
                spanning_tree(&tree, min_points, &Progress::new()).unwrap().iter().map(|e| e.weight2).collect();
            weights.sort_by(f64::total_cmp);
            prop_assert_eq!(weights, by_definition(&tree, min_points));
        }
    }
}
