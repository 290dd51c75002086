//! A reading put on trial: invented beaches of every sort ([`world`]) are read as anyone's, and what is told is held
//! against what was planted.
//!
//! A told scour line is *right* when over half of its length lies beside a planted one, less than [`PLACE_M`] away
//! on average, and at its level to less than [`LEVEL_M`] (or no further off than its width and 3 m). A told drop
//! zone is right when its middle lies in or within 3 m of a planted one (in any case within 8 m of its middle), or
//! shares ground with it. A planted pattern is *found* when a told one of its sort is right for it. How many could
//! be is told by strength of evidence: what somebody would have who knows its place, its days and the effort
//! ([`Evidence`]). On beaches where chance alone decides, any hot spot, scour line or drop zone is a false alarm.

mod error;
mod mismatch;
mod oracle;
mod outcome;
mod score;
pub mod world;

pub use error::TrialError;
pub use mismatch::{Failed, Mismatch};
pub use oracle::{Both, Evidence, FAIR, Strength, WELL};
pub use outcome::{Alarms, ByStrength, Errors, HotSpots, Outcome, Part, Recovery, Trial};
pub use score::{LEVEL_M, PLACE_M};

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::reading::{self, Covered, Ground, Params, Reading, ReadingError};
use crate::shore::Setting;
use crate::{Progress, effort};
use score::{Score, alarms, score};
use world::{Sort, World};

/// What came of one beach.
enum Read {
    Scored(Box<Score>),
    Alarms(Vec<Mismatch>),
    Failed(Failed),
}

impl Trial {
    /// Draws, reads and scores all beaches, on all cores. A beach that fails is counted as such.
    ///
    /// # Errors
    /// [`TrialError::Cancelled`] when the work was called off.
    pub fn run(&self, progress: &Progress) -> Result<Outcome, TrialError> {
        let done = AtomicUsize::new(0);
        let seeds = self.seed..self.seed.saturating_add(self.beaches as u64);
        let beaches: Vec<(Sort, u64)> = Sort::ALL.into_iter().flat_map(|s| seeds.clone().map(move |seed| (s, seed))).collect();
        let reads = beaches.par_iter().map(|(sort, seed)| {
            progress.check()?;
            let read = self.one(*sort, *seed);
            let n = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress.set(n as f64 / beaches.len() as f64);
            Ok((*sort, read))
        });
        let reads: Vec<(Sort, Read)> = reads.collect::<Result<_, TrialError>>()?;
        Ok(self.sum(reads))
    }

    fn sum(&self, reads: Vec<(Sort, Read)>) -> Outcome {
        let (mut sum, mut failed) = (Score::default(), Vec::new());
        let mut told: [Vec<Vec<Mismatch>>; Sort::ALL.len()] = Default::default();
        for (sort, read) in reads {
            match read {
                Read::Scored(score) => sum.add(*score),
                Read::Alarms(alarms) => told[sort as usize].push(alarms),
                Read::Failed(f) => failed.push(f),
            }
        }
        let mut alarms = |sort: Sort| Alarms::from_told(std::mem::take(&mut told[sort as usize]));
        let spots = Part::new(sum.spots_right, sum.spots_right + sum.spots_wrong.len());
        let scour_lines = Recovery::from_tally(sum.lines, true);
        let drop_zones = Recovery::from_tally(sum.zones, false);
        Outcome {
            trial: *self,
            params: self.params(),
            told_right: Part::new(
                scour_lines.right + drop_zones.right + spots.count,
                scour_lines.told + drop_zones.told + spots.of,
            ),
            scour_lines,
            drop_zones,
            hot_spots: HotSpots { right: spots, wrong: sum.spots_wrong },
            plain: alarms(Sort::Plain),
            one_sided: alarms(Sort::OneSided),
            half_tracked: alarms(Sort::HalfTracked),
            after_storms: alarms(Sort::AfterStorms),
            failed,
        }
    }

    fn params(&self) -> Params {
        Params { replicates: self.replicates, ..Params::default() }
    }

    fn one(&self, sort: Sort, seed: u64) -> Read {
        guarded(sort, seed, || {
            let world = World::draw(sort, seed)?;
            let reading = self.read(&world)?;
            Ok(match sort {
                Sort::Patterned => Read::Scored(Box::new(score(&world, &reading)?)),
                _ => Read::Alarms(alarms(&world, &reading)?),
            })
        })
    }

    /// Reads a world's book as the program reads anyone's.
    ///
    /// # Errors
    /// As [`reading::read`].
    pub fn read(&self, world: &World) -> Result<Reading, TrialError> {
        let progress = Progress::new();
        let no_beach = || ReadingError::Effort(effort::EffortError::NoBeach);
        let setting = Setting::from_book(&world.book, world.beach).ok_or_else(no_beach)?;
        let searched = effort::Params::from_settings(&setting.beach.search);
        let covered = Covered::from_tracks(&world.book, &setting, &searched, &progress)?;
        let tables = (&world.book).into();
        let ground = Ground { book: &tables, setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: None };
        Ok(reading::read(&ground, &self.params(), &progress)?)
    }
}

/// What errs or panics on one beach is its failure and no other's.
fn guarded(sort: Sort, seed: u64, work: impl FnOnce() -> Result<Read, TrialError>) -> Read {
    let failed = |why: String| Read::Failed(Failed { sort, seed, why });
    match catch_unwind(AssertUnwindSafe(work)) {
        Ok(Ok(read)) => read,
        Ok(Err(e)) => failed(e.to_string()),
        Err(panic) => {
            let said = panic.downcast_ref::<String>().cloned();
            failed(said.or_else(|| panic.downcast_ref::<&str>().map(|s| (*s).to_owned())).unwrap_or_default())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_beach_that_panics_or_errs_is_counted_and_the_others_go_on() {
        let panics = guarded(Sort::Plain, 3, || panic!("no gamma quantile of {}", -1.0));
        let errs = guarded(Sort::OneSided, 4, || Err(ReadingError::Effort(effort::EffortError::NoBeach).into()));
        let reads = vec![(Sort::Plain, panics), (Sort::OneSided, errs), (Sort::Plain, Read::Alarms(Vec::new()))];
        let outcome = Trial::default().sum(reads);
        assert_eq!((outcome.plain.beaches, outcome.plain.alarmed, outcome.one_sided.beaches), (1, 0, 0));
        let failed: Vec<(Sort, u64)> = outcome.failed.iter().map(|f| (f.sort, f.seed)).collect();
        assert_eq!(failed, [(Sort::Plain, 3), (Sort::OneSided, 4)]);
        assert_eq!(outcome.failed[0].why, "no gamma quantile of -1");
    }

    #[test]
    fn a_trial_that_is_called_off_says_so() {
        let progress = Progress::new();
        progress.cancel();
        assert!(matches!(Trial { beaches: 1, ..Trial::default() }.run(&progress), Err(TrialError::Cancelled(_))));
    }
}
