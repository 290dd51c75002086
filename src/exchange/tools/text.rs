use std::cell::Cell;
use std::io::{self, BufRead, Read};
use std::rc::Rc;

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE};

use crate::exchange::error::{Fault, TextFault};

const CHUNK: usize = 64 * 1024;
/// How deep elements or values of a text may nest.
pub(in crate::exchange) const DEPTH: usize = 128;

/// A file as UTF-8 text with its line numbers, decoded as it is read.
///
/// Bytes that are no text in the encoding end the reading with an error at their line rather than
/// being replaced, so that nothing enters a book garbled.
pub(in crate::exchange) struct Text<'a> {
    raw: Box<dyn Read + 'a>,
    encoding: &'static Encoding,
    decoder: Decoder,
    input: Vec<u8>,
    input_at: usize,
    raw_ended: bool,
    /// Room for what is decoded, made once; filled from `output_at` to `output_end`.
    output: Vec<u8>,
    output_at: usize,
    output_end: usize,
    malformed: bool,
    ended: bool,
    line: Line,
}

/// The line a reader has come to, counted from 1; shared with whoever owns the reader.
#[derive(Debug, Clone)]
pub(in crate::exchange) struct Line(Rc<Come>);

#[derive(Debug)]
struct Come {
    line: Cell<u64>,
    bytes: Cell<u64>,
}

impl Line {
    pub(in crate::exchange) fn get(&self) -> u64 {
        self.0.line.get()
    }

    /// How much of the text was read so far, bytes of UTF-8.
    pub(in crate::exchange) fn bytes(&self) -> u64 {
        self.0.bytes.get()
    }

    fn on(&self, lines: u64, bytes: usize) {
        self.0.line.set(self.0.line.get() + lines);
        self.0.bytes.set(self.0.bytes.get() + bytes as u64);
    }
}

impl<'a> Text<'a> {
    pub(in crate::exchange) fn new(raw: Box<dyn Read + 'a>, encoding: &'static Encoding) -> Self {
        Self {
            raw,
            encoding,
            decoder: encoding.new_decoder_with_bom_removal(),
            input: Vec::new(),
            input_at: 0,
            raw_ended: false,
            output: Vec::new(),
            output_at: 0,
            output_end: 0,
            malformed: false,
            ended: false,
            line: Line(Rc::new(Come { line: Cell::new(1), bytes: Cell::new(0) })),
        }
    }

    /// The line of the next byte not yet consumed.
    pub(in crate::exchange) fn line(&self) -> Line {
        self.line.clone()
    }

    fn refill(&mut self) -> io::Result<()> {
        (self.output_at, self.output_end) = (0, 0);
        while self.output_end == 0 && !self.ended {
            if self.malformed {
                return Err(io::Error::other(TextFault::Malformed(self.encoding.name())));
            }
            if self.input_at == self.input.len() && !self.raw_ended {
                self.input.resize(CHUNK, 0);
                let n = self.raw.read(&mut self.input)?;
                self.input.truncate(n);
                self.input_at = 0;
                self.raw_ended = n == 0;
            }
            self.output.resize(4 * CHUNK, 0);
            let (result, read, written) =
                self.decoder.decode_to_utf8_without_replacement(&self.input[self.input_at..], &mut self.output, self.raw_ended);
            self.input_at += read;
            self.output_end = written;
            match result {
                DecoderResult::InputEmpty => self.ended = self.raw_ended,
                DecoderResult::OutputFull => {}
                DecoderResult::Malformed(..) => self.malformed = true,
            }
        }
        Ok(())
    }
}

impl BufRead for Text<'_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.output_at == self.output_end && !self.ended {
            self.refill()?;
        }
        Ok(&self.output[self.output_at..self.output_end])
    }

    fn consume(&mut self, amount: usize) {
        let end = (self.output_at + amount).min(self.output_end);
        let lines = self.output[self.output_at..end].iter().filter(|b| **b == b'\n').count() as u64;
        self.line.on(lines, end - self.output_at);
        self.output_at = end;
    }
}

impl Read for Text<'_> {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        // The reader of JSON asks for one byte after the other.
        if let ([byte], Some(next)) = (&mut *buf, self.output.get(self.output_at).filter(|_| self.output_at < self.output_end)) {
            *byte = *next;
            self.output_at += 1;
            self.line.on(u64::from(*byte == b'\n'), 1);
            return Ok(1);
        }
        let have = self.fill_buf()?;
        let n = have.len().min(buf.len());
        buf[..n].copy_from_slice(&have[..n]);
        self.consume(n);
        Ok(n)
    }
}

/// The encoding that the first bytes give away: a byte-order mark, or the zero bytes of UTF-16.
pub(in crate::exchange) fn marked_encoding(head: &[u8]) -> Option<&'static Encoding> {
    if let Some((encoding, _)) = Encoding::for_bom(head) {
        return Some(encoding);
    }
    match head {
        [b'<' | b'{' | b'[', 0, ..] => Some(UTF_16LE),
        [0, b'<' | b'{' | b'[', ..] => Some(UTF_16BE),
        _ => None,
    }
}

/// The encoding an XML file is in: its mark, else its declaration, else UTF-8 (XML 1.0, 4.3.3).
pub(in crate::exchange) fn xml_encoding(head: &[u8]) -> Result<&'static Encoding, Fault> {
    if let Some(encoding) = marked_encoding(head) {
        return Ok(encoding);
    }
    let start = String::from_utf8_lossy(&head[..head.len().min(512)]);
    let declaration = start.trim_start().strip_prefix("<?xml").and_then(|rest| rest.split("?>").next());
    let label = declaration.and_then(|d| {
        let rest = d.split_once("encoding")?.1.trim_start().strip_prefix('=')?.trim_start();
        let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
        rest[1..].split(quote).next()
    });
    match label {
        None => Ok(UTF_8),
        // A declaration read byte by byte cannot be UTF-16 whatever it says.
        Some(label) if label.to_ascii_lowercase().starts_with("utf-16") => Ok(UTF_8),
        Some(label) => Encoding::for_label(label.as_bytes()).ok_or_else(|| Fault::UnknownEncoding { label: label.to_owned() }),
    }
}

/// Adds a text in quotes, as tables have it; what ends a line becomes a blank, so that a row stays on its line.
pub(in crate::exchange) fn quoted(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\"\""),
            '\n' | '\r' | '\0' => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], encoding: &'static Encoding) -> (Result<String, String>, u64) {
        let mut text = Text::new(Box::new(bytes), encoding);
        let line = text.line();
        let mut out = String::new();
        let result = text.read_to_string(&mut out).map(|_| out).map_err(|e| e.to_string());
        (result, line.get())
    }

    #[test]
    fn decodes_and_counts_lines() {
        assert_eq!(read("a\nbé\n".as_bytes(), UTF_8), (Ok("a\nbé\n".into()), 3));
        assert_eq!(read(b"\xEF\xBB\xBFa", UTF_8), (Ok("a".into()), 1));
        assert_eq!(read(b"caf\xE9", encoding_rs::WINDOWS_1252), (Ok("café".into()), 1));
        assert_eq!(read(b"\xFF\xFEa\0\n\0", UTF_16LE), (Ok("a\n".into()), 2));
        assert_eq!(read(b"", UTF_8), (Ok(String::new()), 1));
    }

    #[test]
    fn stops_at_the_line_of_bytes_that_are_no_text() {
        let (result, line) = read(b"one\ntwo\nth\xE9ree\n", UTF_8);
        assert_eq!((result, line), (Err("malformed UTF-8".into()), 3));
        assert!(read(b"cut short \xC3", UTF_8).0.is_err());
    }

    #[test]
    fn the_declaration_decides_when_no_mark_does() {
        let of = |head: &[u8]| xml_encoding(head).map(Encoding::name);
        assert_eq!(of(b"<?xml version='1.0' encoding='ISO-8859-2'?>"), Ok("ISO-8859-2"));
        assert_eq!(of(b"<?xml version=\"1.0\"?><gpx encoding='x'/>"), Ok("UTF-8"));
        assert_eq!(of(b"<\0?\0"), Ok("UTF-16LE"));
        assert!(matches!(of(b"<?xml encoding=\"klingon\"?>"), Err(Fault::UnknownEncoding { .. })));
    }
}
