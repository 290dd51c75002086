//! The fields that the forms of finds, signals and outings share.

use egui::{ComboBox, TextEdit, Ui};

use crate::app::state::FrameContext;
use crate::app::widgets::theme::soft;
use crate::bench::setup_label;
use crate::book::{Find, Outing, Uid, Weight};
use crate::query::Item;

pub(super) fn line(ui: &mut Ui, label: &str, text: &mut String, width: f32, hint: &str) -> egui::Response {
    let name = ui.label(label);
    let response = ui
        .horizontal(|ui| {
            let field = ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(name.id);
            if !hint.is_empty() {
                ui.label(soft(ui, hint).size(12.5));
            }
            field
        })
        .inner;
    ui.end_row();
    response
}

/// Whether the kind was chosen by hand.
pub(super) fn kind(ui: &mut Ui, find: &mut Find, shown: &FrameContext<'_>) -> bool {
    let name = ui.label("Kind");
    let before = find.kind.clone();
    let combo = ComboBox::from_id_salt("kind").selected_text(find.kind.label().to_owned()).width(190.0).show_ui(ui, |ui| {
        for kind in shown.kinds().iter().cloned() {
            let label = kind.label().to_owned();
            ui.selectable_value(&mut find.kind, kind, label);
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
    find.kind != before
}

pub(super) fn weight(ui: &mut Ui, find: &mut Find) {
    let name = ui.label("Weight");
    let usual = format!("as usual for its kind ({})", find.kind.weight());
    let said = find.weight.map_or_else(|| usual.clone(), |w| w.label().to_owned());
    let combo = ComboBox::from_id_salt("weight").selected_text(said).width(190.0).show_ui(ui, |ui| {
        ui.selectable_value(&mut find.weight, None, usual);
        for weight in Weight::ALL {
            ui.selectable_value(&mut find.weight, Some(*weight), weight.label());
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}

pub(super) fn outing(ui: &mut Ui, chosen: &mut Option<Uid>, beach: Uid, shown: &FrameContext<'_>) {
    let name = ui.label("Outing");
    let said = chosen.map_or_else(|| "none".to_owned(), |o| shown.name_of(Item::Outing(o)));
    let combo = ComboBox::from_id_salt("outing").selected_text(said).width(220.0).show_ui(ui, |ui| {
        ui.selectable_value(chosen, None, "none");
        for outing in shown.book.outings_of(beach).into_iter().rev() {
            ui.selectable_value(chosen, Some(outing.uid), shown.name_of(Item::Outing(outing.uid)));
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}

/// The set-up of an outing: everything heard on it is read by that one.
pub(super) fn setup(ui: &mut Ui, outing: &mut Outing, shown: &FrameContext<'_>) {
    let name = ui.label("Set-up");
    let of = |uid: Uid| {
        shown.book.setups().get(&uid).map_or_else(|| "no longer there".to_owned(), |s| setup_label(shown.book.setups(), s))
    };
    let said = outing.setup.map_or_else(|| "not noted".to_owned(), of);
    let combo = ComboBox::from_id_salt("outing set-up").selected_text(said).width(220.0).show_ui(ui, |ui| {
        ui.selectable_value(&mut outing.setup, None, "not noted");
        for uid in shown.book.setups().keys() {
            ui.selectable_value(&mut outing.setup, Some(*uid), of(*uid));
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}

/// With what a thing was heard, by its outing.
pub(super) fn heard_with(ui: &mut Ui, outing: Option<Uid>, shown: &FrameContext<'_>) {
    let setup = outing.and_then(|o| shown.book.outings().get(&o)).and_then(|o| o.setup);
    let said = match setup.and_then(|s| shown.book.setups().get(&s)) {
        Some(setup) => format!("heard with {}", setup_label(shown.book.setups(), setup)),
        None => "no set-up is noted for its outing, so its numbers compare with none".to_owned(),
    };
    ui.label("");
    ui.label(soft(ui, said).size(12.5));
    ui.end_row();
}
