//! Sand that is no sand: a survey that ends in a plane, as a height model does in which the sea is set to one value, and a flight
//! that measured the water; or one that turns back at nought, as levels do whose minus signs are lost.
//!
//! A terrace at low water falls about one in four hundred, is cut by runnels and differs along the shore (common practice, no
//! published source): what is as flat must not be told. So a plane is told by more than its flatness: that many levels are one
//! and the same figure over more ground than rounding makes it, or that it is level by so narrow an error that it cannot be a
//! terrace. Widths and shares are judgements with no published source, set on invented beaches.

use super::ShorePoint;
use super::strips::{Rising, Spot, part_of, rows, strips};
use crate::trust::FlatSand;

/// The strips that a beach is looked at in, metres, ...
const STRIP_M: f64 = 30.0;
/// ... no more than so many.
const STRIPS: usize = 12;
/// So many of them must hold levels enough, ...
const LEAST_STRIPS: usize = 2;
/// ... and all but this part of them must show it.
const BUT_FOR: f64 = 0.4;

/// Steps that levels are rounded to, metres, among them whole feet and tenths of one.
const ROUNDED_TO_M: [f64; 9] = [1.0, 0.5, 0.3048, 0.2, 0.1, 0.05, 0.03048, 0.02, 0.01];
/// Levels are one figure that differ by less, metres.
const SAME_M: f64 = 5e-4;
/// The lowest figure of a survey is that below which no more than this part lies.
const STRAYS: f64 = 0.02;
/// So many levels must be that figure, ...
const LEAST_LEVELS: usize = 10;
/// ... and this part of all, ...
const LEAST_PART: f64 = 0.1;
/// ... over so many metres across, ...
const LEAST_CUT_M: f64 = 15.0;
/// ... and over more than sand that falls one in so many is one figure by rounding.
const ROUNDING_WIDTH: f64 = 450.0;

/// Within so much of one height a plane lies, metres: a few centimetres of error, and small waves.
const PLANE_M: f64 = 0.15;
/// It is so wide at least, metres, ...
const LEAST_PLANE_M: f64 = 25.0;
/// ... falls or rises by no more than this a metre, ...
const LEVEL: f64 = 1.0 / 1500.0;
/// ... for sure by less than a terrace does, ...
const TERRACE: f64 = 1.0 / 400.0;
/// ... which is so many standard errors, ...
const SURE: f64 = 3.0;
/// ... has no more relief than this about it, standard deviation in metres, ...
const RELIEF_M: f64 = 0.07;
/// ... and lies at the foot of sand that falls so steeply over so many metres.
const FALLS: f64 = 1.0 / 200.0;
const FALLS_OVER_M: f64 = 80.0;
/// Of a strip's levels in the plane so many may lie off it.
const OFF_PART: f64 = 0.1;
/// The landward part of what lies near the plane may still be its slope.
const SLOPE_PART: f64 = 1.0 / 3.0;
/// A slope that comes of fewer spare levels than this is none.
const LEAST_SPARE: usize = 6;

/// Levels without signs turn back this near to nought, metres, where they are measured closely; ...
const TURN_M: f64 = 0.15;
/// ... else within this part of what they fall from row to row.
const TURN_ROWS: f64 = 0.6;
/// From there they rise by so much, metres, over so many metres across: what of it is a bar falls again.
const RISE_M: f64 = 0.4;
const RISE_OVER_M: f64 = 20.0;
/// The end of what rises lies no further below its top than this part of it.
const STAYS_UP: f64 = 0.35;

/// What of the sand of a survey is no sand, by the places of its levels and how high they are, metres.
pub(super) fn flat_of(levels: &[(ShorePoint, f64)]) -> Option<FlatSand> {
    cut(levels).or_else(|| level(levels)).or_else(|| folded(levels))
}

/// The greatest step that nearly all levels are whole multiples of, metres; nought where there is none.
fn rounded_to_m(levels: &[(ShorePoint, f64)]) -> f64 {
    let is_whole = |m: f64, step_m: f64| ((m / step_m) - (m / step_m).round()).abs() * step_m < SAME_M;
    let whole = |step_m: &f64| levels.iter().filter(|(_, m)| is_whole(*m, *step_m)).count();
    ROUNDED_TO_M.into_iter().find(|step_m| whole(step_m) as f64 >= 0.99 * levels.len() as f64).unwrap_or(0.0)
}

/// What all but [`BUT_FOR`] of the strips reach; `None` where there are too few.
fn most_reach(of: &[f64]) -> Option<f64> {
    part_of(of.iter().copied(), BUT_FOR).filter(|_| of.len() >= LEAST_STRIPS)
}

/// A good part of the levels is one figure, the lowest.
fn cut(levels: &[(ShorePoint, f64)]) -> Option<FlatSand> {
    let level_m = part_of(levels.iter().map(|(_, m)| *m), STRAYS)?;
    let is_it = |m: f64| (m - level_m).abs() < SAME_M;
    let many = levels.iter().filter(|(_, m)| is_it(*m)).count();
    if many < LEAST_LEVELS || (many as f64) < LEAST_PART * levels.len() as f64 {
        return None;
    }
    let width_m = |strip: &Vec<Spot>| {
        let mut at = strip.iter().filter(|s| is_it(s.level_m)).map(|s| s.across_m);
        at.next().map_or(0.0, |first| at.next_back().unwrap_or(first) - first)
    };
    let widths: Vec<f64> = strips(levels, STRIP_M, STRIPS, 4).iter().map(width_m).collect();
    let wide_m = most_reach(&widths)?;
    (wide_m >= LEAST_CUT_M.max(ROUNDING_WIDTH * rounded_to_m(levels))).then_some(FlatSand::Cut { level_m, wide_m })
}

/// The seaward end is level within noise, at one height, and the sand above it falls.
fn level(levels: &[(ShorePoint, f64)]) -> Option<FlatSand> {
    let strips = strips(levels, STRIP_M, STRIPS, 5);
    let ends = strips.iter().flat_map(|s| s.iter().rev().take((s.len() / 8).max(3)));
    let level_m = part_of(ends.map(|s| s.level_m), 0.5)?;
    let off_m = |s: &Spot| (s.level_m - level_m).abs();
    let (mut widths, mut planes, mut above) = (Vec::new(), Vec::new(), Vec::new());
    for strip in &strips {
        let Some((first, end)) = plane_from(strip, |s| off_m(s) <= PLANE_M).zip(strip.last()) else {
            widths.push(0.0);
            continue;
        };
        let from_m = strip[first].across_m;
        let wide_m = end.across_m - from_m;
        widths.push(wide_m);
        let plane = strip[first..].iter().filter(|s| s.across_m >= from_m + SLOPE_PART * wide_m && off_m(s) <= 2.0 * PLANE_M);
        planes.push(plane.copied().collect::<Vec<Spot>>());
        let up = strip[..first].iter().filter(|s| s.across_m >= from_m - FALLS_OVER_M);
        above.push(up.copied().collect::<Vec<Spot>>());
    }
    let wide_m = most_reach(&widths).filter(|m| *m >= LEAST_PLANE_M)?;
    let rising = |of: &[Vec<Spot>]| Rising::of(&of.iter().map(Vec::as_slice).collect::<Vec<_>>());
    let (plane, above) = rising(&planes).filter(|r| r.spare >= LEAST_SPARE).zip(rising(&above))?;
    // Rounding to a decimetre hides a fall of half of one; to a centimetre it is part of the error.
    let hidden = 0.5 * Some(rounded_to_m(levels)).filter(|m| *m > 0.015).unwrap_or(0.0) / wide_m;
    let is_level = plane.per_m.abs() <= LEVEL && plane.per_m.abs() + SURE * plane.error + hidden <= TERRACE;
    (is_level && plane.spread_m <= RELIEF_M && above.per_m <= -FALLS).then_some(FlatSand::Level { level_m, wide_m })
}

/// From which of a strip's levels on seaward nearly all are of a plane; `None` where its end is not.
fn plane_from(strip: &[Spot], is_of: impl Fn(&Spot) -> bool) -> Option<usize> {
    let (mut first, mut off) = (None, 0_usize);
    for (n, spot) in strip.iter().enumerate().rev() {
        let so_many = (strip.len() - n) as f64;
        if !is_of(spot) {
            off += 1;
            if off as f64 > OFF_PART * strip.len() as f64 + 1.0 {
                break;
            }
        } else if off as f64 <= OFF_PART * so_many {
            first = Some(n);
        }
    }
    first
}

/// The levels turn back at nought and rise seaward, and none is negative.
fn folded(levels: &[(ShorePoint, f64)]) -> Option<FlatSand> {
    if levels.iter().any(|(_, m)| *m < -SAME_M) {
        return None;
    }
    let turns: Vec<(f64, f64)> = strips(levels, STRIP_M, STRIPS, 5).iter().filter_map(|s| turn_of(s)).collect();
    let rise_m = most_reach(&turns.iter().map(|t| t.0).collect::<Vec<_>>()).filter(|m| *m >= RISE_M)?;
    let turn_m = part_of(turns.iter().map(|t| t.1), 0.75)?;
    (turn_m <= TURN_M).then_some(FlatSand::Folded { rise_m })
}

/// By how much a strip rises from its lowest level on to its seaward end, nought where it does not stay up; and how high that
/// lowest level stands, less what rows so far apart may miss.
fn turn_of(strip: &[Spot]) -> Option<(f64, f64)> {
    let (at, lowest) = strip.iter().enumerate().min_by(|a, b| a.1.level_m.total_cmp(&b.1.level_m))?;
    let end_m = strip.last()?.across_m;
    let reach_m = end_m - lowest.across_m;
    let seaward = &strip[at + 1..];
    if seaward.len() < 3 || at < 2 || reach_m < RISE_OVER_M {
        return Some((0.0, lowest.level_m));
    }
    let last = seaward.iter().filter(|s| s.across_m >= end_m - 0.25 * reach_m);
    let end_level_m = part_of(last.map(|s| s.level_m), 0.5)?;
    let top_m = part_of(seaward.iter().map(|s| s.level_m), 0.9)?;
    let rise_m = end_level_m - lowest.level_m;
    let rows = rows(strip);
    let between = part_of(rows.windows(2).map(|two| (two[1].level_m - two[0].level_m).abs()), 0.5)?;
    let stays = end_level_m >= top_m - STAYS_UP * rise_m;
    Some((if stays { rise_m } else { 0.0 }, lowest.level_m - TURN_ROWS * between))
}

#[cfg(test)]
mod tests {
    use rand::{RngExt as _, SeedableRng as _};
    use rand_chacha::ChaCha8Rng;

    use super::*;

    /// A beach 300 m long that falls evenly or hollow from a metre above a tide of so many metres down to its lowest, and how its
    /// levels are taken.
    #[derive(Clone, Copy, Debug)]
    struct Made {
        falls: f64,
        tide_m: f64,
        lines_m: f64,
        every_m: f64,
        noise_m: f64,
        rounded_m: f64,
    }

    impl Made {
        fn width_m(&self) -> f64 {
            ((self.tide_m + 1.0) / self.falls).min(700.0)
        }

        fn even(&self, across_m: f64) -> f64 {
            0.5 * self.tide_m + 1.0 - self.falls * across_m
        }

        /// Its levels, of sand so high by along and across, as they are written down by `written`.
        fn levels(&self, seed: u64, sand: impl Fn(f64, f64) -> f64, written: impl Fn(f64) -> f64) -> Vec<(ShorePoint, f64)> {
            let mut r = ChaCha8Rng::seed_from_u64(seed);
            let mut normal = || (0..12).map(|_| r.random_range(-0.5..0.5)).sum::<f64>();
            let lines = (300.0 / self.lines_m) as usize + 1;
            let rows = (self.width_m() / self.every_m) as usize + 1;
            let at = |n: usize| ShorePoint::new(self.lines_m * (n / rows) as f64, self.every_m * (n % rows) as f64);
            let one = |p: ShorePoint| {
                let m = sand(p.along_m, p.across_m) + self.noise_m * normal();
                (p, written((m / self.rounded_m).round() * self.rounded_m))
            };
            (0..lines * rows).map(at).map(one).collect()
        }
    }

    /// Slopes, tides, spacings, noise and rounding by turns.
    fn all() -> Vec<Made> {
        let mut all = Vec::new();
        for (n, falls) in [1.0 / 20.0, 1.0 / 30.0, 1.0 / 50.0, 1.0 / 80.0, 1.0 / 150.0].into_iter().enumerate() {
            for (k, tide_m) in [2.0, 4.0, 7.0, 10.0].into_iter().enumerate() {
                for (i, noise_m) in [0.02, 0.05, 0.1].into_iter().enumerate() {
                    let lines_m = [5.0, 12.0, 25.0, 40.0][(n + k + i) % 4];
                    let every_m = [5.0, 10.0, 20.0][(k + i) % 3];
                    let rounded_m = if (n + i) % 2 == 0 { 0.01 } else { 0.1 };
                    all.push(Made { falls, tide_m, lines_m, every_m, noise_m, rounded_m });
                }
            }
        }
        all
    }

    #[test]
    fn sound_beaches_are_not_said_to_be_flat() {
        let mut told = Vec::new();
        for (seed, made) in (0_u64..).zip(all()) {
            let terrace_m = made.tide_m * -0.1;
            let terrace = |_: f64, x: f64| {
                let m = made.even(x);
                let runnel = 0.3 * (-((x - 0.8 * made.width_m()) / 6.0).powi(2)).exp();
                if m > terrace_m { m } else { terrace_m - (terrace_m - m) / made.falls / 400.0 - runnel }
            };
            // Bars that rise a metre over 15 m and fall again over 45.
            let bar = |x: f64| if x < 15.0 { x / 15.0 } else { 1.0 - (x - 15.0) / 45.0 };
            let bars = |_: f64, x: f64| made.even(x) + bar((x - 0.4 * made.width_m()).rem_euclid(160.0)).clamp(0.0, 1.0);
            let rocks = |a: f64, x: f64| made.even(x) + 0.4 * (a / 7.0).sin() * (x / 9.0).cos();
            let plain = |a: f64, x: f64| made.even(x) + 0.2 * (a / 40.0).sin();
            let as_is = |m: f64| m;
            let sands = [
                ("plain", made.levels(seed, plain, as_is)),
                ("terrace", made.levels(seed, terrace, as_is)),
                ("bars", made.levels(seed, bars, as_is)),
                ("rocks", made.levels(seed, rocks, as_is)),
                ("hollow", made.levels(seed, |_, x| made.even(x) + 0.3 * (x / made.width_m()).powi(2), as_is)),
            ];
            told.extend(sands.into_iter().filter_map(|(name, levels)| Some((name, made, flat_of(&levels)?))));
        }
        // Of 300: of a terrace that few levels were taken of nobody can tell for sure.
        assert!(told.len() <= 3 && told.iter().all(|t| t.0 == "terrace"), "{told:?}");
    }

    #[test]
    fn a_sea_set_to_one_value_is_told_at_whatever_height_and_a_few_equal_levels_are_not() {
        for (seed, made) in (0_u64..).zip(all()) {
            for part in [0.0, 0.3] {
                let at_m = (-part * made.tide_m / 2.0 * 10.0).round() / 10.0;
                let wide_m = made.width_m() - (0.5 * made.tide_m + 1.0 - at_m) / made.falls;
                let told = flat_of(&made.levels(seed, |_, x| made.even(x), |m| m.max(at_m)));
                // Rounded to a decimetre 45 m of a terrace are one figure.
                let sure = wide_m >= if made.rounded_m > 0.05 { 75.0 } else { 50.0 };
                let is_it = matches!(told, Some(FlatSand::Cut { level_m, .. }) if (level_m - at_m).abs() < 1e-6);
                assert!(is_it || !sure, "{made:?} {at_m} {wide_m}: {told:?}");
            }
        }
        // Whole metres on a flat beach: a hundred metres and more are one figure.
        let made = Made { falls: 1.0 / 150.0, tide_m: 4.0, lines_m: 20.0, every_m: 10.0, noise_m: 0.05, rounded_m: 1.0 };
        assert_eq!(flat_of(&made.levels(1, |_, x| made.even(x), |m| m)), None);
        assert_eq!(flat_of(&[]), None);
    }

    #[test]
    fn a_water_surface_that_was_flown_over_is_told_with_its_noise() {
        for (seed, made) in (0_u64..).zip(all()) {
            for part in [0.2, 0.5] {
                let at_m = -part * made.tide_m / 2.0;
                let made = Made { noise_m: made.noise_m.min(0.05), rounded_m: 0.01, ..made };
                let wide_m = made.width_m() - (0.5 * made.tide_m + 1.0 - at_m) / made.falls;
                let told = flat_of(&made.levels(seed, |_, x| made.even(x).max(at_m), |m| m));
                // Of few levels nobody can tell a plane from a terrace.
                let sure = wide_m >= 90.0 && (300.0 / made.lines_m + 1.0).floor() * wide_m / made.every_m >= 100.0;
                let is_it = matches!(told, Some(FlatSand::Level { level_m, .. }) if (level_m - at_m).abs() < 0.05);
                assert!(is_it || !sure, "{made:?} {at_m} {wide_m}: {told:?}");
            }
        }
    }

    #[test]
    fn lost_minus_signs_fold_the_sand_at_nought_and_a_bar_at_its_foot_does_not() {
        for (seed, made) in (0_u64..).zip(all()) {
            let told = flat_of(&made.levels(seed, |_, x| made.even(x), f64::abs));
            let under_m = -made.even(made.width_m() - made.every_m);
            let sure = under_m >= 1.0 && under_m / made.falls >= 80.0 && made.noise_m <= 0.05;
            assert!(matches!(told, Some(FlatSand::Folded { rise_m }) if rise_m >= 0.5) || !sure, "{made:?}: {told:?}");
            // Levels that count from low water are all above nought, and have a bar at their foot.
            let up_m = 0.5 * made.tide_m + 0.4;
            let bar = |x: f64| (-((x - made.width_m() + 60.0) / 15.0).powi(2)).exp();
            let told = flat_of(&made.levels(seed, |_, x| made.even(x) + up_m + bar(x), |m| m));
            assert_eq!(told, None, "{made:?}");
        }
    }
}
