//! A reading put on trial: beaches made with and without patterns are read, and what is told is held
//! against what was planted.
//!
//! A told pattern is *right* when it lies less than [`PLACE_M`] from a planted one of its sort and,
//! for a scour line, less than [`LEVEL_M`] from its level and for the greater part beside it; a
//! planted one is *found* when a told one is right for it. On beaches where chance alone decides,
//! any hot spot, scour line or drop zone told is a false verdict.

mod error;
mod mismatch;
mod outcome;
mod score;

pub use error::TrialError;
pub use mismatch::Mismatch;
pub use outcome::{Alarms, Errors, Outcome, Recovery, Trial};
pub use score::{LEVEL_M, PLACE_M};

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::demo::{Made, Planting};
use crate::reading::{self, Covered, Ground, Params, Reading, ReadingError};
use crate::shore::Setting;
use crate::{Cancelled, Progress, chance, effort};
use outcome::share;
use score::{Score, line_told, score};

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
            scour_lines: Recovery::from_tallies(lines, true),
            drop_zones: Recovery::from_tallies(zones, false),
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
        let setting = Setting::from_book(&book, made.beach.uid).ok_or(ReadingError::Effort(effort::EffortError::NoBeach))?;
        let covered = Covered::from_tracks(&book, &setting, &effort::Params::default(), &progress)?;
        let ground = Ground { book: &(&book).into(), setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: None };
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
            let spots = r.hot_spots.iter().map(|s| Mismatch {
                seed,
                along_m: vec![s.shore.along_m - s.half_along_m, s.shore.along_m + s.half_along_m],
                across_m: s.shore.across_m,
                level_m: None,
                finds: s.seen,
            });
            let lines = r.scour_lines.iter().map(|l| line_told(seed, l));
            Ok(spots.chain(lines).collect::<Vec<Mismatch>>())
        });
        let told = told.collect::<Result<Vec<_>, _>>()?;
        let (beaches, alarmed) = (self.beaches, told.iter().filter(|t| !t.is_empty()).count());
        let (low, high) = chance::binomial_interval(alarmed as u64, beaches as u64, chance::COVERAGE);
        Ok(Alarms { beaches, alarmed, share: share(alarmed, beaches), low, high, wrong: told.concat() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{Pattern, WeightChoice, ranked};

    /// An invented beach with planted patterns: every hot spot is told once, on its own or with another.
    #[test]
    fn every_hot_spot_is_told_once_and_the_strongest_stands_first() {
        let trial = Trial { replicates: 99, ..Trial::default() };
        let (_, reading) = trial.read(&Planting::patterned(3)).unwrap();
        let verdicts = ranked(&reading, WeightChoice::All);
        assert!(verdicts.is_sorted_by_key(|v| v.q));
        assert!(verdicts.windows(2).all(|w| w[0].q < w[1].q || w[0].log_likelihood_ratio >= w[1].log_likelihood_ratio));
        let mut spots: Vec<usize> = verdicts
            .iter()
            .flat_map(|v| match v.told {
                Pattern::DropZone(n) | Pattern::HotSpot(n) => vec![n],
                Pattern::ScourLine(_) => vec![],
            })
            .chain(verdicts.iter().flat_map(|v| v.also.iter().copied()))
            .collect();
        spots.sort_unstable();
        assert_eq!(spots, (0..reading.hot_spots.len()).collect::<Vec<_>>());
        let lines = verdicts.iter().filter(|v| matches!(v.told, Pattern::ScourLine(_))).count();
        assert_eq!(lines, reading.scour_lines.len());
        assert!(
            ranked(&reading, WeightChoice::Light)
                .iter()
                .all(|v| matches!(v.told, Pattern::HotSpot(n) if reading.hot_spots[n].of == WeightChoice::Light))
        );
        assert!(lines > 0 && verdicts.iter().any(|v| !v.also.is_empty()), "a hot spot of heavy finds lies on a line");
    }
}
