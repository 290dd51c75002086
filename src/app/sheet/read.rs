use egui::Ui;

use crate::app::State;
use crate::app::shown::{ReadAsk, Shown};
use crate::app::state::WeightChoice;

pub(crate) struct ReadView {
    pub(crate) wanted: bool,
    pub(crate) ask: ReadAsk,
}

impl Default for ReadView {
    fn default() -> Self {
        Self { wanted: false, ask: ReadAsk { weight: WeightChoice::All, radius_m: 8.0, least: 6 } }
    }
}

pub(super) fn show(_ui: &mut Ui, _shown: &Shown<'_>, _state: &mut State) {}
