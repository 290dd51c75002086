//! What the drawings of several views have alike: the lines over and under them, their edge, the words of an axis.

use egui::{CornerRadius, Rect, Stroke, StrokeKind, Ui};

use super::theme::{FOCUS, palette};

/// Height of the line of controls over a canvas, points.
pub(crate) const HEAD: f32 = 30.0;
/// Height of the line under Plan and Section, points.
pub(crate) const FOOT: f32 = 34.0;

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
