//! DBSCAN, exact: clusters of points that have many others near them.
//!
//! Ester, Kriegel, Sander & Xu (1996), *A density-based algorithm for discovering clusters in large
//! spatial databases with noise*. A point is core when at least `min_points` points, itself among
//! them, lie within `eps_m`; core points within `eps_m` of each other share a cluster; any other
//! point within `eps_m` of a core point is on its border.
//!
//! Points are first put into square tiles small enough that all points of one are neighbours
//! (Gunawan 2013), the tiles into leaves of a few each, the leaves into an R-tree. The search goes
//! from leaf to leaf rather than from point to point: one query of the tree finds all that the tiles
//! of a leaf can reach. A full tile is core without a single distance; two tiles need one close pair to be joined, and
//! none if they are joined already (union-find, Jayanti & Tarjan 2016). A tile reaches at most 20
//! others, so the time grows as n log n for the sorting and with the pairs of points that must be
//! looked at. All cores are used; the result does not depend on how many.
//!
//! Labels are those of scikit-learn: clusters are numbered by their first core point in input
//! order, and a border point belongs to the lowest-numbered cluster that reaches it.

use std::sync::atomic::{AtomicU32, Ordering};

use rayon::prelude::*;
use rstar::{AABB, Envelope, RTree, RTreeObject};

use crate::Progress;
use crate::reading::error::ReadingError;

/// What [`dbscan`] found.
#[derive(Debug, Clone, PartialEq)]
pub struct Dbscan {
    /// Number of the cluster each point belongs to, from 0; `None` for noise.
    pub labels: Vec<Option<u32>>,
    /// Whether each point is core.
    pub core: Vec<bool>,
    /// How many clusters there are.
    pub clusters: usize,
}

/// Clusters points (metres, any plane). Points that are not finite are noise.
///
/// # Errors
/// [`ReadingError::Parameter`] when `eps_m` is not a positive length or `min_points` is 0, or when
/// there are more than 4 billion points; [`ReadingError::Cancelled`] when called off.
pub fn dbscan(points: &[[f64; 2]], eps_m: f64, min_points: usize, progress: &Progress) -> Result<Dbscan, ReadingError> {
    if !(eps_m.is_finite() && eps_m > 0.0) {
        return Err(ReadingError::Parameter { what: "cluster distance", why: format!("{eps_m} m is not a positive length") });
    }
    if min_points == 0 || points.len() >= u32::MAX as usize {
        return Err(ReadingError::Parameter { what: "points of a cluster", why: "must be between 1 and 4 billion".to_owned() });
    }
    let tiles = Tiles::new(points, eps_m);
    progress.check()?;
    let core = tiles.core(min_points);
    progress.check()?;
    let roots = tiles.join(&core);
    progress.check()?;
    Ok(tiles.label(points.len(), &core, &roots))
}

/// Points of one tile: a stretch of the sorted points and the box they fill.
#[derive(Debug, Clone, Copy)]
struct Tile {
    low: [f64; 2],
    high: [f64; 2],
    from: u32,
    to: u32,
    /// Its number, in the order of the sorted points.
    id: u32,
}

impl RTreeObject for Tile {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners(self.low, self.high)
    }
}

impl Tile {
    fn all(&self) -> std::ops::Range<usize> {
        self.from as usize..self.to as usize
    }

    /// Smallest squared distance between the boxes of two tiles.
    fn gap2(&self, other: &Self) -> f64 {
        let gap = |k: usize| (other.low[k] - self.high[k]).max(self.low[k] - other.high[k]).max(0.0);
        gap(0) * gap(0) + gap(1) * gap(1)
    }

    /// Smallest squared distance from a point to the box.
    fn gap2_to(&self, p: [f64; 2]) -> f64 {
        let gap = |k: usize| (self.low[k] - p[k]).max(p[k] - self.high[k]).max(0.0);
        gap(0) * gap(0) + gap(1) * gap(1)
    }

    fn diagonal2(&self) -> f64 {
        (self.high[0] - self.low[0]).powi(2) + (self.high[1] - self.low[1]).powi(2)
    }
}

struct Tiles {
    /// Points in tile order, and where each stood in the input.
    points: Vec<[f64; 2]>,
    place: Vec<u32>,
    tiles: Vec<Tile>,
    /// For each tile the others within reach, at `near[starts[id]..starts[id + 1]]`.
    near: Vec<u32>,
    starts: Vec<usize>,
    eps2: f64,
}

/// Spreads the bits of a number over the even places.
fn spread(v: u32) -> u64 {
    let mut x = u64::from(v);
    x = (x | (x << 16)) & 0x0000_FFFF_0000_FFFF;
    x = (x | (x << 8)) & 0x00FF_00FF_00FF_00FF;
    x = (x | (x << 4)) & 0x0F0F_0F0F_0F0F_0F0F;
    x = (x | (x << 2)) & 0x3333_3333_3333_3333;
    (x | (x << 1)) & 0x5555_5555_5555_5555
}

fn within(a: [f64; 2], b: [f64; 2], eps2: f64) -> bool {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    dx * dx + dy * dy <= eps2
}

impl Tiles {
    fn new(input: &[[f64; 2]], eps_m: f64) -> Self {
        let finite = |p: &[f64; 2]| p[0].is_finite() && p[1].is_finite();
        let bound = |k: usize| {
            let of = |low: (f64, f64), v: f64| (low.0.min(v), low.1.max(v));
            input.iter().filter(|p| finite(p)).map(|p| p[k]).fold((f64::INFINITY, f64::NEG_INFINITY), of)
        };
        let ((west, east), (south, north)) = (bound(0), bound(1));
        // Tiles wider than a neighbourhood only cost time: whether one is small enough to be taken
        // whole is judged by the box its points fill. So a huge extent may coarsen them.
        let side = (eps_m / std::f64::consts::SQRT_2).max((east - west).max(north - south) / f64::from(u32::MAX - 1));
        let key = |p: &[f64; 2]| {
            let cell = |v: f64, from: f64| ((v - from) / side) as u32;
            spread(cell(p[0], west)) | (spread(cell(p[1], south)) << 1)
        };
        let mut order: Vec<(u64, u32)> =
            input.par_iter().enumerate().filter(|(_, p)| finite(p)).map(|(n, p)| (key(p), n as u32)).collect();
        order.par_sort_unstable();
        let points: Vec<[f64; 2]> = order.par_iter().map(|(_, n)| input[*n as usize]).collect();
        let (mut tiles, mut keys) = (Vec::new(), Vec::new());
        let mut from = 0;
        for same in order.chunk_by(|a, b| a.0 == b.0) {
            let to = from + same.len();
            let (mut low, mut high) = (points[from], points[from]);
            for p in &points[from..to] {
                low = [low[0].min(p[0]), low[1].min(p[1])];
                high = [high[0].max(p[0]), high[1].max(p[1])];
            }
            tiles.push(Tile { low, high, from: from as u32, to: to as u32, id: tiles.len() as u32 });
            keys.push(same[0].0);
            from = to;
        }
        let place = order.into_iter().map(|(_, n)| n).collect();
        let eps2 = eps_m * eps_m;
        let (near, starts) = reach(&tiles, &keys, eps_m, eps2);
        Self { points, place, tiles, near, starts, eps2 }
    }

    fn near(&self, tile: &Tile) -> impl Iterator<Item = &Tile> {
        let id = tile.id as usize;
        self.near[self.starts[id]..self.starts[id + 1]].iter().map(|n| &self.tiles[*n as usize])
    }

    /// Whether all points of a tile are neighbours of each other.
    fn is_close(&self, tile: &Tile) -> bool {
        tile.diagonal2() <= self.eps2
    }

    /// Which of the sorted points are core.
    fn core(&self, min_points: usize) -> Vec<bool> {
        let of_tile = |tile: &Tile| -> Vec<bool> {
            let close = self.is_close(tile);
            let own = tile.all().len();
            if close && own >= min_points {
                return vec![true; own];
            }
            let enough = |n: usize| {
                let p = self.points[n];
                let mut count = if close { own } else { tile.all().filter(|m| within(p, self.points[*m], self.eps2)).count() };
                for other in self.near(tile) {
                    if count >= min_points {
                        return true;
                    }
                    if other.gap2_to(p) <= self.eps2 {
                        count += self.points[other.all()].iter().filter(|q| within(p, **q, self.eps2)).count();
                    }
                }
                count >= min_points
            };
            tile.all().map(enough).collect()
        };
        self.tiles.par_chunks(256).flat_map_iter(|tiles| tiles.iter().flat_map(of_tile)).collect()
    }

    /// For each sorted point a number that core points of one cluster share.
    fn join(&self, core: &[bool]) -> Vec<u32> {
        let sets = Sets::new(self.points.len());
        let cores = |tile: &Tile| tile.all().filter(|n| core[*n]);
        self.tiles.par_iter().with_min_len(256).for_each(|tile| {
            let Some(first) = cores(tile).next() else { return };
            if self.is_close(tile) {
                cores(tile).skip(1).for_each(|n| sets.unite(first as u32, n as u32));
            } else {
                for n in cores(tile) {
                    cores(tile).take_while(|m| *m < n).filter(|m| within(self.points[n], self.points[*m], self.eps2)).for_each(
                        |m| {
                            sets.unite(n as u32, m as u32);
                        },
                    );
                }
            }
        });
        self.tiles.par_iter().with_min_len(256).for_each(|tile| {
            let Some(first) = cores(tile).next() else { return };
            for other in self.near(tile).filter(|other| other.id > tile.id) {
                let Some(first_other) = cores(other).next() else { continue };
                let whole = self.is_close(tile) && self.is_close(other);
                if whole && sets.same(first as u32, first_other as u32) {
                    continue;
                }
                'pairs: for n in cores(tile).filter(|n| other.gap2_to(self.points[*n]) <= self.eps2) {
                    for m in cores(other).filter(|m| within(self.points[n], self.points[*m], self.eps2)) {
                        sets.unite(n as u32, m as u32);
                        if whole {
                            break 'pairs;
                        }
                    }
                }
            }
        });
        (0..self.points.len() as u32).into_par_iter().with_min_len(4096).map(|n| sets.find(n)).collect()
    }

    fn label(&self, count: usize, core: &[bool], roots: &[u32]) -> Dbscan {
        // Clusters by their first core point in input order.
        let mut first = vec![u32::MAX; self.points.len()];
        for n in (0..self.points.len()).filter(|n| core[*n]) {
            let slot = &mut first[roots[n] as usize];
            *slot = (*slot).min(self.place[n]);
        }
        let mut order: Vec<(u32, u32)> =
            (0..first.len()).filter(|n| first[*n] != u32::MAX).map(|n| (first[n], n as u32)).collect();
        order.par_sort_unstable();
        let mut number = first;
        for (cluster, (_, root)) in order.iter().enumerate() {
            number[*root as usize] = cluster as u32;
        }
        let border = |tile: &Tile, n: usize| {
            let p = self.points[n];
            let mut best = u32::MAX;
            for other in std::iter::once(tile).chain(self.near(tile)).filter(|t| t.gap2_to(p) <= self.eps2) {
                for m in other.all().filter(|m| core[*m]) {
                    let label = number[roots[m] as usize];
                    if label < best && within(p, self.points[m], self.eps2) {
                        best = label;
                    }
                }
            }
            (best != u32::MAX).then_some(best)
        };
        let of_tile = |tile: &Tile| -> Vec<Option<u32>> {
            tile.all().map(|n| if core[n] { Some(number[roots[n] as usize]) } else { border(tile, n) }).collect()
        };
        let sorted: Vec<Option<u32>> = self.tiles.par_chunks(256).flat_map_iter(|tiles| tiles.iter().flat_map(of_tile)).collect();
        let mut found = Dbscan { labels: vec![None; count], core: vec![false; count], clusters: order.len() };
        for (n, place) in self.place.iter().enumerate() {
            found.labels[*place as usize] = sorted[n];
            found.core[*place as usize] = core[n];
        }
        found
    }
}

/// Tiles that lie together: a leaf of the search, and an entry of the R-tree.
struct Leaf {
    from: usize,
    to: usize,
    low: [f64; 2],
    high: [f64; 2],
}

impl RTreeObject for Leaf {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners(self.low, self.high)
    }
}

/// A leaf holds at most this many tiles: few enough to compare with all tiles of the leaves nearby.
const LEAF_TILES: usize = 24;

/// Squares of the plane with few tiles each: the runs of tiles (in order of their interleaved keys)
/// are quartered until they are short enough.
fn leaves(tiles: &[Tile], keys: &[u64]) -> Vec<Leaf> {
    let mut found = Vec::new();
    let mut open = vec![(0, tiles.len(), 62_u32)];
    while let Some((from, to, bit)) = open.pop() {
        if to - from > LEAF_TILES && keys[from] != keys[to - 1] {
            let mut end = to;
            for quarter in (0..4_u64).rev() {
                let begin = from + keys[from..end].partition_point(|k| (k >> bit) & 3 < quarter);
                if begin < end {
                    open.push((begin, end, bit.saturating_sub(2)));
                }
                end = begin;
            }
            continue;
        }
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for tile in &tiles[from..to] {
            low = [low[0].min(tile.low[0]), low[1].min(tile.low[1])];
            high = [high[0].max(tile.high[0]), high[1].max(tile.high[1])];
        }
        if from < to {
            found.push(Leaf { from, to, low, high });
        }
    }
    found.sort_unstable_by_key(|leaf| leaf.from);
    found
}

/// The tiles within reach of each tile, one query of the R-tree for each of its leaves.
fn reach(tiles: &[Tile], keys: &[u64], eps_m: f64, eps2: f64) -> (Vec<u32>, Vec<usize>) {
    let order = leaves(tiles, keys);
    let spans: Vec<(usize, usize, AABB<[f64; 2]>)> = order.iter().map(|l| (l.from, l.to, l.envelope())).collect();
    let tree = RTree::bulk_load(order);
    let of_leaf = |(from, to, own): &(usize, usize, AABB<[f64; 2]>)| {
        let (low, high) = (own.lower(), own.upper());
        let wide = AABB::from_corners([low[0] - eps_m, low[1] - eps_m], [high[0] + eps_m, high[1] + eps_m]);
        let near_leaves = tree.locate_in_envelope_intersecting(wide);
        let reached: Vec<&Tile> =
            near_leaves.flat_map(|l| &tiles[l.from..l.to]).filter(|t| t.envelope().intersects(&wide)).collect();
        let (mut near, mut counts) = (Vec::with_capacity(8 * (to - from)), Vec::with_capacity(to - from));
        for tile in &tiles[*from..*to] {
            let before = near.len();
            near.extend(reached.iter().filter(|o| o.id != tile.id && tile.gap2(o) <= eps2).map(|o| o.id));
            counts.push(near.len() - before);
        }
        (near, counts)
    };
    // Leaves follow each other in the order of the tiles, so their lists need only be strung together.
    let lists: Vec<(Vec<u32>, Vec<usize>)> = spans.par_iter().with_min_len(64).map(of_leaf).collect();
    let mut starts = Vec::with_capacity(tiles.len() + 1);
    starts.push(0);
    for count in lists.iter().flat_map(|l| &l.1) {
        starts.push(starts[starts.len() - 1] + count);
    }
    let mut near = Vec::with_capacity(starts[tiles.len()]);
    lists.iter().for_each(|l| near.extend_from_slice(&l.0));
    (near, starts)
}

/// Disjoint sets that several threads may unite at once; a root is the smallest of its set.
struct Sets(Vec<AtomicU32>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count as u32).map(AtomicU32::new).collect())
    }

    fn find(&self, mut n: u32) -> u32 {
        loop {
            let parent = self.0[n as usize].load(Ordering::Relaxed);
            if parent == n {
                return n;
            }
            let grand = self.0[parent as usize].load(Ordering::Relaxed);
            // Halving the path; losing the race only leaves it longer.
            let _ = self.0[n as usize].compare_exchange_weak(parent, grand, Ordering::Relaxed, Ordering::Relaxed);
            n = grand;
        }
    }

    fn same(&self, a: u32, b: u32) -> bool {
        self.find(a) == self.find(b)
    }

    fn unite(&self, a: u32, b: u32) {
        loop {
            let (a, b) = (self.find(a), self.find(b));
            if a == b {
                return;
            }
            let (low, high) = (a.min(b), a.max(b));
            if self.0[high as usize].compare_exchange(high, low, Ordering::AcqRel, Ordering::Relaxed).is_ok() {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The definition, word for word, in O(n²).
    fn by_definition(points: &[[f64; 2]], eps: f64, min_points: usize) -> Vec<Option<u32>> {
        let near = |a: usize| (0..points.len()).filter(|b| within(points[a], points[*b], eps * eps)).collect::<Vec<_>>();
        let core: Vec<bool> = (0..points.len()).map(|n| near(n).len() >= min_points).collect();
        let mut labels = vec![None; points.len()];
        let mut count = 0;
        for start in 0..points.len() {
            if labels[start].is_some() || !core[start] {
                continue;
            }
            let mut open = vec![start];
            while let Some(n) = open.pop() {
                if labels[n].is_none() {
                    labels[n] = Some(count);
                    if core[n] {
                        open.extend(near(n));
                    }
                }
            }
            count += 1;
        }
        labels
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, ..crate::cases::kept() })]
        #[test]
        fn as_by_definition(
            // Whole numbers make ties, repeats and distances of exactly eps.
            points in prop::collection::vec((0_i32..30, 0_i32..30), 0..150),
            eps in 1_u8..6,
            min_points in 1_usize..8,
        ) {
            let points: Vec<[f64; 2]> = points.iter().map(|(x, y)| [f64::from(*x), f64::from(*y)]).collect();
            let found = dbscan(&points, f64::from(eps), min_points, &Progress::new()).unwrap();
            prop_assert_eq!(found.labels, by_definition(&points, f64::from(eps), min_points));
        }

        #[test]
        fn as_by_definition_when_tiles_must_be_coarse(
            points in prop::collection::vec((0_i32..12, 0_i32..12), 1..60),
            far in 1e10_f64..1e12,
        ) {
            let mut points: Vec<[f64; 2]> = points.iter().map(|(x, y)| [f64::from(*x), f64::from(*y)]).collect();
            points.push([far, far]);
            let found = dbscan(&points, 1.5, 3, &Progress::new()).unwrap();
            prop_assert_eq!(found.labels, by_definition(&points, 1.5, 3));
        }
    }

    #[test]
    fn nothing_in_nothing_out_and_bad_parameters_are_told() {
        let p = Progress::new();
        assert_eq!(dbscan(&[], 1.0, 3, &p).unwrap().clusters, 0);
        assert_eq!(dbscan(&[[f64::NAN, 0.0], [f64::INFINITY, 0.0]], 1.0, 1, &p).unwrap().labels, [None, None]);
        assert_eq!(dbscan(&[[5.0, 5.0]; 1000], 1.0, 1000, &p).unwrap().clusters, 1);
        for eps in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(dbscan(&[[0.0, 0.0]], eps, 3, &p), Err(ReadingError::Parameter { .. })));
        }
        p.cancel();
        assert!(matches!(dbscan(&[[0.0, 0.0]], 1.0, 3, &p), Err(ReadingError::Cancelled(_))));
    }
}
