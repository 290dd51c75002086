//! What stands above the headings of a text: a title, a name, a day, blank lines.

use csv::StringRecord;

use super::headings::{is_value, reads_like_data};
use crate::exchange::error::Fault;
use crate::exchange::tools::heading::{Meaning, meaning};
use crate::exchange::tools::value::is_blank;

/// What may part the cells of a text, the commonest first.
pub(super) const DELIMITERS: [u8; 4] = *b",;\t|";
/// So many lines with anything in them may stand above the headings, as above those of a sheet.
const UPPER: usize = 30;
/// Longest line that may be headings, bytes: more columns than any list of finds has.
const LONGEST: usize = 16 * 1024;

/// The lines above the headings.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Above {
    /// How many there are, blank ones and remarks among them.
    pub(super) lines: u64,
    /// How many of them hold anything, and the first of these.
    pub(super) filled: u64,
    pub(super) first: String,
}

impl Above {
    /// The text from the headings on.
    pub(super) fn headings_on<'t>(&self, text: &'t str) -> &'t str {
        let before = text.split_inclusive('\n').take(usize::try_from(self.lines).unwrap_or(0)).map(str::len).sum();
        text.get(before..).unwrap_or(text)
    }
}

/// Looks for headings below a first line in which none is known. A line with two of them, and no number, is headings.
///
/// # Errors
/// Where what stands above them reads like records, which would be lost.
pub(super) fn above(text: &str, stated: &[u8], given: &[(String, Option<Meaning>)]) -> Result<Above, Fault> {
    let delimiters = if stated.is_empty() { DELIMITERS.as_slice() } else { stated };
    let is_known = |cell: &str| given.iter().any(|(heading, _)| *heading == cell.to_lowercase()) || meaning(cell).is_some();
    let known = |line: &str, delimiter: u8| cells(line, delimiter).iter().filter(|cell| is_known(cell)).count();
    let lines = || text.split_inclusive('\n').enumerate();
    let most_known = |line: &str| delimiters.iter().map(|d| known(line, *d)).max().unwrap_or(0);
    // A remark says nothing that is read, but headings may stand in one.
    let filled = || lines().filter(|(_, l)| is_filled(l, delimiters) && !(l.starts_with('#') && most_known(l) == 0));
    if filled().next().is_none_or(|(_, line)| most_known(line) > 0) {
        return Ok(Above::default());
    }
    let heads = |line: &str| {
        let by = |d: &&u8| known(line, **d) >= 2 && !cells(line, **d).iter().any(|cell| is_value(cell));
        if line.len() > LONGEST { None } else { delimiters.iter().find(by).copied() }
    };
    let Some((at, delimiter, width)) = filled().skip(1).take(UPPER).find_map(|(at, line)| {
        let delimiter = heads(line)?;
        Some((at, delimiter, cells(line, delimiter).iter().filter(|cell| !is_blank(cell)).count()))
    }) else {
        return Ok(Above::default());
    };
    // A line end within a quoted heading parts no lines.
    let quotes: usize = lines().take(at).map(|(_, line)| line.matches('"').count()).sum();
    if !quotes.is_multiple_of(2) {
        return Ok(Above::default());
    }
    let is_record = |line: &str| {
        let row: StringRecord = cells(line, delimiter).into();
        let said = row.iter().filter(|cell| !is_blank(cell)).count();
        2 * said > width && reads_like_data(&row)
    };
    if let Some((n, line)) = filled().take_while(|(n, _)| *n < at).find(|(_, line)| is_record(line)) {
        return Err(Fault::Option(format!(
            "has its headings in line {}, and above them line {}, \"{}\", reads like a record, which would be lost; put the headings \
             first, or what stands above them into a file of its own",
            at + 1,
            n + 1,
            shown(line)
        )));
    }
    let over: Vec<&str> = filled().take_while(|(n, _)| *n < at).map(|(_, line)| line).collect();
    let first = over.first().map(|line| shown(line)).unwrap_or_default();
    Ok(Above { lines: at as u64, filled: over.len() as u64, first })
}

/// Whether a line says anything.
fn is_filled(line: &str, delimiters: &[u8]) -> bool {
    let is_delimiter = |c: char| u8::try_from(c).is_ok_and(|c| delimiters.contains(&c));
    line.contains(|c: char| !(c.is_whitespace() || c == '"' || is_delimiter(c)))
}

/// The cells of one line.
fn cells(line: &str, delimiter: u8) -> Vec<&str> {
    line.trim_end().split(char::from(delimiter)).map(|cell| cell.trim().trim_matches('"').trim()).collect()
}

fn shown(line: &str) -> String {
    line.trim().chars().take(80).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Result<(u64, u64), String> {
        above(text, &[], &[]).map(|a| (a.lines, a.filled)).map_err(|e| e.to_string())
    }

    #[test]
    fn headings_are_found_below_a_title() {
        assert_eq!(of("Finds 2026\n\nlon,lat,what\n-20,45,ring\n"), Ok((2, 1)));
        assert_eq!(of("Finds 2026;;\n;;\nby Ann;;\nlon;lat;what\n"), Ok((3, 2)));
        assert_eq!(of("Invented Bay, 2026\nlon,lat,what,date\n-20,45,ring,2026-05-01\n"), Ok((1, 1)));
        for plain in [
            "\"My\nnotes\",lat,lon\nx,45,-20\n",
            "# a remark\nlon,lat,what\n",
            "lon,lat,what\n-20,45,ring\n",
            "what,my own\nring,lat\n",
            "",
            "Dear diary,\nrain again.\n",
            "1,2,3\n4,5,6\n",
        ] {
            assert_eq!(of(plain), Ok((0, 0)), "{plain}");
        }
        let found = above("Finds\r\n\r\nlon,lat\r\n1,2\r\n", &[], &[]).unwrap();
        assert_eq!(found.headings_on("Finds\r\n\r\nlon,lat\r\n1,2\r\n"), "lon,lat\r\n1,2\r\n");
        assert_eq!(found.first, "Finds");
    }

    #[test]
    fn records_above_headings_are_not_passed_over() {
        let why = of("-20,45,ring\nlon,lat,what\n-20,45,key\n").unwrap_err();
        assert!(why.contains("line 2") && why.contains("line 1, \"-20,45,ring\", reads like a record"), "{why}");
    }
}
