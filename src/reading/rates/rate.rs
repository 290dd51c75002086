//! Finds per 100 m² of a visit to rested ground, with intervals by outing.
//!
//! What is divided by is the exposure (see [`exposure`](crate::reading::exposure)): a rate says what one visit would
//! find that sweeps 100 m² once where nobody has searched lately. Outings differ by more than luck, so the interval is
//! that of counts in groups with an effect each ([`group_rate`]); with few outings it is wide.

use serde::{Deserialize, Serialize};

use crate::chance::{COVERAGE, Group, Shapes, group_rate, poisson_interval};

/// Finds per 100 m² of a visit to rested ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Finds counted: those of outings whose tracks show the ground.
    pub finds: f64,
    /// What they were found on, as m² of rested ground swept once.
    #[serde(rename = "rested_m2")]
    pub exposure_m2: f64,
    /// On how many outings that ground was searched; 0 where outings are not told apart.
    #[serde(default)]
    pub outings: usize,
    /// Finds per 100 m² of it.
    #[serde(rename = "per_100m2_rested")]
    pub per_100m2: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// Further rested ground, on as many further outings as it took so far, that would halve the interval, m².
    pub to_halve_m2: f64,
}

impl Rate {
    /// The rate of a count over ground, m², as if luck alone made it vary. `None` when there was no ground.
    pub fn counted(finds: f64, exposure_m2: f64) -> Option<Self> {
        if !(exposure_m2.is_finite() && exposure_m2 > 0.0 && finds.is_finite() && finds >= 0.0) {
            return None;
        }
        let (low, high) = poisson_interval(finds, COVERAGE);
        let per_100m2 = 100.0 / exposure_m2;
        Some(Self {
            finds,
            exposure_m2,
            outings: 0,
            per_100m2: finds * per_100m2,
            low: low * per_100m2,
            high: high * per_100m2,
            to_halve_m2: (times_to_halve(finds) - 1.0) * exposure_m2,
        })
    }

    /// The rate of counts by outing that differ as `shapes` has it. `None` when there was no ground.
    pub(in crate::reading) fn by_outing(groups: &[Group], shapes: &Shapes) -> Option<Self> {
        let rate = group_rate(groups, shapes)?;
        let finds: f64 = groups.iter().map(|g| g.count).sum();
        let exposure_m2: f64 = groups.iter().map(|g| g.exposure).sum();
        Some(Self {
            finds,
            exposure_m2,
            outings: groups.iter().filter(|g| g.exposure > 0.0).count(),
            per_100m2: 100.0 * rate.rate,
            low: 100.0 * rate.low,
            high: 100.0 * rate.high,
            to_halve_m2: (times_to_halve(finds) - 1.0) * exposure_m2,
        })
    }
}

/// How many times the ground is needed for an interval half as wide at the same rate.
fn times_to_halve(finds: f64) -> f64 {
    let width = |times: f64| {
        let (low, high) = poisson_interval(finds * times, COVERAGE);
        (high - low) / times
    };
    until_half_as_wide(width, 6.0)
}

/// How many times the ground is needed, at most `most`, until `width` is half of what it is at once the ground. On the scale
/// of logarithms a width falls nearly along a line, so that a few secants find it.
pub(super) fn until_half_as_wide(width: impl Fn(f64) -> f64, most: f64) -> f64 {
    let wanted = 0.5 * width(1.0);
    let over = |ln_times: f64| (width(ln_times.exp()) / wanted).ln();
    let (mut before, mut over_before) = (0.0, std::f64::consts::LN_2);
    let mut at = 4.0_f64.min(most).ln();
    for _ in 0..40 {
        let here = over(at);
        let slope = (here - over_before) / (at - before);
        let next = (at - here / slope).clamp(0.0, most.ln());
        (before, over_before) = (at, here);
        if (next - at).abs() <= 1e-11 || next.is_nan() {
            break;
        }
        at = next;
    }
    at.exp()
}
