use std::sync::Arc;

use csv::StringRecord;

use super::below;
use super::bench::{self, settle_passes};
use super::column::Column;
use super::columns::{
    Columns, DateParts, by_values, refuse_two_tables, refuse_unknown_units, settle_clock, settle_grid, settle_ids, settle_sides,
    settle_tid, settle_zone,
};
use super::dialect::{Dialect, Form, Rows, counted, unknown_headings};
use super::digits::SixDigits;
use super::headings::repeats;
use super::misread::misread;
use super::place::place;
use super::rows;
use super::series::Series;
use super::told::{column_read, tell, tell_above};
use crate::Progress;
use crate::earth::LonLat;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::options::Options;
use crate::exchange::records::row::Row;
use crate::exchange::records::shape::{self, Role, Shape};
use crate::exchange::records::{known_targets, things};
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::beside::beside;
use crate::exchange::tools::heading::{Field, Meaning};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::value::is_blank;
use crate::exchange::what::What;

/// Reads a table: once for how it is written, once for what it holds.
pub(in crate::exchange) fn read(
    source: &Source,
    form: Form,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<String, Stop> {
    let mut given = taking.options.columns()?;
    let rows = if taking.is_survey() { Rows::First } else { Rows::All };
    let mut dialect = Dialect::sniff(source, form, &given, rows, progress)?;
    tell_above(taking, &dialect);
    if dialect.headless {
        if taking.answered(About::Headings).is_some() {
            return Err(unknown_headings(dialect.open.as_deref().unwrap_or_default()).into());
        }
        if let Some(line) = dialect.below.first() {
            let why = format!(
                "has records above the headings in line {line}; put the headings first, or the two into files of their own"
            );
            return Err(Fault::Option(why).into());
        }
        for (heading, _) in &mut given {
            if let Some(n) = counted(heading) {
                *heading = format!("column {n}");
            }
        }
    }
    if !dialect.below.is_empty() {
        return several(source, &dialect, taking, progress);
    }
    // A table without headings is like no other.
    taking.with_headings(dialect.columns.iter().filter(|_| !dialect.headless).map(|c| &*c.title));
    let remembered = Options::columns_of(&taking.columns_of_the_last()).unwrap_or_default();
    if !remembered.is_empty() {
        given.extend(remembered);
        dialect = Dialect::sniff(source, form, &given, rows, progress)?;
    }
    let told = by_values(&dialect, &given);
    if !told.is_empty() {
        let known: Vec<_> = given.iter().cloned().chain(told).collect();
        dialect = Dialect::sniff(source, form, &known, rows, progress)?;
    }
    settle_sides(&mut dialect);
    settle_passes(&mut dialect);
    let is_there = |heading: &str| dialect.columns.iter().any(|c| c.title.to_lowercase() == heading);
    let lacking = given.iter().filter(|(heading, _)| !is_there(heading) && !taking.options.columns_where_there);
    for (heading, _) in lacking.collect::<Vec<_>>() {
        taking.warn(format!("the table has no column \"{heading}\" to be given a meaning"));
    }
    settle_tid(&mut dialect, &given)?;
    settle_ids(&mut dialect, taking);
    settle_zone(&mut dialect);
    settle_clock(&mut dialect);
    let dates = dialect.digits.iter().enumerate();
    let dates = dates.filter(|(n, _)| dialect.columns.get(*n).and_then(Column::field) == Some(Field::Date));
    let six = SixDigits::settle(dates, taking);
    if let Some(six) = six {
        dialect.sample.iter_mut().for_each(|row| *row = six.row(row));
    }
    let parts = DateParts::settle(&mut dialect);
    refuse_two_tables(&dialect)?;
    let grid = match taking.options.grid()? {
        Some(grid) => Some(grid),
        None => settle_grid(&dialect, taking),
    };
    let columns = Columns::from_dialect(&dialect, grid)?;
    if taking.columns.is_empty() {
        taking.columns = dialect.columns.iter().filter_map(|c| column_read(c, &given)).collect();
    }
    if let Some(first) =
        dialect.open.as_deref().filter(|_| taking.options.what.map_or(columns.guess().is_err(), |_| columns.fields.is_empty()))
    {
        let question = || {
            format!(
                "the first line reads like data, not headings (\"{first}\"): what do its {} columns hold?",
                dialect.columns.len()
            )
        };
        taking.ask(About::Headings, question);
        return Ok(format!("a table of {} column(s) without headings", dialect.columns.len()));
    }
    refuse_unknown_units(&dialect, taking)?;
    tell(taking, &dialect, &columns, parts);
    let what = match taking.options.what {
        Some(what) => what,
        None => match columns.guess()? {
            What::Levels if !columns.has(Field::Role) => columns.levels_or_track(&dialect, taking),
            what => what,
        },
    };
    // What runs on beyond the headings of known targets is target IDs, or refused row by row.
    if what != What::Bench {
        dialect.apart.refuse()?;
    }
    taking.receivers_heights = what == What::Levels && columns.receivers_heights(&dialect);
    let day_first = dialect.dates.decide(taking);
    let mut table = Table { columns, what, series: Series::default() };
    // What somebody wrote for the numbers of a known target is looked at as it stands.
    let misread = if what == What::Bench { Vec::new() } else { misread(&dialect) };
    let of_a_book = dialect.columns.iter().any(|c| c.field() == Some(Field::Uid));
    let whose = matches!(what, What::TideTable | What::Gauge).then(|| place_column(&dialect)).flatten();
    let mut places: Vec<String> = Vec::new();
    let mut rows = 0;
    let mut see = |line: u64, record: &StringRecord| {
        if dialect.repeated && repeats(record, dialect.columns.iter().map(|c| &*c.title)) {
            taking.count(line, "row(s) repeat the headings and were passed over");
            return Ok(());
        }
        rows += 1;
        let mark = Mark { line, noun: "row", number: rows };
        if let Some(place) = whose.and_then(|n| record.get(n)).map(str::trim).filter(|cell| !is_blank(cell))
            && places.len() < MOST_PLACES
            && !places.iter().any(|p| p.eq_ignore_ascii_case(place))
        {
            places.push(place.to_owned());
        }
        if table.what == What::Bench && !table.columns.depths.is_empty() {
            return table.readings(taking, &dialect, record, mark, day_first);
        }
        let mut row = Row::new(mark, day_first);
        for (n, (cell, column)) in record.iter().zip(&dialect.columns).enumerate() {
            let whole = parts.filter(|p| p.holds(n)).map(|p| p.cell(n, record).unwrap_or_default());
            let whole = whole.or_else(|| six.and_then(|six| six.cell(n, cell)));
            let cell = whole.as_deref().unwrap_or(cell);
            match &column.meaning {
                Some(meaning) => row.add(meaning, &column.title, cell, column.comma),
                None if of_a_book => row.add_from_layer(&column.title, cell),
                None => row.add_headed(&column.title, cell),
            }
        }
        if let Err(why) = table.beyond(taking, &dialect, record, &mut row) {
            taking.refuse(mark, why);
            return Ok(());
        }
        for (cell, hint) in record.iter().zip(&misread) {
            if let Some(hint) = hint.as_deref().filter(|_| !is_blank(cell)) {
                taking.suspect(cell, hint);
            }
        }
        let done = table.row(taking, &mut row);
        row.tell_unread(taking);
        taking.suspect_nothing();
        done
    };
    beside(
        source,
        |give| rows::read(dialect.reader(source, progress), dialect.lines_before(), give),
        |portion| portion.each(&mut see),
    )?;
    if rows == 0 {
        taking.warn("the table holds headings and no rows");
    }
    if let Some(column) = whose.and_then(|n| dialect.columns.get(n)).filter(|_| places.len() > 1) {
        let mark = Mark { line: dialect.lines_before() + 1, noun: "table", number: 1 };
        taking.refuse(mark, several_places(&column.title, &places));
        return Ok(format!("a table of heights at {} places", places.len()));
    }
    let by_role = table.columns.has(Field::Role) && taking.options.what.is_none();
    table.series.finish(taking, what)?;
    let taken = if by_role { "each row says in its column of roles".to_owned() } else { what.to_string() };
    Ok(format!("a table of {rows} row(s), taken as {taken}"))
}

/// Words over a column that names whose water a row tells.
const PLACES: [&str; 10] =
    ["port", "harbour", "harbor", "station", "stationname", "portname", "location", "place", "site", "gaugename"];

/// No more of them are told apart.
const MOST_PLACES: usize = 99;

/// The column that names whose water each row of a table of heights tells.
fn place_column(dialect: &Dialect) -> Option<usize> {
    let plain = |title: &str| -> String { title.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect() };
    dialect.columns.iter().position(|c| PLACES.contains(&plain(&c.title).as_str()))
}

/// Why a table of heights at several places is taken for none of them.
fn several_places(heading: &str, places: &[String]) -> String {
    let named: Vec<String> = places.iter().take(4).map(|p| format!("\"{p}\"")).collect();
    format!(
        "holds the water of {} places under \"{heading}\" ({}{}), which would be taken for that of one: save the rows of each place as a \
         file of its own, and import the one that is yours",
        places.len(),
        named.join(", "),
        if places.len() > named.len() { " ..." } else { "" }
    )
}

/// Reads tables that stand below one another, each by its own headings. One that cannot be read is refused, and the others
/// are taken.
fn several(source: &Source, dialect: &Dialect, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let parts = below::parts(source, dialect, progress)?;
    let (mut said, mut fault) = (Vec::new(), None);
    for (n, (line, part)) in parts.iter().enumerate() {
        taking.understand(format!("table {} of the file", n + 1), format!("its headings stand at line {line}"));
        match read(part, Form::Sheet, taking, progress) {
            Ok(guess) => said.push(format!("from line {line} {guess}")),
            Err(Stop::Fault(why @ (Fault::Unknown { .. } | Fault::Option(_)))) => {
                let sentence = match &why {
                    Fault::Unknown { why } => why.clone(),
                    other => other.to_string(),
                };
                taking.refuse(Mark { line: *line, noun: "table", number: n as u64 + 1 }, sentence);
                fault = Some(why);
            }
            Err(other) => return Err(other),
        }
    }
    match (said.is_empty(), fault) {
        (true, Some(fault)) => Err(fault.into()),
        _ => Ok(format!("{} tables, one below the other: {}", parts.len(), said.join("; "))),
    }
}

/// What the headings of a table suggest, if anything.
pub(in crate::exchange) fn guess(source: &Source, form: Form) -> Option<What> {
    let mut dialect = Dialect::sniff(source, form, &[], Rows::Beginning, &Progress::new()).ok()?;
    settle_sides(&mut dialect);
    settle_passes(&mut dialect);
    Columns::from_dialect(&dialect, None).and_then(|c| c.guess().map_err(Stop::from)).ok()
}

/// Whether a text begins with headings that make a table of something known.
///
/// # Errors
/// What it lacks. A table of which only something is open that its person can say, such as its grid, is one.
pub(in crate::exchange) fn has_headings(source: &Source) -> Result<(), Fault> {
    let columns =
        Dialect::sniff(source, Form::Text, &[], Rows::Beginning, &Progress::new()).and_then(|dialect| match dialect.headless {
            true => Err(dialect.no_headings().into()),
            false => Columns::from_dialect(&dialect, None),
        });
    match columns.and_then(|c| c.guess().map_err(Stop::from)) {
        Err(Stop::Fault(fault)) if !matches!(fault, Fault::Option(_)) => Err(fault),
        _ => Ok(()),
    }
}

/// What stands in a row beyond the last heading.
fn beyond<'r>(dialect: &Dialect, record: &'r StringRecord) -> Vec<&'r str> {
    record.iter().skip(dialect.columns.len()).filter(|cell| !is_blank(cell)).collect()
}

fn too_many(beyond: &[&str]) -> String {
    format!(
        "has more cells than the table has headings, the first \"{}\"; write several target IDs with blanks between them, as in 43 44 43, \
         and put words that hold the delimiter into quotes",
        beyond.first().unwrap_or(&"")
    )
}

struct Table {
    columns: Columns,
    what: What,
    series: Series,
}

impl Table {
    /// Sees to what stands in a row beyond the last heading. Target IDs with commas between them that nothing holds together
    /// run on there; elsewhere it is kept with the record, under no heading.
    ///
    /// # Errors
    /// A sentence, where it may be numbers of a reading.
    fn beyond(&self, taking: &mut Taking<'_>, dialect: &Dialect, record: &StringRecord, row: &mut Row) -> Result<(), String> {
        let beyond = beyond(dialect, record);
        if beyond.is_empty() {
            return Ok(());
        }
        let last = dialect.columns.last().and_then(Column::field);
        if self.what == What::Bench {
            let numbers = beyond.iter().all(|cell| cell.parse::<i32>().is_ok());
            if last != Some(Field::TargetId) || !numbers {
                return Err(too_many(&beyond));
            }
            let meaning = Meaning { field: Field::TargetId, unit: None, clock: None, numbered: true };
            let title = dialect.columns.last().map_or_else(|| Arc::from(""), |c| Arc::clone(&c.title));
            beyond.iter().for_each(|cell| row.add(&meaning, &title, cell, false));
            return Ok(());
        }
        taking.count(
            row.mark.line,
            "row(s) hold more cells than there are headings; what stands beyond the last is kept without one",
        );
        beyond.iter().for_each(|cell| row.add_other(&Arc::from(""), cell));
        Ok(())
    }

    /// Takes a row that holds a reading under each of several depths.
    fn readings(
        &mut self,
        taking: &mut Taking<'_>,
        dialect: &Dialect,
        record: &StringRecord,
        mark: Mark,
        day_first: bool,
    ) -> Result<(), Stop> {
        let beyond = beyond(dialect, record);
        if !beyond.is_empty() {
            taking.refuse(mark, too_many(&beyond));
            return Ok(());
        }
        let read = bench::rows(dialect, &self.columns.depths, record, mark, day_first);
        if read.is_empty() {
            taking.refuse(mark, "has nothing under any depth; write the target IDs there, or nothing heard");
        }
        for mut row in read {
            let done = self.row(taking, &mut row);
            row.tell_unread(taking);
            done?;
        }
        Ok(())
    }

    fn row(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), Stop> {
        let role = match row.text(Field::Role) {
            "" => None,
            text if taking.options.what.is_none() => Role::named(text),
            _ => None,
        };
        let what = match role {
            Some(Role::What(what)) => what,
            _ => self.what,
        };
        let done = match what {
            What::Outings => {
                let made = things::outing(taking, row);
                return things::settle(taking, row, made);
            }
            What::Setups => {
                let made = things::setup(row);
                return things::settle(taking, row, made);
            }
            What::Bench => {
                let numbers = self.columns.has(Field::TargetId) || !self.columns.depths.is_empty();
                let made = known_targets::bench(taking, row, numbers);
                return match made {
                    Ok(reading) => things::settle(taking, row, reading),
                    Err(stop) => Err(stop),
                };
            }
            What::Storm => self.series.add_sea(taking, row),
            What::TideTable | What::Gauge => self.series.add_water(taking, row),
            What::Tracks | What::Baseline => match place(&self.columns.places, taking, row) {
                Ok(at) => self.series.add_place(taking, row, at),
                Err(why) => Err(why),
            },
            What::Zones | What::Permissions | What::Barriers => {
                Err(format!("a table holds points, which cannot be taken as {what}; give them as GeoJSON"))
            }
            What::Finds | What::Signals | What::Levels | What::Accesses => match place(&self.columns.places, taking, row) {
                Ok(at) => return self.point(taking, row, what, at),
                Err(why) => Err(why),
            },
        };
        if let Err(why) = done {
            taking.refuse(row.mark, why);
        }
        Ok(())
    }

    fn point(&self, taking: &mut Taking<'_>, row: &mut Row, what: What, at: LonLat) -> Result<(), Stop> {
        shape::take_as(taking, row, Role::What(what), Shape::Points(vec![(at, None)]))
    }
}
