//! The coming low waters: a month of them at a glance, and a list to choose from.

use egui::{DragValue, Ui};
use jiff::{SignedDuration, Timestamp};

use super::low_words::{LIT, against, moon};
use super::lows_strip;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::lows::{Ahead, LowsView};
use crate::app::widgets::controls::{card, choice, heading, switch, warning, while_fresh};
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::{Beach, Edit, RecordKind, Weather};
use crate::query::drawing::Lows;
use crate::query::{Given, LowsQuestion};
use crate::sea::{USUAL_RUN_UP_M, USUAL_WAVES};
use crate::tide::{Low, LowsOrder, Water, order_lows, rounded};

const ORDERS: [(LowsOrder, &str); 3] =
    [(LowsOrder::Soonest, "soonest"), (LowsOrder::Lowest, "lowest"), (LowsOrder::MostUsable, "most usable")];

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, water: &Water) {
    // Dry windows of an earlier beach, tide or weather are never shown.
    let answer = shown.answers.answer::<LowsQuestion>();
    if let Some(why) = answer.failure() {
        return warning(ui, &format!("The lows could not be listed: {why}."));
    }
    let lows = answer.fresh();
    heading(ui, "A month of lows");
    let [strip_high, list_high] = state.lows.highs;
    let strip = |ui: &mut Ui, lows: &Given<Lows>| lows_strip::show(ui, shown, state, lows);
    state.lows.highs[0] = while_fresh(ui, strip_high, lows, strip, "Working out the coming lows ...");
    heading(ui, &format!("Low waters from {}", shown.time(state.clock.at, "%a %-d %b %Y %H:%M")));
    controls(ui, shown, state);
    if let Some(calm) = lows.and_then(|lows| lows.run_up.caution()) {
        warning(ui, &calm);
    }
    let list = |ui: &mut Ui, lows: &Given<Lows>| list(ui, shown, state, water, lows);
    state.lows.highs[1] = while_fresh(ui, list_high, lows, list, "Working out the coming lows ...");
    if state.next_low.low.is_none() {
        run_up(ui, shown, state);
    }
}

/// The lows that are listed, each on its card.
fn list(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, water: &Water, lows: &Lows) {
    let chosen = chosen(&state.lows, lows, state.clock.at);
    if chosen.is_empty() {
        ui.label(nothing_sentence(&state.lows, shown, water));
    }
    let most_usable = chosen.iter().map(|l| l.usable_min).fold(0.0, f64::max);
    for (n, low) in chosen.iter().enumerate() {
        low_card(ui, shown, state, lows, low, (n, most_usable));
        ui.add_space(2.0);
    }
    ui.label(soft(ui, margin_sentence(shown, lows)).size(13.0));
}

fn controls(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let view = &mut state.lows;
    ui.horizontal_wrapped(|ui| {
        for ahead in Ahead::ALL {
            if choice(ui, view.ahead == ahead, ahead.label()).clicked() {
                view.ahead = ahead;
                // Over a long time only the best are worth a card: the lowest that can be walked by light.
                if ahead.most() < usize::MAX && view.order == LowsOrder::Soonest {
                    (view.order, view.daylight_only) = (LowsOrder::Lowest, true);
                }
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        for (order, label) in ORDERS {
            if choice(ui, view.order == order, label).clicked() {
                view.order = order;
            }
        }
        ui.add_space(8.0);
        switch(ui, &mut view.daylight_only, "in daylight only");
    });
    free_hours(ui, shown, state);
}

/// The person's free hours: they count as they are typed, and the beach keeps them once the field is left.
fn free_hours(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let mut text = state.lows.typed.clone().unwrap_or_else(|| beach.free.to_string());
    let response = ui
        .horizontal_wrapped(|ui| {
            let label = ui.label("Your free hours");
            let edit = egui::TextEdit::singleline(&mut text).desired_width(190.0).hint_text("sat sun 8-18, wed 17-21");
            ui.add(edit).labelled_by(label.id)
        })
        .inner;
    if response.changed() {
        state.lows.typed = Some(text);
    }
    match state.lows.typed_hours() {
        Some(Err(why)) => warning(ui, &why),
        Some(Ok(free)) if response.lost_focus() => {
            if free != beach.free {
                state.apply(Edit::put(Beach { free, ..beach.clone() }), "change free hours");
            }
            state.lows.typed = None;
        }
        _ => {}
    }
    if beach.free.is_always() && state.lows.typed.is_none() {
        let others = shown.book.beaches().values().filter(|b| b.uid != beach.uid && !b.free.is_always());
        for other in others.take(1) {
            if ui.small_button(format!("as for {}: {}", other.name, other.free)).clicked() {
                state.apply(Edit::put(Beach { free: other.free.clone(), ..beach.clone() }), "change free hours");
            }
        }
    }
}

/// How high waves run up the sand: part of every margin, kept with the beach once it is let go.
pub(super) fn run_up(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let kept_m = beach.weather.run_up_m.unwrap_or(USUAL_RUN_UP_M);
    let mut run_up_m = state.next_low.run_up_m.unwrap_or(kept_m);
    let response = ui
        .horizontal_wrapped(|ui| {
            let label = ui.label("waves run up, m");
            let drag = DragValue::new(&mut run_up_m).range(0.0..=5.0).speed(0.02).fixed_decimals(2);
            let response = ui.add(drag).labelled_by(label.id);
            if beach.weather.run_up_m.is_none() {
                ui.label(soft(ui, "at least; more where the sea asks for it").size(13.0));
            }
            response
        })
        .inner;
    if response.changed() {
        state.next_low.run_up_m = Some(run_up_m);
    }
    let let_go = response.drag_stopped() || response.lost_focus() || !(response.dragged() || response.has_focus());
    if let (Some(run_up_m), true) = (state.next_low.run_up_m, let_go) {
        state.next_low.run_up_m = None;
        if run_up_m != kept_m {
            let weather = Weather { run_up_m: Some(run_up_m), ..beach.weather };
            state.apply(Edit::put(Beach { weather, ..beach.clone() }), "change run-up");
        }
    }
    expected_sea(ui, state);
    sea_records(ui, shown, state);
}

/// The records and forecasts of the sea that the book has of the beach, each of which can be removed.
fn sea_records(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    for record in shown.book.seas().values().filter(|s| s.beach == beach.uid) {
        let (Some(first), Some(last)) = (record.states.first(), record.states.last()) else { continue };
        ui.horizontal_wrapped(|ui| {
            let day = |t| shown.time(t, "%-d %b %Y");
            let said = format!("Sea record \"{}\": {} to {}", record.name, day(first.time), day(last.time));
            ui.label(soft(ui, said).size(13.0));
            if ui.small_button(format!("Remove {}", record.name)).on_hover_text("Can be undone").clicked() {
                state.apply(Edit::Remove(RecordKind::SeaRecord, record.uid), "remove a sea record");
            }
        });
    }
}

/// The sea that the person expects, from which the run-up is worked out where no record or forecast covers the hours.
fn expected_sea(ui: &mut Ui, state: &mut State) {
    ui.horizontal_wrapped(|ui| {
        let mut known = state.next_low.sea.is_some();
        let hint = "Height and period of the waves offshore. Counts where no record or forecast of the sea covers the hours; else the higher";
        if switch(ui, &mut known, "I know the sea").on_hover_text(hint).changed() {
            state.next_low.sea = known.then_some(USUAL_WAVES);
        }
        let Some(sea) = &mut state.next_low.sea else { return };
        let label = ui.label("waves, m");
        ui.add(DragValue::new(&mut sea.height_m).range(0.0..=15.0).speed(0.02).fixed_decimals(1)).labelled_by(label.id);
        let label = ui.label("period, s");
        ui.add(DragValue::new(&mut sea.period_s).range(2.0..=25.0).speed(0.1).fixed_decimals(0)).labelled_by(label.id);
    });
}

/// The lows of the list, in its order.
fn chosen(view: &LowsView, lows: &Lows, at: Timestamp) -> Vec<Low> {
    let Ok(to) = at.checked_add(SignedDuration::from_hours(view.ahead.hours())) else { return Vec::new() };
    let fits = |l: &&Low| l.time >= at && l.time < to && (!view.daylight_only || l.daylight >= LIT);
    let mut chosen: Vec<Low> = lows.lows.iter().filter(fits).cloned().collect();
    order_lows(&mut chosen, view.order);
    chosen.truncate(view.ahead.most());
    chosen
}

fn nothing_sentence(view: &LowsView, shown: &FrameContext<'_>, water: &Water) -> String {
    match water.covers() {
        Some((_, end)) if end < shown.now => {
            format!("{} ended on {}; import a newer table.", water.name(), shown.time(end, "%-d %b %Y"))
        }
        _ if view.daylight_only => "No low water in daylight within this time.".to_owned(),
        _ => "No low water is known within this time.".to_owned(),
    }
}

fn low_card(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, lows: &Lows, low: &Low, (n, most_usable): (usize, f64)) {
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
        if let Some(kept) = state.next_low.kept_route(shown, low.time) {
            let planned = kept.route();
            ui.label(format!(
                "planned: about {:.0} finds expected ({}), first block to be left by {}, off the sand by {}",
                planned.finds,
                planned.range_said(),
                shown.time(planned.turn_back, "%H:%M"),
                shown.time(planned.back, "%H:%M")
            ));
        }
    });
    if response.on_hover_text("Show this moment").clicked() {
        state.go_to(low.time);
    }
    if ui.small_button(format!("Plan a route, {when}")).clicked() {
        state.next_low.choose(low.time);
    }
}

/// What the windows keep clear of, with its uncertainty.
fn margin_sentence(shown: &FrameContext<'_>, lows: &Lows) -> String {
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
