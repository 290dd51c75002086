//! The field in which a ground is chosen.

use egui::{ComboBox, Ui};

use crate::app::widgets::lists::Offer;
use crate::book::{Ground, Setup};

/// A list of grounds with its name; `none` is what the field says while no ground is chosen.
pub(super) fn choose(ui: &mut Ui, salt: &str, ground: &mut Option<Ground>, none: &str, width: f32) {
    let name = ui.label("Ground");
    let said = ground.map_or(none, |g| g.label());
    let combo = ComboBox::from_id_salt(salt).selected_text(said).width(width).truncate().offer(ui, |ui| {
        let mut chosen = ui.selectable_value(ground, None, none).clicked();
        for one in Ground::ALL {
            chosen |= ui.selectable_value(ground, Some(*one), one.label()).clicked();
        }
        // Only a click of the pointer closes a list by itself.
        if chosen {
            ui.close();
        }
    });
    combo.response.labelled_by(name.id);
}

/// What the field says where no ground of its own is chosen.
pub(super) fn as_set_up(setup: Option<&Setup>) -> String {
    setup.and_then(|s| s.ground).map_or_else(|| "not noted".to_owned(), |g| format!("{g}, as the set-up"))
}
