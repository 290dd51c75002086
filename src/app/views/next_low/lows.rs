//! The coming low waters: a month of them at a glance, and a list to choose from.

use egui::{CollapsingHeader, Id, Ui, UiBuilder};
use jiff::{SignedDuration, Timestamp};

use super::low_words::LIT;
use super::{low_card, lows_strip, sea_set};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::lows::{Ahead, LowsView};
use crate::app::widgets::controls::{choice, heading, switch, warning, while_fresh};
use crate::app::widgets::theme::soft;
use crate::book::{Beach, Edit};
use crate::query::drawing::Lows;
use crate::query::{Given, LowsQuestion};
use crate::tide::{Low, LowsOrder, Water, order_lows};

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
    let [_, strip_high, list_high] = state.lows.highs;
    let strip = |ui: &mut Ui, lows: &Given<Lows>| lows_strip::show(ui, shown, state, lows);
    state.lows.highs[1] = while_fresh(ui, strip_high, lows, strip, "Working out the coming lows ...");
    heading(ui, &format!("Low waters from {}", shown.time(state.clock.at, "%a %-d %b %Y %H:%M")));
    settings(ui, shown, state);
    if let Some(calm) = lows.and_then(|lows| lows.run_up.caution()) {
        warning(ui, &calm);
    }
    let list = |ui: &mut Ui, lows: &Given<Lows>| list(ui, shown, state, water, lows);
    state.lows.highs[2] = while_fresh(ui, list_high, lows, list, "Working out the coming lows ...");
}

/// Which lows are listed and what their dry times are reckoned with; what is set now is said while it is folded.
fn settings(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let view = &state.lows;
    let order = ORDERS.iter().find(|(order, _)| *order == view.order).map_or("", |(_, label)| label);
    let light = if view.daylight_only { ", in daylight only" } else { "" };
    let free = shown.beach.filter(|b| !b.free.is_always()).map_or_else(String::new, |b| format!(", free {}", b.free));
    let said = format!("Listed: {}, {order}{light}{free}", view.ahead.label());
    let routed = state.next_low.low.is_some();
    CollapsingHeader::new(said).id_salt("which lows").show(ui, |ui| {
        // What is typed here changes what stands above: a field keeps the keyboard all the same.
        ui.scope_builder(UiBuilder::new().scope_id(Id::unique("which lows are listed")), |ui| {
            controls(ui, shown, state);
            // With a route these stand among what that is planned with.
            if !routed {
                sea_set::show(ui, shown, state);
            }
        });
    });
}

/// The lows that are listed, each on its card.
fn list(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, water: &Water, lows: &Lows) {
    let chosen = chosen(&state.lows, lows, state.clock.at);
    if chosen.is_empty() {
        ui.label(nothing_sentence(&state.lows, shown, water));
    }
    let most_usable = chosen.iter().map(|l| l.usable_min).fold(0.0, f64::max);
    // The next low stands at the head of the sheet already.
    let told = state.next_low.low.is_none() && state.lows.order == LowsOrder::Soonest;
    let head = coming(lows, state.clock.at).filter(|_| told).map(|low| low.time);
    for (n, low) in chosen.iter().enumerate().filter(|(_, low)| Some(low.time) != head) {
        low_card::show(ui, shown, state, lows, low, (n, most_usable));
        ui.add_space(2.0);
    }
    ui.label(soft(ui, low_card::margin_sentence(shown, lows)).size(13.0));
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

/// The next low from an instant on.
pub(super) fn coming(lows: &Lows, at: Timestamp) -> Option<&Low> {
    lows.lows.iter().filter(|low| low.time >= at).min_by_key(|low| low.time)
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
