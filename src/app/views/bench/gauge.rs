//! The depth gauge: what its steps mean, drawn with the interval, in the unit in which the person types depths.

use egui::{Align2, Mesh, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::{self, palette, soft};
use crate::bench::{DepthUnit, Learned, StepDepth};

/// Height of the curve, points.
const HEIGHT: f32 = 120.0;

pub(super) fn show(ui: &mut Ui, learned: &Learned, unit: DepthUnit) {
    heading(ui, "Depth gauge");
    match &learned.gauge {
        Ok(gauge) => {
            let steps = gauge.steps();
            curve(ui, &steps, unit);
            for step in &steps {
                ui.label(format!("step {}: {}", step.step, words(step, unit)));
            }
            for f in gauge.full_when_shallow() {
                let (at, name) = (f.depth_m / unit.metres(), unit.label());
                warning(ui, &format!("The gauge read full for {} at {at:.0} {name}.", f.target));
            }
        }
        Err(why) => {
            ui.label(soft(ui, format!("No depths yet: {why}.")));
        }
    }
}

fn words(step: &StepDepth, unit: DepthUnit) -> String {
    let (of, name) = (|m: f64| m / unit.metres(), unit.label());
    let range = step.interval_m.map_or_else(
        || ", not enough readings for an interval".to_owned(),
        |(low, high)| format!(" (9 of 10: {:.0} to {:.0} {name})", of(low), of(high)),
    );
    format!("{:.0} {name}{range}", of(step.depth_m))
}

/// Depth down, steps across: the line, its interval as a band, and a disc at every step that was read.
fn curve(ui: &mut Ui, steps: &[StepDepth], unit: DepthUnit) {
    let most_m = steps.iter().map(|s| s.interval_m.map_or(s.depth_m, |i| i.1)).fold(0.0, f64::max);
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else { return };
    if most_m <= 0.0 || first.step == last.step {
        return;
    }
    let p = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width().min(360.0), HEIGHT + 40.0), Sense::hover());
    let name = format!("Depth by gauge step, {}", unit.label());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, name.clone()));
    let area =
        Rect::from_min_max(pos2(rect.left() + 46.0, rect.top() + 6.0), pos2(rect.right() - 12.0, rect.top() + 6.0 + HEIGHT));
    let span = f64::from(last.step - first.step);
    let at = |step: i32, depth_m: f64| {
        let across = f64::from(step - first.step) / span;
        pos2(area.left() + area.width() * across as f32, area.top() + area.height() * (depth_m / most_m) as f32)
    };
    let painter = ui.painter();
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, p.rule), egui::StrokeKind::Inside);
    for part in [0.0, 0.5, 1.0] {
        let said = format!("{:.0}", part * most_m / unit.metres());
        let place = at(first.step, part * most_m) - vec2(5.0, 0.0);
        painter.text(place, Align2::RIGHT_CENTER, said, theme::label_font(11.5), p.soft);
    }
    painter.text(pos2(rect.left(), area.top() + 18.0), Align2::LEFT_CENTER, unit.label(), theme::label_font(11.5), p.soft);
    let mut band = Mesh::default();
    for (n, (step, (low, high))) in (0_u32..).zip(steps.iter().filter_map(|s| Some((s.step, s.interval_m?)))) {
        band.colored_vertex(at(step, low), p.accent.gamma_multiply(0.15));
        band.colored_vertex(at(step, high), p.accent.gamma_multiply(0.15));
        if n > 0 {
            band.add_triangle(2 * n - 2, 2 * n - 1, 2 * n);
            band.add_triangle(2 * n - 1, 2 * n, 2 * n + 1);
        }
    }
    painter.add(band);
    painter.add(Shape::line(steps.iter().map(|s| at(s.step, s.depth_m)).collect::<Vec<Pos2>>(), Stroke::new(1.6, p.accent)));
    for s in steps {
        let place = at(s.step, s.depth_m);
        painter.circle_filled(place, 3.0, p.accent);
        let below = pos2(place.x, area.bottom() + 3.0);
        painter.text(below, Align2::CENTER_TOP, s.step.to_string(), theme::label_font(11.5), p.soft);
    }
    let below = pos2(area.center().x, area.bottom() + 18.0);
    painter.text(below, Align2::CENTER_TOP, "gauge step; the band holds 9 of 10 new targets", theme::label_font(12.0), p.soft);
}
