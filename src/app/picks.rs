//! The system's own dialogs for files and places, each on a thread of its own as they wait for a person. Where the system
//! has none, the program's own chooser is opened instead.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use super::state::command::PickFor;
use crate::query::{Runner, Running};

/// What was picked; `None` where the system has no dialog to pick with.
type Picked = (PickFor, Option<Vec<PathBuf>>);

/// Questions to the system's file dialogs.
pub(crate) struct Picks {
    send: Sender<Picked>,
    answers: Receiver<Picked>,
    open: Vec<Running<()>>,
}

impl Default for Picks {
    fn default() -> Self {
        let (send, answers) = channel();
        Self { send, answers, open: Vec::new() }
    }
}

/// Nobody sees a dialog, decides and closes it within this: it never opened.
const AT_ONCE: Duration = Duration::from_millis(400);

impl Picks {
    /// Opens the system's dialog.
    pub(crate) fn ask(&mut self, purpose: PickFor, runner: &Runner) {
        if !may_have_a_dialog() {
            // The window may have closed meanwhile; then nobody waits.
            let _ = self.send.send((purpose, None));
            runner.waker()();
            return;
        }
        let send = self.send.clone();
        self.open.push(runner.start("the system's file dialog", move || {
            let book = rfd::FileDialog::new().add_filter("beach book", &["gpkg"]);
            let folder = |title: &str| rfd::FileDialog::new().set_title(title).pick_folder().map(|p| vec![p]);
            let began = Instant::now();
            let picked = match purpose {
                PickFor::Import => rfd::FileDialog::new().set_title("Import files").pick_files(),
                PickFor::ImportFolder => folder("Import a folder"),
                PickFor::Open => book.set_title("Open a book").pick_file().map(|p| vec![p]),
                PickFor::New => book.set_title("New book").set_file_name("my-beaches.gpkg").save_file().map(|p| vec![p]),
                PickFor::SaveAs => {
                    book.set_title("Save the book as").set_file_name("my-beaches.gpkg").save_file().map(|p| vec![p])
                }
                PickFor::Route => folder("Folder for the route"),
                PickFor::HandOver => folder("Folder for the hand-over"),
            };
            if picked.is_some() || began.elapsed() < AT_ONCE {
                // The window may have closed while the dialog was open.
                let _ = send.send((purpose, picked));
            }
            Ok(())
        }));
    }

    /// What the person chose, if anything came; `None` of it where there is no dialog to choose with.
    pub(crate) fn poll(&self) -> Option<Picked> {
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

/// Whether the system may have a dialog of its own: on Linux it is reached over the session's bus.
fn may_have_a_dialog() -> bool {
    if !cfg!(target_os = "linux") {
        return true;
    }
    let stated = std::env::var_os("DBUS_SESSION_BUS_ADDRESS").is_some_and(|a| !a.is_empty());
    stated || std::env::var_os("XDG_RUNTIME_DIR").is_some_and(|dir| PathBuf::from(dir).join("bus").exists())
}
