//! What pointer and keyboard do on the canvas: pan, zoom, point, pick, box-pick, move the section.

use egui::{Event, EventFilter, Key, PointerButton, Response, Ui, Vec2, vec2};

use super::pointed::item_at;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::{Look, between, from_middle};
use crate::app::state::plan_drawn::Seen;
use crate::query::Item;
use crate::query::drawing::Land;

/// Points of the screen by which an arrow key moves.
const ARROW_STEP: f32 = 60.0;
/// Factor by which one press of + or - magnifies.
const KEY_ZOOM: f64 = 1.35;
/// How near the section's line must be to be taken hold of, points.
const LINE_REACH: f32 = 6.0;

pub(super) fn steer(ui: &Ui, response: &Response, shown: &FrameContext<'_>, state: &mut State, land: &Land) {
    wheel(ui, response, state);
    keys(ui, response, shown, state);
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let look = state.plan.camera().onto(response.rect);
    let pos = response.interact_pointer_pos().or(response.hover_pos());
    let seen = Seen { look, lay: state.plan.lay_index() };
    let line_x = super::furniture::section_line(state.plan.section_along_m(land), land, &seen).map(|l| l[0].x);
    let on_line = pos.zip(line_x).is_some_and(|(p, x)| (p.x - x).abs() <= LINE_REACH && state.plan.box_from.is_none());
    let shift = ui.input(|i| i.modifiers.shift);
    if response.drag_started_by(PointerButton::Primary) {
        let from = ui.input(|i| i.pointer.press_origin());
        let grabbed = from.zip(line_x).is_some_and(|(p, x)| (p.x - x).abs() <= LINE_REACH);
        if shift {
            state.plan.box_from = from;
        } else if grabbed {
            state.plan.drags_line = true;
        }
    }
    if response.drag_stopped() {
        state.plan.drags_line = false;
        if let (Some(from), Some(to)) = (state.plan.box_from.take(), pos) {
            pick_box(shown, state, &look, from, to);
        }
    }
    if response.dragged() {
        if state.plan.drags_line {
            if let Some(s) = pos.and_then(|p| land.placing.to_shore(state.plan.lay_index(), look.spot(p))) {
                state.plan.along_m = Some(s.along_m);
            }
        } else if state.plan.box_from.is_none() {
            let delta = response.drag_delta();
            state.plan.camera_mut().pan(delta);
        }
    }
    state.selection.hovered = match pos.filter(|_| response.hovered() && !response.dragged()) {
        Some(p) => item_at(shown, state, &look, p),
        // Another view may be pointing at something.
        None if response.contains_pointer() => None,
        None => state.selection.hovered,
    };
    if on_line && state.selection.hovered.is_none() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
    }
    if response.clicked() {
        match state.selection.hovered {
            Some(item) if shift || ui.input(|i| i.modifiers.command) => state.selection.toggle(item),
            Some(item) => state.selection.only(item),
            None => state.selection.clear(),
        }
    }
    if response.double_clicked()
        && let Some(s) = pos.and_then(|p| land.placing.to_shore(state.plan.lay_index(), look.spot(p)))
        && state.selection.hovered.is_none()
    {
        state.plan.along_m = Some(s.along_m);
    }
}

fn wheel(ui: &Ui, response: &Response, state: &mut State) {
    if !response.hovered() {
        return;
    }
    let (scroll, pinch, pointer) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta(), i.pointer.hover_pos()));
    let factor = f64::from(pinch) * (f64::from(scroll.y) / 240.0).exp();
    if (factor - 1.0).abs() > 1e-6
        && let Some(p) = pointer
    {
        state.plan.camera_mut().zoom(factor, from_middle(response.rect, p));
    }
}

fn keys(ui: &Ui, response: &Response, shown: &FrameContext<'_>, state: &mut State) {
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    let mut pan = Vec2::ZERO;
    let mut zoom = 1.0;
    let mut fit = false;
    let mut step = None;
    ui.input(|i| {
        for event in i.filtered_events(&filter) {
            match event {
                Event::Key { key, pressed: true, modifiers, .. } if !modifiers.command => match key {
                    Key::ArrowLeft => pan += vec2(ARROW_STEP, 0.0),
                    Key::ArrowRight => pan -= vec2(ARROW_STEP, 0.0),
                    Key::ArrowUp => pan += vec2(0.0, ARROW_STEP),
                    Key::ArrowDown => pan -= vec2(0.0, ARROW_STEP),
                    Key::Plus | Key::Equals => zoom *= KEY_ZOOM,
                    Key::Minus => zoom /= KEY_ZOOM,
                    Key::Home | Key::Num0 => fit = true,
                    Key::PageDown => step = Some(true),
                    Key::PageUp => step = Some(false),
                    _ => {}
                },
                _ => {}
            }
        }
    });
    if let (Some(forward), Some((marks, _))) = (step, shown.marks()) {
        let from = state.selection.lead.and_then(|lead| marks.number(lead));
        if let Some(to) = state.plan.crowd.step(from, forward) {
            state.selection.only(marks.all[to as usize].item);
        }
    }
    if fit {
        state.plan.fit();
    } else if pan != Vec2::ZERO || zoom != 1.0 {
        let camera = state.plan.camera_mut();
        camera.pan(pan);
        camera.zoom(zoom, Vec2::ZERO);
    }
}

fn pick_box(shown: &FrameContext<'_>, state: &mut State, look: &Look, from: egui::Pos2, to: egui::Pos2) {
    let Some((marks, _)) = shown.marks() else { return };
    let (low, high) = look.places(between(from, to));
    let picked: Vec<Item> = marks.within(state.plan.lay_index(), low, high).into_iter().map(|m| m.item).collect();
    state.selection.these(picked);
}
