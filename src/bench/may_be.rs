//! What a signal may be: Bayes' rule over the kinds that were read, and something not on the bench.
//!
//! What a kind makes of the numbers is its [`Shape`](super::shape::Shape): the chance of the whole series at the
//! signal's depth. The word for how steady it was counts beside them. What is not on the bench has an even density
//! over the whole scale. The prior is the person's own mix of finds with half a find for each answer added
//! (Dirichlet with Jeffreys' half; Gelman et al., *Bayesian data analysis*), shared out between the kinds and what is
//! not on the bench by how the targets that were read fall on kinds ([`unread`](super::unread)). With many readings, one number and
//! no word this is Gaussian Bayes.

use serde::Serialize;

use super::bell::scatter_ln_density;
use super::evidence::word_index;
use super::gauge::StepDepth;
use super::grounds::ReadOn;
use super::kernel::{Fresh, ln_mean_of_urn};
use super::learned::Learned;
use super::likely::likelihood_words;
use super::mix::{CLASSES, Mix, class_of};
use super::series::Series;
use super::shape::ln_mean;
use super::signature::Signature;
use super::tables::BenchTables;
use super::{BenchError, StepDepth as Depth};
use crate::book::{Edit, Find, Ground, Kind, RecordKind, Signal, Steadiness, Uid, Weight};

/// Finds added to each answer before any is counted.
const HALF: f64 = 0.5;
/// Finds below which the mix says little.
const FEW: usize = 30;

/// What an answer is called that is none of the kinds that were read.
pub const NOT_ON_THE_BENCH: &str = "something not on the bench";

/// Square of the number of targets from which what was heard is believed by half.
const FEW_SAY: f64 = 6.0;

/// Kinds, targets and numbers below which too little is known to go by.
const FEW_KINDS: usize = 3;
const FEW_TARGETS: usize = 8;
const FEW_NUMBERS: usize = 24;

/// What was heard.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sounded<'a> {
    /// The target IDs as they came.
    pub target_ids: &'a [i32],
    /// How steady they were.
    pub steadiness: Option<Steadiness>,
    /// The gauge's step.
    pub gauge_step: Option<i32>,
    /// The ground it was heard on, where it is another than the set-up notes, or the set-up notes none.
    pub ground: Option<Ground>,
}

/// One thing the signal may be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The kind; `None` for something not on the bench.
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
    /// The same by class, without what is not on the bench.
    pub classes: Vec<ClassChance>,
    /// Chance that the sea would treat it as heavy.
    pub heavy: f64,
    /// How deep the gauge says it lies, if it says so.
    pub depth: Option<StepDepth>,
    /// The ground it was heard on and what was made of it; `None` where none is known, or where there is but one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ground: Option<ReadOn>,
    /// Whether there are not enough known targets to go by; the first of the notes says so.
    pub too_little: bool,
    /// Finds behind the mix.
    pub finds: usize,
    /// What to bear in mind.
    pub notes: Vec<String>,
}

/// What a signal says of each kind, before it is weighed by what a person finds.
pub(super) struct Heard {
    /// Logarithms of the densities of what was heard, kind by kind, in order of the signatures.
    pub(super) kinds: Vec<f64>,
    /// The same of something not on the bench.
    pub(super) none: f64,
    depth: Option<StepDepth>,
    /// Why the gauge was not used, if it was not.
    notes: Vec<String>,
}

/// What is known of a signal before it is heard, of one person with one set-up.
pub(super) struct Prior {
    /// Chances of the kinds, in order of the signatures.
    pub(super) kinds: Vec<f64>,
    /// That of something not on the bench.
    pub(super) none: f64,
    /// Finds behind these, with those that were lent.
    pub(super) weight: f64,
    /// Signals behind these that were left.
    pub(super) left: f64,
    finds: usize,
    too_little: bool,
    first_notes: Vec<String>,
    last_notes: Vec<String>,
}

impl MayBe {
    /// The answers worth telling: the likeliest down to 2 %, at most `most`, and what is not on the bench in any case.
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
        let here = self.on(heard.ground);
        Ok(here.weighed_by(&here.heard(heard)?, &here.prior(mix)))
    }

    /// What a signal says whatever the person finds.
    ///
    /// # Errors
    /// [`BenchError::NoIds`] when the signal has no number.
    pub(super) fn heard(&self, heard: &Sounded<'_>) -> Result<Heard, BenchError> {
        self.heard_by(heard, |kind, n, beyond_m| self.signatures[kind].shape.fresh(f64::from(heard.target_ids[n]), beyond_m))
    }

    /// The same where the densities of a number as the first of a target come from elsewhere: by the place of the kind
    /// among the signatures, that of the number in the signal, and how far below the usual depth it lies, metres.
    ///
    /// # Errors
    /// [`BenchError::NoIds`] when the signal has no number.
    pub(super) fn heard_by(&self, heard: &Sounded<'_>, fresh: impl Fn(usize, usize, f64) -> Fresh) -> Result<Heard, BenchError> {
        if heard.target_ids.is_empty() {
            return Err(BenchError::NoIds);
        }
        let (depth, notes) = self.depth_of(heard.gauge_step);
        let beyond_m = self.beyond_m(depth);
        let series = Series::from(heard);
        let of = |(kind, s): (usize, &Signature)| {
            let fresh = |n: usize| fresh(kind, n, beyond_m);
            s.shape.ln_density_by(&series, beyond_m, fresh) + word_ln(&series, &s.steadiness)
        };
        let believed = self.believed();
        let kinds = self.signatures.iter().enumerate().map(|s| believed * of(s)).collect();
        Ok(Heard { kinds, none: believed * self.log_density_of_none(&series, beyond_m), depth, notes })
    }

    /// What is known before a signal is heard, of a person who finds `mix`.
    pub(super) fn prior(&self, mix: &Mix) -> Prior {
        let kinds: Vec<&Kind> = self.signatures.iter().map(|s| &s.kind).collect();
        let (counts, none) = mix.among(&kinds);
        let lent = HALF * (counts.len() + 1) as f64;
        let all = counts.iter().sum::<f64>() + none + lent;
        let unread = lent * self.unread;
        let each = (lent - unread) / counts.len() as f64;
        let mut notes = Vec::new();
        if mix.finds() < FEW {
            notes.push(format!("Only {} finds stand behind the mix, so the ranking rests mostly on the numbers.", mix.finds()));
        }
        if none / all > 0.2 {
            notes.push(format!("{:.0} % of your finds are of kinds that were never read with this set-up.", 100.0 * none / all));
        }
        let too_little = self.too_little();
        Prior {
            kinds: counts.into_iter().map(|count| (count + each) / all).collect(),
            none: (none + unread) / all,
            weight: all,
            left: 0.0,
            finds: mix.finds(),
            too_little: too_little.is_some(),
            first_notes: too_little.into_iter().chain(mix.note.clone()).collect(),
            last_notes: notes,
        }
    }

    /// What a signal may be, by what it says and by what was known before.
    pub(super) fn weighed_by(&self, heard: &Heard, prior: &Prior) -> MayBe {
        let kinds = self.signatures.iter().zip(prior.kinds.iter().zip(&heard.kinds));
        let mut weighed: Vec<(Option<&Signature>, f64, f64)> =
            kinds.map(|(s, (before, density))| (Some(s), *before, before.ln() + density)).collect();
        weighed.push((None, prior.none, prior.none.ln() + heard.none));
        let top = weighed.iter().map(|w| w.2).fold(f64::NEG_INFINITY, f64::max);
        let whole: f64 = weighed.iter().map(|w| (w.2 - top).exp()).sum();
        let mut answers: Vec<Answer> = weighed
            .iter()
            .map(|(signature, before, log)| {
                let chance = (log - top).exp() / whole;
                Answer {
                    kind: signature.map(|s| s.kind.clone()),
                    label: signature.map_or_else(|| NOT_ON_THE_BENCH.to_owned(), |s| s.label.clone()),
                    chance,
                    // The words of a scale of certainty would say more than such a bench can.
                    words: if prior.too_little { "too few known targets to say" } else { likelihood_words(chance) },
                    before: *before,
                }
            })
            .collect();
        answers.sort_by(|a, b| b.chance.total_cmp(&a.chance).then(a.kind.cmp(&b.kind)));
        let ground = self.read_on.as_ref().map(ReadOn::said);
        MayBe {
            setup: self.name.clone(),
            classes: classes(&answers),
            heavy: heavy(&answers),
            depth: heard.depth,
            ground: self.read_on.clone(),
            too_little: prior.too_little,
            finds: prior.finds,
            answers,
            notes: prior.first_notes.iter().chain(&ground).chain(&heard.notes).chain(&prior.last_notes).cloned().collect(),
        }
    }

    /// How far what was heard is believed, as a power of its density: shapes learned from few targets say too much (a power
    /// likelihood; Grünwald & van Ommen 2017, *Inconsistency of Bayesian inference for misspecified linear models, and a
    /// proposal for repairing it*, from memory). How much so was tuned on simulated benches.
    fn believed(&self) -> f64 {
        let targets = (self.targets() as f64).powi(2);
        targets / (targets + FEW_SAY)
    }

    /// Targets and finds that were read.
    pub fn targets(&self) -> usize {
        self.signatures.iter().map(|s| s.specimens).sum()
    }

    /// The sentence that there are not enough known targets to go by, if there are not.
    pub fn too_little(&self) -> Option<String> {
        let (kinds, targets) = (self.signatures.len(), self.targets());
        let numbers: usize = self.signatures.iter().map(|s| s.passes).sum();
        if kinds >= FEW_KINDS && targets >= FEW_TARGETS && numbers >= FEW_NUMBERS {
            return None;
        }
        let many = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
        Some(format!(
            "Not enough known targets: {} of {} with {}. Read at least {FEW_TARGETS} of {FEW_KINDS} kinds, {FEW_NUMBERS} numbers in all, \
             before you go by this.",
            many(targets, "target"),
            many(kinds, "kind"),
            many(numbers, "number")
        ))
    }

    /// The depth at a gauge step, and why it was not used, if it was not.
    fn depth_of(&self, step: Option<i32>) -> (Option<Depth>, Vec<String>) {
        let Some(step) = step else { return (None, Vec::new()) };
        match self.gauge.as_ref().map_err(Clone::clone).and_then(|gauge| gauge.depth(step)) {
            Ok(depth) => (Some(depth), Vec::new()),
            Err(why) => (None, vec![format!("Depth not used: {why}.")]),
        }
    }

    fn beyond_m(&self, depth: Option<Depth>) -> f64 {
        depth.map_or(0.0, |d| d.depth_m - self.usual_depth_m)
    }

    /// How far below the usual depth a signal at a gauge step is taken to lie, metres.
    pub(super) fn beyond_at(&self, step: Option<i32>) -> f64 {
        self.beyond_m(self.depth_of(step).0)
    }

    /// Nothing is known of what was never read: it may lie anywhere on the scale and scatter or jump as it will.
    fn log_density_of_none(&self, series: &Series, beyond_m: f64) -> f64 {
        let even = 1.0 / (self.scale.1 - self.scale.0);
        let wider = (2.0 * self.growth_per_m * beyond_m).clamp(-8.0, 8.0).exp();
        // Few degrees of freedom make long tails.
        let steady = even.ln() - 0.5 * series.count.ln() + scatter_ln_density(series, self.passes.value * wider, 3.0);
        let jumps = ln_mean_of_urn(&series.numbers, self.widths.passes_at(beyond_m), &self.views, |_| [even; 3]);
        ln_mean(&[steady, jumps], &[0.5, 0.5]) + word_ln(series, &self.steadiness)
    }
}

/// What the word for how steady it was tells. Where numbers were noted as well, half of that: they tell the same.
fn word_ln(series: &Series, words: &[f64; 3]) -> f64 {
    let told = series.word.map_or(0.0, |word| words[word_index(word)].ln());
    if series.count > 1.0 { 0.5 * told } else { told }
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

impl From<&Sounded<'_>> for Series {
    fn from(heard: &Sounded<'_>) -> Self {
        let numbers = heard.target_ids.iter().map(|id| f64::from(*id)).collect();
        Self { word: heard.steadiness, ..Self::from_numbers(numbers) }
    }
}

impl<'a> From<&'a Signal> for Sounded<'a> {
    fn from(signal: &'a Signal) -> Self {
        // On what ground is the set-up's to say.
        Self { target_ids: &signal.target_ids, steadiness: signal.steadiness, gauge_step: signal.gauge_step, ground: None }
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
