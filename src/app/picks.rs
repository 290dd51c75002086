//! The system's own dialogs for files and places, each on a thread of its own as they wait for a person.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::state::command::PickFor;
use crate::query::{Runner, Running};

/// Questions to the system's file dialogs.
pub(crate) struct Picks {
    send: Sender<(PickFor, Vec<PathBuf>)>,
    answers: Receiver<(PickFor, Vec<PathBuf>)>,
    open: Vec<Running<()>>,
}

impl Default for Picks {
    fn default() -> Self {
        let (send, answers) = channel();
        Self { send, answers, open: Vec::new() }
    }
}

impl Picks {
    /// Opens the system's dialog. Where there is none, nothing comes back; the typed path remains.
    pub(crate) fn ask(&mut self, purpose: PickFor, runner: &Runner) {
        let send = self.send.clone();
        self.open.push(runner.start("the system's file dialog", move || {
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
            }
            Ok(())
        }));
    }

    /// What the person chose, if anything came.
    pub(crate) fn poll(&self) -> Option<(PickFor, Vec<PathBuf>)> {
        self.answers.try_recv().ok()
    }

    /// Why a dialog ended by a mistake, once.
    pub(crate) fn failure(&mut self) -> Option<String> {
        let mut why = None;
        self.open.retain(|running| match running.poll() {
            None => true,
            Some(result) => {
                why = why.take().or(result.err().map(|e| e.sentence));
                false
            }
        });
        why
    }
}
