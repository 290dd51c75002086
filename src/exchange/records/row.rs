use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::book::{Uid, Weight};
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::clock_word::{ClockWord, clock_of_cell};
use crate::exchange::tools::heading::{Field, Meaning, Quantity, Unit, unknown_unit};
use crate::exchange::tools::value::{feet_and_inches, is_blank, number, target_ids};
use crate::exchange::tools::when::{Doubt, When};

/// What stands in one field of a row.
#[derive(Debug)]
struct Cell {
    text: String,
    /// The heading it stands under.
    title: Arc<str>,
    unit: Option<Unit>,
    /// Whether a comma parts whole from fraction in this column.
    comma: bool,
    /// The clock that the heading names.
    clock: Option<TimeZone>,
}

/// Cells by their field, in its order. A row has few, so they are looked through.
#[derive(Debug)]
struct Cells(Vec<(Field, Cell)>);

impl Cells {
    fn get(&self, field: &Field) -> Option<&Cell> {
        self.0.iter().find(|(f, _)| f == field).map(|(_, cell)| cell)
    }

    fn get_mut(&mut self, field: &Field) -> Option<&mut Cell> {
        self.0.iter_mut().find(|(f, _)| f == field).map(|(_, cell)| cell)
    }

    /// Adds a cell of a field that has none yet.
    fn insert(&mut self, field: Field, cell: Cell) {
        let at = self.0.partition_point(|(f, _)| *f < field);
        self.0.insert(at, (field, cell));
    }
}

/// One record of a table, or the properties of one feature: its fields as text.
#[derive(Debug)]
pub(in crate::exchange) struct Row {
    pub(in crate::exchange) mark: Mark,
    cells: Cells,
    /// What stands under headings that are not known, heading first.
    others: Vec<(Arc<str>, String)>,
    /// Whether `03/04` is the third of April.
    pub(in crate::exchange) day_first: bool,
    /// What could not be read, kept for the notes.
    spoiled: Vec<String>,
    /// The same as heading and text, to be told.
    unread: Vec<(Arc<str>, String)>,
    /// Whether the record has notes, and they hold what could not be read.
    noted: bool,
}

/// The fields that say when, the one whose clock counts first.
const WHEN: &[Field] = &[Field::Time, Field::Clock, Field::Date];

/// When something was, as far as its row alone says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Moment {
    /// An instant, its offset stated.
    Instant(Timestamp),
    /// A time on the file's clock.
    Clock(jiff::civil::DateTime),
}

impl Row {
    pub(in crate::exchange) fn new(mark: Mark, day_first: bool) -> Self {
        Self {
            mark,
            cells: Cells(Vec::with_capacity(8)),
            others: Vec::new(),
            day_first,
            spoiled: Vec::new(),
            unread: Vec::new(),
            noted: false,
        }
    }

    /// Adds what stands under a heading, with `comma` where a comma parts whole from fraction there; the first of two
    /// that mean the same stays, and a blank one says nothing.
    ///
    /// "Weight" may hold a mass or one of the words heavy and light, so its content decides. Numbered headings, such as
    /// `ID1` and `ID2`, make one list.
    pub(in crate::exchange) fn add(&mut self, meaning: &Meaning, title: &Arc<str>, text: &str, comma: bool) {
        // What somebody wrote for the IDs of a reading is looked at as it stands: "?" is not what "nothing" is.
        let is_of_reading = meaning.field == Field::TargetId && !meaning.numbered && !text.trim().is_empty();
        if is_blank(text) && !is_of_reading {
            return;
        }
        let word = meaning.field == Field::Mass && text.trim().parse::<Weight>().is_ok();
        let field = if word { Field::Weight } else { meaning.field };
        let clock = match &meaning.clock {
            Some(ClockWord::Zone(zone)) => Some(zone.clone()),
            _ => None,
        };
        let new = || Cell { text: text.trim().to_owned(), title: Arc::clone(title), unit: meaning.unit, comma, clock };
        match self.cells.get_mut(&field) {
            None => self.cells.insert(field, new()),
            Some(there) if meaning.numbered => {
                there.text.push(' ');
                there.text.push_str(text.trim());
            }
            // Two headings of one meaning: the second is kept under its own.
            Some(there) if !there.text.eq_ignore_ascii_case(text.trim()) => self.add_other(title, text),
            Some(_) => {}
        }
    }

    /// Adds what stands under a heading that is not known: a find keeps it under that heading, a signal in its notes.
    pub(in crate::exchange) fn add_other(&mut self, title: &Arc<str>, text: &str) {
        if !is_blank(text) {
            self.others.push((Arc::clone(title), text.trim().to_owned()));
        }
    }

    /// As [`add_other`](Self::add_other), under a heading that the program may have written itself: it puts `more: ` before
    /// what would else be taken for one of its own.
    pub(in crate::exchange) fn add_headed(&mut self, title: &Arc<str>, text: &str) {
        match title.strip_prefix("more: ") {
            Some(own) => self.add_other(&Arc::from(own), text),
            None => self.add_other(title, text),
        }
    }

    /// Adds what stands under a heading that is not known in a layer of the book, as another program wrote it out: columns
    /// that are no words about the thing are passed over, and what the book had kept is taken apart again.
    pub(in crate::exchange) fn add_from_layer(&mut self, title: &Arc<str>, text: &str) {
        match &**title {
            "fid" | "beach" | "outing" => {}
            "more" => match serde_json::from_str::<BTreeMap<String, String>>(text) {
                Ok(inside) => inside.into_iter().for_each(|(title, text)| self.add_other(&Arc::from(title), &text)),
                Err(_) => self.add_other(title, text),
            },
            _ => self.add_headed(title, text),
        }
    }

    /// What stands under headings that are not known, each as `heading: text`.
    pub(in crate::exchange) fn others(&self) -> String {
        let named = |(title, text): &(Arc<str>, String)| if title.is_empty() { text.clone() } else { format!("{title}: {text}") };
        self.others.iter().map(named).collect::<Vec<_>>().join("; ")
    }

    /// What stands under headings that are no field and that are so, with the heading.
    pub(in crate::exchange) fn others_where(&self, is_so: impl Fn(&str) -> bool) -> impl Iterator<Item = (&str, &str)> {
        self.others.iter().map(|(title, text)| (&**title, text.as_str())).filter(move |(title, _)| is_so(title))
    }

    /// Headings that are not known under which whole numbers stand, as target IDs would.
    pub(in crate::exchange) fn numbers_beside(&self) -> Vec<&str> {
        let is_id = |text: &str| target_ids(text, false).is_some_and(|ids| !ids.is_empty());
        self.others.iter().filter(|(_, text)| is_id(text)).map(|(title, _)| &**title).collect()
    }

    /// What stands under headings that are not known, and in fields beside these, by heading: none of it is dropped.
    pub(in crate::exchange) fn beside(&self, used: impl Fn(Field) -> bool) -> BTreeMap<String, String> {
        let unused = self.cells.0.iter().filter(|(field, _)| !used(*field)).map(|(_, cell)| (&cell.title, &cell.text));
        let mut more: BTreeMap<String, String> = BTreeMap::new();
        for (title, text) in self.others.iter().map(|(title, text)| (title, text)).chain(unused) {
            let title = if title.is_empty() { "no heading" } else { title };
            let there = more.entry(title.to_owned()).or_default();
            if !there.is_empty() {
                there.push_str("; ");
            }
            there.push_str(text);
        }
        more
    }

    pub(in crate::exchange) fn has(&self, field: Field) -> bool {
        self.cells.get(&field).is_some()
    }

    pub(in crate::exchange) fn text(&self, field: Field) -> &str {
        self.cells.get(&field).map_or("", |cell| &cell.text)
    }

    /// The heading that a field stands under.
    pub(in crate::exchange) fn title(&self, field: Field) -> &str {
        self.cells.get(&field).map_or("", |cell| &cell.title)
    }

    pub(in crate::exchange) fn words(&self, field: Field) -> String {
        self.text(field).to_owned()
    }

    /// The first of some fields that says anything.
    pub(in crate::exchange) fn first_of(&self, fields: &[Field]) -> Option<(Field, &str)> {
        fields.iter().find_map(|f| self.cells.get(f).map(|cell| (*f, cell.text.as_str())))
    }

    /// A quantity in metres, grams, seconds or degrees: the value's own unit counts before the heading's, and that before `usual`.
    pub(in crate::exchange) fn measure(&mut self, field: Field, usual: Unit) -> Option<f64> {
        let cell = self.cells.get(&field)?;
        match number(&cell.text, cell.comma) {
            Some((value, own)) => {
                // A unit that is not known is not to be read past; feet are only usual where somebody said so.
                let said = own.or(cell.unit);
                if said.is_none() && usual != Unit::FOOT && unknown_unit(&cell.title, field).is_some() {
                    return self.spoil(field);
                }
                let unit = said.unwrap_or(usual);
                if unit.of == usual.of {
                    return Some(value * unit.factor);
                }
                self.spoil(field)
            }
            None => match feet_and_inches(&cell.text).filter(|_| usual.of == Quantity::Length) {
                Some(metres) => Some(metres),
                None => self.spoil(field),
            },
        }
    }

    /// Whether the value or its heading states a unit.
    pub(in crate::exchange) fn states_unit(&self, field: Field) -> bool {
        let Some(cell) = self.cells.get(&field) else { return false };
        cell.unit.is_some()
            || number(&cell.text, cell.comma).is_some_and(|(_, own)| own.is_some())
            || feet_and_inches(&cell.text).is_some()
    }

    /// A bare number.
    pub(in crate::exchange) fn plain(&mut self, field: Field) -> Option<f64> {
        self.read(field, |text, comma| {
            number(text, comma).filter(|(_, unit)| unit.is_none_or(|u| u.of == Quantity::Angle)).map(|(v, _)| v)
        })
    }

    /// A field through a reader of one's own; what it cannot read is kept for the notes.
    pub(in crate::exchange) fn read<T>(&mut self, field: Field, reader: impl FnOnce(&str, bool) -> Option<T>) -> Option<T> {
        let cell = self.cells.get(&field).filter(|cell| !is_blank(&cell.text))?;
        match reader(&cell.text, cell.comma) {
            Some(value) => Some(value),
            None => self.spoil(field),
        }
    }

    fn spoil<T>(&mut self, field: Field) -> Option<T> {
        if let Some(cell) = self.cells.get(&field) {
            self.unread.push((Arc::clone(&cell.title), cell.text.clone()));
            self.spoiled.push(format!("{field:?}: {}", cell.text).to_lowercase());
        }
        None
    }

    /// Whether a comma parts whole from fraction in this field.
    pub(in crate::exchange) fn comma(&self, field: Field) -> bool {
        self.cells.get(&field).is_some_and(|cell| cell.comma)
    }

    /// Tells what of the row could not be read; to be called once the row has been taken or refused.
    pub(in crate::exchange) fn tell_unread(&mut self, taking: &mut Taking<'_>) {
        for (title, text) in std::mem::take(&mut self.unread) {
            taking.unreadable(self.mark.line, &title, &text, self.noted);
        }
    }

    /// The clock that a heading of these fields names, else that of the row itself, else that of the file.
    fn zone(&self, fields: &[Field], taking: &Taking<'_>) -> Result<TimeZone, String> {
        if let Some(named) = fields.iter().find_map(|f| self.cells.get(f)?.clock.as_ref()) {
            return Ok(named.clone());
        }
        Ok(self.own_zone()?.unwrap_or_else(|| taking.zone.clone()))
    }

    /// The clock that the row names in a column of its own.
    fn own_zone(&self) -> Result<Option<TimeZone>, String> {
        match self.text(Field::TimeZone) {
            "" => Ok(None),
            text => clock_of_cell(text),
        }
    }

    /// The notes, with whatever else could not be read.
    pub(in crate::exchange) fn notes(&mut self, also: &[&str]) -> String {
        let mut notes: Vec<String> = also.iter().filter(|t| !t.is_empty()).map(|t| (*t).to_owned()).collect();
        notes.extend(self.cells.get(&Field::Notes).map(|cell| cell.text.clone()));
        self.noted = true;
        notes.append(&mut self.spoiled);
        notes.join("; ")
    }

    /// What the row says about when.
    pub(in crate::exchange) fn when(&self) -> Result<Option<When>, String> {
        let read = |field: Field| {
            let text = self.text(field);
            When::read(text, self.day_first).ok_or_else(|| format!("its date or time \"{text}\" could not be read"))
        };
        let two = |day: &str, clock: &str| {
            When::read_two(day, clock, self.day_first)
                .ok_or_else(|| format!("its date and time \"{day} {clock}\" could not be read"))
        };
        match (self.has(Field::Date), self.has(Field::Time), self.has(Field::Clock)) {
            // Either column may hold the whole.
            (true, true, _) => read(Field::Time)
                .ok()
                .filter(|w| !matches!(w, When::Day(_)))
                .map_or_else(|| two(self.text(Field::Date), self.text(Field::Time)), Ok)
                .map(Some),
            (true, false, true) => two(self.text(Field::Date), self.text(Field::Clock)).map(Some),
            (false, true, true) => two(self.text(Field::Time), self.text(Field::Clock)).map(Some),
            (true, false, false) => read(Field::Date).map(Some),
            (false, true, false) => read(Field::Time).map(Some),
            // A clock without a day says when of no instant, unless the day stands in it.
            (false, false, true) => Ok(When::read(self.text(Field::Clock), self.day_first)),
            (false, false, false) => Ok(None),
        }
    }

    /// The instant, with what is doubtful about it counted.
    pub(in crate::exchange) fn instant(&self, taking: &mut Taking<'_>) -> Result<Option<Timestamp>, String> {
        let Some(when) = self.when()? else {
            if self.has(Field::Clock) {
                taking.count(self.mark.line, "time(s) of day stand without a date and were left out");
            }
            return Ok(None);
        };
        // The noon of a day is the beach's own, by which it is told from a time later on.
        let noon = matches!(when, When::Day(_)).then(|| taking.beach.zone().ok()).flatten();
        let zone = match (noon, when) {
            (Some(noon), _) => noon,
            (None, When::Instant(_)) => TimeZone::UTC,
            (None, _) => self.zone(WHEN, taking)?,
        };
        let Some((time, doubt)) = when.instant(&zone) else {
            return Err("its time lies beyond the calendar".to_owned());
        };
        count_doubt(taking, self.mark.line, doubt);
        Ok(Some(time))
    }

    /// The instant or the clock time the row states, for a series that tells doubled hours by its rhythm.
    pub(in crate::exchange) fn moment(&self) -> Result<Moment, String> {
        let named = WHEN.iter().find_map(|f| self.cells.get(f)?.clock.clone());
        match (self.when()?.ok_or("has no time")?, named.map_or_else(|| self.own_zone(), |zone| Ok(Some(zone)))?) {
            (When::Instant(time), _) => Ok(Moment::Instant(time)),
            (When::Local(at), Some(zone)) => {
                let (time, _) = When::Local(at).instant(&zone).ok_or("its time lies beyond the calendar")?;
                Ok(Moment::Instant(time))
            }
            (When::Local(at), None) => Ok(Moment::Clock(at)),
            (When::Day(_), _) => Err("has a date but no time of day".to_owned()),
        }
    }

    /// The instant of one field of its own, such as a start.
    pub(in crate::exchange) fn instant_of(&self, taking: &mut Taking<'_>, field: Field) -> Result<Timestamp, String> {
        let text = self.text(field);
        let when = match When::read(text, self.day_first) {
            Some(when) => Some(when),
            None => When::read_two(self.text(Field::Date), text, self.day_first),
        };
        let zone = self.zone(&[field, Field::Date], taking)?;
        let found = when.and_then(|w| w.instant(&zone));
        let (time, doubt) = found.ok_or_else(|| format!("its time \"{text}\" could not be read"))?;
        count_doubt(taking, self.mark.line, doubt);
        Ok(time)
    }

    /// A day of the calendar.
    pub(in crate::exchange) fn day(&mut self, taking: &Taking<'_>, field: Field) -> Option<Date> {
        let (zone, day_first) = (taking.zone.clone(), self.day_first);
        self.read(field, |text, _| When::read(text, day_first).map(|w| w.day(&zone)))
    }

    /// The uid a file written from a book gives.
    pub(in crate::exchange) fn uid(&self) -> Option<Uid> {
        self.cells.get(&Field::Uid).and_then(|cell| cell.text.parse().ok())
    }
}

pub(in crate::exchange) fn count_doubt(taking: &mut Taking<'_>, line: u64, doubt: Option<Doubt>) {
    let what = match doubt {
        None => return,
        Some(Doubt::Twice) => "time(s) were shown twice as the clock went back; the first was taken",
        Some(Doubt::Never) => "time(s) were skipped as the clock went forward; the clock after the change was taken",
        Some(Doubt::Noon) => "record(s) give a day but no time; noon was taken, and no reading counts on it",
    };
    taking.count(line, what);
}
