//! The fields that the forms of finds, signals, outings and accesses share.

use egui::{ComboBox, Id, TextEdit, Ui};

use super::draft_finish::time;
use crate::app::state::FrameContext;
use crate::app::state::draft::place_words;
use crate::app::widgets::form::{self, Form};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::bench::setup_label;
use crate::book::{Find, Kind, Outing, Uid, Weight};
use crate::exchange::{along, place_typed};
use crate::query::Item;

/// Kinds that are offered while one is typed.
const OFFERED: usize = 7;

/// The kind, found by typing a part of its name. Whether it was chosen by hand.
pub(super) fn kind(ui: &mut Ui, rows: &mut Form<'_>, find: &mut Find, typed: &mut String, shown: &FrameContext<'_>) -> bool {
    let before = find.kind.clone();
    let mut entered = false;
    rows.row(ui, "Kind", |ui, label| {
        let edit = TextEdit::singleline(typed).id(Id::unique("kind by typing"));
        let field = ui.add(edit.desired_width(200.0_f32.min(ui.available_width() - 8.0))).labelled_by(label);
        let field = field.on_hover_text("Type a part of its name");
        entered = form::entered(ui, &field);
        if field.gained_focus() {
            select_all(ui, &field, typed);
        }
        if typed.trim() == find.kind.label() {
            return;
        }
        let found = matching(shown.kinds(), typed);
        let mut chosen = found.first().filter(|_| entered).map(|k| (*k).clone());
        ui.horizontal_wrapped(|ui| {
            for kind in &found {
                if ui.add(egui::Button::selectable(false, kind.label()).small()).clicked() {
                    chosen = Some((*kind).clone());
                }
            }
            if found.is_empty() {
                ui.label(soft(ui, "no kind is called so").size(12.5));
            }
        });
        if let Some(kind) = chosen {
            *typed = kind.label().to_owned();
            find.kind = kind;
            // What Enter chose is not yet what it keeps.
            entered = false;
        }
    });
    rows.entered |= entered;
    find.kind != before
}

/// The kinds whose names hold what was typed: those that begin so first.
fn matching<'k>(kinds: &'k [Kind], typed: &str) -> Vec<&'k Kind> {
    let word = typed.trim().to_lowercase();
    let mut found: Vec<&Kind> = kinds.iter().filter(|k| k.label().to_lowercase().contains(&word)).collect();
    found.sort_by_key(|k| (!k.label().to_lowercase().starts_with(&word), k.label().len()));
    found.truncate(OFFERED);
    found
}

fn select_all(ui: &Ui, field: &egui::Response, text: &str) {
    if let Some(mut state) = egui::text_edit::TextEditState::load(ui.ctx(), field.id) {
        let end = egui::text::CCursor::new(text.chars().count());
        state.cursor.set_char_range(Some(egui::text::CCursorRange::two(egui::text::CCursor::new(0), end)));
        state.store(ui.ctx(), field.id);
    }
}

/// Where it lies: typed in any notation, clicked on Plan, or where a track was at its time.
pub(super) fn place(ui: &mut Ui, rows: &mut Form<'_>, typed: &mut String, when: &str, shown: &FrameContext<'_>) {
    rows.line(ui, "Place", typed, 200.0, "");
    rows.row(ui, "", |ui, _| {
        match place_typed(typed) {
            Ok(at) if place_words(at) != typed.trim() => drop(ui.label(soft(ui, format!("that is {at}")).size(12.5))),
            Ok(_) => drop(ui.label(soft(ui, "click on Plan to move it; its arrow keys move it by a metre").size(12.5))),
            Err(why) if !typed.trim().is_empty() => drop(ui.label(soft(ui, why).size(12.5))),
            Err(_) => drop(ui.label(soft(ui, "click on Plan where it lies, or type it: degrees or a grid reference").size(12.5))),
        }
        if when.is_empty() {
            return;
        }
        let said = "Where a track of the book was at the time above";
        if ui.small_button("from the track at its time").on_hover_text(said).clicked() {
            let found = time("Time", when, shown).map_err(|(_, why)| why).and_then(|at| from_track(at, shown));
            let note = match found {
                Ok((at, note)) => {
                    *typed = at;
                    note
                }
                Err(why) => why,
            };
            ui.data_mut(|d| d.insert_temp(Id::unique("place from a track"), note));
        }
        let note: Option<String> = ui.data(|d| d.get_temp(Id::unique("place from a track")));
        if let Some(note) = note.filter(|n| n.contains(when)) {
            ui.label(soft(ui, note).size(12.5));
        }
    });
}

/// The place on a track at a time, as the form writes it, and by which track; or why there is none.
fn from_track(at: Option<jiff::Timestamp>, shown: &FrameContext<'_>) -> Result<(String, String), String> {
    let (Some(at), Some(beach)) = (at, shown.beach) else { return Err("its time is missing".to_owned()) };
    let when = shown.time(at, crate::app::state::draft::TIME);
    match along(shown.book, beach.uid, at) {
        Ok(found) => Ok((place_words(found.at), format!("where the track \"{}\" was at {when}", found.track))),
        Err(Some(off_s)) => Err(format!("no track says where one was at {when}; the nearest is {} min off", (off_s + 30) / 60)),
        Err(None) => Err(format!("no track with times says where one was at {when}")),
    }
}

/// A list to choose from, never wider than the form.
fn list(ui: &mut Ui, salt: &str, said: String, label: Id, contents: impl FnOnce(&mut Ui)) {
    let width = (ui.available_width() - 8.0).min(230.0);
    let combo = ComboBox::from_id_salt(salt).selected_text(said).width(width).truncate().offer(ui, contents);
    combo.response.labelled_by(label);
}

pub(super) fn weight(ui: &mut Ui, rows: &Form<'_>, find: &mut Find) {
    rows.row(ui, "Weight", |ui, label| {
        let usual = format!("as usual for its kind ({})", find.kind.weight());
        let said = find.weight.map_or_else(|| usual.clone(), |w| w.label().to_owned());
        list(ui, "weight", said, label, |ui| {
            ui.selectable_value(&mut find.weight, None, usual);
            for weight in Weight::ALL {
                ui.selectable_value(&mut find.weight, Some(*weight), weight.label());
            }
        });
    });
}

pub(super) fn outing(ui: &mut Ui, rows: &Form<'_>, chosen: &mut Option<Uid>, beach: Uid, shown: &FrameContext<'_>) {
    rows.row(ui, "Outing", |ui, label| {
        let said = chosen.map_or_else(|| "none".to_owned(), |o| shown.name_of(Item::Outing(o)));
        list(ui, "outing", said, label, |ui| {
            ui.selectable_value(chosen, None, "none");
            for outing in shown.book.outings_of(beach).into_iter().rev() {
                ui.selectable_value(chosen, Some(outing.uid), shown.name_of(Item::Outing(outing.uid)));
            }
        });
    });
}

/// The set-up of an outing: everything heard on it is read by that one.
pub(super) fn setup(ui: &mut Ui, rows: &Form<'_>, outing: &mut Outing, shown: &FrameContext<'_>) {
    let of = |uid: Uid| {
        shown.book.setups().get(&uid).map_or_else(|| "no longer there".to_owned(), |s| setup_label(shown.book.setups(), s))
    };
    rows.row(ui, "Set-up", |ui, label| {
        list(ui, "outing set-up", outing.setup.map_or_else(|| "not noted".to_owned(), of), label, |ui| {
            ui.selectable_value(&mut outing.setup, None, "not noted");
            for uid in shown.book.setups().keys() {
                ui.selectable_value(&mut outing.setup, Some(*uid), of(*uid));
            }
        });
    });
}

/// With what a thing was heard, by its outing.
pub(super) fn heard_with(ui: &mut Ui, rows: &Form<'_>, outing: Option<Uid>, shown: &FrameContext<'_>) {
    let setup = outing.and_then(|o| shown.book.outings().get(&o)).and_then(|o| o.setup);
    let said = match setup.and_then(|s| shown.book.setups().get(&s)) {
        Some(setup) => format!("heard with {}", setup_label(shown.book.setups(), setup)),
        None => "no set-up is noted for its outing, so its numbers compare with none".to_owned(),
    };
    rows.row(ui, "", |ui, _| ui.label(soft(ui, said).size(12.5)));
}
