//! Spatial scan: where finds are more than the ground covered and luck explain.
//!
//! Kulldorff (1997), *A spatial scan statistic*, Poisson model. Under the null hypothesis each of
//! the N finds falls on a cell with chance proportional to the cell's effort. Windows of several
//! shapes and sizes are laid round every cell with effort; one with c finds where e are expected has
//! the log likelihood ratio c ln(c/e) + (N - c) ln((N - c)/(N - e)) if c > e, else 0. The p-value of a
//! window is its rank among the *largest* ratios of replicates drawn under the null hypothesis, so
//! that having looked in many places is paid for. Windows that share no cell with a likelier one are
//! reported besides it; their p-values are then on the safe side.
//!
//! Effort is never known exactly: a track errs, ground fills up again unevenly. So a window counts only
//! by what it gives beyond a stated margin m: what was seen is held against e' = N m e / (m e + N - e)
//! finds, those expected were its ground m times as rich as the rest. The replicates are held against
//! e, as effort misjudged by m in that one window would make them: p-values are on the safe side
//! whatever the effort in truth was within the margin. (This project's choice, no published source.)
//!
//! O(cells x steps across of the windows x replicates): finds are summed along the shore beforehand, and
//! logarithms are taken only where a bound on the ratio leaves a doubt. Replicates run on all cores, each
//! from its own stream of a seeded generator, so that a scan repeats whatever the number of cores.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::draw::Draw;
use super::grid::{EffortGrid, Padded};
use super::window::{Row, RunningSums, Runs, Shape, runs};
use crate::{Cancelled, Progress};

pub(in crate::reading) struct Settings {
    /// A window needs as many finds.
    pub(in crate::reading) least_finds: u32,
    pub(in crate::reading) replicates: usize,
    pub(in crate::reading) seed: u64,
    /// Windows with a p-value up to this are sought.
    pub(in crate::reading) worst_p: f64,
    /// How many times as rich as the rest a window may seem because effort is misjudged; at least 1.
    pub(in crate::reading) margin: f64,
}

/// A window with more finds than expected.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::reading) struct Window {
    /// Its cells.
    pub(in crate::reading) cells: Vec<usize>,
    pub(in crate::reading) finds: u32,
    /// By its share of the effort, without the margin.
    pub(in crate::reading) expected: f64,
    /// Beyond the margin.
    pub(in crate::reading) log_ratio: f64,
    pub(in crate::reading) p: f64,
    /// Which shape and how many of its rings.
    pub(in crate::reading) shape: usize,
    pub(in crate::reading) rings: usize,
    pub(in crate::reading) middle: usize,
}

/// Where its windows can be laid and what to expect in each.
struct Plan {
    windows: Vec<Runs>,
    /// EffortGrid of a step along the shore.
    width: usize,
    rows: Vec<Row>,
    /// For each trial the finds expected; infinite where the window does not fit.
    expected: Vec<f64>,
    /// The same and N / (e (N - e)), rounded: (c - e)^2 times that is never less than the ratio.
    rough: Vec<(f32, f32)>,
    total: u32,
    least: u32,
    margin: f64,
    /// n ln n.
    n_ln_n: Vec<f64>,
}

/// What a scan gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::reading) struct Scanned {
    /// Chance of a window as strong as the strongest; `None` when none exceeded its expectation.
    pub(in crate::reading) p: Option<f64>,
    /// Windows with a p-value as good as asked for, that were accepted and share no cell; likeliest
    /// first.
    pub(in crate::reading) windows: Vec<Window>,
}

/// Scans a grid with windows of the shapes. `accept` may turn a window down for reasons of its own;
/// the next likeliest in its place is then tried.
pub(in crate::reading) fn scan(
    cells: &EffortGrid,
    shapes: &[Shape],
    settings: &Settings,
    progress: &Progress,
    mut accept: impl FnMut(&Window) -> bool,
) -> Result<Scanned, Cancelled> {
    let total: u32 = cells.finds.iter().sum();
    let ground: f64 = cells.effort.iter().sum();
    if total < settings.least_finds || ground <= 0.0 || shapes.is_empty() {
        return Ok(Scanned::default());
    }
    let offsets = || shapes.iter().flat_map(|s| s.rings.iter().flatten());
    let along = offsets().map(|o| o.0.unsigned_abs()).max().unwrap_or(0);
    let across = offsets().map(|o| o.1.unsigned_abs()).max().unwrap_or(0);
    let grid = Padded::new(cells, along as usize, across as usize);
    let plan = Plan::new(&grid, cells, shapes, total, ground, settings);
    let seen = plan.all(&mut RunningSums::new(&grid), &grid.lay(&cells.finds));
    let Some(first) = seen.first() else { return Ok(Scanned::default()) };
    let draw = Draw::new(&grid, &cells.effort);
    let largest = (0..settings.replicates)
        .into_par_iter()
        .map_init(
            || (vec![0; grid.len], RunningSums::new(&grid)),
            |(finds, counts), n| {
                progress.check()?;
                let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
                rng.set_stream(n as u64 + 1);
                finds.fill(0);
                draw.strew(total, finds, &mut rng);
                Ok(plan.largest(counts, finds))
            },
        )
        .collect::<Result<Vec<f64>, Cancelled>>()?;
    let p_of = |ratio: f64| (1 + largest.iter().filter(|l| **l >= ratio).count()) as f64 / (settings.replicates + 1) as f64;
    let mut taken = vec![false; cells.effort.len()];
    let mut found = Scanned { p: Some(p_of(first.ratio)), windows: Vec::new() };
    for candidate in seen.into_iter().take(MOST_CANDIDATES) {
        let p = p_of(candidate.ratio);
        if p > settings.worst_p {
            break;
        }
        let window = plan.window(&grid, cells, candidate, p);
        if window.cells.iter().all(|c| !taken[*c]) && accept(&window) {
            window.cells.iter().for_each(|c| taken[*c] = true);
            found.windows.push(window);
        }
    }
    Ok(found)
}

/// So many of the likeliest windows are looked at; all of them overlap long before that.
const MOST_CANDIDATES: usize = 50_000;

/// A window with more finds than expected: its log likelihood ratio and where it lies.
#[derive(Clone, Copy)]
struct Seen {
    ratio: f64,
    expected: f64,
    /// Its middle, a place in the padded grid.
    middle: usize,
    window: usize,
}

/// The rough bound is rounded by far less than this part of it.
const ROUGHLY: f64 = 0.999;

impl Plan {
    fn new(grid: &Padded, cells: &EffortGrid, shapes: &[Shape], total: u32, ground: f64, settings: &Settings) -> Self {
        let step = |(along, across): &(i32, i32)| *along as isize * grid.width as isize + *across as isize;
        let mut windows = Vec::new();
        for (shape, s) in shapes.iter().enumerate() {
            windows.extend((1..=s.rings.len()).map(|rings| Runs { shape, rings, ends: runs(s, rings, grid.width as isize) }));
        }
        let steps: Vec<Vec<Vec<isize>>> =
            shapes.iter().map(|s| s.rings.iter().map(|r| r.iter().map(step).collect()).collect()).collect();
        let effort = grid.lay(&cells.effort);
        let n = f64::from(total);
        let n_ln_n = (0..=total).map(|k| if k == 0 { 0.0 } else { f64::from(k) * f64::from(k).ln() }).collect();
        let (rows, expected, rough) = (Vec::new(), Vec::new(), Vec::new());
        let (least, margin) = (settings.least_finds, settings.margin.max(1.0));
        let mut plan = Self { windows, width: grid.width, rows, expected, rough, total, least, margin, n_ln_n };
        for (from, row) in (0..).step_by(grid.width).zip(effort.chunks(grid.width)) {
            let Some(first) = row.iter().position(|e| *e > 0.0) else { continue };
            let len = row.iter().rposition(|e| *e > 0.0).map_or(0, |last| last + 1 - first);
            let trials = plan.expected.len();
            plan.expected.resize(trials + len * plan.windows.len(), f64::INFINITY);
            for k in (0..len).filter(|k| row[first + k] > 0.0) {
                let mut window = 0;
                for rings in &steps {
                    let mut within = 0.0;
                    for ring in rings {
                        within += ring.iter().map(|s| effort[(from + first + k).wrapping_add_signed(*s)]).sum::<f64>();
                        // More than half the ground is no place but the beach itself.
                        if within > 0.0 && within <= 0.5 * ground {
                            plan.expected[trials + window * len + k] = n * within / ground;
                        }
                        window += 1;
                    }
                }
            }
            plan.rows.push(Row { from: from + first, len, trials });
        }
        let roughly = |e: &f64| if e.is_finite() { (*e as f32, (n / (e * (n - e))) as f32) } else { (f32::INFINITY, 0.0) };
        plan.rough = plan.expected.iter().map(roughly).collect();
        plan
    }

    /// The ratio of a window with so many finds; `None` when they are too few or no more than expected.
    fn ratio(&self, inside: u32, expected: f64) -> Option<f64> {
        if inside < self.least || f64::from(inside) <= expected {
            return None;
        }
        let (outside, n) = (self.total - inside, f64::from(self.total));
        let within = self.n_ln_n[inside as usize] - f64::from(inside) * expected.ln();
        Some(within + self.n_ln_n[outside as usize] - f64::from(outside) * (n - expected).ln())
    }

    /// The finds expected in a window were its ground richer than the rest by the margin.
    fn allowed(&self, expected: f64) -> f64 {
        // Where no window fits none is allowed for; without a margin this is what is expected to the last digit.
        if expected.is_infinite() {
            return expected;
        }
        self.margin * expected / (1.0 + (self.margin - 1.0) * expected / f64::from(self.total))
    }

    /// The largest ratio of all windows, without the margin.
    ///
    /// As ln x <= x - 1, a ratio is at most (c - e)^2 N / (e (N - e)): where that is no more than the
    /// largest so far there is no need of logarithms.
    fn largest(&self, counts: &mut RunningSums, finds: &[u32]) -> f64 {
        counts.sum(finds, self.width);
        let mut largest = 0.0_f64;
        for row in &self.rows {
            for (w, window) in self.windows.iter().enumerate() {
                let trials = row.trials + w * row.len..row.trials + (w + 1) * row.len;
                let inside = counts.count(row, window);
                let enough = (largest * ROUGHLY) as f32;
                let mut any = false;
                for (c, (e, scale)) in inside.iter().zip(&self.rough[trials.clone()]) {
                    let over = *c as f32 - e;
                    any |= (over > 0.0) & (over * over * scale >= enough);
                }
                if any {
                    for (c, e) in inside.iter().zip(&self.expected[trials]) {
                        largest = self.ratio(*c, *e).map_or(largest, |r| largest.max(r));
                    }
                }
            }
        }
        largest
    }

    /// Every window with more finds than expected and allowed for, likeliest first.
    fn all(&self, counts: &mut RunningSums, finds: &[u32]) -> Vec<Seen> {
        counts.sum(finds, self.width);
        let mut seen = Vec::new();
        for row in &self.rows {
            for (window, runs) in self.windows.iter().enumerate() {
                let expected = &self.expected[row.trials + window * row.len..][..row.len];
                for ((k, inside), e) in counts.count(row, runs).iter().enumerate().zip(expected) {
                    let found = self.ratio(*inside, self.allowed(*e));
                    seen.extend(found.map(|ratio| Seen { ratio, expected: *e, middle: row.from + k, window }));
                }
            }
        }
        seen.sort_unstable_by(|a, b| b.ratio.total_cmp(&a.ratio).then((a.middle, a.window).cmp(&(b.middle, b.window))));
        seen
    }

    fn window(&self, grid: &Padded, cells: &EffortGrid, seen: Seen, p: f64) -> Window {
        let Runs { shape, rings, ends } = &self.windows[seen.window];
        let places = ends.iter().flat_map(|(first, end)| (*first..*end).step_by(self.width));
        let inside: Vec<usize> =
            places.filter_map(|s| grid.cell[seen.middle.wrapping_add_signed(s)]).map(|n| n as usize).collect();
        Window {
            finds: inside.iter().map(|n| cells.finds[*n]).sum(),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::scan::window::{ellipses, strips};
    use proptest::prelude::*;
    use rand::RngExt;
    use rand_distr::Distribution;
    use rand_distr::weighted::WeightedAliasIndex;

    fn settings() -> Settings {
        Settings { least_finds: 3, replicates: 199, seed: 1, worst_p: 0.05, margin: 1.0 }
    }

    /// 40 by 20 cells of uneven effort and finds in proportion to it.
    fn even(seed: u64, finds: u32) -> EffortGrid {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        // A biased walker: nearly all effort in one corner.
        let effort: Vec<f64> =
            (0..800).map(|n| if n / 20 < 10 && n % 20 < 8 { 25.0 } else { f64::from(rng.random_range(0_u8..3)) }).collect();
        let draw = WeightedAliasIndex::new(effort.clone()).unwrap();
        let mut cells = EffortGrid { across_count: 20, effort, finds: vec![0; 800] };
        (0..finds).for_each(|_| cells.finds[draw.sample(&mut rng)] += 1);
        cells
    }

    fn round() -> Vec<Shape> {
        vec![ellipses(1.0, &[1.0, 1.5, 2.0, 3.0, 4.0]), ellipses(3.0, &[1.0, 1.5, 2.0])]
    }

    /// The largest ratio by the definition, window by window.
    fn by_definition(cells: &EffortGrid, shapes: &[Shape], least: u32) -> f64 {
        let (total, ground) = (f64::from(cells.finds.iter().sum::<u32>()), cells.effort.iter().sum::<f64>());
        let (across, along) = (cells.across_count as i32, (cells.effort.len() / cells.across_count) as i32);
        let mut largest = 0.0_f64;
        for middle in (0..cells.effort.len()).filter(|n| cells.effort[*n] > 0.0) {
            for shape in shapes {
                let (mut c, mut worth) = (0, 0.0);
                for ring in &shape.rings {
                    for (a, b) in ring {
                        let (a, b) = (middle as i32 / across + a, middle as i32 % across + b);
                        if (0..along).contains(&a) && (0..across).contains(&b) {
                            c += cells.finds[(a * across + b) as usize];
                            worth += cells.effort[(a * across + b) as usize];
                        }
                    }
                    let (e, n) = (total * worth / ground, f64::from(c));
                    if worth <= 0.5 * ground && c >= least && n > e {
                        let outside = if n < total { (total - n) * ((total - n) / (total - e)).ln() } else { 0.0 };
                        largest = largest.max(n * (n / e).ln() + outside);
                    }
                }
            }
        }
        largest
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, ..crate::cases::kept() })]
        #[test]
        fn the_largest_ratio_is_that_of_the_definition(
            across in 1_usize..9,
            laid in prop::collection::vec((0_u8..4, 0_u32..6, 0_u8..20), 1..120),
        ) {
            let rows = laid.len().div_ceil(across);
            let mut cells = EffortGrid { across_count: across, effort: vec![0.0; rows * across], finds: vec![0; rows * across] };
            for (n, (effort, finds, rich)) in laid.iter().enumerate().filter(|(_, l)| l.0 > 0) {
                cells.effort[n] = f64::from(*effort) * 1.7;
                cells.finds[n] = if *rich == 0 { 40 } else { *finds };
            }
            let shapes = [ellipses(1.0, &[0.5, 1.0, 2.0]), ellipses(3.0, &[1.0, 1.6]), strips(2, &[1, 3]), strips(3, &[0, 2])];
            let found = scan(&cells, &shapes, &settings(), &Progress::new(), |_| true).unwrap();
            let (total, ground) = (cells.finds.iter().sum::<u32>(), cells.effort.iter().sum::<f64>());
            prop_assume!(total >= 3);
            let grid = Padded::new(&cells, 6, 3);
            let plan = Plan::new(&grid, &cells, &shapes, total, ground, &settings());
            let largest = plan.largest(&mut RunningSums::new(&grid), &grid.lay(&cells.finds));
            let truth = by_definition(&cells, &shapes, 3);
            prop_assert!((largest - truth).abs() < 1e-9 * truth.max(1.0), "{largest} {truth}");
            let first = plan.all(&mut RunningSums::new(&grid), &grid.lay(&cells.finds)).first().map_or(0.0, |s| s.ratio);
            prop_assert_eq!(first, largest);
            prop_assert_eq!(found.p.is_some(), truth > 0.0);
            // A margin leaves fewer windows, each with a number for its ratio; one hardly above what is allowed for may
            // come out below zero by rounding.
            let wary = Plan::new(&grid, &cells, &shapes, total, ground, &Settings { margin: 1.15, ..settings() });
            let all = wary.all(&mut RunningSums::new(&grid), &grid.lay(&cells.finds));
            prop_assert!(all.iter().all(|s| s.ratio >= -1e-9 && s.ratio <= truth + 1e-9 * truth.max(1.0)));
        }
    }

    #[test]
    fn the_ratio_is_kulldorff_s() {
        // Two cells, effort 1 and 3, finds 6 and 2: c = 6, e = 2, N = 8.
        let cells = EffortGrid { across_count: 1, effort: vec![1.0, 3.0], finds: vec![6, 2] };
        let found =
            scan(&cells, &[Shape { rings: vec![vec![(0, 0)]] }], &settings(), &Progress::new(), |_| true).unwrap().windows;
        let by_hand = 6.0 * (6.0_f64 / 2.0).ln() + 2.0 * (2.0_f64 / 6.0).ln();
        assert!((found[0].log_ratio - by_hand).abs() < 1e-12 && (found[0].expected - 2.0).abs() < 1e-12);
        // Chance of 6 or more of 8 at a quarter each: 1 - binom.cdf(5, 8, 0.25) = 0.00423 (scipy 1.17.1).
        assert!(found[0].p < 0.03, "{}", found[0].p);
    }

    #[test]
    fn a_planted_spot_is_found_and_a_second_beside_it() {
        let mut cells = even(3, 150);
        for middle in [15 * 20 + 5, 30 * 20 + 14] {
            for n in [middle, middle + 1, middle + 20] {
                cells.effort[n] = cells.effort[n].max(2.0);
                cells.finds[n] += 7;
            }
        }
        let found = scan(&cells, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows;
        assert!(found.len() >= 2 && found.iter().all(|w| w.p <= 0.05));
        let (a, b) = (&found[0].cells, &found[1].cells);
        assert!(a.iter().all(|c| !b.contains(c)));
        assert!(found.iter().any(|w| w.cells.contains(&305)) && found.iter().any(|w| w.cells.contains(&614)));
        assert_eq!(scan(&cells, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows, found);
    }

    #[test]
    fn a_biased_walker_makes_no_spot() {
        let beaches = 60_u32;
        let alarms = (0..beaches)
            .filter(|n| {
                let found =
                    scan(&even(u64::from(*n) + 100, 150), &round(), &settings(), &Progress::new(), |_| true).unwrap().windows;
                found.iter().any(|w| w.p <= 0.05)
            })
            .count();
        // At 5 % more than 7 of 60 come in one case of a hundred (scipy 1.17.1: binom.sf(7, 60, 0.05) = 0.0098).
        assert!(alarms <= 7, "{alarms} of {beaches}");
    }

    #[test]
    fn ground_misjudged_within_the_margin_makes_no_spot_and_beyond_it_does() {
        let beaches = 60_u32;
        // A fifth of the corner was swept more than the effort tells, by a share.
        let alarms = |more: f64, margin: f64| {
            let alarmed = |n: &u32| {
                let mut cells = even(u64::from(*n) + 300, 0);
                let mut truth = cells.effort.clone();
                (0..800).filter(|n| n / 20 < 5 && n % 20 < 4).for_each(|n| truth[n] *= 1.0 + more);
                let draw = WeightedAliasIndex::new(truth).unwrap();
                let mut rng = ChaCha8Rng::seed_from_u64(u64::from(*n));
                (0..1500).for_each(|_| cells.finds[draw.sample(&mut rng)] += 1);
                let settings = Settings { margin, replicates: 99, ..settings() };
                scan(&cells, &round(), &settings, &Progress::new(), |_| true).unwrap().p.is_some_and(|p| p <= 0.05)
            };
            (0..beaches).filter(alarmed).count()
        };
        // The same bound as above; without the margin the same beaches alarm far more often.
        assert!(alarms(0.25, 1.25) <= 7, "{}", alarms(0.25, 1.25));
        assert!(alarms(0.25, 1.0) > 20, "{}", alarms(0.25, 1.0));
        assert!(alarms(1.5, 1.25) > 50, "{}", alarms(1.5, 1.25));
    }

    #[test]
    fn the_margin_is_the_ratio_of_the_rates_inside_and_outside() {
        // Two cells, effort 1 and 3, 8 finds: twice as rich inside, 8 x 2 / (2 + 3) = 3.2 are expected there.
        let cells = EffortGrid { across_count: 1, effort: vec![1.0, 3.0], finds: vec![6, 2] };
        let settings = Settings { margin: 2.0, worst_p: 1.0, ..settings() };
        let found = scan(&cells, &[Shape { rings: vec![vec![(0, 0)]] }], &settings, &Progress::new(), |_| true).unwrap().windows;
        let by_hand = 6.0 * (6.0_f64 / 3.2).ln() + 2.0 * (2.0_f64 / 4.8).ln();
        assert!((found[0].log_ratio - by_hand).abs() < 1e-12 && (found[0].expected - 2.0).abs() < 1e-12, "{:?}", found[0]);
    }

    #[test]
    fn nothing_to_scan() {
        let none = EffortGrid { across_count: 2, effort: vec![0.0; 4], finds: vec![0; 4] };
        assert!(scan(&none, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows.is_empty());
        let p = Progress::new();
        p.cancel();
        assert!(scan(&even(1, 100), &round(), &settings(), &p, |_| true).is_err());
    }
}
