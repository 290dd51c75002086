//! A k-d tree over points of a plane, laid out in one row.
//!
//! Bentley (1975), *Multidimensional binary search trees used for associative searching*. Each node
//! halves its points at the middle of its box's longer side, so the tree is full: all leaves lie at
//! one depth and the children of a node are found by counting, without a pointer. Built on all
//! cores in O(n log n); the layout does not depend on how many.

/// Most points of a leaf: as many as are compared faster than a further node is opened.
const LEAF_POINTS: usize = 8;
/// Fewer points than this are not worth a second core.
const WORTH_SHARING: usize = 4096;

/// A node: the box of its points, which lie together.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Node {
    low: [f64; 2],
    high: [f64; 2],
    from: u32,
    to: u32,
}

impl Node {
    /// Its points, as places in the tree's order.
    pub(super) fn all(&self) -> std::ops::Range<usize> {
        self.from as usize..self.to as usize
    }

    /// Smallest squared distance from a point to the box.
    pub(super) fn gap2(&self, p: [f64; 2]) -> f64 {
        let gap = |k: usize| (self.low[k] - p[k]).max(p[k] - self.high[k]).max(0.0);
        gap(0) * gap(0) + gap(1) * gap(1)
    }
}

/// Where one stands in the tree: a node and how many levels lie below it.
#[derive(Debug, Clone, Copy)]
pub(super) struct At {
    pub(super) node: usize,
    below: u32,
}

impl At {
    /// Both children; `None` for a leaf.
    pub(super) fn children(self) -> Option<[Self; 2]> {
        let below = self.below.checked_sub(1)?;
        Some([Self { node: self.node + 1, below }, Self { node: self.node + (1 << self.below), below }])
    }
}

/// The tree.
pub(super) struct KdTree {
    /// The points in the tree's order, and where each stood in the input.
    pub(super) points: Vec<[f64; 2]>,
    pub(super) place: Vec<u32>,
    pub(super) nodes: Vec<Node>,
    levels: u32,
}

/// Squared distance of two points.
pub(super) fn gap2(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    dx * dx + dy * dy
}

impl KdTree {
    /// A tree of those points that are finite.
    pub(super) fn new(input: &[[f64; 2]]) -> Self {
        let mut items: Vec<([f64; 2], u32)> =
            (0..).zip(input).filter(|(_, p)| p[0].is_finite() && p[1].is_finite()).map(|(n, p)| (*p, n)).collect();
        let levels = items.len().div_ceil(LEAF_POINTS).next_power_of_two().ilog2();
        let mut nodes = vec![Node::default(); (2 << levels) - 1];
        grow(&mut items, &mut nodes, 0, levels);
        Self { points: items.iter().map(|i| i.0).collect(), place: items.iter().map(|i| i.1).collect(), nodes, levels }
    }

    /// The node that holds all.
    pub(super) fn root(&self) -> At {
        At { node: 0, below: self.levels }
    }

    /// Squared distance from a point to the k-th nearest, the point itself counted if it is one of
    /// the tree's; infinite where there are fewer. `near` is scratch.
    pub(super) fn kth_gap2(&self, p: [f64; 2], k: usize, near: &mut Vec<f64>) -> f64 {
        near.clear();
        near.resize(k, f64::INFINITY);
        self.collect_near(self.root(), p, near);
        near[k - 1]
    }

    fn collect_near(&self, at: At, p: [f64; 2], near: &mut [f64]) {
        let last = near.len() - 1;
        let Some(children) = at.children() else {
            for q in &self.points[self.nodes[at.node].all()] {
                let d = gap2(p, *q);
                if d < near[last] {
                    let to = near.partition_point(|n| *n <= d);
                    near.copy_within(to..last, to + 1);
                    near[to] = d;
                }
            }
            return;
        };
        let gaps = children.map(|c| self.nodes[c.node].gap2(p));
        let first = usize::from(gaps[1] < gaps[0]);
        for n in [first, 1 - first] {
            if gaps[n] < near[last] {
                self.collect_near(children[n], p, near);
            }
        }
    }
}

fn grow(items: &mut [([f64; 2], u32)], nodes: &mut [Node], from: usize, levels: u32) {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for (p, _) in items.iter() {
        low = [low[0].min(p[0]), low[1].min(p[1])];
        high = [high[0].max(p[0]), high[1].max(p[1])];
    }
    let Some((node, rest)) = nodes.split_first_mut() else { return };
    *node = Node { low, high, from: from as u32, to: (from + items.len()) as u32 };
    let Some(below) = levels.checked_sub(1) else { return };
    let axis = usize::from(high[1] - low[1] > high[0] - low[0]);
    let middle = items.len() / 2;
    if middle > 0 {
        items.select_nth_unstable_by(middle, |a, b| a.0[axis].total_cmp(&b.0[axis]));
    }
    let whole = items.len();
    let (left, right) = items.split_at_mut(middle);
    let (left_nodes, right_nodes) = rest.split_at_mut((1 << levels) - 1);
    let mut both = (|| grow(left, left_nodes, from, below), || grow(right, right_nodes, from + middle, below));
    if whole > WORTH_SHARING {
        rayon::join(both.0, both.1);
    } else {
        both.0();
        both.1();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn the_kth_nearest_is_that_of_sorting(points in prop::collection::vec((0_i32..40, 0_i32..40), 1..300), k in 1_usize..20) {
            let points: Vec<[f64; 2]> = points.iter().map(|(x, y)| [f64::from(*x), f64::from(*y)]).collect();
            let tree = KdTree::new(&points);
            for p in &points {
                let mut all: Vec<f64> = points.iter().map(|q| gap2(*p, *q)).collect();
                all.sort_by(f64::total_cmp);
                let truth = all.get(k - 1).copied().unwrap_or(f64::INFINITY);
                prop_assert_eq!(tree.kth_gap2(*p, k, &mut Vec::new()), truth);
            }
        }
    }

    #[test]
    fn every_point_lies_in_one_leaf_and_in_its_box() {
        for count in [0, 1, 7, 8, 9, 63, 1000] {
            let points: Vec<[f64; 2]> = (0..count).map(|n| [f64::from(n * 37 % 101), f64::from(n * 53 % 89)]).collect();
            let tree = KdTree::new(&points);
            let (mut open, mut seen) = (vec![tree.root()], 0);
            while let Some(at) = open.pop() {
                match at.children() {
                    Some(children) => open.extend(children),
                    None => {
                        let node = &tree.nodes[at.node];
                        assert!(tree.points[node.all()].iter().all(|p| node.gap2(*p) == 0.0));
                        seen += node.all().len();
                    }
                }
            }
            assert_eq!(seen, points.len());
        }
    }
}
