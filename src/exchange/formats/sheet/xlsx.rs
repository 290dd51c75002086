//! The sheets of an Office Open XML workbook.

use std::io::{Read, Seek};

use calamine::{DataRef, ExcelDateTime, Reader, SheetType, SheetVisible, Xlsx};
use jiff::civil::Date;

use super::cells::{Left, Sheet, number, serial};
use crate::Progress;
use crate::exchange::error::{Fault, Stop};

/// Every sheet of cells, each cell as text.
///
/// Cells come one by one as they stand in the file, so that a lone cell in a far corner costs nothing.
pub(super) fn sheets(bytes: impl Read + Seek, progress: &Progress) -> Result<Vec<Sheet>, Stop> {
    let broken = |why: calamine::XlsxError| Fault::Option(format!("is a broken spreadsheet: {why}; save it again"));
    let mut workbook = Xlsx::new(bytes).map_err(broken)?;
    let named = workbook.sheets_metadata().iter().filter(|s| s.typ == SheetType::WorkSheet);
    let named = named.map(|s| (s.name.clone(), s.visible != SheetVisible::Visible));
    let mut left = Left::default();
    let mut sheets = Vec::new();
    for (name, hidden) in named.collect::<Vec<_>>() {
        progress.check().map_err(|_| Stop::Cancelled)?;
        let mut sheet = Sheet::named(&name);
        sheet.hidden = hidden;
        let mut cells = workbook.worksheet_cells_reader(&name).map_err(broken)?;
        while let Some(cell) = cells.next_cell_with_formula_metadata().map_err(broken)? {
            let (row, column) = cell.pos;
            let row = row.saturating_add(1);
            match &cell.value {
                DataRef::Error(_) => sheet.error(row),
                DataRef::Empty if cell.formula.is_some() => sheet.unreckoned(row),
                value => sheet.put(row, column, text(value), &mut left)?,
            }
        }
        drop(cells);
        match workbook.merge_cells_by_sheet_name(&name) {
            Ok(merged) => {
                for region in merged {
                    sheet.merge(region.start.0.saturating_add(1), region.end.0.saturating_add(1), region.start.1);
                }
            }
            Err(_) => sheet.merges_unread = true,
        }
        sheet.fill_merged(&mut left)?;
        sheets.push(sheet);
    }
    Ok(sheets)
}

fn text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(value) => value.to_string(),
        DataRef::Float(value) => number(*value),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DataRef::DateTime(time) => date(*time).unwrap_or_else(|| number(time.as_f64())),
        DataRef::DateTimeIso(text) => text.trim_end_matches("T00:00:00").to_owned(),
        DataRef::DurationIso(text) => super::cells::duration(text).unwrap_or_else(|| text.clone()),
        DataRef::Error(_) | DataRef::Empty => String::new(),
    }
}

fn date(time: ExcelDateTime) -> Option<String> {
    serial(time.as_f64(), || {
        let (year, month, day, ..) = time.to_ymd_hms_milli();
        Date::new(i16::try_from(year).ok()?, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    })
}
