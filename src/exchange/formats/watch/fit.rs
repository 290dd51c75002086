//! FIT, the binary records of watches, by the published protocol (header, definition and data messages, CRC-16): of the
//! messages only `record` (number 20) is read, and of that time, position and height.
//!
//! The library for it (`fitparser`) was looked at: it carries a table of every message ever defined, more than this whole
//! program to build, and slices by a length that the file states.

use jiff::Timestamp;

use super::{take, take_plan};
use crate::Progress;
use crate::book::TrackPoint;
use crate::earth::LonLat;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::source::Source;

/// A day's walk is some hundred kilobytes.
const LARGEST: u64 = 256 << 20;
/// The calendar begins at 1989-12-31T00:00:00Z, seconds since 1970.
const BEGIN_S: i64 = 631_065_600;
/// A pause longer than this parts two runs of fixes, seconds.
const PAUSE_S: i64 = 600;

/// Whether a file begins as FIT does.
fn is_fit(head: &[u8]) -> bool {
    head.get(8..12) == Some(b".FIT") && head.first().is_some_and(|size| matches!(size, 12 | 14))
}

/// Reads a file and says what it was taken for.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let bytes = source.whole(LARGEST, progress)?;
    let damaged = |why: &str| Stop::from(Fault::Option(format!("{why}; copy it from the watch once more")));
    let (mut rest, mut fixes, mut tracks, mut plans) = (bytes.as_slice(), 0_usize, 0_u64, 0_u64);
    while !rest.is_empty() {
        if !is_fit(rest) {
            return Err(damaged("holds something that is no FIT after its first part"));
        }
        let header = usize::from(rest[0]);
        let size = rest.get(4..8).and_then(|b| Some(u32::from_le_bytes(b.try_into().ok()?))).unwrap_or(0) as usize;
        let end = header.saturating_add(size);
        let (Some(whole), Some(sum)) = (rest.get(..end), rest.get(end..end.saturating_add(2))) else {
            return Err(Fault::Truncated { line: 1 }.into());
        };
        if sum != crc(whole).to_le_bytes() {
            return Err(damaged("does not fit its own checksum, so it was damaged"));
        }
        let said = messages(&whole[header..]).ok_or_else(|| damaged("holds messages that cannot be read"))?;
        let Said { fixes: read, at_zero, course } = said;
        if at_zero > 0 {
            taking.warn(format!("{at_zero} fix(es) at 0, 0 are no positions and were left out"));
        }
        fixes += read.len();
        if course {
            let points = read.into_iter().map(|p| p.at).collect();
            plans += u64::from(take_plan(0, plans + 1, "", points, taking)?);
            rest = &rest[end + 2..];
            continue;
        }
        let apart = |a: &TrackPoint, b: &TrackPoint| {
            a.time().zip(b.time()).is_some_and(|(a, b)| (b.as_second() - a.as_second()).abs() > PAUSE_S)
        };
        let runs = read.chunk_by(|a, b| !apart(a, b)).map(<[TrackPoint]>::to_vec).collect();
        tracks += u64::from(take(0, tracks + 1, "", runs, taking)?);
        rest = &rest[end + 2..];
    }
    if tracks + plans == 0 {
        taking.warn("the file holds no position");
    }
    taking.understand("positions", "WGS 84, as satellite navigation is");
    taking.understand("times", "UTC, as FIT asks");
    Ok(format!("FIT: {fixes} position(s) in {tracks} track(s) and {plans} plan(s)"))
}

/// How the fields of one sort of message lie.
#[derive(Default, Clone)]
struct Layout {
    big: bool,
    message: u16,
    /// Number and size of each field, those of a developer without a number.
    fields: Vec<(Option<u8>, usize)>,
}

/// The bytes that are still to be read.
struct Left<'a>(&'a [u8]);

impl<'a> Left<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn byte(&mut self) -> Option<u8> {
        self.take(1)?.first().copied()
    }
}

/// What the messages of a file say.
#[derive(Default)]
struct Said {
    fixes: Vec<TrackPoint>,
    at_zero: usize,
    /// Whether the file says that it is a course: a way to be walked, not one that was.
    course: bool,
}

/// Times below this count from when the watch was switched on, as its clock was never set (from memory).
const SET_S: u32 = 0x1000_0000;

/// What a file's messages say; `None` where they make no sense.
fn messages(bytes: &[u8]) -> Option<Said> {
    let mut left = Left(bytes);
    let mut layouts: [Option<Layout>; 16] = Default::default();
    let (mut last_s, mut said) = (0_u32, Said::default());
    while let Some(head) = left.byte() {
        let local = if head & 0x80 != 0 { (head >> 5) & 0x03 } else { head & 0x0F };
        if head & 0xC0 == 0x40 {
            layouts[usize::from(local)] = Some(layout(&mut left, head & 0x20 != 0)?);
            continue;
        }
        if head & 0x80 != 0 {
            // Five bits of the time, which run over every 32 seconds.
            let offset = u32::from(head & 0x1F);
            let over = if offset < last_s & 0x1F { 0x20 } else { 0 };
            last_s = (last_s & !0x1F).wrapping_add(offset + over);
        }
        let layout = layouts[usize::from(local)].as_ref()?;
        let mut fix = Fix::default();
        for (number, size) in &layout.fields {
            let bytes = left.take(*size)?;
            match (number, unsigned(bytes, layout.big)) {
                (Some(253), Some(value)) if *size == 4 && value != u64::from(u32::MAX) => last_s = value as u32,
                (Some(0), Some(value)) if layout.message == FILE_ID => said.course = value == COURSE,
                (Some(number), Some(value)) if layout.message == RECORD => fix.field(*number, *size, value),
                _ => {}
            }
        }
        if layout.message == RECORD
            && let Some(at) = fix.at()
        {
            if at.lon_deg() == 0.0 && at.lat_deg() == 0.0 {
                said.at_zero += 1;
                continue;
            }
            let time = (last_s >= SET_S).then(|| Timestamp::from_second(BEGIN_S + i64::from(last_s)).ok()).flatten();
            said.fixes.push(TrackPoint::new(at).with_time(time).with_height_m(fix.height_m));
        }
    }
    Some(said)
}

/// The number of the message `record`.
const RECORD: u16 = 20;
/// The number of the message `file_id`, whose first field says of what sort the file is; and the sort of a course.
const FILE_ID: u16 = 0;
const COURSE: u64 = 6;

fn layout(left: &mut Left<'_>, of_developers: bool) -> Option<Layout> {
    let head = left.take(5)?;
    let big = head[1] == 1;
    let message = unsigned(&head[2..4], big)? as u16;
    let mut fields = Vec::new();
    for _ in 0..head[4] {
        let field = left.take(3)?;
        fields.push((Some(field[0]), usize::from(field[1])));
    }
    if of_developers {
        for _ in 0..left.byte()? {
            fields.push((None, usize::from(left.take(3)?[1])));
        }
    }
    Some(Layout { big, message, fields })
}

/// A whole number of up to eight bytes.
fn unsigned(bytes: &[u8], big: bool) -> Option<u64> {
    let one = |sum: u64, byte: &u8| (sum << 8) | u64::from(*byte);
    match bytes.len() {
        0 | 9.. => None,
        _ if big => Some(bytes.iter().fold(0, one)),
        _ => Some(bytes.iter().rev().fold(0, one)),
    }
}

#[derive(Default)]
struct Fix {
    lat: Option<i32>,
    lon: Option<i32>,
    height_m: Option<f64>,
}

impl Fix {
    fn field(&mut self, number: u8, size: usize, value: u64) {
        let place = |value: u64| Some(value as u32 as i32).filter(|v| *v != i32::MAX);
        // Height in fifths of a metre above -500 m.
        let height = |value: u64| Some(value as f64 / 5.0 - 500.0);
        match (number, size) {
            (0, 4) => self.lat = place(value),
            (1, 4) => self.lon = place(value),
            (2, 2) if value != u64::from(u16::MAX) => self.height_m = self.height_m.or(height(value)),
            (78, 4) if value != u64::from(u32::MAX) => self.height_m = height(value),
            _ => {}
        }
    }

    /// Positions are in semicircles: 2^31 of them are 180 degrees.
    fn at(&self) -> Option<LonLat> {
        let degrees = |v: i32| f64::from(v) * (180.0 / f64::from(1_u32 << 31));
        LonLat::new(degrees(self.lon?), degrees(self.lat?)).ok()
    }
}

/// The CRC-16 of the protocol (polynomial 0x8005, reflected: "CRC-16/ARC", whose sum of "123456789" is 0xBB3D).
fn crc(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0, |sum, byte| {
        (0..8).fold(sum ^ u16::from(*byte), |sum, _| if sum & 1 == 1 { (sum >> 1) ^ 0xA001 } else { sum >> 1 })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of CRC-16/ARC in the catalogue of parametrised CRC algorithms.
    #[test]
    fn the_sum_is_that_of_the_catalogue() {
        assert_eq!(crc(b"123456789"), 0xBB3D);
    }
}
