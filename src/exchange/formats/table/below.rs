//! Tables that stand below one another in one file: a row that is headings again begins another, or repeats the ones above.

use csv::StringRecord;

use super::dialect::Dialect;
use super::rows;
use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::beside::beside;
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::quoted;

/// Most tables of one file, and most text of a file with several, bytes.
const MOST: usize = 200;
const MOST_BYTES: usize = 64 << 20;

/// The tables of a file, each with the line of its headings and, on the lines they have in the file, its rows.
pub(super) fn parts(source: &Source, dialect: &Dialect, progress: &Progress) -> Result<Vec<(u64, Source)>, Stop> {
    if dialect.below.len() >= MOST {
        return Err(Fault::TooLarge { what: format!("holds more than {MOST} tables, one below the other") }.into());
    }
    let (mut texts, mut size): (Vec<(u64, String)>, usize) = (Vec::new(), 0);
    let (mut reader, line) = dialect.reader(source, progress)?;
    let headings = reader.headers().map_err(|e| rows::fault(&e, line.get()))?.clone();
    let at = rows::line_of(&headings, reader.position()) + dialect.lines_before();
    drop(reader);
    texts.push((at, on_its_line(&headings, at.saturating_sub(1))));
    let mut last = at;
    let mut see = |at: u64, row: &StringRecord| {
        let begins = dialect.below.contains(&at);
        // An old kind of line end is not counted; a row begins anew all the same.
        let text = on_its_line(row, if begins { at.saturating_sub(1) } else { at.saturating_sub(last).max(1) });
        last = at;
        size += text.len();
        if size > MOST_BYTES {
            let what = format!("holds tables below one another, and more than {} MB of them", MOST_BYTES >> 20);
            return Err(Fault::TooLarge { what }.into());
        }
        match texts.last_mut().filter(|_| !begins) {
            Some((_, there)) => there.push_str(&text),
            None => texts.push((at, text)),
        }
        Ok(())
    };
    beside(
        source,
        |give| rows::read(dialect.reader(source, progress), dialect.lines_before(), give),
        |portion| portion.each(&mut see),
    )?;
    let name = source.name();
    Ok(texts.into_iter().map(|(at, text)| (at, Source::bytes(name.clone(), (text + "\n").into_bytes()))).collect())
}

/// A row with commas, after so many ends of lines.
fn on_its_line(row: &StringRecord, ends: u64) -> String {
    let mut out = "\n".repeat(usize::try_from(ends).unwrap_or(0));
    for (n, cell) in row.iter().enumerate() {
        if n > 0 {
            out.push(',');
        }
        quoted(&mut out, cell);
    }
    out
}
