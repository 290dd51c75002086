//! The chance that a new target is of a kind that was not read.
//!
//! How many kinds lie about is not known. Each number of kinds is weighed by how likely it is that targets drawn from so
//! many would have fallen on kinds as those that were read did, with the kinds' shares drawn from a Dirichlet
//! distribution (Miller & Harrison 2018, *Mixture models with a prior on the number of components*, on the partition;
//! from memory). Targets that are nearly all the only ones of their kind say that many kinds are still to come, targets
//! that fall on few kinds again and again that there are hardly more.

use statrs::function::gamma::ln_gamma;

/// Numbers of kinds that are thought of; each less likely before than the last, by this power, which was tuned on simulated
/// benches.
const KINDS: std::ops::RangeInclusive<usize> = 2..=60;
const FALLS: f64 = 1.8;
/// How evenly kinds may be shared out: the Dirichlet's parameter.
const EVENNESS: [f64; 3] = [0.5, 1.0, 3.0];

/// The chance that the next target is of none of the kinds that were read, by how many targets each was read on.
pub(super) fn unread(targets: &[usize]) -> f64 {
    let (read, all) = (targets.len() as f64, targets.iter().sum::<usize>() as f64);
    let most = (*KINDS.end()).max(2 * targets.len());
    let mut weighed: Vec<(f64, f64)> = Vec::new();
    for even in EVENNESS {
        let fell: f64 = targets.iter().map(|n| ln_gamma(even + *n as f64) - ln_gamma(even)).sum();
        for kinds in (targets.len().max(*KINDS.start())..=most).map(|k| k as f64) {
            let which = ln_gamma(kinds + 1.0) - ln_gamma(kinds - read + 1.0);
            let ln = which + ln_gamma(kinds * even) - ln_gamma(kinds * even + all) + fell - FALLS * kinds.ln();
            weighed.push((ln, even * (kinds - read) / (kinds * even + all)));
        }
    }
    let top = weighed.iter().map(|w| w.0).fold(f64::NEG_INFINITY, f64::max);
    let (sum, whole) = weighed.iter().fold((0.0, 0.0), |(sum, whole), (ln, chance)| {
        let weight = (ln - top).exp();
        (sum + weight * chance, whole + weight)
    });
    sum / whole
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By a sum over 2 to 60 kinds in Python 3.13 with `math.lgamma`, written apart from this.
    #[test]
    fn it_is_what_another_sum_gives() {
        for (targets, chance) in [(&[1][..], 0.5716), (&[1, 1], 0.4362), (&[3, 3], 0.0686), (&[5, 4, 3, 2, 1, 1], 0.1145)] {
            assert!((unread(targets) - chance).abs() < 1e-4, "{targets:?} {}", unread(targets));
        }
    }

    #[test]
    fn kinds_met_once_foretell_others_and_kinds_met_often_do_not() {
        assert!(unread(&[1; 8]) > 0.5 && unread(&[4, 4]) < 0.1, "{} {}", unread(&[1; 8]), unread(&[4, 4]));
        assert!(unread(&[30_000, 20_000, 1]) < 0.01 && unread(&vec![3; 200]) < 0.5);
    }
}
