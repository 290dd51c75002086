//! What came of a trial.

use serde::{Deserialize, Serialize};

use super::mismatch::{Failed, Mismatch};
use super::oracle::Strength;
use super::score::{Planted, Tally};
use crate::chance::{self, COVERAGE};
use crate::reading::Params;

/// How a reading is put on trial. The same trial always comes out the same.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// Beaches of each sort.
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
    /// Hot spots on the beaches with patterns that were told as nothing more: right when they touch a planted pattern.
    pub hot_spots: HotSpots,
    /// Of all that was told on the beaches with patterns, how much was right.
    pub told_right: Part,
    /// Beaches where chance alone decided.
    pub plain: Alarms,
    /// Beaches where chance alone decided, all of them searched in one corner.
    #[serde(rename = "biased")]
    pub one_sided: Alarms,
    /// Beaches where chance alone decided, half of whose tracks were not kept.
    pub half_tracked: Alarms,
    /// Beaches where chance alone decided, searched after storms, when everywhere more lies in reach.
    pub after_storms: Alarms,
    /// Beaches that could not be made or read.
    pub failed: Vec<Failed>,
}

/// A part of a count with the exact 95 % interval of its chance (Clopper & Pearson).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// How many.
    pub count: usize,
    /// Of how many.
    pub of: usize,
    /// The share, 0 to 1; 0 of none.
    pub share: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Part {
    pub(super) fn new(count: usize, of: usize) -> Self {
        let (low, high) = if of == 0 { (0.0, 1.0) } else { chance::binomial_interval(count as u64, of as u64, COVERAGE) };
        Self { count, of, share: share(count, of), low, high }
    }

    fn among<'a>(planted: impl Iterator<Item = &'a Planted>, hit: impl Fn(&Planted) -> bool) -> Self {
        let (count, of) = planted.fold((0, 0), |(c, of), p| (c + usize::from(hit(p)), of + 1));
        Self::new(count, of)
    }
}

impl Default for Part {
    fn default() -> Self {
        Self::new(0, 0)
    }
}

/// How patterns of one strength of evidence came back.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ByStrength {
    /// Found.
    pub found: Part,
    /// Found, or told of as a hot spot at least.
    pub at_least_hot_spot: Part,
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
    /// Share of the planted ones that was found, whatever the evidence.
    pub recall: f64,
    /// Share of the told ones that was right.
    pub precision: f64,
    /// Exact 95 % interval of that.
    pub precision_low: f64,
    /// Upper end of it.
    pub precision_high: f64,
    /// The well evidenced ones: a log likelihood ratio above 15 for who knows place, days and effort.
    pub well: ByStrength,
    /// The fairly evidenced ones: 8 to 15.
    pub fair: ByStrength,
    /// The rest.
    pub weak: ByStrength,
    /// The well evidenced ones found on beaches whose sand was surveyed.
    pub well_surveyed: Part,
    /// Those found that are well evidenced by where the book says that things lay as well.
    pub well_as_noted: Part,
    /// Distance of the right ones from what was planted, metres.
    pub place_error_m: Errors,
    /// Difference of level of the right ones from what was planted, metres; for scour lines.
    pub level_error_m: Option<Errors>,
    /// Planted and not found.
    pub missed: Vec<Mismatch>,
    /// Told and not right.
    pub wrong: Vec<Mismatch>,
}

/// Hot spots told as nothing more.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct HotSpots {
    /// How many touch a planted pattern.
    pub right: Part,
    /// Those that touch none.
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
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
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

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 { 0.0 } else { part as f64 / whole as f64 }
}

impl Recovery {
    pub(super) fn from_tally(sum: Tally, levels: bool) -> Self {
        let (planted, right) = (sum.planted.len(), sum.place_error_m.len());
        let found = sum.planted.iter().filter(|p| p.found).count();
        let precise = Part::new(right, right + sum.wrong.len());
        let of = |strength| {
            let those = || sum.planted.iter().filter(|p| p.evidence.as_lay.strength() == strength);
            ByStrength {
                found: Part::among(those(), |p| p.found),
                at_least_hot_spot: Part::among(those(), |p| p.found || p.hot_spot),
            }
        };
        let well = || sum.planted.iter().filter(|p| p.evidence.as_lay.strength() == Strength::Well);
        Self {
            planted,
            found,
            told: precise.of,
            right,
            recall: share(found, planted),
            precision: precise.share,
            precision_low: precise.low,
            precision_high: precise.high,
            well: of(Strength::Well),
            fair: of(Strength::Fair),
            weak: of(Strength::Weak),
            well_surveyed: Part::among(well().filter(|p| p.surveyed), |p| p.found),
            well_as_noted: Part::among(well().filter(|p| p.evidence.as_noted.strength() == Strength::Well), |p| p.found),
            place_error_m: Errors::from_distances(sum.place_error_m),
            level_error_m: levels.then(|| Errors::from_distances(sum.level_error_m)),
            missed: sum.missed,
            wrong: sum.wrong,
        }
    }
}

impl Alarms {
    /// From what was told on each beach.
    pub(super) fn from_told(told: Vec<Vec<Mismatch>>) -> Self {
        let alarmed = Part::new(told.iter().filter(|t| !t.is_empty()).count(), told.len());
        let Part { count, of, share, low, high } = alarmed;
        Self { beaches: of, alarmed: count, share, low, high, wrong: told.concat() }
    }
}

impl Errors {
    fn from_distances(mut errors: Vec<f64>) -> Self {
        errors.sort_by(f64::total_cmp);
        let at = |share: f64| errors.get(((errors.len() as f64 * share) as usize).min(errors.len().saturating_sub(1)));
        Self { median: at(0.5).copied().unwrap_or(0.0), p90: at(0.9).copied().unwrap_or(0.0) }
    }
}
