//! Finds and signals by weight.

use egui::{Painter, Pos2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::widgets::marks::paint_mark;
use crate::app::widgets::theme::{Palette, palette};
use crate::query::drawing::{GroundShown, Mark};

/// Marks drawn at most; beyond that every n-th is left out and the legend says so.
const MOST_MARKS: usize = 20_000;
/// Picked marks that get a name of their own for assistive tools.
const MOST_NAMED: usize = 100;

pub(super) fn paint(ui: &Ui, painter: &Painter, canvas: Rect, look: &Look, shown: &FrameContext<'_>, state: &State) {
    if !state.plan.finds {
        return;
    }
    let p = palette(painter.ctx());
    let Some((marks, _)) = shown.marks() else { return };
    let lay = state.plan.lay_index();
    let (low, high) = look.places(canvas.expand(12.0));
    let visible = marks.within(lay, low, high);
    // Smaller over a picture of the ground, which is what is looked at then.
    let over_ground = state.plan.ground != GroundShown::Nothing;
    let scale = scale_of(look) * if over_ground { 0.7 } else { 1.0 };
    let every = visible.len().div_ceil(MOST_MARKS).max(1);
    let spotlight = shown.spotlight(&state.selection);
    for mark in visible.iter().step_by(every) {
        let faint = spotlight.is_on() && !spotlight.lights(mark.item) && !state.selection.holds(mark.item);
        paint_mark(painter, look.pos(mark.at[lay]), mark.shape, mark.size * scale, p, faint);
    }
    let mut named = 0;
    for mark in visible.iter().filter(|m| state.selection.holds(m.item) || state.selection.hovered == Some(m.item)) {
        let at = look.pos(mark.at[lay]);
        ring(painter, at, mark, scale, p, state.selection.lead == Some(mark.item));
        if state.selection.holds(mark.item) && named < MOST_NAMED {
            named += 1;
            let response =
                ui.interact(Rect::from_center_size(at, vec2(12.0, 12.0)), ui.scope_id().with(mark.item), Sense::hover());
            response.widget_info(|| WidgetInfo::labeled(Role::Mark, true, shown.name_of(mark.item)));
        }
    }
}

/// How large marks are at this magnification: never so large as to hide their neighbours.
fn scale_of(look: &Look) -> f32 {
    ((look.scale() * look.stretch().sqrt()) as f32).clamp(0.3, 4.0).powf(0.3) * 0.78
}

fn ring(painter: &Painter, at: Pos2, mark: &Mark, scale: f32, p: &Palette, lead: bool) {
    let r = 5.5 * mark.size * scale + 3.0;
    painter.circle_stroke(at, r, Stroke::new(if lead { 2.4 } else { 1.4 }, p.picked));
}
