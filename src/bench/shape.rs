//! What is believed of a kind's numbers: a bell curve, a kernel estimate, or some of both.
//!
//! Each of the kind's targets is left out in turn and told by the others, once by the [`Bell`] and once by the
//! [`Kernel`]; each is then believed by how well it told them (weights by the predictive likelihood: Geisser & Eddy
//! 1979, *A predictive approach to model selection*). A target counts once however often it was read. The same
//! weighs the kernel's views: how wide it is, how readily a target repeats itself. Kinds lend each other what they show on average, and a kind with
//! one target knows only that.

use super::bell::Bell;
use super::kernel::{Fresh, Kernel, Points, VIEWS};
use super::series::Series;

/// Bounds on what the kinds lend each other, as the logarithm of odds.
const LENT: f64 = 2.0;

/// How the numbers of one kind lie.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shape {
    pub(super) bell: Bell,
    kernel: Kernel,
    /// Chance that the bell is right.
    pub(super) bell_share: f64,
    /// Chances of the kernel's views.
    views: [f64; VIEWS],
}

/// One target left out, and the others' view of it.
pub(super) struct LeftOut {
    /// Its readings: how far below the usual depth, metres, and the numbers.
    pub(super) readings: Vec<(f64, Series)>,
    pub(super) points: Points,
    /// The bell of the others.
    pub(super) bell: Bell,
    /// How many targets are alike to it and stand for it.
    pub(super) alike: f64,
}

/// How well the bell and each of the kernel's views told one target: logarithms of densities, and for how many
/// targets it stands.
#[derive(Debug, Clone, Copy)]
struct Told {
    bell: f64,
    kernel: [f64; VIEWS],
    alike: f64,
}

/// The shapes of a set-up's kinds, each with its targets left out in turn.
pub(super) fn shapes(kinds: Vec<(Bell, Kernel, Vec<LeftOut>)>) -> Vec<Shape> {
    let told: Vec<Vec<Told>> = kinds.iter().map(|(_, kernel, out)| out.iter().map(|o| told(kernel, o)).collect()).collect();
    let many = kinds.len().max(1) as f64;
    let sums: Vec<[f64; VIEWS]> =
        told.iter().map(|t| std::array::from_fn(|n| t.iter().map(|t| t.alike * t.kernel[n]).sum::<f64>())).collect();
    let average: [f64; VIEWS] = std::array::from_fn(|n| sums.iter().map(|s| s[n]).sum::<f64>() / many);
    let views: Vec<[f64; VIEWS]> = sums.iter().map(|s| shares(std::array::from_fn(|n| s[n] + average[n]))).collect();
    let odds: Vec<f64> = told.iter().zip(&views).map(|(t, v)| ln_odds_of_bell(t, v)).collect();
    let lent = (odds.iter().sum::<f64>() / many).clamp(-LENT, LENT);
    kinds
        .into_iter()
        .zip(views.into_iter().zip(odds))
        .map(|((bell, kernel, _), (views, odds))| Shape { bell, kernel, bell_share: 1.0 / (1.0 + (-odds - lent).exp()), views })
        .collect()
}

fn told(kernel: &Kernel, target: &LeftOut) -> Told {
    let mut told = Told { bell: 0.0, kernel: [0.0; VIEWS], alike: target.alike };
    // What was left out is as if read at the usual depth.
    let rest = kernel.without(&target.points).drifting(0.0);
    let each = 1.0 / target.readings.len().max(1) as f64;
    for (beyond_m, series) in &target.readings {
        told.bell += each * target.bell.ln_density(series, *beyond_m);
        let ln = rest.ln_densities(series, *beyond_m);
        told.kernel.iter_mut().zip(ln).for_each(|(sum, ln)| *sum += each * ln);
    }
    told
}

/// Logarithm of the odds of the bell against the kernel. The bell is the simpler: it is believed as long as it is no
/// worse than by one standard error (the rule of Breiman, Friedman, Olshen & Stone 1984, *Classification and regression
/// trees*).
fn ln_odds_of_bell(told: &[Told], views: &[f64; VIEWS]) -> f64 {
    let better: Vec<(f64, f64)> = told.iter().map(|t| (t.alike, t.bell - ln_mean(&t.kernel, views))).collect();
    let many: f64 = better.iter().map(|b| b.0).sum();
    let sum: f64 = better.iter().map(|b| b.0 * b.1).sum();
    if many < 2.0 {
        return sum;
    }
    let variance = better.iter().map(|(n, b)| n * (b - sum / many).powi(2)).sum::<f64>() / (many - 1.0);
    sum + (many * variance).sqrt()
}

impl Shape {
    /// Logarithm of the density of a series read `beyond_m` below the usual depth.
    pub(super) fn ln_density(&self, series: &Series, beyond_m: f64) -> f64 {
        self.ln_density_by(series, beyond_m, |n| self.fresh(series.numbers[n], beyond_m))
    }

    /// The same where the densities of each of its numbers as the first of a target were worked out before.
    pub(super) fn ln_density_by(&self, series: &Series, beyond_m: f64, fresh: impl Fn(usize) -> Fresh) -> f64 {
        let drifted = self.drift_per_m() * beyond_m;
        let bell = match drifted {
            0.0 => self.bell.ln_density(series, beyond_m),
            _ => self.bell.ln_density(&series.moved(-drifted), beyond_m),
        };
        let kernel = self.kernel.ln_density(series, beyond_m, &self.views, fresh);
        ln_mean(&[bell, kernel], &[self.bell_share, 1.0 - self.bell_share])
    }

    /// How its numbers drift with depth, a metre.
    pub(super) fn drift_per_m(&self) -> f64 {
        self.kernel.drift_per_m
    }

    /// Densities of a number as the first of a target.
    pub(super) fn fresh(&self, number: f64, beyond_m: f64) -> Fresh {
        self.kernel.fresh(number, beyond_m)
    }

    /// The mean chances of the kernel's views, over several kinds.
    pub(super) fn mean_views(shapes: &[Self]) -> [f64; VIEWS] {
        let many = shapes.len() as f64;
        if shapes.is_empty() {
            return [1.0 / VIEWS as f64; VIEWS];
        }
        std::array::from_fn(|n| shapes.iter().map(|s| s.views[n]).sum::<f64>() / many)
    }
}

/// Weights in proportion to these logarithms.
fn shares(ln: [f64; VIEWS]) -> [f64; VIEWS] {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let all: f64 = ln.iter().map(|l| (l - top).exp()).sum();
    ln.map(|l| (l - top).exp() / all)
}

/// Logarithm of the mean of what these are the logarithms of.
pub(super) fn ln_mean(ln: &[f64], weights: &[f64]) -> f64 {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + ln.iter().zip(weights).map(|(l, w)| w * (l - top).exp()).sum::<f64>().ln()
}
