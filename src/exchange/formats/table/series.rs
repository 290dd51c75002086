//! Rows that make one record together: a track, a baseline, a record of the sea, tides, a gauge.

use std::sync::Arc;

use jiff::Timestamp;

use crate::book::{GaugeRecord, SeaRecord, SeaState, Storm, TideTable, TideTurn, Track, TrackPoint, Uid};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::records::row::{Moment, Row, count_doubt};
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::{Field, Unit};
use crate::exchange::tools::when::{Doubt, When};
use crate::exchange::{options::Options, what::What};
use crate::tide::{self, Datum, HeightUnit, PrintedEntry, TableEntry, TurnKind};

/// Significant wave height from which the sea counts as a storm when the person states none, metres.
const STORM_M: f64 = 2.0;
/// A calm longer than this parts two storms, seconds.
const CALM_S: i64 = 12 * 3600;
/// A pause longer than this parts two tracks, seconds.
const PAUSE_S: i64 = 3 * 3600;
/// Turns of the tide lie farther apart than this, seconds; readings of a gauge do not.
const TURN_S: i64 = 2 * 3600;

/// A gauge tells the water more often than this on the whole, or else evenly, seconds; a table of turns, double waters among
/// them, does neither.
const RECORD_S: i64 = 90 * 60;
/// Nor does a table have turns so near to each other in the middle of its steps, seconds, whatever is wrong with its times.
const DENSE_S: i64 = 10 * 60;
/// Steps are even where half of them are the middle one but for this, seconds.
const EVEN_S: i64 = 30;
/// Turns lie farther apart than this in the middle only where every other one is missing, seconds: high and low follow each
/// other in six hours, or in twelve where there is one of each a day.
const EVERY_OTHER_S: i64 = 9 * 3600;
/// So many runs of rows of one height are named, the others counted.
const NAMED: usize = 12;
/// From so many rows on the hours tell that none is after noon.
const TELLING_ROWS: usize = 8;

/// No tide on Earth spans more than this, metres (the Bay of Fundy about 16; from memory).
const LARGEST_RANGE_M: f64 = 18.0;
/// A tide that spans more than this in a unit nobody states may well be in feet, metres.
const DOUBTFUL_RANGE_M: f64 = 8.0;

/// What rows have gathered so far.
#[derive(Debug, Default)]
pub(super) struct Series {
    places: Vec<Place>,
    sea: Vec<(SeaState, u64)>,
    water: Vec<WaterRow>,
    /// Whether some height states no unit.
    unit_open: bool,
}

/// One fix of a table, and whose it is.
#[derive(Debug)]
struct Place {
    name: String,
    /// The track's uid and the number of its run, as files written from a book give them.
    uid: Option<Uid>,
    run: String,
    point: TrackPoint,
    line: u64,
}

/// One height of the water.
#[derive(Debug, Clone, Copy)]
struct WaterRow {
    /// When, the first of two where the clock showed the time twice.
    time: Timestamp,
    moment: Moment,
    doubt: Option<Doubt>,
    level_m: f64,
    high: Option<bool>,
    line: u64,
}

/// Takes one row into a series, or says what it lacks.
impl Series {
    pub(super) fn add_place(&mut self, taking: &mut Taking<'_>, row: &mut Row, at: LonLat) -> Result<(), String> {
        let time = row.instant(taking)?;
        let point = TrackPoint::new(at).with_time(time).with_height_m(row.measure(Field::Level, Unit::METRE));
        let name = row.first_of(&[Field::Name, Field::What]).map(|(_, t)| t.to_owned()).unwrap_or_default();
        self.places.push(Place { name, uid: row.uid(), run: row.words(Field::Segment), point, line: row.mark.line });
        Ok(())
    }

    pub(super) fn add_sea(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), String> {
        let time = row.instant(taking)?.ok_or("has no time")?;
        let surge_m = row.measure(Field::Surge, Unit::METRE);
        let hs_m = row.measure(Field::Hs, Unit::METRE).ok_or_else(|| match surge_m {
            Some(surge_m) => format!(
                "has a surge of {surge_m:.2} m and no wave height that can be read: a record of the sea holds a surge beside its waves alone. Give the row the wave height of those hours, or give the surge to the beach or the route (`--surge`)"
            ),
            None => "has no wave height that can be read".to_owned(),
        })?;
        if !(0.0..=40.0).contains(&hs_m) {
            return Err(format!("a wave height of {hs_m} m is not between 0 and 40 m"));
        }
        let seconds = Unit { word: "seconds", of: crate::exchange::tools::heading::Quantity::Time, factor: 1.0 };
        let tp_s = row.measure(Field::Tp, seconds);
        let dir_deg = row.plain(Field::Direction);
        if let Some(tp_s) = tp_s.filter(|t| SeaState::is_too_steep(hs_m, *t)) {
            return Err(format!(
                "waves of {hs_m:.1} m and {tp_s:.1} s are steeper than any sea stands; are height and period swapped, or is the height in feet?"
            ));
        }
        let state = SeaState { time, hs_m, tp_s, dir_deg, surge_m };
        self.sea.push((state, row.mark.line));
        Ok(())
    }

    pub(super) fn add_water(&mut self, taking: &mut Taking<'_>, row: &mut Row) -> Result<(), String> {
        let moment = row.moment()?;
        let (time, doubt) = match moment {
            Moment::Instant(time) => (time, None),
            Moment::Clock(at) => When::Local(at).instant(&taking.zone).ok_or("its time lies beyond the calendar")?,
        };
        let usual = if taking.options.feet { Unit::FOOT } else { Unit::METRE };
        let level_m = row.measure(Field::Level, usual).ok_or("has no height that can be read")?;
        self.unit_open |= !row.states_unit(Field::Level);
        let high = row.read(Field::HighLow, |text, _| match text.to_lowercase().chars().next() {
            Some('h') => Some(true),
            Some('l') => Some(false),
            _ => None,
        });
        self.water.push(WaterRow { time, moment, doubt, level_m, high, line: row.mark.line });
        Ok(())
    }

    /// Gives what was gathered to the intake.
    pub(super) fn finish(self, taking: &mut Taking<'_>, what: What) -> Result<(), Stop> {
        match what {
            What::Baseline => match self.places.first() {
                Some(first) => {
                    let mark = Mark { line: first.line, noun: "line", number: 1 };
                    taking.take_baseline(mark, self.places.iter().map(|p| p.point.at).collect(), None)
                }
                None => Ok(()),
            },
            What::Tracks => self.tracks(taking),
            // Rows that say of themselves that they are of tracks.
            _ if !self.places.is_empty() => self.tracks(taking),
            What::Storm => self.storms(taking),
            _ => self.waters(taking, what),
        }
    }

    fn tracks(self, taking: &mut Taking<'_>) -> Result<(), Stop> {
        let beach = taking.beach.uid;
        let parted = |a: &Place, b: &Place| {
            let pause_s = a.point.time().zip(b.point.time()).map_or(0, |(a, b)| b.as_second() - a.as_second());
            a.name != b.name || a.uid != b.uid || (a.uid.is_none() && pause_s > PAUSE_S)
        };
        for (n, track) in self.places.chunk_by(|a, b| !parted(a, b)).enumerate() {
            let Some(first) = track.first() else { continue };
            let runs = track.chunk_by(|a, b| a.run == b.run);
            let mut runs: Vec<Vec<TrackPoint>> = runs.map(|run| run.iter().map(|p| p.point).collect()).collect();
            // What was written here is as its book had it.
            if first.uid.is_none() {
                taking.of_their_weeks(&mut runs, first.line);
            }
            let segments: Vec<Arc<[_]>> = runs.into_iter().map(Arc::from).collect();
            let uid = first.uid.unwrap_or_else(|| Track::content_uid(beach, &segments));
            let name = if first.name.is_empty() { taking.stem.clone() } else { first.name.clone() };
            let mark = Mark { line: first.line, noun: "track", number: n as u64 + 1 };
            taking.take_as(mark, Track { uid, beach, outing: None, name, segments }, Some(uid))?;
        }
        Ok(())
    }

    fn storms(mut self, taking: &mut Taking<'_>) -> Result<(), Stop> {
        let threshold_m = taking.options.storm_threshold_m.unwrap_or(STORM_M);
        taking.understand("storms", storm_rule(taking.options));
        self.sea.sort_by_key(|(s, _)| s.time);
        self.sea.dedup_by_key(|(s, _)| s.time);
        self.record_of_the_sea(taking)?;
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

    /// The record whole and at its own step, from which run-up is worked out: a low water on a calm day has waves too.
    fn record_of_the_sea(&self, taking: &mut Taking<'_>) -> Result<(), Stop> {
        let Some((_, line)) = self.sea.first() else { return Ok(()) };
        let (beach, name) = (taking.beach.uid, taking.stem.clone());
        let states = self.sea.iter().map(|(s, _)| *s).collect();
        let record = SeaRecord { uid: SeaRecord::uid_of(beach, &name), beach, name, states };
        taking.take_sea(Mark { line: *line, noun: "record of the sea", number: 1 }, record)
    }

    fn waters(mut self, taking: &mut Taking<'_>, what: What) -> Result<(), Stop> {
        let in_file_order = self.water.clone();
        self.water.sort_by_key(|w| w.time);
        self.water.dedup_by_key(|w| w.time);
        let Some(first) = self.water.first() else { return Ok(()) };
        let mark = Mark { line: first.line, noun: "series", number: 1 };
        if let Some(why) = self.doubtful_unit(taking) {
            taking.refuse(mark, why);
            return Ok(());
        }
        let told_apart = self.water.iter().all(|w| w.high.is_some());
        let turning = told_apart || self.turns();
        let table = match (what, taking.options.what) {
            (_, Some(What::TideTable)) => true,
            (_, Some(What::Gauge)) => false,
            _ => turning || self.at_odd_hours(),
        };
        if let Some((line, why)) = self.no_turns(told_apart).filter(|_| table) {
            taking.refuse(Mark { line, ..mark }, why);
            return Ok(());
        }
        if table { self.tide_table(taking, mark) } else { gauge(taking, mark, &in_file_order) }
    }

    /// Says where heights without a unit may be feet, and why they cannot be taken where they must be.
    fn doubtful_unit(&self, taking: &mut Taking<'_>) -> Option<String> {
        let levels = || self.water.iter().map(|w| w.level_m);
        let range_m = levels().fold(f64::MIN, f64::max) - levels().fold(f64::MAX, f64::min);
        if range_m > LARGEST_RANGE_M {
            return Some(format!(
                "the heights span {range_m:.1} m, more than any tide does; if they are feet, put the unit into the heading, as in \
                 \"height (ft)\", or say that they are feet"
            ));
        }
        if self.unit_open && range_m > DOUBTFUL_RANGE_M && !taking.options.feet {
            taking.warn(format!(
                "the heights state no unit and span {range_m:.1}; metres were taken: few coasts have such a tide, so say it if they are feet"
            ));
        }
        None
    }

    fn tide_table(self, taking: &mut Taking<'_>, mark: Mark) -> Result<(), Stop> {
        if self.water.len() < 2 {
            taking.refuse(mark, "a tide table needs at least two turns of the tide");
            return Ok(());
        }
        let kind = |high: bool| if high { TurnKind::High } else { TurnKind::Low };
        let clock_times: Option<Vec<PrintedEntry>> = self
            .water
            .iter()
            .map(|w| match w.moment {
                Moment::Clock(at) => Some(PrintedEntry { at, height: w.level_m, kind: w.high.map(kind) }),
                Moment::Instant(_) => None,
            })
            .collect();
        let made = match clock_times {
            Some(entries) => {
                tide::TideTable::printed(taking.stem.clone(), Datum::ChartDatum, &taking.zone, HeightUnit::Metres, &entries)
            }
            // With offsets stated there is nothing to tell apart; where only some state them, the first is taken.
            None => {
                let entries: Vec<TableEntry> =
                    self.water.iter().map(|w| TableEntry { time: w.time, level_m: w.level_m, kind: w.high.map(kind) }).collect();
                self.water.iter().for_each(|w| count_doubt(taking, w.line, w.doubt));
                tide::TideTable::new(taking.stem.clone(), Datum::ChartDatum, &entries).map(|table| (table, Vec::new()))
            }
        };
        let line_of = |entry: usize| self.water.get(entry.saturating_sub(1)).map_or(mark.line, |w| w.line);
        let (table, doubled) = match made {
            Ok(made) => made,
            Err(why) => {
                let entry = why.table_entry();
                let at = entry.map_or(mark, |n| Mark { line: line_of(n), noun: "turn", number: n as u64 });
                taking.refuse(at, why.to_string());
                return Ok(());
            }
        };
        for hour in doubled {
            taking.warn(format!(
                "line {}: the clock showed this time twice as it went back; the one that keeps the rhythm of the tide was taken, {} UTC",
                line_of(hour.entry),
                hour.taken.strftime("%Y-%m-%d %H:%M")
            ));
        }
        self.tell_alike(taking);
        taking.understand("heights", "a tide table, as each height is a high or a low water in turn");
        let turns = table.entries().iter().map(|t| TideTurn { time: t.time, level_m: t.level_m, high: t.kind == TurnKind::High });
        let turns = turns.collect();
        let (beach, name, uid) = (taking.beach.uid, taking.stem.clone(), Uid::of_content("", []));
        taking.take_tide_table(mark, TideTable { uid, beach, name, turns })
    }

    /// Seconds from row to row, the shortest first.
    fn steps_s(&self) -> Vec<i64> {
        let step_s = |w: &[WaterRow]| Some(w.get(1)?.time.as_second() - w.first()?.time.as_second());
        let mut steps: Vec<i64> = self.water.windows(2).filter_map(step_s).collect();
        steps.sort_unstable();
        steps
    }

    /// Whether there are a few rows a day, at times that no gauge keeps.
    fn at_odd_hours(&self) -> bool {
        let steps = self.steps_s();
        let Some(middle_s) = steps.get(steps.len() / 2).copied() else { return false };
        let even = steps.iter().filter(|s| (**s - middle_s).abs() <= EVEN_S).count();
        let rare = steps.iter().sum::<i64>() > RECORD_S * steps.len() as i64 && middle_s > DENSE_S;
        steps.len() >= 3 && rare && 2 * even < steps.len()
    }

    /// Why the rows cannot be the turns of a table, with the line that shows it, where more can be said than that one row is
    /// out of turn.
    fn no_turns(&self, told_apart: bool) -> Option<(u64, String)> {
        let first = self.water.first()?;
        let only = |high: bool| self.water.len() > 1 && self.water.iter().all(|w| w.high == Some(high));
        for (high, one, other) in [(false, "low", "high"), (true, "high", "low")] {
            if only(high) {
                let why = format!("only {one} waters: between two of them the water is not known; give the {other} waters too");
                return Some((first.line, why));
            }
        }
        if let Some((line, why)) = self.runs_alike() {
            return Some((line, why));
        }
        // With every turn named the table itself tells which is out of turn.
        if told_apart {
            return None;
        }
        let (a, b, c) = match self.out_of_turn()? {
            [a, b, c] => (a, b, c),
            alike => return peak_alike(alike),
        };
        let rises = if b.level_m > a.level_m { "rise" } else { "fall" };
        let out = format!(
            "these are a few heights a day at odd hours, as of a tide table, but they do not turn from high to low and back: from \
             line {} to {} and {} they {rises} twice ({:.2}, {:.2}, {:.2} m)",
            a.line, b.line, c.line, a.level_m, b.level_m, c.level_m
        );
        let steps = self.steps_s();
        let apart_s = steps.get(steps.len() / 2).copied().unwrap_or_default();
        let before_noon = |w: &WaterRow| matches!(w.moment, Moment::Clock(at) if at.hour() <= 12);
        let todo = if apart_s > EVERY_OTHER_S {
            format!(
                "; the rows lie {:.1} h apart in the middle, as where a table has only its low waters or only its high waters: give the \
                 others too, each with its time and height",
                apart_s as f64 / 3600.0
            )
        } else if self.water.len() >= TELLING_ROWS && self.water.iter().all(before_noon) {
            "; no row is of the afternoon: write am or pm behind each time, or the hours from 0 to 23".to_owned()
        } else {
            "; look whether a row is missing there, or a time is wrong (am and pm changed over)".to_owned()
        };
        Some((b.line, format!("{out}{todo}. If it is the record of a gauge, say so (`import --as gauge`)")))
    }

    /// Whether the heights rise and fall in turn, some hours apart, but for two here and there that are alike.
    fn turns(&self) -> bool {
        let steps: Vec<_> = self.water.windows(2).filter_map(|w| Some((w.first()?, w.get(1)?))).collect();
        let far_apart =
            steps.iter().filter(|(a, b)| b.time.as_second() - a.time.as_second() >= TURN_S).count() * 10 >= steps.len() * 9;
        let goes = steps.iter().any(|(a, b)| a.level_m != b.level_m);
        goes && far_apart && self.runs_alike().is_none() && self.out_of_turn().is_none()
    }

    /// The first rows that do not turn: three that rise, or fall, twice, or two alike with the row before and the one behind
    /// them at the top of a rise or the foot of a fall. Two alike within a rise or a fall stand for a high and a low water.
    fn out_of_turn(&self) -> Option<&[WaterRow]> {
        let mut before: Option<(usize, bool)> = None;
        for (n, pair) in self.water.windows(2).enumerate() {
            let [a, b] = pair else { continue };
            if a.level_m == b.level_m {
                continue;
            }
            let rises = b.level_m > a.level_m;
            if let Some((m, rose)) = before
                && (rises == rose) != (n - m).is_multiple_of(2)
            {
                return self.water.get(m..n + 2);
            }
            before = Some((n, rises));
        }
        None
    }

    /// Where two rows give one height, the first line and the last of each such run, its height and how many rows it has.
    fn alike(&self) -> impl Iterator<Item = (u64, u64, f64, usize)> {
        let runs = self.water.chunk_by(|a, b| a.level_m == b.level_m).filter(|run| run.len() > 1);
        runs.filter_map(|run| Some((run.first()?.line, run.last()?.line, run.first()?.level_m, run.len())))
    }

    /// Why three rows or more of one height are no turns, all such runs together, and the line of the first.
    fn runs_alike(&self) -> Option<(u64, String)> {
        let runs: Vec<_> = self.alike().filter(|(.., rows)| *rows > 2).collect();
        let first = runs.first()?.0;
        let said: Vec<String> = runs.iter().map(|(from, to, m, _)| format!("{from} to {to} ({m:.2} m)")).collect();
        let why = format!(
            "lines {} give one height three times in a row or more, so that those in the middle are no turns: compare them with the \
             printed table, and where it has them so raise the high waters among them by a hundredth, and import the file again",
            listed(said)
        );
        Some((first, why))
    }

    /// Tells of the pairs of turns of one height, all in one sentence.
    fn tell_alike(&self, taking: &mut Taking<'_>) {
        let pairs: Vec<String> = self.alike().map(|(from, to, m, _)| format!("{from} and {to} ({m:.2} m)")).collect();
        if !pairs.is_empty() {
            taking.warn(format!(
                "lines {} give the same height as high and as low water: the water is taken to stand there from the one to the other; \
                 compare them with the printed table",
                listed(pairs)
            ));
        }
    }
}

/// The first of many by name, and the number of the others.
fn listed(mut all: Vec<String>) -> String {
    let more = all.len().saturating_sub(NAMED);
    all.truncate(NAMED);
    let named = all.join(", ");
    if more > 0 { format!("{named} and {more} more") } else { named }
}

/// Why two rows of one height at the top of a rise or at the foot of a fall are no turns, with the line that shows it.
fn peak_alike(rows: &[WaterRow]) -> Option<(u64, String)> {
    let (first, [.., c, last]) = (rows.first()?, rows) else { return None };
    let b = rows.get(1)?;
    let way = if b.level_m > first.level_m { ("rises", "falls") } else { ("falls", "rises") };
    let why = format!(
        "lines {} and {} give the same height, {:.2} m, between line {}, from which the water {} to it, and line {}, to which it {}: \
         that is one turn, and not a high and a low water; look whether one of the two is too many, or a line between them is \
         missing, and import the file again. If it is the record of a gauge, say so (`import --as gauge`)",
        b.line, c.line, b.level_m, first.line, way.0, last.line, way.1
    );
    Some((c.line, why))
}

/// Takes rows as the record of a gauge. In the hour that the clock shows twice its order in the file tells the
/// second reading of a time from the first.
fn gauge(taking: &mut Taking<'_>, mark: Mark, rows: &[WaterRow]) -> Result<(), Stop> {
    taking.understand("heights", "a gauge record, as they do not turn from high to low and back each time");
    let mut readings: Vec<(Timestamp, f64)> = Vec::with_capacity(rows.len());
    let mut before: Option<Timestamp> = None;
    for row in rows {
        let mut time = row.time;
        match (row.doubt, row.moment, before) {
            (Some(Doubt::Twice), Moment::Clock(at), Some(before)) if time <= before => {
                time = taking.zone.to_ambiguous_timestamp(at).later().unwrap_or(time);
            }
            (doubt, ..) => count_doubt(taking, row.line, doubt),
        }
        before = Some(time);
        readings.push((time, row.level_m));
    }
    readings.sort_by_key(|r| r.0);
    readings.dedup_by_key(|r| r.0);
    let (beach, name, uid) = (taking.beach.uid, taking.stem.clone(), Uid::of_content("", []));
    taking.take(mark, GaugeRecord { uid, beach, name, readings })
}

/// The rule by which a record of the sea is split, in words.
fn storm_rule(options: &Options) -> String {
    let threshold_m = options.storm_threshold_m.unwrap_or(STORM_M);
    format!("significant wave height of at least {threshold_m:.1} m; more than {} h below it part two storms", CALM_S / 3600)
}
