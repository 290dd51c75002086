//! What files would bring: the dry run of an import.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use super::{Question, Refusal, WholeBook, Work};
use crate::book::{Beach, Edit, Record, Uid};
use crate::exchange::{self, About, Intakes, Options, PassedOver, Source, What};
use crate::shore::settle;

/// Which beach the files belong to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Home {
    /// One of the book's.
    Known(Uid),
    /// A new one, placed where the files are; what it is called is said when it is made.
    New,
}

/// What was found in the files, and the edit that would take it in.
pub(crate) struct Looked {
    pub(crate) intakes: Intakes,
    pub(crate) edit: Edit,
    /// The beach that would be made, under a name for the time being, and what was guessed of it.
    pub(crate) made: Option<(Beach, String)>,
    /// What stands in the folders and is not read, and why.
    pub(crate) passed_over: Vec<PassedOver>,
}

impl Looked {
    /// The edit, a beach that it makes being called so.
    pub(crate) fn edit_named(&self, name: &str) -> Edit {
        match &self.made {
            None => self.edit.clone(),
            Some((beach, _)) => renamed(&self.edit, beach.uid, name),
        }
    }
}

fn renamed(edit: &Edit, uid: Uid, name: &str) -> Edit {
    match edit {
        Edit::Batch(edits) => Edit::Batch(edits.iter().map(|e| renamed(e, uid, name)).collect()),
        Edit::Put(record) => match record {
            Record::Beach(beach) if beach.uid == uid => Edit::put(Beach { name: name.to_owned(), ..(**beach).clone() }),
            _ => edit.clone(),
        },
        Edit::Remove(..) => edit.clone(),
    }
}

/// The dry run of some files against the book as it is; nothing is written.
#[derive(Clone, PartialEq)]
pub(crate) struct IntakeQuestion {
    pub(crate) book: WholeBook,
    /// Files, folders and patterns.
    pub(crate) paths: Vec<PathBuf>,
    /// Files of them that are not wanted, by their names in the dry run.
    pub(crate) left_out: BTreeSet<String>,
    pub(crate) home: Home,
    /// What they hold, where it is not to be guessed.
    pub(crate) what: Option<What>,
    /// The clock of times that state none.
    pub(crate) zone: Option<String>,
    /// Whose finds they are, where they are another person's.
    pub(crate) by: Option<String>,
    /// Whether heights of the tide without a unit are feet.
    pub(crate) feet: bool,
    /// How far the clock of the camera was ahead of UTC, seconds, where that was said.
    pub(crate) camera_clock_s: Option<i64>,
    /// What columns of tables were said to mean, by their headings.
    pub(crate) columns: BTreeMap<String, String>,
    /// What was answered where a file leaves something open.
    pub(crate) answers: BTreeMap<About, &'static str>,
}

impl Question for IntakeQuestion {
    type Answer = Looked;
    const NAME: &'static str = "the look at the files";
    const ONLY_WHILE_ASKED: bool = true;

    fn work_out(&self, work: &Work<Looked>) -> Result<Looked, Refusal> {
        let progress = work.progress();
        let named = exchange::files_of(&self.paths).map_err(Refusal::missing)?;
        let sources = named.files.iter().cloned().map(Source::path);
        let sources: Vec<Source> = sources.filter(|s| !self.left_out.contains(&s.name())).collect();
        let mut options = Options {
            what: self.what,
            zone: self.zone.clone(),
            by: self.by.clone(),
            feet: self.feet,
            camera_clock_s: self.camera_clock_s,
            columns: self.columns.iter().map(|(heading, word)| (heading.clone(), word.clone())).collect(),
            columns_where_there: true,
            answers: self.answers.clone(),
            ..Options::default()
        };
        let mut book = self.book.0.clone();
        let (mut first, mut made) = (None, None);
        match &self.home {
            Home::Known(uid) => options.beach = Some(*uid),
            Home::New => {
                let extent = exchange::extent(&sources, &options, &progress.part(0.0, SURVEY)).map_err(Refusal::missing)?;
                let Some(extent) = extent else {
                    // What is asked about may be where the positions stand.
                    let intakes =
                        exchange::look_all(&sources, &book, &options, &progress.part(SURVEY, 1.0)).map_err(Refusal::missing)?;
                    if intakes.intakes.is_empty() || !intakes.intakes.iter().all(exchange::Intake::waits) {
                        return Err(
                            "these files hold no position, so no beach can be placed by them; choose a beach of the book".into(),
                        );
                    }
                    return Ok(Looked { intakes, edit: Edit::Batch(Vec::new()), made: None, passed_over: named.passed_over });
                };
                // Called by its place for the time being, which also makes its lasting name its own.
                let (beach, said) = beach_at(format!("beach at {}", extent.middle), extent.middle);
                options.beach = Some(beach.uid);
                options.of_new_beach = true;
                let put = Edit::put(beach.clone());
                made = Some((beach, said));
                book.apply(&put).map_err(Refusal::missing)?;
                first = Some(put);
            }
        }
        let looking = progress.part(if made.is_some() { SURVEY } else { 0.0 }, 1.0);
        let mut intakes = exchange::look_all(&sources, &book, &options, &looking).map_err(Refusal::missing)?;
        let edit = Edit::Batch(first.into_iter().chain([intakes.take_edit()]).collect());
        Ok(Looked { intakes, edit, made, passed_over: named.passed_over })
    }
}

/// What share of the whole it takes to see where the files lie.
const SURVEY: f64 = 0.3;

/// A new beach with what can be guessed of it, and the sentences that say so.
pub(crate) fn beach_at(name: String, origin: crate::earth::LonLat) -> (Beach, String) {
    let (beach, said) = settle(Beach::new(name, origin));
    (beach, said.join(" "))
}
