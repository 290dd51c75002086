use std::io::{BufRead as _, Read as _};
use std::sync::Arc;

use encoding_rs::WINDOWS_1252;

use super::epoch::{Epochs, Fix};
use super::sentence::{Bad, LONGEST, fields, said};
use crate::Progress;
use crate::book::{Track, TrackPoint};
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::weeks::weeks_later;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::Text;

/// A pause longer than this parts two tracks, seconds; as for a table of fixes.
const PAUSE_S: i64 = 3 * 3600;

/// Reads a log line by line and says what it was taken for.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    // Any bytes are text in this code page; what was garbled fails its checksum.
    let mut text = Text::new(source.open(progress)?, WINDOWS_1252);
    let line = text.line();
    let mut log = Log::default();
    let mut epochs = Epochs::default();
    let mut bytes = Vec::new();
    loop {
        bytes.clear();
        let at = line.get();
        let most = (4 * LONGEST) as u64;
        let read = text.by_ref().take(most).read_until(b'\n', &mut bytes).map_err(|e| Stop::from_io(&e, line.get()))?;
        if read == 0 {
            break;
        }
        if bytes.last() != Some(&b'\n') && read as u64 == most {
            // A line without end is none of a log's.
            text.skip_until(b'\n').map_err(|e| Stop::from_io(&e, line.get()))?;
        }
        log.line(&String::from_utf8_lossy(&bytes), at, &mut epochs, taking);
    }
    epochs.end();
    log.tell(&epochs, taking);
    let later = epochs.first_date.is_some_and(|(date, line)| taking.settle_weeks("log", date, line));
    let tracks = take(epochs.fixes, later, taking)?;
    taking.understand("positions", "WGS 84, as satellite navigation is");
    taking.understand("times", "UTC, as NMEA 0183 asks");
    Ok(format!("NMEA 0183: {} sentence(s) used, {} position(s) in {tracks} track(s)", log.used, log.positions))
}

/// What is counted over the log.
#[derive(Default)]
struct Log {
    used: u64,
    others: u64,
    positions: u64,
    /// Whether some sentence had a checksum, so that one without is cut off.
    checked: bool,
    unchecked: u64,
}

impl Log {
    fn line(&mut self, text: &str, at: u64, epochs: &mut Epochs, taking: &mut Taking<'_>) {
        let read = match fields(text.trim_start_matches('\0')) {
            None => {
                if !text.trim().is_empty() {
                    taking.count(at, "line(s) hold no sentence and were passed over");
                }
                return;
            }
            Some(Ok((_, false))) if self.checked => Some(Err(Bad::CutOff)),
            Some(Ok((fields, checked))) => {
                self.checked |= checked;
                self.unchecked += u64::from(!checked);
                said(&fields)
            }
            Some(Err(bad)) => Some(Err(bad)),
        };
        match read {
            None => self.others += 1,
            Some(Ok(said)) => {
                self.used += 1;
                epochs.add(at, said);
            }
            Some(Err(bad)) => taking.count(
                at,
                match bad {
                    Bad::Checksum => "sentence(s) fail their checksum and were passed over",
                    Bad::CutOff => "sentence(s) have no checksum where others have, so they are cut off, and were passed over",
                    Bad::Field => "sentence(s) hold something that cannot be and were passed over",
                },
            ),
        }
    }

    fn tell(&mut self, epochs: &Epochs, taking: &mut Taking<'_>) {
        self.positions = epochs.fixes.len() as u64;
        if self.unchecked > 0 && !self.checked {
            taking.warn("no sentence has a checksum, so nothing shows whether the log is whole");
        }
        if epochs.void > 0 {
            taking.warn(format!("{} fix(es) that the receiver itself marks as void were left out", epochs.void));
        }
        if epochs.at_zero > 0 {
            taking.warn(format!("{} fix(es) at 0, 0 are no positions and were left out", epochs.at_zero));
        }
        if epochs.fixes.is_empty() {
            taking.warn("the log holds no position (no valid RMC, GGA or GNS sentence)");
        } else if epochs.first_date.is_none() {
            taking.warn("no sentence gives a date (RMC, ZDA), so the positions have no times");
        }
        if self.others > 0 {
            taking.understand("other sentences", format!("{} of sorts that hold no position, passed over", self.others));
        }
    }
}

/// Gives the fixes as tracks, parted at long pauses; how many.
fn take(fixes: Vec<Fix>, later: bool, taking: &mut Taking<'_>) -> Result<u64, Stop> {
    let beach = taking.beach.uid;
    let shifted = |fix: &Fix| -> TrackPoint {
        let time = fix.point.time();
        if later { fix.point.with_time(time.and_then(weeks_later)) } else { fix.point }
    };
    let parted = |a: &Fix, b: &Fix| {
        let pause_s = a.point.time().zip(b.point.time()).map_or(0, |(a, b)| (b.as_second() - a.as_second()).abs());
        pause_s > PAUSE_S
    };
    let mut tracks = 0;
    for run in fixes.chunk_by(|a, b| !parted(a, b)) {
        let Some(first) = run.first() else { continue };
        tracks += 1;
        let segments = vec![run.iter().map(shifted).collect::<Arc<[_]>>()];
        let uid = Track::content_uid(beach, &segments);
        let mark = Mark { line: first.line, noun: "track", number: tracks };
        let track = Track { uid, beach, outing: None, name: taking.stem.clone(), segments };
        taking.take_as(mark, track, Some(uid))?;
    }
    Ok(tracks)
}
