//! Whether the quotes of a table are closed where their cells end. A quote that is not swallows the rows behind it, up to the
//! next quote or the end of the file; a cell may hold line breaks of its own, so only what such a cell holds, or what
//! follows it, tells the one from the other.

use std::io::{self, Read};

use crate::exchange::error::TextFault;
use crate::exchange::tools::text::Text;

/// The text of a table on its way to the reader of its rows, which ends with an error at a quote that is not closed.
pub(super) struct Quoted<'a> {
    text: Text<'a>,
    watch: Option<Watch>,
}

impl<'a> Quoted<'a> {
    /// Without a watch nothing is looked for.
    pub(super) fn new(text: Text<'a>, watch: Option<Watch>) -> Self {
        Self { text, watch }
    }
}

impl Read for Quoted<'_> {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        let n = self.text.read(buf)?;
        let Some(watch) = &mut self.watch else { return Ok(n) };
        let open = if n == 0 { watch.end() } else { buf.iter().take(n).find_map(|b| watch.see(*b)) };
        open.map_or(Ok(n), |line| Err(io::Error::other(TextFault::Quote(line))))
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Where {
    /// Before a row.
    Row,
    /// In a line that is a remark.
    Remark,
    /// Before a cell.
    Cell,
    /// In a cell without quotes.
    Plain,
    /// In a quoted cell.
    Quoted,
    /// Behind a quote in a quoted cell: its end, or the first of two.
    Quote,
    /// In the blanks behind its end.
    Blank,
}

/// Follows the quotes as the reader of rows does, byte by byte.
pub(super) struct Watch {
    delimiter: u8,
    remarks: bool,
    at: Where,
    line: u64,
    /// How many cells the headings have, once they are read.
    columns: Option<usize>,
    /// How many the row has so far.
    cells: usize,
    /// The line on which the quote opened.
    opened: u64,
    /// Whether the quoted cell holds a line break.
    breaks: bool,
    /// What it holds since the last one.
    inner: Vec<u8>,
}

/// No row is longer, bytes; of a longer line the start is looked at.
const LONGEST: usize = 8192;

impl Watch {
    /// `line` is that of the first byte.
    pub(super) fn new(delimiter: u8, remarks: bool, line: u64) -> Self {
        Self { delimiter, remarks, at: Where::Row, line, columns: None, cells: 0, opened: 0, breaks: false, inner: Vec::new() }
    }

    /// The line of a quote that this byte shows not to be closed.
    fn see(&mut self, byte: u8) -> Option<u64> {
        let open = match self.at {
            Where::Row => self.before_row(byte),
            Where::Remark => self.plain(byte, Where::Remark),
            Where::Cell => self.before_cell(byte),
            Where::Plain => self.plain(byte, Where::Plain),
            Where::Quoted => self.quoted(byte),
            Where::Quote | Where::Blank => self.behind(byte),
        };
        self.line += u64::from(byte == b'\n');
        open
    }

    /// The same at the end of the text.
    fn end(&mut self) -> Option<u64> {
        match self.at {
            Where::Quoted => Some(self.opened),
            Where::Quote | Where::Blank if self.holds_a_row(false) => Some(self.opened),
            _ => None,
        }
    }

    fn before_row(&mut self, byte: u8) -> Option<u64> {
        match byte {
            b'\n' | b'\r' => None,
            b'#' if self.remarks => {
                self.at = Where::Remark;
                None
            }
            _ => {
                self.cells = 1;
                self.before_cell(byte)
            }
        }
    }

    fn before_cell(&mut self, byte: u8) -> Option<u64> {
        if byte == b'"' {
            (self.at, self.opened, self.breaks) = (Where::Quoted, self.line, false);
            self.inner.clear();
            return None;
        }
        self.plain(byte, Where::Plain)
    }

    fn plain(&mut self, byte: u8, otherwise: Where) -> Option<u64> {
        self.at = match byte {
            b'\n' | b'\r' if otherwise == Where::Remark => Where::Row,
            b'\n' | b'\r' => {
                self.columns = self.columns.or(Some(self.cells));
                Where::Row
            }
            b if b == self.delimiter && otherwise == Where::Plain => {
                self.cells += 1;
                Where::Cell
            }
            _ => otherwise,
        };
        None
    }

    fn quoted(&mut self, byte: u8) -> Option<u64> {
        match byte {
            b'"' => self.at = Where::Quote,
            b'\n' | b'\r' => {
                if self.holds_a_row(true) {
                    return Some(self.opened);
                }
                self.breaks = true;
                self.inner.clear();
            }
            _ if self.breaks && self.inner.len() < LONGEST => self.inner.push(byte),
            _ => {}
        }
        None
    }

    fn behind(&mut self, byte: u8) -> Option<u64> {
        match byte {
            b'"' if self.at == Where::Quote => {
                self.at = Where::Quoted;
                None
            }
            b' ' if self.delimiter != b' ' => {
                self.at = Where::Blank;
                None
            }
            b if b == self.delimiter || matches!(b, b'\n' | b'\r') => {
                if self.holds_a_row(false) {
                    return Some(self.opened);
                }
                self.plain(b, Where::Plain)
            }
            // Words behind the end of a cell of several lines: that quote was one of another cell.
            _ if self.breaks => Some(self.opened),
            _ => {
                self.at = Where::Plain;
                None
            }
        }
    }

    /// Whether the line of a quoted cell that was just read looks like a row of this table: as many cells as headings,
    /// some of them numbers, or, where its end is not known, with numbers as exact as a position.
    fn holds_a_row(&self, whole: bool) -> bool {
        if !self.breaks {
            return false;
        }
        let text = String::from_utf8_lossy(&self.inner);
        let cells: Vec<&str> = text.split(char::from(self.delimiter)).map(str::trim).collect();
        let number = |cell: &&&str| cell.replace(',', ".").parse::<f64>().is_ok();
        let exact = |cell: &&&str| {
            let decimals = cell.rsplit(['.', ',']).next().map_or(0, str::len);
            number(cell) && cell.contains(['.', ',']) && decimals >= 3
        };
        let as_headings = self.columns == Some(cells.len());
        cells.len() >= 3
            && ((whole && as_headings && cells.iter().filter(number).count() >= 2)
                || (!whole && cells.iter().filter(exact).count() >= 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(text: &str) -> Option<u64> {
        let mut watch = Watch::new(b',', true, 1);
        text.bytes().find_map(|b| watch.see(b)).or_else(|| watch.end())
    }

    #[test]
    fn quotes_that_are_closed_may_hold_anything() {
        for text in [
            "a,b,c\n1,2,\"x\"\n",
            "a,b,c\n1,2,\"two\nlines, and a third\none\"\n3,4,5\n",
            "a,b,c\r\n1,2,\"two\r\nlines\" \r\n",
            "a,b,c\n1,2,\"says \"\"so\"\",\nor not\"\n",
            "a,b,c\n1,2,\"Queen\" penny\n3,4,5\n",
            "a,b,c\n1,2,5\" nail\n3,4,6\" nail\n",
            "# a remark with a \" in it\na,b,c\n1,2,3\n",
            "a,\"b\nb\",c\n1,2,\"x\"",
        ] {
            assert_eq!(open(text), None, "{text}");
        }
    }

    #[test]
    fn a_quote_that_is_not_closed_is_told_by_its_line() {
        let rows = "51.6712,-4.7012,key\n51.6713,-4.7013,ring\n";
        // To the end of the file, to a quote within another cell, and to one that seems to close it.
        assert_eq!(open(&format!("a,b,c\n1,2,x\n1,2,\"Queen penny\n{rows}")), Some(3));
        assert_eq!(open("a,b,c\n1,2,\"Queen penny\n1,2,a 6\" nail\n3,4,x\n"), Some(2));
        assert_eq!(open(&format!("a,b,c\n1,2,\"Queen penny\n{rows}1,2,\"x\"\n")), Some(2));
        assert_eq!(open(&format!("a,b,c\n1,2,\"Queen penny\n{rows}1,2,6\",\n")), Some(2));
        assert_eq!(open("a,b,c\n1,2,\"Queen penny\n51.6712,-4.7012,6\"\n"), Some(2));
    }
}
