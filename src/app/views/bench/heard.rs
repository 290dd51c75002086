//! Two set-ups on the same targets: what was heard by depth, and the chance fitted to it.

use egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::widgets::theme::{self, palette, soft};
use crate::bench::Comparison;
use crate::reading::{COVERAGE, binomial_interval};

/// Height of the diagram, points.
const HEIGHT: f32 = 130.0;

/// The first set-up is drawn with discs and a full line, the second with open squares and a dashed one.
pub(super) fn show(ui: &mut Ui, told: &Comparison) {
    let depths = || told.heard.iter().map(|h| h.depth_m);
    let most_m = 1.06 * depths().fold(0.0, f64::max);
    if most_m <= 0.0 {
        return;
    }
    let p = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width().min(360.0), HEIGHT + 38.0), Sense::hover());
    let name = format!("Share heard by depth: {} against {}", told.setups.0, told.setups.1);
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    let area =
        Rect::from_min_max(pos2(rect.left() + 46.0, rect.top() + 6.0), pos2(rect.right() - 8.0, rect.top() + 6.0 + HEIGHT));
    let at = |depth_m: f64, share: f64| {
        pos2(area.left() + area.width() * (depth_m / most_m) as f32, area.bottom() - area.height() * share as f32)
    };
    let painter = ui.painter();
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, p.rule), egui::StrokeKind::Inside);
    for mark in [0.0, 0.5, 1.0] {
        let said = format!("{:.0}", 100.0 * mark);
        painter.text(at(0.0, mark) - vec2(5.0, 0.0), Align2::RIGHT_CENTER, &said, theme::label_font(11.5), p.soft);
    }
    painter.text(pos2(rect.left(), area.top() + 18.0), Align2::LEFT_CENTER, "heard, %", theme::label_font(11.5), p.soft);
    for depth_m in depths() {
        let said = format!("{:.0}", 100.0 * depth_m);
        painter.text(at(depth_m, 0.0) + vec2(0.0, 3.0), Align2::CENTER_TOP, &said, theme::label_font(11.5), p.soft);
    }
    let below = pos2(area.center().x, area.bottom() + 17.0);
    painter.text(below, Align2::CENTER_TOP, "depth, cm", theme::label_font(12.0), p.soft);
    let colours = [p.accent, p.ink];
    for (second, colour) in colours.into_iter().enumerate() {
        let chance = |c: &crate::bench::HeardChance| if second == 0 { c.first } else { c.second };
        let line = |k: usize| told.curve.iter().map(|c| at(c.depth_m, chance(c)[k])).collect::<Vec<Pos2>>();
        between(painter, &line(1), &line(2), colour.gamma_multiply(0.13));
        if second == 0 {
            painter.add(Shape::line(line(0), Stroke::new(1.6, colour)));
        } else {
            painter.extend(Shape::dashed_line(&line(0), Stroke::new(1.6, colour), 5.0, 3.0));
        }
    }
    for heard in &told.heard {
        for (second, (hits, of)) in [heard.first, heard.second].into_iter().enumerate().filter(|(_, (_, of))| *of > 0) {
            let (low, high) = binomial_interval(hits as u64, of as u64, COVERAGE);
            // Side by side where both lie at one place.
            let shift = vec2(if second == 0 { -3.0 } else { 3.0 }, 0.0);
            let (colour, place) = (colours[second], at(heard.depth_m, hits as f64 / of as f64) + shift);
            painter.line_segment([at(heard.depth_m, low) + shift, at(heard.depth_m, high) + shift], Stroke::new(1.0, colour));
            if second == 0 {
                painter.circle_filled(place, 3.2, colour);
            } else {
                let square = Rect::from_center_size(place, vec2(6.0, 6.0));
                painter.rect(square, 0.0, p.card, Stroke::new(1.3, colour), egui::StrokeKind::Middle);
            }
        }
    }
    let key = format!(
        "Discs and full line: {}. Open squares and dashed line: {}. Shares and bands with 95 % intervals.",
        told.setups.0, told.setups.1
    );
    ui.label(soft(ui, key).size(13.0));
}

/// The ground between two lines with as many points.
fn between(painter: &Painter, low: &[Pos2], high: &[Pos2], colour: Color32) {
    let mut mesh = Mesh::default();
    for (n, (a, b)) in (0_u32..).zip(low.iter().zip(high)) {
        mesh.colored_vertex(*a, colour);
        mesh.colored_vertex(*b, colour);
        if n > 0 {
            let at = 2 * n;
            mesh.add_triangle(at - 2, at - 1, at);
            mesh.add_triangle(at - 1, at, at + 1);
        }
    }
    painter.add(mesh);
}
