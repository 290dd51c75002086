//! What must not be believed, above all planning: what it is, what settles it, and a button that says it is so.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{card, heading, warning};
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::{Confirmation, Edit};
use crate::query::DoubtsQuestion;
use crate::trust::{Confirmed, Told, Weight};

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some((told, _)) = shown.newest::<DoubtsQuestion>() else { return };
    // That an invented beach borrows its tide stands above.
    let told: Vec<&Told> = told.iter().filter(|t| t.doubt.key != "invented").collect();
    if told.is_empty() {
        return;
    }
    heading(ui, if told.iter().any(|t| t.bars()) { "To be settled before any route" } else { "To be known" });
    for doubt in told {
        one(ui, shown, state, doubt);
    }
}

fn one(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, told: &Told) {
    let doubt = &told.doubt;
    if doubt.weight == Weight::Caution {
        return warning(ui, &doubt.sentence);
    }
    let p = palette(ui.ctx());
    let head = match (told.bars(), told.confirmed) {
        (_, Some(Confirmed::Kept(time))) => format!("Checked by you on {}", shown.time(time, "%-d %b %Y")),
        (_, Some(Confirmed::ForThisRoute)) => "Trusted by you for this route".to_owned(),
        (true, None) => "No route until this is settled".to_owned(),
        (false, None) => "Look into this".to_owned(),
    };
    card(ui, if told.confirmed.is_some() { p.rule } else { p.danger }, false, &doubt.key, |ui| {
        ui.label(strong(head));
        ui.label(&doubt.sentence);
        if told.confirmed.is_none() {
            for way in &doubt.settle {
                ui.label(soft(ui, way.as_str()).size(13.0));
            }
        }
    });
    let Some(beach) = shown.beach else { return };
    if told.can_be_confirmed() {
        let said = "Kept with the beach, for these values alone, and repeated on every card";
        if ui.button("I checked this: it is so").on_hover_text(said).clicked() {
            let confirmation = Confirmation { key: doubt.key.clone(), time: shown.now };
            state.apply(Edit::put(beach.clone().with_confirmed(confirmation)), "confirm what was doubted");
        }
    } else if matches!(told.confirmed, Some(Confirmed::Kept(_))) && ui.small_button("No longer sure").clicked() {
        state.apply(Edit::put(beach.clone().without_confirmed(&doubt.key)), "take a confirmation back");
    }
}
