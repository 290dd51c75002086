//! Where files are taken in to: the beach, and the book where what is shown is not kept.

use egui::{TextEdit, Ui};

use super::{field, makes_a_beach};
use crate::app::state::FrameContext;
use crate::app::state::intake::IntakeForm;
use crate::app::widgets::controls::choice;
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::exchange::What;
use crate::query::{Home, Looked};

pub(super) fn show(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>, looked: Option<&Looked>) {
    into(ui, form, shown);
    ui.horizontal_wrapped(|ui| {
        ui.label("Beach:");
        if form.into.is_none() {
            for beach in shown.book.beaches().values() {
                if choice(ui, form.home == Home::Known(beach.uid), &beach.name).clicked() {
                    form.home = Home::Known(beach.uid);
                }
            }
            if choice(ui, makes_a_beach(form), "a new one").clicked() {
                form.home = Home::New;
            }
        }
        if makes_a_beach(form) {
            let edit = TextEdit::singleline(&mut form.name).id(field("name")).desired_width(170.0);
            ui.add(edit).accessible_name("Name of the new beach");
        }
        ui.add_space(12.0);
        let label = ui.label("The files hold");
        let said = form.what.map_or("what they seem to", What::word);
        egui::ComboBox::from_id_salt("what")
            .selected_text(said)
            .offer(ui, |ui| {
                ui.selectable_value(&mut form.what, None, "what they seem to");
                for (what, word) in What::ALL {
                    ui.selectable_value(&mut form.what, Some(*what), *word);
                }
            })
            .response
            .labelled_by(label.id);
    });
    whose(ui, form);
    if let Some((beach, guessed)) = looked.and_then(|l| l.made.as_ref()).filter(|_| makes_a_beach(form)) {
        ui.label(
            soft(ui, format!("A new beach \"{}\" will be made at {}. {guessed}", form.name.trim(), beach.origin)).size(13.0),
        );
    }
}

/// Whose finds they are: another person's are kept apart from one's own.
fn whose(ui: &mut Ui, form: &mut IntakeForm) {
    ui.horizontal_wrapped(|ui| {
        ui.label("The finds are");
        for (anothers, said) in [(false, "my own"), (true, "another person's")] {
            if choice(ui, form.anothers == anothers, said).clicked() {
                form.anothers = anothers;
            }
        }
        if form.anothers {
            let edit = TextEdit::singleline(&mut form.owner).id(field("owner")).desired_width(170.0).hint_text("their name");
            let said = "Kept apart from your own finds: in none of your outings, and in no rate";
            if ui.add(edit).accessible_name("Whose they are").on_hover_text(said).lost_focus() {
                form.by = Some(form.owner.trim().to_owned()).filter(|name| !name.is_empty());
            }
        }
    });
}

/// The book, where what is shown is not kept.
fn into(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>) {
    let Some(into) = &mut form.into else { return };
    let label = ui.label(format!("{} is invented and is not kept, so these go into a new book of your own:", shown.beach_name()));
    let width = (ui.available_width() - 20.0).min(480.0);
    ui.add(TextEdit::singleline(&mut into.path).id(field("book")).desired_width(width)).labelled_by(label.id);
}
