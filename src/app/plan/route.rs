//! The route on the ground: its blocks with their times, the way between them, and where one is now.

use egui::epaint::PathStroke;
use egui::{Align2, Painter, Pos2, Rect, Shape, Stroke, vec2};

use super::camera::Look;
use crate::app::State;
use crate::app::derived::Both;
use crate::app::shown::Shown;
use crate::app::state::SheetChoice;
use crate::app::theme::{self, palette};

pub(super) fn paint(painter: &Painter, canvas: Rect, look: &Look, shown: &Shown<'_>, state: &State) {
    if state.sheet != SheetChoice::NextLow {
        return;
    }
    let Some(routed) = shown.derived.route.value() else { return };
    let p = palette(painter.ctx());
    // The rest steps back behind a veil, so that the way stands out among the marks.
    painter.rect_filled(canvas, 0.0, p.card.gamma_multiply(0.55));
    let lay = state.plan.lay_index();
    let pos = |b: &Both| look.pos(b[lay]);
    // A block that must be behind one at the moment shown is drawn as lost.
    let now = state.clock.at;
    for (n, (corners, visit)) in routed.blocks.iter().zip(&routed.route.visits).enumerate() {
        let corners: Vec<Pos2> = corners.iter().map(pos).collect();
        let colour = if now > visit.leave_by { p.danger } else { p.accent };
        let here = now >= visit.begin && now < visit.leave;
        painter.add(Shape::convex_polygon(
            corners.clone(),
            colour.gamma_multiply(if here { 0.75 } else { 0.4 }),
            Stroke::new(1.2, colour),
        ));
        let middle = corners.iter().fold(vec2(0.0, 0.0), |sum, c| sum + c.to_vec2()) / corners.len().max(1) as f32;
        let wide = corners.iter().map(|c| c.x).fold(f32::NEG_INFINITY, f32::max)
            - corners.iter().map(|c| c.x).fold(f32::INFINITY, f32::min);
        let text = if wide > 70.0 { format!("{}  {}", n + 1, shown.time(visit.begin, "%H:%M")) } else { format!("{}", n + 1) };
        theme::halo_text(painter, middle.to_pos2(), Align2::CENTER_CENTER, &text, theme::bold_font(12.0), p.ink);
    }
    let mut line: Vec<Pos2> = Vec::new();
    for (at, walking) in &routed.way {
        if !walking && !line.is_empty() {
            painter.add(Shape::line(std::mem::take(&mut line), PathStroke::new(2.2, p.ink)));
        }
        line.push(pos(at));
        if !walking {
            line.clear();
            line.push(pos(at));
        }
    }
    painter.add(Shape::line(line, PathStroke::new(2.2, p.ink)));
    if now >= routed.route.depart
        && now <= routed.route.back
        && let (Some(at), Some(land)) = (routed.route.at(now), shown.land())
    {
        let at = pos(&land.placing.of_local(at));
        painter.circle(at, 7.0, p.card, Stroke::new(3.0, p.danger));
        theme::halo_text(painter, at + vec2(10.0, -2.0), Align2::LEFT_BOTTOM, "you", theme::bold_font(13.0), p.ink);
    }
}
