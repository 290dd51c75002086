//! Whether 70 % means 70 % on the person's own readings: a small reliability diagram.

use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::{self, palette, soft};
use crate::bench::{Reliability, calibration_words};
use crate::book::Uid;
use crate::query::{Age, CalibrationQuestion};

/// Side of the diagram, points.
const SIDE: f32 = 150.0;

/// What the two diagrams show: finds left out, and bench targets left out.
const SAID_AND_SO: &str = "Chance said against how often it was so";
const SAID_AND_SO_OF_TARGETS: &str = "The same of bench targets left out whole";

pub(super) fn show(ui: &mut Ui, setup: Uid, shown: &FrameContext<'_>) {
    heading(ui, "How often it is right");
    let answer = shown.answers.answer::<CalibrationQuestion>();
    if let Some(why) = answer.failure() {
        return warning(ui, &format!("{why}."));
    }
    let told = answer.newest().filter(|_| answer.question().is_some_and(|q| q.setup == setup));
    let Some((told, age)) = told else {
        ui.label(soft(ui, "leaving out each find and target in turn ..."));
        return;
    };
    if age == Age::Old {
        ui.label(soft(ui, "as it was before the last change; leaving out anew ..."));
    }
    for (of, title, name) in [(&told.finds, "of finds", SAID_AND_SO), (&told.bench, "of bench targets", SAID_AND_SO_OF_TARGETS)] {
        if of.signals() > 0 {
            ui.label(soft(ui, title).size(13.0));
            diagram(ui, of, name);
        }
    }
    for line in calibration_words(told) {
        ui.label(soft(ui, line).size(13.0));
    }
}

fn diagram(ui: &mut Ui, r: &Reliability, name: &str) {
    let p = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(SIDE + 60.0, SIDE + 36.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, name));
    let square = Rect::from_min_size(pos2(rect.left() + 46.0, rect.top() + 4.0), vec2(SIDE, SIDE));
    let at = |said: f64, so: f64| pos2(square.left() + SIDE * said as f32, square.bottom() - SIDE * so as f32);
    let painter = ui.painter();
    painter.rect_stroke(square, 0.0, Stroke::new(1.0, p.rule), egui::StrokeKind::Inside);
    painter.extend(egui::Shape::dashed_line(&[at(0.0, 0.0), at(1.0, 1.0)], Stroke::new(1.0, p.soft), 4.0, 4.0));
    for mark in [0.0, 0.5, 1.0] {
        let said = format!("{:.0}", 100.0 * mark);
        painter.text(at(mark, 0.0) + vec2(0.0, 3.0), Align2::CENTER_TOP, &said, theme::label_font(11.5), p.soft);
        painter.text(at(0.0, mark) - vec2(5.0, 0.0), Align2::RIGHT_CENTER, &said, theme::label_font(11.5), p.soft);
    }
    let below = pos2(square.center().x, square.bottom() + 17.0);
    painter.text(below, Align2::CENTER_TOP, "said, %", theme::label_font(12.0), p.soft);
    painter.text(pos2(rect.left(), square.top() + 14.0), Align2::LEFT_CENTER, "so, %", theme::label_font(12.0), p.soft);
    for t in r.tenths() {
        let ends = [at(t.said, t.so.low), at(t.said, t.so.high)];
        painter.line_segment(ends, Stroke::new(1.0, p.ink));
        let many = (t.so.of as f32).sqrt().clamp(2.0, 5.0);
        painter.circle_filled(at(t.said, t.so.share.unwrap_or(0.0)), many, p.accent);
    }
}
