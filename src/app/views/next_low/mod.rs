//! Next low: the coming low water, how long each band lies dry, and the route for it. The answer stands first, what is to
//! be minded under it, and what it is planned with is folded.

mod coming;
mod doubts;
pub(crate) mod dry_place;
mod low_card;
mod low_words;
mod lows;
mod lows_strip;
mod route;
mod route_beside;
mod route_set;
mod sea_set;

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::warning;
use crate::app::widgets::lacking;
use crate::app::widgets::theme::soft;
use crate::tide::CAUTION;
use crate::trust::offset_said;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(water) = shown.water() else {
        turn_back(ui);
        ui.label(soft(ui, CAUTION).size(13.0));
        ui.add_space(6.0);
        if lacking::show(ui, shown, state) {
            return;
        }
        ui.label(match (shown.setting(), shown.has_beach()) {
            (Some(_), _) => "There is no tide source for this beach: choose a station or a tide table under Beach.",
            (None, true) => "laying out the beach ...",
            (None, false) => "There is no beach yet. Import your files, or make a beach.",
        });
        return;
    };
    // What bars a plan is the answer.
    lacking::show(ui, shown, state);
    if doubts::bar(shown) {
        doubts::open(ui, shown, state);
    }
    if state.next_low.low.is_some() {
        route::show(ui, shown, state);
    } else {
        let told = coming::show(ui, shown, state);
        if !told {
            turn_back(ui);
        }
        minded(ui, shown, state);
    }
    dry_place::show(ui, shown, state);
    lows::show(ui, shown, state, water);
}

/// What is to be minded of every low and route; it stands under the answer, and before all there is to set.
fn minded(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    ui.add_space(4.0);
    ui.label(soft(ui, CAUTION).size(13.0));
    ui.label(soft(ui, shown.source_line()).size(13.0));
    if let Some((m, said)) = shown.beach.and_then(|b| b.datum_offset_m.zip(offset_said(b))) {
        ui.label(soft(ui, format!("Datum offset {m:+.2} m, {said}.")).size(13.0));
    }
    if !doubts::bar(shown) {
        doubts::open(ui, shown, state);
    }
    doubts::folded(ui, shown);
}

/// Stands with the time itself, so that it is in view wherever that is.
fn turn_back(ui: &mut Ui) {
    warning(ui, "Times are predictions. Turn back well before the water does, and mind what closes behind you.");
}
