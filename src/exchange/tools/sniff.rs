//! Which format a file is in, told from its first bytes.

use encoding_rs::{UTF_8, WINDOWS_1252};

use super::text::{marked_encoding, xml_encoding};
use crate::exchange::error::Fault;

/// What the first bytes look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Sniffed {
    Gpx,
    Kml,
    Json,
    Table,
    Nmea,
    /// What a watch kept, as XML.
    Tcx,
    /// The same in its binary form.
    Fit,
    /// An SQLite database: a GeoPackage, perhaps a book.
    Database,
    /// A picture that may hold Exif.
    Photograph,
    /// A zip archive: KMZ or a spreadsheet.
    Packed,
}

/// First bytes of what people drop by mistake, with what to do instead.
const MAGIC: &[(&[u8], &str, &str)] = &[
    (b"\xD0\xCF\x11\xE0", "an old or a locked spreadsheet", "save it as XLSX, ODS or CSV, without a password"),
    (b"%PDF", "a PDF document", "export its data as CSV"),
    (b"\x1F\x8B", "a gzip archive", "unpack it first"),
];

/// The format of a file that begins with `head`.
pub(in crate::exchange) fn sniff(head: &[u8]) -> Result<Sniffed, Fault> {
    if head.is_empty() {
        return Err(Fault::Empty);
    }
    if head.starts_with(b"PK\x03\x04") {
        return Ok(Sniffed::Packed);
    }
    if head.starts_with(b"SQLite format 3\0") {
        return Ok(Sniffed::Database);
    }
    if head.get(8..12) == Some(b".FIT") {
        return Ok(Sniffed::Fit);
    }
    if is_photograph(head) {
        return Ok(Sniffed::Photograph);
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
        Some(_) if is_log(text) => Ok(Sniffed::Nmea),
        Some(_) => Ok(Sniffed::Table),
    }
}

/// JPEG, PNG, TIFF, WebP and HEIF by their first bytes.
fn is_photograph(head: &[u8]) -> bool {
    const STARTS: [&[u8]; 4] = [b"\xFF\xD8\xFF", b"\x89PNG\r\n\x1A\n", b"II*\0", b"MM\0*"];
    const BRANDS: [&[u8]; 8] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1", b"avif"];
    let at = |from: usize, wanted: &[u8]| head.get(from..from + wanted.len()) == Some(wanted);
    STARTS.iter().any(|s| head.starts_with(s))
        || (at(0, b"RIFF") && at(8, b"WEBP"))
        || (at(4, b"ftyp") && BRANDS.iter().any(|b| at(8, b)))
}

/// Whether the first lines hold sentences of NMEA 0183: a sign, two letters that say who talks, three that say of what.
fn is_log(text: &str) -> bool {
    let sentence = |line: &str| {
        let address = line.split_once('$').and_then(|(_, rest)| rest.split_once(',')).map_or("", |(address, _)| address);
        address.len() == 5 && address.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
    };
    text.lines().filter(|l| !l.trim().is_empty()).take(20).filter(|l| sentence(l)).count() >= 1
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
            return match local.to_ascii_lowercase().as_str() {
                "gpx" => Ok(Sniffed::Gpx),
                "kml" => Ok(Sniffed::Kml),
                "trainingcenterdatabase" => Ok(Sniffed::Tcx),
                _ => Err(Fault::OtherXml { root: name }),
            };
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
        assert_eq!(sniff(b"<kml xmlns='http://www.opengis.net/kml/2.2'>"), Ok(Sniffed::Kml));
        assert_eq!(sniff(b"<?xml version='1.0'?><TrainingCenterDatabase xmlns='x'>"), Ok(Sniffed::Tcx));
        assert_eq!(sniff(b"\x0E\x10\0\0\0\0\0\0.FIT\0\0"), Ok(Sniffed::Fit));
        assert_eq!(sniff(b"  {\"type\""), Ok(Sniffed::Json));
        assert_eq!(sniff(b"lon;lat\n"), Ok(Sniffed::Table));
        assert_eq!(sniff(b"PK\x03\x04...."), Ok(Sniffed::Packed));
        assert_eq!(sniff(b"\r\n$GPGGA,100000,,,,,0,00,,,M,,M,,*66\r\n"), Ok(Sniffed::Nmea));
        assert_eq!(sniff(b"what,price\nring,$5000,ABCDE\n"), Ok(Sniffed::Table));
        for photograph in
            [&b"\xFF\xD8\xFF\xE0"[..], b"\x89PNG\r\n\x1A\n", b"II*\0", b"RIFF\x01\x02\x03\x04WEBP", b"\0\0\0\x18ftypheic"]
        {
            assert_eq!(sniff(photograph), Ok(Sniffed::Photograph));
        }
        assert_eq!(sniff(b"\xFF\xFEl\0o\0n\0"), Ok(Sniffed::Table));
    }

    #[test]
    fn says_what_a_file_is_that_it_cannot_read() {
        assert_eq!(sniff(b""), Err(Fault::Empty));
        assert_eq!(sniff(b" \n "), Err(Fault::Empty));
        assert!(sniff(b"\xD0\xCF\x11\xE0....").unwrap_err().to_string().contains("save it as XLSX, ODS or CSV"));
        assert!(sniff(b"<html><body>").unwrap_err().to_string().contains("<html>"));
        assert!(matches!(sniff(b"ab\0cd"), Err(Fault::Binary { .. })));
    }
}
