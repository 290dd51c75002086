//! Single turns of a tide table that do not go with the others: misprinted, or misread.

use jiff::tz::TimeZone;

use super::pairs::{Pair, mean_range_m, median};
use super::{Doubt, Weight};
use crate::tide::{TideTable, Turn, TurnKind};

/// A turn is out of line with a station's by more than so many minutes, or with its neighbours in the table by more than
/// so many where the tide ranges so far, metres (of 301 stations' months 14 hold a sound turn that is by 30 minutes, 5 by
/// these), ...
const OUT_MIN: f64 = 30.0;
const OUT_ALONE_MIN: f64 = 55.0;
const TIDAL_M: f64 = 0.5;
/// ... or this height, metres, and this part of the mean range, ...
const OUT_M: f64 = 0.4;
const OUT_PART: f64 = 0.12;
/// ... and in each more than so many times what turns of its kind are out of line by in the middle: where a tide goes
/// unevenly, or a station is of another sea, that is much.
const OUT_TIMES: f64 = 8.0;
/// If more than this part of the turns is out of line, and more than so many, the fault is not in single ones.
const MOST_PART: f64 = 0.1;
const MOST: usize = 3;
/// So many turns are named, the rest counted.
const NAMED: usize = 3;
/// Neighbours of a kind come 12.42 h apart, and a diurnal tide's do not; hours.
const APART_H: std::ops::Range<f64> = 10.0..15.0;

/// How far a turn lies from where it is expected.
#[derive(Clone, Copy)]
struct Off {
    turn: Turn,
    late_min: f64,
    up_m: f64,
}

/// Turns out of line with those of a station that they were paired with, but for what all of their kind are.
fn off_station(pairs: &[Pair]) -> Vec<Off> {
    let of = |kind: TurnKind| {
        let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
        let late_min = median(of.iter().map(|p| p.late_min)).unwrap_or_default();
        let (own_m, there_m) = (
            median(of.iter().map(|p| p.own.level_m)).unwrap_or_default(),
            median(of.iter().map(|p| p.there_m)).unwrap_or_default(),
        );
        // As far from its middle as the station's, by what both spread in the middle case.
        let spread = |m: f64, of: Vec<f64>| median(of.into_iter().map(|v| (v - m).abs())).unwrap_or_default();
        let own_spread_m = spread(own_m, of.iter().map(|p| p.own.level_m).collect());
        let there_spread_m = spread(there_m, of.iter().map(|p| p.there_m).collect());
        let times = if there_spread_m > 0.0 { (own_spread_m / there_spread_m).clamp(0.2, 5.0) } else { 1.0 };
        let off = |p: &Pair| Off {
            turn: p.own,
            late_min: p.late_min - late_min,
            up_m: p.own.level_m - own_m - times * (p.there_m - there_m),
        };
        of.into_iter().map(off).collect::<Vec<_>>()
    };
    [TurnKind::High, TurnKind::Low].into_iter().flat_map(of).collect()
}

/// Turns out of line with their neighbours in the table. Those of a kind one and two lunar days before and after lead over
/// a turn as a cubic does, (4 (a₋₁ + a₁) − (a₋₂ + a₂)) / 6, with the daily inequality in it.
fn off_neighbours(turns: &[Turn], least_min: f64) -> Vec<Off> {
    let of_kind = |kind: TurnKind| {
        let of: Vec<Turn> = turns.iter().copied().filter(|t| t.kind == kind).collect();
        let hours = |a: &Turn, b: &Turn| b.time.duration_since(a.time).as_secs_f64() / 3600.0;
        let even = |w: &[Turn]| w.windows(2).all(|p| APART_H.contains(&hours(&p[0], &p[1])));
        let over = |a: [f64; 4]| (4.0 * (a[1] + a[2]) - (a[0] + a[3])) / 6.0;
        let all: Vec<Off> = of
            .windows(9)
            .filter(|w| even(w))
            .map(|w| {
                let (turn, beside) = (w[4], [w[0], w[2], w[6], w[8]]);
                let late_min = -60.0 * over(beside.map(|t| hours(&turn, &t)));
                Off { turn, late_min, up_m: turn.level_m - over(beside.map(|t| t.level_m)) }
            })
            .collect();
        // A turn that is out of line puts those out that are led over it, by two thirds as much: the farthest counts.
        let farthest = |n: usize, of: fn(&Off) -> f64| {
            let near = &all[n.saturating_sub(4)..(n + 5).min(all.len())];
            near.iter().all(|o| of(o).abs() <= of(&all[n]).abs())
        };
        let kept = |n: usize| Off {
            late_min: if farthest(n, |o| o.late_min) { all[n].late_min } else { 0.0 },
            up_m: if farthest(n, |o| o.up_m) { all[n].up_m } else { 0.0 },
            ..all[n]
        };
        // What is out of line in the middle is seen on all of them.
        let tidal = mean_range_m(turns).is_some_and(|m| m >= TIDAL_M);
        out_of_line(if tidal { least_min } else { f64::INFINITY }, &all, turns, &(0..all.len()).map(kept).collect::<Vec<_>>())
    };
    [TurnKind::High, TurnKind::Low].into_iter().flat_map(of_kind).collect()
}

/// Those of some turns that are out of line, by how far they all are in the middle.
fn out_of_line(least_min: f64, all: &[Off], turns: &[Turn], some: &[Off]) -> Vec<Off> {
    let least_m = OUT_M.max(OUT_PART * mean_range_m(turns).unwrap_or_default());
    let usual = |of: fn(&Off) -> f64| OUT_TIMES * median(all.iter().map(|o| of(o).abs())).unwrap_or_default();
    let (out_min, out_m) = (least_min.max(usual(|o| o.late_min)), least_m.max(usual(|o| o.up_m)));
    some.iter().copied().filter(|o| o.late_min.abs() > out_min || o.up_m.abs() > out_m).collect()
}

/// Turns of a table that are out of line with those of a station, named as `there`, or with one another where none is
/// near: each is named with its date and time on the clock of the beach, and no route is planned until it is mended or
/// confirmed.
pub(super) fn out_of_line_doubt(key: &str, table: &TideTable, there: Option<(&str, &[Pair])>, zone: &TimeZone) -> Option<Doubt> {
    let turns = table.entries();
    let mut out = match there {
        Some((_, pairs)) => {
            let off = off_station(pairs);
            // Of sound neighbours 14 in 100 have a turn that goes another way than the station's: it must stand out here, too.
            let alone = off_neighbours(turns, OUT_MIN);
            [TurnKind::High, TurnKind::Low]
                .into_iter()
                .flat_map(|kind| {
                    let of: Vec<Off> = off.iter().copied().filter(|o| o.turn.kind == kind).collect();
                    out_of_line(OUT_MIN, &of, turns, &of)
                })
                .filter(|o| alone.iter().any(|a| a.turn.time == o.turn.time))
                .collect()
        }
        None => off_neighbours(turns, OUT_ALONE_MIN),
    };
    if out.is_empty() || out.len() > MOST.max((MOST_PART * turns.len() as f64) as usize) {
        return None;
    }
    out.sort_by_key(|o| o.turn.time);
    let mut named: Vec<String> = out.iter().take(NAMED).map(|o| o.said(zone)).collect();
    named.extend((out.len() > NAMED).then(|| format!("and {} more", out.len() - NAMED)));
    let of = there.map_or("those beside them".to_owned(), |(name, _)| format!("those of {name}"));
    let when: Vec<String> = out.iter().take(NAMED).map(|o| o.turn.time.strftime("%Y%m%dT%H%M").to_string()).collect();
    Some(Doubt {
        key: format!("table-turn:{}:{}@{key}", out.len(), when.join(",")),
        sentence: format!(
            "Of the tide table \"{}\" {} with {of}: {}. A turn misprinted or misread puts the water wrong on both sides of it.",
            table.name(),
            if out.len() == 1 { "one turn does not go".to_owned() } else { format!("{} turns do not go", out.len()) },
            named.join("; ")
        ),
        weight: Weight::Blocks,
        settle: vec!["Compare them with the printed table, mend what is wrong and import it again.".to_owned()],
    })
}

impl Off {
    /// "the high water of 2026-11-30 15:12 comes 60 minutes later and stands 0.02 m lower than expected".
    fn said(&self, zone: &TimeZone) -> String {
        let at = zone.to_datetime(self.turn.time).strftime("%Y-%m-%d %H:%M");
        let (late, up) =
            (if self.late_min > 0.0 { "later" } else { "earlier" }, if self.up_m > 0.0 { "higher" } else { "lower" });
        format!(
            "the {} water of {at} comes {:.0} minutes {late} and stands {:.2} m {up} than expected",
            self.turn.kind,
            self.late_min.abs(),
            self.up_m.abs()
        )
    }
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::*;
    use crate::tide::{Catalogue, Datum, Predictor, TableEntry};
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
        let pairs = beside
            .map(|id| paired(table.entries(), &Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap()));
        out_of_line_doubt("table:x", table, pairs.as_deref().map(|p| ("there", p)), &TimeZone::UTC)
    }

    #[test]
    fn one_turn_misprinted_is_named_with_and_without_a_station_and_a_sound_table_is_not() {
        for beside in [Some(LLANDUDNO), Some(LIVERPOOL), None] {
            assert_eq!(told(&table(LLANDUDNO, None), beside), None, "{beside:?}");
            for (n, min, up_m) in [(41, 0, -2.0), (41, 60, 0.0), (40, 100, 0.0), (40, 100, -1.5), (40, 0, 1.0), (41, -60, 0.0)] {
                let table = table(LLANDUDNO, Some((n, min, up_m)));
                let said = told(&table, beside).unwrap_or_else(|| panic!("{beside:?}: {n} {min} {up_m} is not told"));
                let at = table.entries()[n].time.strftime("%Y-%m-%d %H:%M").to_string();
                assert!(said.weight == Weight::Blocks && said.sentence.contains(&at), "{beside:?}: {said:?}");
                assert!(said.sentence.contains("one turn does not go"), "{beside:?}: {said:?}");
            }
        }
    }

    /// Every twelfth station of the catalogue as a table of a month: how many are accused of a misprint by their own turns.
    #[test]
    fn sound_tables_are_hardly_ever_accused_by_their_own_turns() {
        let (mut all, mut accused) = (0, 0);
        for station in Catalogue::shipped().stations().iter().step_by(12) {
            let Ok(predictor) = Predictor::new(station, &Datum::Msl) else { continue };
            let from: jiff::Timestamp = "2026-03-01T00:00:00Z".parse().unwrap();
            let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 30));
            let turns = crate::tide::without_small(&turns, 0.3 * mean_range_m(&turns).unwrap_or_default());
            let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m, kind: Some(t.kind) };
            let Ok(table) = TideTable::new("x", Datum::Msl, &turns.iter().map(entry).collect::<Vec<_>>()) else { continue };
            all += 1;
            if let Some(said) = told(&table, None) {
                println!("{}: {}", station.id, said.sentence);
                accused += 1;
            }
        }
        println!("{accused} of {all} sound tables accused by their own turns");
        assert!(all > 250 && 50 * accused <= all, "{accused} of {all}");
    }
}
