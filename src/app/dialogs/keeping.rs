//! What a book keeps of itself: its changes, what was taken out of it, its backups.

use egui::Ui;

use super::scrolled;
use crate::app::state::command::{Ask, Command};
use crate::app::state::dialog::{Keeping, KeepingView};
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::soft;
use crate::book::Record;
use crate::store::Backup;

/// How a time of the history is told.
const TIME: &str = "%a %-d %b %Y %H:%M";

/// Shows it; whether it is done with.
pub(super) fn show(ui: &mut Ui, view: &mut KeepingView, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.heading("Changes and backups");
    let Some(known) = &view.known else {
        ui.label(soft(ui, "reading ..."));
        return ui.button("Close").clicked();
    };
    if let Some(chosen) = view.chosen.clone() {
        warning(
            ui,
            &format!("The whole book becomes again what {} holds. As it stands now it is kept beside it.", chosen.display()),
        );
        ui.horizontal(|ui| {
            if ui.button("Put it back").clicked() {
                ask(state, Ask::Restore(chosen.clone()));
                view.chosen = None;
            }
            if ui.button("Leave the book as it is").clicked() {
                view.chosen = None;
            }
        });
        return false;
    }
    let mut chosen = None;
    ui.set_width(ui.max_rect().width().min(640.0));
    scrolled(ui, 44.0, |ui| {
        changes(ui, known, shown, state);
        deleted(ui, known, state);
        chosen = backups(ui, known, shown);
    });
    view.chosen = chosen;
    ui.horizontal(|ui| {
        if ui.button("Back up now").clicked() {
            ask(state, Ask::BackUp);
        }
        ui.button("Close").clicked()
    })
    .inner
}

/// Asks for something, and for what is to be shown after it.
fn ask(state: &mut State, what: Ask) {
    state.commands.extend([Command::Ask(what), Command::Ask(Ask::Keeping)]);
}

fn changes(ui: &mut Ui, known: &Keeping, shown: &FrameContext<'_>, state: &mut State) {
    heading(ui, "Changes");
    if known.changes.is_empty() {
        ui.label(soft(ui, "none noted yet"));
    }
    for change in &known.changes {
        ui.horizontal(|ui| {
            let said = format!("{}  {}", shown.time(change.at, TIME), change.what);
            let label = format!("Take back change {}", change.number);
            if ui.small_button("take back").on_hover_text(label).clicked() {
                ask(state, Ask::TakeBack(change.number));
            }
            ui.label(said);
        });
    }
}

fn deleted(ui: &mut Ui, known: &Keeping, state: &mut State) {
    if known.deleted.is_empty() {
        return;
    }
    heading(ui, "Taken out");
    const SHOWN: usize = 100;
    for deleted in known.deleted.iter().take(SHOWN) {
        ui.horizontal(|ui| {
            let named = named(&deleted.record);
            if ui.small_button("bring back").on_hover_text(format!("Bring back {named}")).clicked() {
                ask(state, Ask::BringBack(deleted.record.uid()));
            }
            ui.label(named);
        });
    }
    if known.deleted.len() > SHOWN {
        ui.label(soft(ui, format!("and {} more", known.deleted.len() - SHOWN)));
    }
}

fn named(record: &Record) -> String {
    let kind = record.kind();
    match record {
        Record::Find(f) if !f.what.is_empty() => format!("{kind} \"{}\"", f.what),
        Record::Find(f) => format!("{kind}, {}", f.kind),
        Record::Outing(o) if !o.name.is_empty() => format!("{kind} \"{}\"", o.name),
        Record::Track(t) if !t.name.is_empty() => format!("{kind} \"{}\"", t.name),
        _ => kind.to_string(),
    }
}

/// The backup that was chosen to be put back, if one was.
fn backups(ui: &mut Ui, known: &Keeping, shown: &FrameContext<'_>) -> Option<std::path::PathBuf> {
    heading(ui, "Backups");
    if known.backups.is_empty() {
        ui.label(soft(ui, "none yet; one is made before the first change of each day"));
    }
    let mut chosen = None;
    for backup in &known.backups {
        let Backup { at, occasion, path } = backup;
        ui.horizontal(|ui| {
            if ui.small_button("put back").on_hover_text(format!("Put back {}", backup.name())).clicked() {
                chosen = Some(path.clone());
            }
            ui.label(format!("{}, {}", shown.time(*at, TIME), occasion.words()));
        });
    }
    chosen
}
