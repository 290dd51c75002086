use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp, civil};

use super::turns::{Turn, TurnKind};
use super::window::Window;
use super::{Datum, TideError};

/// One line of a tide table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TableEntry {
    /// When the water turns.
    pub time: Timestamp,
    /// Level, metres above the table's datum.
    pub level_m: f64,
    /// High or low water, where the table says so.
    pub kind: Option<TurnKind>,
}

/// One line of a tide table as printed: local time, height in the table's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrintedEntry {
    /// Date and time on the clock of the table's zone.
    pub at: civil::DateTime,
    /// Height in the table's unit.
    pub height: f64,
    /// High or low water, where the table says so.
    pub kind: Option<TurnKind>,
}

/// The unit of a table's heights.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HeightUnit {
    /// Metres.
    Metres,
    /// International feet of 0.3048 m.
    Feet,
}

/// An entry in the hour that the clocks show twice, and the reading that was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DoubledHour {
    /// Number of the entry, the first being 1.
    pub entry: usize,
    /// The moment chosen: that which keeps the table's rhythm.
    pub taken: Timestamp,
}

/// The person's own tide table: high and low waters, a half-cosine between them.
///
/// Between two turning points h = h₁ + (h₂ − h₁)(1 − cos πx)/2 with x the part of the time gone by; the
/// common approximation for an undistorted tide (within a few centimetres of the rule of twelfths, which
/// the tests compare). It knows nothing outside its first and last entry, nor across a gap in which
/// entries must be missing: an interval more than 2.2 times the table's median. A high and a low water that are printed with one
/// height, as of a mixed tide at neaps, stand: between them the half-cosine has no rise.
#[derive(Debug, Clone, PartialEq)]
pub struct TideTable {
    name: String,
    datum: Datum,
    turns: Vec<Turn>,
    /// Longest interval that is drawn through.
    longest: SignedDuration,
}

impl TideTable {
    /// A table of entries in order of time. Kinds left open are taken from the levels, and where two neighbours have one level
    /// from the turn beside them. No three in a row have one level, as the one in the middle would be no turn.
    ///
    /// # Errors
    /// [`TideError::TableTooShort`], [`TideError::TableOrder`], [`TideError::TableAlternation`] or
    /// [`TideError::TableLevels`] naming the entry (the first is number 1).
    pub fn new(name: impl Into<String>, datum: Datum, entries: &[TableEntry]) -> Result<Self, TideError> {
        if entries.len() < 2 {
            return Err(TideError::TableTooShort(entries.len()));
        }
        let mut turns: Vec<Turn> = Vec::with_capacity(entries.len());
        for (i, entry) in entries.iter().enumerate() {
            let (number, time) = (i + 1, entry.time);
            if !entry.level_m.is_finite() {
                return Err(TideError::TableLevels { entry: number, time });
            }
            let Some(kind) = entry.kind.or_else(|| kind_by_level(entries, &turns)) else {
                return Err(TideError::TableLevels { entry: number + 1, time: entries[1].time });
            };
            if let Some(before) = turns.last() {
                let higher = entry.level_m > before.level_m;
                let stands = entry.level_m == before.level_m;
                let is_third = i >= 2 && entries[i - 2].level_m == entry.level_m;
                if time <= before.time {
                    return Err(TideError::TableOrder { entry: number, time });
                }
                if kind == before.kind {
                    return Err(TideError::TableAlternation { entry: number, time, kind });
                }
                let is_out = if stands { is_third || entries.len() == 2 } else { higher != (kind == TurnKind::High) };
                if is_out {
                    return Err(TideError::TableLevels { entry: number, time });
                }
            }
            turns.push(Turn { time, kind, level_m: entry.level_m });
        }
        let times: Vec<Timestamp> = turns.iter().map(|turn| turn.time).collect();
        let longest = SignedDuration::try_from_secs_f64(2.2 * median_s(&times)).unwrap_or(SignedDuration::MAX);
        Ok(Self { name: name.into(), datum, turns, longest })
    }

    /// A table as printed, in the clock of a zone and in its own unit. Where the clocks go back an entry may
    /// stand for two moments; the one that keeps the table's rhythm is taken and told.
    ///
    /// # Errors
    /// [`TideError::TableMissingHour`] for a time that the clocks skip, and as [`TideTable::new`].
    pub fn printed(
        name: impl Into<String>,
        datum: Datum,
        zone: &TimeZone,
        unit: HeightUnit,
        entries: &[PrintedEntry],
    ) -> Result<(Self, Vec<DoubledHour>), TideError> {
        let to_m = match unit {
            HeightUnit::Metres => 1.0,
            HeightUnit::Feet => 0.3048,
        };
        let mut times = Vec::with_capacity(entries.len());
        for (i, entry) in entries.iter().enumerate() {
            let wrong = || TideError::TableMissingHour { entry: i + 1, at: entry.at, zone: zone_name(zone) };
            let moment = zone.to_ambiguous_timestamp(entry.at);
            let fold = match moment.offset() {
                AmbiguousOffset::Gap { .. } => return Err(wrong()),
                AmbiguousOffset::Fold { .. } => Some(moment.later().map_err(|_| wrong())?),
                AmbiguousOffset::Unambiguous { .. } => None,
            };
            times.push((moment.earlier().map_err(|_| wrong())?, fold));
        }
        let usual_s = usual_gaps_s(&times);
        let mut doubled = Vec::new();
        let mut out: Vec<TableEntry> = Vec::with_capacity(entries.len());
        for (i, (entry, &(earlier, later))) in entries.iter().zip(&times).enumerate() {
            let mut time = earlier;
            if let Some(later) = later {
                let off = |t: Timestamp| {
                    let before = out.last().map(|e| t.duration_since(e.time).as_secs_f64() - usual_s(i.saturating_sub(1)));
                    let after = times.get(i + 1).map(|(next, _)| next.duration_since(t).as_secs_f64() - usual_s(i));
                    [before, after].into_iter().flatten().map(f64::abs).sum::<f64>()
                };
                if off(later) < off(earlier) {
                    time = later;
                }
                doubled.push(DoubledHour { entry: i + 1, taken: time });
            }
            out.push(TableEntry { time, level_m: entry.height * to_m, kind: entry.kind });
        }
        Ok((Self::new(name, datum, &out)?, doubled))
    }

    /// The table's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What its levels count from.
    pub fn datum(&self) -> &Datum {
        &self.datum
    }

    /// Every entry as a turning point.
    pub fn entries(&self) -> &[Turn] {
        &self.turns
    }

    /// First and last moment the table speaks of.
    pub fn covers(&self) -> (Timestamp, Timestamp) {
        match (self.turns.first(), self.turns.last()) {
            (Some(first), Some(last)) => (first.time, last.time),
            _ => unreachable!("a table has at least two entries"),
        }
    }

    /// The spans without a gap.
    pub fn spans(&self) -> Vec<Window> {
        let runs = self.turns.chunk_by(|a, b| b.time.duration_since(a.time) <= self.longest);
        runs.filter_map(|run| Some(Window { from: run.first()?.time, to: run.last()?.time })).filter(|w| w.from < w.to).collect()
    }

    /// Level at a moment, metres above the table's datum; `None` outside the table and in its gaps.
    pub fn height_m(&self, time: Timestamp) -> Option<f64> {
        let after = self.turns.partition_point(|turn| turn.time <= time);
        if after == self.turns.len() {
            return self.turns.last().filter(|last| last.time == time).map(|last| last.level_m);
        }
        let (a, b) = (self.turns.get(after.checked_sub(1)?)?, self.turns.get(after)?);
        if b.time.duration_since(a.time) > self.longest {
            return (time == a.time).then_some(a.level_m);
        }
        let part = time.duration_since(a.time).as_secs_f64() / b.time.duration_since(a.time).as_secs_f64();
        Some(a.level_m + (b.level_m - a.level_m) * 0.5 * (1.0 - (std::f64::consts::PI * part).cos()))
    }

    /// Turning points from `from` up to but not including `to`.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        self.turns.iter().filter(|turn| turn.time >= from && turn.time < to).copied().collect()
    }
}

/// The kind of the entry after those already read, by its level: beside a neighbour of the same level it is the other one than
/// that. `None` of a first entry whose neighbours do not tell. The first of two entries at least is read, or a later one.
fn kind_by_level(entries: &[TableEntry], before: &[Turn]) -> Option<TurnKind> {
    let of = |is_high: bool| if is_high { TurnKind::High } else { TurnKind::Low };
    let level_m = entries.get(before.len())?.level_m;
    if let Some(before) = before.last() {
        return Some(of(if level_m == before.level_m { before.kind == TurnKind::Low } else { level_m > before.level_m }));
    }
    let next = entries.get(1)?;
    if level_m != next.level_m {
        return Some(of(level_m > next.level_m));
    }
    // A rise after the two makes the second a low water, and so the first a high one.
    let is_high = |after: &TableEntry| (after.level_m != level_m).then_some(after.level_m > level_m);
    next.kind.map(|kind| of(kind == TurnKind::Low)).or_else(|| entries.get(2).and_then(is_high).map(of))
}

/// How long a rise or a fall of a printed table may be taken to last, seconds, by its number: as those of the tide a lunar day before
/// and after it, or else of the tides beside it, and where there is none as any. Rises last longer than falls or the other way
/// round, and the first tide of a day longer than the second. None is taken that hangs on a time that may stand for two moments.
fn usual_gaps_s(times: &[(Timestamp, Option<Timestamp>)]) -> impl Fn(usize) -> f64 {
    let rhythm_s = median_s(&times.iter().map(|(time, _)| *time).collect::<Vec<_>>());
    let gap_s = |p: &[(Timestamp, Option<Timestamp>)]| {
        let s = p[1].0.duration_since(p[0].0).as_secs_f64();
        (p[0].1.is_none() && p[1].1.is_none() && s <= 2.0 * rhythm_s).then_some(s)
    };
    let gaps_s: Vec<Option<f64>> = times.windows(2).map(gap_s).collect();
    move |n| {
        let beside = |by: usize| {
            let both = [n.checked_sub(by), n.checked_add(by)].into_iter().flatten();
            let known: Vec<f64> = both.filter_map(|k| *gaps_s.get(k)?).collect();
            (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
        };
        beside(4).or_else(|| beside(2)).unwrap_or(rhythm_s)
    }
}

/// Median interval between neighbours, seconds; infinite for fewer than two.
fn median_s(times: &[Timestamp]) -> f64 {
    let mut gaps: Vec<f64> = times.windows(2).map(|pair| pair[1].duration_since(pair[0]).as_secs_f64()).collect();
    gaps.sort_by(f64::total_cmp);
    gaps.get(gaps.len() / 2).copied().unwrap_or(f64::INFINITY)
}

fn zone_name(zone: &TimeZone) -> String {
    zone.iana_name().unwrap_or("the table's zone").to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(hour: i64, level_m: f64, kind: Option<TurnKind>) -> TableEntry {
        TableEntry { time: Timestamp::from_second(hour * 3600).unwrap(), level_m, kind }
    }

    fn table(entries: &[TableEntry]) -> Result<TideTable, TideError> {
        TideTable::new("mine", Datum::ChartDatum, entries)
    }

    /// Rule of twelfths (handbook rule): 1, 3, 6, 9, 11 and 12 twelfths of the range after each sixth
    /// of the time. It rounds the half-cosine to within 2.5 % of the range.
    #[test]
    fn half_cosine_stays_near_the_rule_of_twelfths() {
        let t = table(&[entry(0, 0.0, None), entry(6, 12.0, None)]).unwrap();
        for (hour, twelfths) in [(0, 0.0), (1, 1.0), (2, 3.0), (3, 6.0), (4, 9.0), (5, 11.0), (6, 12.0)] {
            let h = t.height_m(Timestamp::from_second(hour * 3600).unwrap()).unwrap();
            assert!((h - twelfths).abs() <= 0.025 * 12.0, "{hour} h: {h} against {twelfths}");
        }
    }

    #[test]
    fn knows_nothing_outside() {
        let t = table(&[entry(0, 1.0, None), entry(6, 4.0, None), entry(12, 0.5, None)]).unwrap();
        assert_eq!(t.height_m(Timestamp::from_second(-1).unwrap()), None);
        assert_eq!(t.height_m(Timestamp::from_second(0).unwrap()), Some(1.0));
        assert_eq!(t.height_m(Timestamp::from_second(12 * 3600).unwrap()), Some(0.5));
        assert_eq!(t.height_m(Timestamp::from_second(12 * 3600 + 1).unwrap()), None);
        assert_eq!(t.entries().iter().map(|turn| turn.kind).collect::<Vec<_>>(), [TurnKind::Low, TurnKind::High, TurnKind::Low]);
    }

    #[test]
    fn refuses_what_is_no_tide() {
        let (high, low) = (Some(TurnKind::High), Some(TurnKind::Low));
        assert_eq!(table(&[entry(0, 1.0, None)]), Err(TideError::TableTooShort(1)));
        let unordered = table(&[entry(6, 4.0, None), entry(0, 1.0, None)]);
        assert!(matches!(unordered, Err(TideError::TableOrder { entry: 2, .. })));
        let twice = table(&[entry(0, 1.0, low), entry(6, 4.0, high), entry(12, 4.5, high)]);
        assert!(matches!(twice, Err(TideError::TableAlternation { entry: 3, kind: TurnKind::High, .. })));
        let rising = table(&[entry(0, 1.0, None), entry(6, 4.0, None), entry(12, 4.5, None)]);
        assert!(matches!(rising, Err(TideError::TableAlternation { entry: 3, .. })));
        let upside_down = table(&[entry(0, 4.0, low), entry(6, 1.0, high)]);
        assert!(matches!(upside_down, Err(TideError::TableLevels { entry: 2, .. })));
        assert!(matches!(table(&[entry(0, f64::NAN, None), entry(6, 1.0, None)]), Err(TideError::TableLevels { entry: 1, .. })));
    }

    /// A mixed tide at neaps prints its smaller high and low water alike.
    #[test]
    fn two_alike_are_water_that_stands_named_or_not() {
        use TurnKind::{High, Low};
        let kinds = |levels: &[f64]| {
            let open: Vec<TableEntry> = (0..).zip(levels).map(|(n, m)| entry(6 * n, *m, None)).collect();
            let told = table(&open)?;
            let kinds: Vec<TurnKind> = told.entries().iter().map(|t| t.kind).collect();
            let named: Vec<TableEntry> = open.iter().zip(&kinds).map(|(e, k)| TableEntry { kind: Some(*k), ..*e }).collect();
            assert_eq!(table(&named).as_ref(), Ok(&told), "{levels:?}");
            Ok::<_, TideError>(kinds)
        };
        // In a rise, in a fall, at either end.
        assert_eq!(kinds(&[0.3, 0.62, 0.62, 1.1, 0.2]), Ok(vec![Low, High, Low, High, Low]));
        assert_eq!(kinds(&[1.1, 0.62, 0.62, 0.2, 1.0]), Ok(vec![High, Low, High, Low, High]));
        assert_eq!(kinds(&[0.62, 0.62, 1.1]), Ok(vec![High, Low, High]));
        assert_eq!(kinds(&[0.62, 0.62, 0.1, 0.9]), Ok(vec![Low, High, Low, High]));
        assert_eq!(kinds(&[0.3, 0.9, 0.9]), Ok(vec![Low, High, Low]));
        // At the top of a rise there is a line too many or too few, three are no turns, and a table that only stands is none.
        assert!(matches!(kinds(&[0.3, 0.62, 0.62, 0.2]), Err(TideError::TableAlternation { entry: 4, .. })));
        assert!(matches!(kinds(&[0.3, 0.62, 0.62, 0.62, 0.2]), Err(TideError::TableLevels { entry: 4, .. })));
        assert!(matches!(kinds(&[0.62, 0.62, 0.62]), Err(TideError::TableLevels { .. })));
        assert!(matches!(kinds(&[0.62, 0.62]), Err(TideError::TableLevels { entry: 2, .. })));
        let under =
            [entry(0, 0.3, Some(Low)), entry(6, 0.62, Some(High)), entry(12, 0.62, Some(Low)), entry(18, 0.5, Some(High))];
        assert!(matches!(table(&under), Err(TideError::TableLevels { entry: 4, .. })));
    }

    #[test]
    fn between_two_alike_the_water_stands_and_all_that_is_read_of_it_is_a_figure() {
        let levels = [0.3, 1.2, 0.62, 0.62, 0.2, 1.1, 0.4];
        let entries: Vec<TableEntry> = (0..).zip(levels).map(|(n, m)| entry(6 * n, m, None)).collect();
        let t = table(&entries).unwrap();
        let at = |minutes: i64| Timestamp::from_second(60 * minutes).unwrap();
        for minutes in (720..=1080).step_by(20) {
            assert!((t.height_m(at(minutes)).unwrap() - 0.62).abs() < 1e-9, "{minutes}");
        }
        let water = crate::tide::Water::of_table(t.clone());
        let (from, to) = t.covers();
        assert!(water.heights(from, 600.0, 200).iter().flatten().all(|m| m.is_finite()));
        // Under the level at which it stands the water passes once down and once up, whatever it does between.
        let passings: Vec<bool> = water.passings(0.5, from, to).iter().map(|p| p.rising).collect();
        assert_eq!(passings, [true, false, true, false]);
        let kept = crate::tide::without_small(t.entries(), 0.1);
        assert_eq!(kept.iter().map(|t| t.level_m).collect::<Vec<_>>(), [0.3, 1.2, 0.2, 1.1, 0.4]);
    }

    fn printed(zone: &str, unit: HeightUnit, lines: &[(&str, f64)]) -> Result<(TideTable, Vec<DoubledHour>), TideError> {
        let entries: Vec<PrintedEntry> =
            lines.iter().map(|&(at, height)| PrintedEntry { at: at.parse().unwrap(), height, kind: None }).collect();
        TideTable::printed("mine", Datum::ChartDatum, &TimeZone::get(zone).unwrap(), unit, &entries)
    }

    #[test]
    fn reads_feet_in_local_time() {
        let lines = [("2024-06-01T05:00", 0.0), ("2024-06-01T11:10", 10.0)];
        let (table, doubled) = printed("Europe/London", HeightUnit::Feet, &lines).unwrap();
        assert!(doubled.is_empty());
        assert_eq!(table.entries()[1].time, "2024-06-01T10:10:00Z".parse().unwrap());
        assert!((table.entries()[1].level_m - 3.048).abs() < 1e-12);
    }

    /// 2024-10-27 in London: 01:00 to 02:00 comes twice. A low at 01:30 six hours after a high at 20:20 (BST)
    /// is the first, after one at 20:50 with the next at 07:30 the second.
    #[test]
    fn takes_the_reading_of_a_doubled_hour_that_keeps_the_rhythm() {
        for (before, after, taken) in [("20:20", "06:40", "00:30"), ("20:05", "07:40", "01:30")] {
            let (from, to) = (format!("2024-10-26T{before}"), format!("2024-10-27T{after}"));
            let lines = [("2024-10-26T14:08", 0.7), (from.as_str(), 5.0), ("2024-10-27T01:30", 1.0), (to.as_str(), 5.1)];
            let (_, doubled) = printed("Europe/London", HeightUnit::Metres, &lines).unwrap();
            let expected: Timestamp = format!("2024-10-27T{taken}:00Z").parse().unwrap();
            assert_eq!(doubled, [DoubledHour { entry: 3, taken: expected }], "{before} {after}");
        }
    }

    /// A tide that falls in 7 hours and rises in 5 h 25 min, as up an estuary: its low or high in the hour that London shows twice on
    /// 27 October 2024 is read as what it was, the first or the second.
    #[test]
    fn a_doubled_hour_is_read_by_how_long_the_tide_rises_and_falls_there() {
        let zone = TimeZone::get("Europe/London").unwrap();
        for at in ["2024-10-27T00:10:00Z", "2024-10-27T00:30:00Z", "2024-10-27T01:10:00Z", "2024-10-27T01:45:00Z"] {
            let there: Timestamp = at.parse().unwrap();
            for high in [false, true] {
                for around in [2, 4, 12] {
                    // Falls come before lows; turns are numbered from the one in that hour.
                    let minutes = |n: i64| n.div_euclid(2) * 745 + n.rem_euclid(2) * if high { 420 } else { 325 };
                    let moments: Vec<Timestamp> =
                        (-around..=around).map(|n| there + SignedDuration::from_mins(minutes(n))).collect();
                    let lines: Vec<PrintedEntry> = (-around..=around)
                        .zip(&moments)
                        .map(|(n, t)| PrintedEntry {
                            at: zone.to_datetime(*t),
                            height: if (n.rem_euclid(2) == 0) == high { 5.0 } else { 1.0 },
                            kind: None,
                        })
                        .collect();
                    let (table, doubled) = TideTable::printed("x", Datum::ChartDatum, &zone, HeightUnit::Metres, &lines).unwrap();
                    let read: Vec<Timestamp> = table.entries().iter().map(|t| t.time).collect();
                    assert!(read == moments && doubled.len() == 1, "{at} {high} {around}: {doubled:?}");
                }
            }
        }
    }

    #[test]
    fn refuses_an_hour_that_the_clocks_skip() {
        let lines = [("2024-03-30T20:00", 1.0), ("2024-03-31T01:30", 4.0)];
        let said = printed("Europe/London", HeightUnit::Metres, &lines).unwrap_err().to_string();
        assert!(said.contains("entry 2") && said.contains("Europe/London"), "{said}");
    }

    #[test]
    fn draws_nothing_through_a_gap() {
        let entries: Vec<TableEntry> =
            [0, 6, 12, 18, 66, 72, 78].iter().enumerate().map(|(i, &h)| entry(h, (i % 2) as f64 * 4.0 + 0.5, None)).collect();
        let t = table(&entries).unwrap();
        assert_eq!(t.spans().len(), 2);
        assert!(t.height_m(Timestamp::from_second(17 * 3600).unwrap()).is_some());
        assert_eq!(t.height_m(Timestamp::from_second(40 * 3600).unwrap()), None);
        assert_eq!(t.height_m(Timestamp::from_second(18 * 3600).unwrap()), Some(4.5));
        assert!(t.height_m(Timestamp::from_second(67 * 3600).unwrap()).is_some());
    }
}
