//! One ratio of rates over several pairs of counts.
//!
//! Each pair (say, before and after one storm) has rates of its own, as seasons differ; only their
//! ratio is taken as common. Given the sum of each pair its second count is binomial (Przyborowski &
//! Wilenski 1940), so the sum of the second counts is a sum of binomials whose distribution is had by
//! convolution, and the exact conditional interval of the ratio follows as for one pair: Breslow &
//! Day (1987), *Statistical methods in cancer research II*, chapter 3. With one pair it is
//! [`rate_ratio`](super::rate_ratio()). O(counts²) for each of some hundred evaluations; terms beyond
//! nine standard deviations are left out, so that large counts cost their square root.

use super::COVERAGE;
use super::binomial::AS_LIKELY;
use super::rate_ratio::RateRatio;

/// Two counts with the exposure of each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The first and the second count.
    pub counts: [u64; 2],
    /// What each was counted over, in the same order and in any one unit.
    pub exposures: [f64; 2],
}

/// The common ratio of the first rates over the second ones, with its exact interval. Pairs without
/// counts or with no exposure on a side say nothing and are left out; `None` when none is left.
pub fn common_rate_ratio(pairs: &[Pair]) -> Option<RateRatio> {
    let usable = |p: &&Pair| p.counts[0] + p.counts[1] > 0 && p.exposures.iter().all(|a| a.is_finite() && *a > 0.0);
    let pairs: Vec<Pair> = pairs.iter().filter(usable).copied().collect();
    let total: u64 = pairs.iter().map(|p| p.counts[0] + p.counts[1]).sum();
    let seen: u64 = pairs.iter().map(|p| p.counts[0]).sum();
    if total == 0 {
        return None;
    }
    let tail = 0.5 * (1.0 - COVERAGE);
    let at = |ln_ratio: f64| Sum::of_binomials(&pairs, ln_ratio);
    // All of these rise with the ratio.
    let middle = |l: f64| pairs.iter().map(|p| (p.counts[0] + p.counts[1]) as f64 * chance(p, l)).sum::<f64>() - seen as f64;
    let likeliest = if seen == 0 || seen == total { 0.0 } else { solve(0.0, middle) };
    let low = if seen == 0 { 0.0 } else { solve(likeliest - 0.5, |l| at(l).at_least(seen) - tail).exp() };
    let high = (seen < total).then(|| solve(likeliest + 0.5, |l| tail - at(l).at_most(seen)).exp());
    Some(RateRatio {
        ratio: (seen < total).then(|| if seen == 0 { 0.0 } else { likeliest.exp() }),
        low,
        high,
        p: at(0.0).no_likelier_than(seen),
    })
}

/// Chance that one counted in a pair is one of the first, at a ratio.
fn chance(pair: &Pair, ln_ratio: f64) -> f64 {
    let odds = ln_ratio.exp() * pair.exposures[0] / pair.exposures[1];
    if odds.is_finite() { odds / (1.0 + odds) } else { 1.0 }
}

/// Root of a rising function of the logarithm of a ratio, to the last digits: bracketed by steps outward
/// from a guess, then by inverse quadratic interpolation or halving, whichever is sure (Chandrupatla 1997,
/// *A new hybrid quadratic/bisection algorithm*; from memory). Some ten evaluations instead of sixty.
fn solve(guess: f64, rises: impl Fn(f64) -> f64) -> f64 {
    let guess = if guess.is_finite() { guess.clamp(-FARTHEST, FARTHEST) } else { 0.0 };
    let mut b = (guess, rises(guess));
    if b.1 == 0.0 {
        return b.0;
    }
    let mut a = b;
    let mut step = 0.5;
    while b.1 * a.1 > 0.0 && step < 4.0 * FARTHEST {
        let x = (guess - step * b.1.signum()).clamp(-FARTHEST, FARTHEST);
        a = b;
        b = (x, rises(x));
        step *= 2.0;
    }
    if b.1 * a.1 > 0.0 {
        return b.0;
    }
    let mut share = 0.5;
    for _ in 0..80 {
        let x = a.0 + share * (b.0 - a.0);
        let new = (x, rises(x));
        let c = if new.1 * a.1 > 0.0 { a } else { std::mem::replace(&mut b, a) };
        a = new;
        let best = if a.1.abs() < b.1.abs() { a } else { b };
        let least = 1e-14 * best.0.abs().max(1.0) / (b.0 - a.0).abs();
        if best.1 == 0.0 || least > 0.5 {
            return best.0;
        }
        let (xi, phi) = ((a.0 - b.0) / (c.0 - b.0), (a.1 - b.1) / (c.1 - b.1));
        let quadratic = phi * phi < xi && (1.0 - phi).powi(2) < 1.0 - xi;
        share = if quadratic {
            let at = a.1 / (b.1 - a.1) * c.1 / (b.1 - c.1);
            at + (c.0 - a.0) / (b.0 - a.0) * a.1 / (c.1 - a.1) * b.1 / (c.1 - b.1)
        } else {
            0.5
        };
        share = share.clamp(least, 1.0 - least);
    }
    a.0
}

/// Ratios beyond e to this are not sought.
const FARTHEST: f64 = 40.0;

/// The distribution of a sum of binomials: the chances of `from`, `from + 1`, ...
struct Sum {
    from: u64,
    chances: Vec<f64>,
}

impl Sum {
    fn of_binomials(pairs: &[Pair], ln_ratio: f64) -> Self {
        pairs.iter().fold(Self { from: 0, chances: vec![1.0] }, |sum, pair| {
            let one = binomial(pair.counts[0] + pair.counts[1], chance(pair, ln_ratio));
            let mut chances = vec![0.0; sum.chances.len() + one.chances.len() - 1];
            for (i, a) in sum.chances.iter().enumerate() {
                for (c, b) in chances[i..].iter_mut().zip(&one.chances) {
                    *c += a * b;
                }
            }
            Self { from: sum.from + one.from, chances }
        })
    }

    fn each(&self) -> impl Iterator<Item = (u64, f64)> {
        self.chances.iter().enumerate().map(|(k, c)| (self.from + k as u64, *c))
    }

    fn at_least(&self, seen: u64) -> f64 {
        self.each().filter(|(k, _)| *k >= seen).map(|(_, c)| c).sum()
    }

    fn at_most(&self, seen: u64) -> f64 {
        self.each().filter(|(k, _)| *k <= seen).map(|(_, c)| c).sum()
    }

    fn no_likelier_than(&self, seen: u64) -> f64 {
        let own = self.each().find(|(k, _)| *k == seen).map_or(0.0, |(_, c)| c) * AS_LIKELY;
        self.each().map(|(_, c)| c).filter(|c| *c <= own).sum::<f64>().min(1.0)
    }
}

/// Chances of a binomial count outward from its most likely value, by the ratio of neighbours.
fn binomial(n: u64, p: f64) -> Sum {
    if p <= 0.0 || p >= 1.0 {
        return Sum { from: if p >= 1.0 { n } else { 0 }, chances: vec![1.0] };
    }
    let spread = 9.0 * (n as f64 * p * (1.0 - p)).sqrt() + 30.0;
    let mode = (((n + 1) as f64 * p) as u64).min(n);
    let from = (mode as f64 - spread).max(0.0) as u64;
    let to = ((mode as f64 + spread) as u64).min(n);
    let mut chances = vec![1.0; (to - from + 1) as usize];
    let odds = p / (1.0 - p);
    for k in mode + 1..=to {
        chances[(k - from) as usize] = chances[(k - from - 1) as usize] * odds * (n - k + 1) as f64 / k as f64;
    }
    for k in (from..mode).rev() {
        chances[(k - from) as usize] = chances[(k - from + 1) as usize] / odds * (k + 1) as f64 / (n - k) as f64;
    }
    let sum: f64 = chances.iter().sum();
    chances.iter_mut().for_each(|c| *c /= sum);
    Sum { from, chances }
}
