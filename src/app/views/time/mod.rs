//! Time: the tide with its daylight, and what happened when. Dragging along it moves the water.

mod axis;
mod expected;
mod light;
mod paint;
mod tide;
mod turns;
mod weather;

use egui::{Event, EventFilter, Key, PointerButton, Rect, Response, Role, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::clock::{STEP_S, seconds};
use crate::app::state::time::SPANS;
use crate::app::widgets::canvas::{self, frame_edge};
use crate::app::widgets::controls::choice;
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme;
use crate::app::widgets::{item_card, named_marks};
use crate::query::drawing::{Span, instant};
use crate::tide::rounded;
use axis::Axis;

/// Height of the strip under the curve that names the hours, points.
const FEET: f32 = 20.0;
/// Width of the strip beside the curve that names the levels, points.
const SIDE: f32 = 34.0;
/// Room that the names of spans take, points.
const WORDS: f32 = 270.0;
/// With less room than this what is pressed over the curve stands close, points.
const TIGHT: f32 = 345.0;
/// With less room than this the tide's source is not named over the curve, points; Next low names it too.
const SOURCE: f32 = 70.0;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let whole = ui.available_rect_before_wrap();
    // All of it is taken, or the panel would shrink to the canvas.
    ui.expand_to_include_rect(whole);
    let head = Rect::from_min_size(whole.min, vec2(whole.width(), canvas::head(ui.ctx())));
    let canvas = Rect::from_min_max(pos2(whole.left() + SIDE, head.bottom()), pos2(whole.right(), whole.bottom() - FEET));
    let keyed = ui.scope_builder(UiBuilder::new().max_rect(head), |ui| controls(ui, shown, state)).inner;
    let response = ui.allocate_rect(canvas, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, format!("Time: {}", said(shown, state))));
    let axis = Axis::over(canvas, state.time.span, shown);
    steer(ui, &response, shown, state, &axis);
    let axis = Axis::over(canvas, state.time.span, shown);
    state.time.axis = Some(axis);
    state.time.next_low = paint::paint(ui, canvas, &axis, shown, state, keyed);
    named_marks::show(ui, &response, "Time", shown, &mut state.selection, || paint::named(&axis, shown));
    frame_edge(ui, canvas, response.has_focus());
    if let Some(item) = state.selection.hovered
        && response.hovered()
        && !response.dragged()
    {
        item_card::at_pointer(shown, &response, item);
    }
}

/// Where a turn of the tide is drawn.
pub(crate) fn position(axis: &Axis, turn: &crate::tide::Turn) -> egui::Pos2 {
    pos2(axis.x(seconds(turn.time)), axis.y(turn.level_m))
}

/// The instant and its water in one line.
pub(crate) fn said(shown: &FrameContext<'_>, state: &State) -> String {
    let at = state.clock.at;
    let mut said = shown.time(at, "%a %-d %b %Y %H:%M %Z");
    if let (Some(level), Some(water)) = (shown.water_m(at), shown.water()) {
        said += &format!(", water {:.1} m above {}, {}", rounded(level, 1), water.datum().words(), shown.trend(at));
        if let Some(curve) = shown.tide_curve().filter(|c| !c.lit.is_empty()) {
            said += if light::day_of(curve, at).is_some() { ", daylight" } else { ", the sun is down" };
        }
        said += &weather::said(shown, at, level).map_or_else(String::new, |more| format!(", {more}"));
    }
    said
}

/// The line over the drawing; whether it says what the hatching of the expected water means.
fn controls(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let line = ui.horizontal_centered(|ui| {
        canvas::low_controls(ui);
        // All of it is to be in view, the length of the span at its end.
        let tight = ui.available_width() < TIGHT;
        if tight {
            ui.spacing_mut().item_spacing.x = 3.0;
            ui.spacing_mut().button_padding.x = 3.0;
        }
        ui.label(theme::strong("Time"));
        ui.add_space(if tight { 0.0 } else { 4.0 });
        let play = if state.clock.playing { "pause" } else { "play" };
        if ui.button(play).on_hover_text("Let time run (space)").clicked() {
            state.clock.playing = !state.clock.playing;
        }
        if ui.button("< low").on_hover_text("To the low water before (<)").clicked() {
            state.go_to_low(shown, false);
        }
        if ui.button("low >").on_hover_text("To the next low water (>)").clicked() {
            state.go_to_low(shown, true);
        }
        if ui.button("now").on_hover_text("To the present moment").clicked() {
            state.go_to_now(shown.now);
        }
        ui.add_space(if tight { 0.0 } else { 6.0 });
        spans(ui, state);
        let layout = egui::Layout::right_to_left(egui::Align::Center);
        let line = ui.with_layout(layout, |ui| {
            let expected = shown.tide_curve().filter(|c| !c.heights.is_empty() && state.time.span.to_s > seconds(shown.now));
            let surge = expected.and_then(|curve| expected::from(curve, shown)).map(|(surge, _)| surge);
            let keyed = surge.is_some_and(|surge| expected::key_over(ui, surge, theme::palette(ui.ctx())));
            if ui.available_width() < SOURCE {
                return keyed;
            }
            let offset = state.clock.at.to_zoned_datetime(shown.zone.clone()).strftime("UTC%:z").to_string();
            let source = theme::soft(ui, shown.source_line()).size(12.5);
            let whole = format!("{}; times on the beach's clock, {offset}", shown.source_line());
            ui.add(egui::Label::new(source).truncate()).on_hover_text(whole);
            keyed
        });
        line.inner
    });
    line.inner
}

/// How much time is shown: words, or a list where there is no room for them.
fn spans(ui: &mut Ui, state: &mut State) {
    let is_chosen = |state: &State, length: f64| (state.time.span.length_s() - length).abs() < 1.0;
    if ui.available_width() >= WORDS {
        for (name, length) in SPANS {
            if choice(ui, is_chosen(state, length), name).clicked() {
                state.time.span = Span::around(state.clock.at, length);
            }
        }
        return;
    }
    let now = SPANS.iter().find(|(_, length)| is_chosen(state, *length)).map_or("another span", |(name, _)| name);
    let list = egui::ComboBox::from_id_salt("span").selected_text(now).width(60.0).offer(ui, |ui| {
        for (name, length) in SPANS {
            if ui.selectable_label(is_chosen(state, length), name).clicked() {
                state.time.span = Span::around(state.clock.at, length);
            }
        }
    });
    list.response.accessible_name("span of time");
}

fn steer(ui: &Ui, response: &Response, shown: &FrameContext<'_>, state: &mut State, axis: &Axis) {
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    if response.hovered() {
        let (scroll, pinch, pointer) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta(), i.pointer.hover_pos()));
        let factor = (f64::from(-scroll.y) / 240.0).exp() / f64::from(pinch);
        if let Some(p) = pointer.filter(|_| (factor - 1.0).abs() > 1e-6) {
            state.time.span = state.time.span.zoomed(factor, axis.time_s(p.x));
        }
        if scroll.x != 0.0 {
            state.time.span = state.time.span.moved(-f64::from(scroll.x) * axis.seconds_per_point());
        }
    }
    if response.drag_started() {
        let secondary = response.drag_started_by(PointerButton::Secondary) || response.drag_started_by(PointerButton::Middle);
        state.time.pans = secondary || ui.input(|i| i.modifiers.shift);
        state.clock.playing = false;
    }
    let pos = response.interact_pointer_pos();
    if response.dragged() && state.time.pans {
        state.time.span = state.time.span.moved(-f64::from(response.drag_delta().x) * axis.seconds_per_point());
    } else if let Some(p) = pos.filter(|_| response.dragged() || response.clicked()) {
        let picked = paint::item_at(axis, shown, p);
        match picked.filter(|_| response.clicked()) {
            Some(item) => state.selection.only(item),
            None => {
                if let Ok(at) = instant(axis.time_s(p.x.clamp(axis.rect.left(), axis.rect.right()))) {
                    state.clock.at = at;
                }
            }
        }
    }
    if response.contains_pointer() {
        state.selection.hovered = response.hover_pos().and_then(|p| paint::item_at(axis, shown, p));
    }
    keys(ui, response, shown, state, axis);
}

fn keys(ui: &Ui, response: &Response, shown: &FrameContext<'_>, state: &mut State, axis: &Axis) {
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    for event in ui.input(|i| i.filtered_events(&filter)) {
        let Event::Key { key, pressed: true, modifiers, .. } = event else { continue };
        if modifiers.command {
            continue;
        }
        let at_s = seconds(state.clock.at);
        match key {
            Key::ArrowLeft => state.step(-STEP_S),
            Key::ArrowRight => state.step(STEP_S),
            Key::Plus | Key::Equals => state.time.span = state.time.span.zoomed(0.7, at_s),
            Key::Minus => state.time.span = state.time.span.zoomed(1.0 / 0.7, at_s),
            Key::Home => state.go_to(shown.now),
            Key::PageDown | Key::PageUp => {
                if let Some(item) = paint::step(axis, shown, state.selection.lead, key == Key::PageDown) {
                    state.selection.only(item);
                }
            }
            _ => {}
        }
    }
}
