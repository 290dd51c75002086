//! Whether an access serves as a way off at a low.

use jiff::{SignedDuration, Timestamp};

use super::not_off::NotOff;
use crate::route::accesses::key_of;
use crate::route::ground::footing::Footing;
use crate::route::ground::planner::{Planner, Tide};
use crate::tide::{Turn, TurnKind};

/// How far after a low its high water is looked for, and after that the next time that the way is dry.
const AHEAD: SignedDuration = SignedDuration::from_hours(15);
/// Between two readings of the water.
const STEP: SignedDuration = SignedDuration::from_mins(5);

impl Planner<'_> {
    /// Whether an access serves as a way off at this low: not where the high water after it covers or cuts it off, unless the
    /// person has looked into it.
    pub(in crate::route) fn not_off(&self, tide: &Tide, low: Timestamp, access: usize, margin_m: f64) -> Option<NotOff> {
        let Footing { own_m, way_m } = self.footings.get(access).copied().flatten()?;
        let name = &self.accesses.get(access)?.0.name;
        let looked_into = |t: &crate::trust::Told| t.confirmed.is_some() && t.doubt.key.starts_with(&key_of(name));
        if self.asked.doubts.iter().any(looked_into) {
            return None;
        }
        let turns = self.water.turns(low, low + AHEAD).into_iter();
        let high: Turn = turns.filter(|t| t.kind == TurnKind::High).max_by(|a, b| a.level_m.total_cmp(&b.level_m))?;
        let (own_m, way_m) = (own_m - margin_m, way_m - margin_m);
        if way_m >= high.level_m {
            return None;
        }
        let gone = |level_m: f64| tide.dryness.span(level_m).map(|s| tide.dryness.time(s.to_s));
        let dry_again = |t: &Timestamp| self.water.height_m(*t).is_some_and(|m| m < way_m);
        let mut later = std::iter::successors(Some(high.time), |t| Some(*t + STEP)).take_while(|t| *t <= high.time + AHEAD);
        Some(NotOff {
            access: name.clone(),
            under: (own_m < high.level_m).then(|| gone(own_m).unwrap_or(low)),
            cut: way_m.is_finite().then(|| gone(way_m).unwrap_or(low)),
            until: later.find(dry_again),
        })
    }
}
