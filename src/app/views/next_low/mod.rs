//! Next low: the coming low waters and how long each band lies dry, and the route for one of them.

mod doubts;
pub(crate) mod dry_place;
mod low_words;
mod lows;
mod lows_strip;
mod route;
mod route_beside;
mod route_set;

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::soft;
use crate::tide::CAUTION;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    warning(ui, "Times are predictions. Turn back well before the water does, and mind what closes behind you.");
    ui.label(soft(ui, CAUTION).size(13.0));
    let Some(water) = shown.water() else {
        ui.add_space(6.0);
        ui.label(match (shown.setting(), shown.has_beach()) {
            (Some(_), _) => "There is no tide source for this beach: choose a station or a tide table under Beach.",
            (None, true) => "laying out the beach ...",
            (None, false) => "There is no beach yet. Import your files, or make a beach.",
        });
        return;
    };
    ui.label(soft(ui, shown.source_line()).size(13.0));
    doubts::show(ui, shown, state);
    route::show(ui, shown, state);
    dry_place::show(ui, shown, state);
    lows::show(ui, shown, state, water);
}
