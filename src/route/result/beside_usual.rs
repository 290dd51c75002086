use std::collections::BTreeMap;

use jiff::Timestamp;

use super::route::Route;
use crate::route::params::{BlockId, Params};

/// A pace or a height that differs by no more than this is the same, metres a second and metres.
const SAME: f64 = 1e-6;

impl Params {
    /// What is worse than with other settings: pace, surge, waves.
    fn worse_than(&self, other: &Self) -> Vec<&'static str> {
        let all = [
            (self.walk_out_m_s < other.walk_out_m_s - SAME, "a slower pace"),
            (self.surge.residual_m > other.surge.residual_m + SAME, "a higher surge"),
            (self.run_up_m > other.run_up_m + SAME, "waves that run up higher"),
        ];
        all.into_iter().filter_map(|(is_worse, what)| is_worse.then_some(what)).collect()
    }
}

impl Route {
    /// That it has other blocks than the route for the same low with the usual pace and weather, or ends later than that, and
    /// why it may; `None` where nothing that it was planned with is worse, or it has the same blocks and ends no later.
    pub fn beside_usual(&self, usual: &Self, hour: impl Fn(Timestamp) -> String) -> Option<String> {
        let worse = self.params.worse_than(&usual.params);
        let leave_by =
            |route: &Self| -> BTreeMap<BlockId, Timestamp> { route.visits.iter().map(|v| (v.block, v.leave_by)).collect() };
        let (here, there) = (leave_by(self), leave_by(usual));
        let (is_same, is_later) = (here.keys().eq(there.keys()), self.off_sand_by() > usual.off_sand_by());
        if worse.is_empty() || (is_same && !is_later) {
            return None;
        }
        let other = if is_same { "Another way over the blocks" } else { "Other blocks" };
        let mut said = format!(
            "{other} than with your usual pace and weather, as this is planned for {}: the usual plan of this low has {} blocks and is off the sand by {}, this one has {} and is off it by {}.",
            worse.join(" and "),
            there.len(),
            hour(usual.off_sand_by()),
            here.len(),
            hour(self.off_sand_by())
        );
        let shared: Vec<bool> = here.iter().filter_map(|(block, by)| Some(by <= there.get(block)?)).collect();
        if !shared.is_empty() && shared.iter().all(|no_later| *no_later) {
            said += " No block of both is to be left later than there";
            said += if is_later { ": it ends later for the blocks it has, and not for more time on any." } else { "." };
        }
        Some(said)
    }
}
