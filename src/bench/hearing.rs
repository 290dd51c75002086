//! Many signals heard with one set-up: what they have in common is worked out once.
//!
//! By far the most of the work is how dense each number is as the first of a target of each kind. Target IDs and the
//! gauge's steps are whole numbers and few, so a table of them serves thousands of signals.

use std::collections::{BTreeSet, HashMap};

use rayon::prelude::*;

use super::kernel::Fresh;
use super::may_be::{Heard, Sounded};
use super::{BenchError, Learned};

/// A set-up that is asked of many signals.
pub(super) struct Hearing<'l> {
    pub(super) learned: &'l Learned,
    /// Kind by kind in order of the signatures, by the gauge's step and the number.
    fresh: HashMap<(Option<i32>, i32), Vec<Fresh>>,
}

impl<'l> Hearing<'l> {
    /// Prepared for these signals.
    pub(super) fn prepared<'s>(learned: &'l Learned, signals: impl IntoIterator<Item = Sounded<'s>>) -> Self {
        let mut wanted: BTreeSet<(Option<i32>, i32)> = BTreeSet::new();
        for signal in signals {
            wanted.extend(signal.target_ids.iter().map(|id| (signal.gauge_step, *id)));
        }
        let of = |(step, number): (Option<i32>, i32)| {
            let beyond_m = learned.beyond_at(step);
            let fresh = learned.signatures.iter().map(|s| s.shape.fresh(f64::from(number), beyond_m)).collect();
            ((step, number), fresh)
        };
        Self { learned, fresh: wanted.into_par_iter().map(of).collect() }
    }

    /// What a signal says whatever the person finds: the same as [`Learned::heard`].
    ///
    /// # Errors
    /// [`BenchError::NoIds`] when the signal has no number.
    pub(super) fn heard(&self, heard: &Sounded<'_>) -> Result<Heard, BenchError> {
        let of = |id: &i32| self.fresh.get(&(heard.gauge_step, *id)).map_or(&[][..], Vec::as_slice);
        let numbers: Vec<&[Fresh]> = heard.target_ids.iter().map(of).collect();
        self.learned.heard_by(heard, |kind, n, beyond_m| match numbers[n].get(kind) {
            Some(fresh) => *fresh,
            None => self.learned.signatures[kind].shape.fresh(f64::from(heard.target_ids[n]), beyond_m),
        })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::habit::Habit;
    use super::super::may_be::Prior;
    use super::super::{Expected, Mix, expected, undug};
    use super::*;
    use crate::book::{Beach, BenchReading, Book, Edit, Find, Kind, Outing, Setup, Signal, Steadiness, Uid};
    use crate::earth::LonLat;

    /// What is read or heard: a number that says the kind, the IDs, the word and the step.
    type Drawn = (usize, Vec<i32>, Option<usize>, Option<i32>, bool);

    const KINDS: [&str; 5] = ["nail", "coin", "gold_ring", "ring_pull", "lead"];

    fn drawn() -> impl Strategy<Value = Drawn> {
        let ids = prop::collection::vec(-5_i32..60, 0..5);
        (0..KINDS.len(), ids, prop::option::of(0..3_usize), prop::option::of(1..7_i32), any::<bool>())
    }

    /// An invented book of one set-up: bench readings, finds and signals; `digs` says whether the bench says what is dug.
    fn book_of(readings: &[Drawn], finds: &[Drawn], signals: &[Drawn], digs: bool) -> (Book, Uid, Uid) {
        let at = LonLat::new(-20.0, 45.0).unwrap();
        let (setup, beach) = (Setup::new("invented"), Beach::new("Invented Bay", at));
        let start = "2026-03-01T09:00:00Z".parse().unwrap();
        let outing = Outing { setup: Some(setup.uid), ..Outing::new(beach.uid, start, start) };
        let mut edits = vec![Edit::put(setup.clone()), Edit::put(beach.clone()), Edit::put(outing.clone())];
        let word = |n: &Option<usize>| n.map(|n| Steadiness::ALL[n]);
        edits.extend(readings.iter().enumerate().map(|(n, (kind, ids, steadiness, step, dig))| {
            Edit::put(BenchReading {
                uid: Uid::fresh(),
                setup: setup.uid,
                kind: Some(Kind::keyed(KINDS[*kind])),
                target: format!("number {}", n % 7),
                depth_m: 0.05 * f64::from(step.unwrap_or(2)),
                scraped_m: None,
                ground: None,
                lie: None,
                target_ids: ids.clone(),
                steadiness: word(steadiness),
                tone: String::new(),
                gauge_step: *step,
                dig: digs.then_some(*dig),
                time: None,
                notes: String::new(),
            })
        }));
        edits.extend(finds.iter().map(|(kind, ids, ..)| {
            let find = Find::new(beach.uid, at, "invented", Kind::keyed(KINDS[*kind]));
            Edit::put(Find { outing: Some(outing.uid), target_id: ids.first().map(|id| f64::from(*id)), ..find })
        }));
        edits.extend(signals.iter().map(|(_, ids, steadiness, step, placed)| {
            let (steadiness, outing) = (word(steadiness), placed.then_some(outing.uid));
            Edit::put(Signal { outing, target_ids: ids.clone(), steadiness, gauge_step: *step, ..Signal::new(beach.uid, at) })
        }));
        let mut book = Book::new();
        book.apply(&Edit::Batch(edits)).unwrap();
        (book, beach.uid, setup.uid)
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 24, ..crate::cases::kept() })]

        /// All signals of a beach at once are answered as each on its own.
        #[test]
        fn many_are_answered_as_each_alone(
            readings in prop::collection::vec(drawn(), 1..25),
            finds in prop::collection::vec(drawn(), 0..20),
            signals in prop::collection::vec(drawn(), 1..40),
            digs in any::<bool>(),
        ) {
            // Some sound alike.
            let signals: Vec<Drawn> = signals.iter().chain(signals.iter().take(4)).cloned().collect();
            let (book, beach, setup) = book_of(&readings, &finds, &signals, digs);
            let all = undug(&book, beach);
            prop_assert_eq!(all.expected.len() + all.unanswered.len(), signals.len());
            let (mix, habit) = (Mix::on(&book, beach), Habit::on_bench(&(&book).into(), setup));
            prop_assert_eq!(all.from_bench, habit.is_some() && !all.expected.is_empty());
            if let Ok(learned) = Learned::from_book(&book, setup) {
                let learned = learned.unchosen(all.expected.len() as f64).unwrap_or(learned);
                let signals: Vec<&Signal> = all.expected.iter().map(|e| &book.signals()[&e.signal]).collect();
                let heard: Vec<Heard> = signals.iter().map(|s| learned.heard(&Sounded::from(*s)).unwrap()).collect();
                let ground = learned.prior(&habit.as_ref().map_or_else(|| mix.clone(), |h| h.in_the_ground(&mix)));
                let ground = ground.with_left(&heard.iter().map(|h| (h, 1.0)).collect::<Vec<_>>());
                let by = |prior: &Prior| {
                    let told = signals.iter().zip(&heard).map(|(s, heard)| expected(s, &learned.weighed_by(heard, prior)));
                    told.collect::<Vec<Expected>>()
                };
                let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
                for (quick, plain) in all.expected.iter().zip(by(&ground)) {
                    let pairs = [(quick.chance, plain.chance), (quick.heavy, plain.heavy), (quick.rubbish, plain.rubbish)];
                    prop_assert!(pairs.into_iter().all(|(a, b)| near(a, b)) && quick.signal == plain.signal, "{quick:?} {plain:?}");
                }
                let mut sums = vec![all.worthwhile()];
                let others = std::iter::once(mix.clone()).chain(habit.as_ref().map(|h| h.left(&mix)));
                sums.extend(others.map(|mix| by(&learned.prior(&mix)).iter().map(Expected::worthwhile).sum::<f64>()));
                if let Some((low, high)) = all.range {
                    prop_assert!(near(low, sums.iter().copied().fold(f64::MAX, f64::min)), "{low} {sums:?}");
                    prop_assert!(near(high, sums.iter().copied().fold(f64::MIN, f64::max)), "{high} {sums:?}");
                }
            }
            for (uid, why) in &all.unanswered {
                let (signal, alone) = (&book.signals()[uid], super::super::may_be(&book, beach, &book.signals()[uid]));
                prop_assert!(alone.as_ref().err() == Some(why) || (signal.target_ids.is_empty() && alone.is_err()), "{alone:?} {why:?}");
            }
        }
    }
}
