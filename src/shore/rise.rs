//! A rise across the shore: seaward of some place all of a survey's sand stands higher by one and the same than landward of it,
//! as where the height of a pole was not taken off from there on.
//!
//! A bar rises seaward too, by as much as a metre over 10 to 20 m, and so within one spacing of many surveys (common practice, no
//! published source); but behind its crest it falls again to where the sand would lie without it, and levels farther off do not
//! make the same of it. A fall is a scarp or the foot of a wall and is not told. The bounds are judgements with no published source,
//! set on invented beaches with bars, runnels, terraces and hollows.

use super::ShorePoint;
use super::strips::{Rising, Spot, mean_of, part_of, rows, strips};
use crate::trust::SandRise;

/// The strips that a beach is looked at in, metres, and how many at most: narrow ones, as sand in waves along the shore blurs
/// wide ones; and wide ones where narrow ones hold too few levels.
const STRIPS: [(f64, usize); 2] = [(12.0, 40), (30.0, 12)];
/// So many rows must a strip have, ...
const LEAST_ROWS: usize = 6;
/// ... and so many strips must show the rise, ...
const LEAST_STRIPS: usize = 2;
/// ... and this part of all.
const MOST_OF: f64 = 0.6;
/// Rises are told from so much on, metres, ...
const RISE_M: f64 = 0.5;
/// ... or from so much where the rows stand farther apart than a bar needs to rise.
const RISE_APART_M: f64 = 0.85;
/// The half of them in the middle differ by no more than this part of it.
const EVENLY: f64 = 0.25;
/// From row to row it rises by so much at least, metres: the sand may fall between them.
const SHOWS_M: f64 = 0.15;
/// So many rows landward go with it, over so many metres at least, ...
const ROWS_LANDWARD: usize = 5;
const LANDWARD_M: f64 = 15.0;
/// ... and those seaward of it over so many, from the least on.
const SEAWARD_M: (f64, f64) = (40.0, 80.0);
/// Parts of the rise: what the sand seaward of it may fall more than the sand landward of it does, ...
const FALLS_AGAIN: f64 = 0.3;
/// ... and how far a row may lie off the line through those beside it.
const OFF_LINE: f64 = 0.3;
/// Rows so far off, metres, make the same of it ...
const FAR_M: std::ops::RangeInclusive<f64> = 20.0..=110.0;
/// ... within these parts.
const ALIKE: std::ops::RangeInclusive<f64> = 0.8..=1.3;

/// The rise across the shore that most of a survey shows, by the places of its levels and how high they are, metres.
pub(super) fn rise_of(levels: &[(ShorePoint, f64)]) -> Option<SandRise> {
    STRIPS.into_iter().find_map(|(wide_m, most)| in_strips(levels, wide_m, most))
}

fn in_strips(levels: &[(ShorePoint, f64)], wide_m: f64, most: usize) -> Option<SandRise> {
    let all: Vec<Vec<Spot>> = strips(levels, wide_m, most, LEAST_ROWS).iter().map(|s| rows(s)).collect();
    let all: Vec<Vec<Spot>> = all.into_iter().filter(|rows| rows.len() >= LEAST_ROWS).collect();
    let found: Vec<SandRise> = all.iter().filter_map(|rows| greatest(rows)).collect();
    if found.len() < LEAST_STRIPS || (found.len() as f64) < MOST_OF * all.len() as f64 {
        return None;
    }
    let part = |of: fn(&SandRise) -> f64, part: f64| part_of(found.iter().map(of), part);
    let [low_m, by_m, high_m] = [0.25, 0.5, 0.75].map(|p| part(|r| r.by_m, p));
    let (by_m, spread_m) = (by_m?, high_m? - low_m?);
    let rise = SandRise { across_m: part(|r| r.across_m, 0.5)?, by_m, apart_m: part(|r| r.apart_m, 0.5)? };
    let least_m = if rise.is_sharp() { RISE_M } else { RISE_APART_M };
    (spread_m <= EVENLY * by_m && by_m >= least_m).then_some(rise)
}

fn greatest(rows: &[Spot]) -> Option<SandRise> {
    let rises = (3..rows.len().saturating_sub(2)).filter_map(|n| before(rows, n));
    rises.max_by(|a, b| a.by_m.total_cmp(&b.by_m))
}

/// The rise between a row and the one before it, where there is one that persists.
fn before(rows: &[Spot], n: usize) -> Option<SandRise> {
    let (landward, seaward) = rows.split_at_checked(n)?;
    let (last, first, end) = (landward.last()?, seaward.first()?, seaward.last()?);
    let beside = &landward[landward.len().saturating_sub(ROWS_LANDWARD)..];
    let reach_m = end.across_m - first.across_m;
    let shows = first.level_m - last.level_m >= SHOWS_M;
    if !shows || reach_m < SEAWARD_M.0 || last.across_m - beside.first()?.across_m < LANDWARD_M {
        return None;
    }
    let ahead = &seaward[..seaward.partition_point(|s| s.across_m - first.across_m <= SEAWARD_M.1)];
    let (up, down) = (Rising::of(&[beside])?.per_m, Rising::of(&[ahead])?.per_m);
    let line = |of: &[Spot], per_m: f64| {
        let mean = mean_of(of);
        move |across_m: f64| mean.level_m + per_m * (across_m - mean.across_m)
    };
    let (before, after) = (line(beside, up), line(ahead, down));
    let across_m = 0.5 * (last.across_m + first.across_m);
    let by_m = after(across_m) - before(across_m);
    let falls_again_m = (up - down) * reach_m.min(SEAWARD_M.1);
    if by_m < RISE_M || up > 0.0 || falls_again_m > FALLS_AGAIN * by_m {
        return None;
    }
    let off_m =
        |of: &[Spot], line: &dyn Fn(f64) -> f64| of.iter().map(|s| (s.level_m - line(s.across_m)).abs()).fold(0.0, f64::max);
    if off_m(beside, &before).max(off_m(ahead, &after)) > OFF_LINE * by_m {
        return None;
    }
    let far =
        |of: &[Spot]| -> Vec<Spot> { of.iter().copied().filter(|s| FAR_M.contains(&(s.across_m - across_m).abs())).collect() };
    let (back, front) = (far(landward), far(seaward));
    let is_long = front.last().is_some_and(|s| s.across_m - across_m >= SEAWARD_M.0);
    if back.len() < 2 || front.len() < 2 || !is_long {
        return None;
    }
    let (fall, back, front) = (Rising::of(&[&back, &front])?.per_m, mean_of(&back), mean_of(&front));
    let far_m = front.level_m - back.level_m - fall * (front.across_m - back.across_m);
    ALIKE.contains(&(far_m / by_m)).then_some(SandRise { across_m, by_m, apart_m: first.across_m - last.across_m })
}

#[cfg(test)]
mod tests {
    use rand::{RngExt as _, SeedableRng as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    /// Levels each 12 m along and so far across, with noise of 3 cm, on sand 240 m wide that falls so steeply.
    fn rise(falls: f64, every_m: f64, rounded_m: f64, up_m: impl Fn(f64, f64) -> f64) -> Option<SandRise> {
        let mut r = ChaCha8Rng::seed_from_u64(7);
        let rows = (240.0 / every_m) as usize + 1;
        let place = |n: usize| ShorePoint::new(12.0 * (n / rows) as f64, every_m * (n % rows) as f64);
        let mut level = |p: ShorePoint| {
            let noise_m = 0.03 * (0..12).map(|_| r.random_range(-0.5..0.5)).sum::<f64>();
            let m = 4.0 - falls * p.across_m + up_m(p.along_m, p.across_m) + noise_m;
            (p, (m / rounded_m).round() * rounded_m)
        };
        let levels: Vec<(ShorePoint, f64)> = (0..26 * rows).map(place).map(&mut level).collect();
        rise_of(&levels)
    }

    #[test]
    fn a_pole_not_taken_off_in_the_seaward_half_is_told_and_what_beaches_do_is_not() {
        for falls in [1.0 / 20.0, 1.0 / 30.0, 1.0 / 50.0, 1.0 / 80.0, 1.0 / 150.0] {
            for (every_m, rounded_m) in [(5.0, 0.01), (10.0, 0.01), (10.0, 0.1), (20.0, 0.01)] {
                for by_m in [1.8, 1.2] {
                    let told = rise(falls, every_m, rounded_m, |_, x| if x > 121.0 { by_m } else { 0.0 }).unwrap();
                    assert!((told.by_m - by_m).abs() < 0.15 && (told.across_m - 121.0).abs() <= every_m, "{falls} {told:?}");
                }
                let none = |name: &str, up_m: &dyn Fn(f64, f64) -> f64| {
                    assert_eq!(rise(falls, every_m, rounded_m, up_m), None, "{name}: {falls} {every_m} {rounded_m}");
                };
                none("even", &|_, _| 0.0);
                none("a scarp", &|_, x| if x > 121.0 { -1.2 } else { 0.0 });
                none("a step along the shore", &|a, _| if a > 150.0 { 1.5 } else { 0.0 });
                none("hollow", &|_, x| 0.5 * (x / 240.0).powi(2));
                none("on a third of the length", &|a, x| if x > 121.0 && a < 100.0 { 1.8 } else { 0.0 });
                // A bar that rises 1.1 m over 15 m and falls again over 45, and a runnel as deep.
                none("a bar", &|_, x| {
                    let off_m = x - 110.0;
                    if off_m < 15.0 { (1.1 * off_m / 15.0).max(0.0) } else { (1.1 * (1.0 - (off_m - 15.0) / 45.0)).max(0.0) }
                });
                none("a runnel", &|_, x| -(-((x - 130.0) / 12.0).powi(2)).exp());
            }
        }
        assert_eq!(rise_of(&[]), None);
    }
}
