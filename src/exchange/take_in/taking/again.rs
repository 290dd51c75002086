//! What comes again: in one file twice, or into a book that has it otherwise, as a find that was corrected in one's own
//! file or a set-up with other settings. None comes in twice, or is passed over, without a word.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use super::{Mark, Taking};
use crate::book::{BenchReading, Book, Find, Record, RecordKind, Setup, Uid, setup_name};
use crate::exchange::take_in::changes::{changed, changed_reading, changed_setup};
use crate::exchange::take_in::identity::set_uid;
use crate::exchange::take_in::unsettled::About;

/// The finds of a book by what a correction leaves alone: place and time, and mostly what it is called; and its readings of
/// known targets by set-up, target, depth, lie and time.
#[derive(Debug)]
pub(super) struct Mine {
    by_spot: HashMap<Uid, Vec<Uid>>,
    /// Whatever they are called.
    by_place: HashMap<Place, Vec<Uid>>,
    /// Readings of known targets by their set-up.
    by_setup: HashMap<Uid, Vec<Uid>>,
}

impl Mine {
    pub(super) fn of_book(book: &Book) -> Self {
        let mut mine = Self { by_spot: HashMap::new(), by_place: HashMap::new(), by_setup: HashMap::new() };
        for find in book.finds().values().filter(|f| !f.is_of_another()) {
            mine.by_spot.entry(spot(find)).or_default().push(find.uid);
            mine.by_place.entry(place(find)).or_default().push(find.uid);
        }
        for reading in book.bench().values() {
            mine.by_spot.entry(spot_of_reading(reading)).or_default().push(reading.uid);
            mine.by_setup.entry(reading.setup).or_default().push(reading.uid);
        }
        mine
    }

    /// Whether there is something that a record may be a correction of.
    fn may_have(&self, record: &Record) -> bool {
        let named_otherwise = match record {
            Record::Find(find) => self.by_place.contains_key(&place(find)),
            Record::Bench(reading) => self.by_setup.contains_key(&reading.setup),
            _ => false,
        };
        named_otherwise || spot_of(record).is_some_and(|spot| self.by_spot.contains_key(&spot))
    }
}

/// What a correction of a record leaves alone, with its name; `None` of one that is not known by such things.
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
    let (setup, target) = (reading.setup.to_string(), setup_name(&reading.target));
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
            Some((mine.what.clone(), changed(mine, file, false).map(|(find, what)| (find.into(), what.join(", ")))))
        }
        Record::Bench(file) => {
            let mine = book.bench().get(&uid)?;
            let changed = changed_reading(mine, file).map(|(reading, what)| (reading.into(), what.join(", ")));
            Some((mine.target.clone(), changed))
        }
        _ => None,
    }
}

/// Where and when something was found: the beach, the place in 1e-7 degrees, the time in milliseconds.
type Place = (Uid, i64, i64, i64);

fn place(find: &Find) -> Place {
    let at = |deg: f64| (deg * 1e7).round() as i64;
    let time = find.time.map_or(i64::MIN, jiff::Timestamp::as_millisecond);
    (find.beach, at(find.at.lon_deg()), at(find.at.lat_deg()), time)
}

/// What a correction of a find mostly leaves alone: the beach, the place to 1e-7 degrees, the time and what it is.
fn spot(find: &Find) -> Uid {
    let (beach, lon, lat, time) = place(find);
    let (beach, what) = (beach.to_string(), find.what.trim().to_lowercase());
    let parts: [&[u8]; 5] = [beach.as_bytes(), &lon.to_le_bytes(), &lat.to_le_bytes(), &time.to_le_bytes(), what.as_bytes()];
    Uid::of_content("spot", parts)
}

/// So many readings are most of a table.
const FEW: usize = 3;

/// What is said of finds and readings that the book has with other values.
const FINDS_CORRECTED: &str = "find(s) of the book are corrected as the file has them";
const READINGS_CORRECTED: &str = "reading(s) of the book are corrected as the file has them";
const FINDS_PERHAPS: &str = "find(s) are perhaps the same as ones of the book, with other values";
const READINGS_PERHAPS: &str =
    "reading(s) of the book stand in the file with other values; they are left as the book has them, and none is taken in again";
const SEVERAL: &str = "find(s) lie at the place and time of ones of the book that are called otherwise; as it cannot be told which \
     would be which, they are taken for finds of their own";

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
                    Record::Bench(reading) => serde_json::to_vec(&**reading).ok(),
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

    /// Whether a find of the book lies at the same place and is of the same time, or a reading is of the same target; then
    /// it is kept for [`Taking::settle_corrected`], when it is known what else the file holds.
    pub(super) fn is_perhaps_corrected(&mut self, mark: Mark, record: &Record) -> bool {
        let known_so = matches!(record, Record::Find(_) | Record::Bench(_));
        if !known_so || self.options.by.is_some() || (self.book.finds().is_empty() && self.book.bench().is_empty()) {
            return false;
        }
        let book = self.book;
        let there = self.mine.get_or_insert_with(|| Mine::of_book(book)).may_have(record);
        if there {
            self.corrected.push((mark, record.clone()));
        }
        there
    }

    /// Sees to finds and readings that the book has with other values: those of which the file has both are two, else it
    /// is asked whether they were corrected. A find that is called otherwise is asked about where it is the only one of
    /// its place and time that the file adds, and the book has one there that the file does not.
    pub(super) fn settle_corrected(&mut self) {
        let Some(mine) = self.mine.take() else { return };
        let mut claimed = BTreeSet::new();
        let mut others: BTreeMap<Place, Vec<(Mark, Record)>> = BTreeMap::new();
        let mut readings = Vec::new();
        for (mark, record) in std::mem::take(&mut self.corrected) {
            let there = spot_of(&record).and_then(|spot| mine.by_spot.get(&spot));
            let free = || there.into_iter().flatten().filter(|uid| self.is_free(**uid, &record, &claimed));
            // Of several readings of a target at a depth the one of the same ground was corrected, if there is one.
            let found = free().find(|uid| self.is_of_the_ground(**uid, &record)).or_else(|| free().next()).copied();
            match (found, &record) {
                (Some(uid), _) => {
                    claimed.insert(uid);
                    self.settle_correction(mark, record, uid);
                }
                (None, Record::Find(find)) => others.entry(place(find)).or_default().push((mark, record)),
                (None, Record::Bench(reading)) => readings.push((mark, reading.clone())),
                (None, _) => self.push_new(mark, record),
            }
        }
        for (mark, file, uid) in self.edited(&mine, readings, &claimed) {
            match uid {
                Some(uid) => self.settle_correction(mark, file, uid),
                None => self.push_new(mark, file),
            }
        }
        for (place, rows) in others {
            let Some((_, first)) = rows.first() else { continue };
            let there = mine.by_place.get(&place).into_iter().flatten().copied();
            let free: Vec<Uid> = there.filter(|uid| self.is_free(*uid, first, &claimed)).take(2).collect();
            match (free.as_slice(), rows.len()) {
                ([uid], 1) => rows.into_iter().for_each(|(mark, record)| self.settle_correction(mark, record, *uid)),
                (free, _) => {
                    for (mark, record) in rows {
                        if !free.is_empty() {
                            self.count(mark.line, SEVERAL);
                        }
                        self.push_new(mark, record);
                    }
                }
            }
        }
    }

    /// Readings of the file that are new to the book, each with the one of the book that it may have been before its target,
    /// kind or depth was put right: one that the file lacks and that differs in one thing alone. Only where the table is evidently
    /// one that was taken in before, as the file holds other readings of the set-up as the book has them, or most are such.
    fn edited(
        &self,
        mine: &Mine,
        readings: Vec<(Mark, Arc<BenchReading>)>,
        claimed: &BTreeSet<Uid>,
    ) -> Vec<(Mark, Record, Option<Uid>)> {
        let mut claimed = claimed.clone();
        let known =
            |uid: &Uid, claimed: &BTreeSet<Uid>| self.seen.contains_key(&(RecordKind::Bench, *uid)) || claimed.contains(uid);
        let of_setup = |setup: Uid| mine.by_setup.get(&setup).into_iter().flatten();
        let mut tables: BTreeMap<Uid, (bool, usize, usize)> = BTreeMap::new();
        for (_, file) in &readings {
            let overlaps = || of_setup(file.setup).any(|uid| known(uid, &claimed));
            tables.entry(file.setup).or_insert_with(|| (overlaps(), 0, 0)).2 += 1;
        }
        let mut found = Vec::new();
        for (mark, file) in readings {
            let before =
                of_setup(file.setup).find(|uid| !known(uid, &claimed) && self.differs_in_one_thing(**uid, &file)).copied();
            claimed.extend(before);
            if let Some((_, edited, _)) = tables.get_mut(&file.setup).filter(|_| before.is_some()) {
                *edited += 1;
            }
            found.push((mark, file, before));
        }
        let evident =
            |setup: &Uid| tables.get(setup).is_some_and(|(known, edited, of)| *known || (*edited >= FEW && 2 * edited >= *of));
        found
            .into_iter()
            .map(|(mark, file, before)| (mark, Record::Bench(Arc::clone(&file)), before.filter(|_| evident(&file.setup))))
            .collect()
    }

    /// Whether a reading of the book is one of the file but for its target, its kind, its depth or its numbers. A name that was
    /// put right often tells another kind.
    fn differs_in_one_thing(&self, uid: Uid, file: &BenchReading) -> bool {
        let Some(there) = self.book.bench().get(&uid) else { return false };
        let named = setup_name(&there.target) == setup_name(&file.target);
        let (kind, depth) = (there.kind == file.kind, (there.depth_m - file.depth_m).abs() < 1e-5);
        let numbers = there.target_ids == file.target_ids;
        let one = [named, kind, depth, numbers].iter().filter(|same| !**same).count() <= 1;
        there.time == file.time && (one || (depth && numbers && !file.target_ids.is_empty()))
    }

    /// Whether a reading of the book was made in the ground of one of the file.
    fn is_of_the_ground(&self, uid: Uid, record: &Record) -> bool {
        let Record::Bench(file) = record else { return true };
        self.book.bench().get(&uid).is_some_and(|there| there.ground == file.ground)
    }

    /// Whether a record of the book stands in the file neither as it is nor corrected.
    fn is_free(&self, uid: Uid, like: &Record, claimed: &BTreeSet<Uid>) -> bool {
        !claimed.contains(&uid) && !self.seen.contains_key(&(like.kind(), uid))
    }

    /// Sees to a record that may be the book's of that uid, corrected. Until that is answered a find comes in as one of its
    /// own, and a reading not at all: one more would count twice in what the bench teaches.
    fn settle_correction(&mut self, mark: Mark, record: Record, uid: Uid) {
        let kind = record.kind();
        let Some((name, changed)) = corrected(self.book, uid, &record) else {
            self.push_new(mark, record);
            return;
        };
        let Some((as_in_file, what)) = changed else {
            // What the book was changed to, or less than it knows.
            *self.already_there.entry(kind).or_default() += 1;
            return;
        };
        let of_bench = kind == RecordKind::Bench;
        let question = || {
            let (many, place) =
                if of_bench { ("readings", "of the same set-up") } else { ("finds", "at the same place and time") };
            format!(
                "{many} of the book stand in the file {place} with other values; the first, \"{name}\" at line {}, differs in {what}: were \
                 they corrected, or are they {many} of their own?",
                mark.line
            )
        };
        let open = !self.options.answers.contains_key(&About::Corrected);
        match self.settle(About::Corrected, question, Some(if of_bench { "keep" } else { "each" })) {
            Some("take") => {
                self.count(mark.line, if of_bench { READINGS_CORRECTED } else { FINDS_CORRECTED });
                self.records.push(as_in_file);
            }
            Some("keep") => {
                if open {
                    self.count(mark.line, READINGS_PERHAPS);
                }
                *self.already_there.entry(kind).or_default() += 1;
            }
            _ => {
                if !of_bench {
                    self.count(mark.line, FINDS_PERHAPS);
                }
                self.push_new(mark, record);
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
