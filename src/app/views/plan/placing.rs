//! Where a thing in the form lies, set on Plan: clicked, dragged, or moved by the arrow keys; and the baseline while it is
//! drawn. Nothing is placed that nobody placed.

use egui::{
    Align2, Event, EventFilter, Key, Modifiers, Painter, PointerButton, Pos2, Rect, Response, Shape, Stroke, Ui, pos2, vec2,
};

use crate::app::state::camera::Look;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::theme::{self, palette};
use crate::earth::LonLat;
use crate::query::drawing::Land;

/// How near the mark must be to be taken hold of, points.
const REACH: f32 = 12.0;
/// How far an arrow key moves it, and with Shift, metres on the ground.
const STEP_M: (f64, f64) = (1.0, 10.0);

/// What pointer and keyboard do with the place of the form or the line that is drawn; `true` when they are taken by it.
pub(super) fn steer(ui: &Ui, response: &Response, state: &mut State, land: &Land) -> bool {
    let (look, lay) = (state.plan.camera().onto(response.rect), state.plan.lay_index());
    let place = |p: Pos2| land.placing.to_lonlat(lay, look.spot(p)).ok();
    if state.plan.drawing.is_some() {
        return draw(ui, response, state, place);
    }
    let Some(draft) = state.placed_draft() else {
        state.plan.drags_draft = false;
        return false;
    };
    let here = draft.place();
    let at = here.and_then(|at| land.placing.of_lonlat(at).ok()).map(|b| look.pos(b[lay]));
    let pos = response.interact_pointer_pos().or(response.hover_pos());
    let near = |p: Pos2| at.is_some_and(|at| at.distance(p) <= REACH);
    if response.clicked()
        && let Some(at) = response.interact_pointer_pos().and_then(place)
    {
        response.request_focus();
        draft.set_place(at, response.id);
        return true;
    }
    if response.drag_started_by(PointerButton::Primary) && ui.input(|i| i.pointer.press_origin()).is_some_and(near) {
        response.request_focus();
        state.plan.drags_draft = true;
    }
    if state.plan.drags_draft {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grabbing);
        if let (Some(at), Some(draft)) = (pos.and_then(place), state.placed_draft()) {
            draft.set_place(at, response.id);
        }
        state.plan.drags_draft = !response.drag_stopped();
        return true;
    }
    if response.hovered() {
        // What lies under the pointer is no matter while a place is wanted.
        state.selection.hovered = None;
        ui.ctx().set_cursor_icon(if pos.is_some_and(near) { egui::CursorIcon::Grab } else { egui::CursorIcon::Crosshair });
    }
    arrows(ui, response, state, land, here)
}

/// Moves the place by the arrow keys while Plan has the keyboard.
fn arrows(ui: &Ui, response: &Response, state: &mut State, land: &Land, here: Option<LonLat>) -> bool {
    let (Some(here), true) = (here, response.has_focus()) else { return false };
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    let mut by = [0.0_f64; 2];
    for event in ui.input(|i| i.filtered_events(&filter)) {
        let Event::Key { key, pressed: true, modifiers, .. } = event else { continue };
        if modifiers.command {
            continue;
        }
        let step = if modifiers.shift { STEP_M.1 } else { STEP_M.0 };
        match key {
            Key::ArrowLeft => by[0] -= step,
            Key::ArrowRight => by[0] += step,
            Key::ArrowUp => by[1] -= step,
            Key::ArrowDown => by[1] += step,
            _ => {}
        }
    }
    if by == [0.0; 2] {
        return false;
    }
    let lay = state.plan.lay_index();
    let Ok(drawn) = land.placing.of_lonlat(here) else { return false };
    let spot = [drawn[lay][0] + by[0] as f32, drawn[lay][1] + by[1] as f32];
    if let (Ok(at), Some(draft)) = (land.placing.to_lonlat(lay, spot), state.placed_draft()) {
        draft.set_place(at, response.id);
    }
    true
}

/// Clicks add to the baseline; Backspace takes the last one away, Escape all of it.
fn draw(ui: &Ui, response: &Response, state: &mut State, place: impl Fn(Pos2) -> Option<LonLat>) -> bool {
    let Some(line) = &mut state.plan.drawing else { return false };
    if response.hovered() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Crosshair);
    }
    if ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Backspace)) {
        line.pop();
    }
    if ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Escape)) {
        state.plan.drawing = None;
        return true;
    }
    if response.clicked()
        && let Some(at) = response.interact_pointer_pos().and_then(place)
    {
        response.request_focus();
        line.push(at);
        return true;
    }
    false
}

/// The place in the form, or the line that is drawn, with what can be done.
pub(super) fn paint(painter: &Painter, canvas: Rect, look: &Look, state: &mut State, land: &Land) {
    let (p, lay) = (palette(painter.ctx()), state.plan.lay_index());
    let pos = |at: LonLat| land.placing.of_lonlat(at).ok().map(|b| look.pos(b[lay]));
    if let Some(line) = &state.plan.drawing {
        let spots: Vec<Pos2> = line.iter().filter_map(|at| pos(*at)).collect();
        painter.add(Shape::line(spots.clone(), Stroke::new(2.5, p.picked)));
        for at in spots {
            painter.circle(at, 4.0, p.card, Stroke::new(2.0, p.picked));
        }
        return;
    }
    let Some(draft) = state.placed_draft() else { return };
    let at = draft.place();
    let said = match at {
        Some(_) => "click or drag to move it; arrow keys: a metre, with Shift ten",
        None => "click where it lies",
    };
    // A line of its own at the foot, as what stands at the top is names.
    let text = theme::bold_font(13.0);
    let rect = theme::halo_text(painter, canvas.center_bottom() - vec2(0.0, 8.0), Align2::CENTER_BOTTOM, said, text, p.ink);
    painter.hline(rect.x_range(), rect.bottom() + 2.0, Stroke::new(1.5, p.picked));
    let Some(at) = at.and_then(pos) else { return };
    // A ring with four ticks: what lies under it stays to be seen.
    painter.circle_stroke(at, 9.0, Stroke::new(4.0, p.card));
    painter.circle_stroke(at, 9.0, Stroke::new(2.0, p.picked));
    for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        let to = vec2(dx, dy);
        painter.line_segment([at + to * 5.0, at + to * 15.0], Stroke::new(2.0, p.picked));
    }
}

/// Moves the view so that what was just kept is seen.
pub(super) fn bring_into_view(shown: &FrameContext<'_>, state: &mut State, canvas: Rect) {
    let Some(item) = state.plan.bring_into_view else { return };
    let lay = state.plan.lay_index();
    let Some(mark) = shown.marks().and_then(|(marks, _)| marks.get(item)) else {
        // Of an access or an outing there is no mark.
        if !matches!(item, crate::query::Item::Find(_) | crate::query::Item::Signal(_)) {
            state.plan.bring_into_view = None;
        }
        return;
    };
    let spot = mark.at[lay];
    state.plan.bring_into_view = None;
    let at = state.plan.camera().onto(canvas).pos(spot);
    if !canvas.shrink(16.0).contains(at) {
        let to = canvas.center();
        state.plan.camera_mut().pan(pos2(to.x, to.y) - at);
    }
}
