//! What was agreed with a permission's holder. Its ground comes from a file.

use egui::{TextEdit, Ui};

use crate::app::state::permission_form::PermissionForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::{chord, entered};
use crate::app::widgets::theme::soft;
use crate::book::Edit;

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut PermissionForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(640.0));
    ui.heading("Permission");
    let mut enter = chord(ui);
    super::scrolled(ui, 84.0, |ui| {
        egui::Grid::new("permission").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
            let t = &mut form.typed;
            enter |= field(ui, "Permission name", &mut t.name, "");
            enter |= field(ui, "Holder", &mut t.holder, "who gave it");
            enter |= field(ui, "Contact", &mut t.contact, "how the holder is reached");
            enter |= field(ui, "Papers", &mut t.papers, "what there is and where it lies");
            enter |= field(ui, "First day", &mut t.from, "such as 2026-04-01");
            enter |= field(ui, "Last day", &mut t.to, "expired after that");
            enter |= field(ui, "Hours", &mut t.hours, "such as 07:00-20:30");
            enter |= field(ui, "Terms", &mut t.terms, "");
            enter |= field(ui, "No deeper than, cm", &mut t.deepest_cm, "");
            enter |= field(ui, "Holder's share, %", &mut t.share_percent, "of a find's value");
            enter |= field(ui, "To be reported", &mut t.report, "");
            enter |=
                field(ui, "When to report", &mut t.due, "at once, after each outing, once a month, once a year, when it ends");
            enter |= field(ui, "Only older than", &mut t.older_than, "a year; what is of unknown age is told too");
            enter |= field(ui, "Places told", &mut t.precision, "exact, or squares of 10, 100, 1000 ... m");
            enter |= field(ui, "Places by kind", &mut t.places, "such as: coins 100 m; jewellery withheld");
        });
        ui.label(soft(ui, "Its ground is drawn in a file: import GeoJSON with the role permission.").size(13.0));
    });
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    ui.add_space(6.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Keep").on_hover_text("Enter").clicked() || enter {
            let tried = form.typed.read(&form.was).map_err(|e| e.to_string()).and_then(|made| {
                let edit = Edit::put(made);
                shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
                Ok(edit)
            });
            match tried {
                Ok(edit) => {
                    state.apply(edit, "change permission");
                    done = true;
                }
                Err(why) => form.refusal = Some(why),
            }
        }
        done |= ui.button("Leave").clicked();
    });
    done
}

/// One line; whether Enter was pressed in it.
fn field(ui: &mut Ui, label: &str, text: &mut String, hint: &str) -> bool {
    let label = ui.label(label);
    let field = ui.horizontal_wrapped(|ui| {
        let field = ui.add(TextEdit::singleline(text).desired_width(260.0)).labelled_by(label.id);
        ui.label(soft(ui, hint));
        field
    });
    ui.end_row();
    entered(ui, &field.inner)
}
