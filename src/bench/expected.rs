//! Signals that were heard and left, as finds still to be made.
//!
//! A signal that is dug is one find; before that it is one find of unknown kind. [`undug`] answers every
//! signal of a beach with the set-up of its outing and shares that one find out by what it may be: heavy,
//! light or of unknown weight, and how likely it is rubbish or iron, which nobody goes back for.

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::Serialize;

use super::habit::Habit;
use super::may_be::{MayBe, Sounded};
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
    let signals: Vec<&Signal> = book.signals_of(beach).collect();
    let mixes: BTreeMap<Uid, [Mix; 3]> = learned
        .keys()
        .filter_map(|setup| Habit::on_bench(book, *setup).map(|h| (*setup, [h.in_the_ground(mix), h.left(mix), mix.clone()])))
        .collect();
    let told = |signal: &&Signal| match heard_with(book, signal, learned) {
        Ok((setup, learned)) => answer(signal, learned, mixes.get(&setup), mix).map_err(|why| (signal.uid, why)),
        Err(why) => Err((signal.uid, why)),
    };
    let mut ends: Option<(f64, f64)> = (!mixes.is_empty()).then_some((0.0, 0.0));
    for told in signals.par_iter().map(told).collect::<Vec<_>>() {
        match told {
            Ok((expected, worth)) => {
                ends = ends.map(|(low, high)| (low + worth.0, high + worth.1));
                undug.expected.push(expected);
            }
            Err(unanswered) => undug.unanswered.push(unanswered),
        }
    }
    undug.range = ends;
    undug
}

/// What a signal counts for, and what it is worth at least and at most.
fn answer(signal: &Signal, learned: &Learned, mixes: Option<&[Mix; 3]>, mix: &Mix) -> Result<(Expected, (f64, f64)), BenchError> {
    let heard = learned.heard(&Sounded::from(signal))?;
    let by = |mix: &Mix| expected(signal, &learned.weighed_by(&heard, mix));
    let Some([ground, left, dug]) = mixes else {
        let one = by(mix);
        let worth = one.worthwhile();
        return Ok((one, (worth, worth)));
    };
    let told = by(ground);
    let worths = [told.worthwhile(), by(left).worthwhile(), by(dug).worthwhile()];
    let low = worths.iter().copied().fold(f64::INFINITY, f64::min);
    let high = worths.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Ok((told, (low, high)))
}

/// The set-up of a signal's outing, and what it has learned.
fn heard_with<'l>(
    book: &BenchTables,
    signal: &Signal,
    learned: &'l BTreeMap<Uid, Learned>,
) -> Result<(Uid, &'l Learned), BenchError> {
    let setup = signal.outing.and_then(|o| book.outings().get(&o)).and_then(|o| o.setup).ok_or(BenchError::NoOutingSetup)?;
    let name = || book.setups().get(&setup).map_or_else(|| setup.to_string(), |s| s.name.clone());
    learned.get(&setup).map(|l| (setup, l)).ok_or_else(|| BenchError::NothingRead { setup: name() })
}
