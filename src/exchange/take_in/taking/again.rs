//! What comes again: in one file twice, or into a book that has it otherwise, as a find that was corrected in one's own
//! file or a set-up with other settings. None comes in twice, or is passed over, without a word.

use std::collections::{BTreeSet, HashMap};

use super::{Mark, Taking};
use crate::book::{BenchReading, Book, Find, Record, RecordKind, Setup, Uid};
use crate::exchange::take_in::changes::{changed, changed_reading, changed_setup};
use crate::exchange::take_in::identity::set_uid;
use crate::exchange::take_in::unsettled::About;

/// The finds of a book by what a correction leaves alone: place, time and what it is; and its readings of known targets by
/// set-up, target, depth, lie and time.
#[derive(Debug)]
pub(super) struct Mine(HashMap<Uid, Vec<Uid>>);

impl Mine {
    pub(super) fn of_book(book: &Book) -> Self {
        let mut by_spot: HashMap<Uid, Vec<Uid>> = HashMap::new();
        for find in book.finds().values().filter(|f| !f.is_of_another()) {
            by_spot.entry(spot(find)).or_default().push(find.uid);
        }
        for reading in book.bench().values() {
            by_spot.entry(spot_of_reading(reading)).or_default().push(reading.uid);
        }
        Self(by_spot)
    }
}

/// What a correction of a record leaves alone; `None` of one that is not known by such things.
fn spot_of(record: &Record) -> Option<Uid> {
    match record {
        Record::Find(find) => Some(spot(find)),
        Record::Bench(reading) => Some(spot_of_reading(reading)),
        _ => None,
    }
}

/// What a correction of a reading leaves alone: the set-up, the target and its kind, the depth to a hundredth of a
/// millimetre, how it lay, how much was scraped off, and the time.
fn spot_of_reading(reading: &BenchReading) -> Uid {
    let depth = |m: f64| ((m * 1e5).round() as i64).to_le_bytes();
    let time = reading.time.map_or(i64::MIN, jiff::Timestamp::as_millisecond).to_le_bytes();
    let (setup, target) = (reading.setup.to_string(), reading.target.trim().to_lowercase());
    let kind = reading.kind.as_ref().map_or("", |k| k.key());
    let lie = reading.lie.map_or("", |l| l.word());
    let scraped = reading.scraped_m.map_or(i64::MIN.to_le_bytes(), depth);
    let parts: [&[u8]; 7] =
        [setup.as_bytes(), target.as_bytes(), kind.as_bytes(), &depth(reading.depth_m), lie.as_bytes(), &scraped, &time];
    Uid::of_content("spot of a reading", parts)
}

/// What the book calls a record, and the same as the file has it with what that changes; `None` inside where it says nothing
/// otherwise.
fn corrected(book: &Book, uid: Uid, file: &Record) -> Option<(String, Option<(Record, String)>)> {
    match file {
        Record::Find(file) => {
            let mine = book.finds().get(&uid)?;
            Some((mine.what.clone(), changed(mine, file).map(|(find, what)| (find.into(), what.join(", ")))))
        }
        Record::Bench(file) => {
            let mine = book.bench().get(&uid)?;
            let changed = changed_reading(mine, file).map(|(reading, what)| (reading.into(), what.join(", ")));
            Some((mine.target.clone(), changed))
        }
        _ => None,
    }
}

/// What a correction of a find leaves alone: the beach, the place to 1e-7 degrees, the time and what it is.
fn spot(find: &Find) -> Uid {
    let at = |deg: f64| ((deg * 1e7).round() as i64).to_le_bytes();
    let time = find.time.map_or(i64::MIN, jiff::Timestamp::as_millisecond).to_le_bytes();
    let (beach, what) = (find.beach.to_string(), find.what.trim().to_lowercase());
    let parts: [&[u8]; 5] = [beach.as_bytes(), &at(find.at.lon_deg()), &at(find.at.lat_deg()), &time, what.as_bytes()];
    Uid::of_content("spot", parts)
}

/// What is said of finds and readings that the book has with other values.
const FINDS_CORRECTED: &str = "find(s) of the book are corrected as the file has them";
const READINGS_CORRECTED: &str = "reading(s) of the book are corrected as the file has them";
const FINDS_PERHAPS: &str = "find(s) are perhaps the same as ones of the book, with other values";
const READINGS_PERHAPS: &str = "reading(s) are perhaps the same as ones of the book, with other values";

impl Taking<'_> {
    /// The uid of a record, apart from those of this file that its content alone does not tell it from: finds alike in
    /// place, minute and words but different in their notes, and rows that are the same in everything, if they are a
    /// find each. `None` for one that is not taken.
    pub(super) fn told_apart(&mut self, mark: Mark, record: &mut Record, named: Uid, own: bool) -> Option<Uid> {
        let kind = record.kind();
        let mut uid = named;
        loop {
            if kind == RecordKind::Level && self.seen_levels.contains(&uid) {
                self.count(mark.line, "record(s) stand in the file twice and were taken once");
                return None;
            }
            let Some(earlier) = self.seen.get(&(kind, uid)) else { return Some(uid) };
            set_uid(record, uid);
            if *record != *earlier {
                if own {
                    self.refuse(mark, "has the uid of an earlier record of this file, but not its values");
                    return None;
                }
                // Tracks and the like are their content; what else is said of them does not make two of them.
                let details = match record {
                    Record::Find(find) => serde_json::to_vec(&**find).ok(),
                    Record::Signal(signal) => serde_json::to_vec(&**signal).ok(),
                    _ => None,
                };
                let apart = details.map(|details| Uid::of_content("told apart", [named.to_string().as_bytes(), &details]));
                match apart {
                    Some(apart) if apart != uid => uid = apart,
                    _ if kind == RecordKind::Setup => {
                        self.count(
                            mark.line,
                            "set-up(s) have the name of an earlier one of the file and other settings, and were left out; give them names of \
                             their own",
                        );
                        return None;
                    }
                    _ => {
                        self.count(mark.line, "record(s) stand in the file twice and were taken once");
                        return None;
                    }
                }
                continue;
            }
            // A target passed over twice may well give the same numbers twice.
            if let (Record::Bench(_), false) = (&*record, own) {
                let again = self.alike.entry(uid).or_default();
                *again += 1;
                return Some(Uid::of_content("alike", [uid.to_string().as_bytes(), &again.to_le_bytes()]));
            }
            if own || !matches!(record, Record::Find(_) | Record::Signal(_)) {
                self.count(mark.line, "record(s) stand in the file twice and were taken once");
                return None;
            }
            let question = || {
                format!(
                    "rows are the same in everything, the first of them at line {}: are they one find written down twice, or a find each?",
                    mark.line
                )
            };
            let answer = self.settle(About::Alike, question, Some("one"));
            let again = self.alike.entry(uid).or_default();
            *again += 1;
            let nth = *again;
            if answer == Some("each") {
                return Some(Uid::of_content("alike", [uid.to_string().as_bytes(), &nth.to_le_bytes()]));
            }
            self.count(mark.line, "row(s) repeat an earlier one in everything and were taken for the same find");
            return None;
        }
    }

    /// Whether a find of the book lies at the same place, is of the same time and called the same; then it is kept for
    /// [`Taking::settle_corrected`], when it is known what else the file holds.
    pub(super) fn is_perhaps_corrected(&mut self, mark: Mark, record: &Record) -> bool {
        let Some(spot) = spot_of(record) else { return false };
        if self.options.by.is_some() || (self.book.finds().is_empty() && self.book.bench().is_empty()) {
            return false;
        }
        let book = self.book;
        let mine = self.mine.get_or_insert_with(|| Mine::of_book(book));
        let there = mine.0.contains_key(&spot);
        if there {
            self.corrected.push((mark, record.clone()));
        }
        there
    }

    /// Sees to finds and readings that the book has with other values: those of which the file has both are two, else it
    /// is asked whether they were corrected.
    pub(super) fn settle_corrected(&mut self) {
        let Some(mine) = self.mine.take() else { return };
        let mut claimed = BTreeSet::new();
        for (mark, record) in std::mem::take(&mut self.corrected) {
            let kind = record.kind();
            let free = |uid: &&Uid| !claimed.contains(*uid) && !self.seen.contains_key(&(kind, **uid));
            let there = spot_of(&record).and_then(|spot| mine.0.get(&spot));
            let found = there.and_then(|there| there.iter().find(free)).copied();
            let Some((uid, (name, changed))) = found.and_then(|uid| Some((uid, corrected(self.book, uid, &record)?))) else {
                self.push_new(mark, record);
                continue;
            };
            claimed.insert(uid);
            let Some((as_in_file, what)) = changed else {
                // What the book was changed to, or less than it knows.
                *self.already_there.entry(kind).or_default() += 1;
                continue;
            };
            let of_bench = kind == RecordKind::Bench;
            let question = || {
                let (many, place) =
                    if of_bench { ("readings", "of the same target and depth") } else { ("finds", "at the same place and time") };
                format!(
                    "{many} of the book stand in the file {place} with other values; the first, \"{name}\" at line {}, differs in {what}: were \
                     they corrected, or are they {many} of their own?",
                    mark.line
                )
            };
            match self.settle(About::Corrected, question, Some("each")) {
                Some("take") => {
                    self.count(mark.line, if of_bench { READINGS_CORRECTED } else { FINDS_CORRECTED });
                    self.records.push(as_in_file);
                }
                Some("keep") => *self.already_there.entry(kind).or_default() += 1,
                _ => {
                    self.count(mark.line, if of_bench { READINGS_PERHAPS } else { FINDS_PERHAPS });
                    self.push_new(mark, record);
                }
            }
        }
    }

    /// The book's set-up as the file has it, if it says otherwise and is to be believed.
    pub(super) fn settle_setup(&mut self, mark: Mark, file: &Setup) -> Option<Setup> {
        let mine = self.book.setups().get(&file.uid)?;
        let (setup, what) = changed_setup(mine, file)?;
        let question = || {
            format!(
                "set-ups of the book stand in the file with other settings; the first, \"{}\" at line {}, differs in {}: which are to count? \
                 If both were used, give the other a name of its own.",
                mine.name,
                mark.line,
                what.join(", ")
            )
        };
        let take = self.settle(About::Changes, question, Some("keep")) == Some("take");
        let said = if take {
            "set-up(s) of the book are changed as the file has them"
        } else {
            "set-up(s) of the book stand in the file with other settings, and are left as the book has them"
        };
        self.count(mark.line, said);
        take.then_some(setup)
    }
}
