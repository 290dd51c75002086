//! XML from start to end without holding it, for the formats that are written in it.

use std::fmt::Write as _;

use encoding_rs::Encoding;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use quick_xml::Reader;
use quick_xml::errors::{Error as XmlError, IllFormedError, SyntaxError};
use quick_xml::events::{BytesStart, Event};

use super::beside::{Give, PORTION, beside};
use super::source::Source;
use super::text::{Line, Text};
use crate::Progress;
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

/// Hands a document to what receives it; gives the line of its end.
pub(in crate::exchange) fn read(
    source: &Source,
    encoding: &'static Encoding,
    progress: &Progress,
    parts: &mut impl Parts,
) -> Result<u64, Stop> {
    let bring = |give: Give<'_, Events>| {
        let text = Text::new(source.open(progress)?, encoding);
        let line = text.line();
        take_apart(text, &line, give)
    };
    beside(source, bring, |events| events.hand_to(parts))
}

/// Reads a text from start to end and gives what it consists of.
fn take_apart(text: Text<'_>, line: &Line, give: Give<'_, Events>) -> Result<u64, Stop> {
    let mut xml = Reader::from_reader(text);
    let mut buffer = Vec::new();
    let mut events = Events::default();
    loop {
        if events.text.len() as u64 >= PORTION && !give(std::mem::take(&mut events)) {
            return Ok(line.get());
        }
        buffer.clear();
        let at = line.get();
        match xml.read_event_into(&mut buffer) {
            Ok(Event::Start(e)) => events.start(&e, at),
            Ok(Event::Empty(e)) => {
                events.start(&e, at);
                events.add(Sort::End, "");
            }
            Ok(Event::End(_)) => events.add(Sort::End, ""),
            Ok(Event::Text(e)) => events.add(Sort::Text, &e.xml10_content()),
            Ok(Event::CData(e)) => events.add(Sort::Text, &e.xml10_content()),
            Ok(Event::GeneralRef(e)) => match (e.resolve_char_ref(), quick_xml::escape::resolve_predefined_entity(&e)) {
                (Ok(Some(c)), _) => events.add(Sort::Text, c.encode_utf8(&mut [0; 4])),
                (_, Some(known)) => events.add(Sort::Text, known),
                _ => events.add(Sort::UnknownEntity, ""),
            },
            Ok(Event::Eof) => {
                give(events);
                return Ok(line.get());
            }
            Ok(Event::Decl(_) | Event::PI(_) | Event::Comment(_) | Event::DocType(_)) => {}
            Err(error) => {
                give(events);
                return Err(fault(&error, at, line.get()));
            }
        }
    }
}

/// Parts of a document in their order, to be handed on together.
#[derive(Default)]
struct Events {
    /// The texts of all of them.
    text: String,
    events: Vec<(Sort, usize)>,
}

/// What a part is; its text ends where the number beside it says.
#[derive(Clone, Copy)]
enum Sort {
    /// An element that begins at a line, with the length of its name.
    Start {
        line: u64,
        name: usize,
    },
    End,
    Text,
    UnknownEntity,
}

impl Events {
    fn add(&mut self, sort: Sort, text: &str) {
        self.text.push_str(text);
        self.events.push((sort, self.text.len()));
    }

    fn start(&mut self, element: &BytesStart<'_>, line: u64) {
        self.add(Sort::Start { line, name: element.name().as_ref().len() }, element);
    }

    fn hand_to(&self, parts: &mut impl Parts) -> Result<(), Stop> {
        let mut from = 0;
        for (sort, to) in &self.events {
            let text = self.text.get(from..*to).unwrap_or_default();
            from = *to;
            match *sort {
                Sort::Start { line, name } => parts.start(&BytesStart::from_content(text, name), line)?,
                Sort::End => parts.end()?,
                Sort::Text => parts.text(text),
                Sort::UnknownEntity => parts.unknown_entity(),
            }
        }
        Ok(())
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
