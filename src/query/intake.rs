//! What files would bring: the dry run of an import.

use std::collections::BTreeMap;
use std::path::PathBuf;

use super::{Question, Refusal, WholeBook, Work};
use crate::book::{Beach, Edit, Uid};
use crate::exchange::{self, About, Intakes, Options, PassedOver, Source, What};
use crate::tide::Catalogue;

/// Which beach the files belong to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Home {
    /// One of the book's.
    Known(Uid),
    /// A new one, placed where the files are.
    New(String),
}

/// What was found in the files, and the edit that would take it in.
pub(crate) struct Looked {
    pub(crate) intakes: Intakes,
    pub(crate) edit: Edit,
    /// The beach that would be made, said in a sentence.
    pub(crate) made: Option<String>,
    /// What stands in the folders and is not read, and why.
    pub(crate) passed_over: Vec<PassedOver>,
}

/// The dry run of some files against the book as it is; nothing is written.
#[derive(Clone, PartialEq)]
pub(crate) struct IntakeQuestion {
    pub(crate) book: WholeBook,
    pub(crate) paths: Vec<PathBuf>,
    pub(crate) home: Home,
    /// What they hold, where it is not to be guessed.
    pub(crate) what: Option<What>,
    /// The clock of times that state none.
    pub(crate) zone: Option<String>,
    /// Whether heights of the tide without a unit are feet.
    pub(crate) feet: bool,
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
        let sources: Vec<Source> = named.files.iter().cloned().map(Source::path).collect();
        let mut options = Options {
            what: self.what,
            zone: self.zone.clone(),
            feet: self.feet,
            answers: self.answers.clone(),
            ..Options::default()
        };
        let mut book = self.book.0.clone();
        let (mut first, mut made) = (None, None);
        match &self.home {
            Home::Known(uid) => options.beach = Some(*uid),
            Home::New(name) => {
                let extent = exchange::extent(&sources, &options, progress).map_err(Refusal::missing)?;
                let extent = extent
                    .ok_or("these files hold no position, so no beach can be placed by them; choose a beach of the book")?;
                let (beach, said) = beach_at(name.clone(), extent.middle);
                options.beach = Some(beach.uid);
                made = Some(said);
                let put = Edit::put(beach);
                book.apply(&put).map_err(Refusal::missing)?;
                first = Some(put);
            }
        }
        let intakes = exchange::look_all(&sources, &book, &options, progress).map_err(Refusal::missing)?;
        let edit = Edit::Batch(first.into_iter().chain([intakes.edit()]).collect());
        Ok(Looked { intakes, edit, made, passed_over: named.passed_over })
    }
}

/// A new beach with the nearest tide station and its time zone, and the sentence that says so.
pub(crate) fn beach_at(name: String, origin: crate::earth::LonLat) -> (Beach, String) {
    let mut beach = Beach::new(name, origin);
    let mut said = format!("A new beach \"{}\" will be made at {origin}", beach.name);
    if let Some((station, away_m)) = Catalogue::shipped().nearest(origin, 1).first() {
        beach.tide = crate::book::TideChoice::Station(station.id.clone());
        said += &format!(", with the tide of {} ({} away)", station.name, crate::earth::distance_words(*away_m));
        if jiff::tz::TimeZone::get(&station.time_zone).is_ok() {
            beach.time_zone = station.time_zone.clone();
            said += &format!(" and its time zone {}", station.time_zone);
        }
    }
    (beach, said + ". Its datum offset stays unknown until you set it under Beach.")
}
