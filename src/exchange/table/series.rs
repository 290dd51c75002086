//! Rows that make one record together: a track, a baseline, a record of the sea, tides, a gauge.

use std::sync::Arc;

use jiff::Timestamp;

use crate::book::{GaugeRecord, SeaState, Storm, TideTable, TideTurn, Track, TrackPoint, Uid};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::heading::{Field, Unit};
use crate::exchange::row::Row;
use crate::exchange::taking::{Mark, Taking};
use crate::exchange::{Options, What};

/// Significant wave height from which the sea counts as a storm when the person states none, metres.
const STORM_M: f64 = 2.0;
/// A calm longer than this parts two storms, seconds.
const CALM_S: i64 = 12 * 3600;
/// A pause longer than this parts two tracks, seconds.
const PAUSE_S: i64 = 3 * 3600;
/// Turns of the tide lie farther apart than this, seconds; readings of a gauge do not.
const TURN_S: i64 = 2 * 3600;

/// What rows have gathered so far.
#[derive(Debug, Default)]
pub(super) struct Series {
    places: Vec<(String, TrackPoint, u64)>,
    sea: Vec<(SeaState, u64)>,
    water: Vec<(Timestamp, f64, Option<bool>, u64)>,
}

/// Takes one row into a series, or says what it lacks.
impl Series {
    pub(super) fn add_place(&mut self, taking: &mut Taking<'_>, row: &mut Row, at: LonLat) -> Result<(), String> {
        let time = row.instant(taking)?;
        let point = TrackPoint::new(at).with_time(time).with_height_m(row.measure(Field::Level, Unit::METRE));
        let name = row.first_of(&[Field::Name, Field::What]).map(|(_, t)| t.to_owned()).unwrap_or_default();
        self.places.push((name, point, row.mark.line));
        Ok(())
    }

    pub(super) fn add_sea(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), String> {
        let time = row.instant(taking)?.ok_or("has no time")?;
        let hs_m = row.measure(Field::Hs, Unit::METRE).ok_or("has no wave height that can be read")?;
        if !(0.0..=40.0).contains(&hs_m) {
            return Err(format!("a wave height of {hs_m} m is not between 0 and 40 m"));
        }
        let seconds = Unit { word: "seconds", of: crate::exchange::heading::Quantity::Time, factor: 1.0 };
        let tp_s = row.measure(Field::Tp, seconds);
        let dir_deg = row.plain(Field::Direction);
        let surge_m = row.measure(Field::Surge, Unit::METRE);
        let state = SeaState { time, hs_m, tp_s, dir_deg, surge_m };
        self.sea.push((state, row.mark.line));
        Ok(())
    }

    pub(super) fn add_water(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), String> {
        let time = row.instant(taking)?.ok_or("has no time")?;
        let level_m = row.measure(Field::Level, Unit::METRE).ok_or("has no height that can be read")?;
        let high = row.read(Field::HighLow, |text, _| match text.to_lowercase().chars().next() {
            Some('h') => Some(true),
            Some('l') => Some(false),
            _ => None,
        });
        self.water.push((time, level_m, high, row.mark.line));
        Ok(())
    }

    /// Gives what was gathered to the intake.
    pub(super) fn finish(self, taking: &mut Taking<'_>, what: What) -> Result<(), Stop> {
        match what {
            What::Baseline => match self.places.first() {
                Some((_, _, line)) => {
                    let mark = Mark { line: *line, noun: "line", number: 1 };
                    taking.take_baseline(mark, self.places.iter().map(|(_, p, _)| p.at).collect(), None)
                }
                None => Ok(()),
            },
            What::Tracks => self.tracks(taking),
            What::Storm => self.storms(taking),
            _ => self.waters(taking, what),
        }
    }

    fn tracks(self, taking: &mut Taking<'_>) -> Result<(), Stop> {
        let beach = taking.beach.uid;
        let parted = |a: &(String, TrackPoint, u64), b: &(String, TrackPoint, u64)| {
            let pause_s = a.1.time().zip(b.1.time()).map_or(0, |(a, b)| b.as_second() - a.as_second());
            a.0 != b.0 || pause_s > PAUSE_S
        };
        for (n, run) in self.places.chunk_by(|a, b| !parted(a, b)).enumerate() {
            let Some((name, _, line)) = run.first() else { continue };
            let segments = vec![run.iter().map(|(_, p, _)| *p).collect::<Arc<[_]>>()];
            let uid = Track::content_uid(beach, &segments);
            let name = if name.is_empty() { taking.stem.clone() } else { name.clone() };
            let mark = Mark { line: *line, noun: "track", number: n as u64 + 1 };
            taking.take_as(mark, Track { uid, beach, outing: None, name, segments }, Some(uid))?;
        }
        Ok(())
    }

    fn storms(mut self, taking: &mut Taking<'_>) -> Result<(), Stop> {
        let threshold_m = taking.options.storm_threshold_m.unwrap_or(STORM_M);
        taking.understand("storms", storm_rule(taking.options));
        self.sea.sort_by_key(|(s, _)| s.time);
        self.sea.dedup_by_key(|(s, _)| s.time);
        let heavy: Vec<usize> = self.sea.iter().enumerate().filter(|(_, (s, _))| s.hs_m >= threshold_m).map(|(n, _)| n).collect();
        if heavy.is_empty() {
            let highest = self.sea.iter().map(|(s, _)| s.hs_m).fold(0.0, f64::max);
            taking.warn(format!("no storm: the waves reach {highest:.1} m, below the threshold of {threshold_m:.1} m"));
            return Ok(());
        }
        let time_s = |n: usize| self.sea.get(n).map_or(0, |(s, _)| s.time.as_second());
        for (n, run) in heavy.chunk_by(|a, b| time_s(*b) - time_s(*a) <= CALM_S).enumerate() {
            let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
            let Some(((from, line), states)) = self.sea.get(*first).zip(self.sea.get(*first..=*last)) else { continue };
            let day = taking.zone.to_datetime(from.time).date();
            let series = states.iter().map(|(s, _)| *s).collect();
            let storm = Storm {
                uid: Uid::of_content("", []),
                beach: taking.beach.uid,
                name: format!("storm of {day}"),
                series,
                notes: String::new(),
            };
            taking.take(Mark { line: *line, noun: "storm", number: n as u64 + 1 }, storm)?;
        }
        Ok(())
    }

    fn waters(mut self, taking: &mut Taking<'_>, what: What) -> Result<(), Stop> {
        self.water.sort_by_key(|(time, ..)| *time);
        self.water.dedup_by_key(|(time, ..)| *time);
        let Some((_, _, _, line)) = self.water.first() else { return Ok(()) };
        let mark = Mark { line: *line, noun: "series", number: 1 };
        let (beach, name, uid) = (taking.beach.uid, taking.stem.clone(), Uid::of_content("", []));
        let told_apart = self.water.iter().all(|(_, _, high, _)| high.is_some());
        let turning = told_apart || self.turns();
        let table = match (what, taking.options.what) {
            (_, Some(What::TideTable)) => true,
            (_, Some(What::Gauge)) => false,
            _ => turning,
        };
        if !table {
            taking.understand("heights", "a gauge record, as they do not turn from high to low and back each time");
            let readings = self.water.iter().map(|(time, level_m, ..)| (*time, *level_m)).collect();
            return taking.take(mark, GaugeRecord { uid, beach, name, readings });
        }
        if self.water.len() < 2 {
            taking.refuse(mark, "a tide table needs at least two turns of the tide");
            return Ok(());
        }
        taking.understand("heights", "a tide table, as each height is a high or a low water in turn");
        let turns = (0..self.water.len()).filter_map(|n| {
            let (time, level_m, high, _) = self.water.get(n)?;
            let other = self.water.get(n + 1).or_else(|| self.water.get(n.checked_sub(1)?))?;
            Some(TideTurn { time: *time, level_m: *level_m, high: high.unwrap_or(*level_m > other.1) })
        });
        let turns = turns.collect();
        taking.take(mark, TideTable { uid, beach, name, turns })
    }

    /// Whether the heights rise and fall in turn, some hours apart.
    fn turns(&self) -> bool {
        let steps: Vec<_> = self.water.windows(2).filter_map(|w| Some((w.first()?, w.get(1)?))).collect();
        let far_apart = steps.iter().filter(|(a, b)| b.0.as_second() - a.0.as_second() >= TURN_S).count() * 10 >= steps.len() * 9;
        let rises: Vec<bool> = steps.iter().map(|(a, b)| b.1 > a.1).collect();
        !rises.is_empty() && far_apart && rises.windows(2).all(|w| w.first() != w.last())
    }
}

/// The rule by which a record of the sea is split, in words.
fn storm_rule(options: &Options) -> String {
    let threshold_m = options.storm_threshold_m.unwrap_or(STORM_M);
    format!("significant wave height of at least {threshold_m:.1} m; more than {} h below it part two storms", CALM_S / 3600)
}
