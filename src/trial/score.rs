//! A reading held against what was planted.

use super::error::TrialError;
use super::mismatch::Mismatch;
use crate::demo::{Cause, DropZone, Made, ScourLine, across_at_level_m};
use crate::reading::{self, Reading};

/// A told pattern must lie nearer than this to what was planted, metres.
pub const PLACE_M: f64 = 5.0;
/// A told scour line must hold a level nearer than this to the planted one's, metres.
pub const LEVEL_M: f64 = 0.1;

/// One sort of pattern on one beach.
#[derive(Default)]
pub(super) struct Tally {
    pub(super) planted: usize,
    pub(super) told: usize,
    pub(super) place_error_m: Vec<f64>,
    pub(super) level_error_m: Vec<f64>,
    pub(super) missed: Vec<Mismatch>,
    pub(super) wrong: Vec<Mismatch>,
}

pub(super) struct Score {
    pub(super) lines: Tally,
    pub(super) zones: Tally,
}

pub(super) fn score(seed: u64, made: &Made, reading: &Reading) -> Result<Score, TrialError> {
    let truth = &made.truth;
    let mut lines = Tally { planted: truth.scour_lines.len(), told: reading.scour_lines.len(), ..Tally::default() };
    let mut found = vec![false; lines.planted];
    for told in &reading.scour_lines {
        let ends = told.line.iter().map(|p| made.along_across_m(*p)).collect::<Result<Vec<_>, _>>()?;
        let right = truth.scour_lines.iter().enumerate().filter_map(|(n, t)| Some((n, beside(&ends, told.level.median_m, t)?)));
        match right.min_by(|a, b| a.1.0.total_cmp(&b.1.0)) {
            Some((n, (place_m, level_m))) => {
                found[n] = true;
                lines.place_error_m.push(place_m);
                lines.level_error_m.push(level_m);
            }
            None => lines.wrong.push(line_told(seed, told)),
        }
    }
    let gave = |cause: Cause| truth.cause_of.values().filter(|c| **c == cause).count();
    for (n, t) in truth.scour_lines.iter().enumerate().filter(|(n, _)| !found[*n]) {
        lines.missed.push(Mismatch {
            seed,
            along_m: vec![t.along_m.0, t.along_m.1],
            across_m: across_at_level_m(0.5 * (t.along_m.0 + t.along_m.1), level_m(t)),
            level_m: Some(level_m(t)),
            finds: gave(Cause::ScourLine(n)),
        });
    }
    let mut zones = Tally { planted: truth.drop_zones.len(), told: reading.drop_zones.len(), ..Tally::default() };
    let mut found = vec![false; zones.planted];
    for told in &reading.drop_zones {
        let (along, across) = made.along_across_m(told.centre)?;
        let off_m = |z: &DropZone| (along - z.along_m).hypot(across - z.across_m);
        let nearest = truth.drop_zones.iter().map(off_m).enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
        match nearest.filter(|(_, off_m)| *off_m < PLACE_M) {
            Some((n, off_m)) => {
                found[n] = true;
                zones.place_error_m.push(off_m);
            }
            None => {
                let spot = reading.hot_spots.iter().find(|s| s.of == reading::WeightChoice::All && s.number == told.hot_spot);
                let finds = spot.map_or(0, |s| s.counts.finds);
                zones.wrong.push(Mismatch { seed, along_m: vec![along], across_m: across, level_m: None, finds });
            }
        }
    }
    for (n, z) in truth.drop_zones.iter().enumerate().filter(|(n, _)| !found[*n]) {
        let finds = gave(Cause::DropZone(n));
        zones.missed.push(Mismatch { seed, along_m: vec![z.along_m], across_m: z.across_m, level_m: None, finds });
    }
    Ok(Score { lines, zones })
}

pub(super) fn line_told(seed: u64, line: &reading::ScourLine) -> Mismatch {
    Mismatch {
        seed,
        along_m: vec![line.from_along_m, line.to_along_m],
        across_m: line.shore.across_m,
        level_m: Some(line.level.median_m),
        finds: line.counts.heavy,
    }
}

/// Level of a planted line, metres: each storm lays it a little differently, so the mean over what was laid.
fn level_m(line: &ScourLine) -> f64 {
    let first = (line.level_m, line.laid_before as f64);
    let laid = line.renewals.iter().map(|r| (r.level_m, r.things as f64)).chain([first]);
    let (sum, count) = laid.fold((0.0, 0.0), |(s, n), (level, things)| (s + level * things, n + things));
    if count > 0.0 { sum / count } else { line.level_m }
}

/// How far a told line lies from a planted one, in place and level, metres; `None` when it is not right for it.
fn beside(told: &[(f64, f64)], told_level_m: f64, planted: &ScourLine) -> Option<(f64, f64)> {
    let (mut told, truth_m) = (told.to_vec(), level_m(planted));
    told.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (first, last) = (told.first()?.0, told.last()?.0);
    let (from, to) = (first.max(planted.along_m.0), last.min(planted.along_m.1));
    if to - from <= 0.5 * (last - first) {
        return None;
    }
    let across_m = |along: f64| {
        let n = told.partition_point(|p| p.0 < along).clamp(1, told.len() - 1);
        let ((a0, c0), (a1, c1)) = (told[n - 1], told[n]);
        c0 + (c1 - c0) * if a1 > a0 { (along - a0) / (a1 - a0) } else { 0.0 }
    };
    let steps = 40;
    let off_m = (0..=steps).map(|k| {
        let along = from + (to - from) * f64::from(k) / f64::from(steps);
        (across_m(along) - across_at_level_m(along, truth_m)).abs()
    });
    let place_m = off_m.sum::<f64>() / f64::from(steps + 1);
    let off_level_m = (told_level_m - truth_m).abs();
    (place_m < PLACE_M && off_level_m < LEVEL_M).then_some((place_m, off_level_m))
}
