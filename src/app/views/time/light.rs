//! Day and night: the water is pale by day and dark by night, as it is to whoever stands beside it, and the sun hangs from
//! the upper edge as a leaf that thickens as it climbs.

use std::sync::Arc;

use egui::epaint::{Mesh, PathStroke};
use egui::{Painter, Pos2, Rect, Shape, Stroke, pos2};

use super::axis::Axis;
use crate::app::state::clock::seconds;
use crate::app::widgets::theme::Palette;
use crate::query::drawing::Curve;

/// How deep the leaf hangs at noon, points.
pub(super) const DEEP: f32 = 9.0;
/// Points between two strokes over the water by night.
const STROKES: f32 = 5.0;

/// The stretches of the view in which the sun is down, as seconds.
fn nights(axis: &Axis, curve: &Curve) -> Vec<(f64, f64)> {
    if curve.lit.is_empty() {
        return Vec::new();
    }
    let (from, to) = (axis.span.from_s.max(curve.span.from_s), axis.span.to_s.min(curve.span.to_s));
    let mut nights = Vec::new();
    let mut dark = from;
    for (up, down) in &curve.lit {
        if seconds(*up) > dark {
            nights.push((dark, seconds(*up).min(to)));
        }
        dark = dark.max(seconds(*down));
    }
    if dark < to {
        nights.push((dark, to));
    }
    nights.retain(|(a, b)| a < b);
    nights
}

/// Tells the water by day from that by night: its own shape once more, over the darker of the two on paper and over the
/// paler on slate, and strokes by night, so that it is told by more than a tone.
pub(super) fn shade(painter: &Painter, axis: &Axis, curve: &Curve, water: &[Arc<Mesh>], p: &Palette) {
    let stretch = |from: f64, to: f64| {
        let rect = Rect::from_x_y_ranges(axis.x(from)..=axis.x(to), axis.rect.y_range()).intersect(axis.rect);
        (rect, painter.with_clip_rect(rect.intersect(painter.clip_rect())))
    };
    let again = |(from, to): (f64, f64)| {
        let (_, part) = stretch(from, to);
        for mesh in water {
            part.add(Shape::Mesh(Arc::clone(mesh)));
        }
    };
    let nights = nights(axis, curve);
    if painter.ctx().theme() == egui::Theme::Dark {
        curve.lit.iter().for_each(|(up, down)| again((seconds(*up), seconds(*down))));
    } else {
        nights.iter().copied().for_each(again);
    }
    for (from, to) in nights {
        let (rect, night) = stretch(from, to);
        let first = (rect.left() / STROKES).ceil() as i32;
        let last = (rect.right() / STROKES).floor() as i32;
        for n in first..=last {
            let x = n as f32 * STROKES;
            if let Some(top) = height_at(axis, curve, axis.time_s(x)) {
                let stroke = Stroke::new(0.7, p.water_edge.gamma_multiply(0.45));
                night.line_segment([pos2(x, top + 2.0), pos2(x, axis.rect.bottom())], stroke);
            }
        }
    }
}

/// How high the water is drawn at a time.
fn height_at(axis: &Axis, curve: &Curve, at_s: f64) -> Option<f32> {
    let n = ((at_s - curve.span.from_s) / curve.step_s).round();
    let height = curve.heights.get(n.max(0.0) as usize)?;
    height.map(|m| axis.y(m))
}

/// The leaves of the days in view.
pub(super) fn leaves(painter: &Painter, axis: &Axis, curve: &Curve, p: &Palette) {
    for (up, down) in &curve.lit {
        let (from, to) = (axis.x(seconds(*up)), axis.x(seconds(*down)));
        if to < axis.rect.left() || from > axis.rect.right() || to - from < 1.0 {
            continue;
        }
        let top = axis.rect.top();
        let edge: Vec<Pos2> = (0..=24_u8)
            .map(|n| {
                let share = f32::from(n) / 24.0;
                pos2(egui::lerp(from..=to, share), top + DEEP * (std::f32::consts::PI * share).sin())
            })
            .collect();
        let mut leaf = Mesh::default();
        for q in &edge {
            leaf.colored_vertex(pos2(q.x, top), p.sun);
            leaf.colored_vertex(*q, p.sun);
        }
        for n in 0..edge.len() as u32 - 1 {
            leaf.add_triangle(2 * n, 2 * n + 1, 2 * n + 2);
            leaf.add_triangle(2 * n + 1, 2 * n + 3, 2 * n + 2);
        }
        painter.add(Shape::mesh(leaf));
        painter.add(Shape::line(edge, PathStroke::new(1.0, p.ink.gamma_multiply(0.55))));
    }
}

/// Whether the sun is up, and from when to when, where that is known of an instant.
pub(super) fn day_of(curve: &Curve, at: jiff::Timestamp) -> Option<(jiff::Timestamp, jiff::Timestamp)> {
    curve.lit.iter().copied().find(|(up, down)| *up <= at && at <= *down)
}
