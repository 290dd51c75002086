//! What stands over the window until it is answered, and the system's own dialogs.

pub(crate) mod beach_form;
pub(crate) mod intake;
mod tide_form;

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use egui::{Context, Id, Modal, Ui};

use crate::app::keeper::Ask;
use crate::app::state::Shown;
use crate::app::widgets::controls::heading;
use crate::app::widgets::theme::{self, soft};
use crate::app::work::Waker;
use crate::app::{Command, Dialog, State};

/// What a file or a place is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PickFor {
    /// Files to import.
    Import,
    /// A book to open.
    Open,
    /// Where a new book goes.
    New,
    /// Where the book goes on.
    SaveAs,
    /// The folder into which a hand-over goes.
    HandOver,
    /// The folder into which a route goes.
    Route,
}

/// Questions to the system's file dialogs, each on a thread of its own as they wait for a person.
pub(crate) struct Picks {
    send: Sender<(PickFor, Vec<PathBuf>)>,
    answers: Receiver<(PickFor, Vec<PathBuf>)>,
}

impl Default for Picks {
    fn default() -> Self {
        let (send, answers) = channel();
        Self { send, answers }
    }
}

impl Picks {
    /// Opens the system's dialog. Where there is none, nothing comes back; the typed path remains.
    pub(crate) fn ask(&self, purpose: PickFor, waker: &Waker) {
        let (send, waker) = (self.send.clone(), waker.clone());
        let asked = std::thread::Builder::new().name("file dialog".into()).spawn(move || {
            let book = rfd::FileDialog::new().add_filter("beach book", &["gpkg"]);
            let picked = match purpose {
                PickFor::Import => rfd::FileDialog::new().set_title("Import files").pick_files(),
                PickFor::Open => book.set_title("Open a book").pick_file().map(|p| vec![p]),
                PickFor::New => book.set_title("New book").set_file_name("my-beaches.gpkg").save_file().map(|p| vec![p]),
                PickFor::SaveAs => {
                    book.set_title("Save the book as").set_file_name("my-beaches.gpkg").save_file().map(|p| vec![p])
                }
                PickFor::Route => rfd::FileDialog::new().set_title("Folder for the route").pick_folder().map(|p| vec![p]),
                PickFor::HandOver => rfd::FileDialog::new().set_title("Folder for the hand-over").pick_folder().map(|p| vec![p]),
            };
            if let Some(paths) = picked {
                // The window may have closed while the dialog was open.
                let _ = send.send((purpose, paths));
                waker();
            }
        });
        drop(asked);
    }

    /// What the person chose, if anything came.
    pub(crate) fn poll(&self) -> Option<(PickFor, Vec<PathBuf>)> {
        self.answers.try_recv().ok()
    }
}

/// Does what the files were picked for.
pub(crate) fn picked(state: &mut State, purpose: PickFor, paths: Vec<PathBuf>) {
    if purpose == PickFor::Import {
        state.commands.push(Command::Intake(paths));
        return;
    }
    let Some(path) = paths.into_iter().next() else { return };
    let command = match purpose {
        PickFor::Open => Command::Ask(Ask::Open(path)),
        PickFor::New => Command::Ask(Ask::Create(path)),
        PickFor::SaveAs => Command::Ask(Ask::SaveAs(path)),
        PickFor::Route => Command::WriteRoute(path),
        PickFor::HandOver | PickFor::Import => Command::HandOver(path),
    };
    state.commands.push(command);
    if matches!(state.dialog, Some(Dialog::Book(_))) {
        state.dialog = None;
    }
}

/// A path typed by hand, beside the system's dialog.
#[derive(Debug, Clone)]
pub(crate) struct PathForm {
    purpose: PickFor,
    text: String,
}

impl PathForm {
    pub(crate) fn new(purpose: PickFor) -> Self {
        Self { purpose, text: String::new() }
    }

    /// Shows it; whether it is done with.
    fn show(&mut self, ui: &mut Ui, state: &mut State) -> bool {
        let (title, button) = match self.purpose {
            PickFor::Open => ("Open a book", "Open"),
            PickFor::New => ("New book", "Make it"),
            PickFor::SaveAs => ("Save the book as", "Save"),
            PickFor::HandOver | PickFor::Route | PickFor::Import => ("Hand over", "Write"),
        };
        ui.heading(title);
        ui.label("A book is one file, an OGC GeoPackage (.gpkg), which any program for maps can open.");
        ui.add_space(6.0);
        let label = ui.label("File");
        let field = ui
            .add(egui::TextEdit::singleline(&mut self.text).desired_width(430.0).hint_text("/home/me/my-beaches.gpkg"))
            .labelled_by(label.id);
        let enter = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        ui.add_space(8.0);
        let mut done = false;
        ui.horizontal(|ui| {
            let typed = !self.text.trim().is_empty();
            if ui.add_enabled(typed, egui::Button::new(button)).clicked() || (enter && typed) {
                picked(state, self.purpose, vec![PathBuf::from(self.text.trim())]);
                done = true;
            }
            if ui.button("Choose ...").on_hover_text("With the system's own dialog").clicked() {
                state.commands.push(Command::Pick(self.purpose));
            }
            done |= ui.button("Leave").clicked();
        });
        done
    }
}

/// Shows whichever dialog is open.
pub(super) fn dialogs(ctx: &Context, shown: &Shown<'_>, state: &mut State, waker: &Waker) {
    let Some(mut dialog) = state.dialog.take() else { return };
    let paper = theme::palette(ctx);
    let frame = egui::Frame::window(&ctx.global_style()).inner_margin(egui::Margin::same(18));
    let modal = Modal::new(Id::unique("dialog")).frame(frame).backdrop_color(paper.ink.gamma_multiply(0.25)).show(ctx, |ui| {
        ui.set_max_width((ctx.content_rect().width() - 80.0).min(820.0));
        match &mut dialog {
            Dialog::Intake(form) => intake::show(ui, form, shown, state, waker),
            Dialog::Beach(form) => beach_form::show(ui, form, shown, state),
            Dialog::Book(form) => form.show(ui, state),
            Dialog::Cautions => {
                cautions(ui, shown);
                ui.button("Close").clicked()
            }
            Dialog::Keys => {
                ui.heading("Keys, all of them");
                ui.add_space(6.0);
                crate::app::keys::list(ui);
                ui.add_space(8.0);
                ui.button("Close").clicked()
            }
        }
    });
    let done = modal.inner || modal.should_close();
    // A view may have opened another one meanwhile; that one stays.
    if !done && state.dialog.is_none() {
        state.dialog = Some(dialog);
    }
}

/// The usual cautions (common practice, no published source), and whose word counts.
fn cautions(ui: &mut Ui, shown: &Shown<'_>) {
    ui.set_width(620.0_f32.min(ui.available_width()));
    ui.heading("Cautions");
    for (title, text) in [
        (
            "Tide",
            "Levels here are predictions from harmonic constants or your own table. Wind, pressure and swell move the real water by \
             decimetres. Check the official tables, know your way off, leave before the flood reaches it, and never count on the last minute.",
        ),
        ("Cut-off", "Headlands, groynes and channels close behind you long before the sand where you stand is wet."),
        (
            "Mud and quicksand",
            "Stay off soft mud. If you sink, lean back, spread your weight, and call the coastguard or emergency number.",
        ),
        ("Cliffs", "Keep away from the foot and the edge, above all after rain, frost and storms."),
        (
            "Ordnance",
            "Do not touch or move anything that may be a shell, grenade or bomb. Mark the place, keep others away, call the police.",
        ),
        ("Sharps and chemicals", "Gloves; a hand trowel rather than fingers; needles and flares are left and reported."),
        ("Lightning", "A detector shaft on an open beach is the wrong thing to hold. Leave at the first thunder."),
        (
            "Permission",
            "The landowner, local rules and the law on finds decide; a permission noted in a book is only your note of it.",
        ),
    ] {
        heading(ui, title);
        ui.label(text);
    }
    if let Some(water) = shown.water() {
        heading(ui, "This beach's tide");
        ui.label(water.caution());
    }
    heading(ui, "Sources");
    ui.label(soft(ui, crate::tide::ATTRIBUTION).size(12.5));
    ui.label(soft(ui, "Type: Source Sans 3 and Source Serif 4, Adobe, SIL Open Font License 1.1.").size(12.5));
    ui.add_space(8.0);
}
