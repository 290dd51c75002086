//! What the drawings of several views have alike: the lines over and under them, their edge, the words of an axis.

use egui::{Context, CornerRadius, Rect, Stroke, StrokeKind, Ui};

use super::theme::{FOCUS, palette};

/// A window lower than this is a low one, points: the drawings have more of it and what stands about them less.
const LOW: f32 = 480.0;

/// Whether the window is a low one.
pub(crate) fn is_low(ctx: &Context) -> bool {
    ctx.content_rect().height() < LOW
}

/// Height of the line of controls over a canvas, points.
pub(crate) fn head(ctx: &Context) -> f32 {
    if is_low(ctx) { 25.0 } else { 30.0 }
}

/// In a low window what is pressed over a canvas is lower too, so that it is whole in its line.
pub(crate) fn low_controls(ui: &mut Ui) {
    if is_low(ui.ctx()) {
        ui.spacing_mut().interact_size.y = 20.0;
        ui.spacing_mut().button_padding.y = 1.0;
    }
}

/// Height of what stands under Plan and Section, points: two lines, or one.
pub(crate) fn foot(ctx: &Context) -> f32 {
    if is_low(ctx) { 18.0 } else { 34.0 }
}

/// The edge of a canvas; thicker while the keyboard is on it.
pub(crate) fn frame_edge(ui: &Ui, canvas: Rect, focused: bool) {
    let p = palette(ui.ctx());
    let stroke = if focused { Stroke::new(FOCUS, p.accent) } else { Stroke::new(1.0, p.ink) };
    ui.painter().rect_stroke(canvas, CornerRadius::ZERO, stroke, StrokeKind::Inside);
}

/// A level as an axis says it: no more digits than its step needs, and no minus before zero.
pub(crate) fn level_words(level_m: f64, step: f64) -> String {
    let level_m = if level_m.abs() < step * 1e-6 { 0.0 } else { level_m };
    if step < 1.0 { format!("{level_m:.1}") } else { format!("{level_m:.0}") }
}
