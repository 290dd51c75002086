//! What lies under a position of the screen.

use egui::{Rect, vec2};

use super::verdicts;
use crate::app::state::camera::Look;
use crate::app::state::{FrameContext, State};
use crate::query::Item;
use crate::query::drawing::{Area, AreaKind, DrawnPlace};

/// How near the pointer must come to a mark, points.
const REACH: f32 = 9.0;

/// The item under a position of the screen: a mark if one is near, else what lies there.
pub(super) fn item_at(shown: &FrameContext<'_>, state: &State, look: &Look, pos: egui::Pos2) -> Option<Item> {
    let lay = state.plan.lay_index();
    let spot = look.spot(pos);
    let (low, high) = look.places(Rect::from_center_size(pos, vec2(2.0, 2.0) * REACH));
    if state.plan.finds
        && let Some(marks) = shown.marks().map(|(marks, _)| marks)
    {
        let near = marks.within(lay, low, high).into_iter().map(|m| (look.pos(m.at[lay]).distance(pos), m.item));
        if let Some((_, item)) = near.filter(|(d, _)| *d <= REACH).min_by(|a, b| a.0.total_cmp(&b.0)) {
            return Some(item);
        }
    }
    if let Some(item) = verdicts::at(shown, state, look, pos) {
        return Some(item);
    }
    let outlines = shown.outlines().map(|(outlines, _)| outlines).filter(|_| state.plan.zones)?;
    let near = |at: &DrawnPlace| look.pos(at[lay]).distance(pos) < REACH * 1.5;
    if let Some((item, ..)) = outlines.accesses.iter().find(|(_, _, at)| near(at)) {
        return Some(*item);
    }
    let inside = |a: &&Area| a.kind != AreaKind::Permission && a.fill.holds(lay, spot);
    outlines.areas.iter().rev().find(inside).map(|a| a.item)
}
