//! The rate of groups that differ, with its interval.

use super::shape::likeliest_rate;
use super::{Group, Shapes};
use crate::chance::{COVERAGE, poisson_interval};

/// A rate with its 95 % interval, per unit of exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupRate {
    /// The rate: counts over exposure.
    pub rate: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

/// Steps of the logarithm of the rate over which the posterior is summed up.
const STEPS: usize = 96;

/// The rate of groups, whose effects are as `shapes` has it; `None` without exposure.
///
/// The interval is that of the posterior with the prior of Jeffreys (1946) for a Poisson rate, averaged over
/// `shapes`; of no count it begins at 0. O(groups x shapes x 96).
pub fn group_rate(groups: &[Group], shapes: &Shapes) -> Option<GroupRate> {
    let usable: Vec<Group> = groups.iter().filter(|g| g.is_usable()).copied().collect();
    let (count, exposure) = usable.iter().fold((0.0, 0.0), |(n, e), g| (n + g.count, e + g.exposure));
    if usable.is_empty() || exposure <= 0.0 {
        return None;
    }
    // Far enough to hold every phi: the Poisson interval, widened by what the groups that there are may differ.
    let heaviest: f64 = usable.iter().map(|g| (g.exposure / exposure).powi(2)).sum();
    let far = 5.0 * (shapes.variance() * heaviest).sqrt() + 0.5;
    let (low, high) = poisson_interval(count, 0.999_99);
    let low = if count > 0.0 { low.max(1e-6 * count) } else { 1e-6 };
    let (from, to) = ((low / exposure).ln() - far, (high / exposure).ln() + far);
    let step = (to - from) / STEPS as f64;
    let rates: Vec<f64> = (0..=STEPS).map(|k| (from + step * k as f64).exp()).collect();
    let mut posterior = vec![0.0; rates.len()];
    for (phi, weight) in shapes.usable() {
        let at = |b: &f64| {
            // The prior b^(-1/2), by the logarithm of b.
            (count + 0.5) * b.ln() - usable.iter().map(|g| (g.count + phi) * (b * g.exposure / phi).ln_1p()).sum::<f64>()
        };
        let ln: Vec<f64> = rates.iter().map(at).collect();
        let most = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = ln.iter().map(|l| (l - most).exp()).sum();
        posterior.iter_mut().zip(&ln).for_each(|(p, l)| *p += weight * (l - most).exp() / sum);
    }
    let tail = 0.5 * (1.0 - COVERAGE);
    let (low, high) = (quantile(&rates, &posterior, tail), quantile(&rates, &posterior, 1.0 - tail));
    // What is shown as the rate is what one would work out by hand, where groups do not differ; where they do, that
    // which gives each its due.
    let rate = likeliest_rate(&usable, shapes.phi()).unwrap_or(count / exposure);
    Some(GroupRate { rate, low: if count > 0.0 { low.min(rate) } else { 0.0 }, high: high.max(rate) })
}

/// A quantile of a density on steps of the logarithm.
pub(super) fn quantile(values: &[f64], weights: &[f64], p: f64) -> f64 {
    let all: f64 = weights.iter().sum();
    let mut below = 0.0;
    for (n, w) in weights.iter().enumerate() {
        if below + w >= p * all {
            // Each weight stands for half a step to either side of its value.
            let part = if *w > 0.0 { (p * all - below) / w - 0.5 } else { 0.0 };
            let step = if n + 1 < values.len() { values[n + 1] / values[n] } else { values[n] / values[n - 1] };
            return values[n] * step.powf(part);
        }
        below += w;
    }
    values.last().copied().unwrap_or(0.0)
}
