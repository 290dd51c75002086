//! The mark of a find or signal, the same in every drawing and list.

use egui::epaint::{CircleShape, RectShape};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, vec2};

use super::theme::Palette;
use crate::query::drawing::MarkShape;

/// One mark: the shape carries the meaning, colour only helps.
pub(crate) fn paint_mark(painter: &Painter, at: Pos2, shape: MarkShape, size: f32, p: &Palette, faint: bool) {
    painter.add(mark(at, shape, size, p, faint));
}

/// The shape of one mark.
pub(super) fn mark(at: Pos2, shape: MarkShape, size: f32, p: &Palette, faint: bool) -> Shape {
    let tone = |c: Color32| if faint { c.gamma_multiply(0.28) } else { c };
    let halo = Stroke::new(0.8, tone(p.card));
    match shape {
        MarkShape::Heavy => {
            let r = 4.6 * size;
            let corners = vec![at + vec2(0.0, -r), at + vec2(r, 0.0), at + vec2(0.0, r), at + vec2(-r, 0.0)];
            Shape::convex_polygon(corners, tone(p.heavy), halo)
        }
        MarkShape::Light => Shape::Circle(CircleShape { center: at, radius: 2.6 * size, fill: tone(p.light), stroke: halo }),
        MarkShape::Undug => Shape::circle_stroke(at, 3.4 * size, Stroke::new(1.2, tone(p.undug))),
        MarkShape::Rubbish => {
            let half = 3.2 * size;
            Shape::line_segment([at - vec2(half, 0.0), at + vec2(half, 0.0)], Stroke::new(1.8, tone(p.rubbish)))
        }
        MarkShape::Unknown => {
            let square = Rect::from_center_size(at, vec2(5.2, 5.2) * size);
            Shape::Rect(RectShape::stroke(square, 0.0, Stroke::new(1.2, tone(p.soft)), StrokeKind::Middle))
        }
        MarkShape::Danger => {
            let r = 5.4 * size;
            let corners = vec![at + vec2(0.0, -r), at + vec2(r, 0.8 * r), at + vec2(-r, 0.8 * r)];
            Shape::convex_polygon(corners, tone(p.danger), halo)
        }
    }
}
