//! The part of a find's form that is seldom filled in: its outing, weight and photo, in what state and how old it is,
//! whose it is and what became of it.

use egui::{CollapsingHeader, Ui};

use super::draft_fields::{outing, weight};
use crate::app::state::FrameContext;
use crate::app::widgets::controls::choice;
use crate::app::widgets::form::Form;
use crate::app::widgets::theme::soft;
use crate::book::Find;

/// Shows it, folded until it is wanted or something stands in it.
pub(super) fn show(ui: &mut Ui, rows: &mut Form<'_>, find: &mut Find, shown: &FrameContext<'_>) {
    let fields =
        [&find.photo, &find.state, &find.age, &find.value, &find.finder, &find.permission, &find.disposal, &find.reported];
    let said = fields.into_iter().any(|text| !text.is_empty()) || !find.more.is_empty() || find.weight.is_some();
    CollapsingHeader::new("Outing, weight, photo, condition and more")
        .id_salt(("find more", find.uid))
        .default_open(said)
        .show(ui, |ui| {
            outing(ui, rows, &mut find.outing, find.beach, shown);
            weight(ui, rows, find);
            rows.line(ui, "Photo", &mut find.photo, 160.0, "PNG or JPEG beside the book");
            rows.line(ui, "Condition", &mut find.state, 220.0, "");
            rows.line(ui, "Age", &mut find.age, 150.0, "a year, a century, a period");
            rows.line(ui, "Value", &mut find.value, 110.0, "with its currency");
            rows.line(ui, "Finder", &mut find.finder, 150.0, "where it was not you");
            rows.line(ui, "Permission", &mut find.permission, 150.0, "");
            permissions(ui, rows, find, shown);
            rows.line(ui, "What became of it", &mut find.disposal, 220.0, "");
            rows.line(ui, "Reported", &mut find.reported, 220.0, "to whom and when");
            for (title, text) in &mut find.more {
                rows.line(ui, title, text, 220.0, "");
            }
            ui.label(soft(ui, "Of these a hand-over to a permission's holder has condition, age, what became of it and to whom it was reported.").size(12.5));
        });
}

/// The permissions of the find's beach, to be chosen by name.
fn permissions(ui: &mut Ui, rows: &Form<'_>, find: &mut Find, shown: &FrameContext<'_>) {
    let names: Vec<&str> = shown.book.permissions().values().filter(|p| p.beach == find.beach).map(|p| p.name.as_str()).collect();
    if names.is_empty() {
        return;
    }
    rows.row(ui, "", |ui, _| {
        ui.horizontal_wrapped(|ui| {
            for name in names {
                if choice(ui, find.permission == name, name).clicked() {
                    find.permission = name.to_owned();
                }
            }
        });
    });
}
