//! Single turns of a tide table that do not go with the others: misprinted, or misread.

use std::collections::BTreeSet;

use jiff::tz::TimeZone;

use super::exchanged::exchanged;
use super::off::{Off, TIDAL_M, Usual, is_gone, off_station};
use super::pairs::{Pair, is_own, mean_range_m, median};
use super::smooth::{RUN, out_of_a_line, standing_out};
use super::{Doubt, Weight};
use crate::tide::{Predictor, TideTable, Turn, TurnKind, Window};

/// A turn is out of line with a station's by more than so many minutes, or with its neighbours in the table alone by more
/// than so many where the tide ranges so far, metres (an hour is then seen at the ends of a table too, and of 269 sound ones of
/// a month six hold a turn that is out by 50 minutes), ...
const OUT_MIN: f64 = 30.0;
const OUT_ALONE_MIN: f64 = 53.7;
const MADE_M: f64 = 0.5;
/// ... beside a station than so far: its word is the second against the turn, ...
const MADE_BESIDE_M: f64 = 0.25;
/// ... or this height, metres, and this part of the mean range, ...
const OUT_M: f64 = 0.4;
const OUT_PART: f64 = 0.12;
/// ... and beside a station by more than so many times what turns of its kind are out of line by in the middle: where a
/// tide goes unevenly, or a station is of another sea, that is much.
const OUT_TIMES: f64 = 8.0;
/// A table too short for its own turns to tell is held against the station alone, and less closely: so many minutes,
/// metres and part of the range.
const SHORT_MIN: f64 = 45.0;
const SHORT_M: f64 = 0.5;
const SHORT_PART: f64 = 0.2;
/// If more than this part of the turns is out of line, and more than so many, the fault is not in single ones.
const MOST_PART: f64 = 0.1;
const MOST: usize = 3;
/// Turns in a row, of both kinds and of one, that are off by one and the same: a row of a printed table for a day, or a column
/// through some days. Each is off by more than so many minutes, and by so many times what its kind is off by in the middle; they
/// differ among themselves by no more than this part of it.
const ROW: usize = 3;
const ROW_OF_KIND: usize = 2;
const ROW_MIN: f64 = 40.0;
const ROW_TIMES: f64 = 5.0;
const ROW_ALIKE: f64 = 0.35;
/// Turns of a kind that do not come evenly, as those of a daily tide, have no neighbours that tell of them: beside a station their
/// heights are then out of line by more than so many times what nine in ten of their kind are, too, and by so many metres. (Of the
/// 2,980 pairs of stations within 10 km that have such turns twice what nine in ten are and 0.4 m accused seven.)
const UNEVEN_TIMES: f64 = 2.0;
const UNEVEN_M: f64 = 0.6;
/// A line is lost where two turns lie so many times as far apart as is usual and differ by less than this part of the mean
/// range: a long rise or fall is a great one.
const LOST_TIMES: f64 = 1.6;
const LOST_PART: f64 = 0.2;
const LOST_SPREADS: f64 = 8.0;
/// So many turns are named, the rest counted.
const NAMED: usize = 3;
/// Turns of a kind come 12.42 h apart, and a diurnal tide's do not: from one to the next but one lie so many hours, and a
/// time that is misprinted leaves that so.
const NEXT_BUT_ONE_H: std::ops::Range<f64> = 19.0..31.0;
const APART_H: f64 = 12.420_6;

/// The runs of turns of one kind that come about half a lunar day apart.
fn even_runs(turns: &[Turn]) -> Vec<&[Turn]> {
    let hours = |a: &Turn, b: &Turn| b.time.duration_since(a.time).as_secs_f64() / 3600.0;
    let even: Vec<bool> = turns.windows(3).map(|w| NEXT_BUT_ONE_H.contains(&hours(&w[0], &w[2]))).collect();
    let mut runs = Vec::new();
    let mut first = 0;
    for run in even.chunk_by(|a, b| a == b) {
        if run[0] {
            runs.push(&turns[first..first + run.len() + 2]);
        }
        first += run.len();
    }
    runs
}

/// By so many minutes a turn is out of line, `least_min` or more: where the tide ranges little a time may jump, and matters once
/// the water makes so many metres in it at its fastest.
fn matters_min(turns: &[Turn], least_min: f64, made_m: f64) -> f64 {
    let m_per_min = 0.5 * mean_range_m(turns).unwrap_or_default() * std::f64::consts::TAU / (60.0 * APART_H);
    least_min.max(made_m / m_per_min)
}

/// By so many minutes a turn is out of line with its neighbours alone.
fn alone_min(turns: &[Turn]) -> f64 {
    matters_min(turns, OUT_ALONE_MIN, MADE_M)
}

/// Turns out of line with their neighbours of the same kind in the table, by more than so many minutes or metres.
fn off_neighbours(turns: &[Turn], least_min: f64) -> Vec<Off> {
    let range_m = mean_range_m(turns).unwrap_or_default();
    let least_min = if range_m >= TIDAL_M { least_min } else { f64::INFINITY };
    let least_m = OUT_M.max(OUT_PART * range_m);
    let mut out = Vec::new();
    for kind in [TurnKind::High, TurnKind::Low] {
        let of: Vec<Turn> = turns.iter().copied().filter(|t| t.kind == kind).collect();
        for run in even_runs(&of).into_iter().filter(|run| run.len() >= RUN) {
            let minutes =
                |(n, t): (usize, &Turn)| t.time.duration_since(run[0].time).as_secs_f64() / 60.0 - 60.0 * APART_H * n as f64;
            let late: Vec<f64> = run.iter().enumerate().map(minutes).collect();
            let levels: Vec<f64> = run.iter().map(|t| t.level_m).collect();
            let off = both(standing_out(&late, least_min), standing_out(&levels, least_m));
            out.extend(off.into_iter().map(|(n, late_min, up_m)| Off { turn: run[n], late_min, up_m, is_gone: true }));
        }
    }
    out
}

/// Those of some turns of a kind that are out of line with a station, by how far they all are in the middle.
fn out_of_line(all: Vec<Off>, least_min: f64, least_m: f64) -> Vec<Off> {
    let usual = |of: fn(&Off) -> f64| OUT_TIMES * median(all.iter().map(|o| of(o).abs())).unwrap_or_default();
    let (out_min, out_m) = (least_min.max(usual(|o| o.late_min)), least_m.max(usual(|o| o.up_m)));
    all.into_iter().filter(|o| o.late_min.abs() > out_min || o.up_m.abs() > out_m).collect()
}

/// Turns that do not go with a station's, nor with those beside them where they are enough to tell.
fn off_both(turns: &[Turn], pairs: &[Pair]) -> Vec<Off> {
    let range_m = mean_range_m(turns).unwrap_or_default();
    // Of sound neighbours 14 in 100 have a turn that goes another way than the station's: it must stand out here, too.
    let out_min = matters_min(turns, OUT_MIN, MADE_BESIDE_M);
    let alone = off_neighbours(turns, out_min);
    let off = off_station(pairs);
    let of_kind = |kind: TurnKind| {
        if turns.iter().filter(|t| t.kind == kind).count() < RUN {
            return off_few(pairs, kind, range_m, matters_min(turns, SHORT_MIN, MADE_BESIDE_M));
        }
        let of: Vec<Off> = off.iter().copied().filter(|o| o.turn.kind == kind).collect();
        let mut out = uneven_out(turns, pairs, kind, OUT_M.max(OUT_PART * range_m));
        let judged = out_of_line(of, out_min, OUT_M.max(OUT_PART * range_m)).into_iter();
        out.extend(judged.filter(|o| alone.iter().any(|a| a.turn.time == o.turn.time)));
        out
    };
    let paired = [TurnKind::High, TurnKind::Low].into_iter().flat_map(of_kind);
    // What finds no turn of the station's near it, or lies beyond what is predicted there, its own neighbours tell of.
    let is_paired = |o: &Off| pairs.iter().any(|p| p.own.time == o.turn.time);
    let unpaired = off_neighbours(turns, alone_min(turns)).into_iter().filter(|o| !is_paired(o));
    paired.chain(unpaired).collect()
}

/// Turns of a kind that no run of even ones holds, and so none of their neighbours can tell of, whose heights are out of line with
/// a station's: a low of a daily tide that is misprinted bares sand as any other does. Each is held to what the others are, as
/// among few one that is wrong moves the middle. O(turns^2).
fn uneven_out(turns: &[Turn], pairs: &[Pair], kind: TurnKind, least_m: f64) -> Vec<Off> {
    let all: Vec<Turn> = turns.iter().copied().filter(|t| t.kind == kind).collect();
    let even: BTreeSet<_> =
        even_runs(&all).into_iter().filter(|run| run.len() >= RUN).flat_map(|run| run.iter().map(|t| t.time)).collect();
    let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
    let out = |(n, pair): (usize, &&Pair)| {
        let others = of.iter().enumerate().filter(move |(k, _)| *k != n).map(|(_, p)| *p);
        let usual = Usual::new(others.clone());
        let mut sizes: Vec<f64> = others.map(|p| usual.off(p).up_m.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let at = |part: usize| sizes.get(part * sizes.len() / 10).copied().unwrap_or_default();
        // By their heights alone: the times of a tide that is nearly flat for a day jump by hours.
        let most_m = least_m.max(UNEVEN_M).max(OUT_TIMES * at(5)).max(UNEVEN_TIMES * at(9));
        Some(usual.off(pair)).filter(|o| o.up_m.abs() > most_m)
    };
    of.iter().enumerate().filter(|(_, p)| !even.contains(&p.own.time)).filter_map(out).collect()
}

/// Turns of a kind, in a table of some days, whose differences from a station's leave the line of those beside them.
fn off_few(pairs: &[Pair], kind: TurnKind, range_m: f64, least_min: f64) -> Vec<Off> {
    let least_min = if range_m >= TIDAL_M { least_min } else { f64::INFINITY };
    let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
    let late = out_of_a_line(&of.iter().map(|p| p.late_min).collect::<Vec<_>>(), least_min);
    let least_m = SHORT_M.max(SHORT_PART * range_m);
    let up = out_of_a_line(&of.iter().map(|p| p.own.level_m - p.there_m).collect::<Vec<_>>(), least_m);
    both(late, up)
        .into_iter()
        .map(|(n, late_min, up_m)| Off { turn: of[n].own, late_min, up_m, is_gone: is_gone(of[n]) })
        .collect()
}

/// What a turn may be off in.
type Figure = fn(&Off) -> f64;

/// Turns in a row that are all late, or early, or high, or low by the same beside a station: their neighbours in the table are
/// wrong too, so these cannot tell of them, and there are more than single misprints come to.
fn off_in_a_row(turns: &[Turn], pairs: &[Pair]) -> Vec<Off> {
    let range_m = mean_range_m(turns).unwrap_or_default();
    let least_min = if range_m >= TIDAL_M { matters_min(turns, ROW_MIN, MADE_BESIDE_M) } else { f64::INFINITY };
    let mut all = off_station(pairs);
    all.sort_by_key(|o| o.turn.time);
    let figures: [(Figure, f64); 2] = [(|o| o.late_min, least_min), (|o| o.up_m, OUT_M.max(OUT_PART * range_m))];
    let mut out: Vec<Off> = Vec::new();
    for (of, least) in figures {
        let usual = |kind: TurnKind| median(all.iter().filter(|o| o.turn.kind == kind).map(|o| of(o).abs())).unwrap_or_default();
        let (high, low) = (usual(TurnKind::High), usual(TurnKind::Low));
        let is_off =
            |o: &Off, times: f64| of(o).abs() > least.max(times * if o.turn.kind == TurnKind::High { high } else { low });
        let alike = |a: &Off, b: &Off| (of(a) - of(b)).abs() <= ROW_ALIKE * of(a).abs().max(of(b).abs());
        let mut take = |row: Vec<Off>, times: f64, most: usize| {
            let together = |a: &Off, b: &Off| is_off(a, times) && is_off(b, times) && alike(a, b);
            for group in row.chunk_by(together).filter(|g| g.len() >= most) {
                out.extend(group.iter().filter(|o| is_off(o, times)));
            }
        };
        take(all.clone(), ROW_TIMES, ROW);
        for kind in [TurnKind::High, TurnKind::Low] {
            take(all.iter().copied().filter(|o| o.turn.kind == kind).collect(), OUT_TIMES, ROW_OF_KIND);
        }
    }
    out.sort_by_key(|o| o.turn.time);
    out.dedup_by_key(|o| o.turn.time);
    // Where half of a table is off, the table is.
    if 2 * out.len() > turns.len() { Vec::new() } else { out }
}

/// Lateness and height of those that are off in either.
fn both(late: Vec<(usize, f64)>, up: Vec<(usize, f64)>) -> Vec<(usize, f64, f64)> {
    let of = |all: &[(usize, f64)], n: usize| all.iter().find(|(k, _)| *k == n).map_or(0.0, |(_, off)| *off);
    let which: BTreeSet<usize> = late.iter().chain(&up).map(|(n, _)| *n).collect();
    which.into_iter().map(|n| (n, of(&late, n), of(&up, n))).collect()
}

/// From the turn before one to the turn after it: what is read of the water there rests on it.
fn rests_on(turns: &[Turn], turn: &Turn) -> Option<Window> {
    let n = turns.iter().position(|t| t.time == turn.time)?;
    let (before, after) = (turns.get(n.saturating_sub(1))?, turns.get(n + 1).or(turns.last())?);
    Some(Window { from: before.time, to: after.time })
}

/// A station near a table: its name, the table's turns paired with its own, and its prediction.
pub(super) type There<'a> = (&'a str, &'a [Pair], &'a Predictor);

/// Turns of a table that are out of line with those of a station, `there`, or with one another where none is
/// near: each is named with its date and time on the clock of the beach, and no route is planned on the water that rests on it
/// until it is mended or confirmed.
pub(super) fn out_of_line_doubt(key: &str, table: &TideTable, there: Option<There<'_>>, zone: &TimeZone) -> Option<Doubt> {
    let turns = table.entries();
    let mut out = match there {
        Some((_, pairs, _)) => off_both(turns, pairs),
        None => off_neighbours(turns, alone_min(turns)),
    };
    let is_owned = |o: &Off| there.is_some_and(|(_, pairs, predictor)| is_own(&o.turn, pairs, predictor));
    out.retain(|o| !is_owned(o));
    if out.len() > MOST.max((MOST_PART * turns.len() as f64) as usize) {
        out.clear();
    }
    let rows = there.map_or_else(Vec::new, |(_, pairs, _)| off_in_a_row(turns, pairs));
    out.extend(rows.into_iter().filter(|o| !is_owned(o)));
    // Only now, as how many there are tells whether the fault is in single ones.
    let least_m = OUT_M.max(OUT_PART * mean_range_m(turns).unwrap_or_default());
    out.retain(|o| o.is_gone || o.up_m.abs() > least_m);
    let mut exchanged = there.map_or_else(Vec::new, |(_, pairs, _)| exchanged(turns, pairs));
    exchanged.retain(|o| !is_owned(o));
    let half_days = match exchanged.len() {
        0 => String::new(),
        n => format!(
            " {n} of them go with those there when moved by twelve hours: look whether morning and afternoon are exchanged on those days."
        ),
    };
    out.extend(exchanged);
    out.sort_by_key(|o| o.turn.time);
    out.dedup_by_key(|o| o.turn.time);
    if out.is_empty() {
        return None;
    }
    let mut named: Vec<String> = out.iter().take(NAMED).map(|o| o.said(zone)).collect();
    named.extend((out.len() > NAMED).then(|| format!("and {} more", out.len() - NAMED)));
    let of = there.map_or("those beside them".to_owned(), |(name, ..)| format!("those of {name}"));
    // With all that is off, and by how much: who confirmed it has not confirmed what a table says that replaces it.
    let part = |o: &Off| format!("{}{:+.0}{:+.1}", o.turn.time.strftime("%Y%m%dT%H%M"), o.late_min, o.up_m);
    let all = blake3::hash(out.iter().map(part).collect::<String>().as_bytes()).to_hex();
    Some(Doubt {
        key: format!("table-turn:{}:{}:{}@{key}", out.len(), out[0].turn.time.strftime("%Y%m%dT%H%M"), &all[..8]),
        sentence: format!(
            "Of the tide table \"{}\" {} with {of}: {}. A turn misprinted or misread puts the water wrong on both sides of it, up to the turns beside it; on other days this says nothing.{half_days}",
            table.name(),
            if out.len() == 1 { "one turn does not go".to_owned() } else { format!("{} turns do not go", out.len()) },
            named.join("; ")
        ),
        weight: Weight::Blocks,
        settle: vec!["Compare them with the printed table, mend what is wrong and import it again.".to_owned()],
        spans: out.iter().filter_map(|o| rests_on(turns, &o.turn)).collect(),
    })
}

/// Places where a line of a table was left out and two turns of one kind stand side by side, the one read as of the other
/// kind: at the ends of a table that does not name its kinds nothing else shows it. No route is planned on the water between.
pub(super) fn lost_lines_doubt(key: &str, table: &TideTable, zone: &TimeZone) -> Option<Doubt> {
    let turns = table.entries();
    let hours = |p: &[Turn]| p[1].time.duration_since(p[0].time).as_secs_f64() / 3600.0;
    let (usual_h, range_m) = (median(turns.windows(2).map(hours))?, mean_range_m(turns)?);
    // Where turns come unevenly by themselves, as in a mixed tide whose small ones are not printed, a long wait is none.
    let spread_h = median(turns.windows(2).map(|p| (hours(p) - usual_h).abs()))?;
    let least_h = (LOST_TIMES * usual_h).max(usual_h + LOST_SPREADS * spread_h);
    let lost = |p: &&[Turn]| hours(p) > least_h && (p[1].level_m - p[0].level_m).abs() < LOST_PART * range_m;
    // Beyond a real gap nothing is drawn through.
    let spans = table.spans();
    let known = |p: &&[Turn]| spans.iter().any(|s| s.holds(p[0].time) && s.holds(p[1].time));
    let all: Vec<&[Turn]> = turns.windows(2).filter(lost).filter(known).collect();
    let first = all.first()?;
    let at = |t: &Turn| zone.to_datetime(t.time).strftime("%Y-%m-%d %H:%M").to_string();
    let more = if all.len() > 1 { format!(", and {} more such places", all.len() - 1) } else { String::new() };
    Some(Doubt {
        key: format!(
            "table-line:{}:{}{:+.1}{:+.1}@{key}",
            all.len(),
            first[0].time.strftime("%Y%m%dT%H%M"),
            first[0].level_m,
            first[1].level_m
        ),
        sentence: format!(
            "In the tide table \"{}\" a line seems to be left out between {} ({:.2} m) and {} ({:.2} m): {:.1} hours lie between two turns that hardly differ{more}.",
            table.name(),
            at(&first[0]),
            first[0].level_m,
            at(&first[1]),
            first[1].level_m,
            hours(first)
        ),
        weight: Weight::Blocks,
        settle: vec!["Compare it with the printed table, put in what is missing and import it again.".to_owned()],
        spans: all.iter().map(|p| Window { from: p[0].time, to: p[1].time }).collect(),
    })
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::*;
    use crate::tide::{Catalogue, Datum, TableEntry};
    use crate::trust::pairs::paired;

    const LLANDUDNO: &str = "ticon/llandudno-lla-gbr-bodc";
    const LIVERPOOL: &str = "ticon/liverpool_gladstone_dock-liv-gbr-bodc";

    /// Three weeks of a station's turns, the one of this number moved by minutes and metres.
    fn table(id: &str, moved: Option<(usize, i64, f64)>) -> TideTable {
        let predictor = Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap();
        let from: jiff::Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 21));
        let entry = |(n, t): (usize, &Turn)| {
            let (min, up_m) = moved.filter(|m| m.0 == n).map_or((0, 0.0), |m| (m.1, m.2));
            TableEntry { time: t.time + SignedDuration::from_mins(min), level_m: t.level_m + up_m, kind: Some(t.kind) }
        };
        TideTable::new("printed", Datum::ChartDatum, &turns.iter().enumerate().map(entry).collect::<Vec<_>>()).unwrap()
    }

    fn told(table: &TideTable, beside: Option<&str>) -> Option<Doubt> {
        let there = beside.map(|id| {
            let predictor = Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap();
            (paired(table.entries(), &predictor), predictor)
        });
        let there = there.as_ref().map(|(pairs, predictor)| ("there", &pairs[..], predictor));
        out_of_line_doubt("table:x", table, there, &TimeZone::UTC)
    }

    #[test]
    fn one_turn_misprinted_is_named_with_and_without_a_station_and_a_sound_table_is_not() {
        for beside in [Some(LLANDUDNO), Some(LIVERPOOL), None] {
            let sound = table(LLANDUDNO, None);
            assert_eq!(told(&sound, beside), None, "{beside:?}");
            let last = sound.entries().len() - 1;
            // A height a metre off or with its digits swapped, a time an hour off; at both ends of the table too.
            let kinds = [(0, -2.0), (60, 0.0), (100, 0.0), (100, -1.5), (0, 1.0), (-60, 0.0), (0, -1.0)];
            for n in (0..6).chain([20, 40, 41]).chain(last - 5..=last) {
                for (min, up_m) in kinds {
                    let table = table(LLANDUDNO, Some((n, min, up_m)));
                    let said = told(&table, beside).unwrap_or_else(|| panic!("{beside:?}: {n} {min} {up_m} is not told"));
                    let (turns, at) = (table.entries(), table.entries()[n].time.strftime("%Y-%m-%d %H:%M").to_string());
                    assert!(said.weight == Weight::Blocks && said.sentence.contains(&at), "{beside:?}: {said:?}");
                    assert!(said.sentence.contains("one turn does not go"), "{beside:?}: {said:?}");
                    // What rests on it is barred, and nothing else.
                    let (from, to) = (turns[n.saturating_sub(1)].time, turns[(n + 1).min(last)].time);
                    assert_eq!(said.spans, [Window { from, to }], "{beside:?}: {said:?}");
                }
            }
        }
    }

    #[test]
    fn a_misprint_in_a_table_of_a_weekend_is_seen_beside_a_station() {
        let three_days = |moved| {
            let turns = table(LLANDUDNO, moved).entries()[..12].to_vec();
            let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m, kind: Some(t.kind) };
            TideTable::new("printed", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap()
        };
        assert_eq!(told(&three_days(None), Some(LIVERPOOL)), None);
        for n in 0..12 {
            for (min, up_m) in [(60, 0.0), (-60, 0.0), (0, 1.5), (0, -1.5)] {
                let table = three_days(Some((n, min, up_m)));
                let said = told(&table, Some(LIVERPOOL)).unwrap_or_else(|| panic!("{n} {min} {up_m} is not told"));
                assert!(said.sentence.contains(&table.entries()[n].time.strftime("%Y-%m-%d %H:%M").to_string()), "{said:?}");
            }
        }
    }

    #[test]
    fn a_line_left_out_is_refused_and_a_pair_of_them_leaves_a_gap() {
        let turns = table(LLANDUDNO, None).entries().to_vec();
        let without = |gone: std::ops::Range<usize>, kinds: bool| {
            let kept = turns.iter().enumerate().filter(|(n, _)| !gone.contains(n)).map(|(_, t)| t);
            let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m, kind: kinds.then_some(t.kind) };
            TideTable::new("printed", Datum::ChartDatum, &kept.map(entry).collect::<Vec<_>>())
        };
        for (n, gone) in turns.iter().enumerate().skip(1).take(turns.len() - 2) {
            assert!(without(n..n + 1, true).is_err(), "{n}");
            // Next to the ends of a table that names no kinds it is not refused.
            let Ok(table) = without(n..n + 1, false) else { continue };
            let said = lost_lines_doubt("table:x", &table, &TimeZone::UTC).unwrap_or_else(|| panic!("{n} is not told"));
            assert!(said.weight == Weight::Blocks && said.spans.len() == 1 && said.spans[0].holds(gone.time), "{said:?}");
        }
        assert_eq!(lost_lines_doubt("table:x", &table(LLANDUDNO, None), &TimeZone::UTC), None);
        for (n, turn) in turns.iter().enumerate().skip(1).take(turns.len() - 3) {
            let table = without(n..n + 2, true).unwrap();
            let middle = turn.time + SignedDuration::from_hours(3);
            assert!(table.height_m(middle).is_none() && table.spans().len() <= 2, "{n}");
            assert_eq!(told(&table, Some(LIVERPOOL)), None, "{n}");
        }
    }

    /// The row of a day that is late, early or low, and a column that is through some days, in tables of some days to a month.
    #[test]
    fn a_row_and_a_column_that_are_off_are_told_in_short_tables_and_long_ones() {
        let predictor = Predictor::new(Catalogue::shipped().get(LLANDUDNO).unwrap(), &Datum::Msl).unwrap();
        let from: jiff::Timestamp = "2026-12-09T00:00:00Z".parse().unwrap();
        for days in [3, 5, 8, 12, 16, 30] {
            let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * days));
            let made = |moved: &dyn Fn(usize, &Turn) -> (i64, f64)| {
                let entry = |(n, t): (usize, &Turn)| {
                    let (min, up_m) = moved(n, t);
                    TableEntry { time: t.time + SignedDuration::from_mins(min), level_m: t.level_m + up_m, kind: Some(t.kind) }
                };
                TideTable::new("x", Datum::ChartDatum, &turns.iter().enumerate().map(entry).collect::<Vec<_>>()).unwrap()
            };
            for beside in [LLANDUDNO, LIVERPOOL] {
                assert_eq!(told(&made(&|_, _| (0, 0.0)), Some(beside)), None, "{days} {beside}");
                let row = 4..8;
                // A third of a table that is low says as much of the rest as the rest of it.
                let low = (days > 3).then_some((0, -1.0));
                for off in [(100, 0.0), (150, 0.0), (-100, 0.0), (60, 0.0)].into_iter().chain(low) {
                    let table = made(&|n, _| if row.contains(&n) { off } else { (0, 0.0) });
                    let said = told(&table, Some(beside)).unwrap_or_else(|| panic!("{days} days {beside}: {off:?} is not told"));
                    assert!(said.weight == Weight::Blocks, "{said:?}");
                    for n in row.clone() {
                        let at = table.entries()[n].time;
                        assert!(said.spans.iter().any(|s| s.holds(at)), "{days} days {beside} {off:?}: {n} is not barred");
                    }
                }
                if days > 4 {
                    let table = made(&|n, t| if t.kind == TurnKind::High && (4..9).contains(&n) { (75, 0.0) } else { (0, 0.0) });
                    assert!(told(&table, Some(beside)).is_some(), "{days} {beside}");
                }
            }
        }
    }

    /// Every turn of two days written as of the other half of its day, as AM and PM are exchanged: read in order of time most such
    /// tables are refused, and in the others each kind's turns have changed places.
    #[test]
    fn mornings_and_afternoons_that_are_exchanged_for_two_days_are_told() {
        for id in ["ticon/saint_malo-410-fra-refmar", "ticon/saint_john-65-can-meds", LLANDUDNO] {
            let sound = table(id, None);
            let (mut read, mut unseen) = (0, Vec::new());
            for day in 2..18 {
                let from: jiff::Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
                let from = from + SignedDuration::from_hours(24 * day);
                let is_moved = |t: &Turn| t.time >= from && t.time < from + SignedDuration::from_hours(48);
                let entry = |t: &Turn| {
                    let noon = t.time.as_second().rem_euclid(86_400) >= 43_200;
                    let hours = if !is_moved(t) {
                        0
                    } else if noon {
                        -12
                    } else {
                        12
                    };
                    TableEntry { time: t.time + SignedDuration::from_hours(hours), level_m: t.level_m, kind: Some(t.kind) }
                };
                let mut entries: Vec<TableEntry> = sound.entries().iter().map(entry).collect();
                entries.sort_by_key(|e| e.time);
                let Ok(table) = TideTable::new("printed", Datum::ChartDatum, &entries) else { continue };
                read += 1;
                let Some(said) = told(&table, Some(id)) else {
                    unseen.push(day);
                    continue;
                };
                assert!(said.weight == Weight::Blocks && said.sentence.contains("morning and afternoon"), "{said:?}");
                let low = |t: &&Turn| t.kind == TurnKind::Low && is_moved(t);
                assert!(table.entries().iter().filter(low).all(|t| said.spans.iter().any(|s| s.holds(t.time))), "{id} {day}");
            }
            assert!(read > 0 && 5 * unseen.len() <= read, "{id}: of {read} days {unseen:?} are not told");
            assert_eq!(told(&sound, Some(id)), None, "{id}");
        }
    }

    /// At Karumba and Hòn Dáu the tide comes once a day (Admiralty Tide Tables, from memory).
    #[test]
    fn a_low_of_a_daily_tide_that_is_misprinted_is_told_beside_a_station() {
        for id in ["ticon/karumba-63580-aus-bom", "ticon/hon_dau-650a-vnm-uhslc_rq"] {
            let predictor = Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap();
            let from: jiff::Timestamp = "2026-11-14T00:00:00Z".parse().unwrap();
            let all = predictor.turns(from, from + SignedDuration::from_hours(24 * 30));
            let turns = crate::tide::without_small(&all, 0.3 * mean_range_m(&all).unwrap());
            let made = |wrong: Option<(usize, f64)>| {
                let up_m = |n: usize| wrong.filter(|w| w.0 == n).map_or(0.0, |w| w.1);
                let entry =
                    |(n, t): (usize, &Turn)| TableEntry { time: t.time, level_m: t.level_m + up_m(n), kind: Some(t.kind) };
                TideTable::new("printed", Datum::ChartDatum, &turns.iter().enumerate().map(entry).collect::<Vec<_>>()).unwrap()
            };
            assert_eq!(told(&made(None), Some(id)), None, "{id}");
            let lows = || (0..turns.len()).filter(|n| turns[*n].kind == TurnKind::Low);
            assert!(lows().count() >= RUN, "{id}");
            for n in lows() {
                for up_m in [-0.8, -1.2, -1.6] {
                    let said = told(&made(Some((n, up_m))), Some(id)).unwrap_or_else(|| panic!("{id}: {n} {up_m} is not told"));
                    assert!(said.weight == Weight::Blocks && said.sentence.contains("one turn does not go"), "{said:?}");
                    assert!(said.spans.len() == 1 && said.spans[0].holds(turns[n].time), "{said:?}");
                }
            }
        }
    }

    /// In the sounds about Edgartown the tide ranges half a metre and stands for two hours at a time: there a turn may come two
    /// hours from the next place's, and nobody is the drier or wetter for it.
    #[test]
    fn a_time_is_no_misprint_where_the_water_stands() {
        let all = Catalogue::shipped();
        let there = all.stations().iter().find(|s| s.name.starts_with("Edgartown")).unwrap();
        let from: jiff::Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let mut held = 0;
        for (own, _) in all.nearest(there.at, 8).into_iter().filter(|(s, m)| s.id != there.id && *m <= 10_000.0) {
            let predictor = Predictor::new(own, &own.chart_datum).unwrap();
            let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 30 + 2));
            let turns = crate::tide::without_small(&turns, 0.3 * mean_range_m(&turns).unwrap());
            let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m, kind: Some(t.kind) };
            let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
            let standing = paired(&turns, &Predictor::new(there, &Datum::Msl).unwrap());
            held += standing.iter().filter(|p| !is_gone(p) && p.late_min.abs() > 60.0).count();
            assert_eq!(told(&table, Some(&there.id)), None, "{}", own.id);
        }
        assert!(held > 0);
    }

    /// What was confirmed of a table is not confirmed of one that replaces it with other heights.
    #[test]
    fn another_misprint_at_the_same_minute_is_another_doubt() {
        let [little, much] = [-1.5, -4.0].map(|up_m| told(&table(LLANDUDNO, Some((20, 0, up_m))), Some(LIVERPOOL)).unwrap().key);
        assert_ne!(little, much);
    }

    /// Every twelfth station of the catalogue as a table of a month, as it is printed and with weather in it: how many are
    /// accused of a misprint by their own turns.
    #[test]
    fn sound_tables_are_hardly_ever_accused_by_their_own_turns() {
        use rand::{RngExt as _, SeedableRng as _};
        for (name, noise_min, noise_m) in [("as printed", 0.0, 0.0), ("with weather", 5.0, 0.1)] {
            let (mut all, mut accused) = (0, 0);
            let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(12);
            for station in Catalogue::shipped().stations().iter().step_by(12) {
                let Ok(predictor) = Predictor::new(station, &Datum::Msl) else { continue };
                let from: jiff::Timestamp = "2026-03-01T00:00:00Z".parse().unwrap();
                let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 30));
                let turns = crate::tide::without_small(&turns, 0.3 * mean_range_m(&turns).unwrap_or_default());
                // The sum of four even draws is near enough normal.
                let mut normal =
                    |sd: f64| sd * 3.0_f64.sqrt() / 2.0 * (0..4).map(|_| random.random_range(-1.0..1.0)).sum::<f64>();
                let entries: Vec<TableEntry> = turns
                    .iter()
                    .map(|t| {
                        let (late_min, level_m) = (normal(noise_min).round() as i64, t.level_m + normal(noise_m));
                        let time = t.time.round(jiff::Unit::Minute).unwrap() + SignedDuration::from_mins(late_min);
                        TableEntry { time, level_m: (10.0 * level_m).round() / 10.0, kind: Some(t.kind) }
                    })
                    .collect();
                let Ok(table) = TideTable::new("x", Datum::Msl, &entries) else { continue };
                all += 1;
                if let Some(said) = told(&table, None).or(lost_lines_doubt("table:x", &table, &TimeZone::UTC)) {
                    println!("{}: {}", station.id, said.sentence);
                    accused += 1;
                }
            }
            println!("{name}: {accused} of {all} sound tables accused by their own turns");
            assert!(all > 100 && 50 * accused <= all, "{name}: {accused} of {all}");
        }
    }
}
