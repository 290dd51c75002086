//! How likely an outing is under each shift of the water's level and time.

use super::curve::Curve;
use super::params::{Clear, Params};
use super::visit::{Spell, Visit};
use super::wall::{Wall, dry_nats, noted_anywhere_nats, noted_nats};

/// Steps of the level, metres.
const LEVEL_STEP_M: f64 = 0.05;
/// Rates at which a limit may move that has nothing to do with the water, metres of level per hour.
const TRENDS: [f64; 11] = [-1.5, -1.0, -0.6, -0.3, -0.15, 0.0, 0.15, 0.3, 0.6, 1.0, 1.5];

/// How far the lowest places of one outing scatter, times what is expected: an outing shows that itself.
const SCATTERS: [f64; 3] = [0.5, 0.75, 1.1];

/// The shifts looked at: limits above the believed water, metres, and minutes that the true water is ahead.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    from_m: f64,
    levels: usize,
    pub(super) minutes: Vec<f64>,
}

impl Grid {
    pub(super) fn new(from_m: f64, to_m: f64, minutes: Vec<f64>) -> Self {
        Self { from_m, levels: ((to_m - from_m) / LEVEL_STEP_M).round().max(1.0) as usize + 1, minutes }
    }

    pub(super) fn len(&self) -> usize {
        self.levels * self.minutes.len()
    }

    pub(super) fn level_m(&self, n: usize) -> f64 {
        self.from_m + (n % self.levels) as f64 * LEVEL_STEP_M
    }

    pub(super) fn minute(&self, n: usize) -> f64 {
        self.minutes[n / self.levels]
    }
}

/// A spell as it enters: above the tide's datum if the offset is right.
struct Reached {
    time_s: f64,
    tide_m: f64,
    /// Scatter that is expected of it, metres.
    sd_m: f64,
    /// At each of [`SCATTERS`].
    walls: [Wall; SCATTERS.len()],
    in_wash: bool,
}

/// How likely one outing is under each shift of a grid, in natural units of log likelihood; 0 is a limit that the water
/// has nothing to do with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Surface {
    pub(super) nats: Vec<f64>,
    /// By how much a limit that follows the water explains the outing better than one that does not.
    pub(super) follows: f64,
    /// Share of the spells that touch it where it does so best.
    pub(super) touch: f64,
}

impl Surface {
    /// `None` where the source says nothing of the water through the outing.
    pub(super) fn new(
        visit: &Visit,
        curve: &Curve,
        offset_m: f64,
        clear: Clear,
        elsewhere_nats: f64,
        grid: &Grid,
        params: &Params,
    ) -> Option<Self> {
        let reached = reached(&visit.spells, curve, offset_m, params);
        if reached.is_empty() {
            return None;
        }
        let free = Free::of(&reached, params).nats - elsewhere_nats;
        let mut nats = vec![f64::NEG_INFINITY; grid.len()];
        let mut follows = (f64::NEG_INFINITY, 0.0);
        for (row, minutes) in grid.minutes.iter().enumerate() {
            // Where the source does not reach under this shift of time, the moment says nothing.
            let above: Vec<(f64, &Reached)> =
                reached.iter().filter_map(|r| Some((r.tide_m - curve.at(r.time_s + 60.0 * minutes)?, r))).collect();
            let lowest_m = sustained(above.iter().filter(|(_, r)| !r.in_wash).map(|(m, _)| *m));
            for (n, out) in nats.iter_mut().enumerate().skip(row * grid.levels).take(grid.levels) {
                let level_m = grid.level_m(n);
                let (gain, touched) = following(&above, level_m, clear, free, params);
                let gain = if visit.by_plan { f64::NEG_INFINITY } else { gain };
                if gain > follows.0 {
                    follows = (gain, touched);
                }
                let least_m = level_m - clear.m - params.wade_m;
                let dry = lowest_m.map_or(0.0, |m| dry_nats(m - least_m, params.stands_sd_m));
                *out = (gain - params.follows_nats).max(dry);
            }
        }
        widen(&mut nats, grid, params.day_sd_m);
        Some(Self { nats, follows: follows.0, touch: follows.1 })
    }

    /// The best that any shift does.
    pub(super) fn best(&self) -> f64 {
        self.nats.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
}

fn reached(spells: &[Spell], curve: &Curve, offset_m: f64, params: &Params) -> Vec<Reached> {
    let of = |s: &Spell| {
        let sd_m = s.lowest.off_m.hypot(params.uneven_m);
        let tide_m = s.lowest.land_m + offset_m;
        Reached { time_s: s.lowest.time_s, tide_m, sd_m, walls: SCATTERS.map(|k| Wall::with_sd(k * sd_m)), in_wash: s.in_wash }
    };
    spells.iter().filter(|s| curve.at(s.lowest.time_s).is_some()).map(of).collect()
}

/// How much better the water explains an outing, its limit so far above it, than a limit of no reason at `free` nats, and
/// the share of the spells that touch it.
///
/// Either the track kept to the edge as well as what was noted there; or the track had a limit of its own, as high as
/// that may be, and what was noted in the wash alone tells where the edge was: a walk on the dry sand does not outvote
/// finds dug at the water.
fn following(above: &[(f64, &Reached)], level_m: f64, clear: Clear, free: f64, params: &Params) -> (f64, f64) {
    let at_edge = |m: f64| noted_nats(m - level_m + clear.m - 0.1);
    let in_wash = || above.iter().filter(|(_, r)| r.in_wash).map(|(m, _)| *m);
    let noted: f64 = in_wash().map(at_edge).sum();
    let tracked = |k: usize| above.iter().filter(|(_, r)| !r.in_wash).map(|(m, r)| r.walls[k].nats(m - level_m)).sum::<f64>();
    let both = params.own_share * (noted + (0..SCATTERS.len()).map(tracked).fold(f64::NEG_INFINITY, f64::max)) - free;
    let notes = in_wash().count();
    let alone = params.own_share * (noted - notes as f64 * noted_anywhere_nats());
    let share = |near: usize, all: usize| near as f64 / all.max(1) as f64;
    if notes > 0 && alone > both {
        let near = in_wash().filter(|m| at_edge(*m) > noted_anywhere_nats()).count();
        return (alone, share(near, notes));
    }
    let near = above.iter().filter(|(m, r)| r.in_wash || (m - level_m).abs() < 2.0 * r.sd_m).count();
    (both, share(near, above.len()))
}

/// How far above the water a fifth of the spells stayed below: what was stood on for a while, and not once by a jump of
/// the receiver.
fn sustained(above_m: impl Iterator<Item = f64>) -> Option<f64> {
    let mut above: Vec<f64> = above_m.collect();
    above.sort_by(f64::total_cmp);
    above.get(above.len() / 5).copied()
}

/// The best that a limit explains which the water has nothing to do with: at one level, or moving at an even rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Free {
    /// Log likelihood.
    pub(super) nats: f64,
    /// Where that limit lies in the middle of the outing, metres above the tide's datum; `None` without a track.
    pub(super) level_m: Option<f64>,
}

impl Free {
    /// Of one visit; `None` where the source says nothing of the water through it.
    pub(super) fn new(visit: &Visit, curve: &Curve, offset_m: f64, params: &Params) -> Option<Self> {
        let reached = reached(&visit.spells, curve, offset_m, params);
        (!reached.is_empty()).then(|| Self::of(&reached, params))
    }

    fn of(reached: &[Reached], params: &Params) -> Self {
        let tracked: Vec<&Reached> = reached.iter().filter(|r| !r.in_wash).collect();
        let noted = (reached.len() - tracked.len()) as f64 * noted_anywhere_nats() * params.own_share;
        let (Some(first), Some(last)) = (tracked.first(), tracked.last()) else { return Self { nats: noted, level_m: None } };
        let middle_s = 0.5 * (first.time_s + last.time_s);
        let mut best = Self { nats: f64::NEG_INFINITY, level_m: None };
        for trend in TRENDS {
            let flat: Vec<f64> = tracked.iter().map(|r| r.tide_m - trend * (r.time_s - middle_s) / 3600.0).collect();
            let least_m = flat.iter().copied().fold(f64::INFINITY, f64::min);
            let most_m = flat.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let steps = ((most_m - least_m) / LEVEL_STEP_M).ceil() as usize;
            let cost = if trend == 0.0 { 0.0 } else { params.trend_nats };
            for n in 0..=steps {
                let wall_m = least_m + n as f64 * LEVEL_STEP_M;
                for k in 0..SCATTERS.len() {
                    let nats: f64 = tracked.iter().zip(&flat).map(|(r, m)| r.walls[k].nats(m - wall_m)).sum();
                    let nats = params.own_share * nats - cost + noted;
                    if nats > best.nats {
                        best = Self { nats, level_m: Some(wall_m) };
                    }
                }
            }
        }
        best
    }
}

/// Lets the water of the day stand off the predicted one: at each shift the best within reach of it, less what it takes.
fn widen(nats: &mut [f64], grid: &Grid, sd_m: f64) {
    let reach = (3.0 * sd_m / LEVEL_STEP_M).round() as usize;
    let cost: Vec<f64> = (0..=reach).map(|d| 0.5 * (d as f64 * LEVEL_STEP_M / sd_m).powi(2)).collect();
    for row in nats.chunks_mut(grid.levels) {
        let before = row.to_vec();
        for (n, out) in row.iter_mut().enumerate() {
            let near = before[n.saturating_sub(reach)..(n + reach + 1).min(before.len())].iter().enumerate();
            let first = n.saturating_sub(reach);
            *out = near.map(|(k, v)| v - cost[(first + k).abs_diff(n)]).fold(f64::NEG_INFINITY, f64::max);
        }
    }
}

/// Range of limits above the believed water worth looking at, metres.
pub(super) fn range_m(visits: &[(&Visit, Curve)], offset_m: f64) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (visit, curve) in visits {
        let mut above: Vec<f64> =
            visit.spells.iter().filter_map(|s| Some(s.lowest.land_m + offset_m - curve.at(s.lowest.time_s)?)).collect();
        above.sort_by(f64::total_cmp);
        let (Some(least), Some(middle)) = (above.first(), above.get(above.len() / 2)) else { continue };
        (low, high) = (low.min(*least - 1.5), high.max(*middle + 1.5));
    }
    if low < high { (low.clamp(-15.0, -1.5), high.clamp(1.5, 15.0)) } else { (-1.5, 1.5) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_water_of_a_day_may_stand_off_by_its_spread_at_a_price() {
        let grid = Grid::new(-1.0, 1.0, vec![0.0]);
        let mut nats = vec![-100.0; grid.len()];
        nats[20] = 0.0;
        widen(&mut nats, &grid, 0.2);
        assert_eq!(nats[20], 0.0);
        // One standard deviation off: half a natural unit.
        assert!((nats[24] + 0.5).abs() < 1e-9 && (nats[16] + 0.5).abs() < 1e-9, "{} {}", nats[24], nats[16]);
        assert!(nats[40] < -50.0);
    }
}
