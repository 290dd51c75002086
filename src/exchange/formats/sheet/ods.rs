//! The sheets of an OpenDocument workbook, from its `content.xml` (ODF 1.2 part 1, 9).
//!
//! `calamine` reads these too, but does not end on a text that is cut off and lays out every repeated cell and row without
//! a bound; here a repeated empty one costs nothing, and a repeated full one counts as what it is.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::cells::{Left, Sheet, duration, number};
use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::text::DEPTH;

/// Rows of a sheet there can be.
const MOST_ROWS: u32 = 1_048_576;
/// Columns of a sheet there can be.
const MOST_COLUMNS: u32 = 16_384;
/// Longest text of one cell that is kept, bytes.
const MOST_TEXT: usize = 32 * 1024;

pub(super) fn sheets(content: &[u8], progress: &Progress) -> Result<Vec<Sheet>, Stop> {
    let broken = |why: String| Fault::Option(format!("is a broken spreadsheet: {why}; save it again"));
    let mut xml = Reader::from_reader(content);
    xml.config_mut().expand_empty_elements = true;
    let mut reading = Reading::default();
    let mut events = 0_u32;
    loop {
        events = events.wrapping_add(1);
        if events.is_multiple_of(65_536) {
            progress.check().map_err(|_| Stop::Cancelled)?;
        }
        match xml.read_event().map_err(|e| broken(e.to_string()))? {
            Event::Start(e) => reading.start(&e)?,
            Event::End(_) => reading.end()?,
            Event::Text(t) => reading.text(&t.xml10_content()),
            Event::CData(t) => reading.text(&t.xml10_content()),
            Event::GeneralRef(e) => match (e.resolve_char_ref(), quick_xml::escape::resolve_predefined_entity(&e)) {
                (Ok(Some(c)), _) => reading.text(c.encode_utf8(&mut [0; 4])),
                (_, Some(known)) => reading.text(known),
                _ => {}
            },
            Event::Eof if reading.open.is_empty() => {
                for sheet in &mut reading.sheets {
                    sheet.fill_merged(&mut reading.left)?;
                }
                return Ok(reading.sheets);
            }
            Event::Eof => return Err(broken("its end is missing".to_owned()).into()),
            _ => {}
        }
    }
}

#[derive(Default)]
struct Reading {
    /// Local names of the open elements.
    open: Vec<String>,
    sheets: Vec<Sheet>,
    left: Left,
    /// How deep the table that is read stands; a table within a cell is passed over.
    table: Option<usize>,
    /// The number of the row that is read, from 1, and how often it stands there.
    row: u32,
    repeated_row: u32,
    /// Whether the row is not shown.
    hidden_row: bool,
    /// What stands in the row, by column.
    cells: Vec<(u32, String)>,
    column: u32,
    cell: Option<Cell>,
}

struct Cell {
    depth: usize,
    /// The value stated beside the text.
    value: Option<String>,
    error: bool,
    /// Whether it is reckoned by a formula.
    formula: bool,
    text: String,
    repeated: u32,
    /// Over how many rows it is merged.
    rows: u32,
    /// Depth of a remark, which is not part of the cell's text.
    remark: Option<usize>,
}

fn attribute(element: &BytesStart<'_>, name: &str) -> Option<String> {
    let found = element.attributes().flatten().find(|a| a.key.local_name().as_ref() == name)?;
    quick_xml::escape::unescape(&found.value).ok().map(std::borrow::Cow::into_owned)
}

fn repeats(element: &BytesStart<'_>, name: &str, most: u32) -> u32 {
    attribute(element, name).and_then(|n| n.trim().parse::<u64>().ok()).map_or(1, |n| n.clamp(1, u64::from(most)) as u32)
}

impl Reading {
    fn start(&mut self, element: &BytesStart<'_>) -> Result<(), Stop> {
        if self.open.len() >= DEPTH {
            return Err(Fault::TooLarge { what: format!("nests elements more than {DEPTH} deep") }.into());
        }
        let local = element.local_name();
        let depth = self.open.len();
        match (local.as_ref(), self.table) {
            ("table", None) => {
                self.sheets.push(Sheet::named(&attribute(element, "name").unwrap_or_default()));
                self.table = Some(depth);
                self.row = 1;
            }
            ("table-row", Some(_)) if self.cell.is_none() => {
                self.repeated_row = repeats(element, "number-rows-repeated", MOST_ROWS);
                self.hidden_row = attribute(element, "visibility").is_some_and(|v| matches!(v.as_str(), "collapse" | "filter"));
                self.column = 0;
                self.cells.clear();
            }
            ("table-cell" | "covered-table-cell", Some(_)) if self.cell.is_none() => {
                let value = value(element);
                let error = attribute(element, "value-type").is_some_and(|t| t == "error")
                    || attribute(element, "formula").is_some() && value.as_deref() == Some("");
                let repeated = repeats(element, "number-columns-repeated", MOST_COLUMNS);
                let rows = repeats(element, "number-rows-spanned", MOST_ROWS);
                let formula = attribute(element, "formula").is_some();
                self.cell = Some(Cell { depth, value, error, formula, text: String::new(), repeated, rows, remark: None });
            }
            (name, _) => {
                if let Some(cell) = &mut self.cell {
                    cell.inner(name, element, depth);
                }
            }
        }
        self.open.push(local.as_ref().to_owned());
        Ok(())
    }

    fn text(&mut self, text: &str) {
        if let Some(cell) = self.cell.as_mut().filter(|c| c.remark.is_none() && c.text.len() + text.len() <= MOST_TEXT) {
            cell.text.push_str(text);
        }
    }

    fn end(&mut self) -> Result<(), Stop> {
        let Some(name) = self.open.pop() else { return Ok(()) };
        let depth = self.open.len();
        if let Some(cell) = self.cell.as_mut()
            && cell.remark == Some(depth)
        {
            cell.remark = None;
        }
        if let Some(cell) = self.cell.take_if(|c| c.depth == depth) {
            self.end_cell(cell)?;
        } else if name == "table-row" && self.cell.is_none() {
            self.end_row()?;
        } else if self.table == Some(depth) {
            self.table = None;
        }
        Ok(())
    }

    fn end_cell(&mut self, cell: Cell) -> Result<(), Stop> {
        let repeated = cell.repeated.min(MOST_COLUMNS.saturating_sub(self.column));
        if cell.error {
            if let Some(sheet) = self.sheets.last_mut() {
                sheet.error(self.row);
            }
        } else {
            let text = cell.value.filter(|v| !v.is_empty()).unwrap_or(cell.text);
            if text.trim().is_empty() {
                if let Some(sheet) = self.sheets.last_mut().filter(|_| cell.formula) {
                    sheet.unreckoned(self.row);
                }
            } else {
                self.left.take(repeated as usize)?;
                if let Some(sheet) = self.sheets.last_mut() {
                    sheet.merge(self.row, self.row.saturating_add(cell.rows - 1), self.column);
                }
                self.cells.extend((0..repeated).map(|n| (self.column + n, text.clone())));
            }
        }
        self.column = self.column.saturating_add(repeated);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), Stop> {
        let repeated = self.repeated_row.min(MOST_ROWS.saturating_sub(self.row).saturating_add(1));
        let cells = std::mem::take(&mut self.cells);
        if let (Some(sheet), false) = (self.sheets.last_mut(), cells.is_empty()) {
            if self.hidden_row {
                sheet.hide(self.row, repeated);
            }
            for n in 0..repeated {
                for (column, text) in &cells {
                    sheet.put(self.row + n, *column, text.clone(), &mut self.left)?;
                }
            }
        }
        self.row = self.row.saturating_add(repeated);
        Ok(())
    }
}

impl Cell {
    fn inner(&mut self, name: &str, element: &BytesStart<'_>, depth: usize) {
        match name {
            "annotation" if self.remark.is_none() => self.remark = Some(depth),
            _ if self.remark.is_some() => {}
            "p" | "line-break" | "tab" if !self.text.is_empty() => self.text.push(' '),
            "s" => {
                let blanks = repeats(element, "c", 1000) as usize;
                if self.text.len() + blanks <= MOST_TEXT {
                    self.text.extend(std::iter::repeat_n(' ', blanks));
                }
            }
            _ => {}
        }
    }
}

/// The stored value of a cell, whatever its text shows; `None` where its text is its value.
fn value(element: &BytesStart<'_>) -> Option<String> {
    let stated = |name| attribute(element, name);
    match stated("value-type")?.as_str() {
        "float" | "currency" | "percentage" => stated("value")?.parse().ok().map(number),
        "date" => stated("date-value").map(|d| d.trim_end_matches("T00:00:00").to_owned()),
        "time" => stated("time-value").and_then(|t| duration(&t)),
        "boolean" => stated("boolean-value").map(|b| if b == "true" { "yes" } else { "no" }.to_owned()),
        _ => stated("string-value"),
    }
}
