//! XML from start to end without holding it, for the formats that are written in it.

use std::fmt::Write as _;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use quick_xml::Reader;
use quick_xml::errors::{Error as XmlError, IllFormedError, SyntaxError};
use quick_xml::events::{BytesStart, Event};

use super::text::{Line, Text};
use crate::exchange::error::{Fault, Stop};

/// What receives the parts of a document as they come.
pub(in crate::exchange) trait Parts {
    /// An element that begins, at a line.
    fn start(&mut self, element: &BytesStart<'_>, line: u64) -> Result<(), Stop>;
    /// The end of the innermost element.
    fn end(&mut self) -> Result<(), Stop>;
    /// A piece of text.
    fn text(&mut self, text: &str);
    /// An entity that the file would have to define itself; such are never expanded.
    fn unknown_entity(&mut self);
}

/// Hands a document to what receives it.
pub(in crate::exchange) fn read(text: Text<'_>, line: &Line, parts: &mut impl Parts) -> Result<(), Stop> {
    let mut xml = Reader::from_reader(text);
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        let at = line.get();
        match xml.read_event_into(&mut buffer) {
            Ok(Event::Start(e)) => parts.start(&e, at)?,
            Ok(Event::Empty(e)) => {
                parts.start(&e, at)?;
                parts.end()?;
            }
            Ok(Event::End(_)) => parts.end()?,
            Ok(Event::Text(e)) => parts.text(&e.xml10_content()),
            Ok(Event::CData(e)) => parts.text(&e.xml10_content()),
            Ok(Event::GeneralRef(e)) => match (e.resolve_char_ref(), quick_xml::escape::resolve_predefined_entity(&e)) {
                (Ok(Some(c)), _) => parts.text(c.encode_utf8(&mut [0; 4])),
                (_, Some(known)) => parts.text(known),
                _ => parts.unknown_entity(),
            },
            Ok(Event::Eof) => return Ok(()),
            Ok(Event::Decl(_) | Event::PI(_) | Event::Comment(_) | Event::DocType(_)) => {}
            Err(error) => return Err(fault(&error, at, line.get())),
        }
    }
}

/// Reads an XML error as what it means for the file.
fn fault(error: &XmlError, began: u64, now: u64) -> Stop {
    match error {
        XmlError::Io(error) => Stop::from_io(error, now),
        // Every syntax error of the parser is met at the end of the file inside some markup.
        XmlError::Syntax(SyntaxError::InvalidBangMarkup) => {
            Fault::Syntax { line: began, why: "\"<!\" begins nothing that XML knows".into() }.into()
        }
        XmlError::Syntax(_) | XmlError::IllFormed(IllFormedError::MissingEndTag(_)) => Fault::Truncated { line: now }.into(),
        other => Fault::Syntax { line: began, why: other.to_string() }.into(),
    }
}

/// An XML Schema dateTime, and whether it lacked a zone and was taken for UTC, as GPX and KML ask.
pub(in crate::exchange) fn read_time(text: &str) -> Option<(Timestamp, bool)> {
    if let Ok(time) = text.parse::<Timestamp>() {
        return Some((time, false));
    }
    let local = text.parse::<DateTime>().ok()?;
    Some((TimeZone::UTC.to_timestamp(local).ok()?, true))
}

/// Writes an element with a text, in the characters that XML 1.0 allows; nothing for an empty one.
pub(in crate::exchange) fn element(out: &mut String, tag: &str, text: &str) {
    let legal = |c: &char| matches!(c, '\t' | '\n' | '\r' | ' '..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..);
    let text: String = text.chars().filter(legal).collect();
    if !text.is_empty() {
        let _ = write!(out, "<{tag}>{}</{tag}>", quick_xml::escape::escape(text.as_str()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_with_zone_offset_or_neither() {
        let at = |text: &str| read_time(text).map(|(t, zoneless)| (t.to_string(), zoneless));
        assert_eq!(at("2024-05-01T10:00:00Z"), Some(("2024-05-01T10:00:00Z".into(), false)));
        assert_eq!(at("2024-05-01T10:00:00.25+02:00"), Some(("2024-05-01T08:00:00.25Z".into(), false)));
        assert_eq!(at("2024-05-01T10:00:00"), Some(("2024-05-01T10:00:00Z".into(), true)));
        assert_eq!(at("yesterday"), None);
    }
}
