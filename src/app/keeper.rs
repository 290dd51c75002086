//! The book's own thread: it alone holds the file, makes every edit and waits for the disk.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, TryRecvError, channel};
use std::time::Duration;

use super::memory::Memory;
use super::state::command::Ask;
use super::state::dialog::Keeping;
use crate::book::{Book, Edit};
use crate::exchange::{self, Source};
use crate::query::{Runner, Running};
use crate::store::{self, OpenBook, StoreError, TakenBack};

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
    /// Where a new book would go, if nobody says otherwise.
    pub(crate) proposed: String,
}

/// What the keeper tells the window.
pub(crate) enum KeeperReply {
    Kept(Box<Kept>),
    /// It could not be done; the book is as it was.
    Failed(String),
    /// The book's thread met a mistake in the program; what it kept was taken up anew, where it could be.
    Recovered(Box<Kept>, String),
    /// Another program changed the file, which was read anew; nobody asked for this.
    ReadAnew(Box<Kept>, String),
    /// What the book keeps of itself.
    Keeping(Box<Keeping>),
    /// The file was looked at and is as it was.
    Unchanged,
    /// A book stands where this one was to be saved; nothing was written.
    BookThere(PathBuf),
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
        Self::answering(memory, runner, BookThread::answer)
    }

    /// The same, each thing asked being done by `answer`.
    fn answering(
        memory: Memory,
        runner: &Runner,
        mut answer: impl FnMut(&mut BookThread, Ask) -> KeeperReply + Send + 'static,
    ) -> Self {
        let (asks, inbox) = channel();
        let (outbox, told) = channel();
        let guard = runner.clone();
        let thread = runner.start("the book's thread", move || {
            let mut thread = BookThread { open: OpenBook::in_memory(), demo: false, memory };
            loop {
                let reply = match inbox.recv_timeout(WATCH) {
                    Ok(ask) => thread.guarded(&guard, |thread| answer(thread, ask)),
                    Err(RecvTimeoutError::Timeout) if thread.open.is_changed_outside() => {
                        thread.guarded(&guard, BookThread::read_anew)
                    }
                    Err(RecvTimeoutError::Timeout) => continue,
                    Err(RecvTimeoutError::Disconnected) => break,
                };
                let lost = matches!(reply, KeeperReply::Lost(_));
                if outbox.send(reply).is_err() {
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
        match self.told.try_recv() {
            Ok(told) => {
                if !matches!(told, KeeperReply::ReadAnew(..)) {
                    self.open = self.open.saturating_sub(1);
                }
                Some(told)
            }
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => {
                // The thread has ended: what it was still asked for is never answered.
                self.open = 0;
                None
            }
        }
    }

    pub(crate) fn is_busy(&self) -> bool {
        self.open > 0
    }
}

/// How often the file is looked at for changes by other programs while nothing is asked.
const WATCH: Duration = Duration::from_secs(2);

/// How many of the last changes the window lists.
const CHANGES_TOLD: usize = 200;

struct BookThread {
    open: OpenBook,
    demo: bool,
    memory: Memory,
}

impl BookThread {
    /// Does what was asked; where that dies, the book is taken up anew from its file, or from what it was before,
    /// as its state in memory may be half changed.
    fn guarded(&mut self, runner: &Runner, answer: impl FnOnce(&mut Self) -> KeeperReply) -> KeeperReply {
        let before = self.open.snapshot();
        let path = self.open.path().map(Path::to_owned);
        let died = match runner.guard("the keeping of the book", || answer(self)) {
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

    /// The book as another program left its file.
    fn read_anew(&mut self) -> KeeperReply {
        let Some(path) = self.open.path().map(Path::to_owned) else { return KeeperReply::Unchanged };
        match OpenBook::open(&path) {
            Ok(open) => {
                self.open = open;
                let said = format!(
                    "{} was changed by another program and was read anew; earlier changes can no longer be undone",
                    path.display()
                );
                KeeperReply::ReadAnew(Box::new(self.kept(String::new(), false)), said)
            }
            // It may be in the midst of being written; an edit would be refused meanwhile.
            Err(_) => KeeperReply::Unchanged,
        }
    }

    fn answer(&mut self, ask: Ask) -> KeeperReply {
        let done = match ask {
            Ask::Check if self.open.is_changed_outside() => {
                let reply = self.read_anew();
                return match reply {
                    KeeperReply::ReadAnew(kept, said) => KeeperReply::Recovered(kept, said),
                    other => other,
                };
            }
            Ask::Check => return KeeperReply::Unchanged,
            Ask::Last => self.last(),
            Ask::Open(path) => self.open_file(&path),
            Ask::Create(path) => self.create(&path, None),
            Ask::CreateWith(path, edit, label) => self.create(&path, Some((&edit, label))),
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
            Ask::Keeping => {
                return match self.keeping() {
                    Ok(keeping) => KeeperReply::Keeping(Box::new(keeping)),
                    Err(why) => KeeperReply::Failed(why.to_string()),
                };
            }
            Ask::TakeBack(number) => {
                let said = |back: TakenBack| [vec![format!("taken back: {}", back.what)], back.left].concat().join("; ");
                self.open.take_back(number).map(|back| (said(back), false)).map_err(|e| e.to_string())
            }
            Ask::BringBack(uid) => {
                self.open.bring_back(uid).map(|r| (format!("brought back a {}", r.kind()), false)).map_err(|e| e.to_string())
            }
            Ask::BackUp => {
                let made = self.open.back_up();
                made.map(|b| (format!("made the backup {}", b.path.display()), false)).map_err(|e| e.to_string())
            }
            Ask::Restore(backup) => self.restore(&backup),
            Ask::Undo => self.open.undo().map(|what| (format!("undone: {what}"), false)).map_err(|e| e.to_string()),
            Ask::Redo => self.open.redo().map(|what| (format!("done again: {what}"), false)).map_err(|e| e.to_string()),
            Ask::SaveAs(path, replace) => {
                let elsewhere = self.open.is_changed_outside();
                match self.open.save_as(&path, replace) {
                    Err(StoreError::AlreadyThere(path)) => return KeeperReply::BookThere(path),
                    Err(why) => Err(why.to_string()),
                    Ok(()) => {
                        self.demo = false;
                        self.memory.remember_book(&path);
                        let anew = "; another program had changed the old file, and earlier changes can no longer be undone";
                        Ok((format!("the book is now {}{}", path.display(), if elsewhere { anew } else { "" }), false))
                    }
                }
            }
        };
        match done {
            Ok((said, fresh)) => KeeperReply::Kept(Box::new(self.kept(said, fresh))),
            Err(why) => KeeperReply::Failed(why),
        }
    }

    /// A new book, in folders that are made where they are missing.
    fn create(&mut self, path: &Path, with: Option<(&Edit, String)>) -> Result<(String, bool), String> {
        if let Some((edit, _)) = &with {
            // Known before there is a file, so that none is left behind.
            Book::new().apply(edit).map_err(|e| e.to_string())?;
        }
        if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder).map_err(|e| format!("the folder {} could not be made: {e}", folder.display()))?;
        }
        let mut open = OpenBook::create(path).map_err(|e| e.to_string())?;
        let mut said = format!("new book {}", path.display());
        if let Some((edit, label)) = with {
            said += &format!("; {label}");
            open.apply_as(label, edit).map_err(|e| e.to_string())?;
        }
        self.turn_to(open, false);
        Ok((said, true))
    }

    fn keeping(&self) -> Result<Keeping, StoreError> {
        let backups = self.open.path().map(store::backups).unwrap_or_default();
        Ok(Keeping { changes: self.open.history(CHANGES_TOLD)?, deleted: self.open.deleted()?, backups })
    }

    /// The book becomes what a backup holds; as it stood it is kept among the backups.
    fn restore(&mut self, backup: &Path) -> Result<(String, bool), String> {
        let path = self.open.path().map(Path::to_owned).ok_or("a book without a file has no backups")?;
        let restored = store::restore(&path, backup).map_err(|e| e.to_string())?;
        self.open = OpenBook::open(&path).map_err(|e| e.to_string())?;
        let before = restored.before.map_or_else(String::new, |b| format!("; as it stood it is {}", b.display()));
        Ok((format!("the book is again as {} has it{before}", backup.display()), true))
    }

    fn kept(&mut self, said: String, fresh: bool) -> Kept {
        let said = self
            .open
            .take_remarks()
            .into_iter()
            .fold(said, |said, remark| if said.is_empty() { remark } else { format!("{said}; {remark}") });
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
            proposed: self.memory.new_book(),
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
        // What is invented is no plan, whatever day this machine has.
        let options =
            exchange::Options { beach: Some(uid), what, now: Some(jiff::Timestamp::MAX), ..exchange::Options::default() };
        let intake =
            exchange::look(&Source::bytes(file.name, file.bytes), &book, &options, &progress).map_err(|e| e.to_string())?;
        book.apply(&intake.edit).map_err(|e| e.to_string())?;
    }
    book.apply(&crate::demo::keyed(&book)).map_err(|e| e.to_string())?;
    Ok(OpenBook::holding(book))
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::{Duration, Instant};

    use super::*;
    use crate::book::Beach;
    use crate::earth::LonLat;

    /// A keeper that dies in the middle of every undo, the folder of its reports and how often it woke the window.
    fn dying() -> (Keeper, tempfile::TempDir, Arc<AtomicUsize>) {
        let (dir, woken) = (tempfile::tempdir().unwrap(), Arc::new(AtomicUsize::new(0)));
        let counted = Arc::clone(&woken);
        let wake = Arc::new(move || {
            counted.fetch_add(1, Ordering::SeqCst);
        });
        let runner = Runner::new(wake, dir.path().join("reports"));
        let keeper = Keeper::answering(Memory::default(), &runner, |thread, ask| match ask {
            Ask::Undo => {
                thread.open.undo().unwrap();
                panic!("on purpose")
            }
            other => thread.answer(other),
        });
        (keeper, dir, woken)
    }

    fn bay(name: &str) -> Ask {
        Ask::Apply(Edit::put(Beach::new(name, LonLat::new(-20.0, 45.0).unwrap())), None)
    }

    fn reply(keeper: &mut Keeper) -> KeeperReply {
        let began = Instant::now();
        loop {
            if let Some(reply) = keeper.poll() {
                return reply;
            }
            assert!(began.elapsed() < Duration::from_secs(30), "the keeper never answered");
            std::thread::yield_now();
        }
    }

    fn book(reply: KeeperReply) -> Book {
        match reply {
            KeeperReply::Kept(kept) => kept.book,
            KeeperReply::Failed(why)
            | KeeperReply::Lost(why)
            | KeeperReply::Recovered(_, why)
            | KeeperReply::ReadAnew(_, why) => {
                panic!("not kept: {why}")
            }
            KeeperReply::Keeping(_) | KeeperReply::Unchanged | KeeperReply::BookThere(_) => panic!("not kept"),
        }
    }

    /// Work of the book's thread that died used to take the thread with it, and every later edit was lost.
    #[test]
    fn an_edit_that_dies_is_told_with_its_report_and_editing_goes_on() {
        let (mut keeper, dir, woken) = dying();
        keeper.ask(bay("First Bay")).unwrap();
        let before = book(reply(&mut keeper));
        let woken_before = woken.load(Ordering::SeqCst);
        keeper.ask(Ask::Undo).unwrap();
        let KeeperReply::Recovered(kept, why) = reply(&mut keeper) else { panic!("it was not told") };
        assert!(kept.book == before && kept.undo.is_none(), "half of what died is left");
        assert!(why.contains("can no longer be undone"), "{why}");
        let path = why.split(" is in ").nth(1).and_then(|rest| rest.split(';').next()).unwrap();
        assert!(Path::new(path).starts_with(dir.path()), "{why}");
        assert!(std::fs::read_to_string(path).unwrap().contains("on purpose"), "{why}");
        while woken.load(Ordering::SeqCst) <= woken_before {
            std::thread::yield_now();
        }
        assert!(!keeper.is_busy());
        keeper.ask(bay("Second Bay")).unwrap();
        assert_eq!(book(reply(&mut keeper)).beaches().len(), 2);
    }

    /// A book in a file is taken up anew from that file. Where the file is gone too, nothing can be kept any more:
    /// what was asked behind the edit that died is never answered, and used to leave the window busy for ever.
    #[test]
    fn a_book_that_cannot_be_taken_up_anew_is_told_as_lost_and_nothing_stays_busy() {
        let (mut keeper, dir, _) = dying();
        let file = dir.path().join("book.gpkg");
        keeper.ask(Ask::Create(file.clone())).unwrap();
        keeper.ask(bay("First Bay")).unwrap();
        book(reply(&mut keeper));
        assert_eq!(book(reply(&mut keeper)).beaches().len(), 1);
        std::fs::remove_file(&file).unwrap();
        keeper.ask(Ask::Undo).unwrap();
        // It may be asked before the thread has ended or after it.
        let _ = keeper.ask(bay("Second Bay"));
        let why = loop {
            match reply(&mut keeper) {
                KeeperReply::Lost(why) => break why,
                KeeperReply::Failed(_) => {}
                _ => panic!("it was not told"),
            }
        };
        assert!(why.contains("nothing can be changed until the program is started again"), "{why}");
        let began = Instant::now();
        while keeper.is_busy() {
            assert!(keeper.poll().is_none() && began.elapsed() < Duration::from_secs(30), "busy for ever");
        }
        while keeper.ask(bay("Third Bay")).is_ok() {
            assert!(began.elapsed() < Duration::from_secs(30), "the thread never ended");
        }
        assert!(keeper.ask(bay("Third Bay")).unwrap_err().contains("this cannot be kept"));
    }
}
