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
use super::left::LEAST;
use super::may_be::{Heard, MayBe, Prior, Sounded};
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
    /// Whether the bench says what the person digs and leaves, and not the signals alone.
    pub from_bench: bool,
}

impl Undug {
    /// Finds worth going back for, in all.
    pub fn worthwhile(&self) -> f64 {
        // A sum of nothing is -0.
        self.expected.iter().map(Expected::worthwhile).sum::<f64>() + 0.0
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
/// The mix of finds is what was dug. What lies in the ground is that and what was left, which is shared out by how it
/// sounded (`Prior::with_left`); where the bench says what the person digs and leaves, what was dug is first corrected by
/// that. The range runs from what was left for reasons that are not noted to what was dug.
pub fn undug_by(book: &BenchTables, beach: Uid, learned: &BTreeMap<Uid, Learned>, mix: &Mix) -> Undug {
    let mut undug = Undug::default();
    let sounded: Vec<(&Signal, Result<Alike<'_>, BenchError>)> =
        book.signals_of(beach).map(|signal| (signal, alike(book, signal, learned))).collect();
    let mut by_setup: BTreeMap<Uid, BTreeMap<Alike<'_>, (&Signal, f64)>> = BTreeMap::new();
    for (signal, alike) in sounded.iter().filter_map(|(signal, alike)| Some((*signal, *alike.as_ref().ok()?))) {
        by_setup.entry(alike.0).or_default().entry(alike).or_insert((signal, 0.0)).1 += 1.0;
    }
    let answers: Vec<OfSetup<'_>> = by_setup
        .into_par_iter()
        .filter_map(|(setup, sounds)| Some(OfSetup::new(learned.get(&setup)?, Habit::on_bench(book, setup), mix, sounds)))
        .collect();
    undug.from_bench = answers.iter().any(|a| a.from_bench);
    undug.range = answers
        .iter()
        .any(|a| a.ranged)
        .then(|| answers.iter().map(|a| a.ends).fold((0.0, 0.0), |(low, high), ends| (low + ends.0, high + ends.1)));
    let told: BTreeMap<Alike<'_>, Counted> = answers.into_iter().flat_map(|a| a.told).collect();
    for (signal, alike) in sounded {
        match alike.and_then(|alike| told.get(&alike).cloned().unwrap_or(Err(BenchError::NoIds))) {
            Ok(one) => undug.expected.push(Expected { signal: signal.uid, at: signal.at, ..one }),
            Err(why) => undug.unanswered.push((signal.uid, why)),
        }
    }
    undug
}

/// How a signal sounded: the set-up, the target IDs, the word and the gauge's step.
type Alike<'s> = (Uid, &'s [i32], Option<usize>, Option<i32>);

/// What a signal counts for.
type Counted = Result<Expected, BenchError>;

/// What the signals of one set-up count for, one of each sound.
struct OfSetup<'s> {
    told: Vec<(Alike<'s>, Counted)>,
    /// Finds worth going back for, by the mix that makes least of them and by that which makes most.
    ends: (f64, f64),
    /// Whether anything says what the person leaves, and whether the bench does.
    ranged: bool,
    from_bench: bool,
}

impl<'s> OfSetup<'s> {
    /// Signals that sounded alike are one question; each comes with how many there are.
    fn new(learned: &Learned, habit: Option<Habit>, dug: &Mix, sounds: BTreeMap<Alike<'s>, (&'s Signal, f64)>) -> Self {
        let unchosen = learned.unchosen(sounds.values().map(|(_, many)| many).sum());
        let learned = unchosen.as_ref().unwrap_or(learned);
        let here = learned.on(None);
        let learned = here.as_ref();
        let hearing = Hearing::prepared(learned, sounds.values().map(|(s, _)| Sounded::from(*s)));
        let heard: Vec<(Alike<'s>, &Signal, f64, Result<Heard, BenchError>)> = sounds
            .into_par_iter()
            .map(|(alike, (signal, many))| (alike, signal, many, hearing.heard(&Sounded::from(signal))))
            .collect();
        let left: Vec<(&Heard, f64)> = heard.iter().filter_map(|(_, _, many, h)| Some((h.as_ref().ok()?, *many))).collect();
        let ground = learned.prior(&habit.as_ref().map_or_else(|| dug.clone(), |h| h.in_the_ground(dug)));
        let prior = ground.with_left(&left);
        // The least and the most that the same signals count for by other mixes.
        let unnoted = habit.as_ref().map(|h| learned.prior(&h.left(dug)));
        let others: Vec<Prior> = std::iter::once(learned.prior(dug)).chain(unnoted).collect();
        let answered = heard.into_par_iter().map(|(alike, signal, many, heard)| {
            let by = |prior: &Prior| Ok(expected(signal, &learned.weighed_by(heard.as_ref().map_err(Clone::clone)?, prior)));
            let told: Counted = by(&prior);
            let worth = |one: &Counted| one.as_ref().map_or(0.0, |e| many * e.worthwhile());
            let worths: Vec<f64> = std::iter::once(worth(&told)).chain(others.iter().map(|p| worth(&by(p)))).collect();
            ((alike, told), worths)
        });
        let (told, worths): (Vec<_>, Vec<Vec<f64>>) = answered.unzip();
        let sums: Vec<f64> = (0..=others.len()).map(|n| worths.iter().filter_map(|w| w.get(n)).sum()).collect();
        let low = sums.iter().copied().reduce(f64::min).unwrap_or(0.0);
        let high = sums.iter().copied().reduce(f64::max).unwrap_or(0.0);
        Self { told, ends: (low, high), ranged: habit.is_some() || prior.tells_of_left(), from_bench: habit.is_some() }
    }
}

impl Learned {
    /// The set-up as its bench alone teaches it, where many signals were left by their sound: those that were dug are no sample
    /// of their kind then. `None` where there is nothing to leave out.
    pub(super) fn unchosen(&self, left: f64) -> Option<Self> {
        let evidence = self.evidence.without_chosen().filter(|_| left >= LEAST)?;
        Self::to_answer(evidence, self.name.clone(), self.gauge.clone()).ok()
    }
}

/// How a signal sounded; the set-up is that of its outing.
fn alike<'s>(book: &BenchTables, signal: &'s Signal, learned: &BTreeMap<Uid, Learned>) -> Result<Alike<'s>, BenchError> {
    let setup = signal.outing.and_then(|o| book.outings().get(&o)).and_then(|o| o.setup).ok_or(BenchError::NoOutingSetup)?;
    if !learned.contains_key(&setup) {
        let name = book.setups().get(&setup).map_or_else(|| setup.to_string(), |s| s.name.clone());
        return Err(BenchError::NothingRead { setup: name });
    }
    if signal.target_ids.is_empty() {
        return Err(BenchError::NoIds);
    }
    Ok((setup, &signal.target_ids, signal.steadiness.map(word_index), signal.gauge_step))
}
