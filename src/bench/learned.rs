//! What a set-up has taught: signatures with shrinkage, and the gauge.

use std::collections::BTreeMap;

use super::BenchError;
use super::evidence::{Evidence, KindEvidence, readings_of};
use super::gauge::DepthGauge;
use super::growth::{Growth, Scatter, growth};
use super::signature::Signature;
use super::tables::BenchTables;
use super::typed::setup_label;
use crate::book::Uid;
use crate::chance::{Common, Variance, student_quantile};

/// Variance that rounding to whole numbers adds (Sheppard): no scatter is believed to be smaller.
const ROUNDING: f64 = 1.0 / 12.0;
/// How many imagined readings of the set-up's average steadiness each kind starts with.
const WORDS_LENT: f64 = 2.0;
/// Degrees of freedom granted to a spread that is only assumed.
const ASSUMED_DF: f64 = 3.0;
/// Depth taken for usual where none was ever noted, metres.
const DEPTH_M: f64 = 0.1;

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
    /// Variance of passes that the kinds have in common, at the usual depth, with its degrees of freedom.
    pub(super) passes: Variance,
}

/// Learns every set-up of a book that has anything to teach.
pub fn learn_all(book: impl Into<BenchTables>) -> BTreeMap<Uid, Learned> {
    let tables = book.into();
    tables.setups().keys().filter_map(|uid| Some((*uid, Learned::from_book(&tables, *uid).ok()?))).collect()
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
        let Some((low, high)) = evidence.range() else { return Err(BenchError::NothingRead { setup: name }) };
        let usual_depth_m = usual_depth(&evidence);
        let read: Vec<&KindEvidence> = evidence.kinds.iter().filter(|k| !k.raw.is_empty()).collect();
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
                "No kind was read on two specimens, so how specimens of a kind differ is not known; \
                 taken to be as much as passes over one do."
                    .to_owned(),
            );
        }
        let context = Context { common_passes, common_specimens, steadiness, kinds: &middles };
        let mut signatures: Vec<Signature> =
            read.iter().enumerate().map(|(n, k)| context.signature(k, n, growth.per_kind_per_m[n], moderated[n])).collect();
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
        let room = (0.1 * (high - low)).max(5.0);
        let passes = Variance { value: common_passes.value, df: common_passes.df.clamp(ASSUMED_DF, 200.0) };
        Ok(Self {
            setup: Uid::of_content("setup", [name.as_bytes()]),
            name,
            signatures,
            usual_depth_m,
            scale: (low - room, high + room),
            gauge,
            growth_per_m: growth.common_per_m,
            steadiness,
            evidence,
            notes,
            passes,
        })
    }
}

fn usual_depth(evidence: &Evidence) -> f64 {
    let depths: Vec<f64> = evidence.kinds.iter().flat_map(|k| k.raw.iter().filter_map(|r| r.0)).collect();
    if depths.is_empty() { DEPTH_M } else { depths.iter().sum::<f64>() / depths.len() as f64 }
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
        let spread = |middles: &Vec<(f64, f64)>| {
            let n = middles.len() as f64;
            if middles.len() < 2 {
                return None;
            }
            let mean = middles.iter().map(|m| m.0).sum::<f64>() / n;
            let all = middles.iter().map(|m| (m.0 - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let from_passes = middles.iter().map(|m| m.1).sum::<f64>() / n;
            Some(Variance { value: (all - from_passes).max(ROUNDING), df: n - 1.0 })
        };
        let spreads = specimens.iter().map(spread).collect();
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

struct Context<'a> {
    common_passes: Common,
    common_specimens: Option<Common>,
    steadiness: [f64; 3],
    kinds: &'a Middles,
}

impl Context<'_> {
    fn signature(&self, kind: &KindEvidence, n: usize, growth_per_m: f64, passes: Variance) -> Signature {
        let middles = &self.kinds.specimens[n];
        let own = self.kinds.spreads[n];
        let (spread, lent) = match self.common_specimens {
            Some(common) => (common.moderate(own), common.lent(own.map_or(0.0, |v| v.df))),
            None => (Variance { value: self.common_passes.value, df: ASSUMED_DF }, 1.0),
        };
        let df = spread.df.max(ASSUMED_DF);
        let (mean, variance) = self.kinds.between();
        let precision: f64 = middles.iter().map(|m| 1.0 / (spread.value + m.1)).sum::<f64>() + 1.0 / variance;
        let sum: f64 = middles.iter().map(|m| m.0 / (spread.value + m.1)).sum();
        let centre = (sum + mean / variance) / precision;
        let centre_variance = 1.0 / precision;
        let reach = student_quantile(0.975, df) * centre_variance.sqrt();
        let one_pass = student_quantile(0.95, df) * (spread.value + passes.value + centre_variance).sqrt();
        let specimens = kind.specimens.len();
        Signature {
            kind: kind.kind.clone(),
            label: kind.kind.label().to_owned(),
            centre,
            centre_interval: (centre - reach, centre + reach),
            pass_spread: passes.value.sqrt(),
            specimen_spread: spread.value.sqrt(),
            growth_per_m,
            wider_per_10cm: (0.1 * growth_per_m).exp(),
            expected: (centre - one_pass, centre + one_pass),
            readings: kind.readings,
            unheard: kind.unheard,
            specimens,
            finds: kind.finds,
            passes: kind.raw.len(),
            steadiness: words_of(std::slice::from_ref(kind), Some(self.steadiness)),
            lent,
            care: (specimens < 3).then(|| {
                let many = if specimens == 1 { "one specimen".to_owned() } else { format!("{specimens} specimens") };
                format!("read on {many}: how specimens differ is lent by the other kinds")
            }),
            df,
            centre_variance,
            pass_df: passes.df.clamp(ASSUMED_DF, 200.0),
        }
    }
}
