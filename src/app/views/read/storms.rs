//! Before and after storms: the rate after over the rate before, as intervals on one common axis.

use egui::{Align2, Color32, Painter, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::cards::{capital, quiet};
use super::figures::{chance, rate, whole};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{choice, heading};
use crate::app::widgets::theme::{self, Palette, palette, soft};
use crate::query::Item;
use crate::query::drawing::ReadDrawing;
use crate::reading::{BeforeAfter, RateRatio, WeightChoice};

/// Height of one interval's row, points.
const ROW: f32 = 20.0;
/// The axis never reaches further than this factor to either side of 1.
const FURTHEST: f64 = 8.0;

/// Shows them: over all storms, or for the one that is chosen.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, read: &ReadDrawing) {
    let storms = &read.reading().storms;
    if storms.each.is_empty() {
        return;
    }
    heading(ui, "After storms against before");
    let one = state.read.storm.filter(|n| *n < storms.each.len());
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 8.0;
        let all = format!("all {} storms", storms.each.len());
        if choice(ui, one.is_none(), &all).clicked() {
            state.read.storm = None;
        }
        for (n, storm) in storms.each.iter().enumerate() {
            let name = shown.time(storm.from, "%-d %b %y");
            let said = format!("{}, waves up to {:.1} m", storm.name, storm.hs_m);
            if choice(ui, one == Some(n), &name).on_hover_text(said).clicked() {
                state.read.storm = Some(n);
                state.selection.only(Item::Storm(storm.uid));
            }
        }
    });
    let changes = one.and_then(|n| storms.each.get(n)).map_or(&storms.over_all, |s| &s.changes);
    if let Some(storm) = one.and_then(|n| storms.each.get(n)) {
        let days = |d: &crate::reading::Days| {
            let outings = super::figures::outings(d.outings);
            format!("{} to {}: {outings}, {} m²", shown.time(d.from, "%-d %b"), shown.time(d.to, "%-d %b %Y"), whole(d.swept_m2))
        };
        ui.label(soft(ui, format!("before {}; after {}", days(&storm.before), days(&storm.after))).size(13.0));
    }
    let known: Vec<&BeforeAfter> = changes.iter().filter(|c| c.ratio.is_some() && !c.too_little).collect();
    if known.is_empty() {
        let why = changes.first().map_or_else(
            || "Neither side of a storm has outings with tracks and finds for a comparison.".to_owned(),
            |c| format!("{}.", capital(&c.surer)),
        );
        quiet(ui, "Too little on either side of a storm", &why);
        return;
    }
    let reach = reach_of(&known);
    let mut parts: Vec<Option<&str>> = Vec::new();
    for change in changes {
        if parts.last() != Some(&change.band.as_deref()) {
            parts.push(change.band.as_deref());
        }
    }
    for part in &parts {
        let rows: Vec<&BeforeAfter> = known.iter().copied().filter(|c| c.band.as_deref() == *part).collect();
        if rows.is_empty() {
            continue;
        }
        ui.add_space(2.0);
        ui.label(egui::RichText::new(part.unwrap_or("whole beach")).size(13.5));
        for change in rows {
            row(ui, change, reach);
        }
    }
    axis(ui, reach);
    let is_known = |c: &&BeforeAfter| known.iter().any(|k| k.band == c.band);
    let lacking: Vec<String> = changes
        .iter()
        .filter(|c| c.of == WeightChoice::All && !is_known(c))
        .map(|c| format!("{}: {}.", c.band.as_deref().unwrap_or("whole beach"), c.surer))
        .collect();
    if !lacking.is_empty() {
        quiet(ui, "Too little on either side", &lacking.join("\n"));
    }
    let thinnest = known.iter().filter(|c| c.band.is_some()).max_by(|a, b| width(a).total_cmp(&width(b)));
    if let Some(change) = thinnest.filter(|c| !c.surer.is_empty()) {
        ui.label(soft(ui, format!("Surer with: {}.", change.surer)).size(13.0));
    }
    ui.label(
        soft(ui, "Right of 1 the ground gave more after the storm. Lines are exact 95 % intervals; the axis is logarithmic.")
            .size(13.0),
    );
}

fn width(change: &BeforeAfter) -> f64 {
    change.ratio.map_or(0.0, |r| r.high.unwrap_or(f64::INFINITY).ln() - r.low.max(1e-9).ln())
}

/// The factor that the axis reaches to either side of 1: 2, 4, 8 ... up to [`FURTHEST`].
fn reach_of(changes: &[&BeforeAfter]) -> f64 {
    let ends = changes.iter().filter_map(|c| c.ratio).flat_map(|r| [Some(1.0 / r.low), r.high]).flatten();
    let most = ends.filter(|e| e.is_finite()).fold(2.0, f64::max);
    2f64.powf(most.log2().ceil()).clamp(2.0, FURTHEST)
}

/// Where the axis lies in a row.
fn axis_span(rect: Rect) -> (f32, f32) {
    (rect.left() + 52.0, rect.right() - 118.0)
}

fn x_of(value: f64, reach: f64, (left, right): (f32, f32)) -> f32 {
    let share = ((value.max(1e-12).ln() / reach.ln()).clamp(-1.0, 1.0) + 1.0) / 2.0;
    left + share as f32 * (right - left)
}

fn said(r: RateRatio) -> String {
    let high = r.high.map_or_else(|| "no bound".to_owned(), |h| format!("{h:.2}"));
    r.ratio.map_or_else(|| format!("{:.2} and more", r.low), |ratio| format!("{ratio:.2} ({:.2} to {high})", r.low))
}

/// Signs as on Plan, so that the weight is told by shape.
fn sign(painter: &Painter, at: egui::Pos2, of: WeightChoice, p: &Palette) {
    match of {
        WeightChoice::All => {
            painter.circle(at, 3.6, p.card, Stroke::new(1.6, p.ink));
        }
        WeightChoice::Heavy => {
            let r = 4.6;
            let corners = vec![at + vec2(0.0, -r), at + vec2(r, 0.0), at + vec2(0.0, r), at + vec2(-r, 0.0)];
            painter.add(egui::Shape::convex_polygon(corners, p.heavy, Stroke::new(0.8, p.card)));
        }
        WeightChoice::Light => {
            painter.circle(at, 3.2, p.light, Stroke::new(0.8, p.card));
        }
    }
}

fn row(ui: &mut Ui, change: &BeforeAfter, reach: f64) {
    let Some(ratio) = change.ratio else { return };
    let p = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let name = format!(
        "{}, {} finds: {} times after storms",
        change.band.as_deref().unwrap_or("whole beach"),
        change.of.label(),
        said(ratio)
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &name));
    let painter = ui.painter();
    let (span, y) = (axis_span(rect), rect.center().y);
    painter.text(pos2(rect.left() + 8.0, y), Align2::LEFT_CENTER, change.of.label(), theme::label_font(13.0), p.soft);
    let one = x_of(1.0, reach, span);
    painter.vline(one, rect.y_range(), Stroke::new(1.0, p.ink));
    for edge in [span.0, span.1] {
        painter.vline(edge, rect.y_range(), Stroke::new(0.6, p.rule));
    }
    let colour = match change.of {
        WeightChoice::All => p.ink,
        WeightChoice::Heavy => p.heavy,
        WeightChoice::Light => p.light,
    };
    let (low, high) = (x_of(ratio.low, reach, span), x_of(ratio.high.unwrap_or(f64::INFINITY), reach, span));
    painter.hline(low..=high, y, Stroke::new(2.0, colour));
    // An end that the axis cuts off runs out in an arrow.
    if ratio.high.is_none_or(|h| h > reach) {
        painter.add(arrow(pos2(high, y), 1.0, colour));
    }
    if ratio.low < 1.0 / reach {
        painter.add(arrow(pos2(low, y), -1.0, colour));
    }
    // Nothing found before: there is no ratio, only a least one.
    if let Some(middle) = ratio.ratio {
        sign(painter, pos2(x_of(middle, reach, span), y), change.of, p);
    }
    painter.text(pos2(rect.right() - 2.0, y), Align2::RIGHT_CENTER, said(ratio), theme::label_font(12.5), p.soft);
    response.on_hover_ui(|ui| {
        let of_side = |what: &str, r: Option<crate::reading::Rate>| {
            r.map_or_else(|| format!("{what}: no ground"), |r| format!("{what}: {}", rate(r)))
        };
        ui.label(of_side("before", change.before));
        ui.label(of_side("after", change.after));
        ui.label(chance(ratio.p));
        ui.label(soft(ui, &change.surer));
    });
}

fn arrow(at: egui::Pos2, way: f32, colour: Color32) -> egui::Shape {
    let corners = vec![at, at + vec2(-6.0 * way, -4.0), at + vec2(-6.0 * way, 4.0)];
    egui::Shape::convex_polygon(corners, colour, Stroke::NONE)
}

/// The numbers under the rows.
fn axis(ui: &mut Ui, reach: f64) {
    let p = palette(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 18.0), Sense::hover());
    let span = axis_span(rect);
    ui.painter().hline(span.0..=span.1, rect.top() + 1.0, Stroke::new(1.0, p.ink));
    let steps = reach.log2().round() as i32;
    let every = if steps > 3 { 2 } else { 1 };
    for n in (-steps..=steps).filter(|n| n % every == 0) {
        let value = 2f64.powi(n);
        let x = x_of(value, reach, span);
        ui.painter().vline(x, rect.top() + 1.0..=rect.top() + 5.0, Stroke::new(1.0, p.ink));
        let text = if n < 0 { format!("1/{:.0}", 1.0 / value) } else { format!("{value:.0}") };
        let font = if n == 0 { theme::bold_font(12.0) } else { theme::label_font(12.0) };
        ui.painter().text(pos2(x, rect.top() + 5.0), Align2::CENTER_TOP, text, font, p.ink);
    }
    ui.painter().text(
        pos2(rect.right() - 2.0, rect.top() + 5.0),
        Align2::RIGHT_TOP,
        "times the rate",
        theme::label_font(12.0),
        p.soft,
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_lies_in_the_middle_and_equal_factors_equally_far() {
        let span = (10.0, 110.0);
        assert!((x_of(1.0, 8.0, span) - 60.0).abs() < 1e-4);
        let (half, twice) = (x_of(0.5, 8.0, span), x_of(2.0, 8.0, span));
        assert!(((60.0 - half) - (twice - 60.0)).abs() < 1e-4);
        assert!((x_of(0.0, 8.0, span) - 10.0).abs() < 1e-4 && (x_of(f64::INFINITY, 8.0, span) - 110.0).abs() < 1e-4);
    }
}
