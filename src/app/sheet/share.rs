//! Share: what can be handed over already, and what a hand-over pack will need.

use egui::Ui;

use crate::app::State;
use crate::app::shown::Shown;

/// What is chosen to be written.
#[derive(Debug, Clone, Default)]
pub(crate) struct ShareView {}

pub(super) fn show(ui: &mut Ui, _shown: &Shown<'_>, _state: &mut State) {
    ui.label("A pack for a permission holder clips to the permission's ground and coarsens positions as its terms say.");
}
