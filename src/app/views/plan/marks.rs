//! Finds and signals by weight.

use egui::{Painter, Rect, Stroke};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::widgets::crowd::Style;
use crate::app::widgets::theme::palette;
use crate::query::drawing::GroundShown;

pub(super) fn paint(painter: &Painter, canvas: Rect, look: &Look, shown: &FrameContext<'_>, state: &mut State) {
    let Some((marks, _)) = shown.marks().filter(|_| state.plan.finds) else {
        state.plan.crowd.left_out = 0;
        return;
    };
    let lay = state.plan.lay_index();
    // Smaller over a picture of the ground, which is what is looked at then.
    let over_ground = state.plan.ground != GroundShown::Nothing;
    // And on a small drawing, where they stand close.
    let close = (canvas.height() / 320.0).clamp(0.7, 1.0);
    let scale = scale_of(look) * close * if over_ground { 0.7 } else { 1.0 };
    let style = Style { scale, ring: (3.0, 5.5), widths: (1.4, 2.4) };
    let (low, high) = look.places(canvas.expand(12.0));
    let key = (marks.serial, lay, state.plan.camera(), canvas);
    let at = |number: u32| Some(look.pos(marks.spots[number as usize].at[lay]));
    let crowd = &mut state.plan.crowd;
    crowd.lay(key, canvas, marks, || marks.numbers_within(lay, low, high), at);
    let in_view = |number: u32| at(number).filter(|at| canvas.expand(12.0).contains(*at));
    crowd.show(painter, marks, shown, &state.selection, style, in_view);
    if let Some(mark) = state.selection.hovered.and_then(|item| marks.get(item))
        && !state.selection.holds(mark.item)
    {
        let stroke = Stroke::new(style.widths.0, palette(painter.ctx()).picked);
        painter.circle_stroke(look.pos(mark.at[lay]), style.radius(mark), stroke);
    }
}

/// How large marks are at this magnification: never so large as to hide their neighbours.
fn scale_of(look: &Look) -> f32 {
    ((look.scale() * look.stretch().sqrt()) as f32).clamp(0.3, 4.0).powf(0.3) * 0.78
}
