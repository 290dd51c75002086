//! A month of lows at a glance: a column a day, each low hanging as far down as the water falls.

use std::collections::BTreeMap;

use egui::{CornerRadius, Event, EventFilter, Key, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use jiff::civil::Date;

use super::low_words::{LIT, against, moon};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::lows::DAYS;
use crate::app::widgets::theme::{self, palette, soft};
use crate::query::drawing::Lows;
use crate::tide::{Low, rounded};

/// Height of the bars, points.
const HIGH: f32 = 70.0;
/// Height of the days' names under them, points.
const FOOT: f32 = 16.0;

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, lows: &Lows) {
    let mut days: BTreeMap<Date, Vec<&Low>> = BTreeMap::new();
    for low in &lows.lows {
        days.entry(low.time.to_zoned_datetime(shown.zone.clone()).date()).or_default().push(low);
    }
    let days: Vec<(Date, Vec<&Low>)> = days.into_iter().take(DAYS as usize).collect();
    let all = || days.iter().flat_map(|(_, lows)| lows.iter());
    let (lowest, highest) = all().map(|l| l.level_m).fold((f64::MAX, f64::MIN), |(a, b), m| (a.min(m), b.max(m)));
    if days.is_empty() {
        ui.label("No low water is known in the coming month.");
        return;
    }
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), HIGH + FOOT), Sense::hover());
    let width = rect.width() / days.len() as f32;
    let others = lows.compared;
    let here = state.clock.at.to_zoned_datetime(shown.zone.clone()).date();
    let mut step: Option<(usize, bool)> = None;
    let mut ids = Vec::with_capacity(days.len());
    for (n, (date, lows)) in days.iter().enumerate() {
        let left = rect.left() + n as f32 * width;
        let column = Rect::from_min_size(pos2(left, rect.top()), vec2(width, rect.height()));
        let response = ui.interact(column, ui.scope_id().with(("month of lows", date)), Sense::click());
        let said = said(shown, *date, lows, others);
        response.widget_info(|| WidgetInfo::selected(Role::Button, true, *date == here, format!("Lows of {said}")));
        ids.push(response.id);
        paint(ui, column, (*date, lows), (lowest, highest), (*date == here, response.hovered() || response.has_focus()));
        if response.has_focus() {
            let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
            ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
            for event in ui.input(|i| i.filtered_events(&filter)) {
                match event {
                    Event::Key { key: Key::ArrowLeft, pressed: true, .. } => step = Some((n, false)),
                    Event::Key { key: Key::ArrowRight, pressed: true, .. } => step = Some((n, true)),
                    _ => {}
                }
            }
        }
        if response.on_hover_text(said).clicked()
            && let Some(low) = best(lows)
        {
            state.go_to(low.time);
        }
    }
    if let Some((n, later)) = step {
        let next = if later { n + 1 } else { n.wrapping_sub(1) };
        if let (Some(id), Some((_, lows))) = (ids.get(next), days.get(next)) {
            ui.memory_mut(|m| m.request_focus(*id));
            if let Some(low) = best(lows) {
                state.go_to(low.time);
            }
        }
    }
    ui.label(
        soft(
            ui,
            format!(
                "A column a day: the longer the bar, the lower the water, from {:.1} to {:.1} m. Filled: in daylight. \
                 Arrow keys step by day.",
                rounded(highest, 1),
                rounded(lowest, 1)
            ),
        )
        .size(13.0),
    );
}

/// The low of a day that is shown when the day is picked: the lowest by light, else the lowest.
fn best<'a>(lows: &[&'a Low]) -> Option<&'a Low> {
    let lowest =
        |lit: bool| lows.iter().copied().filter(|l| !lit || l.daylight >= LIT).min_by(|a, b| a.level_m.total_cmp(&b.level_m));
    lowest(true).or_else(|| lowest(false))
}

/// A day's lows in one line.
fn said(shown: &FrameContext<'_>, date: Date, lows: &[&Low], others: &str) -> String {
    let each: Vec<String> = lows
        .iter()
        .map(|l| {
            let light = if l.daylight >= LIT { "in daylight" } else { "in the dark" };
            format!(
                "{} {:.1} m {light}, {}, {}",
                shown.time(l.time, "%H:%M"),
                rounded(l.level_m, 1),
                against(l, others),
                moon(l.moon)
            )
        })
        .collect();
    format!("{}: {}", date.strftime("%a %-d %b"), each.join("; "))
}

fn paint(ui: &Ui, column: Rect, (date, lows): (Date, &[&Low]), (lowest, highest): (f64, f64), (here, pointed): (bool, bool)) {
    let p = palette(ui.ctx());
    let painter = ui.painter();
    if here || pointed {
        let fill = if here { p.accent.gamma_multiply(0.14) } else { p.rule.gamma_multiply(0.3) };
        painter.rect_filled(column, CornerRadius::ZERO, fill);
    }
    painter.hline(column.x_range(), column.top() + 1.0, Stroke::new(1.0, p.water_edge));
    let span = (highest - lowest).max(0.05);
    let wide = (column.width() - 2.0) / lows.len().max(1) as f32;
    for (n, low) in lows.iter().enumerate() {
        // The highest low still shows as a short bar.
        let part = 0.15 + 0.85 * ((highest - low.level_m) / span) as f32;
        let left = column.left() + 1.0 + n as f32 * wide;
        let bar = Rect::from_min_size(pos2(left, column.top() + 1.0), vec2((wide - 1.0).max(1.0), part * (HIGH - 4.0)));
        if low.daylight >= LIT {
            painter.rect_filled(bar, CornerRadius::ZERO, p.water_edge);
        } else {
            painter.rect_stroke(bar, CornerRadius::ZERO, Stroke::new(1.0, p.soft), StrokeKind::Inside);
        }
    }
    let monday = date.weekday() == jiff::civil::Weekday::Monday;
    if monday || here {
        let font = if here { theme::bold_font(11.0) } else { theme::label_font(11.0) };
        let name = date.strftime("%-d").to_string();
        painter.text(pos2(column.center().x, column.bottom()), egui::Align2::CENTER_BOTTOM, name, font, p.ink);
    }
}
