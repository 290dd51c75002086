//! Sound stations held against their neighbours as a source of a person's own would be: how many are accused, and how many
//! faults of what size are told.

use jiff::{SignedDuration, Timestamp};
use rayon::prelude::*;

use super::beside::{NEAR_M, RANGE_M, held_against_all};
use super::coast::{INLAND_M, inland_m};
use super::table::of_table_beside;
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::tide::{Catalogue, Datum, Predictor, Station, TableEntry, TideTable, Turn, Water, without_small};

/// Every fourth station of the catalogue held against the nearest of those near it with no land between, as a source of
/// a person's own would be: how many that are sound are accused, by distance. The figures of this room were looked for on
/// stations whose names give an even sum of bytes; those of the others are printed beside them.
#[test]
#[ignore = "predicts a month at some thousands of stations; for the figures, not for every day"]
fn pairs_of_sound_stations_are_hardly_ever_accused() {
    let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
    let of_one = |own: &Station| {
        let Ok(water) = Water::of_station(own, Datum::Msl) else { return Vec::new() };
        let said = |(s, m): (&'static Station, f64)| {
            let others = others_of(own, s);
            (is_odd(own), m, held_against_all((s, m), &others, "x", &water, from))
        };
        neighbours(own, RANGE_M).into_iter().map(said).collect::<Vec<_>>()
    };
    let stations = Catalogue::shipped().stations();
    let pairs: Vec<(bool, f64, Vec<Doubt>)> = stations.par_iter().step_by(4).flat_map_iter(of_one).collect();
    // What the rules rest on: lateness where the curves agree, and how the ranges and means of turns differ.
    let mut blocked = turns_of_pairs();
    for (from_m, to_m) in [(0.0, NEAR_M), (NEAR_M, RANGE_M)] {
        for odd in [false, true] {
            let of: Vec<_> = pairs.iter().filter(|p| p.0 == odd && p.1 > from_m && p.1 <= to_m).collect();
            let share = |kind: &str, least: Weight| {
                let told = |d: &Doubt| d.weight >= least && d.key.starts_with(kind);
                100.0 * of.iter().filter(|p| p.2.iter().any(told)).count() as f64 / of.len().max(1) as f64
            };
            let half = if odd { "not tuned on" } else { "tuned on" };
            println!("{:.0} to {:.0} km, {half}, {} pairs; told and blocked, %:", from_m / 1000.0, to_m / 1000.0, of.len());
            for kind in ["", "source-late", "source-odd", "source-dated", "source-range"] {
                println!("  {kind:14} {:5.2} {:5.2}", share(kind, Weight::Question), share(kind, Weight::Blocks));
            }
            assert!(of.len() > 250);
            blocked.push(share("", Weight::Blocks));
        }
    }
    // Only now, so that all figures are told whatever they are.
    assert!(blocked.iter().all(|share| *share <= 2.0), "blocked, %: {blocked:.1?}");
}

fn is_odd(station: &Station) -> bool {
    station.id.bytes().map(u32::from).sum::<u32>() % 2 == 1
}

/// The stations near one with no land between, nearest first.
fn neighbours(own: &Station, within_m: f64) -> Vec<(&'static Station, f64)> {
    let near = Catalogue::shipped().nearest(own.at, 25).into_iter();
    near.filter(|(s, m)| s.id != own.id && *m <= within_m && *m > 1.0 && inland_m(own.at, s.at) < INLAND_M).collect()
}

/// Those next to a beach in a station's stead, beside it and another: none that may be the same gauge.
fn others_of(own: &Station, held: &Station) -> Vec<(&'static Station, f64)> {
    neighbours(own, NEAR_M).into_iter().filter(|(s, m)| s.id != held.id && *m > 1_000.0).take(3).collect()
}

/// Every fourth station's turns as a table of its own chart datum beside each station within ten kilometres, so many
/// metres higher and minutes later than they are: the shares asked and blocked, by what is said, with and without the
/// word of another station. Returns how many in a hundred sound ones are blocked, of the half not tuned on and of all.
fn turns_of_pairs() -> Vec<f64> {
    let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
    let table = |own: &Station, up_m: f64, late_min: i64| {
        let predictor = Predictor::new(own, &own.chart_datum).ok()?;
        let all = predictor.turns(from, from + SignedDuration::from_hours(24 * 30));
        let range_m = all.windows(2).map(|p| (p[1].level_m - p[0].level_m).abs()).sum::<f64>() / all.len() as f64;
        let turns = without_small(&all, 0.3 * range_m);
        let entry = |t: &Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(late_min),
            level_m: t.level_m + up_m,
            kind: Some(t.kind),
        };
        TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).ok()
    };
    let faults = [
        (0.0, 0),
        (-0.2, 0),
        (-0.3, 0),
        (-0.5, 0),
        (-0.7, 0),
        (-1.0, 0),
        (-1.5, 0),
        (0.0, 20),
        (0.0, -30),
        (0.0, 45),
        (0.0, -50),
        (0.0, 60),
        (0.0, 90),
    ];
    let mut blocked = Vec::new();
    for (up_m, late_min) in faults {
        let of_one = |own: &Station| {
            let Some(table) = table(own, up_m, late_min) else { return Vec::new() };
            let beach = Beach::new("x", own.at);
            let told = |(s, m): (&'static Station, f64)| {
                let alone = of_table_beside(&beach, &table, (s, m), &[]);
                let vouched = if alone.iter().any(|d| d.weight >= Weight::Blocks) {
                    of_table_beside(&beach, &table, (s, m), &others_of(own, s))
                } else {
                    alone.clone()
                };
                (is_odd(own), m, alone, vouched)
            };
            neighbours(own, NEAR_M).into_iter().map(told).collect::<Vec<_>>()
        };
        let stations = Catalogue::shipped().stations();
        let all: Vec<(bool, f64, Vec<Doubt>, Vec<Doubt>)> = stations.par_iter().step_by(4).flat_map_iter(of_one).collect();
        for odd in [false, true] {
            let of: Vec<_> = all.iter().filter(|p| p.0 == odd).collect();
            let share = |kind: &str, least: Weight, word: bool| {
                let told = |d: &Doubt| d.weight >= least && d.key.starts_with(kind);
                let said = of.iter().filter(|p| if word { &p.3 } else { &p.2 }.iter().any(told)).count();
                100.0 * said as f64 / of.len().max(1) as f64
            };
            let half = if odd { "not tuned on" } else { "tuned on" };
            let of_all = |word: bool| (share("", Weight::Question, word), share("", Weight::Blocks, word));
            let ((asked, before), (_, after)) = (of_all(false), of_all(true));
            println!(
                "tables {up_m:+.1} m and {late_min:+} min, {half}, {} pairs: asked or blocked {asked:.1} %, blocked {before:.1} % by one station, {after:.1} % unless another stands by it",
                of.len()
            );
            if (up_m, late_min) == (0.0, 0) {
                for kind in ["table-range", "table-level", "table-late", "table-turn"] {
                    let of = |least, word| share(kind, least, word);
                    println!(
                        "  {kind:12} asked {:5.2}, blocked {:5.2} and {:5.2}",
                        of(Weight::Question, false),
                        of(Weight::Blocks, false),
                        of(Weight::Blocks, true)
                    );
                }
                for (_, m, alone, vouched) in of.iter().filter(|p| p.3.iter().any(|d| d.weight >= Weight::Blocks)) {
                    let keys: Vec<&str> = vouched.iter().filter(|d| d.weight >= Weight::Blocks).map(|d| &*d.sentence).collect();
                    println!("    {m:.0} m, {} said by one station: {keys:?}", alone.len());
                }
                assert!(of.len() > 500);
                if odd {
                    blocked.push(after);
                }
            }
        }
        if (up_m, late_min) == (0.0, 0) {
            let of = all.iter().filter(|p| p.3.iter().any(|d| d.weight >= Weight::Blocks)).count();
            let share = 100.0 * of as f64 / all.len() as f64;
            println!("  both halves: {of} of {} sound pairs blocked, {share:.2} %", all.len());
            blocked.push(share);
        }
    }
    blocked
}
