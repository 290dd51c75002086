//! What came of a trial.

use serde::{Deserialize, Serialize};

use super::mismatch::Mismatch;
use super::score::Tally;
use crate::reading::Params;

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
    pub missed: Vec<Mismatch>,
    /// Told and not right.
    pub wrong: Vec<Mismatch>,
}

/// Errors of what was right.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Errors {
    /// Half of them are smaller.
    pub median: f64,
    /// Nine in ten are smaller.
    pub p90: f64,
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
    pub wrong: Vec<Mismatch>,
}

pub(super) fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 { 0.0 } else { part as f64 / whole as f64 }
}

impl Recovery {
    pub(super) fn from_tallies(tallies: Vec<Tally>, levels: bool) -> Self {
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
            place_error_m: Errors::from_distances(sum.place_error_m),
            level_error_m: levels.then(|| Errors::from_distances(sum.level_error_m)),
            missed: sum.missed,
            wrong: sum.wrong,
        }
    }
}

impl Errors {
    fn from_distances(mut errors: Vec<f64>) -> Self {
        errors.sort_by(f64::total_cmp);
        let at = |share: f64| errors.get(((errors.len() as f64 * share) as usize).min(errors.len().saturating_sub(1)));
        Self { median: at(0.5).copied().unwrap_or(0.0), p90: at(0.9).copied().unwrap_or(0.0) }
    }
}
