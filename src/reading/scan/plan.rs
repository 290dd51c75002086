//! Where the windows of a scan can be laid, what is expected in each, and how strong it is.

use rayon::prelude::*;

use super::asked::{Settings, Window};
use super::grid::{ByCell, ExposureGrid, Padded};
use super::window::{Block, Row, RunningSums, Runs, Shape, runs};
use crate::chance::{Group, Shapes, likeliest_rate};

/// The windows of a scan on one beach.
pub(super) struct Plan {
    pub(super) windows: Vec<Runs>,
    /// Places of the padded grid in a step along the shore.
    pub(super) width: usize,
    pub(super) rows: Vec<Row>,
    pub(super) blocks: Vec<Block>,
    /// Exposure of each cell by outing.
    exposure: ByCell,
    counts: Vec<u32>,
    pub(super) groups: Vec<Group>,
    pub(super) layers: Vec<Layer>,
    /// Of each trial the largest share at any shape; NaN where the window does not fit.
    pub(super) most_share: Vec<f32>,
    /// Of each trial the exposure inside, m², and of each cell its own.
    pub(super) inside_m2: Vec<f32>,
    pub(super) cell_m2: Vec<f32>,
    trials: usize,
    pub(super) least: u32,
    margin: f64,
}

/// What holds if outings differ by one shape of their effects.
pub(super) struct Layer {
    pub(super) phi: f64,
    /// For each trial the share of the finds that matter which falls inside; NaN where the window does not fit.
    pub(super) share: Vec<f32>,
}

/// Shapes by which outings may differ: coefficients of variation of 1.8 down to 0.01.
const PHIS: [f64; 6] = [0.3, 1.0, 3.0, 10.0, 50.0, 10_000.0];
/// The days of a beach as they usually are, at one shape of the outings' effects.
struct Days {
    /// The likeliest rate.
    b: f64,
    /// sum A_j y_j (1 - y_j): what is known of the rate.
    of_rate: f64,
    /// For each outing 1 - y_j, ...
    rest: Vec<f64>,
    /// ... and what its exposure inside, squared, is to be multiplied by: 1 / (phi + b E_j).
    per_all: Vec<f64>,
}

impl Days {
    fn new(groups: &[Group], phi: f64) -> Self {
        let b = likeliest_rate(groups, phi).unwrap_or(0.0);
        let per_all: Vec<f64> = groups.iter().map(|g| 1.0 / (phi + b * g.exposure)).collect();
        let rest: Vec<f64> = per_all.iter().map(|p| phi * p).collect();
        let of_rate = groups.iter().zip(&rest).map(|(g, rest)| b * g.exposure * rest).sum();
        Self { b, of_rate, rest, per_all }
    }
}

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

/// A window with more of the ground is no place but the beach itself; half of it is one still, however it is rounded.
const MOST_OF_GROUND: f64 = 0.5 + 1e-9;
/// No window is taken as richer than this: a find or two on next to no exposure would be without bounds.
const MOST_RATIO: f64 = 100.0;
/// Fewer expected than this are taken as this many, as exposure on the rim of a track is hardly known.
pub(super) const LEAST_EXPECTED: f32 = 0.05;

impl Plan {
    pub(super) fn new(grid: &Padded, cells: &ExposureGrid, shapes: &[Shape], settings: &Settings) -> Self {
        let mut windows = Vec::new();
        for (shape, s) in shapes.iter().enumerate() {
            windows.extend((1..=s.rings.len()).map(|rings| Runs { shape, rings, ends: runs(s, rings, grid.width as isize) }));
        }
        let groups = cells.groups();
        let mut rows = Vec::new();
        let weighed = cells.weighed(|_| 1.0);
        let exposed = grid.lay(&weighed);
        let mut trials = 0;
        for (from, row) in (0..).step_by(grid.width).zip(exposed.chunks(grid.width)) {
            let Some(first) = row.iter().position(|e| *e > 0.0) else { continue };
            let len = row.iter().rposition(|e| *e > 0.0).map_or(0, |last| last + 1 - first);
            rows.push(Row { from: from + first, len, trials });
            trials += len * windows.len();
        }
        let (least, margin) = (settings.least_finds, settings.margin.max(1.0));
        let (width, counts) = (grid.width, cells.counts());
        let many = groups.iter().filter(|g| g.exposure > 0.0).count() >= settings.least_outings;
        let phis = if many { &PHIS[..] } else { &PHIS[..1] };
        let (exposure, layers, most_share) = (cells.by_cell(), Vec::new(), vec![f32::NAN; trials]);
        let cell_m2 = weighed.iter().map(|m2| *m2 as f32).collect();
        let (blocks, inside_m2) = (Block::of(&rows, width, windows.len()), Vec::new());
        let mut plan = Self {
            windows,
            width,
            rows,
            blocks,
            exposure,
            counts,
            groups,
            layers,
            most_share,
            inside_m2,
            cell_m2,
            trials,
            least,
            margin,
        };
        (plan.layers, plan.inside_m2) = plan.layers(grid, cells, &exposed, phis);
        for layer in &plan.layers {
            // What is no number gives way.
            plan.most_share.iter_mut().zip(&layer.share).for_each(|(most, share)| *most = most.max(*share));
        }
        plan
    }

    /// What holds at each shape, and the exposure inside each trial, m². A block of rows at a time, on all cores.
    fn layers(&self, grid: &Padded, cells: &ExposureGrid, exposed: &[f64], phis: &[f64]) -> (Vec<Layer>, Vec<f32>) {
        let days: Vec<Days> = phis.iter().map(|phi| Days::new(&self.groups, *phi)).collect();
        let block = self.rows.len().div_ceil(2 * rayon::current_num_threads()).max(8);
        let blocks: Vec<(Vec<Vec<f32>>, Vec<f32>)> =
            self.rows.par_chunks(block).map(|rows| self.shares(rows, grid, cells, exposed, &days)).collect();
        let mut layers: Vec<Layer> = phis.iter().map(|phi| Layer { phi: *phi, share: Vec::with_capacity(self.trials) }).collect();
        let mut inside_m2 = Vec::with_capacity(self.trials);
        for (of_block, within) in blocks {
            layers.iter_mut().zip(of_block).for_each(|(layer, share)| layer.share.extend(share));
            inside_m2.extend(within);
        }
        (layers, inside_m2)
    }

    /// For each shape and each trial x of some rows, the share of the finds that matter which falls inside, on days as they
    /// usually are; and the exposure inside each trial, m².
    fn shares(
        &self,
        rows: &[Row],
        grid: &Padded,
        cells: &ExposureGrid,
        exposed: &[f64],
        days: &[Days],
    ) -> (Vec<Vec<f32>>, Vec<f32>) {
        let begin = rows.first().map_or(0, |r| r.trials);
        let trials: usize = rows.iter().map(|r| r.len * self.windows.len()).sum();
        let reach = self.windows.iter().flat_map(|w| &w.ends).flat_map(|e| [e.0.unsigned_abs(), e.1.unsigned_abs()]).max();
        let reach = reach.unwrap_or(0) + self.width;
        // E_in, and for each shape sum A_j x_j (1 - y_j) / b and sum A_j x_j^2 / b^2, with A_j as expected. The latter make
        // up a share alone, of which some six digits are as good as all; there are many of them to be added up.
        let mut within = vec![0.0_f64; trials];
        let mut sums_of: Vec<[Vec<f32>; 2]> = days.iter().map(|_| [vec![0.0; trials], vec![0.0; trials]]).collect();
        let (mut sums, mut own) = (RunningSums::<f64>::new(grid), vec![0.0; grid.len]);
        let mut roughly: Vec<f32> = Vec::new();
        for (j, cells) in cells.outings.iter().enumerate() {
            let (Some(first), Some(last)) = (cells.first(), cells.last()) else { continue };
            let (first, last) = (grid.place[first.0 as usize], grid.place[last.0 as usize]);
            let near = |r: &&Row| r.from + r.len + reach > first && r.from < last + reach;
            if !rows.iter().any(|r| near(&r)) {
                continue;
            }
            cells.iter().for_each(|(cell, m2)| own[grid.place[*cell as usize]] = f64::from(*m2));
            let far = 2 * (reach + self.width);
            sums.sum_between(&own, self.width, first.saturating_sub(far)..last + far);
            cells.iter().for_each(|(cell, _)| own[grid.place[*cell as usize]] = 0.0);
            for row in rows.iter().filter(near) {
                for (w, window) in self.windows.iter().enumerate() {
                    let inside = sums.count(row, window);
                    // Most windows hold nothing of most outings, or something at one end of the row alone.
                    let Some(first) = inside.iter().position(|e| *e != 0.0) else { continue };
                    let inside = &inside[first..=inside.iter().rposition(|e| *e != 0.0).unwrap_or(first)];
                    let at = row.trials - begin + w * row.len + first;
                    within[at..][..inside.len()].iter_mut().zip(inside).for_each(|(sum, e)| *sum += e);
                    roughly.clear();
                    roughly.extend(inside.iter().map(|e| *e as f32));
                    for ([shared, squares], days) in sums_of.iter_mut().zip(days) {
                        let (rest, all) = (days.rest[j] as f32, days.per_all[j] as f32);
                        let both = shared[at..][..inside.len()].iter_mut().zip(&mut squares[at..][..inside.len()]);
                        for ((shared, square), e) in both.zip(&roughly) {
                            *shared += rest * e;
                            *square += all * e * e;
                        }
                    }
                }
            }
        }
        let ground: f64 = exposed.iter().sum();
        let share_of = |([shared, squares], days): (&[Vec<f32>; 2], &Days)| {
            let mut share = vec![f32::NAN; trials];
            for row in rows {
                for w in 0..self.windows.len() {
                    for k in 0..row.len {
                        let n = row.trials - begin + w * row.len + k;
                        // Laid round a cell that was searched.
                        if exposed[row.from + k] > 0.0 && days.b * within[n] > 0.0 && within[n] <= MOST_OF_GROUND * ground {
                            let of_rate = days.of_rate.max(1e-12);
                            let (shared, squares) = (f64::from(shared[n]), f64::from(squares[n]));
                            let x = days.b * (squares + shared * shared / of_rate) / within[n];
                            share[n] = x.clamp(1e-9, 0.999) as f32;
                        }
                    }
                }
            }
            share
        };
        let shares = sums_of.iter().zip(days).map(share_of).collect();
        (shares, within.into_iter().map(|m2| m2 as f32).collect())
    }

    /// What each outing gives per m² of its exposure if outings differ by a shape: its rate drawn towards that of all.
    pub(super) fn rates(groups: &[Group], b: f64, phi: f64) -> Vec<f32> {
        groups.iter().map(|g| (b * (g.count + phi) / (phi + b * g.exposure)) as f32).collect()
    }

    /// For each shape the likeliest rate and how likely it makes the outings' totals, as a logarithm.
    pub(super) fn evidence(&self, groups: &[Group]) -> Vec<(f64, f64)> {
        let of = |layer: &Layer| {
            let b = likeliest_rate(groups, layer.phi).unwrap_or(0.0);
            (b, Shapes::ln_posterior(groups, b, layer.phi))
        };
        self.layers.iter().map(of).collect()
    }

    /// Finds expected in each cell by these rates, laid on the padded grid; what lies beside its cells is nothing already.
    pub(super) fn lay_expected(&self, grid: &Padded, rates: &[f32], laid: &mut [f32]) {
        for (cell, place) in grid.place.iter().enumerate() {
            laid[*place] = self.exposure.of(cell).iter().map(|(outing, m2)| rates[*outing as usize] * m2).sum();
        }
    }

    /// The ratio of a window with so many finds against one `margin` times as rich as the rest; `None` when they are too
    /// few or no more than that.
    pub(super) fn ratio(&self, inside: u32, expected: f32, share: f32, margin: f64) -> Option<f64> {
        let (n, e, x) = (f64::from(inside), f64::from(expected.max(LEAST_EXPECTED)), f64::from(share));
        if inside < self.least || share.is_nan() || n <= e {
            return None;
        }
        log_ratio(n, e, x, margin)
    }

    /// Every window with more finds than expected and allowed for, likeliest first.
    pub(super) fn all(&self, grid: &Padded) -> Vec<Seen> {
        let evidence = self.evidence(&self.groups);
        let likeliest = evidence.iter().map(|e| e.1).fold(f64::NEG_INFINITY, f64::max);
        let mut counts = RunningSums::<u32>::new(grid);
        counts.sum(&grid.lay(&self.counts), self.width, 0);
        // Of each trial the largest ratio over all shapes, and what is expected then.
        let mut best = vec![(0.0_f64, 0.0_f32); self.trials];
        let mut laid = vec![0.0; grid.len];
        for (layer, (b, ln)) in self.layers.iter().zip(&evidence) {
            let rates = Self::rates(&self.groups, *b, layer.phi);
            self.lay_expected(grid, &rates, &mut laid);
            let field: Vec<f64> = laid.iter().copied().map(f64::from).collect();
            let mut expected = RunningSums::<f64>::new(grid);
            expected.sum(&field, self.width, 0);
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

    /// Whether what was seen is of a shape and rings that are preferred.
    pub(super) fn is_of(&self, seen: Seen, prefer: impl Fn(usize, usize) -> bool) -> bool {
        let window = &self.windows[seen.window];
        prefer(window.shape, window.rings)
    }

    pub(super) fn window(&self, grid: &Padded, seen: Seen, p: f64, slice: usize) -> Window {
        let Runs { shape, rings, ends } = &self.windows[seen.window];
        let places = ends.iter().flat_map(|(first, end)| (*first..*end).step_by(self.width));
        let inside = places.filter_map(|s| grid.cell[seen.middle.wrapping_add_signed(s)]).map(|n| n as usize).collect();
        Window {
            finds: seen.finds,
            expected: seen.expected,
            cells: inside,
            log_ratio: seen.ratio,
            p,
            slice,
            shape: *shape,
            rings: *rings,
            middle: grid.cell[seen.middle].unwrap_or_default() as usize,
        }
    }
}

/// The log likelihood ratio of n finds where e are expected and a share x of what matters falls inside, against a window
/// `margin` times as rich as the rest; `None` where it is no richer than that.
pub(super) fn log_ratio(n: f64, e: f64, x: f64, margin: f64) -> Option<f64> {
    let all = e / x;
    let at = |r: f64| if r == 1.0 { 0.0 } else { n * r.ln() - all * (1.0 + (r - 1.0) * x).ln() };
    let best = if n < all { (n * (1.0 - x) / (x * (all - n))).min(MOST_RATIO) } else { MOST_RATIO };
    (best > margin).then(|| at(best) - at(margin))
}
