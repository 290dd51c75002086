//! Spatial scan: where finds are more than the searching done and luck explain.
//!
//! Windows of several shapes and sizes are laid round every cell with exposure, as in Kulldorff (1997), *A spatial scan
//! statistic*. Outings differ beyond what exposure explains, so finds of outing j are Poisson of mean a_j times rate
//! times exposure with a gamma effect a_j of shape phi. For a window r times as rich the marginal likelihood is, up to
//! constants, sum_j [n_j,in ln r + N_j ln b - (N_j + phi) ln(phi + b (E_j,out + r E_j,in))]: with phi large it is
//! Kulldorff's pooled Poisson scan, with phi near 0 the scan conditional on the outings' totals.
//!
//! Its maximum over r and b is taken in closed form: the likelihood of n finds in the window is matched in its slope
//! and bend at r = 1 by that of a binomial of M finds of which each falls inside with chance x. With A_j = N_j + phi,
//! x_j = b E_j,in / (phi + b E_j), y_j = b E_j / (phi + b E_j): e = M x = sum A_j x_j are expected and
//! e (1 - x) = sum A_j x_j (1 - x_j) - [sum A_j x_j (1 - y_j)]^2 / sum A_j y_j (1 - y_j) is the information about
//! ln r, in which b's own is allowed for. With one outing, or phi large, M = N and this *is* Kulldorff's ratio
//! n ln(n/e) + (N - n) ln((N - n)/(N - e)). phi is the likeliest under either hypothesis, out of a row of values: where
//! one outing works along a line and another does not, the line itself may explain that they differ. (The match is this project's own; `a_quick_ratio_is_near_the_profile_one`
//! holds it to the profile likelihood.)
//!
//! The p-value of a window is its rank among the *largest* ratios of replicates drawn under the null hypothesis with
//! fresh effects, so that having looked in many places is paid for. phi comes from the beach with the strongest windows
//! taken out: a strong line would else pass for good days. Once windows are told they are taken out with their exposure
//! and the rest is scanned anew, held against the same replicates, so that one does not hide another.
//!
//! Exposure is never known exactly: a track errs, ground fills up again unevenly. So a window counts only by what it
//! gives beyond a stated margin m: what was seen is held against a window m times as rich as the rest. The replicates
//! are held against one no richer, as exposure misjudged by m in that one window would make them: p-values are on the
//! safe side whatever the exposure in truth was within the margin. (This project's choice, no published source.)
//!
//! O((cells x steps across of the windows + stays) x replicates): finds are summed along the shore beforehand, and
//! logarithms are taken only where a bound on the ratio leaves a doubt. Replicates run on all cores, each from its own
//! stream of a seeded generator, so that a scan repeats whatever the number of cores. They end early once so many are
//! stronger than what was seen that it is plainly luck (Besag & Clifford 1991, *Sequential Monte Carlo p-values*).

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::asked::{Scanned, Settings, Window};
use super::draw::Draw;
use super::grid::{ExposureGrid, Padded};
use super::needs::Needs;
use super::plan::{Plan, Seen};
use super::replicate::Room;
use super::window::Shape;
use crate::chance::{Shapes, likeliest_rate};
use crate::{Cancelled, Progress};

/// So many of the likeliest windows are looked at; all of them overlap long before that.
const MOST_CANDIDATES: usize = 50_000;
/// A preferred window stands in for one that tells no more than so much of its ratio beyond it.
const NEARLY: f64 = 0.5;
/// Windows with a larger ratio are taken out before phi is learned.
const STRONG_RATIO: f64 = 6.0;
/// Replicates are drawn in batches of as many, ...
const BATCH: usize = 50;
/// ... until as many are stronger than what was seen.
const ENOUGH_STRONGER: usize = 60;
/// How often the rest is scanned anew with what was told taken out.
const ROUNDS: usize = 4;

/// Scans a grid with windows of the shapes. `accept` may turn a window down for reasons of its own;
/// the next likeliest in its place is then tried.
#[cfg(test)]
pub(in crate::reading) fn scan(
    cells: &ExposureGrid,
    shapes: &[Shape],
    settings: &Settings,
    progress: &Progress,
    accept: impl FnMut(&Window) -> bool,
) -> Result<Scanned, Cancelled> {
    scan_since(cells, &[], shapes, settings, progress, |_, _| true, accept)
}

/// The same, and over some outings by themselves as well: for each of `since` those that are taken, each a part of the one
/// before it, as the outings since a storm are of those since the storm before. What begins with one of them stands against
/// few finds there instead of all that were made before it. The strongest window of a replicate is that of any of them
/// (a space-time scan; Kulldorff 2001, *Prospective time periodic geographical disease surveillance using a scan
/// statistic*).
///
/// Some shapes and rings may be preferred: in the place of a window of another the strongest preferred one is taken that lies
/// mostly in it, if its ratio is at least [`NEARLY`] of that one's and it is as sure as is asked.
pub(in crate::reading) fn scan_since(
    cells: &ExposureGrid,
    since: &[Vec<bool>],
    shapes: &[Shape],
    settings: &Settings,
    progress: &Progress,
    prefer: impl Fn(usize, usize) -> bool,
    mut accept: impl FnMut(&Window) -> bool,
) -> Result<Scanned, Cancelled> {
    if cells.finds.len() < settings.least_finds as usize || cells.groups().iter().all(|g| g.exposure <= 0.0) || shapes.is_empty()
    {
        return Ok(Scanned::default());
    }
    let offsets = || shapes.iter().flat_map(|s| s.rings.iter().flatten());
    let along = offsets().map(|o| o.0.unsigned_abs()).max().unwrap_or(0);
    let across = offsets().map(|o| o.1.unsigned_abs()).max().unwrap_or(0);
    let grid = Padded::new(cells.cells, cells.across_count, along as usize, across as usize);
    let mut slices = Slices::new(&grid, cells, since, shapes, settings);
    let mut seen = slices.all(&grid);
    progress.check()?;
    let (phi, b) = beside_strong(cells, &grid, &slices, &seen, settings);
    let Some((first, _)) = seen.first().copied() else { return Ok(Scanned { phi, ..Scanned::default() }) };
    let draw = Draw::new(&grid, cells, &cells.groups(), b, phi);
    let stages = stages(cells.outings.len(), since);
    let largest = replicates(&slices, &stages, &draw, &grid, settings, first.ratio, progress)?;
    let p_of = |ratio: f64| (1 + largest.iter().filter(|l| **l >= ratio).count()) as f64 / (largest.len() + 1) as f64;
    let mut found = Scanned { p: Some(p_of(first.ratio)), replicates: largest.len(), phi, windows: Vec::new() };
    let mut taken = vec![false; cells.cells];
    // What a window leaves over at its rim is nothing of its own.
    let mut rim = vec![false; cells.cells];
    for round in 0..ROUNDS {
        let mut any = false;
        for (candidate, slice) in seen.iter().take(MOST_CANDIDATES) {
            let p = p_of(candidate.ratio);
            if p > settings.worst_p {
                break;
            }
            let window = slices.0[*slice].window(&grid, *candidate, p, *slice);
            if window.cells.iter().all(|c| !rim[*c]) && accept(&window) {
                let preferred = |(s, slice): &(Seen, usize)| {
                    let likes =
                        *slice == window.slice && slices.0[*slice].is_of(*s, &prefer) && s.ratio >= NEARLY * window.log_ratio;
                    let other = likes.then(|| slices.0[*slice].window(&grid, *s, p_of(s.ratio), *slice))?;
                    let held = other.cells.iter().filter(|c| window.cells.contains(c)).count();
                    let fits = 2 * held >= other.cells.len() && other.p <= settings.worst_p;
                    (fits && other.cells.iter().all(|c| !rim[*c])).then_some(other)
                };
                let is_preferred = prefer(window.shape, window.rings);
                let other = if is_preferred { None } else { seen.iter().take(MOST_CANDIDATES).find_map(preferred) };
                let window = other.filter(|w| accept(w)).unwrap_or(window);
                window.cells.iter().for_each(|c| taken[*c] = true);
                mark_rim(&window.cells, &mut rim, cells.across_count);
                found.windows.push(window);
                any = true;
            }
        }
        if !any || round + 1 == ROUNDS {
            break;
        }
        progress.check()?;
        let rest = cells.without(&taken);
        if rest.finds.len() < settings.least_finds as usize {
            break;
        }
        slices = Slices::new(&grid, &rest, since, shapes, settings);
        seen = slices.all(&grid);
    }
    found.windows.sort_by(|a, b| b.log_ratio.total_cmp(&a.log_ratio));
    Ok(found)
}

/// The windows over all outings, and over each part of them that is scanned by itself as well.
struct Slices(Vec<Plan>);

impl Slices {
    fn new(grid: &Padded, cells: &ExposureGrid, since: &[Vec<bool>], shapes: &[Shape], settings: &Settings) -> Self {
        let parts = since.iter().map(|taken| Plan::new(grid, &cells.of_outings(taken), shapes, settings));
        Self(std::iter::once(Plan::new(grid, cells, shapes, settings)).chain(parts).collect())
    }

    /// Every window with more finds than expected and allowed for, likeliest first, each with the place of its outings.
    fn all(&self, grid: &Padded) -> Vec<(Seen, usize)> {
        let of = |(n, plan): (usize, &Plan)| plan.all(grid).into_iter().map(move |seen| (seen, n)).collect::<Vec<_>>();
        let mut seen: Vec<(Seen, usize)> = self.0.iter().enumerate().flat_map(of).collect();
        // Each is in order already; of ratios alike the one of more outings comes first.
        seen.sort_by(|a, b| b.0.ratio.total_cmp(&a.0.ratio));
        seen
    }

    /// The largest ratio of any in one replicate, strewn from the fewest outings on, or the floor if there is none larger.
    fn largest(
        &self,
        stages: &[Vec<usize>],
        draw: &Draw,
        rooms: &mut [Room],
        grid: &Padded,
        floor: &Floor,
        rng: &mut impl Rng,
    ) -> f64 {
        let mut largest = floor.ratio;
        for n in (0..self.0.len()).rev() {
            let (before, after) = rooms.split_at_mut(n + 1);
            let room = &mut before[n];
            match after.first() {
                Some(last) => {
                    room.finds.copy_from_slice(&last.finds);
                    room.groups.iter_mut().zip(&last.groups).for_each(|(group, last)| group.count = last.count);
                }
                None => {
                    room.finds.fill(0);
                    room.groups.iter_mut().for_each(|group| group.count = 0.0);
                }
            }
            draw.strew(&stages[n], &mut room.groups, &mut room.finds, rng);
            largest = self.0[n].largest(grid, room, largest, floor.needs.get(n));
        }
        largest
    }
}

/// What replicates must reach to matter.
struct Floor {
    ratio: f64,
    /// What that takes in each slice; nothing while little is turned down by it.
    needs: Vec<Needs>,
}

impl Floor {
    fn new(slices: &Slices, ratio: f64) -> Self {
        Self { ratio, needs: slices.0.iter().map(|plan| plan.needs(ratio)).collect() }
    }
}

/// For each part of the outings those that are in it and in none of the ones after it.
fn stages(outings: usize, since: &[Vec<bool>]) -> Vec<Vec<usize>> {
    let holds = |part: usize, outing: usize| part == 0 || since.get(part - 1).is_some_and(|taken| taken[outing]);
    let of = |part: usize| (0..outings).filter(|o| holds(part, *o) && !(part < since.len() && holds(part + 1, *o))).collect();
    (0..=since.len()).map(of).collect()
}

/// Marks cells and those next to them.
fn mark_rim(cells: &[usize], rim: &mut [bool], across_count: usize) {
    let (width, rows) = (across_count as i64, (rim.len() / across_count.max(1)) as i64);
    for n in cells {
        let (a, b) = (*n as i64 / width, *n as i64 % width);
        for (a, b) in (a - 1..=a + 1).flat_map(|a| (b - 1..=b + 1).map(move |b| (a, b))) {
            if (0..rows).contains(&a) && (0..width).contains(&b) {
                rim[(a * width + b) as usize] = true;
            }
        }
    }
}

/// The shape of the outings' effects and the rate, learned from the beach without its strongest windows.
fn beside_strong(
    cells: &ExposureGrid,
    grid: &Padded,
    slices: &Slices,
    seen: &[(Seen, usize)],
    settings: &Settings,
) -> (f64, f64) {
    let mut taken = vec![false; cells.cells];
    for (candidate, slice) in seen.iter().take_while(|s| s.0.ratio > STRONG_RATIO).take(MOST_CANDIDATES) {
        let window = slices.0[*slice].window(grid, *candidate, 1.0, *slice);
        if window.cells.iter().all(|c| !taken[*c]) {
            window.cells.iter().for_each(|c| taken[*c] = true);
        }
    }
    let groups = cells.without(&taken).groups();
    let many = groups.iter().filter(|g| g.exposure > 0.0).count() >= settings.least_outings;
    let phi = if many { Shapes::from_groups(&groups).phi() } else { LEAST_PHI };
    (phi, likeliest_rate(&groups, phi).unwrap_or(0.0))
}

/// The least phi there is: with it hardly anything is learned from differences between outings.
const LEAST_PHI: f64 = 0.3;

/// Where the largest ratio of a replicate is below so many of the others' it is not sought any further, ...
fn unsought(settings: &Settings) -> f64 {
    1.0 - (4.0 * settings.worst_p).max(0.2)
}

/// After the first batch the largest ratio below which so many of its replicates stay is sought no further either: so few that
/// it is below the part of the first two batches that is not sought later, and that part is the same.
const LOW_PART: f64 = 0.2;

/// The largest ratio of each replicate. Once there are some, one that is neither as strong as the strongest window seen
/// nor among the upper ones, by which alone windows are told, stands for as much as it was held against.
fn replicates(
    slices: &Slices,
    stages: &[Vec<usize>],
    draw: &Draw,
    grid: &Padded,
    settings: &Settings,
    seen: f64,
    progress: &Progress,
) -> Result<Vec<f64>, Cancelled> {
    let mut largest: Vec<f64> = Vec::with_capacity(settings.replicates);
    let mut floor = Floor { ratio: 0.0, needs: Vec::new() };
    while largest.len() < settings.replicates && largest.iter().filter(|l| **l >= seen).count() < ENOUGH_STRONGER {
        let batch = largest.len()..settings.replicates.min(largest.len() + BATCH);
        let more = batch
            .into_par_iter()
            .map_init(
                || slices.0.iter().map(|plan| plan.room(grid)).collect::<Vec<_>>(),
                |rooms, n| {
                    progress.check()?;
                    let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
                    rng.set_stream(n as u64 + 1);
                    Ok(slices.largest(stages, draw, rooms, grid, &floor, &mut rng))
                },
            )
            .collect::<Result<Vec<f64>, Cancelled>>()?;
        largest.extend(more);
        let (looked_at, unsought) = (largest.len() / BATCH, unsought(settings));
        let part = match looked_at {
            1 if unsought >= 0.7 => LOW_PART,
            2 => unsought,
            _ => 0.0,
        };
        if part > 0.0 {
            let mut sorted = largest.clone();
            sorted.sort_unstable_by(f64::total_cmp);
            floor = Floor::new(slices, sorted[(part * sorted.len() as f64) as usize].min(seen * (1.0 - 1e-9)));
        }
    }
    Ok(largest)
}
