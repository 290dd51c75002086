//! The next low, at the head of the sheet: when, how low, how long the sand lies dry, and its plan.

use egui::Ui;

use super::{low_card, lows};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{card, while_fresh};
use crate::app::widgets::lacking;
use crate::app::widgets::theme::{self, palette, strong};
use crate::query::drawing::Lows;
use crate::query::{Given, LowsQuestion};
use crate::tide::rounded;

/// Whether it could be told.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let answer = shown.answers.answer::<LowsQuestion>();
    // Why they could not be listed is said where the list would be.
    if answer.failure().is_some() {
        return false;
    }
    let mut told = false;
    let high = state.lows.highs[0];
    let next = |ui: &mut Ui, lows: &Given<Lows>| told = next(ui, shown, state, lows);
    state.lows.highs[0] = while_fresh(ui, high, answer.fresh(), next, "Working out the next low ...");
    told
}

fn next(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, lows: &Lows) -> bool {
    let Some(low) = lows::coming(lows, state.clock.at) else { return false };
    let p = palette(ui.ctx());
    let (day, hour) = (shown.time(low.time, "%a %-d %b"), shown.time(low.time, "%H:%M"));
    let when = format!("{day}, {hour}");
    let datum = shown.water().map_or("tide datum", |w| w.datum().words());
    let response = card(ui, p.water_edge, false, &format!("Next low water {when}"), |ui| {
        ui.label(egui::RichText::new(format!("Low {hour}")).font(theme::bold_font(30.0)).color(p.ink));
        ui.label(strong(format!("{day}, {:.1} m above {datum}", rounded(low.level_m, 1))));
        super::turn_back(ui);
        low_card::figures(ui, shown, lows, low, f64::INFINITY);
    });
    if response.on_hover_text("Show this moment").clicked() {
        state.go_to(low.time);
    }
    // Where something is lacking, what that is stands above.
    let ready = shown.beach.is_some_and(|beach| lacking::of_beach(beach).is_none());
    let plan = ui.add_enabled(ready, egui::Button::new(strong(format!("Plan a route, {when}"))));
    if plan.on_disabled_hover_text("What is missing is said above").clicked() {
        state.plan_at(low.time);
    }
    true
}
