use std::sync::Arc;

use csv::StringRecord;

use super::below;
use super::bench::{self, settle_passes};
use super::columns::{Columns, DateParts, refuse_two_tables, settle_grid, settle_ids, settle_sides, settle_zone};
use super::dialect::{Column, Dialect, Form, Rows, Thousands};
use super::headings::repeats;
use super::place::{Places, place};
use super::rows;
use super::series::Series;
use super::write::is_mark;
use crate::Progress;
use crate::earth::LonLat;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::options::Options;
use crate::exchange::records::row::Row;
use crate::exchange::records::shape::{self, Role, Shape};
use crate::exchange::records::{known_targets, things};
use crate::exchange::take_in::ColumnRead;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::beside::beside;
use crate::exchange::tools::clock_word::ClockWord;
use crate::exchange::tools::heading::{Field, Meaning};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::value::{is_blank, number};
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
    if !dialect.below.is_empty() {
        return several(source, &dialect, taking, progress);
    }
    taking.with_headings(dialect.columns.iter().map(|c| &*c.title));
    let remembered = Options::columns_of(&taking.columns_of_the_last()).unwrap_or_default();
    if !remembered.is_empty() {
        given.extend(remembered);
        dialect = Dialect::sniff(source, form, &given, rows, progress)?;
    }
    settle_sides(&mut dialect);
    settle_passes(&mut dialect);
    let is_there = |heading: &str| dialect.columns.iter().any(|c| c.title.to_lowercase() == heading);
    let lacking = given.iter().filter(|(heading, _)| !is_there(heading) && !taking.options.columns_where_there);
    for (heading, _) in lacking.collect::<Vec<_>>() {
        taking.warn(format!("the table has no column \"{heading}\" to be given a meaning"));
    }
    settle_ids(&mut dialect, taking);
    settle_zone(&mut dialect);
    let parts = DateParts::settle(&mut dialect);
    refuse_two_tables(&dialect)?;
    let grid = match taking.options.grid()? {
        Some(grid) => Some(grid),
        None => settle_grid(&dialect, taking),
    };
    let columns = Columns::from_dialect(&dialect, grid)?;
    tell(taking, &dialect, &columns, parts);
    if taking.columns.is_empty() {
        taking.columns = dialect.columns.iter().filter_map(|c| column_read(c, &given)).collect();
    }
    let what = match taking.options.what {
        Some(what) => what,
        None => match columns.guess()? {
            What::Levels if !columns.has(Field::Role) => columns.levels_or_track(&dialect, taking),
            what => what,
        },
    };
    taking.receivers_heights = what == What::Levels && columns.receivers_heights(&dialect);
    let day_first = dialect.dates.decide(taking);
    let mut table = Table { columns, what, series: Series::default() };
    let of_a_book = dialect.columns.iter().any(|c| c.field() == Some(Field::Uid));
    let mut rows = 0;
    let mut see = |line: u64, record: &StringRecord| {
        if dialect.repeated && repeats(record, dialect.columns.iter().map(|c| &*c.title)) {
            taking.count(line, "row(s) repeat the headings and were passed over");
            return Ok(());
        }
        rows += 1;
        let mark = Mark { line, noun: "row", number: rows };
        if table.what == What::Bench && !table.columns.depths.is_empty() {
            return table.readings(taking, &dialect, record, mark, day_first);
        }
        let mut row = Row::new(mark, day_first);
        for (n, (cell, column)) in record.iter().zip(&dialect.columns).enumerate() {
            let whole = parts.filter(|p| p.holds(n)).map(|p| p.cell(n, record).unwrap_or_default());
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
        let done = table.row(taking, &mut row);
        row.tell_unread(taking);
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
    let by_role = table.columns.has(Field::Role) && taking.options.what.is_none();
    table.series.finish(taking, what)?;
    let taken = if by_role { "each row says in its column of roles".to_owned() } else { what.to_string() };
    Ok(format!("a table of {rows} row(s), taken as {taken}"))
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
        Dialect::sniff(source, Form::Text, &[], Rows::Beginning, &Progress::new()).and_then(|d| Columns::from_dialect(&d, None));
    match columns.and_then(|c| c.guess().map_err(Stop::from)) {
        Err(Stop::Fault(fault)) if !matches!(fault, Fault::Option(_)) => Err(fault),
        _ => Ok(()),
    }
}

fn tell(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns, parts: Option<DateParts>) {
    if dialect.form == Form::Text {
        let delimiter = match dialect.delimiter {
            b'\t' => "tab".to_owned(),
            other => format!("\"{}\"", char::from(other)),
        };
        match dialect.by_line {
            None => taking.understand("encoding", dialect.encoding.name()),
            Some(lines) => {
                let other = dialect.encoding.name();
                taking.understand("encoding", format!("UTF-8, and {other} where a line is none"));
                taking.warn(format!(
                    "{} line(s), first line {}, are not in UTF-8 as the others are and were read as {other}: see that their letters are \
                     right, or save the file again as UTF-8",
                    lines.others, lines.first
                ));
            }
        }
        taking.understand("delimiter", delimiter);
    }
    tell_signs(taking, dialect);
    tell_thousands(taking, dialect);
    tell_shallow(taking, dialect);
    tell_dateless(taking, dialect, columns);
    match &columns.places {
        Places::None => {}
        Places::LonLat(..) => taking.understand("positions", "longitude and latitude, WGS 84"),
        Places::Pair(Some(true)) => taking.understand("positions", "longitude and latitude in one column, WGS 84"),
        Places::Pair(_) => taking.understand("positions", "latitude and longitude in one column, WGS 84"),
        Places::Grid(_, _, Some(grid)) => taking.understand("positions", format!("easting and northing on {}", grid.name())),
        // Told with the first that is read.
        Places::Utm(..) | Places::Reference(_) => {}
        Places::Grid(_, _, None) => taking.understand("positions", "easting and northing on the grid each row names"),
    }
    tell_clock(taking, dialect, columns);
    let mut unused = Vec::new();
    for (n, column) in dialect.columns.iter().enumerate() {
        match &column.meaning {
            _ if parts.is_some_and(|p| p.holds(n)) => {
                taking.understand(format!("column \"{}\"", column.title), "a part of the date");
            }
            None if bench::is_at_depth(&columns.depths, n) => {
                taking.understand(format!("column \"{}\"", column.title), "target id at that depth");
            }
            Some(meaning) => {
                let unit = meaning
                    .unit
                    .map(|u| u.word)
                    .or(usual_unit(meaning.field, taking.options.feet))
                    .map(|u| format!(", {u}"))
                    .unwrap_or_default();
                taking.understand(format!("column \"{}\"", column.title), format!("{}{unit}", field_words(meaning.field)));
            }
            None if column.title.is_empty() || is_mark(&column.title) => {}
            None => unused.push(&*column.title),
        }
    }
    if columns.has(Field::Hs) {
        let of_the_water = |title: &&&str| {
            let title = title.to_lowercase();
            ["pressure", "mslp", "hpa", "surge", "anomaly", "residual", "level"].iter().any(|word| title.contains(word))
        };
        let missed: Vec<&str> = unused.iter().filter(of_the_water).copied().collect();
        if !missed.is_empty() {
            taking.warn(format!(
                "of the sea only waves and surge are kept: {} was not taken, so nothing is added to the water for it; give air pressure to the beach or the route (`--pressure`), or a surge under the heading surge_m",
                missed.join(", ")
            ));
        }
        if !unused.is_empty() {
            taking.understand("columns not known", format!("{}; not taken", unused.join(", ")));
        }
    } else if !unused.is_empty() {
        taking.understand("columns not known", format!("{}; kept with each find under their headings", unused.join(", ")));
    }
}

/// How a column was read; `None` for one without a heading.
fn column_read(column: &Column, given: &[(String, Option<Meaning>)]) -> Option<ColumnRead> {
    let heading = column.title.trim();
    if heading.is_empty() || is_mark(heading) {
        return None;
    }
    let meaning = column.meaning.as_ref().map(|m| {
        let unit = m.unit.map(|u| format!(", {}", u.word)).unwrap_or_default();
        format!("{}{unit}", field_words(m.field))
    });
    let chosen = given.iter().any(|(stated, _)| *stated == heading.to_lowercase());
    Some(ColumnRead { heading: heading.to_owned(), meaning, chosen })
}

/// The sign between whole and fraction, column by column where they differ.
fn tell_signs(taking: &mut Taking<'_>, dialect: &Dialect) {
    let with_comma: Vec<&Arc<str>> = dialect.columns.iter().filter(|c| c.comma).map(|c| &c.title).collect();
    let with_point = dialect.columns.iter().enumerate().any(|(n, c)| {
        !c.comma && c.meaning.is_some() && dialect.cells(n).any(|cell| cell.contains('.') && cell.parse::<f64>().is_ok())
    });
    let said = match (with_comma.is_empty(), with_point) {
        (true, _) => "point".to_owned(),
        (false, false) => "comma".to_owned(),
        (false, true) => {
            let titles: Vec<String> = with_comma.iter().map(|t| format!("\"{t}\"")).collect();
            format!("comma in {}, point elsewhere", titles.join(", "))
        }
    };
    taking.understand("decimal sign", said);
}

/// What may be thousands, column by column: a weight of 1.200 is one thing or a thousand times that.
fn tell_thousands(taking: &mut Taking<'_>, dialect: &Dialect) {
    for column in &dialect.columns {
        let Some(Thousands { text, line, count }) = &column.thousands else { continue };
        let read = text.replace(',', ".");
        let (sign, other) = if text.contains(',') { ("comma", "point") } else { ("point", "comma") };
        taking.warn(format!(
            "{count} value(s) under \"{}\", first at line {line}: \"{text}\", have a {sign} before three digits, where the file has a \
             {other} before its fractions; it was read as the fraction {read}: if thousands are meant, write them without the {sign}",
            column.title
        ));
    }
}

/// Depths without a unit that are all below 1 are likelier metres than millimetres of sand.
fn tell_shallow(taking: &mut Taking<'_>, dialect: &Dialect) {
    let unitless = |c: &Column| c.meaning.as_ref().is_some_and(|m| m.field == Field::Depth && m.unit.is_none());
    for (n, column) in dialect.columns.iter().enumerate().filter(|(_, c)| unitless(c)) {
        let values: Vec<(&str, Option<f64>)> = dialect
            .cells(n)
            .filter(|cell| !is_blank(cell))
            .map(|cell| (cell, number(cell, column.comma).filter(|(_, own)| own.is_none()).map(|(v, _)| v)))
            .collect();
        let shallow = values.iter().all(|(_, v)| v.is_some_and(|v| (0.0..1.0).contains(&v)));
        let Some((first, _)) = values.iter().find(|(_, v)| v.is_some_and(|v| v > 0.0)).filter(|_| shallow) else { continue };
        taking.warn(format!(
            "the depths under \"{0}\" name no unit and are all below 1, as metres are: they were read as centimetres, \"{first}\" as \
             {first} cm; if they are metres, say so with --columns \"{0}=depth_m\" or head the column depth_m",
            column.title
        ));
    }
}

/// A table of finds of which no column is known as a date: without days there is nothing to tell of seasons and storms.
fn tell_dateless(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns) {
    let dated = columns.fields.iter().any(|f| f.is_about_time());
    let unknown = dialect.columns.iter().any(|c| c.meaning.is_none() && !c.title.is_empty() && !is_mark(&c.title));
    if dated || !matches!(taking.options.what.map_or_else(|| columns.guess().ok(), Some), Some(What::Finds)) {
        return;
    }
    let said = "no column is known as a date, so these finds have none";
    if unknown {
        taking.warn(format!("{said}; if one holds it, say so with --columns HEADING=date"));
    } else {
        taking.understand("dates", said);
    }
}

/// The clock of the times: as a heading names it, else the file's.
fn tell_clock(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns) {
    if !columns.fields.iter().any(|f| f.is_about_time()) {
        return;
    }
    let (clock, remembered) = taking.clock();
    let mut named = false;
    for column in &dialect.columns {
        match column.meaning.as_ref().and_then(|m| m.clock.as_ref()) {
            Some(ClockWord::Zone(_)) => {
                named = true;
                taking.understand("clock", format!("as the heading \"{}\" names it", column.title));
            }
            Some(ClockWord::Unknown(word)) => taking.warn(format!(
                "the heading \"{}\" names the clock {word}, a short name that stands for several; {clock} was taken, so say it if that \
                 is wrong, or write the offset, such as +01:00",
                column.title
            )),
            Some(ClockWord::Local) | None => {}
        }
    }
    if !named {
        let told = if remembered { ", as for the last file with these headings," } else { "" };
        taking.understand("times", format!("the clock of {clock}{told} unless an offset or Z is given"));
    }
}

/// The unit a heading that states none is read in.
fn usual_unit(field: Field, feet: bool) -> Option<&'static str> {
    match field {
        Field::Level if feet => Some("no unit stated, feet as asked"),
        Field::Depth | Field::CoilWidth => Some("no unit stated, centimetres assumed"),
        Field::Mass => Some("no unit stated, grams assumed"),
        Field::Size => Some("no unit stated, millimetres assumed"),
        Field::Level | Field::Sigma | Field::Hs | Field::Surge | Field::Coarsen => Some("no unit stated, metres assumed"),
        _ => None,
    }
}

/// The field in words: `TargetId` is `target id`.
fn field_words(field: Field) -> String {
    let mut words = String::new();
    for c in format!("{field:?}").chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
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
