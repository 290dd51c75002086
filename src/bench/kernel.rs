//! A kind's numbers as they came: a kernel estimate, for kinds that read in more than one place.
//!
//! Iron that now and then reads high, numbers that wrap at the end of the scale and targets that jump between
//! places have no bell curve. The first number of a new target comes from near any number of the kind, each target
//! counting the same (a kernel estimate: Parzen 1962, *On estimation of a probability density function and mode*),
//! or from a broad bell about them all, or from what the kind's group gives, or from anywhere on the scale. A later
//! number comes from near one that the same target gave before, or again as the first did. That is Pólya's urn
//! (Blackwell & MacQueen 1973, *Ferguson distributions via Pólya urn schemes*): `repeats` is how many times its own
//! weight a fresh draw has, small for targets that hold their number, large for those that jump. As neither
//! that nor how wide the kernels must be is known, several values are carried along, and [`Shape`](super::shape::Shape)
//! weighs them.
//!
//! Spreads are those of pairs of numbers: a low quantile of their distances is untouched by the jumps (Rousseeuw &
//! Croux 1993, *Alternatives to the median absolute deviation*). The shares below were tuned on simulated benches.

use std::f64::consts::{PI, SQRT_2};

use super::evidence::KindEvidence;
use super::growth::{Scatter, growth};
use super::series::{ROUNDING, Series};
use crate::book::KindGroup;
use crate::chance::normal_quantile;

/// Values of `repeats` that are carried along, and of how much wider than usual its kernels and its passes may be.
const REPEATS: [f64; 5] = [0.4, 1.0, 2.5, 6.0, 15.0];
const KERNELS: [f64; 3] = [0.6, 1.3, 3.0];
const PASSES: [f64; 3] = [0.8, 1.5, 3.0];
/// How many views of a kind these make together.
pub(super) const VIEWS: usize = REPEATS.len() * KERNELS.len() * PASSES.len();
/// Targets that the broad bell, the kind's group and the even density are worth.
const BROAD: f64 = 0.1;
const GROUP: f64 = 0.1;
const EVEN: f64 = 0.05;
/// Quantile of the distances between numbers of one reading, and between targets of one kind.
const PAIRS: f64 = 0.35;
/// Degrees of freedom that the width of all kinds is worth to one of them.
const LENT: f64 = 25.0;
/// Share of the spread between targets by which one target's numbers stand for another's, where four were read.
const STANDS_FOR: f64 = 0.6;
/// Standard deviation by which targets of a kind are taken to differ where no kind was read on two: some numbers, from
/// memory.
pub(super) const ASSUMED_TARGETS: f64 = 3.0;
/// Targets of a kind whose distances are taken, at most.
const MOST: usize = 40;

/// Numbers with their weights.
pub(super) type Points = Vec<(f64, f64)>;

/// Densities of a number as the first of a target, by the width of the kernels.
pub(super) type Fresh = [f64; KERNELS.len()];

/// The kernel estimate of one kind.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kernel {
    /// Distinct numbers; the weights of each target's add up to 1.
    points: Points,
    /// Their mean and variance.
    moments: (f64, f64),
    targets: f64,
    /// Numbers of the other kinds of its group; weights add up to 1, or none.
    group: Points,
    /// Standard deviation of passes about where a target reads, at the usual depth.
    width: f64,
    growth_per_m: f64,
    /// How its numbers drift with depth.
    pub(super) drift_per_m: f64,
    /// Standard deviation between targets.
    between: f64,
    /// Density of a number that may be anything on the scale.
    even: f64,
}

/// What the kernels of a set-up have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Widths {
    passes: f64,
    between: f64,
    growth_per_m: f64,
    usual_m: f64,
}

impl Widths {
    pub(super) fn learn(kinds: &[&KindEvidence], usual_m: f64) -> Self {
        let scatters: Vec<Vec<Scatter>> = kinds.iter().map(|k| robust_scatters(k)).collect();
        let growth_per_m = growth(&scatters).common_per_m;
        let all = kinds.iter().flat_map(|k| distances(k, growth_per_m, usual_m)).collect();
        let passes = spread(all).map_or(ROUNDING.sqrt(), |s| s.max(ROUNDING.sqrt()));
        let between = spread(kinds.iter().flat_map(|k| between(k)).collect()).unwrap_or(ASSUMED_TARGETS).max(passes);
        Self { passes, between, growth_per_m, usual_m }
    }

    /// Standard deviation of passes about where a target reads, `beyond_m` below the usual depth.
    pub(super) fn passes_at(&self, beyond_m: f64) -> f64 {
        (self.passes * (self.growth_per_m * beyond_m).clamp(-4.0, 4.0).exp()).hypot(ROUNDING.sqrt())
    }

    /// The width of one kind, drawn towards that of all.
    fn of_kind(&self, kind: &KindEvidence) -> f64 {
        let df: f64 = kind.specimens.iter().flat_map(|s| &s.passes).map(|p| (p.count - 1) as f64).sum();
        let Some(own) = spread(distances(kind, self.growth_per_m, self.usual_m)) else { return self.passes };
        ((df * own.max(ROUNDING.sqrt()).ln() + LENT * self.passes.ln()) / (df + LENT)).exp()
    }
}

impl Kernel {
    /// The kernels of all kinds that were read; `scale` is how wide the scale is.
    pub(super) fn learn(kinds: &[&KindEvidence], widths: &Widths, scale: f64) -> Vec<Self> {
        let points: Vec<Points> = kinds.iter().map(|k| points_of(k)).collect();
        let of = |(kind, own): (&&KindEvidence, &Points)| Self {
            moments: moments(own),
            points: own.clone(),
            targets: kind.specimens.len() as f64,
            group: beside(kind, kinds, &points),
            width: widths.of_kind(kind),
            growth_per_m: widths.growth_per_m,
            drift_per_m: 0.0,
            between: widths.between,
            even: 1.0 / scale,
        };
        kinds.iter().zip(&points).map(of).collect()
    }

    /// The same for numbers as they come, which drift with depth; it is learned from numbers that do no more.
    pub(super) fn drifting(self, drift_per_m: f64) -> Self {
        Self { drift_per_m, ..self }
    }

    /// The same as if a target had not been read.
    pub(super) fn without(&self, target: &Points) -> Self {
        let mut rest = self.clone();
        add(&mut rest.points, target, -1.0);
        rest.points.retain(|p| p.1 > 1e-9);
        rest.moments = moments(&rest.points);
        rest.targets -= 1.0;
        rest
    }

    fn width_at(&self, beyond_m: f64) -> f64 {
        (self.width * (self.growth_per_m * beyond_m).clamp(-4.0, 4.0).exp()).hypot(ROUNDING.sqrt())
    }

    /// Densities of the first number of a target.
    pub(super) fn fresh(&self, number: f64, beyond_m: f64) -> Fresh {
        let number = number - self.drift_per_m * beyond_m;
        let own_width = self.width_at(beyond_m);
        let (centre, variance) = self.moments;
        let broad = bell(number - centre, (variance + self.between.powi(2) + self.width.powi(2)).sqrt());
        let group = if self.group.is_empty() { 0.0 } else { GROUP };
        // Scott's rule, by the number of targets.
        let stands_for = STANDS_FOR * self.between * (self.targets.max(1.0) / 4.0).powf(-0.2);
        KERNELS.map(|wider| {
            let width = own_width.hypot(wider * stands_for);
            let near = |points: &Points| points.iter().map(|(at, w)| w * bell(number - at, width)).sum::<f64>();
            (near(&self.points) + BROAD * broad + group * near(&self.group) + EVEN * self.even)
                / (self.targets + BROAD + group + EVEN)
        })
    }

    /// Logarithms of the density of a series read `beyond_m` below the usual depth, view by view.
    pub(super) fn ln_densities(&self, series: &Series, beyond_m: f64) -> [f64; VIEWS] {
        let mut ln = [0.0; VIEWS];
        let fresh = |n: usize| self.fresh(series.numbers[n], beyond_m);
        let take = |density: &[f64; VIEWS]| ln.iter_mut().zip(density).for_each(|(ln, d)| *ln += d.ln());
        urn(&series.numbers, self.width_at(beyond_m), fresh, take);
        ln
    }

    /// Logarithm of their mean, weighed by `views`; `fresh` are the densities of the n-th number as a fresh draw.
    pub(super) fn ln_density(&self, series: &Series, beyond_m: f64, views: &[f64; VIEWS], fresh: impl Fn(usize) -> Fresh) -> f64 {
        ln_mean_of_urn(&series.numbers, self.width_at(beyond_m), views, fresh)
    }
}

/// Pólya's urn over the numbers in the order in which they came: hands on the densities of each, view by view, given
/// those before it. `fresh` are the densities of the n-th as a fresh draw.
fn urn(numbers: &[f64], width: f64, fresh: impl Fn(usize) -> Fresh, mut take: impl FnMut(&[f64; VIEWS])) {
    let mut views = [0.0; VIEWS];
    for (n, number) in numbers.iter().enumerate() {
        let before = numbers.get(..n).unwrap_or_default();
        let near = PASSES.map(|wider| before.iter().map(|b| bell(number - b, wider * width)).sum::<f64>());
        let fresh = fresh(n);
        let densities =
            fresh.iter().flat_map(|fresh| near.iter().flat_map(move |near| REPEATS.map(|r| (r * fresh + near) / (r + n as f64))));
        views.iter_mut().zip(densities).for_each(|(view, density)| *view = density.max(f64::MIN_POSITIVE));
        take(&views);
    }
}

/// Logarithm of the mean density of a series by the urn, its views weighed by these chances. The densities are
/// multiplied, and the product held near 1: a logarithm of each would take most of the time.
pub(super) fn ln_mean_of_urn(numbers: &[f64], width: f64, views: &[f64; VIEWS], fresh: impl Fn(usize) -> Fresh) -> f64 {
    let (mut products, mut ln) = (*views, 0.0);
    urn(numbers, width, fresh, |density| {
        products.iter_mut().zip(density).for_each(|(product, d)| *product *= d);
        let top = products.iter().copied().fold(0.0, f64::max);
        products.iter_mut().for_each(|product| *product /= top);
        ln += top.ln();
    });
    ln + products.iter().sum::<f64>().ln()
}

fn bell(away: f64, sd: f64) -> f64 {
    (-0.5 * (away / sd).powi(2)).exp() / (sd * (2.0 * PI).sqrt())
}

/// The numbers of a kind, each of its targets counting the same.
fn points_of(kind: &KindEvidence) -> Points {
    let mut points = Points::new();
    kind.specimens.iter().for_each(|s| add(&mut points, &s.points(), 1.0));
    points
}

/// The numbers of the other kinds of a kind's group; weights add up to 1, or none.
fn beside(kind: &KindEvidence, kinds: &[&KindEvidence], points: &[Points]) -> Points {
    let (mut beside, group) = (Points::new(), kind.kind.group());
    if group != KindGroup::Other {
        let others = kinds.iter().zip(points).filter(|(k, _)| k.kind != kind.kind && k.kind.group() == group);
        others.for_each(|(_, points)| add(&mut beside, points, 1.0));
    }
    let all: f64 = beside.iter().map(|p| p.1).sum();
    beside.iter_mut().for_each(|p| p.1 /= all);
    beside
}

fn moments(points: &Points) -> (f64, f64) {
    let all: f64 = points.iter().map(|p| p.1).sum();
    if all <= 0.0 {
        return (0.0, 0.0);
    }
    let mean = points.iter().map(|(at, w)| at * w).sum::<f64>() / all;
    (mean, points.iter().map(|(at, w)| w * (at - mean).powi(2)).sum::<f64>() / all)
}

/// Adds points to others, `times` over; both in rising order.
fn add(to: &mut Points, points: &Points, times: f64) {
    for (at, weight) in points {
        match to.binary_search_by(|p| p.0.total_cmp(at)) {
            Ok(n) => to[n].1 += times * weight,
            Err(n) => to.insert(n, (*at, times * weight)),
        }
    }
}

/// Distances between the numbers of each reading, as they would be at the usual depth.
fn distances(kind: &KindEvidence, growth_per_m: f64, usual_m: f64) -> Vec<f64> {
    let of = |p: &super::evidence::Passes| {
        let narrower = (-growth_per_m * (p.depth_m.unwrap_or(usual_m) - usual_m)).clamp(-4.0, 4.0).exp();
        pairs(&p.numbers).into_iter().map(move |d| d * narrower).collect::<Vec<_>>()
    };
    kind.specimens.iter().flat_map(|s| &s.passes).flat_map(of).collect()
}

/// Distances between the middles of a kind's targets.
fn between(kind: &KindEvidence) -> Vec<f64> {
    let step = kind.specimens.len().div_ceil(MOST).max(1);
    let middle = |s: &super::evidence::Specimen| {
        let mut all: Vec<f64> = s.passes.iter().flat_map(|p| p.numbers.iter().copied()).collect();
        all.sort_by(f64::total_cmp);
        quantile(&all, 0.5)
    };
    pairs(&kind.specimens.iter().step_by(step).filter_map(middle).collect::<Vec<_>>())
}

fn pairs(values: &[f64]) -> Vec<f64> {
    let of = |(n, a): (usize, &f64)| values.iter().take(n).map(|b| (a - b).abs()).collect::<Vec<_>>();
    values.iter().enumerate().flat_map(of).collect()
}

fn robust_scatters(kind: &KindEvidence) -> Vec<Scatter> {
    let repeated = kind.specimens.iter().flat_map(|s| &s.passes).filter(|p| p.count > 1);
    repeated
        .filter_map(|p| {
            let variance = spread(pairs(&p.numbers))?.powi(2).max(ROUNDING);
            Some(Scatter { depth_m: p.depth_m?, variance, df: (p.count - 1) as f64 })
        })
        .collect()
}

/// The standard deviation of normal values whose pairs have these distances; `None` without any.
fn spread(mut distances: Vec<f64>) -> Option<f64> {
    distances.sort_by(f64::total_cmp);
    Some(quantile(&distances, PAIRS)? / (SQRT_2 * normal_quantile(0.5 + 0.5 * PAIRS)))
}

fn quantile(sorted: &[f64], p: f64) -> Option<f64> {
    let at = p * sorted.len().checked_sub(1)? as f64;
    let (low, high) = (sorted.get(at.floor() as usize)?, sorted.get(at.ceil() as usize)?);
    Some(low + (high - low) * at.fract())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::shape::ln_mean;
    use super::*;

    proptest! {
        #![proptest_config(crate::cases::kept())]

        /// The product of the densities says what the sum of their logarithms says, however small they are.
        #[test]
        fn products_say_what_logarithms_say(
            numbers in prop::collection::vec(-40_i32..140, 1..9),
            width in 0.3_f64..20.0,
            fresh in prop::array::uniform3(prop_oneof![1e-300_f64..1e-290, 1e-9_f64..0.5]),
            views in prop::collection::vec(prop_oneof![Just(0.0), Just(1e-200), 1e-6_f64..1.0], VIEWS),
        ) {
            prop_assume!(views.iter().sum::<f64>() > 1e-6);
            let all: f64 = views.iter().sum();
            let views: [f64; VIEWS] = std::array::from_fn(|n| views[n] / all);
            let numbers: Vec<f64> = numbers.into_iter().map(f64::from).collect();
            let mut ln = [0.0; VIEWS];
            urn(&numbers, width, |_| fresh, |d| ln.iter_mut().zip(d).for_each(|(ln, d)| *ln += d.ln()));
            let (plain, quick) = (ln_mean(&ln, &views), ln_mean_of_urn(&numbers, width, &views, |_| fresh));
            prop_assert!((plain - quick).abs() < 1e-9 * (1.0 + plain.abs()), "{plain} {quick}");
        }
    }
}
