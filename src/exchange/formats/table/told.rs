//! What is told of a table: how it is written, what its columns are, and what of it may be meant otherwise.

use std::sync::Arc;

use super::bench;
use super::column::{Column, Thousands};
use super::columns::{Columns, DateParts};
use super::dialect::{Dialect, Form};
use super::place::Places;
use super::write::is_mark;
use crate::exchange::take_in::ColumnRead;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::clock_word::ClockWord;
use crate::exchange::tools::heading::{Field, Meaning};
use crate::exchange::tools::value::{is_blank, number};
use crate::exchange::what::What;

/// What stands above the headings, and is no record.
pub(super) fn tell_above(taking: &mut Taking<'_>, dialect: &Dialect) {
    let above = &dialect.above;
    if above.filled > 0 {
        taking.warn(format!(
            "{} line(s) above the headings in line {} were passed over, the first \"{}\"",
            above.filled,
            dialect.lines_before() + 1,
            above.first
        ));
    }
}

/// How the table is written and what its columns are.
pub(super) fn tell(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns, parts: Option<DateParts>) {
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
    tell_merged(taking, dialect);
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
        tell_water(taking, dialect, columns, &unused);
        if !unused.is_empty() {
            taking.understand("columns not known", format!("{}; not taken", unused.join(", ")));
        }
    } else if !unused.is_empty() {
        taking.understand("columns not known", format!("{}; kept with each find under their headings", unused.join(", ")));
    }
}

/// What of the water a record of the sea tells beside its waves and is not taken: pressure, and heights that may be the surge
/// or the whole height of the water.
fn tell_water(taking: &mut Taking<'_>, dialect: &Dialect, columns: &Columns, unused: &[&str]) {
    let tells = |title: &str, words: &[&str]| words.iter().any(|word| title.to_lowercase().contains(word));
    let (pressure, height): (Vec<&str>, Vec<&str>) = dialect
        .columns
        .iter()
        .filter(|c| unused.contains(&&*c.title) || matches!(c.field(), Some(Field::Level | Field::HighLow | Field::Setup)))
        .map(|c| &*c.title)
        .filter(|t| tells(t, &["pressure", "mslp", "hpa"]) || tells(t, &HEIGHTS))
        .partition(|t| tells(t, &["pressure", "mslp", "hpa"]));
    if !pressure.is_empty() {
        taking.warn(format!(
            "of the sea only waves and surge are kept: {} was not taken, so nothing is added to the water for it; give air pressure to \
             the beach or the route (`--pressure`), or a surge under the heading surge_m",
            pressure.join(", ")
        ));
    }
    // Beside a surge that is named as such they are not missed.
    if let (Some(first), false) = (height.first(), columns.has(Field::Surge)) {
        taking.warn(format!(
            "{0} may be the surge or the whole height of the water and was not taken, so this record has no surge: if {first} is what \
             the water stands above the predicted tide, say so with --columns \"{first}=surge_m\"; if it is the whole height, give the surge \
             to the beach or the route (`--surge`)",
            height.join(", ")
        ));
    }
}

/// Words of headings under which a surge may stand, or a height of the water in which there is one.
const HEIGHTS: [&str; 9] = ["surge", "anomaly", "residual", "level", "change", "elevation", "tide", "setup", "ssh"];

/// How a column was read; `None` for one without a heading.
pub(super) fn column_read(column: &Column, given: &[(String, Option<Meaning>)]) -> Option<ColumnRead> {
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

/// Days that stand once for several rows, as merged cells of a spreadsheet come out of it: whose they are is not guessed.
fn tell_merged(taking: &mut Taking<'_>, dialect: &Dialect) {
    if dialect.columns.iter().any(|c| c.field() == Some(Field::Time)) {
        return;
    }
    for (n, column) in dialect.columns.iter().enumerate().filter(|(_, c)| c.field() == Some(Field::Date)) {
        let filled: Vec<bool> = dialect.cells(n).map(|cell| !is_blank(cell)).collect();
        let blank = filled.iter().filter(|filled| !**filled).count();
        let below = filled.windows(3).any(|rows| rows == [true, false, false]);
        if filled.first() == Some(&true) && below && 3 * blank >= filled.len() {
            taking.warn(format!(
                "{blank} row(s) have nothing under \"{}\" and stand below one that has, as cells that are merged in a spreadsheet come out \
                 of it; they are taken without a day: if it counts for them too, write it into each of them",
                column.title
            ));
        }
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
    if let Some(column) = dialect.columns.iter().find(|c| c.field() == Some(Field::TimeZone)) {
        let else_on = if named { String::new() } else { format!("; that of {clock} where it names none") };
        taking.understand("times", format!("the clock that each row names under \"{}\"{else_on}", column.title));
    } else if !named {
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
