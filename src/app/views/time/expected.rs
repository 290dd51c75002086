//! The water that is expected rather than predicted: surge and air pressure on top of the tide, with their
//! uncertainty. It is told from the prediction by pattern as well as colour: hatched between its bounds, its
//! middle dashed.

use std::sync::Arc;

use egui::epaint::PathStroke;
use egui::{Galley, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::axis::Axis;
use super::weather::{bounds, surge};
use crate::app::state::FrameContext;
use crate::app::state::clock::seconds;
use crate::app::widgets::theme::{self, Palette};
use crate::query::drawing::Curve;
use crate::tide::{Surge, rounded};

/// Points between two strokes of the hatching.
const HATCH: f32 = 4.0;
/// A residual below this is as good as none, metres.
const SMALL_M: f64 = 0.005;

/// What the weather adds, and the first level of the curve that is yet to come.
pub(super) fn from(curve: &Curve, shown: &FrameContext<'_>) -> Option<(Surge, usize)> {
    let from = ((seconds(shown.now) - curve.span.from_s) / curve.step_s).ceil().max(0.0) as usize;
    Some((surge(shown)?, from))
}

/// Draws the expected water from one of the curve's levels on; whether there was any.
pub(super) fn paint(painter: &Painter, axis: &Axis, curve: &Curve, surge: Surge, from: usize, p: &Palette) -> bool {
    let (low, high) = bounds(surge);
    let mut run: Vec<(f32, f64)> = Vec::new();
    let mut drawn = false;
    for (n, height) in curve.heights.iter().enumerate().skip(from) {
        let at_s = curve.span.from_s + n as f64 * curve.step_s;
        let near = at_s > axis.span.from_s - 2.0 * curve.step_s && at_s < axis.span.to_s + 2.0 * curve.step_s;
        match height.filter(|_| near) {
            Some(m) => run.push((axis.x(at_s), m)),
            None => drawn |= band(painter, axis, &std::mem::take(&mut run), (low, surge.residual_m, high), p),
        }
    }
    drawn | band(painter, axis, &run, (low, surge.residual_m, high), p)
}

/// One unbroken stretch of it; whether there was any.
fn band(painter: &Painter, axis: &Axis, run: &[(f32, f64)], (low, middle, high): (f64, f64, f64), p: &Palette) -> bool {
    if run.len() < 2 {
        return false;
    }
    let line = |above_m: f64| -> Vec<Pos2> { run.iter().map(|(x, m)| pos2(*x, axis.y(m + above_m))).collect() };
    let (lower, upper) = (line(low), line(high));
    let thin = Stroke::new(0.8, p.accent.gamma_multiply(0.55));
    painter.extend(hatching(&lower, &upper).into_iter().map(|ends| Shape::line_segment(ends, thin)));
    for side in [lower, upper] {
        painter.add(Shape::line(side, PathStroke::new(0.8, p.accent.gamma_multiply(0.7))));
    }
    if middle.abs() > SMALL_M {
        painter.extend(Shape::dashed_line(&line(middle), Stroke::new(1.6, p.accent), 6.0, 4.0));
    }
    true
}

/// Upright strokes between two lines that share their x: they stay short where the tide is steep, as slanting
/// ones do not.
fn hatching(lower: &[Pos2], upper: &[Pos2]) -> Vec<[Pos2; 2]> {
    let (Some(first), Some(last)) = (lower.first(), lower.last()) else { return Vec::new() };
    let at = |line: &[Pos2], x: f32| {
        let n = line.partition_point(|q| q.x < x);
        let (a, b) = (line.get(n.saturating_sub(1))?, line.get(n)?);
        let part = if b.x > a.x { (x - a.x) / (b.x - a.x) } else { 0.0 };
        Some(a.y + (b.y - a.y) * part)
    };
    let count = ((last.x - first.x) / HATCH).max(0.0) as usize;
    let start = (first.x / HATCH).ceil() * HATCH;
    let stroke = |n: usize| {
        let x = start + n as f32 * HATCH;
        Some([pos2(x, at(lower, x)?), pos2(x, at(upper, x)?)])
    };
    (0..=count).filter_map(stroke).collect()
}

/// What the hatching means, the fullest wording first.
fn words(surge: Surge) -> Vec<String> {
    let spread = format!("± {:.2} m", rounded(2.0 * surge.sd_m, 2));
    let full = if surge.residual_m.abs() > SMALL_M {
        format!("expected: {:+.2} m {spread} of weather", rounded(surge.residual_m, 2))
    } else {
        format!("expected: {spread} of weather")
    };
    vec![full, spread]
}

/// Room of a swatch of the hatching and what is free after it, points.
const SWATCH: f32 = 22.0;

/// What the hatching means, in the line over the drawing, where it covers no water; whether there was room for it.
pub(super) fn key_over(ui: &mut Ui, surge: Surge, p: &Palette) -> bool {
    let laid = words(surge).into_iter().map(|text| ui.painter().layout_no_wrap(text, theme::label_font(12.0), p.ink));
    let Some(galley) = laid.into_iter().find(|g| g.size().x + SWATCH <= ui.available_width()) else { return false };
    let (rect, response) = ui.allocate_exact_size(galley.size() + vec2(SWATCH, 0.0), Sense::hover());
    let said = format!("Hatched: the water that is to come, {}", galley.text());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &said));
    response.on_hover_text(said);
    key(ui.painter(), rect, galley, p);
    true
}

/// The same on the drawing, for a window that is too narrow for it elsewhere: where it covers neither water nor the name
/// of a high water nor what is taken, or not at all.
pub(super) fn key_among(
    painter: &Painter,
    axis: &Axis,
    curve: &Curve,
    surge: Surge,
    taken: &[Rect],
    p: &Palette,
) -> Option<Rect> {
    let text = words(surge).pop().unwrap_or_default();
    let galley = painter.layout_no_wrap(text, theme::label_font(12.0), p.ink);
    let size = galley.size() + vec2(SWATCH + 8.0, 2.0);
    let top = axis.rect.top() + super::light::DEEP + 3.0;
    let highest = bounds(surge).1.max(0.0);
    let is_clear = |place: &Rect| {
        let near = |at_s: f64| place.x_range().expand(4.0).contains(axis.x(at_s));
        let wet = |(n, height): (usize, &Option<f64>)| {
            let at_s = curve.span.from_s + n as f64 * curve.step_s;
            near(at_s) && height.is_some_and(|m| axis.y(m + highest) - HIGH_NAME < place.bottom())
        };
        !taken.iter().any(|t| t.intersects(*place)) && !curve.heights.iter().enumerate().any(wet)
    };
    let steps = ((axis.rect.width() - size.x - 12.0) / 8.0).max(0.0) as u16;
    let places = (0..=steps).map(|n| Rect::from_min_size(pos2(axis.rect.right() - size.x - 6.0 - 8.0 * f32::from(n), top), size));
    let place = places.into_iter().find(is_clear)?;
    painter.rect_filled(place, 0.0, p.card.gamma_multiply(0.85));
    key(painter, place.shrink2(vec2(4.0, 1.0)), galley, p);
    Some(place)
}

/// Room that the name of a high water takes over it, points.
const HIGH_NAME: f32 = 18.0;

/// A swatch of the hatching, and the words after it.
fn key(painter: &Painter, place: Rect, words: Arc<Galley>, p: &Palette) {
    let swatch = Rect::from_min_size(place.left_top() + vec2(0.0, 3.0), vec2(16.0, place.height() - 6.0));
    let edge = Stroke::new(0.8, p.accent.gamma_multiply(0.7));
    painter.rect_stroke(swatch, 0.0, edge, egui::StrokeKind::Inside);
    let corners = [swatch.left_bottom(), swatch.right_bottom()];
    let top = [swatch.left_top(), swatch.right_top()];
    painter.extend(hatching(&corners, &top).into_iter().map(|ends| Shape::line_segment(ends, edge)));
    painter.galley(place.left_top() + vec2(SWATCH, 0.0), words, p.ink);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stroke_of_the_hatching_stands_between_the_lines() {
        let line = |y: f32| (0..50_u8).map(|n| pos2(f32::from(n) * 4.0, y - f32::from(n))).collect::<Vec<_>>();
        let strokes = hatching(&line(60.0), &line(35.0));
        assert_eq!(strokes.len(), 50);
        for [a, b] in strokes {
            assert!(a.x == b.x && (a.y - (60.0 - a.x / 4.0)).abs() < 1e-3 && (a.y - b.y - 25.0).abs() < 1e-3, "{a:?} {b:?}");
        }
        assert!(hatching(&[], &[]).is_empty());
    }
}
