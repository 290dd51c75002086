use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use super::Waves;
use crate::book::{SeaRecord, SeaState};

/// Between two entries no farther apart than this a record covers the hours. Models and buoys tell the sea every hour to
/// every six.
const GAP: SignedDuration = SignedDuration::from_hours(6);
/// Hours that it does not cover are taken no calmer than its entries so near before and after them.
const NEAREST: SignedDuration = SignedDuration::from_hours(24);
/// Past the end of a record its last hours still bind for so long: nobody knows that the sea has gone down since (a judgement:
/// a storm passes a coast within a day or two, and its swell after that).
const ENDED: SignedDuration = SignedDuration::from_hours(72);
/// The last hours of a record: of them the roughest entry and the greatest surge count.
const LAST: SignedDuration = SignedDuration::from_hours(6);
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
    /// Instants at which an entry comes within [`NEAREST`] of hours that its record does not cover, or no longer does, and at
    /// which the last hours of a record no longer bind.
    edges: Vec<Timestamp>,
    past: Option<Waves>,
}

/// What one record tells of an instant: the entries on either side of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Told {
    pub(super) time: Timestamp,
    pub(super) waves: Waves,
    pub(super) surge_m: Option<f64>,
    /// Whether the record covers the instant; else the entry is the nearest on its side.
    pub(super) covers: bool,
    /// When the record ended, where that is longer ago than [`NEAREST`].
    pub(super) ended: Option<Timestamp>,
}

impl Seas {
    /// From the records of the book that are of one beach.
    pub fn from_records<'a>(records: impl IntoIterator<Item = &'a SeaRecord>) -> Self {
        let records: Vec<Arc<[SeaState]>> = records.into_iter().map(|r| r.states.iter().copied().collect()).collect();
        let past = past(&records);
        let edges = records.iter().flat_map(|r| edges(r)).collect();
        Self { records, edges, past }
    }

    /// The sea that the records' own past exceeds in 5 hours of 100, where they are long enough to tell: by how high
    /// it runs up, which goes with the height times the square of the period.
    pub fn past(&self) -> Option<Waves> {
        self.past
    }

    /// Instants in `from..to` at which some record has an entry, or from which on another one is the nearest, in order.
    pub(super) fn entries(&self, from: Timestamp, to: Timestamp) -> Vec<Timestamp> {
        let mut times: Vec<Timestamp> = self
            .records
            .iter()
            .flat_map(|r| {
                let first = r.partition_point(|s| s.time <= from);
                r.get(first..).unwrap_or_default().iter().map(|s| s.time).take_while(|t| *t < to)
            })
            .chain(self.edges.iter().copied().filter(|t| *t > from && *t < to))
            .collect();
        times.sort();
        times.dedup();
        times
    }

    /// What the records tell of an instant. Beside one that covers it another counts with its nearest entries where the
    /// instant lies between them, and not where that record has ended or not begun. Where none covers it, all of the
    /// [last](LAST) hours of a record that has ended count.
    pub(super) fn around(&self, time: Timestamp) -> Vec<Told> {
        let (mut all, mut beyond) = (Vec::new(), Vec::new());
        for record in &self.records {
            let after = record.partition_point(|s| s.time <= time);
            let before = after.checked_sub(1).and_then(|n| record.get(n));
            let (a, b) = (before, record.get(after));
            let covers = a.zip(b).is_some_and(|(a, b)| b.time.duration_since(a.time) <= GAP);
            let a = a.filter(|s| covers || time.duration_since(s.time) < NEAREST);
            let near_b = b.filter(|s| covers || s.time.duration_since(time) <= NEAREST);
            let told = |s: &SeaState| Told { time: s.time, waves: waves(s), surge_m: s.surge_m, covers, ended: None };
            if let (Some(last), None) = (before, b) {
                let since = time.duration_since(last.time);
                let ended = (since >= NEAREST).then_some(last.time);
                let of_its_last = record.iter().rev().take_while(|s| since < ENDED && last.time.duration_since(s.time) <= LAST);
                beyond.extend(of_its_last.map(|s| Told { ended, ..told(s) }));
                continue;
            }
            let inside = before.is_some() && b.is_some();
            let of_these = if inside { &mut all } else { &mut beyond };
            of_these.extend(a.into_iter().chain(near_b).map(told));
        }
        if !all.iter().any(|t: &Told| t.covers) {
            all.append(&mut beyond);
        }
        all
    }
}

/// Where the nearest entries of a record change between its entries, and before and after them.
fn edges(record: &[SeaState]) -> Vec<Timestamp> {
    let (later, earlier) = (|s: &SeaState| s.time.checked_add(NEAREST).ok(), |s: &SeaState| s.time.checked_sub(NEAREST).ok());
    let gaps = record.windows(2).filter(|w| w[1].time.duration_since(w[0].time) > GAP);
    let mut edges: Vec<Timestamp> = gaps.flat_map(|w| [later(&w[0]), earlier(&w[1])]).flatten().collect();
    edges.extend(record.first().and_then(earlier));
    edges.extend(record.last().and_then(later));
    edges.extend(record.last().and_then(|s| s.time.checked_add(ENDED).ok()));
    edges
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
