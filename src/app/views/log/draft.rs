//! The form of one find, signal, outing or access: its fields, and what is kept of them.

use egui::{Key, Popup, ScrollArea, Ui};

use super::draft_fields::{heard_with, kind, outing, place, setup};
use super::{draft_finish, draft_more, duty};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::dialog::Leaving;
use crate::app::state::draft::{DraftFields, DraftForm, Subject};
use crate::app::widgets::controls::{choice_sized, switch, warning};
use crate::app::widgets::form::{Form, chord, stay};
use crate::app::widgets::theme::strong;
use crate::book::{Edit, Record, RecordKind, SandNote, Steadiness};
use crate::query::{Item, Listed};
use crate::reading::WeightChoice;

/// Shows the form, with the list under it or alone on the sheet; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut DraftForm, shown: &FrameContext<'_>, state: &mut State, alone: bool) -> bool {
    let title = match (&form.fields.subject, form.new) {
        (Subject::Find(_), true) if form.digs.is_some() => "Dug: what was it?",
        (Subject::Signal(_), true) => "New signal",
        (Subject::Signal(_), false) => "Signal",
        (Subject::Find(_), true) => "New find",
        (Subject::Find(_), false) => "Find",
        (Subject::Outing(_), true) => "New outing",
        (Subject::Outing(_), false) => "Outing",
        (Subject::Access(_), true) => "New way on and off the beach",
        (Subject::Access(_), false) => "Way on and off the beach",
    };
    ui.label(strong(title).size(15.5));
    let (before, typing) = (form.fields.clone(), ui.memory(|m| m.focused()));
    let focus = std::mem::take(&mut form.focus);
    let refusal = form.refusal.clone();
    let mut rows = Form::new(refusal.as_ref().map(|(field, why)| (*field, why.as_str())));
    // The buttons stay in view, the list below keeps some room where it is there, and the form the width of the sheet.
    let most = (ui.available_height() - if alone { 64.0 } else { 235.0 }).max(90.0);
    let area = ScrollArea::vertical().id_salt("form").max_height(most).min_scrolled_height(most).auto_shrink([false, true]);
    area.show(ui, |ui| {
        ui.set_width((ui.available_width() - 12.0).max(120.0));
        fields(ui, &mut rows, &mut form.fields, shown, focus);
    });
    let changed = form.fields != before;
    form.note(before, typing);
    // A reason goes with the value that it was of.
    let is_old = match &form.refusal {
        None => false,
        Some(("", _)) => changed,
        Some(_) => draft_finish::record(form, shown).err() != form.refusal,
    };
    if is_old {
        form.refusal = None;
        ui.ctx().request_repaint();
    }
    if let Some(why) = rows.rest() {
        warning(ui, why);
    }
    let escape = ui.input(|i| i.key_pressed(Key::Escape)) && !Popup::is_any_open(ui.ctx()) && state.dialog.is_none();
    let escape = escape && state.leaving.is_none();
    let mut done = escape && !form.is_changed();
    if escape && !done {
        state.leaving = Some(Leaving::Draft);
    }
    ui.horizontal(|ui| {
        if ui.button(strong("Keep")).on_hover_text("Enter").clicked() || chord(ui) || rows.entered {
            done = keep(form, shown, state);
            if !done {
                stay(ui);
            }
        }
        done |= ui.button("Leave").on_hover_text("Change nothing (Escape)").clicked();
    });
    done
}

fn fields(ui: &mut Ui, rows: &mut Form<'_>, fields: &mut DraftFields, shown: &FrameContext<'_>, focus: bool) {
    let when = fields.from.clone();
    match &mut fields.subject {
        Subject::Find(find) => {
            let what = rows.line(ui, "What", &mut find.what, 240.0, "");
            if focus {
                what.request_focus();
            }
            if what.changed() && !fields.kind_by_hand {
                find.kind = shown.book.recognise(&find.what);
                fields.kind = find.kind.label().to_owned();
            }
            fields.kind_by_hand |= kind(ui, rows, find, &mut fields.kind, shown);
            place(ui, rows, &mut fields.place, &when, shown);
            rows.line(ui, "Time", &mut fields.from, 140.0, "beach time");
            rows.line(ui, "Depth, cm", &mut fields.depth_cm, 70.0, "");
            rows.line(ui, "Target ID", &mut fields.target_id, 70.0, "of your own machine");
            rows.line(ui, "Mass, g", &mut fields.mass_g, 70.0, "");
            rows.line(ui, "Note", &mut find.notes, 240.0, "");
            draft_more::show(ui, rows, find, shown);
            duty::show(ui, find, shown);
        }
        Subject::Signal(signal) => {
            let ids = rows.line(ui, "Target IDs", &mut fields.target_ids, 140.0, "as they came: 43 44 43");
            if focus {
                ids.request_focus();
            }
            place(ui, rows, &mut fields.place, &when, shown);
            rows.line(ui, "Time", &mut fields.from, 140.0, "beach time");
            rows.row(ui, "Steadiness", |ui, _| {
                ui.horizontal_wrapped(|ui| {
                    for one in Steadiness::ALL {
                        if choice_sized(ui, signal.steadiness == Some(*one), one.label(), None).clicked() {
                            signal.steadiness = if signal.steadiness == Some(*one) { None } else { Some(*one) };
                        }
                    }
                });
            });
            rows.line(ui, "Gauge step", &mut fields.gauge_step, 70.0, "");
            outing(ui, rows, &mut signal.outing, signal.beach, shown);
            heard_with(ui, rows, signal.outing, shown);
            rows.line(ui, "Note", &mut signal.notes, 240.0, "");
        }
        Subject::Outing(outing) => {
            let name = rows.line(ui, "Name", &mut outing.name, 240.0, "");
            if focus {
                name.request_focus();
            }
            rows.line(ui, "Start", &mut fields.from, 140.0, "beach time");
            rows.line(ui, "End", &mut fields.to, 140.0, "beach time");
            setup(ui, rows, outing, shown);
            rows.row(ui, "Sand", |ui, _| {
                ui.horizontal_wrapped(|ui| {
                    for note in SandNote::ALL {
                        let mut on = outing.sand.contains(note);
                        if switch(ui, &mut on, note.label()).changed() {
                            outing.sand.retain(|n| n != note);
                            if on {
                                outing.sand.push(*note);
                            }
                        }
                    }
                });
            });
            let said = "06:40-07:10 wading; 07:30-08:00 not me (or not on foot, or kept clear)";
            rows.line(ui, "Set aside", &mut fields.asides, 240.0, said);
            rows.row(ui, "Holes filled", |ui, _| {
                ui.horizontal(|ui| {
                    for (all, word) in [(true, "all"), (false, "not all")] {
                        if choice_sized(ui, outing.holes_filled == Some(all), word, None).clicked() {
                            outing.holes_filled = if outing.holes_filled == Some(all) { None } else { Some(all) };
                        }
                    }
                });
            });
            rows.line(ui, "Litter taken, kg", &mut fields.litter_kg, 70.0, "");
            rows.line(ui, "Note", &mut outing.notes, 240.0, "");
        }
        Subject::Access(access) => {
            let name = rows.line(ui, "Name", &mut access.name, 240.0, "");
            if focus {
                name.request_focus();
            }
            place(ui, rows, &mut fields.place, "", shown);
            rows.line(ui, "Note", &mut access.notes, 240.0, "");
        }
    }
}

fn keep(form: &mut DraftForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let tried = draft_finish::record(form, shown).and_then(|record| {
        let put = Edit::put(record.clone());
        let edit = match form.digs {
            Some(signal) => Edit::Batch(vec![put, Edit::Remove(RecordKind::Signal, signal)]),
            None => put,
        };
        shown.book.clone().apply(&edit).map_err(|e| ("", e.to_string()))?;
        Ok((record, edit))
    });
    match tried {
        Ok((record, edit)) => {
            let said = if form.digs.is_some() {
                "dig signal".to_owned()
            } else {
                format!("{} {}", if form.new { "add" } else { "change" }, record.kind())
            };
            state.apply(edit, said);
            form.refusal = None;
            // It comes back with all that was typed if the book will not have it.
            state.sent_draft = Some(form.clone());
            show_kept(&record, state);
            true
        }
        Err(refusal) => {
            form.refusal = Some(refusal);
            false
        }
    }
}

/// Picks what was kept, lists its sort, and asks for nothing that would hide it.
fn show_kept(record: &Record, state: &mut State) {
    let (item, listed) = match record {
        Record::Signal(s) => (Item::Signal(s.uid), Some(Listed::Signals)),
        Record::Find(f) => (Item::Find(f.uid), Some(Listed::Finds)),
        Record::Outing(o) => (Item::Outing(o.uid), Some(Listed::Outings)),
        Record::Access(a) => (Item::Access(a.uid), None),
        _ => return,
    };
    state.selection.only(item);
    state.plan.bring_into_view = Some(item);
    let filter = &mut state.log.filter;
    if let Some(listed) = listed {
        filter.listed = listed;
    }
    let hides = match record {
        Record::Find(f) => {
            let word = filter.text.trim().to_lowercase();
            let said = format!("{} {} {}", f.what, f.notes, f.kind.label()).to_lowercase();
            filter.kind.as_ref().is_some_and(|k| *k != f.kind)
                || filter.outing.is_some_and(|o| f.outing != Some(o))
                || !said.contains(&word)
                || filter.weight != WeightChoice::All
        }
        _ => !filter.text.trim().is_empty(),
    };
    if hides {
        filter.text.clear();
        (filter.kind, filter.outing, filter.weight) = (None, None, WeightChoice::All);
    }
    state.log.scroll_to_lead = true;
}
