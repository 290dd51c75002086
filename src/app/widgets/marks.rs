//! The mark of a find or signal, the same in every drawing and list.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, vec2};

use super::theme::Palette;
use crate::query::drawing::MarkShape;

/// One mark: the shape carries the meaning, colour only helps.
pub(crate) fn paint_mark(painter: &Painter, at: Pos2, shape: MarkShape, size: f32, p: &Palette, faint: bool) {
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
