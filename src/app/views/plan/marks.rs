//! Finds and signals by weight.

use egui::{Color32, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, vec2};

use super::camera::Look;
use crate::app::State;
use crate::app::derived::{GroundShown, Mark, MarkShape};
use crate::app::state::Shown;
use crate::app::widgets::theme::{Palette, palette};

/// Marks drawn at most; beyond that every n-th is left out and the legend says so.
const MOST_MARKS: usize = 20_000;
/// Picked marks that get a name of their own for assistive tools.
const MOST_NAMED: usize = 100;

pub(super) fn paint(ui: &Ui, painter: &Painter, canvas: Rect, look: &Look, shown: &Shown<'_>, state: &State) {
    if !state.plan.finds {
        return;
    }
    let p = palette(painter.ctx());
    let Some(marks) = shown.derived.marks.value() else { return };
    let lay = state.plan.lay_index();
    let (low, high) = look.places(canvas.expand(12.0));
    let visible = marks.within(lay, low, high);
    // Smaller over a picture of the ground, which is what is looked at then.
    let over_ground = state.plan.ground != GroundShown::Nothing;
    let scale = scale_of(look) * if over_ground { 0.7 } else { 1.0 };
    let every = visible.len().div_ceil(MOST_MARKS).max(1);
    let spotlight = shown.spotlight(state);
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

/// One mark: the shape carries the meaning, colour only helps.
pub(in crate::app) fn paint_mark(painter: &Painter, at: Pos2, shape: MarkShape, size: f32, p: &Palette, faint: bool) {
    let tone = |c: Color32| if faint { c.gamma_multiply(0.28) } else { c };
    let halo = Stroke::new(0.8, tone(p.card));
    match shape {
        MarkShape::Heavy => {
            let r = 4.6 * size;
            let corners = vec![at + vec2(0.0, -r), at + vec2(r, 0.0), at + vec2(0.0, r), at + vec2(-r, 0.0)];
            painter.add(Shape::convex_polygon(corners, tone(p.heavy), halo));
        }
        MarkShape::Light => {
            painter.circle(at, 2.6 * size, tone(p.light), halo);
        }
        MarkShape::Undug => {
            painter.circle_stroke(at, 3.4 * size, Stroke::new(1.2, tone(p.undug)));
        }
        MarkShape::Rubbish => {
            let half = 3.2 * size;
            painter.line_segment([at - vec2(half, 0.0), at + vec2(half, 0.0)], Stroke::new(1.8, tone(p.rubbish)));
        }
        MarkShape::Unknown => {
            let square = Rect::from_center_size(at, vec2(5.2, 5.2) * size);
            painter.rect_stroke(square, 0.0, Stroke::new(1.2, tone(p.soft)), egui::StrokeKind::Middle);
        }
        MarkShape::Danger => {
            let r = 5.4 * size;
            let corners = vec![at + vec2(0.0, -r), at + vec2(r, 0.8 * r), at + vec2(-r, 0.8 * r)];
            painter.add(Shape::convex_polygon(corners, tone(p.danger), halo));
        }
    }
}
