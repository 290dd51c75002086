//! How much groups differ: the posterior of the coefficient of variation of their effects.

use statrs::function::gamma::ln_gamma;

use super::Group;

/// Coefficients of variation that are weighed: phi from 10,000 down to 0.3. Likelihoods of ratios have limits at
/// fixed phi only (phi to 0 at no count would be unbounded), so phi is bounded.
const SPREADS: [f64; 12] = [0.01, 0.1, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0, 1.25, 1.5, 1.826];

/// Before anything is seen, coefficients of variation are half-normal of this scale, ...
const PRIOR_SCALE: f64 = 1.0;
/// ... and none at all is so many times as likely as its place on that scale: with both, intervals hold the truth about
/// as often as they say, whether groups differ or not (by simulation; this project's judgement, no published source).
const PRIOR_ALIKE: f64 = 5.0;

/// Weights of values of phi.
#[derive(Debug, Clone, PartialEq)]
pub struct Shapes {
    /// phi and its weight; the weights add up to 1.
    weights: Vec<(f64, f64)>,
}

impl Default for Shapes {
    /// What is held before anything is seen.
    fn default() -> Self {
        Self::from_groups(&[])
    }
}

impl Shapes {
    /// One value of phi, taken as known; kept within 0.3 and 10,000.
    pub fn known(phi: f64) -> Self {
        Self { weights: vec![(if phi.is_finite() { phi.clamp(0.3, 10_000.0) } else { 10_000.0 }, 1.0)] }
    }

    /// From groups that share a rate: the likelihood of each phi over all rates, times the prior.
    pub fn from_groups(groups: &[Group]) -> Self {
        let groups: Vec<Group> = groups.iter().filter(|g| g.is_usable()).copied().collect();
        Self::weighed(|phi| {
            let Some(b) = likeliest_rate(&groups, phi) else { return 0.0 };
            // The rate is as unknown as the spread: integrated out (Laplace), as its likeliest value makes groups look
            // more alike than they are.
            let information: f64 = groups
                .iter()
                .map(|g| {
                    let y = b * g.exposure / (phi + b * g.exposure);
                    (g.count + phi) * y * (1.0 - y)
                })
                .sum();
            ln_likelihood(&groups, b, phi) - 0.5 * information.max(1e-9).ln()
        })
    }

    /// Logarithm of the likelihood of groups that share a rate, at its likeliest, averaged over what is held of phi
    /// before anything is seen; without what depends on the counts alone.
    pub fn evidence(groups: &[Group]) -> f64 {
        let groups: Vec<Group> = groups.iter().filter(|g| g.is_usable()).copied().collect();
        let prior = Self::weighed(|_| 0.0);
        let at = |phi: f64| likeliest_rate(&groups, phi).map_or(0.0, |b| ln_likelihood(&groups, b, phi));
        let scored: Vec<(f64, f64)> = prior.weights.iter().map(|(phi, w)| (at(*phi), *w)).collect();
        let most = scored.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
        most + scored.iter().map(|(l, w)| w * (l - most).exp()).sum::<f64>().ln()
    }

    /// Logarithm of how likely counts are at a rate and a phi, times what is held of phi before anything is seen; without
    /// what depends on the counts alone.
    pub fn ln_posterior(groups: &[Group], b: f64, phi: f64) -> f64 {
        ln_likelihood(groups, b, phi) - 0.5 / (phi * PRIOR_SCALE * PRIOR_SCALE)
    }

    /// By any logarithm of a likelihood of phi.
    fn weighed(ln_likelihood: impl Fn(f64) -> f64) -> Self {
        let scored: Vec<(f64, f64)> = SPREADS
            .iter()
            .enumerate()
            .map(|(n, cv)| {
                let below = if n == 0 { 0.0 } else { SPREADS[n - 1] };
                let above = SPREADS.get(n + 1).copied().unwrap_or(*cv);
                let alike = if n == 0 { PRIOR_ALIKE.ln() } else { 0.0 };
                let prior = (0.5 * (above - below)).ln() - 0.5 * (cv / PRIOR_SCALE).powi(2) + alike;
                let phi = (1.0 / (cv * cv)).clamp(0.3, 10_000.0);
                (phi, prior + ln_likelihood(phi))
            })
            .collect();
        let most = scored.iter().map(|s| s.1).filter(|l| l.is_finite()).fold(f64::NEG_INFINITY, f64::max);
        let mut weights: Vec<(f64, f64)> =
            scored.into_iter().map(|(phi, l)| (phi, if l.is_finite() { (l - most).exp() } else { 0.0 })).collect();
        let sum: f64 = weights.iter().map(|w| w.1).sum();
        weights.iter_mut().for_each(|w| w.1 /= sum);
        Self { weights }
    }

    /// Values of phi that matter, with their weights.
    pub(super) fn usable(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.weights.iter().copied().filter(|w| w.1 > 1e-4)
    }

    /// Mean square of the coefficient of variation: the variance of a group's effect.
    pub fn variance(&self) -> f64 {
        self.weights.iter().map(|(phi, w)| w / phi).sum()
    }

    /// One phi in place of all: that of the mean variance, so that few groups are rather taken to differ more.
    pub fn phi(&self) -> f64 {
        (1.0 / self.variance()).clamp(0.3, 10_000.0)
    }
}

/// The rate at which counts are likeliest at a phi, per unit of exposure; `None` without exposure. 0 of no count.
///
/// Newton's steps on the logarithm of the rate from the pooled one; the likelihood is concave in it.
pub fn likeliest_rate(groups: &[Group], phi: f64) -> Option<f64> {
    let usable = || groups.iter().filter(|g| g.is_usable());
    let (count, exposure) = usable().fold((0.0, 0.0), |(n, e), g| (n + g.count, e + g.exposure));
    if exposure <= 0.0 {
        return None;
    }
    if count <= 0.0 {
        return Some(0.0);
    }
    let mut ln_b = (count / exposure).ln();
    for _ in 0..30 {
        let b = ln_b.exp();
        let (slope, bend) = usable().fold((count, 0.0), |(slope, bend), g| {
            let y = b * g.exposure / (phi + b * g.exposure);
            let a = g.count + phi;
            (slope - a * y, bend + a * y * (1.0 - y))
        });
        let step = (slope / bend.max(1e-12)).clamp(-1.0, 1.0);
        ln_b += step;
        if step.abs() < 1e-10 {
            break;
        }
    }
    Some(ln_b.exp())
}

/// Logarithm of the likelihood of counts at a rate and a phi, without what depends on the counts alone.
pub(super) fn ln_likelihood(groups: &[Group], b: f64, phi: f64) -> f64 {
    let at_phi = phi * phi.ln() - ln_gamma(phi);
    let one = |g: &Group| {
        let with_rate = if g.count > 0.0 { g.count * (b * g.exposure).max(1e-300).ln() } else { 0.0 };
        with_rate - (g.count + phi) * (phi + b * g.exposure).ln() + ln_gamma(g.count + phi) + at_phi
    };
    groups.iter().filter(|g| g.is_usable()).map(one).sum()
}
