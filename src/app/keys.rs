//! What the keyboard does wherever one is.

use egui::{Context, Key, Modifiers};

use super::state::FrameContext;
use super::state::SheetChoice;
use super::state::State;
use super::state::clock::STEP_S;
use super::state::command::{Ask, Command, PickFor};
use super::state::dialog::{Dialog, Leaving, PathForm};
use crate::query::{Item, Listed};

/// Keys that work wherever the focus is, except while text is being typed.
pub(super) fn global(
    ctx: &Context,
    shown: &FrameContext<'_>,
    state: &mut State,
    (undo, redo): &(Option<String>, Option<String>),
) {
    let pressed = |modifiers, key| ctx.input_mut(|i| i.consume_key(modifiers, key));
    if pressed(Modifiers::NONE, Key::F1) {
        state.dialog = Some(Dialog::Keys);
    }
    // Over a dialog the keys are its own: text fields have an undo of their own, and its buttons are pressed by Space.
    if state.dialog.is_some() || state.chooser.is_some() || state.leaving.is_some() {
        return;
    }
    let (forth, back) = (
        |ctx: &Context| {
            ctx.input_mut(|i| {
                i.consume_key(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z) || i.consume_key(Modifiers::COMMAND, Key::Y)
            })
        },
        |ctx: &Context| ctx.input_mut(|i| i.consume_key(Modifiers::COMMAND, Key::Z)),
    );
    if let Some(form) = state.draft.as_mut().filter(|_| state.sheet == SheetChoice::Log && !state.sheet_folded) {
        // While a form is open, what is taken back is what was done in it, wherever in it the keyboard is.
        if forth(ctx) {
            form.redo();
        } else if back(ctx) {
            form.undo();
        }
    }
    // Text fields have an undo of their own.
    if ctx.text_edit_focused() {
        return;
    }
    if forth(ctx) {
        if redo.is_some() {
            state.commands.push(Command::Ask(Ask::Redo));
        }
    } else if back(ctx) && undo.is_some() {
        state.commands.push(Command::Ask(Ask::Undo));
    }
    // Before anything else sees it: a button is pressed by Enter.
    if pressed(Modifiers::NONE, Key::Space) {
        state.clock.playing = !state.clock.playing;
    }
    if pressed(Modifiers::COMMAND, Key::O) {
        state.dialog = Some(Dialog::Book(PathForm::new(PickFor::Open, String::new())));
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
        "," => state.step(-STEP_S),
        "." => state.step(STEP_S),
        "<" => state.go_to_low(shown, false),
        ">" => state.go_to_low(shown, true),
        "n" | "N" => state.step_find(shown, true),
        "p" | "P" => state.step_find(shown, false),
        "a" | "A" => state.add_find(shown),
        "r" | "R" if state.sheet == SheetChoice::NextLow => state.plan_the_next_low(shown),
        "b" | "B" => state.open_bench(),
        "g" | "G" => state.plan.ground = state.plan.ground.next(),
        "e" | "E" => {
            if let Some(item) = state.selection.lead {
                state.edit(shown, item);
            }
        }
        "d" | "D" => {
            if let Some(Item::Signal(signal)) = state.selection.lead {
                state.dig(shown, signal);
            }
        }
        _ => {}
    }
    if pressed(Modifiers::NONE, Key::Delete) {
        state.delete_picked(shown);
    }
    if state.plan.drawing.is_none() && pressed(Modifiers::NONE, Key::Escape) {
        let bench = state.sheet == SheetChoice::Log && !state.sheet_folded && state.log.filter.listed == Listed::Bench;
        match (&state.bench.form, &state.draft) {
            (Some(form), _) if bench && form.is_changed(shown.book) => state.leaving = Some(Leaving::SetUp),
            (Some(_), _) if bench => state.bench.form = None,
            (_, Some(_)) if !bench => state.leave_draft(),
            _ => state.selection.clear(),
        }
    }
}
