//! What a set-up has taught: signatures with shrinkage, and the gauge.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::BenchError;
use super::bell::Bell;
use super::drift::drifts;
use super::evidence::{Evidence, KindEvidence, readings_of};
use super::gauge::DepthGauge;
use super::grounds::ReadOn;
use super::growth::{Growth, Scatter, growth};
use super::kernel::{ASSUMED_TARGETS, Kernel, VIEWS, Widths};
use super::series::{ROUNDING, Series};
use super::shape::{LeftOut, Shape, shapes};
use super::signature::{Signature, passes_of};
use super::tables::BenchTables;
use super::typed::setup_label;
use super::unread::unread;
use crate::book::Uid;
use crate::chance::{Common, Variance, student_quantile};

/// How many imagined readings of the set-up's average steadiness each kind starts with.
const WORDS_LENT: f64 = 2.0;
/// Degrees of freedom granted to a spread that is only assumed.
const ASSUMED_DF: f64 = 3.0;

/// What one set-up has taught.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// The set-up.
    pub setup: Uid,
    /// Its name, told apart from others of that name.
    pub name: String,
    /// The kinds that were read, by rising centre.
    pub signatures: Vec<Signature>,
    /// Mean depth of all that was read, metres.
    pub usual_depth_m: f64,
    /// Lowest and highest number expected at all, with room to either side.
    pub scale: (f64, f64),
    /// The gauge, or why there is none.
    pub gauge: Result<DepthGauge, BenchError>,
    /// Growth of the passes' spread of all kinds together, per metre.
    pub growth_per_m: f64,
    /// Share of steady, jumpy and broken among all bench readings, smoothed.
    pub steadiness: [f64; 3],
    /// Everything it was learned from, the raw readings with it.
    pub evidence: Evidence,
    /// What to bear in mind.
    pub notes: Vec<String>,
    /// The ground on which it answers, where other readings were moved to it.
    pub(super) read_on: Option<ReadOn>,
    /// Variance of passes that the kinds have in common, at the usual depth, with its degrees of freedom.
    pub(super) passes: Variance,
    /// What the kernels have in common.
    pub(super) widths: Widths,
    /// Chances of the kernels' views, over all kinds.
    pub(super) views: [f64; VIEWS],
    /// The chance that a new target is of a kind that was not read, before it is heard.
    pub(super) unread: f64,
}

/// Learns every set-up of a book that has anything to teach.
pub fn learn_all(book: impl Into<BenchTables>) -> BTreeMap<Uid, Learned> {
    let tables = book.into();
    let setups: Vec<Uid> = tables.setups().keys().copied().collect();
    setups.into_par_iter().filter_map(|uid| Some((uid, Learned::from_book(&tables, uid).ok()?))).collect()
}

impl Learned {
    /// Learns a set-up.
    ///
    /// # Errors
    /// [`BenchError::NoSetup`] when the book has no such set-up, [`BenchError::NothingRead`] when nothing was read with it.
    pub fn from_book(book: impl Into<BenchTables>, setup: Uid) -> Result<Self, BenchError> {
        let book = &book.into();
        let Some(record) = book.setups().get(&setup) else {
            return Err(BenchError::NoSetup { name: setup.to_string(), known: format!("{} set-ups", book.setups().len()) });
        };
        let gauge = DepthGauge::learn(readings_of(book, setup));
        let mut learned = Self::from_evidence(Evidence::from_book(book, setup), setup_label(book.setups(), record), gauge)?;
        learned.setup = setup;
        Ok(learned)
    }

    /// Learns from evidence at hand.
    ///
    /// # Errors
    /// [`BenchError::NothingRead`] when no number is in it.
    pub fn from_evidence(evidence: Evidence, name: String, gauge: Result<DepthGauge, BenchError>) -> Result<Self, BenchError> {
        let mut learned = Self::to_answer(evidence, name, gauge)?;
        for signature in &mut learned.signatures {
            (signature.expected, signature.ranges) = passes_of(&signature.shape, learned.scale);
        }
        Ok(learned)
    }

    /// The same as far as answers need it: where a kind's passes are expected is not worked out.
    pub(super) fn to_answer(evidence: Evidence, name: String, gauge: Result<DepthGauge, BenchError>) -> Result<Self, BenchError> {
        let Some((low, high)) = evidence.range() else { return Err(BenchError::NothingRead { setup: name }) };
        let usual_depth_m = evidence.usual_depth_m();
        let as_read: Vec<&KindEvidence> = evidence.kinds.iter().filter(|k| !k.raw.is_empty()).collect();
        let drifts = drifts(&as_read);
        let level = |(kind, drift): (&&KindEvidence, &f64)| (*drift != 0.0).then(|| kind.levelled(*drift, usual_depth_m));
        let levelled: Vec<Option<KindEvidence>> = as_read.iter().zip(&drifts).map(level).collect();
        let read: Vec<&KindEvidence> = as_read.iter().zip(&levelled).map(|(k, level)| level.as_ref().unwrap_or(k)).collect();
        let scatters: Vec<Vec<Scatter>> = read.iter().map(|k| scatters_of(k)).collect();
        let growth = growth(&scatters);
        let own_passes: Vec<Option<Variance>> =
            scatters.iter().zip(&growth.per_kind_per_m).map(|(s, b)| pooled(s, *b, usual_depth_m)).collect();
        let told: Vec<Variance> = own_passes.iter().flatten().copied().collect();
        let mut notes = Vec::new();
        let common_passes = Common::learn(&told).unwrap_or_else(|| {
            notes.push(
                "No target was passed over twice, so how the numbers scatter from pass to pass is not known; \
                 taken as no more than rounding."
                    .to_owned(),
            );
            Common { value: ROUNDING, df: ASSUMED_DF }
        });
        let moderated: Vec<Variance> = own_passes.iter().map(|v| common_passes.moderate(*v)).collect();
        let steadiness = words_of(&evidence.kinds, None);
        let middles = Middles::from_specimens(&read, &growth, &moderated, usual_depth_m);
        let common_specimens = Common::learn(&middles.spreads.iter().flatten().copied().collect::<Vec<_>>());
        if common_specimens.is_none() {
            notes.push(
                "No kind was read on two targets, so how targets of a kind differ is not known; taken to be some three numbers, \
                 or as much as passes over one do."
                    .to_owned(),
            );
        }
        let room = (0.1 * (high - low)).max(5.0);
        let scale = (low - room, high + room);
        let context = Context { common_passes, common_specimens, steadiness, kinds: &middles, usual_depth_m };
        let widths = Widths::learn(&read, usual_depth_m);
        let kernels = Kernel::learn(&read, &widths, scale.1 - scale.0);
        let kinds = read.iter().zip(kernels).enumerate().map(|(n, (kind, kernel))| {
            let bell = |specimens: &[Middle]| context.bell(specimens, growth.per_kind_per_m[n], moderated[n]);
            let left_out = context.left_out(kind, &middles.specimens[n], &bell);
            (bell(&middles.specimens[n]), kernel.drifting(drifts[n]), left_out)
        });
        let shapes = shapes(kinds.collect());
        let views = Shape::mean_views(&shapes);
        let mut signatures: Vec<Signature> =
            read.iter().zip(shapes).enumerate().map(|(n, (k, shape))| context.signature(k, n, shape)).collect();
        signatures.sort_by(|a, b| a.centre.total_cmp(&b.centre).then(a.kind.cmp(&b.kind)));
        if evidence.controls_heard > 0 {
            notes.push(format!(
                "The bare hole gave numbers at {} of {} readings: the ground itself speaks with this set-up.",
                evidence.controls_heard, evidence.controls
            ));
        }
        if evidence.scraped.after.1 > 0 {
            let (before, after) = (evidence.scraped.before, evidence.scraped.after);
            notes.push(format!(
                "With some of the top scraped off, {} of {} readings were heard; of the same targets before, {} of {}.",
                after.0, after.1, before.0, before.1
            ));
        }
        let passes = Variance { value: common_passes.value, df: common_passes.df.clamp(ASSUMED_DF, 200.0) };
        let unread = unread(&read.iter().map(|k| k.specimens.len()).collect::<Vec<_>>());
        Ok(Self {
            setup: Uid::of_content("setup", [name.as_bytes()]),
            name,
            signatures,
            usual_depth_m,
            scale,
            gauge,
            growth_per_m: growth.common_per_m,
            steadiness,
            evidence,
            notes,
            read_on: None,
            passes,
            widths,
            views,
            unread,
        })
    }
}

fn scatters_of(kind: &KindEvidence) -> Vec<Scatter> {
    let repeated = kind.specimens.iter().flat_map(|s| &s.passes).filter(|p| p.count > 1);
    repeated
        .filter_map(|p| {
            let df = (p.count - 1) as f64;
            Some(Scatter { depth_m: p.depth_m?, variance: (p.squares / df).max(ROUNDING), df })
        })
        .collect()
}

/// A kind's variance of passes at the usual depth.
fn pooled(scatters: &[Scatter], growth_per_m: f64, usual_m: f64) -> Option<Variance> {
    let df: f64 = scatters.iter().map(|s| s.df).sum();
    let squares: f64 = scatters.iter().map(|s| s.df * s.variance * (-2.0 * growth_per_m * (s.depth_m - usual_m)).exp()).sum();
    (df > 0.0).then(|| Variance { value: squares / df, df })
}

/// Shares of steady, jumpy and broken: of all kinds with one imagined reading each, or of one kind drawn
/// towards those of all.
fn words_of(kinds: &[KindEvidence], towards: Option<[f64; 3]>) -> [f64; 3] {
    let start = towards.map_or([1.0; 3], |all| all.map(|share| WORDS_LENT * share));
    let counts: [f64; 3] = std::array::from_fn(|n| start[n] + kinds.iter().map(|k| k.words[n] as f64).sum::<f64>());
    let all: f64 = counts.iter().sum();
    counts.map(|c| c / all)
}

/// The middle of a specimen, and the variance that its passes leave it.
type Middle = (f64, f64);

/// The middle of each specimen of each kind, with the variance that its passes leave it, and how a kind's
/// specimens differ beyond that.
struct Middles {
    specimens: Vec<Vec<(f64, f64)>>,
    spreads: Vec<Option<Variance>>,
}

impl Middles {
    fn from_specimens(read: &[&KindEvidence], growth: &Growth, passes: &[Variance], usual_m: f64) -> Self {
        let specimens: Vec<Vec<(f64, f64)>> = read
            .iter()
            .zip(&growth.per_kind_per_m)
            .zip(passes)
            .map(|((kind, b), v)| {
                let precision = |depth: Option<f64>, n: usize| {
                    let wider = (2.0 * b * (depth.unwrap_or(usual_m) - usual_m)).clamp(-8.0, 8.0).exp();
                    n as f64 / (v.value * wider)
                };
                let middle = |s: &super::evidence::Specimen| {
                    let all: f64 = s.passes.iter().map(|p| precision(p.depth_m, p.count)).sum();
                    let sum: f64 = s.passes.iter().map(|p| precision(p.depth_m, p.count) * p.mean).sum();
                    (sum / all, 1.0 / all)
                };
                kind.specimens.iter().map(middle).collect()
            })
            .collect();
        let spreads = specimens.iter().map(|m| between_specimens(m)).collect();
        Self { specimens, spreads }
    }

    /// Mean and variance of the kinds' own middles: what is known of a centre before the kind is read.
    fn between(&self) -> (f64, f64) {
        let own: Vec<f64> = self.specimens.iter().map(|m| m.iter().map(|s| s.0).sum::<f64>() / m.len().max(1) as f64).collect();
        let n = own.len() as f64;
        let mean = own.iter().sum::<f64>() / n;
        let variance = own.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
        (mean, if own.len() > 2 && variance > 0.0 { variance } else { f64::INFINITY })
    }
}

/// How specimens differ beyond what their passes leave open; `None` for fewer than two.
fn between_specimens(middles: &[(f64, f64)]) -> Option<Variance> {
    let n = middles.len() as f64;
    if middles.len() < 2 {
        return None;
    }
    let mean = middles.iter().map(|m| m.0).sum::<f64>() / n;
    let all = middles.iter().map(|m| (m.0 - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let from_passes = middles.iter().map(|m| m.1).sum::<f64>() / n;
    Some(Variance { value: (all - from_passes).max(ROUNDING), df: n - 1.0 })
}

struct Context<'a> {
    common_passes: Common,
    common_specimens: Option<Common>,
    steadiness: [f64; 3],
    kinds: &'a Middles,
    usual_depth_m: f64,
}

impl Context<'_> {
    /// The variance of specimens, theirs drawn towards what the kinds have in common, and the share that is lent.
    fn specimen_variance(&self, own: Option<Variance>) -> (Variance, f64) {
        let (spread, lent) = match self.common_specimens {
            Some(common) => (common.moderate(own), common.lent(own.map_or(0.0, |v| v.df))),
            None => (Variance { value: self.common_passes.value.max(ASSUMED_TARGETS.powi(2)), df: ASSUMED_DF }, 1.0),
        };
        (Variance { df: spread.df.max(ASSUMED_DF), ..spread }, lent)
    }

    /// The bell curve about some specimens.
    fn bell(&self, middles: &[(f64, f64)], growth_per_m: f64, passes: Variance) -> Bell {
        let (targets, _) = self.specimen_variance(between_specimens(middles));
        let (mean, variance) = self.kinds.between();
        let precision: f64 = middles.iter().map(|m| 1.0 / (targets.value + m.1)).sum::<f64>() + 1.0 / variance;
        let sum: f64 = middles.iter().map(|m| m.0 / (targets.value + m.1)).sum();
        let passes = Variance { df: passes.df.clamp(ASSUMED_DF, 200.0), ..passes };
        Bell { centre: (sum + mean / variance) / precision, centre_variance: 1.0 / precision, targets, passes, growth_per_m }
    }

    /// Each specimen of a kind left out in turn. Those with one number are alike where the number is.
    fn left_out(&self, kind: &KindEvidence, middles: &[Middle], bell: &dyn Fn(&[Middle]) -> Bell) -> Vec<LeftOut> {
        if kind.specimens.len() < 2 {
            return Vec::new();
        }
        let mut alike: BTreeMap<i64, (usize, usize)> = BTreeMap::new();
        for (n, specimen) in kind.specimens.iter().enumerate() {
            match specimen.passes.as_slice() {
                [one] if one.count == 1 => alike.entry(one.mean.round() as i64).or_insert((n, 0)).1 += 1,
                _ => {}
            }
        }
        let single = alike.into_values();
        let several = (0..kind.specimens.len()).filter(|n| kind.specimens[*n].passes.iter().map(|p| p.count).sum::<usize>() > 1);
        let out = |(n, alike): (usize, usize)| {
            let specimen = &kind.specimens[n];
            let rest: Vec<Middle> = [&middles[..n], &middles[n + 1..]].concat();
            let beyond_m = |depth_m: Option<f64>| depth_m.map_or(0.0, |d| d - self.usual_depth_m);
            LeftOut {
                readings: specimen
                    .passes
                    .iter()
                    .map(|p| (beyond_m(p.depth_m), Series::from_numbers(p.numbers.clone())))
                    .collect(),
                points: specimen.points(),
                bell: bell(&rest),
                alike: alike as f64,
            }
        };
        single.chain(several.map(|n| (n, 1))).map(out).collect()
    }

    fn signature(&self, kind: &KindEvidence, n: usize, shape: Shape) -> Signature {
        let bell = shape.bell;
        let (_, lent) = self.specimen_variance(self.kinds.spreads[n]);
        let reach = student_quantile(0.975, bell.targets.df) * bell.centre_variance.sqrt();
        let specimens = kind.specimens.len();
        Signature {
            kind: kind.kind.clone(),
            label: kind.kind.label().to_owned(),
            centre: bell.centre,
            centre_interval: (bell.centre - reach, bell.centre + reach),
            pass_spread: bell.passes.value.sqrt(),
            specimen_spread: bell.targets.value.sqrt(),
            growth_per_m: bell.growth_per_m,
            drift_per_10cm: 0.1 * shape.drift_per_m(),
            wider_per_10cm: (0.1 * bell.growth_per_m).exp(),
            expected: (f64::NAN, f64::NAN),
            ranges: Vec::new(),
            readings: kind.readings,
            unheard: kind.unheard,
            specimens,
            finds: kind.finds,
            passes: kind.raw.len(),
            steadiness: words_of(std::slice::from_ref(kind), Some(self.steadiness)),
            steadiness_noted: kind.words.iter().sum(),
            lent,
            care: (specimens < 3).then(|| {
                let many = if specimens == 1 { "one target".to_owned() } else { format!("{specimens} targets") };
                format!("read on {many} only, so how others of its kind differ is taken from the other kinds")
            }),
            shape,
        }
    }
}
