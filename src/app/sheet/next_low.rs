//! Next low: the coming low waters and how long each band lies dry.

use egui::Ui;

use super::lows;
use crate::app::State;
use crate::app::controls::warning;
use crate::app::shown::Shown;
use crate::app::theme::soft;
use crate::tide::CAUTION;

pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    warning(ui, "Times are predictions. Turn back well before the water does, and mind what closes behind you.");
    ui.label(soft(ui, CAUTION).size(13.0));
    let Some(water) = shown.water() else {
        ui.add_space(6.0);
        ui.label("There is no tide source for this beach: choose a station or a tide table under Beach.");
        return;
    };
    ui.label(soft(ui, shown.source_line()).size(13.0));
    lows::show(ui, shown, state, water);
}
