//! Signals that were heard and left, as finds still to be made.
//!
//! A signal that is dug is one find; before that it is one find of unknown kind. [`undug`] answers every
//! signal of a beach with the set-up of its outing and shares that one find out by what it may be: heavy,
//! light or of unknown weight, and how likely it is rubbish or iron, which nobody goes back for.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::Serialize;

use super::evidence::word_index;
use super::habit::Habit;
use super::hearing::Hearing;
use super::may_be::{MayBe, Prior, Sounded};
use super::mix::Mix;
use super::tables::BenchTables;
use super::{BenchError, Learned, learn_all};
use crate::book::{Signal, Uid, Weight};
use crate::earth::LonLat;

/// What one undug signal counts for. `heavy`, `light` and `unknown` add up to 1.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// The signal.
    pub signal: Uid,
    /// Where it was heard.
    #[serde(skip)]
    pub at: LonLat,
    /// The likeliest answer, in the words of the screen.
    pub likeliest: String,
    /// Its chance, 0 to 1.
    pub chance: f64,
    /// Chance that the sea handles it as heavy, iron with the rest.
    pub heavy: f64,
    /// Chance that the sea handles it as light.
    pub light: f64,
    /// Chance that it is of a kind whose weight is not known, what is not on the bench with the rest.
    pub unknown: f64,
    /// Chance that it is rubbish or iron; it counts in the weights above as well.
    pub rubbish: f64,
}

impl Expected {
    /// Finds worth going back for: 1 less the chance of rubbish.
    pub fn worthwhile(&self) -> f64 {
        (1.0 - self.rubbish).clamp(0.0, 1.0)
    }
}

/// The undug signals of a beach.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Undug {
    /// Those that have an answer, in order of uid.
    pub expected: Vec<Expected>,
    /// Those that have none, with the reason, in order of uid.
    pub unanswered: Vec<(Uid, BenchError)>,
    /// Finds worth going back for, at least and at most; `None` where nothing says what the person leaves.
    pub range: Option<(f64, f64)>,
}

impl Undug {
    /// Finds worth going back for, in all.
    pub fn worthwhile(&self) -> f64 {
        self.expected.iter().map(Expected::worthwhile).sum()
    }
}

/// Counts what an answer makes of its signal.
pub fn expected(signal: &Signal, told: &MayBe) -> Expected {
    let share = |weight: Weight| {
        let of = |a: &&super::Answer| a.kind.as_ref().map_or(Weight::Unknown, |k| k.weight()) == weight;
        told.answers.iter().filter(of).map(|a| a.chance).sum()
    };
    let rubbish = told.answers.iter().filter(|a| a.kind.as_ref().is_some_and(|k| k.is_rubbish())).map(|a| a.chance).sum();
    let likeliest = told.answers.first();
    Expected {
        signal: signal.uid,
        at: signal.at,
        likeliest: likeliest.map_or_else(String::new, |a| a.label.clone()),
        chance: likeliest.map_or(0.0, |a| a.chance),
        heavy: share(Weight::Heavy),
        light: share(Weight::Light),
        unknown: share(Weight::Unknown),
        rubbish,
    }
}

/// Answers every signal of a beach; each set-up is learned once.
pub fn undug(book: impl Into<BenchTables>, beach: Uid) -> Undug {
    let book = &book.into();
    if book.signals_of(beach).next().is_none() {
        return Undug::default();
    }
    undug_by(book, beach, &learn_all(book), &Mix::on(book, beach))
}

/// The same where the set-ups have been learned before.
///
/// The mix of finds is what was dug. Where the bench says what the person digs and leaves, each signal is weighed by
/// what lies in the ground; the range runs from what was left for reasons that are not noted to what was dug.
pub fn undug_by(book: &BenchTables, beach: Uid, learned: &BTreeMap<Uid, Learned>, mix: &Mix) -> Undug {
    let mut undug = Undug::default();
    let priors: BTreeMap<Uid, Priors> = learned.iter().map(|(setup, l)| (*setup, Priors::new(book, *setup, l, mix))).collect();
    let heard: Vec<(&Signal, Result<Alike<'_>, BenchError>)> =
        book.signals_of(beach).map(|signal| (signal, alike(book, signal, learned))).collect();
    // Signals that sounded alike are one question.
    let one_of_each: BTreeMap<Alike<'_>, &Signal> =
        heard.iter().filter_map(|(signal, alike)| Some((*alike.as_ref().ok()?, *signal))).collect();
    let answers = answers(one_of_each, learned, &priors);
    let mut ends: Option<(f64, f64)> = priors.values().any(|p| p.ends.is_some()).then_some((0.0, 0.0));
    for (signal, alike) in heard {
        match alike.and_then(|alike| answers.get(&alike).cloned().unwrap_or(Err(BenchError::NoIds))) {
            Ok((told, worth)) => {
                ends = ends.map(|(low, high)| (low + worth.0, high + worth.1));
                undug.expected.push(Expected { signal: signal.uid, at: signal.at, ..told });
            }
            Err(why) => undug.unanswered.push((signal.uid, why)),
        }
    }
    undug.range = ends;
    undug
}

/// By what signals of one set-up are weighed.
struct Priors {
    told: Prior,
    /// What was left for reasons that are not noted, and what was dug; `None` where nothing says what the person leaves.
    ends: Option<[Prior; 2]>,
}

impl Priors {
    fn new(book: &BenchTables, setup: Uid, learned: &Learned, dug: &Mix) -> Self {
        match Habit::on_bench(book, setup) {
            None => Self { told: learned.prior(dug), ends: None },
            Some(habit) => Self {
                told: learned.prior(&habit.in_the_ground(dug)),
                ends: Some([learned.prior(&habit.left(dug)), learned.prior(dug)]),
            },
        }
    }
}

/// How a signal sounded: the set-up, the target IDs, the word and the gauge's step.
type Alike<'s> = (Uid, &'s [i32], Option<usize>, Option<i32>);

/// What a signal counts for, and what it is worth at least and at most.
type Counted = Result<(Expected, (f64, f64)), BenchError>;

/// Answers one signal of each sound. What those of one set-up have in common is worked out before.
fn answers<'s>(
    one_of_each: BTreeMap<Alike<'s>, &'s Signal>,
    learned: &BTreeMap<Uid, Learned>,
    priors: &BTreeMap<Uid, Priors>,
) -> BTreeMap<Alike<'s>, Counted> {
    let mut by_setup: BTreeMap<Uid, Vec<(Alike<'s>, &'s Signal)>> = BTreeMap::new();
    one_of_each.into_iter().for_each(|one| by_setup.entry(one.0.0).or_default().push(one));
    let of_setup = |(setup, signals): (Uid, Vec<(Alike<'s>, &'s Signal)>)| {
        let (Some(learned), Some(priors)) = (learned.get(&setup), priors.get(&setup)) else { return Vec::new() };
        let hearing = Hearing::prepared(learned, signals.iter().map(|s| Sounded::from(s.1)));
        signals.into_par_iter().map(|(alike, signal)| (alike, answer(&hearing, priors, signal))).collect()
    };
    by_setup.into_par_iter().flat_map(of_setup).collect()
}

/// What a signal counts for, and what it is worth at least and at most.
fn answer(hearing: &Hearing<'_>, priors: &Priors, signal: &Signal) -> Counted {
    let heard = hearing.heard(&Sounded::from(signal))?;
    let by = |prior: &Prior| expected(signal, &hearing.learned.weighed_by(&heard, prior));
    let told = by(&priors.told);
    let own = told.worthwhile();
    let ends = priors.ends.iter().flatten().map(|prior| by(prior).worthwhile());
    let worth = ends.fold((own, own), |(low, high), w| (low.min(w), high.max(w)));
    Ok((told, worth))
}

/// How a signal sounded; the set-up is that of its outing.
fn alike<'s>(book: &BenchTables, signal: &'s Signal, learned: &BTreeMap<Uid, Learned>) -> Result<Alike<'s>, BenchError> {
    let setup = signal.outing.and_then(|o| book.outings().get(&o)).and_then(|o| o.setup).ok_or(BenchError::NoOutingSetup)?;
    if !learned.contains_key(&setup) {
        let name = book.setups().get(&setup).map_or_else(|| setup.to_string(), |s| s.name.clone());
        return Err(BenchError::NothingRead { setup: name });
    }
    Ok((setup, &signal.target_ids, signal.steadiness.map(word_index), signal.gauge_step))
}
