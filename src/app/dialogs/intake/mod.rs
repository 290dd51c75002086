//! Import: the dry run of files, folders or patterns, then the choice to take them in or leave them.

mod files;
mod home;
mod questions;
mod tables;

use egui::{Id, Ui};

use super::scrolled;
use crate::app::state::command::{Ask, Command};
use crate::app::state::dialog::book_path_typed;
use crate::app::state::intake::IntakeForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::{soft, strong};
use crate::book::{Edit, RecordKind};
use crate::query::{Given, Home, IntakeQuestion, Item, Looked};

/// Height of the buttons below, points.
const FOOT: f32 = 58.0;

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let question = form.question(shown.book);
    let answer = shown.answers.answer::<IntakeQuestion>();
    // What the form says now, not what it said a frame ago; until that is known, what was known of the same files.
    let asked = question.is_some() && shown.answers.asked::<IntakeQuestion>() == question.as_ref();
    let fresh = answer.fresh().filter(|_| asked).cloned();
    let same_files = answer.question().is_some_and(|q| q.paths == form.paths);
    let looked = fresh.clone().or_else(|| answer.newest().filter(|_| same_files).map(|(l, _)| l.clone()));
    let failure = answer.failure().filter(|_| asked).map(str::to_owned);
    ui.set_width(ui.max_rect().width().min(780.0));
    ui.heading("Import");
    scrolled(ui, FOOT, |ui| {
        ui.label(soft(ui, "A dry run first: nothing is written before you press Import."));
        files::named(ui, form, state);
        home::show(ui, form, shown, looked.as_deref());
        questions::clocks(ui, form, shown, looked.as_deref());
        if let Some(why) = &failure {
            warning(ui, &format!("{why}."));
        }
        match &looked {
            Some(looked) => files::show(ui, form, looked),
            None if form.paths.is_empty() => {
                ui.label(soft(ui, "Name a folder, files or a pattern; choose them; or drop them on the window."));
            }
            None => {}
        }
    });
    ui.separator();
    buttons(ui, form, shown, state, fresh.as_ref(), asked && failure.is_none())
}

/// What can be done, always in view.
fn buttons(
    ui: &mut Ui,
    form: &mut IntakeForm,
    shown: &FrameContext<'_>,
    state: &mut State,
    fresh: Option<&Given<Looked>>,
    asked: bool,
) -> bool {
    let count = fresh.map_or(0, |l| l.intakes.taken_count());
    let open = fresh.is_some_and(|l| l.intakes.must_be_answered().next().is_some());
    let lacks = lacking(form, shown, fresh.is_some_and(|l| l.made.is_some()));
    let why_not = match &lacks {
        _ if open && count == 0 => "Answer first what is asked above".to_owned(),
        Some(why) if count > 0 => why.clone(),
        _ => "There is nothing to take".to_owned(),
    };
    let ready = fresh.filter(|_| count > 0 && lacks.is_none());
    let mut done = false;
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    ui.horizontal(|ui| {
        let label = match count {
            0 => "Import".to_owned(),
            1 => "Import 1 record".to_owned(),
            n => format!("Import {n} records"),
        };
        let button = ui.add_enabled(ready.is_some() && form.sent.is_none(), egui::Button::new(strong(label)));
        if ready.is_some() && form.to_button && ui.memory(|m| m.focused().is_none()) {
            form.to_button = false;
            button.request_focus();
        }
        if button.on_disabled_hover_text(why_not).clicked()
            && let Some(looked) = ready
        {
            take(form, looked, state);
        }
        done |= ui.button("Leave").on_hover_text("Write nothing (Escape)").clicked();
        ui.add_space(8.0);
        if form.sent.is_some() {
            ui.label(soft(ui, "writing ..."));
        } else if form.stopped {
            ui.label(soft(ui, "called off"));
            if ui.button("Look again").clicked() {
                form.stopped = false;
            }
        } else if asked && fresh.is_none() {
            let share = shown.answers.answer::<IntakeQuestion>().share().unwrap_or(0.0) as f32;
            let wide = (ui.available_width() - 70.0).clamp(40.0, 220.0);
            ui.add(egui::ProgressBar::new(share).desired_width(wide).text("reading"));
            if ui.button("Stop").on_hover_text("Calls the reading off; the files stay named").clicked() {
                form.stopped = true;
            }
        } else if let (true, Some(looked)) = (open, fresh) {
            let waiting = looked.intakes.intakes.iter().filter(|i| i.waits()).count();
            ui.label(soft(
                ui,
                match (count, waiting) {
                    (0, _) => "something above is to be answered first".to_owned(),
                    (_, 1) => "one file waits for its answer and is not taken".to_owned(),
                    (_, n) => format!("{n} files wait for their answers and are not taken"),
                },
            ));
        } else if let Some(why) = lacks.filter(|_| count > 0) {
            ui.label(soft(ui, why));
        }
    });
    done
}

/// What is still to be typed before anything can be taken.
fn lacking(form: &IntakeForm, shown: &FrameContext<'_>, makes: bool) -> Option<String> {
    if makes && form.name.trim().is_empty() {
        return Some("the new beach needs a name".to_owned());
    }
    if makes && form.into.is_none() && shown.book.beach_named(&form.name).is_some() {
        return Some(format!("the book has a beach \"{}\" already", form.name.trim()));
    }
    if form.anothers && form.by.is_none() {
        return Some("it is not said whose finds they are".to_owned());
    }
    let path = &form.into.as_ref()?.path;
    path.trim().is_empty().then(|| "the new book needs a file".to_owned())
}

/// Sends it to the book; the form stays until that has taken it.
fn take(form: &mut IntakeForm, looked: &Looked, state: &mut State) {
    let edit = looked.edit_named(form.name.trim());
    let taken = looked.intakes.intakes.iter().filter(|i| !i.waits());
    let names: Vec<&str> = taken.map(|i| file_name(&i.file)).collect();
    let label = match names.as_slice() {
        [] => "import".to_owned(),
        few if few.len() <= 3 => format!("import {}", few.join(", ")),
        [first, .., last] => format!("import {} files, {first} to {last}", names.len()),
        [one] => format!("import {one}"),
    };
    let finds = edit.singles().into_iter().filter_map(|e| match e {
        Edit::Put(r) if r.kind() == RecordKind::Find => Some(Item::Find(r.uid())),
        _ => None,
    });
    form.sent = Some(finds.collect());
    form.refusal = None;
    state.commands.push(Command::Ask(match &form.into {
        Some(into) => Ask::CreateWith(book_path_typed(&into.path), edit, label),
        None => Ask::Apply(edit, Some(label)),
    }));
}

/// The last part of a path.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// A lasting name of a field, so that the keyboard stays with it while lines come and go above.
fn field(name: &'static str) -> Id {
    Id::unique(("import", name))
}

/// Whether the beach that all goes to is yet to be made.
fn makes_a_beach(form: &IntakeForm) -> bool {
    form.home == Home::New
}
