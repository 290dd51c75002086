//! The system's own dialogs for files and places, each on a thread of its own as they wait for a person.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::state::command::PickFor;
use super::work::Waker;

/// Questions to the system's file dialogs.
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
