//! How many finds a window must hold at the least for its replicate to matter.
//!
//! Once it is known which ratio a replicate must reach, each window's least number of finds follows from a bound on the ratio
//! and from what its exposure is expected to give at the least, the poorest cell's rate everywhere. A
//! window is then turned down by one comparison of whole numbers; those that are not are looked at as before, so that nothing
//! is passed over. One table for each step of that rate, made when it is first asked for.

use std::sync::OnceLock;

/// The tables of one plan for one ratio to be reached.
pub(super) struct Needs {
    enough: f32,
    /// The rate of all finds on all ground, ...
    rate: f32,
    /// ... and what is given by it in all.
    total: f32,
    steps: [OnceLock<Table>; STEPS],
}

/// At one rate.
pub(super) struct Table {
    /// For each trial the least number of finds, or as many as can be written.
    pub(super) least: Vec<u16>,
    /// The same for each trial of a block of rows: the least of any of its rows.
    pub(super) of_block: Vec<u16>,
    /// For each block and window the least that any window of the same shape with fewer rings needs there: those lie within it.
    pub(super) within: Vec<u16>,
}

/// Sums of finds expected, as differences of running sums, are rounded by less than this part of all of them.
pub(super) const ROUNDED: f32 = 2e-6;
/// Rates from that of all ground down, ...
const STEPS: usize = 12;
/// ... each so much of the one before it. A replicate whose poorest cell gives less than the last is looked at without.
const STEP: f32 = 0.95;
/// A replicate with more finds than this times what is expected of it is looked at without: sums are rounded by a part of all.
const MOST_FINDS: f32 = 2.0;

impl Needs {
    /// What it takes to reach so much where all ground gives finds at a rate, so many in all.
    pub(super) fn new(enough: f32, rate: f32, total: f32) -> Self {
        Self { enough, rate, total, steps: [const { OnceLock::new() }; STEPS] }
    }

    /// The table for a replicate whose poorest cell gives so much per m² of its exposure, and all of them together `total`;
    /// `made` makes one of what is to be reached, a rate, and by how much sums are rounded.
    pub(super) fn at(&self, poorest: f32, total: f32, made: impl FnOnce(f32, f32, f32) -> Table) -> Option<&Table> {
        let step = ((poorest / self.rate).ln() / STEP.ln()).max(0.0).ceil();
        // Of what is no number nothing is known.
        if !(step < STEPS as f32 && total <= MOST_FINDS * self.total) {
            return None;
        }
        let rounded = ROUNDED * MOST_FINDS * self.total;
        let rate = self.rate * STEP.powf(step);
        Some(self.steps[step as usize].get_or_init(|| made(self.enough, rate, rounded)))
    }
}

/// The least number of finds that passes, if more pass wherever fewer do.
pub(super) fn least_that(passes: impl Fn(u32) -> bool, near: u32) -> u32 {
    let (mut none, mut step) = (0_u32, 1_u32);
    let mut some = near;
    while !passes(some) {
        if some == u32::MAX {
            return some;
        }
        none = some;
        some = some.saturating_add(step);
        step = step.saturating_mul(2);
    }
    while some - none > 1 {
        let middle = none + (some - none) / 2;
        if passes(middle) { some = middle } else { none = middle }
    }
    some
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_that_passes_is_found_from_either_side() {
        for least in [1, 2, 3, 17, 400] {
            for near in [1, 2, 16, 17, 18, 5000] {
                assert_eq!(least_that(|n| n >= least, near), least, "{least} from {near}");
            }
        }
        assert_eq!(least_that(|_| false, 7), u32::MAX);
    }
}
