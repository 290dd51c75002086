//! What the keyboard does wherever one is, and the list of it.

use egui::{Context, Key, Modifiers, Ui};

use super::item::Item;
use super::keeper::Ask;
use super::state::SheetChoice;
use super::state::Shown;
use super::{Command, Dialog, State};

/// Everything the keyboard does, for the list that F1 shows.
pub(crate) const LIST: &[(&str, &str)] = &[
    ("Tab, Shift+Tab", "from one thing to the next"),
    ("1 2 3 4", "Log, Read, Next low, Share"),
    ("N, P", "next find, previous find (in the order of the Log)"),
    ("E", "edit the picked find, signal or outing"),
    ("D", "dig the picked signal: make it a find"),
    ("B", "the bench"),
    ("G", "what Plan shows of the ground: none, covered, rate, certainty"),
    ("Delete", "delete what is picked"),
    ("Escape", "close, or let go of what is picked"),
    (", and .", "ten minutes back, ten minutes on"),
    ("< and >", "to the low water before, to the next one"),
    ("Space", "let time run, or stop it"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, do again"),
    ("Ctrl+O, Ctrl+I", "open a book, import files"),
    ("Ctrl and + - 0", "everything larger, smaller, as it was"),
    ("in Plan: arrows, + -, Home", "move, zoom, show the whole beach"),
    ("in Plan: Shift and drag", "pick everything in a box"),
    ("in Plan, on Next low: K, X", "keep in, or leave out, the block picked"),
    ("in Time: left, right, + -", "move the instant, zoom"),
    ("F1", "this list"),
];

/// Keys that work wherever the focus is, except while text is being typed.
pub(super) fn global(ctx: &Context, shown: &Shown<'_>, state: &mut State, (undo, redo): &(Option<String>, Option<String>)) {
    let pressed = |modifiers, key| ctx.input_mut(|i| i.consume_key(modifiers, key));
    if pressed(Modifiers::NONE, Key::F1) {
        state.dialog = Some(Dialog::Keys);
    }
    // Text fields have an undo of their own.
    if ctx.text_edit_focused() {
        return;
    }
    if pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z) || pressed(Modifiers::COMMAND, Key::Y) {
        if redo.is_some() {
            state.commands.push(Command::Ask(Ask::Redo));
        }
    } else if pressed(Modifiers::COMMAND, Key::Z) && undo.is_some() {
        state.commands.push(Command::Ask(Ask::Undo));
    }
    if state.dialog.is_some() {
        return;
    }
    if pressed(Modifiers::COMMAND, Key::O) {
        state.dialog = Some(Dialog::Book(super::dialogs::PathForm::new(super::dialogs::PickFor::Open)));
    }
    if pressed(Modifiers::COMMAND, Key::I) {
        state.commands.push(Command::Intake(Vec::new()));
    }
    for (key, sheet) in [Key::Num1, Key::Num2, Key::Num3, Key::Num4].into_iter().zip(SheetChoice::ALL) {
        if pressed(Modifiers::NONE, key) {
            state.sheet_folded = false;
            state.sheet = sheet;
        }
    }
    // "<" and ">" are shifted comma and full stop on some keyboards and keys of their own on others.
    let text: String = ctx
        .input(|i| i.events.iter().filter_map(|e| if let egui::Event::Text(t) = e { Some(t.as_str()) } else { None }).collect());
    match text.as_str() {
        "," => state.step(-super::views::time::STEP_S),
        "." => state.step(super::views::time::STEP_S),
        "<" => super::views::time::to_low(shown, state, false),
        ">" => super::views::time::to_low(shown, state, true),
        "n" | "N" => super::sheet::step_find(shown, state, true),
        "p" | "P" => super::sheet::step_find(shown, state, false),
        "b" | "B" => super::sheet::to_bench(state),
        "g" | "G" => state.plan.ground = state.plan.ground.next(),
        "e" | "E" => {
            if let Some(item) = state.selection.lead {
                super::sheet::edit(shown, state, item);
            }
        }
        "d" | "D" => {
            if let Some(Item::Signal(signal)) = state.selection.lead {
                super::sheet::dig(shown, state, signal);
            }
        }
        _ => {}
    }
    let nothing_focused = ctx.memory(|m| m.focused().is_none());
    if nothing_focused && pressed(Modifiers::NONE, Key::Space) {
        state.clock.playing = !state.clock.playing;
    }
    if pressed(Modifiers::NONE, Key::Delete) {
        delete_picked(shown, state);
    }
    if pressed(Modifiers::NONE, Key::Escape) && state.draft.take().is_none() {
        state.selection.clear();
    }
}

/// Deletes the finds, signals and outings that are picked, as one step that can be undone.
pub(crate) fn delete_picked(shown: &Shown<'_>, state: &mut State) {
    let ours = |i: &Item| matches!(i, Item::Find(_) | Item::Signal(_) | Item::Outing(_));
    let records: Vec<_> = state.selection.items().filter(ours).filter_map(Item::record).collect();
    if records.is_empty() {
        return;
    }
    let label = if records.len() == 1 { format!("delete {}", records[0].0) } else { format!("delete {} records", records.len()) };
    // A find and its outing may go together, so the finds go first.
    let mut edits: Vec<_> =
        records.iter().filter(|r| r.0 != crate::book::RecordKind::Outing).map(|(k, u)| shown.book.removal(*k, *u)).collect();
    let mut rest = shown.book.clone();
    for edit in &edits {
        if rest.apply(edit).is_err() {
            return;
        }
    }
    for (kind, uid) in records.iter().filter(|r| r.0 == crate::book::RecordKind::Outing) {
        let edit = rest.removal(*kind, *uid);
        if rest.apply(&edit).is_err() {
            return;
        }
        edits.push(edit);
    }
    state.draft = None;
    state.apply(crate::book::Edit::Batch(edits), label);
}

/// The list of keys.
pub(crate) fn list(ui: &mut Ui) {
    egui::Grid::new("keys").num_columns(2).spacing([24.0, 5.0]).show(ui, |ui| {
        for (keys, what) in LIST {
            ui.label(super::widgets::theme::strong(*keys));
            ui.label(*what);
            ui.end_row();
        }
    });
}
