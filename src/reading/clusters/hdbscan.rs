//! HDBSCAN*, exact: clusters of whatever density, without a distance to be chosen.
//!
//! Campello, Moulavi & Sander (2013), *Density-based clustering based on hierarchical density
//! estimates*. Parts of the plane that hold together at some density are the nodes of a tree: the
//! minimum [spanning tree](super::spanning) of mutual reachability, taken apart from its longest edge
//! down. A part of fewer than `least_cluster` points that breaks off is points lost; when both parts
//! have as many, two clusters are born. The stability of a cluster is the sum over its points of
//! how much denser (in 1/m) they are when they leave it than the cluster was at its birth; out of the tree
//! those clusters are taken, none within another, whose stability is greatest in sum. All points
//! together are never one of them.
//!
//! The hierarchy is taken in twos, as scikit-learn and the `hdbscan` package do. At equal density nearer points join
//! first, where these libraries leave it to chance, so a point on the very edge between two
//! clusters may go to the other. O(n log n) after the spanning tree.

use super::kd_tree::KdTree;
use super::spanning::{Edge, spanning_tree};
use crate::Progress;
use crate::reading::error::ReadingError;

/// What [`hdbscan`] found.
#[derive(Debug, Clone, PartialEq)]
pub struct Hdbscan {
    /// Number of the cluster each point belongs to, from 0; `None` for noise. Clusters are numbered
    /// by their first point in input order.
    pub labels: Vec<Option<u32>>,
    /// How firmly each point belongs to its cluster, 0 to 1: its density over the cluster's greatest.
    pub probabilities: Vec<f64>,
    /// How many clusters there are.
    pub clusters: usize,
    /// The longest distance of mutual reachability that holds a cluster together, metres; 0 without one.
    pub longest_step_m: f64,
}

/// Clusters points (metres, any plane) of at least `least_cluster` points; `min_points` neighbours, the
/// point itself counted, tell how dense it is round a point. Points that are not finite are noise.
///
/// # Errors
/// [`ReadingError::Parameter`] when a cluster may have fewer than 2 points, `min_points` is 0 or there
/// are more than 2 billion points; [`ReadingError::Cancelled`] when called off.
pub fn hdbscan(
    points: &[[f64; 2]],
    least_cluster: usize,
    min_points: usize,
    progress: &Progress,
) -> Result<Hdbscan, ReadingError> {
    if least_cluster < 2 || min_points == 0 || points.len() > i32::MAX as usize {
        return Err(ReadingError::Parameter {
            what: "points of a cluster",
            why: "there must be at least 2, and at least 1 to tell the density from".to_owned(),
        });
    }
    progress.check()?;
    let tree = KdTree::new(points);
    let mut edges = spanning_tree(&tree, min_points, progress)?;
    edges.sort_unstable_by(Edge::order);
    progress.check()?;
    let mut found =
        Hdbscan { labels: vec![None; points.len()], probabilities: vec![0.0; points.len()], clusters: 0, longest_step_m: 0.0 };
    if edges.is_empty() {
        return Ok(found);
    }
    let condensed = Condensed::new(&Merges::new(&edges), least_cluster);
    let chosen = condensed.chosen();
    for (n, place) in tree.place.iter().enumerate() {
        let (cluster, density) = condensed.left[n];
        if let Some(cluster) = chosen[cluster as usize] {
            found.labels[*place as usize] = Some(cluster);
            let Cluster { least, most, .. } = condensed.clusters[cluster as usize];
            found.longest_step_m = found.longest_step_m.max(least.recip());
            found.probabilities[*place as usize] = if most > 0.0 { (density / most).min(1.0) } else { 1.0 };
        }
    }
    let mut numbers = std::collections::BTreeMap::new();
    for label in found.labels.iter_mut().flatten() {
        let next = numbers.len() as u32;
        *label = *numbers.entry(*label).or_insert(next);
    }
    found.clusters = numbers.len();
    Ok(found)
}

/// Two parts that became one.
#[derive(Clone, Copy)]
struct Merge {
    /// Points by their number, earlier merges by theirs after the points.
    parts: [u32; 2],
    weight2: f64,
    size: u32,
}

/// The hierarchy: merges from the shortest edge up.
struct Merges {
    points: u32,
    merges: Vec<Merge>,
}

impl Merges {
    fn new(edges: &[Edge]) -> Self {
        let points = edges.len() as u32 + 1;
        let mut roots: Vec<u32> = (0..points + edges.len() as u32).collect();
        let find = |roots: &mut [u32], mut n: u32| {
            while roots[n as usize] != n {
                roots[n as usize] = roots[roots[n as usize] as usize];
                n = roots[n as usize];
            }
            n
        };
        let mut all = Self { points, merges: Vec::with_capacity(edges.len()) };
        for (n, edge) in (points..).zip(edges) {
            let parts = edge.ends.map(|end| find(&mut roots, end));
            parts.iter().for_each(|p| roots[*p as usize] = n);
            let size = parts.iter().map(|p| all.size(*p)).sum();
            all.merges.push(Merge { parts, weight2: edge.weight2, size });
        }
        all
    }

    fn merge(&self, part: u32) -> Option<&Merge> {
        self.merges.get(part.checked_sub(self.points)? as usize)
    }

    fn size(&self, part: u32) -> u32 {
        self.merge(part).map_or(1, |m| m.size)
    }
}

/// Density of points in one and the same place, 1/m: a million to the micrometre. Finite, so that
/// differences remain numbers.
const DENSEST: f64 = 1e12;

struct Cluster {
    parent: u32,
    /// Density at its birth, 1/m.
    birth: f64,
    stability: f64,
    /// Density at which it first lost points or broke in two: its longest edge has it.
    least: f64,
    /// Density at which its last points left it or it broke in two.
    most: f64,
}

impl Cluster {
    fn new(parent: u32, birth: f64) -> Self {
        Self { parent, birth, stability: 0.0, least: f64::INFINITY, most: 0.0 }
    }
}

/// The hierarchy with parts that are too small taken as points lost. Parents come before children.
struct Condensed {
    clusters: Vec<Cluster>,
    /// The cluster each point left last, and the density at which it did.
    left: Vec<(u32, f64)>,
}

impl Condensed {
    fn new(all: &Merges, least: usize) -> Self {
        let mut tree = Self { clusters: vec![Cluster::new(0, 0.0)], left: vec![(0, 0.0); all.points as usize] };
        let top = all.points + all.merges.len() as u32 - 1;
        let mut open = vec![(top, 0)];
        while let Some((part, cluster)) = open.pop() {
            // Only parts large enough are opened, and those are merges.
            let Some(merge) = all.merge(part) else { continue };
            let density = if merge.weight2 > 0.0 { merge.weight2.sqrt().recip().min(DENSEST) } else { DENSEST };
            let large = merge.parts.map(|p| all.size(p) as usize >= least);
            let own = &mut tree.clusters[cluster as usize];
            (own.least, own.most) = (own.least.min(density), own.most.max(density));
            for (p, is_large) in merge.parts.into_iter().zip(large) {
                let lost = !is_large || large == [true, true];
                if lost {
                    let own = &mut tree.clusters[cluster as usize];
                    own.stability += (density - own.birth) * f64::from(all.size(p));
                }
                if !is_large {
                    tree.lose(all, p, (cluster, density));
                } else if lost {
                    open.push((p, tree.clusters.len() as u32));
                    tree.clusters.push(Cluster::new(cluster, density));
                } else {
                    open.push((p, cluster));
                }
            }
        }
        tree
    }

    fn lose(&mut self, all: &Merges, part: u32, from: (u32, f64)) {
        let mut open = vec![part];
        while let Some(part) = open.pop() {
            match all.merge(part) {
                Some(merge) => open.extend(merge.parts),
                None => self.left[part as usize] = from,
            }
        }
    }

    /// For each cluster the one that was taken and holds it, if any.
    fn chosen(&self) -> Vec<Option<u32>> {
        let count = self.clusters.len();
        let (mut within, mut better) = (vec![0.0; count], vec![false; count]);
        for (n, c) in self.clusters.iter().enumerate().skip(1).rev() {
            better[n] = within[n] <= c.stability;
            within[c.parent as usize] += if better[n] { c.stability } else { within[n] };
        }
        let mut chosen = vec![None; count];
        for (n, c) in self.clusters.iter().enumerate().skip(1) {
            chosen[n] = chosen[c.parent as usize].or(better[n].then_some(n as u32));
        }
        chosen
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(points: &[[f64; 2]], least: usize, min: usize) -> Hdbscan {
        hdbscan(points, least, min, &Progress::new()).unwrap()
    }

    #[test]
    fn two_heaps_and_a_stray_point() {
        let heap = |x: f64| (0..9).map(move |n| [x + f64::from(n % 3), f64::from(n / 3)]);
        let points: Vec<[f64; 2]> = heap(0.0).chain(heap(50.0)).chain([[25.0, 300.0]]).collect();
        let found = run(&points, 5, 3);
        assert_eq!(found.clusters, 2);
        let expected: Vec<Option<u32>> = (0..19).map(|n| [Some(0), Some(1), None][n / 9]).collect();
        assert_eq!(found.labels, expected);
        assert_eq!(found.probabilities[18], 0.0);
    }

    #[test]
    fn nothing_in_nothing_out_and_bad_parameters_are_told() {
        assert_eq!(run(&[], 2, 1).clusters, 0);
        assert_eq!(run(&[[1.0, 1.0]], 2, 1).labels, [None]);
        assert_eq!(run(&[[f64::NAN, 0.0], [0.0, f64::INFINITY], [0.0, 0.0]], 2, 1).labels, [None; 3]);
        assert_eq!(run(&[[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]], 2, 9).clusters, 0, "fewer points than tell a density");
        // All in one place are one heap, and all together are never a cluster.
        assert_eq!(run(&[[5.0, 5.0]; 500], 5, 5).clusters, 0);
        let p = Progress::new();
        assert!(matches!(hdbscan(&[[0.0, 0.0]], 1, 5, &p), Err(ReadingError::Parameter { .. })));
        assert!(matches!(hdbscan(&[[0.0, 0.0]], 5, 0, &p), Err(ReadingError::Parameter { .. })));
        p.cancel();
        assert!(matches!(hdbscan(&[[0.0, 0.0]; 9], 5, 5, &p), Err(ReadingError::Cancelled(_))));
    }

    #[test]
    fn heaps_of_one_place_each_are_clusters() {
        let points: Vec<[f64; 2]> = (0..300).map(|n| [f64::from(n % 3) * 10.0, 0.0]).collect();
        let found = run(&points, 20, 10);
        assert_eq!(found.clusters, 3);
        assert!(found.labels.iter().enumerate().all(|(n, l)| *l == Some(n as u32 % 3)));
    }
}
