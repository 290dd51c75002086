//! What was agreed with a permission's holder. Its ground comes from a file.

use egui::{TextEdit, Ui};

use crate::app::state::permission_form::PermissionForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::soft;
use crate::book::Edit;

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut PermissionForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(640.0));
    ui.heading("Permission");
    super::scrolled(ui, 84.0, |ui| {
        egui::Grid::new("permission").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
            let t = &mut form.typed;
            field(ui, "Permission name", &mut t.name, "");
            field(ui, "Holder", &mut t.holder, "who gave it");
            field(ui, "Contact", &mut t.contact, "how the holder is reached");
            field(ui, "Papers", &mut t.papers, "what there is and where it lies");
            field(ui, "First day", &mut t.from, "such as 2026-04-01");
            field(ui, "Last day", &mut t.to, "expired after that");
            field(ui, "Hours", &mut t.hours, "such as 07:00-20:30");
            field(ui, "Terms", &mut t.terms, "");
            field(ui, "No deeper than, cm", &mut t.deepest_cm, "");
            field(ui, "Holder's share, %", &mut t.share_percent, "of a find's value");
            field(ui, "To be reported", &mut t.report, "");
            field(ui, "When to report", &mut t.due, "at once, after each outing, once a month, once a year, when it ends");
            field(ui, "Only older than", &mut t.older_than, "a year; what is of unknown age is told too");
            field(ui, "Places told", &mut t.precision, "exact, or squares of 10, 100, 1000 ... m");
            field(ui, "Places by kind", &mut t.places, "such as: coins 100 m; jewellery withheld");
        });
        ui.label(soft(ui, "Its ground is drawn in a file: import GeoJSON with the role permission.").size(13.0));
    });
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    ui.add_space(6.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Keep").clicked() {
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

fn field(ui: &mut Ui, label: &str, text: &mut String, hint: &str) {
    let label = ui.label(label);
    ui.horizontal_wrapped(|ui| {
        ui.add(TextEdit::singleline(text).desired_width(260.0)).labelled_by(label.id);
        ui.label(soft(ui, hint));
    });
    ui.end_row();
}
