//! The levels of a survey seen as strips across the shore, each from the back of the beach to the sea.

use super::ShorePoint;

/// Levels of a strip this near to each other across are of one row, metres.
const ROW_M: f64 = 2.5;

/// A level of a strip, or the middle one of a row of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// How far seaward, metres.
    pub(super) across_m: f64,
    /// Above land datum, metres.
    pub(super) level_m: f64,
}

/// Strips about so wide along the shore, metres, and no more than so many; those of fewer than so many levels are left out.
pub(super) fn strips(levels: &[(ShorePoint, f64)], wide_m: f64, most: usize, least: usize) -> Vec<Vec<Spot>> {
    let along = || levels.iter().map(|(p, _)| p.along_m);
    let (from_m, to_m) = (along().fold(f64::INFINITY, f64::min), along().fold(f64::NEG_INFINITY, f64::max));
    let length_m = to_m - from_m;
    if !length_m.is_finite() || length_m <= 0.0 {
        return Vec::new();
    }
    let count = ((length_m / wide_m) as usize).clamp(1, most);
    let mut strips: Vec<Vec<Spot>> = vec![Vec::new(); count];
    for (p, level_m) in levels {
        let n = ((p.along_m - from_m) / length_m * count as f64) as usize;
        if let Some(strip) = strips.get_mut(n.min(count - 1)) {
            strip.push(Spot { across_m: p.across_m, level_m: *level_m });
        }
    }
    strips.retain(|strip| strip.len() >= least);
    for strip in &mut strips {
        strip.sort_by(|a, b| a.across_m.total_cmp(&b.across_m));
    }
    strips
}

/// The rows of a strip: levels that lie as far across made one, so that lines of a survey side by side count as one.
pub(super) fn rows(strip: &[Spot]) -> Vec<Spot> {
    let mut rows = Vec::new();
    let mut rest = strip;
    while let Some(first) = rest.first() {
        let (row, after) = rest.split_at(rest.partition_point(|s| s.across_m - first.across_m <= ROW_M));
        let across_m = row.iter().map(|s| s.across_m).sum::<f64>() / row.len() as f64;
        rows.extend(part_of(row.iter().map(|s| s.level_m), 0.5).map(|level_m| Spot { across_m, level_m }));
        rest = after;
    }
    rows
}

/// The value that such a part of all values lies at or under.
pub(super) fn part_of(values: impl Iterator<Item = f64>, part: f64) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(((part * values.len() as f64) as usize).min(values.len().saturating_sub(1))).copied()
}

/// How the levels of some strips rise seaward, each strip from a height of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rising {
    /// Metres a metre; negative where they fall, as beaches do.
    pub(super) per_m: f64,
    /// Its standard error.
    pub(super) error: f64,
    /// Standard deviation about it, metres.
    pub(super) spread_m: f64,
    /// Levels more than a straight line needs.
    pub(super) spare: usize,
}

impl Rising {
    /// By least squares; `None` where no strip reaches across.
    pub(super) fn of(strips: &[&[Spot]]) -> Option<Self> {
        let off = |strip: &[Spot]| {
            let mean = mean_of(strip);
            strip.iter().map(|s| (s.across_m - mean.across_m, s.level_m - mean.level_m)).collect::<Vec<_>>()
        };
        let strips: Vec<&[Spot]> = strips.iter().copied().filter(|s| !s.is_empty()).collect();
        let off: Vec<(f64, f64)> = strips.iter().flat_map(|s| off(s)).collect();
        let (xx, xy) = off.iter().fold((0.0, 0.0), |s, (x, y)| (s.0 + x * x, s.1 + x * y));
        if xx <= 1e-6 {
            return None;
        }
        let per_m = xy / xx;
        let spare = off.len().saturating_sub(strips.len() + 1);
        let square = off.iter().map(|(x, y)| (y - per_m * x).powi(2)).sum::<f64>();
        let spread_m = (square / spare.max(1) as f64).sqrt();
        Some(Self { per_m, error: spread_m / xx.sqrt(), spread_m, spare })
    }
}

/// The middle of some levels of a strip.
pub(super) fn mean_of(strip: &[Spot]) -> Spot {
    let n = strip.len().max(1) as f64;
    let sum = strip.iter().fold((0.0, 0.0), |s, spot| (s.0 + spot.across_m, s.1 + spot.level_m));
    Spot { across_m: sum.0 / n, level_m: sum.1 / n }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_are_cut_along_the_shore_and_rows_hold_what_lies_as_far_across() {
        let place = |n: usize| ShorePoint::new(10.0 * (n % 10) as f64, 20.0 * (n / 10) as f64);
        let levels: Vec<(ShorePoint, f64)> = (0..50).map(place).map(|p| (p, 2.0 - p.across_m / 40.0 + p.along_m)).collect();
        let strips = strips(&levels, 30.0, 12, 4);
        assert_eq!(strips.iter().map(Vec::len).sum::<usize>(), 50);
        assert!(strips.len() == 3 && strips.iter().all(|s| rows(s).len() == 5), "{strips:?}");
        let rising = Rising::of(&strips.iter().map(Vec::as_slice).collect::<Vec<_>>()).unwrap();
        assert!((rising.per_m + 1.0 / 40.0).abs() < 1e-9, "{rising:?}");
        assert_eq!(super::strips(&levels, 30.0, 12, 60), Vec::<Vec<Spot>>::new());
        assert_eq!(super::strips(&[], 30.0, 12, 0), Vec::<Vec<Spot>>::new());
        assert_eq!(Rising::of(&[]), None);
        assert_eq!(part_of([3.0, 1.0, 2.0].into_iter(), 0.5), Some(2.0));
    }
}
