//! The book's own thread: it alone holds the file, makes every edit and waits for the disk.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};

use super::memory::Memory;
use super::state::command::Ask;
use crate::book::{Book, Edit};
use crate::exchange::{self, Source};
use crate::query::{Runner, Running};
use crate::store::OpenBook;

/// The state of the book after something was done.
pub(crate) struct Kept {
    pub(crate) book: Book,
    pub(crate) path: Option<PathBuf>,
    pub(crate) demo: bool,
    pub(crate) read_only: bool,
    pub(crate) undo: Option<String>,
    pub(crate) redo: Option<String>,
    /// What was done, for the line at the foot.
    pub(crate) said: Option<String>,
    /// What in the file could not be taken as it stood.
    pub(crate) complaints: Vec<String>,
    /// Another book than before.
    pub(crate) fresh: bool,
}

/// What the keeper tells the window.
pub(crate) enum KeeperReply {
    Kept(Box<Kept>),
    /// It could not be done; the book is as it was.
    Failed(String),
    /// The book's thread met a mistake in the program; what it kept was taken up anew, where it could be.
    Recovered(Box<Kept>, String),
    /// As before, and the book could not be taken up anew: nothing can be kept any more.
    Lost(String),
}

/// The window's end of the line.
pub(crate) struct Keeper {
    asks: Sender<Ask>,
    told: Receiver<KeeperReply>,
    /// Asked and not yet answered.
    open: usize,
    thread: Running<()>,
}

impl Keeper {
    /// Starts the keeper's thread.
    pub(crate) fn start(memory: Memory, runner: &Runner) -> Self {
        let (asks, inbox) = channel();
        let (outbox, told) = channel();
        let guard = runner.clone();
        let thread = runner.start("the book's thread", move || {
            let mut thread = BookThread { open: OpenBook::in_memory(), demo: false, memory };
            while let Ok(ask) = inbox.recv() {
                let answer = thread.answer_guarded(ask, &guard);
                let lost = matches!(answer, KeeperReply::Lost(_));
                if outbox.send(answer).is_err() {
                    break;
                }
                guard.waker()();
                if lost {
                    break;
                }
            }
            Ok(())
        });
        Self { asks, told, open: 0, thread }
    }

    pub(crate) fn ask(&mut self, ask: Ask) -> Result<(), String> {
        self.asks.send(ask).map_err(|_| {
            let why = match self.thread.poll() {
                Some(Err(refusal)) => format!(": {refusal}"),
                _ => String::new(),
            };
            format!("this cannot be kept, as the book's thread has ended{why}; start the program again")
        })?;
        self.open += 1;
        Ok(())
    }

    /// The next answer, if one is there.
    pub(crate) fn poll(&mut self) -> Option<KeeperReply> {
        let told = self.told.try_recv().ok()?;
        self.open = self.open.saturating_sub(1);
        Some(told)
    }

    pub(crate) fn is_busy(&self) -> bool {
        self.open > 0
    }
}

struct BookThread {
    open: OpenBook,
    demo: bool,
    memory: Memory,
}

impl BookThread {
    /// As [`answer`](Self::answer); where that dies, the book is taken up anew from its file, or from what it
    /// was before, as its state in memory may be half changed.
    fn answer_guarded(&mut self, ask: Ask, runner: &Runner) -> KeeperReply {
        let before = self.open.snapshot();
        let path = self.open.path().map(Path::to_owned);
        let died = match runner.guard("the keeping of the book", || self.answer(ask)) {
            Ok(answer) => return answer,
            Err(died) => died,
        };
        let again = runner.guard("the book's taking up", || match &path {
            Some(path) => OpenBook::open(path).map_err(|e| e.to_string()),
            None => Ok(OpenBook::holding(before)),
        });
        match again.and_then(|opened| opened) {
            Ok(open) => {
                self.open = open;
                let said = format!("{died}; the book was taken up anew, and earlier changes can no longer be undone");
                KeeperReply::Recovered(Box::new(self.kept(String::new(), false)), said)
            }
            Err(why) => KeeperReply::Lost(format!(
                "{died}; the book could not be opened again ({why}), so nothing can be changed until the program is started again"
            )),
        }
    }

    fn answer(&mut self, ask: Ask) -> KeeperReply {
        let done = match ask {
            Ask::Last => self.last(),
            Ask::Open(path) => self.open_file(&path),
            Ask::Create(path) => OpenBook::create(&path).map_err(|e| e.to_string()).map(|open| {
                self.turn_to(open, false);
                (format!("new book {}", path.display()), true)
            }),
            Ask::Demo => self.open_demo(),
            Ask::Given(open) => {
                self.turn_to(*open, false);
                Ok((String::new(), true))
            }
            Ask::Apply(edit, label) => {
                let done = match label {
                    Some(label) => self.open.apply_as(label, &edit),
                    None => self.open.apply(&edit),
                };
                done.map(|()| (self.open.can_undo().unwrap_or_default().to_owned(), false)).map_err(|e| e.to_string())
            }
            Ask::Undo => self.open.undo().map(|what| (format!("undone: {what}"), false)).map_err(|e| e.to_string()),
            Ask::Redo => self.open.redo().map(|what| (format!("done again: {what}"), false)).map_err(|e| e.to_string()),
            Ask::SaveAs(path) => self.open.save_as(&path).map_err(|e| e.to_string()).map(|()| {
                self.demo = false;
                self.memory.remember_book(&path);
                (format!("the book is now {}", path.display()), false)
            }),
        };
        match done {
            Ok((said, fresh)) => KeeperReply::Kept(Box::new(self.kept(said, fresh))),
            Err(why) => KeeperReply::Failed(why),
        }
    }

    fn kept(&self, said: String, fresh: bool) -> Kept {
        Kept {
            book: self.open.snapshot(),
            path: self.open.path().map(Path::to_owned),
            demo: self.demo,
            read_only: self.open.is_read_only(),
            undo: self.open.can_undo().map(str::to_owned),
            redo: self.open.can_redo().map(str::to_owned),
            said: (!said.is_empty()).then_some(said),
            complaints: if fresh { self.open.complaints().iter().map(ToString::to_string).collect() } else { Vec::new() },
            fresh,
        }
    }

    fn turn_to(&mut self, open: OpenBook, demo: bool) {
        if let (Some(path), false) = (open.path(), demo) {
            self.memory.remember_book(path);
        }
        self.open = open;
        self.demo = demo;
    }

    fn last(&mut self) -> Result<(String, bool), String> {
        let Some(path) = self.memory.last_book() else { return self.open_demo() };
        match self.open_file(&path) {
            Ok(done) => Ok(done),
            // A book that was moved away must not keep the window from opening.
            Err(why) => {
                let (_, fresh) = self.open_demo()?;
                Ok((format!("{why}; the demo beach is shown instead"), fresh))
            }
        }
    }

    fn open_file(&mut self, path: &Path) -> Result<(String, bool), String> {
        let open = OpenBook::open(path).map_err(|e| e.to_string())?;
        self.turn_to(open, false);
        Ok((format!("opened {}", path.display()), true))
    }

    fn open_demo(&mut self) -> Result<(String, bool), String> {
        self.turn_to(demo_book()?, true);
        Ok((String::new(), true))
    }
}

/// The demo beach, taken in from its embedded files by the same importers as anyone's.
fn demo_book() -> Result<OpenBook, String> {
    let mut book = Book::new();
    let beach = crate::demo::beach().map_err(|e| e.to_string())?;
    let uid = beach.uid;
    book.apply(&Edit::put(beach)).map_err(|e| e.to_string())?;
    let progress = crate::Progress::new();
    for file in crate::demo::files() {
        let what = file.import_as.map(str::parse).transpose()?;
        let options = exchange::Options { beach: Some(uid), what, ..exchange::Options::default() };
        let intake =
            exchange::look(&Source::bytes(file.name, file.bytes), &book, &options, &progress).map_err(|e| e.to_string())?;
        book.apply(&intake.edit).map_err(|e| e.to_string())?;
    }
    Ok(OpenBook::holding(book))
}
