use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;

use crate::book::{Uid, Weight};
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::{Field, Quantity, Unit};
use crate::exchange::tools::value::{is_blank, number};
use crate::exchange::tools::when::{Doubt, When};

/// One record of a table, or the properties of one feature: its fields as text.
#[derive(Debug)]
pub(in crate::exchange) struct Row {
    pub(in crate::exchange) mark: Mark,
    cells: BTreeMap<Field, (String, Option<Unit>)>,
    /// Whether a comma parts whole from fraction.
    pub(in crate::exchange) comma: bool,
    /// Whether `03/04` is the third of April.
    pub(in crate::exchange) day_first: bool,
    /// What could not be read, kept for the notes.
    spoiled: Vec<String>,
}

/// When something was, as far as its row alone says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Moment {
    /// An instant, its offset stated.
    Instant(Timestamp),
    /// A time on the file's clock.
    Clock(jiff::civil::DateTime),
}

impl Row {
    pub(in crate::exchange) fn new(mark: Mark, comma: bool, day_first: bool) -> Self {
        Self { mark, cells: BTreeMap::new(), comma, day_first, spoiled: Vec::new() }
    }

    /// Adds a field; the first of two that mean the same stays, and a blank one says nothing.
    ///
    /// "Weight" may hold a mass or one of the words heavy and light, so its content decides.
    pub(in crate::exchange) fn add(&mut self, field: Field, text: &str, unit: Option<Unit>) {
        let field = if field == Field::Mass && text.trim().parse::<Weight>().is_ok() { Field::Weight } else { field };
        if !is_blank(text) {
            self.cells.entry(field).or_insert_with(|| (text.trim().to_owned(), unit));
        }
    }

    pub(in crate::exchange) fn has(&self, field: Field) -> bool {
        self.cells.contains_key(&field)
    }

    pub(in crate::exchange) fn text(&self, field: Field) -> &str {
        self.cells.get(&field).map_or("", |(text, _)| text)
    }

    pub(in crate::exchange) fn words(&self, field: Field) -> String {
        self.text(field).to_owned()
    }

    /// The first of some fields that says anything.
    pub(in crate::exchange) fn first_of(&self, fields: &[Field]) -> Option<(Field, &str)> {
        fields.iter().find_map(|f| self.cells.get(f).map(|(text, _)| (*f, text.as_str())))
    }

    /// A quantity in metres, grams, seconds or degrees: the value's own unit counts before the heading's, and that before `usual`.
    pub(in crate::exchange) fn measure(&mut self, field: Field, usual: Unit) -> Option<f64> {
        let (text, stated) = self.cells.get(&field)?;
        match number(text, self.comma) {
            Some((value, own)) => {
                let unit = own.or(*stated).unwrap_or(usual);
                if unit.of == usual.of {
                    return Some(value * unit.factor);
                }
                self.spoil(field)
            }
            None => self.spoil(field),
        }
    }

    /// Whether the value or its heading states a unit.
    pub(in crate::exchange) fn states_unit(&self, field: Field) -> bool {
        let Some((text, stated)) = self.cells.get(&field) else { return false };
        stated.is_some() || number(text, self.comma).is_some_and(|(_, own)| own.is_some())
    }

    /// A bare number.
    pub(in crate::exchange) fn plain(&mut self, field: Field) -> Option<f64> {
        self.read(field, |text, comma| {
            number(text, comma).filter(|(_, unit)| unit.is_none_or(|u| u.of == Quantity::Angle)).map(|(v, _)| v)
        })
    }

    /// A field through a reader of one's own; what it cannot read is kept for the notes.
    pub(in crate::exchange) fn read<T>(&mut self, field: Field, reader: impl FnOnce(&str, bool) -> Option<T>) -> Option<T> {
        let (text, _) = self.cells.get(&field)?;
        match reader(text, self.comma) {
            Some(value) => Some(value),
            None => self.spoil(field),
        }
    }

    fn spoil<T>(&mut self, field: Field) -> Option<T> {
        let text = self.text(field).to_owned();
        self.spoiled.push(format!("{field:?}: {text}").to_lowercase());
        None
    }

    /// The notes, with whatever else could not be read.
    pub(in crate::exchange) fn notes(&mut self, taking: &mut Taking<'_>, also: &[&str]) -> String {
        let mut notes: Vec<String> = also.iter().filter(|t| !t.is_empty()).map(|t| (*t).to_owned()).collect();
        notes.extend(self.cells.get(&Field::Notes).map(|(text, _)| text.clone()));
        if !self.spoiled.is_empty() {
            taking.count(self.mark.line, "record(s) hold a value that could not be read; it was kept in the notes");
        }
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
            (false, false, _) => Ok(None),
        }
    }

    /// The instant, with what is doubtful about it counted.
    pub(in crate::exchange) fn instant(&self, taking: &mut Taking<'_>) -> Result<Option<Timestamp>, String> {
        let Some(when) = self.when()? else { return Ok(None) };
        let Some((time, doubt)) = when.instant(&taking.zone) else {
            return Err("its time lies beyond the calendar".to_owned());
        };
        count_doubt(taking, self.mark.line, doubt);
        Ok(Some(time))
    }

    /// The instant or the clock time the row states, for a series that tells doubled hours by its rhythm.
    pub(in crate::exchange) fn moment(&self) -> Result<Moment, String> {
        match self.when()?.ok_or("has no time")? {
            When::Instant(time) => Ok(Moment::Instant(time)),
            When::Local(at) => Ok(Moment::Clock(at)),
            When::Day(_) => Err("has a date but no time of day".to_owned()),
        }
    }

    /// The instant of one field of its own, such as a start.
    pub(in crate::exchange) fn instant_of(&self, taking: &mut Taking<'_>, field: Field) -> Result<Timestamp, String> {
        let text = self.text(field);
        let when = match When::read(text, self.day_first) {
            Some(when) => Some(when),
            None => When::read_two(self.text(Field::Date), text, self.day_first),
        };
        let found = when.and_then(|w| w.instant(&taking.zone));
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
        self.text(Field::Uid).parse().ok()
    }
}

pub(in crate::exchange) fn count_doubt(taking: &mut Taking<'_>, line: u64, doubt: Option<Doubt>) {
    let what = match doubt {
        None => return,
        Some(Doubt::Twice) => "time(s) were shown twice as the clock went back; the first was taken",
        Some(Doubt::Never) => "time(s) were skipped as the clock went forward; the clock after the change was taken",
        Some(Doubt::Noon) => "record(s) give a day but no time; noon was taken",
    };
    taking.count(line, what);
}
