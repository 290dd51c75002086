//! Which format a file is in, told from its first bytes.

use encoding_rs::{UTF_8, WINDOWS_1252};

use super::text::{marked_encoding, xml_encoding};
use crate::exchange::error::Fault;

/// What the first bytes look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Sniffed {
    Gpx,
    Json,
    Table,
}

/// First bytes of what people drop by mistake, with what to do instead.
const MAGIC: &[(&[u8], &str, &str)] = &[
    (b"PK\x03\x04", "a zip archive or a spreadsheet", "unpack it, or save the sheet as CSV"),
    (b"SQLite format 3\0", "an SQLite database", "open it as a book instead of importing it"),
    (b"%PDF", "a PDF document", "export its data as CSV"),
    (b"\xFF\xD8\xFF", "a JPEG picture", "give the positions as GPX, GeoJSON or CSV"),
    (b"\x89PNG", "a PNG picture", "give the positions as GPX, GeoJSON or CSV"),
    (b"\x1F\x8B", "a gzip archive", "unpack it first"),
];

/// The format of a file that begins with `head`.
pub(in crate::exchange) fn sniff(head: &[u8]) -> Result<Sniffed, Fault> {
    if head.is_empty() {
        return Err(Fault::Empty);
    }
    for (magic, what, todo) in MAGIC {
        if head.starts_with(magic) {
            return Err(Fault::Binary { what, todo });
        }
    }
    let marked = marked_encoding(head);
    if marked.is_none() && head.contains(&0) {
        return Err(Fault::Binary { what: "no text", todo: "give GPX, GeoJSON or CSV" });
    }
    let encoding = marked.unwrap_or(if std::str::from_utf8(head).is_ok() { UTF_8 } else { WINDOWS_1252 });
    let (text, _) = encoding.decode_with_bom_removal(head);
    let text = text.trim_start();
    match text.chars().next() {
        None => Err(Fault::Empty),
        Some('<') => {
            xml_encoding(head)?;
            first_element(text)
        }
        Some('{' | '[') => Ok(Sniffed::Json),
        Some(_) => Ok(Sniffed::Table),
    }
}

fn first_element(text: &str) -> Result<Sniffed, Fault> {
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if let Some(after) = rest.strip_prefix("!--") {
            rest = after.split_once("-->").map_or("", |(_, r)| r);
        } else if let Some(after) = rest.strip_prefix('?') {
            rest = after.split_once("?>").map_or("", |(_, r)| r);
        } else if rest.starts_with('!') {
            rest = after_doctype(rest);
        } else {
            let name: String = rest.chars().take_while(|c| !c.is_whitespace() && !matches!(c, '>' | '/')).take(60).collect();
            let local = name.rsplit(':').next().unwrap_or_default();
            return if local.eq_ignore_ascii_case("gpx") { Ok(Sniffed::Gpx) } else { Err(Fault::OtherXml { root: name }) };
        }
    }
    // A prologue longer than what is looked at, or no element at all: the reader will tell.
    Ok(Sniffed::Gpx)
}

/// What follows a document type declaration, whose internal subset holds elements of its own.
fn after_doctype(text: &str) -> &str {
    let end = match (text.find('['), text.find('>')) {
        (Some(subset), Some(end)) if subset < end => text[subset..].find("]").map(|n| subset + n),
        (_, end) => end,
    };
    end.map_or("", |n| &text[n..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tells_formats_by_content() {
        assert_eq!(sniff(b"\xEF\xBB\xBF<?xml version='1.0'?><!-- <kml> --><g:gpx>"), Ok(Sniffed::Gpx));
        assert_eq!(sniff(b"<!DOCTYPE x [<!ENTITY a \"b\"><!ELEMENT y ANY>]><gpx>"), Ok(Sniffed::Gpx));
        assert_eq!(sniff(b"  {\"type\""), Ok(Sniffed::Json));
        assert_eq!(sniff(b"lon;lat\n"), Ok(Sniffed::Table));
        assert_eq!(sniff(b"\xFF\xFEl\0o\0n\0"), Ok(Sniffed::Table));
    }

    #[test]
    fn says_what_a_file_is_that_it_cannot_read() {
        assert_eq!(sniff(b""), Err(Fault::Empty));
        assert_eq!(sniff(b" \n "), Err(Fault::Empty));
        assert!(sniff(b"PK\x03\x04....").unwrap_err().to_string().contains("save the sheet as CSV"));
        assert!(sniff(b"<html><body>").unwrap_err().to_string().contains("<html>"));
        assert!(matches!(sniff(b"ab\0cd"), Err(Fault::Binary { .. })));
    }
}
