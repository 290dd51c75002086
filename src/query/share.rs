//! What is handed over.

use jiff::Timestamp;

use super::{Ask as _, AtOnce, Given, Inquiry, NotYet, Question, ReadBeach, Refusal, Work};
use crate::book::{Book, Part as _, Uid};
use crate::share::{self, Precision};
use crate::shore::Setting;

/// The whole book: what is handed over may be drawn from any of its tables.
#[derive(Clone)]
pub struct WholeBook(pub Book);

impl PartialEq for WholeBook {
    fn eq(&self, other: &Self) -> bool {
        self.0.is_same(&other.0)
    }
}

/// Files ready to be written.
pub struct HandOver {
    /// Each file's name and content, in the order they are written.
    pub files: Vec<(String, Vec<u8>)>,
    /// What is to be said beside them: how they were cut down, or that nothing was.
    pub said: Vec<String>,
    /// The beach they are of, laid out.
    pub setting: Given<Setting>,
    /// What they were written from.
    pub read: Given<ReadBeach>,
}

impl HandOver {
    /// Files that another hand-over writes and this one does not: beside this one they would tell what it leaves out.
    pub fn left_out(&self) -> Vec<&'static str> {
        share::HANDED_OVER.into_iter().filter(|name| self.files.iter().all(|(own, _)| own != name)).collect()
    }
}

/// Everything for oneself, or what one permission lets its holder see; read as the beach is read, of every find.
#[derive(Clone, PartialEq)]
pub struct HandOverQuestion {
    book: WholeBook,
    beach: Uid,
    permission: Option<Uid>,
    /// The instant that the report says it was made.
    now: Timestamp,
}

impl Inquiry {
    /// What is handed over, for oneself or under a permission.
    pub fn hand_over(&self, permission: Option<Uid>, now: Timestamp) -> HandOverQuestion {
        HandOverQuestion { book: WholeBook(self.book().clone()), beach: self.beach().uid, permission, now }
    }
}

impl Question for HandOverQuestion {
    type Answer = HandOver;
    const NAME: &'static str = "the hand-over";

    fn work_out(&self, work: &Work<HandOver>) -> Result<HandOver, Refusal> {
        let whole = &self.book.0;
        let (book, precision, said) = match self.permission {
            None => (whole.clone(), Precision::Exact, vec![share::EXACT_CAUTION.to_owned()]),
            Some(uid) => {
                let permission = whole.permissions().get(&uid).ok_or("the permission is no longer in the book")?;
                let cut = share::cut_to(whole, permission).map_err(Refusal::missing)?;
                (cut.book, cut.precision, cut.said)
            }
        };
        let failed = |why: NotYet| match why {
            NotYet::Failed(refusal) => refusal,
            other => Refusal::missing(other),
        };
        // What is handed over is read of the very finds that are handed over, where they lie; only then are places coarsened.
        let inquiry = Inquiry::new(&book, self.beach, self.now)?;
        let mut at_once = AtOnce::watched_by(work.progress());
        let setting = at_once.ask(inquiry.setting()).map_err(failed)?;
        let read = inquiry.reading(&mut at_once).map_err(failed)?;
        let reading = &read.reading;
        work.check()?;
        let open = share::open_files(&book, &setting, reading, precision).map_err(Refusal::missing)?;
        let mut files: Vec<(String, Vec<u8>)> = open.into_iter().map(|(name, bytes)| (name.to_owned(), bytes)).collect();
        files.push(("plan.svg".to_owned(), share::plan_picture(&book, &setting, reading, precision).svg().into_bytes()));
        let mut report = share::report(&book, &setting, reading, precision, self.now);
        if self.permission.is_some() {
            report.opening.extend(said.iter().cloned());
        }
        files.push(("report.html".to_owned(), report.html().into_bytes()));
        Ok(HandOver { files, said, setting, read })
    }
}
