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
//! O(cells x steps across of the windows x replicates): finds are summed along the shore beforehand, and
//! logarithms are taken only where a bound on the ratio leaves a doubt. Replicates run on all cores, each
//! from its own stream of a seeded generator, so that a scan repeats whatever the number of cores.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use crate::{Cancelled, Progress};

/// A window's shape: nested rings of cells, each as offsets from the middle.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub(super) rings: Vec<Vec<(i32, i32)>>,
}

/// Effort and finds on a grid.
pub(super) struct Cells {
    pub(super) across_count: usize,
    /// Effort of each cell, in rows of `across_count`, one row a step along.
    pub(super) effort: Vec<f64>,
    /// Finds of each cell.
    pub(super) finds: Vec<u32>,
}

pub(super) struct Settings {
    /// A window needs as many finds.
    pub(super) least_finds: u32,
    pub(super) replicates: usize,
    pub(super) seed: u64,
    /// Windows with a p-value up to this are sought.
    pub(super) worst_p: f64,
}

/// A window with more finds than expected.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Window {
    /// Its cells.
    pub(super) cells: Vec<usize>,
    pub(super) finds: u32,
    pub(super) expected: f64,
    pub(super) log_ratio: f64,
    pub(super) p: f64,
    /// Which shape and how many of its rings.
    pub(super) shape: usize,
    pub(super) rings: usize,
    pub(super) middle: usize,
}

/// A window as runs of cells along the shore, one or more for each step across: what lies in a run is the
/// difference of two running sums.
struct Runs {
    shape: usize,
    rings: usize,
    /// Steps from the middle to the first cell of the run and to the one after its last.
    ends: Vec<(isize, isize)>,
}

/// Cells side by side across the shore, from the first with effort to the last.
struct Row {
    /// Place of the first in the padded grid.
    from: usize,
    len: usize,
    /// Where its trials begin: those of each window for all its cells, one window after the other.
    trials: usize,
}

/// Where its windows can be laid and what to expect in each.
struct Plan {
    windows: Vec<Runs>,
    /// Cells of a step along the shore.
    width: usize,
    rows: Vec<Row>,
    /// For each trial the finds expected; infinite where the window does not fit.
    expected: Vec<f64>,
    /// The same and N / (e (N - e)), rounded: (c - e)^2 times that is never less than the ratio.
    rough: Vec<(f32, f32)>,
    total: u32,
    least: u32,
    /// n ln n.
    n_ln_n: Vec<f64>,
}

/// What a scan gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Scanned {
    /// Chance of a window as strong as the strongest; `None` when none exceeded its expectation.
    pub(super) p: Option<f64>,
    /// Windows with a p-value as good as asked for, that were accepted and share no cell; likeliest
    /// first.
    pub(super) windows: Vec<Window>,
}

/// Scans a grid with windows of the shapes. `accept` may turn a window down for reasons of its own;
/// the next likeliest in its place is then tried.
pub(super) fn scan(
    cells: &Cells,
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
    let plan = Plan::new(&grid, cells, shapes, total, ground, settings.least_finds);
    let seen = plan.all(&mut Counts::new(&grid), &grid.lay(&cells.finds));
    let Some(first) = seen.first() else { return Ok(Scanned::default()) };
    let draw = Draw::new(&grid, &cells.effort);
    let largest = (0..settings.replicates)
        .into_par_iter()
        .map_init(
            || (vec![0; grid.len], Counts::new(&grid)),
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

/// The grid with a margin, so that no window runs off it.
struct Padded {
    width: usize,
    len: usize,
    /// Where each cell lies in it.
    place: Vec<usize>,
    /// Which cell lies at each place.
    cell: Vec<Option<u32>>,
}

impl Padded {
    fn new(cells: &Cells, along: usize, across: usize) -> Self {
        let rows = cells.effort.len() / cells.across_count.max(1);
        let width = cells.across_count + 2 * across;
        let len = (rows + 2 * along) * width;
        let place: Vec<usize> =
            (0..cells.effort.len()).map(|n| (n / cells.across_count + along) * width + n % cells.across_count + across).collect();
        let mut cell = vec![None; len];
        place.iter().enumerate().for_each(|(n, place)| cell[*place] = Some(n as u32));
        Self { width, len, place, cell }
    }

    fn lay<T: Copy + Default>(&self, values: &[T]) -> Vec<T> {
        let mut laid = vec![T::default(); self.len];
        self.place.iter().zip(values).for_each(|(place, v)| laid[*place] = *v);
        laid
    }
}

/// Draws cells with chances in proportion to their effort: the alias method of Walker (1977), its table built
/// as Vose (1991) did. One 64-bit number a draw: 32 bits for the entry, 32 for which of its two cells.
struct Draw {
    /// The share of the first cell, of 2^32, and the places of both.
    entries: Vec<(u32, [u32; 2])>,
}

impl Draw {
    fn new(grid: &Padded, effort: &[f64]) -> Self {
        let places: Vec<(f64, u32)> =
            effort.iter().zip(&grid.place).filter(|(e, _)| **e > 0.0).map(|(e, place)| (*e, *place as u32)).collect();
        let mean = places.iter().map(|p| p.0).sum::<f64>() / places.len() as f64;
        let mut shares: Vec<f64> = places.iter().map(|p| p.0 / mean).collect();
        let (mut small, mut large): (Vec<usize>, Vec<usize>) = (0..shares.len()).partition(|n| shares[*n] < 1.0);
        // What is left over at the end is full but for rounding.
        let mut entries: Vec<(u32, [u32; 2])> = places.iter().map(|p| (u32::MAX, [p.1; 2])).collect();
        while let (Some(low), Some(high)) = (small.pop(), large.last().copied()) {
            entries[low] = ((shares[low] * 2_f64.powi(32)) as u32, [places[low].1, places[high].1]);
            shares[high] -= 1.0 - shares[low];
            if shares[high] < 1.0 {
                large.pop();
                small.push(high);
            }
        }
        Self { entries }
    }

    fn strew(&self, total: u32, finds: &mut [u32], rng: &mut impl Rng) {
        let count = self.entries.len() as u64;
        for _ in 0..total {
            let drawn = rng.next_u64();
            let (share, places) = self.entries[((drawn >> 32) * count >> 32) as usize];
            finds[places[usize::from(drawn as u32 >= share)] as usize] += 1;
        }
    }
}

/// A window with more finds than expected: its log likelihood ratio and where it lies.
#[derive(Clone, Copy)]
struct Seen {
    ratio: f64,
    expected: f64,
    /// Its middle, a place in the padded grid.
    middle: usize,
    window: usize,
}

/// Finds as running sums along the shore, with room to count in.
struct Counts {
    /// Finds in all cells before each, at the same step across.
    before: Vec<u32>,
    inside: Vec<u32>,
}

impl Counts {
    fn new(grid: &Padded) -> Self {
        Self { before: vec![0; grid.len + grid.width], inside: Vec::new() }
    }

    fn sum(&mut self, finds: &[u32], width: usize) {
        for from in (0..finds.len()).step_by(width.max(1)) {
            let (done, next) = self.before.split_at_mut(from + width);
            for ((next, done), find) in next.iter_mut().zip(&done[from..]).zip(&finds[from..from + width]) {
                *next = done + find;
            }
        }
    }

    /// Finds in one window laid round each cell of a row.
    fn count(&mut self, row: &Row, window: &Runs) -> &[u32] {
        self.inside.clear();
        self.inside.resize(row.len, 0);
        for (first, end) in &window.ends {
            let at = |step: isize| &self.before[row.from.wrapping_add_signed(step)..][..row.len];
            for ((inside, low), high) in self.inside.iter_mut().zip(at(*first)).zip(at(*end)) {
                *inside += high - low;
            }
        }
        &self.inside
    }
}

/// The rough bound is rounded by far less than this part of it.
const ROUGHLY: f64 = 0.999;

impl Plan {
    fn new(grid: &Padded, cells: &Cells, shapes: &[Shape], total: u32, ground: f64, least: u32) -> Self {
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
        let mut plan = Self { windows, width: grid.width, rows, expected, rough, total, least, n_ln_n };
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

    /// The largest ratio of all windows.
    ///
    /// As ln x <= x - 1, a ratio is at most (c - e)^2 N / (e (N - e)): where that is no more than the
    /// largest so far there is no need of logarithms.
    fn largest(&self, counts: &mut Counts, finds: &[u32]) -> f64 {
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

    /// Every window with more finds than expected, likeliest first.
    fn all(&self, counts: &mut Counts, finds: &[u32]) -> Vec<Seen> {
        counts.sum(finds, self.width);
        let mut seen = Vec::new();
        for row in &self.rows {
            for (window, runs) in self.windows.iter().enumerate() {
                let expected = &self.expected[row.trials + window * row.len..][..row.len];
                for ((k, inside), e) in counts.count(row, runs).iter().enumerate().zip(expected) {
                    let found = self.ratio(*inside, *e);
                    seen.extend(found.map(|ratio| Seen { ratio, expected: *e, middle: row.from + k, window }));
                }
            }
        }
        seen.sort_unstable_by(|a, b| b.ratio.total_cmp(&a.ratio).then((a.middle, a.window).cmp(&(b.middle, b.window))));
        seen
    }

    fn window(&self, grid: &Padded, cells: &Cells, seen: Seen, p: f64) -> Window {
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

/// The cells of the first rings of a shape as runs along the shore.
fn runs(shape: &Shape, rings: usize, width: isize) -> Vec<(isize, isize)> {
    let mut cells: Vec<(i32, i32)> = shape.rings[..rings].iter().flatten().map(|(along, across)| (*across, *along)).collect();
    cells.sort_unstable();
    let place = |(across, along): (i32, i32)| along as isize * width + across as isize;
    let together = |a: &(i32, i32), b: &(i32, i32)| a.0 == b.0 && a.1 + 1 == b.1;
    cells.chunk_by(together).map(|run| (place(run[0]), place(run[run.len() - 1]) + width)).collect()
}

/// Ellipses along the shore, `stretch` times as long as wide, at each of the half widths, cells.
pub(super) fn ellipses(stretch: f64, half_widths: &[f64]) -> Shape {
    let far = half_widths.iter().fold(0.0_f64, |m, r| m.max(*r));
    let (along, across) = ((far * stretch).floor() as i32, far.floor() as i32);
    let mut rings = vec![Vec::new(); half_widths.len()];
    for a in -along..=along {
        for b in -across..=across {
            let size = (f64::from(a) / stretch).hypot(f64::from(b));
            if let Some(ring) = half_widths.iter().position(|r| size <= *r) {
                rings[ring].push((a, b));
            }
        }
    }
    Shape { rings }
}

/// Strips along the shore of one width and growing half lengths, cells; both ends counted.
pub(super) fn strips(width: i32, half_lengths: &[i32]) -> Shape {
    let from = -(width / 2);
    let mut before = -1;
    let mut rings = Vec::new();
    for half in half_lengths {
        let along = (-half..=*half).filter(|a| a.abs() > before);
        rings.push(along.flat_map(|a| (from..from + width).map(move |b| (a, b))).collect());
        before = *half;
    }
    Shape { rings }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rand::RngExt;
    use rand_distr::Distribution;
    use rand_distr::weighted::WeightedAliasIndex;

    fn settings() -> Settings {
        Settings { least_finds: 3, replicates: 199, seed: 1, worst_p: 0.05 }
    }

    /// 40 by 20 cells of uneven effort and finds in proportion to it.
    fn even(seed: u64, finds: u32) -> Cells {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        // A biased walker: nearly all effort in one corner.
        let effort: Vec<f64> =
            (0..800).map(|n| if n / 20 < 10 && n % 20 < 8 { 25.0 } else { f64::from(rng.random_range(0_u8..3)) }).collect();
        let draw = WeightedAliasIndex::new(effort.clone()).unwrap();
        let mut cells = Cells { across_count: 20, effort, finds: vec![0; 800] };
        (0..finds).for_each(|_| cells.finds[draw.sample(&mut rng)] += 1);
        cells
    }

    fn round() -> Vec<Shape> {
        vec![ellipses(1.0, &[1.0, 1.5, 2.0, 3.0, 4.0]), ellipses(3.0, &[1.0, 1.5, 2.0])]
    }

    #[test]
    fn shapes_are_nested_and_whole() {
        let shape = ellipses(1.0, &[1.0, 2.0]);
        assert_eq!((shape.rings[0].len(), shape.rings[1].len()), (5, 8));
        let strip = strips(2, &[1, 3]);
        assert_eq!((strip.rings[0].len(), strip.rings[1].len()), (6, 8));
    }

    #[test]
    fn cells_are_drawn_in_proportion_to_their_effort() {
        let effort = [0.0, 1.0, 5.0, 0.25, 0.0, 3.75, 90.0];
        let cells = Cells { across_count: 7, effort: effort.to_vec(), finds: vec![0; 7] };
        let grid = Padded::new(&cells, 0, 0);
        let (mut finds, total) = (vec![0; 7], 1_000_000);
        Draw::new(&grid, &cells.effort).strew(total, &mut finds, &mut ChaCha8Rng::seed_from_u64(5));
        for (n, e) in finds.iter().zip(effort) {
            let expected = f64::from(total) * e / 100.0;
            assert!((f64::from(*n) - expected).abs() <= 4.0 * expected.sqrt(), "{n} {expected}");
        }
        assert_eq!(finds.iter().sum::<u32>(), total);
    }

    /// The largest ratio by the definition, window by window.
    fn by_definition(cells: &Cells, shapes: &[Shape], least: u32) -> f64 {
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
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn the_largest_ratio_is_that_of_the_definition(
            across in 1_usize..9,
            laid in prop::collection::vec((0_u8..4, 0_u32..6, 0_u8..20), 1..120),
        ) {
            let rows = laid.len().div_ceil(across);
            let mut cells = Cells { across_count: across, effort: vec![0.0; rows * across], finds: vec![0; rows * across] };
            for (n, (effort, finds, rich)) in laid.iter().enumerate().filter(|(_, l)| l.0 > 0) {
                cells.effort[n] = f64::from(*effort) * 1.7;
                cells.finds[n] = if *rich == 0 { 40 } else { *finds };
            }
            let shapes = [ellipses(1.0, &[0.5, 1.0, 2.0]), ellipses(3.0, &[1.0, 1.6]), strips(2, &[1, 3]), strips(3, &[0, 2])];
            let found = scan(&cells, &shapes, &settings(), &Progress::new(), |_| true).unwrap();
            let (total, ground) = (cells.finds.iter().sum::<u32>(), cells.effort.iter().sum::<f64>());
            prop_assume!(total >= 3);
            let grid = Padded::new(&cells, 6, 3);
            let plan = Plan::new(&grid, &cells, &shapes, total, ground, 3);
            let largest = plan.largest(&mut Counts::new(&grid), &grid.lay(&cells.finds));
            let truth = by_definition(&cells, &shapes, 3);
            prop_assert!((largest - truth).abs() < 1e-9 * truth.max(1.0), "{largest} {truth}");
            let first = plan.all(&mut Counts::new(&grid), &grid.lay(&cells.finds)).first().map_or(0.0, |s| s.ratio);
            prop_assert_eq!(first, largest);
            prop_assert_eq!(found.p.is_some(), truth > 0.0);
        }
    }

    #[test]
    fn the_ratio_is_kulldorff_s() {
        // Two cells, effort 1 and 3, finds 6 and 2: c = 6, e = 2, N = 8.
        let cells = Cells { across_count: 1, effort: vec![1.0, 3.0], finds: vec![6, 2] };
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
    fn nothing_to_scan() {
        let none = Cells { across_count: 2, effort: vec![0.0; 4], finds: vec![0; 4] };
        assert!(scan(&none, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows.is_empty());
        let p = Progress::new();
        p.cancel();
        assert!(scan(&even(1, 100), &round(), &settings(), &p, |_| true).is_err());
    }
}
