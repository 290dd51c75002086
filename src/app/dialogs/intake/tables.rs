//! The columns of a table: what each was taken to mean, and what it is to mean instead.

use egui::{CollapsingHeader, ComboBox, Grid, Ui};

use crate::app::state::intake::IntakeForm;
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::exchange::{ColumnRead, Intake, Options};

/// The columns of a file, folded; a change reads it again, and is remembered for the next file with these headings.
pub(super) fn show(ui: &mut Ui, form: &mut IntakeForm, intake: &Intake) {
    if intake.columns.is_empty() {
        return;
    }
    let unknown = intake.columns.iter().filter(|c| c.meaning.is_none() && !c.chosen).count();
    let said = match unknown {
        0 => format!("its {} columns", intake.columns.len()),
        n => format!("its {} columns, {n} of them only kept", intake.columns.len()),
    };
    CollapsingHeader::new(soft(ui, said)).id_salt(("columns", &intake.file)).show(ui, |ui| {
        ui.label(
            soft(ui, "What each means was guessed; what you choose is remembered for the next file with these headings.")
                .size(13.0),
        );
        Grid::new(("columns", &intake.file)).num_columns(2).spacing([14.0, 3.0]).show(ui, |ui| {
            for column in &intake.columns {
                one(ui, form, column);
                ui.end_row();
            }
        });
    });
}

fn one(ui: &mut Ui, form: &mut IntakeForm, column: &ColumnRead) {
    let label = ui.label(format!("column \"{}\"", column.heading));
    let now = column.meaning.as_deref().unwrap_or("only kept");
    let guessed = if column.chosen { now.to_owned() } else { format!("{now} (guessed)") };
    let key = column.heading.to_lowercase();
    let mut chosen = form.columns.get(&key).cloned();
    let before = chosen.clone();
    ComboBox::from_id_salt(("column", &key))
        .selected_text(guessed)
        .width(230.0)
        .offer(ui, |ui| {
            ui.selectable_value(&mut chosen, None, "as guessed, or as the last time");
            for (word, said) in Options::MEANINGS {
                ui.selectable_value(&mut chosen, Some((*word).to_owned()), *said);
            }
        })
        .response
        .labelled_by(label.id);
    if chosen != before {
        match chosen {
            Some(word) => drop(form.columns.insert(key, word)),
            None => drop(form.columns.remove(&key)),
        }
    }
}
