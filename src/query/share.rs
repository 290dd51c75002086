//! What is handed over.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::{Ask as _, AtOnce, Given, Inquiry, NotYet, Question, ReadBeach, Refusal, Work};
use crate::allowed::PermittedGround;
use crate::book::{Book, Part as _, Permission, Receipt, Uid};
use crate::earth::{Frame, Local};
use crate::effort::{self, Effort};
use crate::output;
use crate::share::{self, Pack, PackAsk};
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
    /// Everything that leaves under a permission, line by line; nothing of what is written for oneself.
    pub leaves: Vec<String>,
    /// What is to be kept of it once it was handed over; nothing of what is written for oneself.
    pub receipt: Option<Receipt>,
    /// The beach they are of, laid out.
    pub setting: Given<Setting>,
    /// What was read, where it was written for oneself.
    pub read: Option<Given<ReadBeach>>,
}

impl HandOver {
    /// Files in a folder that another hand-over may have written and this one does not: beside this one they would tell what
    /// it leaves out.
    pub fn left_out_in(&self, folder: &Path) -> Vec<PathBuf> {
        let pictures = output::named_like(folder, share::PICTURE.0, share::PICTURE.1);
        let all = share::HANDED_OVER.into_iter().map(|name| folder.join(name)).chain(pictures);
        all.filter(|path| self.files.iter().all(|(own, _)| folder.join(own) != *path)).collect()
    }

    /// What will lie in a folder beside the files of this pack once they are written there; nothing of what is written for
    /// oneself. What an earlier hand-over left as it made it goes, and is not among it.
    pub fn beside_in(&self, folder: &Path) -> Beside {
        let mut beside = Beside::default();
        if self.receipt.is_none() {
            return beside;
        }
        let instead = self.left_out_in(folder);
        let is_of_it = |path: &PathBuf| self.files.iter().any(|(name, _)| folder.join(name) == *path);
        let goes = |path: &PathBuf| {
            instead.contains(path) && std::fs::read(path).is_ok_and(|bytes| bytes.is_empty() || output::is_own(&bytes))
        };
        for path in output::files_under(folder).into_iter().filter(|path| !is_of_it(path) && !goes(path)) {
            let list = if output::was_made_here(&path) { &mut beside.made_here } else { &mut beside.others };
            list.push(path);
        }
        beside
    }
}

/// What lies in a folder beside the files of a pack and is no part of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Beside {
    /// Made by this program, and perhaps changed since: it may hold the places that the pack hides.
    pub made_here: Vec<PathBuf>,
    /// Anything else.
    pub others: Vec<PathBuf>,
}

/// So many files are named.
const MOST_NAMED: usize = 12;

fn names(paths: &[PathBuf]) -> String {
    let mut named: Vec<String> = paths.iter().take(MOST_NAMED).map(|path| path.display().to_string()).collect();
    if paths.len() > MOST_NAMED {
        named.push(format!("and {} more", paths.len() - MOST_NAMED));
    }
    named.join(", ")
}

impl Beside {
    /// Why the pack is not written there at all.
    pub fn refusal(&self) -> Option<String> {
        (!self.made_here.is_empty()).then(|| {
            format!(
                "files that this program made lie there and are no part of the pack: {}; they may hold the places that it hides, so nothing was written: name another folder, a new one",
                names(&self.made_here)
            )
        })
    }

    /// What is to be said beside the written pack.
    pub fn said(&self) -> Option<String> {
        (!self.others.is_empty()).then(|| {
            format!(
                "These lie beside the pack and are no part of it: {}. Do not hand over the folder as it is.",
                names(&self.others)
            )
        })
    }
}

/// Everything for oneself, or what one permission lets its holder see.
#[derive(Clone, PartialEq)]
pub struct HandOverQuestion {
    book: WholeBook,
    beach: Uid,
    permission: Option<(Uid, PackAsk)>,
    effort: effort::Params,
    /// The instant that a report for oneself says it was made, and that of a receipt.
    now: Timestamp,
}

impl Inquiry {
    /// What is handed over: everything for oneself, or what is asked for under a permission.
    pub fn hand_over(&self, permission: Option<(Uid, PackAsk)>, now: Timestamp) -> HandOverQuestion {
        let book = WholeBook(self.book().clone());
        HandOverQuestion { book, beach: self.beach().uid, permission, effort: self.effort, now }
    }
}

impl Question for HandOverQuestion {
    type Answer = HandOver;
    const NAME: &'static str = "the hand-over";

    fn work_out(&self, work: &Work<HandOver>) -> Result<HandOver, Refusal> {
        let book = &self.book.0;
        let failed = |why: NotYet| match why {
            NotYet::Failed(refusal) => refusal,
            other => Refusal::missing(other),
        };
        let inquiry = Inquiry::new(book, self.beach, self.now)?;
        let mut at_once = AtOnce::watched_by(work.progress());
        let setting = at_once.ask(inquiry.setting()).map_err(failed)?;
        if let Some((permission, ask)) = &self.permission {
            let permission = book.permissions().get(permission).ok_or("the permission is no longer in the book")?;
            let covered_m2 = self.covered_m2(permission, work)?;
            work.check()?;
            let made = share::compose(book, &setting, permission, ask, &covered_m2, self.now).map_err(Refusal::missing)?;
            let Pack { files, said, leaves, receipt } = made;
            return Ok(HandOver { files, said, leaves, receipt: Some(receipt), setting, read: None });
        }
        let read = inquiry.reading(&mut at_once).map_err(failed)?;
        let reading = &read.reading;
        work.check()?;
        let open = share::open_files(book, &setting, reading).map_err(Refusal::missing)?;
        let mut files: Vec<(String, Vec<u8>)> = open.into_iter().map(|(name, bytes)| (name.to_owned(), bytes)).collect();
        files.push(("plan.svg".to_owned(), share::plan_picture(book, &setting, reading).svg().into_bytes()));
        files.push(("report.html".to_owned(), share::report(book, &setting, reading, self.now).html().into_bytes()));
        let said = vec![share::EXACT_CAUTION.to_owned()];
        Ok(HandOver { files, said, leaves: Vec::new(), receipt: None, setting, read: Some(read) })
    }
}

impl HandOverQuestion {
    /// The ground of a permission that each outing covered, m²: squares of ground count where their middle lies on it.
    fn covered_m2(&self, permission: &Permission, work: &Work<HandOver>) -> Result<BTreeMap<Uid, f64>, Refusal> {
        let book = &self.book.0;
        let mut sums = BTreeMap::new();
        if book.tracks_of(self.beach).next().is_none() {
            return Ok(sums);
        }
        let beach = book.beaches().get(&self.beach).ok_or("the beach is no longer in the book")?;
        let frame = Frame::centred_on(beach.origin).map_err(Refusal::missing)?;
        let effort = Effort::from_book(book, self.beach, |p| p, &self.effort, work.progress()).map_err(Refusal::missing)?;
        let ground = PermittedGround::new(&permission.area);
        let middle = |along_m, across_m| frame.to_lonlat(Local::new(along_m, across_m)).ok();
        let on_it: Vec<bool> =
            effort.cells.iter().map(|c| middle(c.along_m, c.across_m).is_some_and(|at| ground.holds(at))).collect();
        for visit in effort.shares.iter().filter(|v| on_it.get(v.cell) == Some(&true)) {
            if let Some(outing) = visit.outing {
                *sums.entry(outing).or_insert(0.0) += visit.swept_m2;
            }
        }
        Ok(sums)
    }
}
