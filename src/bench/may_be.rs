//! What a signal may be: Bayes' rule over the kinds that were read, and "none of these".
//!
//! For a kind the mean of the numbers is Student's t about the kind's centre, its variance that of the
//! specimens, of the passes at the signal's depth over their count, and of the centre itself. How steady
//! the signal was enters once: by the word where there is one, else by the numbers' own scatter (a scaled
//! F). "None of these" has an even density over the whole scale. The prior is the person's own mix of
//! finds with half a find added to each answer (Dirichlet with Jeffreys' half; Gelman et al., *Bayesian
//! data analysis*). With many readings, one number and no word this is Gaussian Bayes.

use serde::Serialize;

use super::evidence::word_index;
use super::gauge::StepDepth;
use super::learned::Learned;
use super::likely::likelihood_words;
use super::mix::{CLASSES, Mix, class_of};
use super::signature::Signature;
use super::tables::BenchTables;
use super::{BenchError, StepDepth as Depth};
use crate::book::{Edit, Find, Kind, RecordKind, Signal, Steadiness, Uid, Weight};
use crate::chance::{f_ln_density, student_ln_density};

/// Finds added to each answer before any is counted.
const HALF: f64 = 0.5;
/// Finds below which the mix says little.
const FEW: usize = 30;

/// What was heard.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sounded<'a> {
    /// The target IDs as they came.
    pub target_ids: &'a [i32],
    /// How steady they were.
    pub steadiness: Option<Steadiness>,
    /// The gauge's step.
    pub gauge_step: Option<i32>,
}

/// One thing the signal may be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The kind; `None` for none of those that were read.
    pub kind: Option<Kind>,
    /// How the screen says it.
    pub label: String,
    /// Chance, 0 to 1.
    pub chance: f64,
    /// The words for the chance.
    pub words: &'static str,
    /// Chance before anything was heard: the mix of finds.
    pub before: f64,
}

/// The chance of a class of things, such as gold or rubbish.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClassChance {
    /// The class.
    pub class: &'static str,
    /// Chance, 0 to 1.
    pub chance: f64,
}

/// What a signal may be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MayBe {
    /// The set-up it was heard with.
    pub setup: String,
    /// Every answer, likeliest first; the chances add up to 1.
    pub answers: Vec<Answer>,
    /// The same by class, without "none of these".
    pub classes: Vec<ClassChance>,
    /// Chance that the sea would treat it as heavy.
    pub heavy: f64,
    /// How deep the gauge says it lies, if it says so.
    pub depth: Option<StepDepth>,
    /// Finds behind the mix.
    pub finds: usize,
    /// What to bear in mind.
    pub notes: Vec<String>,
}

impl MayBe {
    /// The answers worth telling: the likeliest down to 2 %, at most `most`, and "none of these" in any case.
    pub fn told(&self, most: usize) -> Vec<&Answer> {
        let ranked = self.answers.iter().enumerate();
        ranked.filter(|(n, a)| (*n < most && a.chance >= 0.02) || a.kind.is_none()).map(|(_, a)| a).collect()
    }
}

impl Learned {
    /// What a signal heard with this set-up may be, for a person who finds `mix`.
    ///
    /// # Errors
    /// [`BenchError::NoIds`] when the signal has no number.
    pub fn may_be(&self, heard: &Sounded<'_>, mix: &Mix) -> Result<MayBe, BenchError> {
        if heard.target_ids.is_empty() {
            return Err(BenchError::NoIds);
        }
        let mut notes: Vec<String> = mix.note.iter().cloned().collect();
        let depth = self.depth_of(heard.gauge_step, &mut notes);
        let depth_m = depth.map_or(self.usual_depth_m, |d| d.depth_m);
        let series = Series::from_numbers(heard);
        let kinds: Vec<&Kind> = self.signatures.iter().map(|s| &s.kind).collect();
        let (counts, none) = mix.among(&kinds);
        let all = counts.iter().sum::<f64>() + none + HALF * (counts.len() + 1) as f64;
        let before = |count: f64| (count + HALF) / all;
        let mut weighed: Vec<(Option<&Signature>, f64, f64)> = self
            .signatures
            .iter()
            .zip(&counts)
            .map(|(s, c)| (Some(s), before(*c), before(*c).ln() + self.log_density(s, &series, depth_m)))
            .collect();
        weighed.push((None, before(none), before(none).ln() + self.log_density_of_none(&series, depth_m)));
        let top = weighed.iter().map(|w| w.2).fold(f64::NEG_INFINITY, f64::max);
        let whole: f64 = weighed.iter().map(|w| (w.2 - top).exp()).sum();
        let mut answers: Vec<Answer> = weighed
            .iter()
            .map(|(signature, before, log)| {
                let chance = (log - top).exp() / whole;
                Answer {
                    kind: signature.map(|s| s.kind.clone()),
                    label: signature.map_or_else(|| "none of these".to_owned(), |s| s.label.clone()),
                    chance,
                    words: likelihood_words(chance),
                    before: *before,
                }
            })
            .collect();
        answers.sort_by(|a, b| b.chance.total_cmp(&a.chance).then(a.kind.cmp(&b.kind)));
        if mix.finds() < FEW {
            notes.push(format!("Only {} finds stand behind the mix, so the ranking rests mostly on the numbers.", mix.finds()));
        }
        if none / all > 0.2 {
            notes.push(format!("{:.0} % of your finds are of kinds that were never read with this set-up.", 100.0 * none / all));
        }
        Ok(MayBe {
            setup: self.name.clone(),
            classes: classes(&answers),
            heavy: heavy(&answers),
            depth,
            finds: mix.finds(),
            answers,
            notes,
        })
    }

    fn depth_of(&self, step: Option<i32>, notes: &mut Vec<String>) -> Option<Depth> {
        let told = match &self.gauge {
            Ok(gauge) => gauge.depth(step?),
            Err(why) => {
                step?;
                Err(why.clone())
            }
        };
        told.map_err(|why| notes.push(format!("Depth not used: {why}."))).ok()
    }

    fn log_density(&self, s: &Signature, series: &Series, depth_m: f64) -> f64 {
        let pass2 = s.pass_spread_at(depth_m, self.usual_depth_m).powi(2);
        let variance = s.specimen_spread.powi(2) + pass2 / series.count + s.centre_variance;
        student_ln_density(series.mean, s.centre, variance, s.df) + series.log_steadiness(&s.steadiness, pass2, s.pass_df)
    }

    fn log_density_of_none(&self, series: &Series, depth_m: f64) -> f64 {
        let wider = (2.0 * self.growth_per_m * (depth_m - self.usual_depth_m)).clamp(-8.0, 8.0).exp();
        // Nothing is known of it, so its scatter may be anything: few degrees of freedom make long tails.
        let steadiness = series.log_steadiness(&self.steadiness, self.passes.value * wider, 3.0);
        -(self.scale.1 - self.scale.0).ln() + steadiness
    }
}

struct Series {
    count: f64,
    mean: f64,
    variance: f64,
    word: Option<Steadiness>,
}

impl Series {
    fn from_numbers(heard: &Sounded<'_>) -> Self {
        let count = heard.target_ids.len() as f64;
        let mean = heard.target_ids.iter().map(|id| f64::from(*id)).sum::<f64>() / count;
        let squares: f64 = heard.target_ids.iter().map(|id| (f64::from(*id) - mean).powi(2)).sum();
        // Numbers all alike still hide the rounding.
        let variance = (squares / (count - 1.0).max(1.0)).max(1.0 / 12.0);
        Self { count, mean, variance, word: heard.steadiness }
    }

    fn log_steadiness(&self, words: &[f64; 3], pass2: f64, df: f64) -> f64 {
        match self.word {
            Some(word) => words[word_index(word)].ln(),
            None if self.count < 2.0 => 0.0,
            None => f_ln_density(self.variance / pass2, self.count - 1.0, df) - pass2.ln(),
        }
    }
}

fn classes(answers: &[Answer]) -> Vec<ClassChance> {
    let chance = |class| {
        let of = |a: &&Answer| a.kind.as_ref().is_some_and(|k| class_of(k, None) == class);
        answers.iter().filter(of).map(|a| a.chance).sum()
    };
    CLASSES.iter().map(|class| ClassChance { class, chance: chance(*class) }).collect()
}

fn heavy(answers: &[Answer]) -> f64 {
    answers.iter().filter(|a| a.kind.as_ref().is_some_and(|k| k.weight() == Weight::Heavy)).map(|a| a.chance).sum()
}

/// What an undug signal of a beach may be, with the set-up of its outing. To ask for many, learn the
/// set-ups once with [`learn_all`](super::learn_all) and ask each [`Learned`].
///
/// # Errors
/// [`BenchError::NoIds`], [`BenchError::NoOutingSetup`] or [`BenchError::NothingRead`].
pub fn may_be(book: impl Into<BenchTables>, beach: Uid, signal: &Signal) -> Result<MayBe, BenchError> {
    let book = &book.into();
    let setup = signal.outing.and_then(|o| book.outings().get(&o)).and_then(|o| o.setup).ok_or(BenchError::NoOutingSetup)?;
    Learned::from_book(book, setup)?.may_be(&Sounded::from(signal), &Mix::on(book, beach))
}

impl<'a> From<&'a Signal> for Sounded<'a> {
    fn from(signal: &'a Signal) -> Self {
        Self { target_ids: &signal.target_ids, steadiness: signal.steadiness, gauge_step: signal.gauge_step }
    }
}

/// The edit that turns a signal into the find it proved to be; see [`find_of`].
pub fn dug(signal: &Signal, what: &str, kind: Kind, depth_m: Option<f64>) -> Edit {
    let find = Find { what: what.to_owned(), kind, depth_m, ..find_of(signal) };
    Edit::Batch(vec![Edit::put(find), Edit::Remove(RecordKind::Signal, signal.uid)])
}

/// The find that a signal becomes once dug, of a kind not known yet. It keeps the place, time and outing, and with
/// it the set-up; the mean of the numbers as its target ID, so that it teaches the set-up; and in its notes the
/// numbers, steadiness and gauge step as they were heard.
pub fn find_of(signal: &Signal) -> Find {
    let n = signal.target_ids.len();
    let mean = signal.target_ids.iter().map(|id| f64::from(*id)).sum::<f64>() / n.max(1) as f64;
    let ids: Vec<String> = signal.target_ids.iter().map(ToString::to_string).collect();
    let mut heard: Vec<String> = (n > 0).then(|| ids.join(" ")).into_iter().collect();
    heard.extend(signal.steadiness.map(|s| s.label().to_owned()));
    heard.extend(signal.gauge_step.map(|s| format!("gauge step {s}")));
    let heard = (!heard.is_empty()).then(|| format!("heard as {}", heard.join(", ")));
    let notes: Vec<String> = [Some(signal.notes.clone()).filter(|n| !n.trim().is_empty()), heard].into_iter().flatten().collect();
    Find {
        outing: signal.outing,
        time: signal.time,
        target_id: (n > 0).then_some(mean),
        notes: notes.join("; "),
        ..Find::new(signal.beach, signal.at, "", Kind::keyed("other"))
    }
}
