use std::panic::{AssertUnwindSafe, catch_unwind};

use super::cells::Sheet;
use super::{ods, xlsx};
use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::formats::table;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::packed::{Packed, Sort};
use crate::exchange::tools::source::Source;
use crate::exchange::what::What;

fn sheets(mut packed: Packed, sort: Sort, progress: &Progress) -> Result<Vec<Sheet>, Stop> {
    match sort {
        Sort::Ods => ods::sheets(&packed.read("content.xml")?, progress),
        _ => {
            let packed = packed.bounded()?;
            // The library that reads workbooks multiplies out a cell's address unchecked: of a spoiled file that is a mistake
            // of the file's, and no reason to die of it.
            let read = catch_unwind(AssertUnwindSafe(|| xlsx::sheets(packed, progress)));
            read.unwrap_or_else(|_| Err(Fault::Io("its cells do not stand at places of a sheet; save it anew".to_owned()).into()))
        }
    }
}

/// A sheet with headings as a table: its text, and the row of the headings.
fn table_of(sheet: &Sheet) -> Option<(Source, u32)> {
    let headings = sheet.headings()?;
    Some((Source::bytes(sheet.name.clone(), sheet.delimited(headings)), headings))
}

fn turn_of(table: &Source) -> u8 {
    table::guess(table, table::Form::Sheet).map_or(What::LAST, What::turn)
}

/// When an archive has its turn among files that build on each other: a workbook as the first of its sheets, a KMZ as tracks.
pub(in crate::exchange) fn turn(source: &Source) -> Option<u8> {
    let progress = Progress::new();
    let packed = Packed::open(source, &progress).ok()?;
    let sort = packed.sort().ok()?;
    if sort == Sort::Kmz {
        return Some(What::Tracks.turn());
    }
    let sheets = sheets(packed, sort, &progress).ok()?;
    sheets.iter().filter_map(|s| Some(turn_of(&table_of(s)?.0))).min()
}

/// Reads every sheet of a workbook that has headings, in the order in which they build on each other.
pub(in crate::exchange) fn read(
    source: &Source,
    mut packed: Packed,
    sort: Sort,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<String, Stop> {
    let hidden = if sort == Sort::Xlsx { hidden_rows(&mut packed) } else { 0 };
    let sheets: Vec<Sheet> = sheets(packed, sort, progress)?.into_iter().filter(|s| !s.is_empty()).collect();
    if sheets.is_empty() {
        return Err(Fault::Option("is a spreadsheet without anything in it".to_owned()).into());
    }
    let mut tables: Vec<(&Sheet, Source, u32)> =
        sheets.iter().filter_map(|s| table_of(s).map(|(table, headings)| (s, table, headings))).collect();
    if tables.is_empty() {
        let names: Vec<&str> = sheets.iter().map(|s| s.name.as_str()).collect();
        let why =
            format!("no sheet ({}) has a row of headings that are known; name them, such as lon, lat, what", names.join(", "));
        return Err(Fault::Unknown { why }.into());
    }
    tables.sort_by_key(|(_, table, _)| turn_of(table));
    for sheet in sheets.iter().filter(|s| s.headings().is_none()) {
        taking.warn(format!("the sheet \"{}\" has no headings that are known and was passed over", sheet.name));
    }
    if hidden > 0 {
        taking.warn(format!(
            "{hidden} row(s) of the workbook are hidden, as by a filter, and were read all the same; take them out if they are not to count"
        ));
    }
    let stem = source.stem();
    let mut said = Vec::new();
    let mut fault = None;
    for (sheet, table, headings) in &tables {
        if sheets.len() > 1 {
            taking.in_part(&format!("sheet \"{}\"", sheet.name));
        }
        if tables.len() > 1 {
            taking.stem = format!("{stem}, {}", sheet.name);
        }
        tell(taking, sheet, *headings);
        match table::read(table, table::Form::Sheet, taking, progress) {
            Ok(guess) => said.push(format!("\"{}\": {guess}", sheet.name)),
            // A sheet of something else beside good ones, such as a list of names, harms nothing.
            Err(Stop::Fault(why @ Fault::Unknown { .. })) if tables.len() > 1 => {
                taking.warn(format!("the sheet \"{}\" was passed over: {why}", sheet.name));
                fault = Some(why);
            }
            Err(Stop::Fault(Fault::Option(why))) if sheets.len() > 1 => {
                return Err(Fault::Option(format!("holds a sheet \"{}\" that {why}", sheet.name)).into());
            }
            Err(other) => return Err(other),
        }
    }
    taking.in_part("");
    match (said.is_empty(), fault) {
        (true, Some(fault)) => Err(fault.into()),
        _ => Ok(format!("a spreadsheet, sheet {}", said.join("; sheet "))),
    }
}

/// How many rows with cells the sheets of a workbook of Office Open XML do not show (ECMA-376 part 1, 18.3.1.73), which the
/// library that reads them does not say.
fn hidden_rows(packed: &mut Packed) -> usize {
    let names: Vec<String> =
        packed.names().into_iter().filter(|n| n.starts_with("xl/worksheets/") && n.ends_with(".xml")).collect();
    let hidden = |tag: &str| !tag.ends_with('/') && (tag.contains("hidden=\"1\"") || tag.contains("hidden=\"true\""));
    let count = |xml: Vec<u8>| {
        let text = String::from_utf8_lossy(&xml);
        text.split("<row ").skip(1).filter(|rest| rest.split('>').next().is_some_and(hidden)).count()
    };
    names.iter().filter_map(|name| packed.read(name).ok()).map(count).sum()
}

fn tell(taking: &mut Taking<'_>, sheet: &Sheet, headings: u32) {
    taking.understand(
        format!("sheet \"{}\"", sheet.name),
        format!("a table, its headings in row {headings}, down to row {}; lines named below are its rows", sheet.last()),
    );
    let above = sheet.above(headings);
    if above > 0 {
        taking.warn(format!("{above} row(s) of the sheet \"{}\" stand above its headings and were passed over", sheet.name));
    }
    if sheet.filled > 0 {
        taking.warn(format!(
            "{} cell(s) of the sheet \"{}\" are merged into one above them; its value counts for each of their rows",
            sheet.filled, sheet.name
        ));
    }
    if sheet.merges_unread {
        taking.warn(format!(
            "which cells of the sheet \"{}\" are merged could not be read; what stands in such a cell counts for its first row alone",
            sheet.name
        ));
    }
    if sheet.hidden {
        taking.warn(format!(
            "the sheet \"{}\" is hidden in the workbook and was read all the same; take it out of the workbook if it is not to count",
            sheet.name
        ));
    }
    if sheet.hidden_rows.0 > 0 {
        let (count, row) = sheet.hidden_rows;
        taking.warn(format!(
            "{count} row(s) of the sheet \"{}\" are hidden, first row {row}, and were read all the same; take them out if they are not to \
             count",
            sheet.name
        ));
    }
    if sheet.unreckoned.0 > 0 {
        let (count, row) = sheet.unreckoned;
        taking.warn(format!(
            "{count} cell(s) of the sheet \"{}\" hold a formula and no value, first in row {row}; they were taken as empty: open the workbook \
             in a spreadsheet program and save it, so that it holds what they come to",
            sheet.name
        ));
    }
    if sheet.errors.0 > 0 {
        let (count, row) = sheet.errors;
        taking.warn(format!(
            "{count} cell(s) of the sheet \"{}\" hold an error such as #N/A in place of a value, first in row {row}; they were taken as empty",
            sheet.name
        ));
    }
    if sheet.too_far_right > 0 {
        taking.warn(format!(
            "{} cell(s) of the sheet \"{}\" stand too far right and were left out",
            sheet.too_far_right, sheet.name
        ));
    }
}
