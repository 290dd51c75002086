//! How high the waves run up at one low: on the sand between low water and the highest water that the outing meets.

use super::planner::{Planner, Tide};
use crate::route::ground::dryness::Span;
use crate::sea::{RunUp, Sea, USUAL_RUN_UP_M};
use crate::tide::Turn;

/// After the last step on the sand somebody late may still be walking out, seconds.
const AFTER_S: i32 = 3600;
/// Between two readings of the water, seconds.
const STEP_S: i32 = 600;

impl Planner<'_> {
    /// The run-up that is kept at a low while the outing lasts: worked out for the roughest sea of those hours, and
    /// never less than what was asked for.
    pub(in crate::route) fn run_up(&self, low: &Turn, tide: &Tide, window: Span) -> RunUp {
        let (setting, params) = (self.asked.setting, self.asked.params);
        let (from_s, to_s) = (window.from_s.min(0), window.to_s.max(0) + AFTER_S);
        let highest_m = (from_s..=to_s)
            .step_by(STEP_S as usize)
            .filter_map(|s| self.water.height_m(tide.dryness.time(s)))
            .fold(low.level_m, f64::max);
        let typed = setting.sea.typed_m.is_some() || params.run_up_m != USUAL_RUN_UP_M;
        let sea = Sea {
            asked: params.sea.or(setting.sea.asked),
            typed_m: typed.then_some(params.run_up_m),
            held_m: params.surge.residual_m,
            ..setting.sea.clone()
        };
        let foreshore = setting.foreshore((low.level_m, highest_m));
        sea.highest(foreshore, tide.dryness.time(from_s), tide.dryness.time(to_s))
    }
}
