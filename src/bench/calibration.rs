//! The person's own readings, each left out in turn and answered by the rest.
//!
//! A find is left out of the evidence *and* of the mix, and its number is answered as if it were a signal.
//! A bench target is left out with all its readings, as another depth of the very same target would give it
//! away; what one buries is no sample of what lies on the beach, so its readings are answered with every
//! kind as likely as any other, each on the ground noted with it. A kind that is then known from nothing else is not on the bench.
//! O(n²) in the finds, so of many only an even choice is left out.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::evidence::{Evidence, finds_with, readings_of};
use super::gauge::DepthGauge;
use super::learned::Learned;
use super::may_be::{MayBe, Sounded};
use super::mix::Mix;
use super::reliability::Reliability;
use super::tables::BenchTables;
use crate::book::{BenchReading, Find, Ground, Kind, Uid};

/// Finds left out at most.
const MOST: usize = 300;

/// How well a set-up answers what it was not taught.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Calibration {
    /// Finds of the beach, left out one by one, weighed by the other finds.
    pub finds: Reliability,
    /// Readings of bench targets, each target left out whole, every kind as likely as any other.
    pub bench: Reliability,
    /// Finds with a number that there were to choose from.
    pub of_finds: usize,
}

impl Calibration {
    /// Leaves out each find of a beach and each bench target of a set-up in turn. Without a second kind or a
    /// second specimen there is little to answer with, and the tables say so by being short.
    pub fn leaving_out(book: impl Into<BenchTables>, beach: Uid, setup: Uid) -> Self {
        let book = &book.into();
        let readings: Vec<&BenchReading> = readings_of(book, setup).collect();
        let finds: Vec<(&Find, f64)> = finds_with(book, setup).collect();
        let ground = book.setups().get(&setup).and_then(|s| s.ground);
        let here: Vec<usize> = (0..finds.len()).filter(|n| finds[*n].0.beach == beach && known(finds[*n].0)).collect();
        let step = here.len().div_ceil(MOST).max(1);
        let mix = Mix::on(book, beach);
        let by_finds: Vec<_> = here
            .par_iter()
            .step_by(step)
            .filter_map(|n| {
                let (find, id) = finds[*n];
                let rest = finds.iter().enumerate().filter(|(m, _)| m != n).map(|(_, f)| *f);
                let learned = learn(readings.iter().copied(), rest, ground)?;
                let ids = [id.round() as i32];
                let told = learned.may_be(&Sounded { target_ids: &ids, ..Sounded::default() }, &mix.without(&find.kind)).ok()?;
                Some((told, truth(&learned, &find.kind)))
            })
            .collect();
        let targets: BTreeSet<_> = readings.iter().filter_map(|r| Some((r.kind.as_ref()?, r.target.trim()))).collect();
        let by_bench: Vec<_> =
            targets.into_par_iter().flat_map_iter(|target| left_out(&readings, &finds, ground, target)).collect();
        let mut calibration = Self { of_finds: here.len(), ..Self::default() };
        by_finds.iter().for_each(|(told, truth)| calibration.finds.take(told, truth.as_ref()));
        by_bench.iter().for_each(|(told, truth)| calibration.bench.take(told, truth.as_ref()));
        calibration
    }
}

/// Finds of unknown kind teach nothing and cannot be answered.
fn known(find: &Find) -> bool {
    find.kind.key() != "other"
}

fn learn<'a>(
    readings: impl Iterator<Item = &'a BenchReading> + Clone,
    finds: impl Iterator<Item = (&'a Find, f64)>,
    ground: Option<Ground>,
) -> Option<Learned> {
    let gauge = DepthGauge::learn(readings.clone());
    Learned::to_answer(Evidence::from_records(readings, finds).with_ground(ground), String::new(), gauge).ok()
}

fn truth(learned: &Learned, kind: &Kind) -> Option<Kind> {
    learned.signatures.iter().any(|s| s.kind == *kind).then(|| kind.clone())
}

/// One bench target's readings, answered without it.
fn left_out(
    readings: &[&BenchReading],
    finds: &[(&Find, f64)],
    ground: Option<Ground>,
    (kind, target): (&Kind, &str),
) -> Vec<(MayBe, Option<Kind>)> {
    let is_it = |r: &BenchReading| r.kind.as_ref() == Some(kind) && r.target.trim() == target;
    let rest = readings.iter().copied().filter(|r| !is_it(r));
    let Some(learned) = learn(rest, finds.iter().copied(), ground) else { return Vec::new() };
    let heard: Vec<&BenchReading> = readings.iter().copied().filter(|r| is_it(r)).collect();
    let grounds: BTreeSet<Option<Ground>> = heard.iter().map(|r| r.ground).collect();
    let on: BTreeMap<Option<Ground>, Cow<'_, Learned>> = grounds.into_iter().map(|g| (g, learned.on(g))).collect();
    let answer = |r: &&BenchReading| {
        let here = on.get(&r.ground)?;
        let sounded = Sounded { target_ids: &r.target_ids, steadiness: r.steadiness, gauge_step: r.gauge_step, ground: r.ground };
        let told = here.weighed_by(&here.heard(&sounded).ok()?, &here.prior(&Mix::default()));
        Some((told, truth(&learned, kind)))
    };
    heard.iter().filter_map(answer).collect()
}
