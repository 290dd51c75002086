//! Sentences of one moment as one fix, and its date: stated, or carried over midnight from the one before.

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;

use super::sentence::Said;
use crate::book::TrackPoint;

/// One fix with the line on which it begins.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fix {
    pub(super) line: u64,
    pub(super) point: TrackPoint,
    clock: Option<Time>,
}

/// Gathers sentences into fixes.
#[derive(Default)]
pub(super) struct Epochs {
    open: Option<(u64, Said)>,
    /// The date and time of day of the last fix that had one.
    last: Option<(Date, Time)>,
    /// Fixes from before the first date, which are dated back from it.
    undated: Vec<Fix>,
    pub(super) fixes: Vec<Fix>,
    /// The first date there is, and its line.
    pub(super) first_date: Option<(Date, u64)>,
    pub(super) void: u64,
    pub(super) at_zero: u64,
}

/// A time of day that lies this much earlier than the one before is of the next day, hours.
const BACK_H: i64 = 12;

impl Epochs {
    /// Takes a sentence; those of one time of day make one fix.
    pub(super) fn add(&mut self, line: u64, said: Said) {
        match &mut self.open {
            Some((_, open)) if said.clock.is_none() || open.clock == said.clock || open.clock.is_none() => open.join(said),
            _ => {
                self.close();
                self.open = Some((line, said));
            }
        }
    }

    /// Completes the fix that is open.
    pub(super) fn close(&mut self) {
        let Some((line, said)) = self.open.take() else { return };
        let date = self.date_of(line, &said);
        let Some(at) = said.at else {
            self.void += u64::from(said.void);
            return;
        };
        if at.lon_deg() == 0.0 && at.lat_deg() == 0.0 {
            self.at_zero += 1;
            return;
        }
        let time = date.zip(said.clock).and_then(|(date, clock)| instant(date, clock));
        let point = TrackPoint::new(at).with_time(time).with_height_m(said.height_m);
        let point = point.with_hdop(said.hdop).with_satellites(said.satellites);
        let fix = Fix { line, point, clock: said.clock };
        if date.is_none() && said.clock.is_some() && self.last.is_none() {
            self.undated.push(fix);
        } else {
            self.fixes.push(fix);
        }
    }

    /// The date of a fix; a first one also dates those before it.
    fn date_of(&mut self, line: u64, said: &Said) -> Option<Date> {
        let carried = self.last.zip(said.clock).and_then(|((date, before), clock)| {
            let back_h = i64::from(before.hour()) - i64::from(clock.hour());
            if back_h >= BACK_H { date.tomorrow().ok() } else { Some(date) }
        });
        let date = said.date.or(carried)?;
        if let (None, Some(clock)) = (self.last, said.clock) {
            self.date_back(date, clock);
        }
        if said.date.is_some() && self.first_date.is_none() {
            self.first_date = Some((date, line));
        }
        if let Some(clock) = said.clock {
            self.last = Some((date, clock));
        }
        Some(date)
    }

    /// Dates the fixes from before the first date, back over midnight where their times of day ask for it.
    fn date_back(&mut self, date: Date, clock: Time) {
        let (mut date, mut after) = (date, clock);
        let mut dated = Vec::with_capacity(self.undated.len());
        for fix in std::mem::take(&mut self.undated).into_iter().rev() {
            let Some(clock) = fix.clock else { continue };
            if i64::from(clock.hour()) - i64::from(after.hour()) >= BACK_H {
                date = date.yesterday().unwrap_or(date);
            }
            after = clock;
            dated.push(Fix { point: fix.point.with_time(instant(date, clock)), ..fix });
        }
        self.fixes.extend(dated.into_iter().rev());
    }

    /// Ends the log: what never got a date stays without a time.
    pub(super) fn end(&mut self) {
        self.close();
        self.fixes.append(&mut self.undated);
    }
}

fn instant(date: Date, clock: Time) -> Option<Timestamp> {
    TimeZone::UTC.to_timestamp(date.to_datetime(clock)).ok()
}

impl Said {
    /// Adds what another sentence of the same moment says.
    fn join(&mut self, other: Self) {
        self.clock = self.clock.or(other.clock);
        self.date = self.date.or(other.date);
        self.at = self.at.or(other.at);
        self.height_m = self.height_m.or(other.height_m);
        self.hdop = self.hdop.or(other.hdop);
        self.satellites = self.satellites.or(other.satellites);
        self.void |= other.void;
    }
}
