//! The card of an item: its name and what is known of it.

use egui::Ui;

use super::theme::{soft, strong};
use crate::app::state::FrameContext;
use crate::query::Item;

/// The card of an item beside the pointer, where it hides least of what stands around.
pub(crate) fn at_pointer(shown: &FrameContext<'_>, response: &egui::Response, item: Item) {
    let popup = egui::Popup::from_response(response).kind(egui::PopupKind::Tooltip).at_pointer().gap(14.0).interactable(false);
    popup.show(|ui| card(ui, shown, item));
}

/// The card of an item: its name and what is known of it.
fn card(ui: &mut Ui, shown: &FrameContext<'_>, item: Item) {
    ui.set_max_width(300.0);
    ui.spacing_mut().item_spacing.y = 1.0;
    let name = shown.name_of(item);
    ui.label(strong(&name));
    for line in shown.facts(item) {
        ui.label(soft(ui, line).size(13.0));
    }
}
