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
//! O(cells x offsets x replicates); the logarithms are tabled. Replicates run on all cores, each
//! from its own stream of a seeded generator, so that a scan repeats whatever the number of cores.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::Distribution;
use rand_distr::weighted::WeightedAliasIndex;
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

/// One window to try: where its expected count and the logarithms of it lie ready.
#[derive(Clone, Copy)]
struct Trial {
    expected: f64,
    ln_in: f64,
    ln_out: f64,
}

struct Plan<'a> {
    shapes: &'a [Shape],
    /// Offsets as steps in the padded grid, ring by ring.
    steps: Vec<Vec<Vec<isize>>>,
    /// Cells with effort, as places in the padded grid.
    middles: Vec<usize>,
    /// For each middle, shape and ring.
    trials: Vec<Option<Trial>>,
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
    let pad = shapes.iter().flat_map(|s| s.rings.iter().flatten()).map(|(a, b)| a.unsigned_abs().max(b.unsigned_abs())).max();
    let grid = Padded::new(cells, pad.unwrap_or(0) as usize);
    let plan = Plan::new(&grid, cells, shapes, total, ground, settings.least_finds);
    let seen = plan.all(&grid.lay(&cells.finds));
    let Some(first) = seen.first() else { return Ok(Scanned::default()) };
    let Ok(draw) = WeightedAliasIndex::new(cells.effort.clone()) else { return Ok(Scanned::default()) };
    let largest = (0..settings.replicates)
        .into_par_iter()
        .map_init(
            || grid.lay(&vec![0; cells.finds.len()]),
            |finds, n| {
                progress.check()?;
                let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
                rng.set_stream(n as u64 + 1);
                finds.fill(0);
                (0..total).for_each(|_| finds[grid.place[draw.sample(&mut rng)]] += 1);
                Ok(plan.largest(finds))
            },
        )
        .collect::<Result<Vec<f64>, Cancelled>>()?;
    let p_of = |ratio: f64| (1 + largest.iter().filter(|l| **l >= ratio).count()) as f64 / (settings.replicates + 1) as f64;
    let mut taken = vec![false; cells.effort.len()];
    let mut found = Scanned { p: Some(p_of(first.0)), windows: Vec::new() };
    for candidate in seen.into_iter().take(MOST_CANDIDATES) {
        let p = p_of(candidate.0);
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
    fn new(cells: &Cells, pad: usize) -> Self {
        let rows = cells.effort.len() / cells.across_count.max(1);
        let width = cells.across_count + 2 * pad;
        let len = (rows + 2 * pad) * width;
        let place: Vec<usize> =
            (0..cells.effort.len()).map(|n| (n / cells.across_count + pad) * width + n % cells.across_count + pad).collect();
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

/// Log likelihood ratio and where it was seen: number of the trial.
type Seen = (f64, usize);

impl<'a> Plan<'a> {
    fn new(grid: &Padded, cells: &Cells, shapes: &'a [Shape], total: u32, ground: f64, least: u32) -> Self {
        let step = |(along, across): &(i32, i32)| *along as isize * grid.width as isize + *across as isize;
        let steps: Vec<Vec<Vec<isize>>> =
            shapes.iter().map(|s| s.rings.iter().map(|r| r.iter().map(step).collect()).collect()).collect();
        let middles: Vec<usize> =
            cells.effort.iter().zip(&grid.place).filter(|(effort, _)| **effort > 0.0).map(|(_, place)| *place).collect();
        let effort = grid.lay(&cells.effort);
        let n = f64::from(total);
        let mut trials = Vec::with_capacity(middles.len() * steps.iter().map(Vec::len).sum::<usize>());
        for middle in &middles {
            for rings in &steps {
                let mut within = 0.0;
                for ring in rings {
                    within += ring.iter().map(|s| effort[middle.wrapping_add_signed(*s)]).sum::<f64>();
                    let expected = n * within / ground;
                    // More than half the ground is no place but the beach itself.
                    let fits = within > 0.0 && within <= 0.5 * ground;
                    trials.push(fits.then(|| Trial { expected, ln_in: expected.ln(), ln_out: (n - expected).ln() }));
                }
            }
        }
        let n_ln_n = (0..=total).map(|k| if k == 0 { 0.0 } else { f64::from(k) * f64::from(k).ln() }).collect();
        Self { shapes, steps, middles, trials, total, least, n_ln_n }
    }

    /// Every window with more finds than expected, in order of place.
    fn each(&self, finds: &[u32], mut take: impl FnMut(f64, usize)) {
        let mut trial = 0;
        for middle in &self.middles {
            for rings in &self.steps {
                let mut inside = 0;
                for ring in rings {
                    inside += ring.iter().map(|s| finds[middle.wrapping_add_signed(*s)]).sum::<u32>();
                    if let Some(t) = self.trials[trial]
                        && inside >= self.least
                        && f64::from(inside) > t.expected
                    {
                        let outside = self.total - inside;
                        let ratio = self.n_ln_n[inside as usize] - f64::from(inside) * t.ln_in + self.n_ln_n[outside as usize]
                            - f64::from(outside) * t.ln_out;
                        take(ratio, trial);
                    }
                    trial += 1;
                }
            }
        }
    }

    fn largest(&self, finds: &[u32]) -> f64 {
        let mut largest = 0.0_f64;
        self.each(finds, |ratio, _| largest = largest.max(ratio));
        largest
    }

    /// Every window with more finds than expected, likeliest first.
    fn all(&self, finds: &[u32]) -> Vec<Seen> {
        let mut seen = Vec::new();
        self.each(finds, |ratio, trial| seen.push((ratio, trial)));
        seen.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        seen
    }

    fn window(&self, grid: &Padded, cells: &Cells, (log_ratio, trial): Seen, p: f64) -> Window {
        let per_middle: usize = self.shapes.iter().map(|s| s.rings.len()).sum();
        let (middle, mut rest) = (self.middles[trial / per_middle], trial % per_middle);
        let mut shape = 0;
        while rest >= self.shapes[shape].rings.len() {
            rest -= self.shapes[shape].rings.len();
            shape += 1;
        }
        let steps = self.steps[shape][..=rest].iter().flatten();
        let inside: Vec<usize> = steps.filter_map(|s| grid.cell[middle.wrapping_add_signed(*s)]).map(|n| n as usize).collect();
        Window {
            finds: inside.iter().map(|n| cells.finds[*n]).sum(),
            expected: self.trials[trial].map_or(0.0, |t| t.expected),
            cells: inside,
            log_ratio,
            p,
            shape,
            rings: rest + 1,
            middle: grid.cell[middle].unwrap_or_default() as usize,
        }
    }
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
    use rand::RngExt;

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
