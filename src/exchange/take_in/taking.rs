mod again;
mod doubtful;
mod permissions;
mod settling;
mod tide_tables;
mod told;
pub(in crate::exchange) mod weeks;

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::identity::{content_uid, set_uid};
use super::intake::{ColumnRead, Format, Intake, Refusal, Understood};
use super::like::Like;
use super::outings;
use super::spots::{Spots, first_position};
use super::swapped::exchanged;
use super::unsettled::Unsettled;
use crate::book::{Beach, Book, Edit, Find, Kind, KindGroup, Record, RecordKind, SeaRecord, Setup, Uid, setup_name};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::options::Options;
use again::Mine;
pub(in crate::exchange) use doubtful::FAR_M;
use told::{Often, Tally, Unread};

/// Data within this of a beach is taken for that beach's, metres.
pub(in crate::exchange) const NEAR_M: f64 = 20_000.0;

/// Where in a file a record stands.
#[derive(Debug, Clone, Copy)]
pub(in crate::exchange) struct Mark {
    pub(in crate::exchange) line: u64,
    /// What the format calls such a record.
    pub(in crate::exchange) noun: &'static str,
    /// Which one of them it is, from 1.
    pub(in crate::exchange) number: u64,
}

/// Receives what a reader finds and sorts it into new, already there and refused.
pub(in crate::exchange) struct Taking<'a> {
    pub(in crate::exchange) book: &'a Book,
    pub(in crate::exchange) options: &'a Options,
    pub(in crate::exchange) beach: Beach,
    pub(in crate::exchange) zone: TimeZone,
    /// What is later lies in the future.
    now: Timestamp,
    /// Name of the file without folders and ending.
    pub(in crate::exchange) stem: String,
    file: String,
    /// The part of the file that is read, such as a sheet, where it has several.
    part: String,
    /// Only positions are wanted, to tell which beach they lie on.
    survey: bool,
    spots: Spots,
    records: Vec<Record>,
    beach_changed: bool,
    /// What of the file was met so far, by the uid it has or would have.
    seen: HashMap<(RecordKind, Uid), Record>,
    /// The same of levels, of which there are too many to hold what they are.
    seen_levels: HashSet<Uid>,
    /// How often rows that are the same in everything were met again, by the uid of the first.
    alike: HashMap<Uid, u64>,
    unread: BTreeMap<String, Unread>,
    /// Cells of the row that is read, in columns of which nothing can be read, and what is said of them.
    suspects: Vec<(String, String)>,
    /// The days of the book's outings and finds, once they were asked for.
    days_out: OnceCell<BTreeSet<Date>>,
    unsettled: Vec<Unsettled>,
    /// Words for a kind that are not known.
    unknown_kinds: BTreeMap<String, Often>,
    /// Those that were made kinds of the person's own.
    own_kinds: BTreeMap<Kind, Often>,
    dangerous: Often,
    /// Whether the record that is taken says of itself that it is something else than the kinds that are known.
    pub(in crate::exchange) says_other: bool,
    /// Areas whose words say no use.
    useless_zones: Vec<String>,
    /// What the book has with day and month exchanged, by the uid it has there: the record as read, and as it would be.
    exchanged: Vec<(Mark, Record, Uid, Option<Record>)>,
    /// Finds at the place and time of one of the book, and that book's by place and time, once one was looked for.
    corrected: Vec<(Mark, Record)>,
    mine: Option<Mine>,
    already_there: BTreeMap<RecordKind, usize>,
    refused: Vec<Refusal>,
    refused_count: usize,
    warnings: Vec<String>,
    tally: Tally,
    far: Often,
    pub(in crate::exchange) ignored_extensions: usize,
    /// Whether heights taken as levels are a receiver's.
    pub(in crate::exchange) receivers_heights: bool,
    understood: Vec<Understood>,
    /// How the columns of a table were read.
    pub(in crate::exchange) columns: Vec<ColumnRead>,
    /// The headings of a table.
    headings: Vec<String>,
    like: Like,
}

/// After this many positions a survey knows enough.
pub(in crate::exchange) const SURVEYED: u64 = 20_000;

impl<'a> Taking<'a> {
    pub(in crate::exchange) fn new(
        book: &'a Book,
        options: &'a Options,
        beach: Beach,
        survey: bool,
        file: String,
        stem: String,
    ) -> Self {
        // A name that is none was refused before anything was read.
        let zone = options.zone().ok().flatten().or_else(|| beach.zone().ok()).unwrap_or(TimeZone::UTC);
        Self {
            book,
            options,
            beach,
            zone,
            now: options.now.unwrap_or_else(Timestamp::now),
            stem,
            file,
            part: String::new(),
            survey,
            spots: Spots::default(),
            records: Vec::new(),
            beach_changed: false,
            seen: HashMap::new(),
            seen_levels: HashSet::new(),
            alike: HashMap::new(),
            unread: BTreeMap::new(),
            suspects: Vec::new(),
            days_out: OnceCell::new(),
            unsettled: Vec::new(),
            unknown_kinds: BTreeMap::new(),
            own_kinds: BTreeMap::new(),
            dangerous: Often::default(),
            says_other: false,
            useless_zones: Vec::new(),
            exchanged: Vec::new(),
            corrected: Vec::new(),
            mine: None,
            already_there: BTreeMap::new(),
            refused: Vec::new(),
            refused_count: 0,
            warnings: Vec::new(),
            tally: Tally::new(),
            far: Often::default(),
            ignored_extensions: 0,
            receivers_heights: false,
            understood: Vec::new(),
            columns: Vec::new(),
            headings: Vec::new(),
            like: Like::default(),
        }
    }

    pub(in crate::exchange) fn into_spots(self) -> Spots {
        self.spots
    }

    /// Says which part of the file is read from here on, as refusals name it; an empty text for the whole.
    pub(in crate::exchange) fn in_part(&mut self, part: &str) {
        part.clone_into(&mut self.part);
    }

    /// Takes a record under the uid its content gives it.
    pub(in crate::exchange) fn take(&mut self, mark: Mark, record: impl Into<Record>) -> Result<(), Stop> {
        self.take_as(mark, record, None)
    }

    /// Takes a record under the uid the file gives it, as files written from a book do.
    pub(in crate::exchange) fn take_as(&mut self, mark: Mark, record: impl Into<Record>, own: Option<Uid>) -> Result<(), Stop> {
        self.take_record(mark, record.into(), own, None)
    }

    /// Takes a record under the uid that a part of its content gives it.
    pub(in crate::exchange) fn take_known(&mut self, mark: Mark, record: impl Into<Record>, content: Uid) -> Result<(), Stop> {
        self.take_record(mark, record.into(), None, Some(content))
    }

    fn take_record(&mut self, mark: Mark, mut record: Record, own: Option<Uid>, content: Option<Uid>) -> Result<(), Stop> {
        if let Record::Track(track) = &mut record {
            self.leave_out_stray_fixes(mark.line, Arc::make_mut(track));
        }
        if let Err(why) = record.validate() {
            self.refuse(mark, why.to_string());
            return Ok(());
        }
        if self.survey {
            self.spots.add_record(&record);
            return if self.spots.seen() > SURVEYED { Err(Stop::Enough) } else { Ok(()) };
        }
        self.doubt_times(mark.line, &record);
        if let Some(of_the_future) = self.settle_future(&record) {
            match of_the_future {
                Some(plan) => record = plan,
                None => return Ok(()),
            }
        }
        if let Some(at) = first_position(&record)
            && let Err(why) = self.check_place(mark.line, at)
        {
            self.refuse(mark, why);
            return Ok(());
        }
        let kind = record.kind();
        if self.options.by.is_some() && kind != RecordKind::Find {
            // A permission of theirs is none of one's own, and their tracks are no searching of one's own.
            self.leave_out_of_another(mark.line);
            return Ok(());
        }
        let mut named = own.or(content).unwrap_or_else(|| content_uid(&record));
        if let (Some(by), Record::Find(find)) = (&self.options.by, &mut record) {
            let find = Arc::make_mut(find);
            find.more.insert(Find::OF_ANOTHER.to_owned(), by.clone());
            if find.finder.is_empty() {
                find.finder.clone_from(by);
            }
            // Apart from one's own of the very same content.
            named = Uid::of_content("find of another", [by.as_bytes(), named.to_string().as_bytes()]);
        }
        let uid = match self.told_apart(mark, &mut record, named, own.is_some()) {
            Some(uid) => uid,
            None => return Ok(()),
        };
        set_uid(&mut record, uid);
        if let Record::Permission(file) = &record {
            match self.settle_permission(mark, file) {
                Some(permission) => self.records.push(permission.into()),
                None => return Ok(()),
            }
            drop(self.seen.insert((kind, uid), record));
            return Ok(());
        }
        match kind {
            RecordKind::Level => drop(self.seen_levels.insert(uid)),
            _ => drop(self.seen.insert((kind, uid), record.clone())),
        }
        if self.book.holds(kind, uid) {
            if let (Record::Find(file), Some(_)) = (&record, own)
                && let Some(changed) = self.settle_change(mark, file)
            {
                self.records.push(changed.into());
                return Ok(());
            }
            if let (Record::Find(file), None) = (&record, own)
                && let Some(changed) = self.settle_addition(mark, file)
            {
                self.records.push(changed.into());
                return Ok(());
            }
            if let Record::Setup(file) = &record
                && let Some(changed) = self.settle_setup(mark, file)
            {
                self.records.push(changed.into());
                return Ok(());
            }
            *self.already_there.entry(kind).or_default() += 1;
            return Ok(());
        }
        // Whether it is one of the file's own is known when the whole file is.
        if own.is_none()
            && let Some((mine, changed)) = exchanged(self.book, &self.zone, &record)
        {
            self.exchanged.push((mark, record, mine, changed));
            return Ok(());
        }
        // A photograph is what its camera wrote, which nobody corrects.
        if own.is_none() && content.is_none() && self.is_perhaps_corrected(mark, &record) {
            return Ok(());
        }
        self.push_new(mark, record);
        Ok(())
    }

    fn push_new(&mut self, mark: Mark, record: Record) {
        if let Record::Find(find) = &record
            && find.kind.group() == KindGroup::Danger
        {
            let often = std::mem::take(&mut self.dangerous);
            self.dangerous = self.once_more(often, mark.line);
        }
        self.records.push(record);
    }

    /// Takes a record of the sea: new, or carrying on the one of its name in the book or earlier in the file.
    pub(in crate::exchange) fn take_sea(&mut self, mark: Mark, record: SeaRecord) -> Result<(), Stop> {
        let Some(known) = self.book.seas().get(&record.uid).filter(|_| !self.survey) else {
            let uid = record.uid;
            return self.take_as(mark, record, Some(uid));
        };
        let carried_on = known.clone().carried_on(&record.states);
        if let Err(why) = record.validate().and_then(|()| carried_on.validate()) {
            self.refuse(mark, why.to_string());
        } else if carried_on == *known {
            *self.already_there.entry(RecordKind::SeaRecord).or_default() += 1;
        } else {
            self.understand(
                "sea record",
                format!("\"{}\" is carried on; over the hours of this file it holds what the file says", known.name),
            );
            self.records.push(carried_on.into());
        }
        Ok(())
    }

    /// Takes the line along the back of the beach.
    pub(in crate::exchange) fn take_baseline(
        &mut self,
        mark: Mark,
        line: Vec<LonLat>,
        seaward: Option<crate::book::Seaward>,
    ) -> Result<(), Stop> {
        if self.survey {
            line.iter().for_each(|p| self.spots.add(*p));
            return Ok(());
        }
        if self.beach_changed {
            self.refuse(mark, "a beach has one baseline, and an earlier record of this file already gave it");
            return Ok(());
        }
        let beach = Beach { baseline: line, seaward: seaward.unwrap_or(self.beach.seaward), ..self.beach.clone() };
        if let Err(why) = beach.validate() {
            self.refuse(mark, why.to_string());
            return Ok(());
        }
        if let Some(first) = beach.baseline.first()
            && let Err(why) = self.check_place(mark.line, *first)
        {
            self.refuse(mark, why);
            return Ok(());
        }
        if beach == self.beach {
            *self.already_there.entry(RecordKind::Beach).or_default() += 1;
        } else {
            if !self.beach.baseline.is_empty() {
                self.warn(format!("the baseline of {} is replaced by this one", beach.name));
            }
            self.beach_changed = true;
            self.beach = beach;
        }
        Ok(())
    }

    /// Whether only positions are wanted, before it is known which beach they lie on.
    pub(in crate::exchange) fn is_survey(&self) -> bool {
        self.survey
    }

    /// The uid of a set-up by its name, in the book or earlier in the file.
    pub(in crate::exchange) fn setup_named(&self, name: &str) -> Option<Uid> {
        let wanted = setup_name(name);
        let in_file = self.records.iter().filter_map(|r| if let Record::Setup(s) = r { Some(&**s) } else { None });
        self.book.setups().values().chain(in_file).find(|s| setup_name(&s.name) == wanted).map(|s| s.uid)
    }

    /// The set-ups of the book and of the file so far.
    pub(in crate::exchange) fn setups(&self) -> Vec<&Setup> {
        let in_file = self.records.iter().filter_map(|r| if let Record::Setup(s) = r { Some(&**s) } else { None });
        self.book.setups().values().chain(in_file).collect()
    }

    /// Everything in one intake.
    pub(in crate::exchange) fn finish(mut self, format: Format, guess: String) -> Intake {
        self.settle_exchanged();
        self.settle_corrected();
        // What was met is met; held no longer, its records are this one's to change.
        self.seen = HashMap::new();
        self.seen_levels = HashSet::new();
        let assigned = outings::assign(self.book, self.beach.uid, &self.zone, &mut self.records);
        if assigned.strays > 0 {
            self.warn(format!(
                "{} track(s) span more than 36 hours, so a time in them must be wrong; they were put into no outing",
                assigned.strays
            ));
        }
        self.tell_walked_already();
        self.doubt_place_of_levels();
        let timeless = self.records.iter().filter(|r| matches!(r, Record::Track(t) if t.outing.is_none() && t.span().is_none()));
        let timeless = timeless.count();
        if timeless > 0 {
            self.warn(format!(
                "{timeless} track(s) hold no times, so they belong to no outing: the ground that they cover counts for no visit"
            ));
        }
        for outing in &assigned.grown {
            let day = self.zone.to_datetime(outing.start).date();
            self.understand("outing", format!("the outing of {day} now holds these tracks as well and lasts accordingly"));
        }
        if !assigned.adopted.is_empty() {
            let count = assigned.adopted.len();
            self.understand(
                "outing",
                format!("{count} find(s) or signal(s) already in the book now belong to the outing of their time"),
            );
        }
        let unread_count = self.tell();
        let mut taken: BTreeMap<RecordKind, usize> = BTreeMap::new();
        let mut records = self.records;
        records.extend(assigned.made.into_iter().map(Record::from));
        if self.beach_changed {
            records.push(self.beach.clone().into());
        }
        records.iter().for_each(|r| *taken.entry(r.kind()).or_default() += 1);
        records.extend(assigned.grown.into_iter().map(Record::from));
        records.extend(assigned.adopted);
        if !records.is_empty() {
            records.extend(self.like.into_new(self.book).map(Record::from));
        }
        records.sort_by_key(Record::kind);
        let of_none = [RecordKind::Setup, RecordKind::Bench, RecordKind::OwnKind, RecordKind::Remembered];
        let on_a_beach = records.iter().any(|r| !of_none.contains(&r.kind()));
        Intake {
            file: self.file,
            format,
            guess,
            beach: (on_a_beach || !self.already_there.is_empty()).then_some(self.beach.uid),
            edit: Edit::Batch(records.into_iter().map(Edit::put).collect()),
            taken,
            already_there: self.already_there,
            refused: self.refused,
            refused_count: self.refused_count,
            warnings: self.warnings,
            unread_count,
            unsettled: self.unsettled,
            ignored_extensions: self.ignored_extensions,
            understood: self.understood,
            columns: self.columns,
        }
    }
}
