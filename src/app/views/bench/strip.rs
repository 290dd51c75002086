//! The ID scale as a strip: where each kind's passes are expected, and every number as it came.

use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::widgets::theme::{self, palette};
use crate::bench::{Learned, Signature, signature_words};

/// Height of a kind's row, points.
const ROW: f32 = 19.0;
/// Room for the names, points.
const NAMES: f32 = 122.0;

/// Draws the strip; `heard` is the mean of the numbers in hand.
pub(super) fn show(ui: &mut Ui, learned: &Learned, heard: Option<f64>) {
    let p = palette(ui.ctx());
    let height = ROW * learned.signatures.len() as f32 + 22.0;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "Kinds on the ID scale"));
    let scale = Scale { left: rect.left() + NAMES, right: rect.right() - 6.0, ends: learned.scale };
    let foot = rect.bottom() - 18.0;
    for id in ticks(learned.scale) {
        let x = scale.x(id);
        ui.painter().vline(x, rect.top()..=foot, Stroke::new(0.5, p.rule));
        ui.painter().text(pos2(x, foot + 3.0), Align2::CENTER_TOP, format!("{id:.0}"), theme::label_font(12.0), p.soft);
    }
    for (n, signature) in learned.signatures.iter().enumerate() {
        let top = rect.top() + ROW * n as f32;
        let row = Rect::from_min_max(pos2(rect.left(), top), pos2(rect.right(), top + ROW));
        kind(ui, learned, signature, row, &scale);
    }
    if let Some(id) = heard {
        ui.painter().vline(scale.x(id), rect.top()..=foot, Stroke::new(2.0, p.accent));
    }
}

struct Scale {
    left: f32,
    right: f32,
    ends: (f64, f64),
}

impl Scale {
    fn x(&self, id: f64) -> f32 {
        let share = ((id - self.ends.0) / (self.ends.1 - self.ends.0)).clamp(0.0, 1.0) as f32;
        self.left + share * (self.right - self.left)
    }
}

/// Round numbers on the scale, some five to ten of them.
fn ticks((low, high): (f64, f64)) -> Vec<f64> {
    let rough = (high - low) / 7.0;
    let power = 10f64.powf(rough.max(1e-9).log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough).unwrap_or(rough).max(1.0);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last).take(40).map(|n| n as f64 * step).collect()
}

fn kind(ui: &Ui, learned: &Learned, signature: &Signature, row: Rect, scale: &Scale) {
    let p = palette(ui.ctx());
    let response = ui.interact(row, ui.scope_id().with(("strip", &signature.kind)), Sense::click());
    let said = format!("{}: {}", signature.label, signature_words(signature));
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, said.clone()));
    let lit = response.hovered() || response.has_focus();
    let response = response.on_hover_text(said.clone());
    let ink = if signature.kind.is_rubbish() { p.rubbish } else { p.heavy };
    let painter = ui.painter();
    if lit {
        painter.rect_filled(row, 0.0, p.rule.gamma_multiply(0.4));
    }
    if response.has_focus() {
        painter.rect_stroke(row, 0.0, Stroke::new(1.0, p.accent), egui::StrokeKind::Inside);
    }
    let middle = row.center().y;
    let mut job = egui::text::LayoutJob::simple_singleline(signature.label.clone(), theme::label_font(13.0), p.ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(NAMES - 10.0);
    let galley = painter.layout_job(job);
    painter.galley(pos2(row.left() + 2.0, middle - galley.size().y / 2.0), galley, p.ink);
    let bar = |ends: (f64, f64), half: f32| {
        Rect::from_min_max(pos2(scale.x(ends.0), middle - half), pos2(scale.x(ends.1), middle + half))
    };
    for range in &signature.ranges {
        // Half a number to either side: a range of one number is to be seen.
        painter.rect_filled(bar((range.low - 0.5, range.high + 0.5), 5.5), 0.0, ink.gamma_multiply(0.22));
    }
    let raw = learned.evidence.kinds.iter().find(|k| k.kind == signature.kind);
    for (_, id) in raw.iter().flat_map(|k| &k.raw) {
        let x = scale.x(*id);
        painter.vline(x, middle - 4.0..=middle + 4.0, Stroke::new(1.0, ink.gamma_multiply(0.55)));
    }
    // A kind that reads in several places has no middle.
    if signature.ranges.len() < 2 {
        painter.rect_filled(bar(signature.centre_interval, 1.5), 0.0, ink);
        painter.circle_filled(pos2(scale.x(signature.centre), middle), 3.0, ink);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_has_a_handful_of_round_numbers_even_below_zero() {
        assert_eq!(ticks((-15.0, 70.0)), [0.0, 20.0, 40.0, 60.0]);
        assert_eq!(ticks((55.0, 65.0)), [56.0, 58.0, 60.0, 62.0, 64.0]);
        assert!(ticks((-1000.0, 10_000.0)).len() < 12);
    }
}
