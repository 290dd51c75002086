use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use super::Waves;
use crate::book::{SeaRecord, SeaState};

/// Between two entries farther apart than this a record knows nothing of the sea. Models and buoys tell it every
/// hour to every six.
const GAP: SignedDuration = SignedDuration::from_hours(6);
/// Period taken for waves whose record tells none, seconds (common practice, no published source: long for their
/// height, so that they run up high).
const PERIOD_S: f64 = 10.0;
/// A record tells how rough the sea off a beach is when it spans a year's seasons with so many entries.
const YEAR: SignedDuration = SignedDuration::from_hours(24 * 300);
const ENTRIES: usize = 500;
/// The sea is no rougher than the [past](Seas::past) in this part of the record.
pub(super) const PAST: f64 = 0.95;

/// What is recorded and forecast of the sea off one beach.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seas {
    records: Vec<Arc<[SeaState]>>,
    past: Option<Waves>,
}

impl Seas {
    /// From the records of the book that are of one beach.
    pub fn from_records<'a>(records: impl IntoIterator<Item = &'a SeaRecord>) -> Self {
        let records: Vec<Arc<[SeaState]>> = records.into_iter().map(|r| r.states.iter().copied().collect()).collect();
        let past = past(&records);
        Self { records, past }
    }

    /// The sea that the records' own past exceeds in 5 hours of 100, where they are long enough to tell: by how high
    /// it runs up, which goes with the height times the square of the period.
    pub fn past(&self) -> Option<Waves> {
        self.past
    }

    /// Instants in `from..to` at which some record has an entry, in order.
    pub(super) fn entries(&self, from: Timestamp, to: Timestamp) -> Vec<Timestamp> {
        let mut times: Vec<Timestamp> = self
            .records
            .iter()
            .flat_map(|r| {
                let first = r.partition_point(|s| s.time <= from);
                r.get(first..).unwrap_or_default().iter().map(|s| s.time).take_while(|t| *t < to)
            })
            .collect();
        times.sort();
        times.dedup();
        times
    }

    /// The waves, and the surge in metres where one is told, at both ends of the interval of each record that an instant
    /// lies in; empty where no record covers it.
    pub(super) fn around(&self, time: Timestamp) -> Vec<(Timestamp, Waves, Option<f64>)> {
        let pair = |record: &Arc<[SeaState]>| {
            let after = record.partition_point(|s| s.time <= time);
            let (a, b) = (*record.get(after.checked_sub(1)?)?, *record.get(after)?);
            (b.time.duration_since(a.time) <= GAP).then_some([a, b])
        };
        self.records.iter().filter_map(pair).flatten().map(|s| (s.time, waves(&s), s.surge_m)).collect()
    }
}

fn waves(state: &SeaState) -> Waves {
    Waves { height_m: state.hs_m, period_s: state.tp_s.unwrap_or(PERIOD_S) }
}

fn past(records: &[Arc<[SeaState]>]) -> Option<Waves> {
    let states = || records.iter().flat_map(|r| r.iter());
    let (first, last) = (states().map(|s| s.time).min()?, states().map(|s| s.time).max()?);
    if last.duration_since(first) < YEAR || states().count() < ENTRIES {
        return None;
    }
    let mut all: Vec<Waves> = states().map(waves).collect();
    all.sort_by(|a, b| (a.height_m * a.length_m()).total_cmp(&(b.height_m * b.length_m())));
    all.get((all.len() as f64 * PAST) as usize).copied()
}
