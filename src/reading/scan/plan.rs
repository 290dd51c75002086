//! Where the windows of a scan can be laid, what is expected in each, and how strong it is.

use rayon::prelude::*;

use super::asked::{Settings, Window};
use super::grid::{ExposureGrid, Padded};
use super::window::{Row, RunningSums, Runs, Shape, runs};
use crate::chance::{Group, Shapes, likeliest_rate};

/// The windows of a scan on one beach.
pub(super) struct Plan {
    windows: Vec<Runs>,
    /// Places of the padded grid in a step along the shore.
    width: usize,
    rows: Vec<Row>,
    /// Exposure of each cell by outing, as runs of `stays`: where those of each cell begin.
    first: Vec<u32>,
    /// Outing and exposure, in order of cell.
    stays: Vec<(u32, f32)>,
    counts: Vec<u32>,
    groups: Vec<Group>,
    layers: Vec<Layer>,
    trials: usize,
    least: u32,
    margin: f64,
}

/// What holds if outings differ by one shape of their effects.
struct Layer {
    phi: f64,
    /// For each trial the share of the finds that matter which falls inside; NaN where the window does not fit.
    share: Vec<f32>,
}

/// Shapes by which outings may differ: coefficients of variation of 1.8 down to 0.01.
const PHIS: [f64; 6] = [0.3, 1.0, 3.0, 10.0, 50.0, 10_000.0];
/// A shape that is less likely than the likeliest by this, on the scale of logarithms, is not looked at in a replicate:
/// a window of luck hardly ever makes good for that, and each shape takes as long as the counting itself.
const FAR_FROM_LIKELY: f64 = 2.0;

/// A window with more finds than expected: its log likelihood ratio and where it lies.
#[derive(Clone, Copy)]
pub(super) struct Seen {
    pub(super) ratio: f64,
    expected: f64,
    finds: u32,
    /// Its middle, a place in the padded grid.
    middle: usize,
    window: usize,
}

/// The bound is rounded by far less than this part of it.
const ROUGHLY: f64 = 0.999;
/// A window with more of the ground is no place but the beach itself; half of it is one still, however it is rounded.
const MOST_OF_GROUND: f64 = 0.5 + 1e-9;
/// No window is taken as richer than this: a find or two on next to no exposure would be without bounds.
const MOST_RATIO: f64 = 100.0;
/// Fewer expected than this are taken as this many, as exposure on the rim of a track is hardly known.
const LEAST_EXPECTED: f32 = 0.05;

impl Plan {
    pub(super) fn new(grid: &Padded, cells: &ExposureGrid, shapes: &[Shape], settings: &Settings) -> Self {
        let mut windows = Vec::new();
        for (shape, s) in shapes.iter().enumerate() {
            windows.extend((1..=s.rings.len()).map(|rings| Runs { shape, rings, ends: runs(s, rings, grid.width as isize) }));
        }
        let groups = cells.groups();
        let mut rows = Vec::new();
        let exposed = grid.lay(&cells.weighed(|_| 1.0));
        let mut trials = 0;
        for (from, row) in (0..).step_by(grid.width).zip(exposed.chunks(grid.width)) {
            let Some(first) = row.iter().position(|e| *e > 0.0) else { continue };
            let len = row.iter().rposition(|e| *e > 0.0).map_or(0, |last| last + 1 - first);
            rows.push(Row { from: from + first, len, trials });
            trials += len * windows.len();
        }
        let (first, stays) = by_cell(cells);
        let (least, margin) = (settings.least_finds, settings.margin.max(1.0));
        let (width, counts) = (grid.width, cells.counts());
        let many = groups.iter().filter(|g| g.exposure > 0.0).count() >= settings.least_outings;
        let phis = if many { &PHIS[..] } else { &PHIS[..1] };
        let layers = Vec::new();
        let mut plan = Self { windows, width, rows, first, stays, counts, groups, layers, trials, least, margin };
        plan.layers = phis.par_iter().map(|phi| Layer { phi: *phi, share: plan.shares(grid, cells, &exposed, *phi) }).collect();
        plan
    }

    /// For each trial x, the share of the finds that matter which falls inside, on days as they usually are.
    fn shares(&self, grid: &Padded, cells: &ExposureGrid, exposed: &[f64], phi: f64) -> Vec<f32> {
        let (b, trials) = (likeliest_rate(&self.groups, phi).unwrap_or(0.0), self.trials);
        let rest_of_day: Vec<f64> = self.groups.iter().map(|g| phi / (phi + b * g.exposure)).collect();
        // sum A_j y_j (1 - y_j), sum A_j x_j and sum A_j x_j (1 - y_j), with A_j as expected.
        let of_rate: f64 = self.groups.iter().zip(&rest_of_day).map(|(g, rest)| b * g.exposure * rest).sum();
        let mut within = vec![0.0_f64; trials];
        let mut sums = RunningSums::<f64>::new(grid);
        self.each(&mut sums, &grid.lay(&cells.weighed(|_| b)), 0..grid.len, |n, e| within[n] = e);
        let mut shared = vec![0.0_f64; trials];
        self.each(&mut sums, &grid.lay(&cells.weighed(|n| b * rest_of_day[n])), 0..grid.len, |n, e| shared[n] = e);
        // sum A_j x_j^2: each outing by itself, over the rows that its windows reach.
        let mut squares = vec![0.0_f64; trials];
        let reach = self.windows.iter().flat_map(|w| &w.ends).flat_map(|e| [e.0.unsigned_abs(), e.1.unsigned_abs()]).max();
        let reach = reach.unwrap_or(0) + self.width;
        let mut own = vec![0.0_f64; grid.len];
        for (cells, group) in cells.outings.iter().zip(&self.groups).filter(|(c, _)| !c.is_empty()) {
            own.fill(0.0);
            cells.iter().for_each(|(cell, m2)| own[grid.place[*cell as usize]] = b * f64::from(*m2));
            let place = |c: Option<&(u32, f32)>| c.map_or(0, |c| grid.place[c.0 as usize]);
            let (from, to) = (place(cells.first()).saturating_sub(reach), place(cells.last()) + reach);
            let all = phi + b * group.exposure;
            self.each(&mut sums, &own, from..to, |n, e| squares[n] += e * e / all);
        }
        let ground: f64 = b * exposed.iter().sum::<f64>();
        let mut share = vec![f32::NAN; trials];
        for row in &self.rows {
            for w in 0..self.windows.len() {
                for k in 0..row.len {
                    let n = row.trials + w * row.len + k;
                    // Laid round a cell that was searched.
                    if exposed[row.from + k] > 0.0 && within[n] > 0.0 && within[n] <= MOST_OF_GROUND * ground {
                        let x = (squares[n] + shared[n] * shared[n] / of_rate.max(1e-12)) / within[n];
                        share[n] = x.clamp(1e-9, 0.999) as f32;
                    }
                }
            }
        }
        share
    }

    /// Adds up a field in every window whose row begins within a range of places.
    fn each(&self, sums: &mut RunningSums<f64>, field: &[f64], rows: std::ops::Range<usize>, mut take: impl FnMut(usize, f64)) {
        sums.sum(field, self.width);
        for row in self.rows.iter().filter(|r| r.from + r.len > rows.start && r.from < rows.end) {
            for (w, window) in self.windows.iter().enumerate() {
                let from = row.trials + w * row.len;
                sums.count(row, window).iter().enumerate().for_each(|(k, e)| take(from + k, *e));
            }
        }
    }

    /// What each outing gives per m² of its exposure if outings differ by a shape: its rate drawn towards that of all.
    fn rates(groups: &[Group], b: f64, phi: f64) -> Vec<f32> {
        groups.iter().map(|g| (b * (g.count + phi) / (phi + b * g.exposure)) as f32).collect()
    }

    /// For each shape the likeliest rate and how likely it makes the outings' totals, as a logarithm.
    fn evidence(&self, groups: &[Group]) -> Vec<(f64, f64)> {
        let of = |layer: &Layer| {
            let b = likeliest_rate(groups, layer.phi).unwrap_or(0.0);
            (b, Shapes::ln_posterior(groups, b, layer.phi))
        };
        self.layers.iter().map(of).collect()
    }

    /// Finds expected in each cell by these rates, laid on the padded grid.
    fn lay_expected(&self, grid: &Padded, rates: &[f32]) -> Vec<f32> {
        let mut laid = vec![0.0; grid.len];
        for (cell, place) in grid.place.iter().enumerate() {
            let own = &self.stays[self.first[cell] as usize..self.first[cell + 1] as usize];
            laid[*place] = own.iter().map(|(outing, m2)| rates[*outing as usize] * m2).sum();
        }
        laid
    }

    /// The ratio of a window with so many finds against one `margin` times as rich as the rest; `None` when they are too
    /// few or no more than that.
    fn ratio(&self, inside: u32, expected: f32, share: f32, margin: f64) -> Option<f64> {
        let (n, e, x) = (f64::from(inside), f64::from(expected.max(LEAST_EXPECTED)), f64::from(share));
        if inside < self.least || share.is_nan() || n <= e {
            return None;
        }
        let all = e / x;
        let at = |r: f64| n * r.ln() - all * (1.0 + (r - 1.0) * x).ln();
        let best = if n < all { (n * (1.0 - x) / (x * (all - n))).min(MOST_RATIO) } else { MOST_RATIO };
        (best > margin).then(|| at(best) - at(margin))
    }

    /// The largest ratio of all windows in a replicate, without the margin; the shape is the likeliest with the window and
    /// without.
    ///
    /// As ln x <= x - 1, a ratio is at most (n - e)^2 / (e (1 - x)): where that is no more than the
    /// largest so far there is no need of logarithms.
    pub(super) fn largest(
        &self,
        grid: &Padded,
        counts: &mut RunningSums<u32>,
        expected: &mut RunningSums<f32>,
        finds: &[u32],
        groups: &[Group],
    ) -> f64 {
        let evidence = self.evidence(groups);
        let likeliest = evidence.iter().map(|e| e.1).fold(f64::NEG_INFINITY, f64::max);
        counts.sum(finds, self.width);
        let mut largest = 0.0_f64;
        for (layer, (b, ln)) in self.layers.iter().zip(&evidence) {
            let behind = likeliest - ln;
            if behind > FAR_FROM_LIKELY {
                continue;
            }
            expected.sum(&self.lay_expected(grid, &Self::rates(groups, *b, layer.phi)), self.width);
            largest = largest.max(self.largest_of(layer, counts, expected, largest + behind) - behind);
        }
        largest
    }

    /// The largest ratio of all windows at one shape, or `largest` if there is none larger.
    fn largest_of(&self, layer: &Layer, counts: &mut RunningSums<u32>, expected: &mut RunningSums<f32>, mut largest: f64) -> f64 {
        for row in &self.rows {
            for (w, window) in self.windows.iter().enumerate() {
                let share = &layer.share[row.trials + w * row.len..][..row.len];
                let (inside, within) = (counts.count(row, window), expected.count(row, window));
                let enough = (largest * ROUGHLY) as f32;
                let mut any = false;
                for ((c, e), x) in inside.iter().zip(within).zip(share) {
                    let e = e.max(LEAST_EXPECTED);
                    let over = *c as f32 - e;
                    any |= (over > 0.0) & (over * over >= enough * e * (1.0 - x));
                }
                if any {
                    for ((c, e), x) in inside.iter().zip(within).zip(share) {
                        largest = self.ratio(*c, *e, *x, 1.0).map_or(largest, |r| largest.max(r));
                    }
                }
            }
        }
        largest
    }

    /// Every window with more finds than expected and allowed for, likeliest first.
    pub(super) fn all(&self, grid: &Padded) -> Vec<Seen> {
        let evidence = self.evidence(&self.groups);
        let likeliest = evidence.iter().map(|e| e.1).fold(f64::NEG_INFINITY, f64::max);
        let mut counts = RunningSums::<u32>::new(grid);
        counts.sum(&grid.lay(&self.counts), self.width);
        // Of each trial the largest ratio over all shapes, and what is expected then.
        let mut best = vec![(0.0_f64, 0.0_f32); self.trials];
        for (layer, (b, ln)) in self.layers.iter().zip(&evidence) {
            let rates = Self::rates(&self.groups, *b, layer.phi);
            let field: Vec<f64> = self.lay_expected(grid, &rates).into_iter().map(f64::from).collect();
            let mut expected = RunningSums::<f64>::new(grid);
            expected.sum(&field, self.width);
            for row in &self.rows {
                for (window, runs) in self.windows.iter().enumerate() {
                    let from = row.trials + window * row.len;
                    let within = expected.count(row, runs);
                    for (k, (finds, e)) in counts.count(row, runs).iter().zip(within).enumerate() {
                        let found = self.ratio(*finds, *e as f32, layer.share[from + k], self.margin);
                        if let Some(ratio) = found.map(|r| r - (likeliest - ln)).filter(|r| *r > best[from + k].0) {
                            best[from + k] = (ratio, *e as f32);
                        }
                    }
                }
            }
        }
        let mut seen = Vec::new();
        for row in &self.rows {
            for (window, runs) in self.windows.iter().enumerate() {
                let from = row.trials + window * row.len;
                let told = counts.count(row, runs).iter().enumerate().zip(&best[from..]).filter(|(_, b)| b.0 > 0.0);
                seen.extend(told.map(|((k, finds), (ratio, expected))| Seen {
                    ratio: *ratio,
                    expected: f64::from(*expected),
                    finds: *finds,
                    middle: row.from + k,
                    window,
                }));
            }
        }
        seen.sort_unstable_by(|a, b| b.ratio.total_cmp(&a.ratio).then((a.middle, a.window).cmp(&(b.middle, b.window))));
        seen
    }

    pub(super) fn window(&self, grid: &Padded, seen: Seen, p: f64) -> Window {
        let Runs { shape, rings, ends } = &self.windows[seen.window];
        let places = ends.iter().flat_map(|(first, end)| (*first..*end).step_by(self.width));
        let inside = places.filter_map(|s| grid.cell[seen.middle.wrapping_add_signed(s)]).map(|n| n as usize).collect();
        Window {
            finds: seen.finds,
            expected: seen.expected,
            cells: inside,
            log_ratio: seen.ratio,
            p,
            shape: *shape,
            rings: *rings,
            middle: grid.cell[seen.middle].unwrap_or_default() as usize,
        }
    }
}

/// The stays of a grid in order of cell, and where those of each begin.
fn by_cell(cells: &ExposureGrid) -> (Vec<u32>, Vec<(u32, f32)>) {
    let mut first = vec![0_u32; cells.cells + 1];
    cells.outings.iter().flatten().for_each(|(cell, _)| first[*cell as usize + 1] += 1);
    for n in 0..cells.cells {
        first[n + 1] += first[n];
    }
    let mut next = first.clone();
    let mut stays = vec![(0, 0.0); first[cells.cells] as usize];
    for (outing, own) in cells.outings.iter().enumerate() {
        for (cell, m2) in own {
            let at = &mut next[*cell as usize];
            stays[*at as usize] = (outing as u32, *m2);
            *at += 1;
        }
    }
    (first, stays)
}
