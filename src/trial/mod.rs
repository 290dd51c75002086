//! A reading put on trial: beaches made with and without patterns are read, and what is told is held
//! against what was planted.
//!
//! A told pattern is *right* when it lies less than [`PLACE_M`] from a planted one of its sort and,
//! for a scour line, less than [`LEVEL_M`] from its level and for the greater part beside it; a
//! planted one is *found* when a told one is right for it. On beaches where chance alone decides,
//! any hot spot, scour line or drop zone told is a false verdict.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::ground::across_at_level_m;
use super::planting::{Cause, DropZone, Planting, ScourLine};
use super::{DemoError, Made};
use crate::reading::{self, Covered, Ground, Params, Reading, ReadingError};
use crate::shore::Setting;
use crate::{Cancelled, Progress, effort};

/// A told pattern must lie nearer than this to what was planted, metres.
pub const PLACE_M: f64 = 5.0;
/// A told scour line must hold a level nearer than this to the planted one's, metres.
pub const LEVEL_M: f64 = 0.1;

/// How a reading is put on trial. The same trial always comes out the same.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// Beaches of each sort: with patterns, without, and without but searched in one corner.
    pub beaches: usize,
    /// Seed of the first beach; the others follow on.
    pub seed: u64,
    /// Replicates of each scan of a reading.
    pub replicates: usize,
}

impl Default for Trial {
    fn default() -> Self {
        Self { beaches: 200, seed: 1, replicates: 199 }
    }
}

/// What came of a trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// The trial.
    pub trial: Trial,
    /// The settings of every reading.
    pub params: Params,
    /// Scour lines on the beaches with patterns.
    pub scour_lines: Recovery,
    /// Drop zones on the beaches with patterns.
    pub drop_zones: Recovery,
    /// Beaches where chance alone decided.
    pub plain: Alarms,
    /// Beaches where chance alone decided, all of them searched in one corner.
    pub biased: Alarms,
}

/// How one sort of pattern came back.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Recovery {
    /// Planted.
    pub planted: usize,
    /// Planted and found.
    pub found: usize,
    /// Told.
    pub told: usize,
    /// Told and right.
    pub right: usize,
    /// Share of the planted ones that was found.
    pub recall: f64,
    /// Share of the told ones that was right.
    pub precision: f64,
    /// Distance of the right ones from what was planted, metres.
    pub place_error_m: Errors,
    /// Difference of level of the right ones from what was planted, metres; for scour lines.
    pub level_error_m: Option<Errors>,
    /// Planted and not found.
    pub missed: Vec<Told>,
    /// Told and not right.
    pub wrong: Vec<Told>,
}

/// Errors of what was right.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Errors {
    /// Half of them are smaller.
    pub median: f64,
    /// Nine in ten are smaller.
    pub p90: f64,
}

/// A pattern that was planted and missed, or told and wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// Seed of its beach.
    pub seed: u64,
    /// Its middle, or its two ends, metres along.
    pub along_m: Vec<f64>,
    /// Its middle, metres across.
    pub across_m: f64,
    /// Level of a scour line, metres above the land datum.
    pub level_m: Option<f64>,
    /// Finds that it gave.
    pub finds: usize,
}

/// Beaches of chance alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alarms {
    /// How many were read.
    pub beaches: usize,
    /// On how many anything was told.
    pub alarmed: usize,
    /// Share of those, 0 to 1.
    pub share: f64,
    /// Exact 95 % interval of the chance (Clopper & Pearson).
    pub low: f64,
    /// Upper end of it.
    pub high: f64,
    /// What was told.
    pub wrong: Vec<Told>,
}

/// Why a trial came to no end.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// A beach could not be made.
    #[error(transparent)]
    Demo(#[from] DemoError),
    /// A beach could not be read.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl Trial {
    /// Makes, reads and scores all beaches, on all cores.
    ///
    /// # Errors
    /// When a beach cannot be made or read, which no seed should bring about, or the work was called off.
    pub fn run(&self, progress: &Progress) -> Result<Outcome, TrialError> {
        let done = AtomicUsize::new(0);
        let step = || {
            let n = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress.set(n as f64 / (3 * self.beaches.max(1)) as f64);
            progress.check()
        };
        let seeds = self.seed..self.seed.saturating_add(self.beaches as u64);
        let scores = seeds.into_par_iter().map(|seed| {
            let (made, reading) = self.read(&Planting::patterned(seed))?;
            step()?;
            score(seed, &made, &reading)
        });
        let scores: Vec<Score> = scores.collect::<Result<_, TrialError>>()?;
        let (lines, zones): (Vec<_>, Vec<_>) = scores.into_iter().map(|s| (s.lines, s.zones)).unzip();
        Ok(Outcome {
            trial: *self,
            params: self.params(),
            scour_lines: Recovery::of(lines, true),
            drop_zones: Recovery::of(zones, false),
            plain: self.alarms(Planting::plain, &step)?,
            biased: self.alarms(Planting::biased, &step)?,
        })
    }

    fn params(&self) -> Params {
        Params { replicates: self.replicates, ..Params::default() }
    }

    fn read(&self, planting: &Planting) -> Result<(Made, Reading), TrialError> {
        let made = planting.make()?;
        let book = made.book()?;
        let progress = Progress::new();
        let setting = Setting::of(&book, made.beach.uid).ok_or(ReadingError::Effort(effort::EffortError::NoBeach))?;
        let covered = Covered::of(&book, &setting, &effort::Params::default(), &progress)?;
        let ground = Ground { book: &book, setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: None };
        let reading = reading::read(&ground, &self.params(), &progress)?;
        Ok((made, reading))
    }

    fn alarms(
        &self,
        planting: fn(u64) -> Planting,
        step: &(impl Fn() -> Result<(), Cancelled> + Sync),
    ) -> Result<Alarms, TrialError> {
        let seeds = self.seed..self.seed.saturating_add(self.beaches as u64);
        let told = seeds.into_par_iter().map(|seed| -> Result<_, TrialError> {
            let (_, r) = self.read(&planting(seed))?;
            step()?;
            // A drop zone is a hot spot, so it is told of here too.
            let spots = r.hot_spots.iter().map(|s| Told {
                seed,
                along_m: vec![s.shore.along_m - s.half_along_m, s.shore.along_m + s.half_along_m],
                across_m: s.shore.across_m,
                level_m: None,
                finds: s.seen,
            });
            let lines = r.scour_lines.iter().map(|l| line_told(seed, l));
            Ok(spots.chain(lines).collect::<Vec<Told>>())
        });
        let told = told.collect::<Result<Vec<_>, _>>()?;
        let (beaches, alarmed) = (self.beaches, told.iter().filter(|t| !t.is_empty()).count());
        let (low, high) = reading::binomial_interval(alarmed as u64, beaches as u64, reading::COVERAGE);
        Ok(Alarms { beaches, alarmed, share: share(alarmed, beaches), low, high, wrong: told.concat() })
    }
}

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 { 0.0 } else { part as f64 / whole as f64 }
}

/// One sort of pattern on one beach.
#[derive(Default)]
struct Tally {
    planted: usize,
    told: usize,
    place_error_m: Vec<f64>,
    level_error_m: Vec<f64>,
    missed: Vec<Told>,
    wrong: Vec<Told>,
}

struct Score {
    lines: Tally,
    zones: Tally,
}

fn score(seed: u64, made: &Made, reading: &Reading) -> Result<Score, TrialError> {
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
        lines.missed.push(Told {
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
                let spot = reading.hot_spots.iter().find(|s| s.of == reading::Of::All && s.number == told.hot_spot);
                let finds = spot.map_or(0, |s| s.counts.finds);
                zones.wrong.push(Told { seed, along_m: vec![along], across_m: across, level_m: None, finds });
            }
        }
    }
    for (n, z) in truth.drop_zones.iter().enumerate().filter(|(n, _)| !found[*n]) {
        let finds = gave(Cause::DropZone(n));
        zones.missed.push(Told { seed, along_m: vec![z.along_m], across_m: z.across_m, level_m: None, finds });
    }
    Ok(Score { lines, zones })
}

fn line_told(seed: u64, line: &reading::ScourLine) -> Told {
    Told {
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

impl Recovery {
    fn of(tallies: Vec<Tally>, levels: bool) -> Self {
        let mut sum = Tally::default();
        for mut t in tallies {
            sum.planted += t.planted;
            sum.told += t.told;
            sum.place_error_m.append(&mut t.place_error_m);
            sum.level_error_m.append(&mut t.level_error_m);
            sum.missed.append(&mut t.missed);
            sum.wrong.append(&mut t.wrong);
        }
        let (found, right) = (sum.planted - sum.missed.len(), sum.place_error_m.len());
        Self {
            planted: sum.planted,
            found,
            told: sum.told,
            right,
            recall: share(found, sum.planted),
            precision: share(right, sum.told),
            place_error_m: Errors::of(sum.place_error_m),
            level_error_m: levels.then(|| Errors::of(sum.level_error_m)),
            missed: sum.missed,
            wrong: sum.wrong,
        }
    }
}

impl Errors {
    fn of(mut errors: Vec<f64>) -> Self {
        errors.sort_by(f64::total_cmp);
        let at = |share: f64| errors.get(((errors.len() as f64 * share) as usize).min(errors.len().saturating_sub(1)));
        Self { median: at(0.5).copied().unwrap_or(0.0), p90: at(0.9).copied().unwrap_or(0.0) }
    }
}
