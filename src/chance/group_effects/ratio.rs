//! One rate over another in the same groups, or in groups of each side.

use super::rate::quantile;
use super::{Group, Shapes, likeliest_rate};
use crate::chance::{COVERAGE, RateRatio};

/// A group's counts on two sides, over the exposure of each; either side may be empty.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Parted {
    /// On the side asked about.
    pub inside: Group,
    /// On the other.
    pub outside: Group,
}

impl Parted {
    fn is_usable(&self) -> bool {
        let is = |g: &Group| g.exposure.is_finite() && g.exposure >= 0.0 && g.count.is_finite() && g.count >= 0.0;
        is(&self.inside) && is(&self.outside) && self.inside.exposure + self.outside.exposure > 0.0
    }

    fn count(&self) -> f64 {
        self.inside.count + self.outside.count
    }
}

/// Steps of the logarithm of the ratio.
const STEPS: usize = 80;

/// The rate inside over that outside. `None` when a side has no exposure, or nothing was counted on either.
///
/// The interval is that of the posterior with a flat prior of the ratio's logarithm and the other rate at its
/// likeliest beside each ratio, averaged over `shapes`; half a count is lent to either side, so that a side without
/// any has a wide interval and not none. `p` is twice the smaller tail beyond a ratio of 1. O(groups x shapes x 80).
pub fn group_ratio(groups: &[Parted], shapes: &Shapes) -> Option<RateRatio> {
    let usable: Vec<Parted> = groups.iter().filter(|g| g.is_usable()).copied().collect();
    let sum = |of: fn(&Parted) -> f64| usable.iter().map(of).sum::<f64>();
    let (n_in, n_out) = (sum(|g| g.inside.count), sum(|g| g.outside.count));
    let (e_in, e_out) = (sum(|g| g.inside.exposure), sum(|g| g.outside.exposure));
    if e_in <= 0.0 || e_out <= 0.0 || n_in + n_out <= 0.0 {
        return None;
    }
    let share = |of: fn(&Parted) -> f64, all: f64| usable.iter().map(|g| (of(g) / all).powi(2)).sum::<f64>();
    let between = shapes.variance() * (share(|g| g.inside.exposure, e_in) + share(|g| g.outside.exposure, e_out));
    let far = 5.0 * (1.0 / (n_in + 0.5) + 1.0 / (n_out + 0.5) + between).sqrt();
    let middle = ((n_in + 0.5) / e_in / ((n_out + 0.5) / e_out)).ln();
    let ratios: Vec<f64> = (0..=STEPS).map(|k| (middle + far * (2.0 * k as f64 / STEPS as f64 - 1.0)).exp()).collect();
    let mut posterior = vec![0.0; ratios.len()];
    for (phi, weight) in shapes.usable() {
        let ln: Vec<f64> = ratios.iter().map(|r| at_ratio(&usable, *r, phi, 0.5).0).collect();
        let most = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = ln.iter().map(|l| (l - most).exp()).sum();
        posterior.iter_mut().zip(&ln).for_each(|(p, l)| *p += weight * (l - most).exp() / sum);
    }
    let tail = 0.5 * (1.0 - COVERAGE);
    let below: f64 = ratios.iter().zip(&posterior).filter(|(r, _)| **r < 1.0).map(|(_, p)| p).sum();
    let ratio = (n_out > 0.0).then(|| if n_in > 0.0 { likeliest_ratio(&usable, shapes.phi(), 1e3) } else { 0.0 });
    Some(RateRatio {
        ratio,
        low: if n_in > 0.0 { quantile(&ratios, &posterior, tail) } else { 0.0 },
        high: (n_out > 0.0).then(|| quantile(&ratios, &posterior, 1.0 - tail)),
        p: (2.0 * below.min(1.0 - below)).clamp(0.0, 1.0),
    })
}

/// The likelihood of a ratio with the rate outside at its likeliest, and that rate: N ln b + n ln r less the sum of
/// (N_j + phi) ln(1 + b (E_out + r E_in) / phi). `lent` counts are lent to either side.
fn at_ratio(groups: &[Parted], r: f64, phi: f64, lent: f64) -> (f64, f64) {
    let joined: Vec<Group> = groups.iter().map(|g| Group::new(g.count(), g.outside.exposure + r * g.inside.exposure)).collect();
    let b = likeliest_rate(&joined, phi).unwrap_or(0.0);
    if b <= 0.0 {
        return (0.0, b);
    }
    let n_in: f64 = groups.iter().map(|g| g.inside.count).sum();
    let ln = joined.iter().map(|g| g.count * b.ln() - (g.count + phi) * (b * g.exposure / phi).ln_1p()).sum::<f64>();
    // Half a count lent inside and outside: r^(1/2) / (1 + r E_in / E_out) in all.
    let e = groups.iter().fold((0.0, 0.0), |(i, o), g| (i + g.inside.exposure, o + g.outside.exposure));
    let prior = lent * r.ln() - 2.0 * lent * (1.0 + r * e.0 / e.1.max(1e-300)).ln();
    (ln + n_in * r.ln() + if lent > 0.0 { prior } else { 0.0 }, b)
}

/// The ratio at which the counts are likeliest, up to `most`, by golden sections of its logarithm.
fn likeliest_ratio(groups: &[Parted], phi: f64, most: f64) -> f64 {
    let at = |ln_r: f64| at_ratio(groups, ln_r.exp(), phi, 0.0).0;
    let golden = 0.5 * (5_f64.sqrt() - 1.0);
    let (mut low, mut high) = (-most.ln(), most.ln());
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (at(a), at(b));
    while high - low > 1e-7 {
        if at_a < at_b {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = at(b);
        } else {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = at(a);
        }
    }
    (0.5 * (low + high)).exp()
}

/// Logarithm of the likelihood ratio of two rates against one `margin` times the other, or against one the lower
/// where the counts inside do not go beyond the margin (then 0), with the rate outside at its likeliest under both,
/// at a known phi. With one group, or phi large, it is that of Kulldorff (1997).
pub fn likelihood_ratio(groups: &[Parted], phi: f64, margin: f64) -> f64 {
    let usable: Vec<Parted> = groups.iter().filter(|g| g.is_usable()).copied().collect();
    let best = likeliest_ratio(&usable, phi, 1e3);
    if best <= margin {
        return 0.0;
    }
    at_ratio(&usable, best, phi, 0.0).0 - at_ratio(&usable, margin, phi, 0.0).0
}
