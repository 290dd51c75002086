//! One low water: when, how low, and from when to when each tide level lies dry.

use egui::Ui;
use jiff::Timestamp;

use super::low_words::{LIT, against, moon};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::card;
use crate::app::widgets::theme::{palette, soft, strong};
use crate::query::drawing::Lows;
use crate::tide::{Low, LowsOrder, rounded};

/// A low on a card of the list, the n-th of it.
pub(super) fn show(
    ui: &mut Ui,
    shown: &FrameContext<'_>,
    state: &mut State,
    lows: &Lows,
    low: &Low,
    (n, most_usable): (usize, f64),
) {
    let p = palette(ui.ctx());
    let pattern = if state.lows.ahead.most() < usize::MAX { "%a %-d %b %Y, %H:%M" } else { "%a %-d %b, %H:%M" };
    let when = shown.time(low.time, pattern);
    let here = (low.time.as_second() - state.clock.at.as_second()).abs() < 60;
    let edge = if low.daylight >= LIT { p.water_edge } else { p.soft };
    let response = card(ui, edge, here, &format!("Low water {when}"), |ui| {
        ui.horizontal_wrapped(|ui| {
            if state.lows.order != LowsOrder::Soonest {
                ui.label(soft(ui, format!("{}.", n + 1)));
            }
            ui.label(strong(format!("{when}   {:.1} m", rounded(low.level_m, 1))));
        });
        figures(ui, shown, lows, low, most_usable);
        if let Some(kept) = state.next_low.kept_route(shown, low.time) {
            let planned = kept.route();
            let clock = shown.route_clock(planned);
            ui.label(format!(
                "planned: about {:.0} finds expected ({}), first block to be left by {}, off the sand by {}",
                planned.finds,
                planned.range_said(),
                clock.hour(planned.turn_back),
                clock.hour(planned.back)
            ));
        }
    });
    if response.on_hover_text("Show this moment").clicked() {
        state.go_to(low.time);
    }
    if ui.small_button(format!("Plan a route, {when}")).clicked() {
        state.plan_at(low.time);
    }
}

/// How low it is and how long it leaves the sand dry; `most_usable` is the longest of those beside it, minutes.
pub(super) fn figures(ui: &mut Ui, shown: &FrameContext<'_>, lows: &Lows, low: &Low, most_usable: f64) {
    ui.label(soft(ui, format!("{}; {}, range {:.1} m", against(low, lows.compared), moon(low.moon), low.range_m)).size(13.0));
    let day = |t: Timestamp| shown.time(t, "%j");
    let mut any = false;
    for ((name, _), window) in lows.marks.iter().zip(&low.dry) {
        if let Some(w) = window {
            any = true;
            let minutes = (w.length_s() / 60.0) as i64;
            ui.label(format!(
                "down to {name}: {} to {}, {} h {:02}",
                shown.time(w.from, if day(w.from) == day(low.time) { "%H:%M" } else { "%a %H:%M" }),
                shown.time(w.to, if day(w.to) == day(low.time) { "%H:%M" } else { "%a %H:%M" }),
                minutes / 60,
                minutes % 60
            ));
        }
    }
    if any {
        let hours = if lows.free.is_always() { "by light" } else { "by light and in your free hours" };
        let best = if low.usable_min > 0.0 && low.usable_min == most_usable { ", the most of these" } else { "" };
        ui.label(
            soft(ui, format!("{:.0} % in daylight; {:.0} min usable {hours}{best}", 100.0 * low.daylight, low.usable_min))
                .size(13.0),
        );
    } else {
        ui.label(soft(ui, "no tide level lies dry once the margin is kept").size(13.0));
    }
    if let Some(missed) = lows.missed(low) {
        ui.label(soft(ui, missed).size(13.0));
    }
}

/// What the windows keep clear of, with its uncertainty.
pub(super) fn margin_sentence(shown: &FrameContext<'_>, lows: &Lows) -> String {
    let Some(setting) = shown.setting() else { return String::new() };
    let (surge, weather) = (setting.surge, setting.beach.weather);
    let from = match (weather.surge_m, weather.pressure_hpa) {
        (Some(_), _) => format!("a surge of {:+.2} m", rounded(surge.residual_m, 2)),
        (None, Some(hpa)) => format!("an air pressure of {hpa:.0} hPa, {:+.2} m of water", rounded(surge.residual_m, 2)),
        (None, None) => "no surge known".to_owned(),
    };
    let source_m = setting.source_margin_m();
    let source = if source_m > 0.0 { format!(", {source_m:.2} m for what the tide source may be off") } else { String::new() };
    // What the weather holds down is no promise.
    let held_down = if surge.residual_m < 0.0 { " (less water takes nothing from it)" } else { "" };
    format!(
        "Dry windows keep {:.2} m above the predicted water: {from}{held_down}, twice its uncertainty of {:.2} m, {:.2} m for waves \
         running up, the most of these hours{source}. {} Swell can run higher: look before you go down. Set the weather under Beach.",
        lows.margin_m,
        surge.sd_m,
        lows.run_up.m,
        lows.run_up.said()
    )
}
