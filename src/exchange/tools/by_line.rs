//! Text that claims no encoding and is not all UTF-8: line by line, as lines of another program were put into it.

use std::io::{self, BufRead, BufReader, Read};

use encoding_rs::WINDOWS_1252;

use crate::exchange::error::Stop;

/// A longer line is taken in pieces, bytes.
const LONGEST: u64 = 1 << 20;

/// The text as UTF-8: a line that is UTF-8 as it stands, any other from the old Western code page.
pub(in crate::exchange) struct ByLine<'a> {
    raw: BufReader<Box<dyn Read + 'a>>,
    line: Vec<u8>,
    at: usize,
}

impl<'a> ByLine<'a> {
    pub(in crate::exchange) fn new(raw: Box<dyn Read + 'a>) -> Self {
        Self { raw: BufReader::new(raw), line: Vec::new(), at: 0 }
    }
}

impl Read for ByLine<'_> {
    fn read(&mut self, buf: &mut [u8]) -> io::Result<usize> {
        if self.at == self.line.len() {
            (self.line, self.at) = (next(&mut self.raw)?, 0);
            if std::str::from_utf8(&self.line).is_err() {
                self.line = WINDOWS_1252.decode_without_bom_handling(&self.line).0.into_owned().into_bytes();
            }
        }
        let rest = self.line.get(self.at..).unwrap_or_default();
        let n = rest.len().min(buf.len());
        buf[..n].copy_from_slice(&rest[..n]);
        self.at += n;
        Ok(n)
    }
}

fn next(raw: &mut impl BufRead) -> io::Result<Vec<u8>> {
    let mut line = Vec::new();
    raw.take(LONGEST).read_until(b'\n', &mut line)?;
    Ok(line)
}

/// Lines of two encodings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in crate::exchange) struct Encodings {
    /// Lines with letters that UTF-8 alone has so.
    pub(in crate::exchange) utf8: u64,
    /// Lines that are no UTF-8, ...
    pub(in crate::exchange) others: u64,
    /// ... and the first of them.
    pub(in crate::exchange) first: u64,
}

impl Encodings {
    pub(in crate::exchange) fn of(raw: Box<dyn Read + '_>) -> Result<Self, Stop> {
        let mut raw = BufReader::new(raw);
        let mut seen = Self::default();
        for line in 1.. {
            let bytes = next(&mut raw).map_err(|e| Stop::from_io(&e, line))?;
            if bytes.is_empty() {
                break;
            }
            match std::str::from_utf8(&bytes) {
                Ok(text) => seen.utf8 += u64::from(!text.is_ascii()),
                Err(_) => {
                    seen.others += 1;
                    seen.first = if seen.first == 0 { line } else { seen.first };
                }
            }
        }
        Ok(seen)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_line_is_read_in_its_own_encoding() {
        let bytes = b"M\xC3\xBCnze\nM\xFCnze\ncoin";
        let mut text = String::new();
        ByLine::new(Box::new(&bytes[..])).read_to_string(&mut text).unwrap();
        assert_eq!(text, "M\u{fc}nze\nM\u{fc}nze\ncoin");
        assert_eq!(Encodings::of(Box::new(&bytes[..])).unwrap(), Encodings { utf8: 1, others: 1, first: 2 });
    }
}
