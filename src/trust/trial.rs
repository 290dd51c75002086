//! Sound stations held against their neighbours as a source of a person's own would be: how many are accused, and how many
//! faults of what size are told.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};
use rayon::prelude::*;

use super::beside::{NEAR_M, RANGE_M, held_against_all};
use super::coast::{INLAND_M, inland_m};
use super::table::of_table_beside;
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::chance::binomial_interval;
use crate::tide::{Catalogue, Datum, Predictor, Station, TableEntry, TideTable, Turn, Water, without_small};

/// Stations whose pairs are held against each other, by what is known of them.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    /// The figures of this room were looked for on these.
    TunedOn,
    /// Their blocked pairs were looked at, one by one.
    LookedAt,
    /// Their shares were seen, no pair of them.
    Seen,
    /// Nobody looked at these while the rules were made.
    Fresh,
}

const PARTS: [Part; 4] = [Part::TunedOn, Part::LookedAt, Part::Seen, Part::Fresh];

/// Of four stations one of the first two parts, by whether its name gives an even sum of bytes, one of the third, one of the
/// fourth.
fn stations() -> Vec<(Part, &'static Station)> {
    let part = |(n, station): (usize, &'static Station)| {
        let odd = station.id.bytes().map(u32::from).sum::<u32>() % 2 == 1;
        match n % 4 {
            0 => Some((if odd { Part::LookedAt } else { Part::TunedOn }, station)),
            2 => Some((Part::Seen, station)),
            1 => Some((Part::Fresh, station)),
            _ => None,
        }
    };
    // Those that keep another clock are not sound.
    let all = Catalogue::shipped().stations().iter().enumerate();
    all.filter(|(_, s)| Catalogue::shipped().refused(&s.id).is_none()).filter_map(part).collect()
}

/// Half of the stations of the catalogue held against the nearest of those near them with no land between, as a source of a
/// person's own would be: how many that are sound are accused, by distance.
#[test]
#[ignore = "predicts a month at some thousands of stations; for the figures, not for every day"]
fn pairs_of_sound_stations_are_hardly_ever_accused() {
    let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
    let of_one = |(part, own): &(Part, &'static Station)| {
        let Ok(water) = Water::of_station(own, Datum::Msl) else { return Vec::new() };
        let said = |(s, m): (&'static Station, f64)| {
            let others = others_of(own, s);
            (*part, m, held_against_all((s, m), &others, "x", &water, from))
        };
        neighbours(own, RANGE_M).into_iter().map(said).collect::<Vec<_>>()
    };
    // What the rules rest on: lateness where the curves agree, and how the ranges and means of turns differ.
    let mut blocked = turns_of_pairs();
    let pairs: Vec<(Part, f64, Vec<Doubt>)> = stations().par_iter().flat_map_iter(of_one).collect();
    for (from_m, to_m) in [(0.0, NEAR_M), (NEAR_M, RANGE_M)] {
        for part in PARTS {
            let of: Vec<_> = pairs.iter().filter(|p| p.0 == part && p.1 > from_m && p.1 <= to_m).collect();
            let share = |kind: &str, least: Weight| {
                let told = |d: &Doubt| d.weight >= least && d.key.starts_with(kind);
                100.0 * of.iter().filter(|p| p.2.iter().any(told)).count() as f64 / of.len().max(1) as f64
            };
            println!("{:.0} to {:.0} km, {part:?}, {} pairs; told and blocked, %:", from_m / 1000.0, to_m / 1000.0, of.len());
            for kind in ["", "source-late", "source-odd", "source-dated", "source-range"] {
                println!("  {kind:14} {:5.2} {:5.2}", share(kind, Weight::Question), share(kind, Weight::Blocks));
            }
            assert!(of.len() > 250);
            let pairs = of.len();
            let blocks = of.iter().filter(|p| p.2.iter().any(|d| d.weight >= Weight::Blocks)).count();
            blocked.push(Blocked { what: format!("a source to {:.0} km", to_m / 1000.0), part, pairs, blocked: blocks });
        }
    }
    // Only now, so that all figures are told whatever they are.
    for part in PARTS {
        let of: Vec<String> = blocked.iter().filter(|b| b.part == part).map(Blocked::said).collect();
        println!("blocked of sound pairs, {part:?}: {}", of.join("; "));
    }
    // No more than 2 % are aimed at: of all together, of those that nobody looked at, and of no part more than by chance.
    let whats: BTreeSet<&str> = blocked.iter().map(|b| &*b.what).collect();
    for what in whats {
        let all = || blocked.iter().filter(|b| b.what == what);
        let (many, of) = all().fold((0, 0), |(many, of), b| (many + b.blocked, of + b.pairs));
        println!("blocked of all sound pairs: {what} {:.2} % of {of}", 100.0 * many as f64 / of as f64);
        assert!(50 * many <= of, "{what}: {many} of {of}");
        for b in all() {
            let (low, _) = binomial_interval(b.blocked as u64, b.pairs as u64, 0.98);
            assert!(low <= 0.02 && (b.part != Part::Fresh || b.share() <= 2.0), "{:?}, {}", b.part, b.said());
        }
    }
}

/// How many sound pairs of a part are blocked, held as what.
struct Blocked {
    what: String,
    part: Part,
    pairs: usize,
    blocked: usize,
}

impl Blocked {
    fn share(&self) -> f64 {
        100.0 * self.blocked as f64 / self.pairs as f64
    }

    fn said(&self) -> String {
        format!("{} {:.1} % of {}", self.what, self.share(), self.pairs)
    }
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

/// How much higher and later a table is made than its station's turns, metres and minutes, and of how many days it is.
const FAULTS: [(f64, i64, i64); 10] = [
    (0.0, 0, 30),
    (0.0, 0, 1),
    (-0.3, 0, 30),
    (-0.5, 0, 30),
    (-1.0, 0, 30),
    (-1.0, 0, 1),
    (0.0, 45, 30),
    (0.0, 90, 30),
    (0.0, 120, 30),
    (0.0, 120, 1),
];

/// The stations' turns as a table of their own chart datum beside each station within ten kilometres, with each of the
/// [`FAULTS`]: the shares asked and blocked, by what is said, with and without the word of another station. Returns how many
/// sound ones of each part are blocked.
fn turns_of_pairs() -> Vec<Blocked> {
    let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
    let table = |own: &Station, (up_m, late_min, days): (f64, i64, i64)| {
        let predictor = Predictor::new(own, &own.chart_datum).ok()?;
        let all = predictor.turns(from, from + SignedDuration::from_hours(24 * days + 2));
        let range_m = all.windows(2).map(|p| (p[1].level_m - p[0].level_m).abs()).sum::<f64>() / all.len() as f64;
        let turns = without_small(&all, 0.3 * range_m);
        let entry = |t: &Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(late_min),
            level_m: t.level_m + up_m,
            kind: Some(t.kind),
        };
        TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).ok()
    };
    let stations = stations();
    let mut blocked = Vec::new();
    for fault in FAULTS {
        let of_one = |(part, own): &(Part, &'static Station)| {
            let Some(table) = table(own, fault) else { return Vec::new() };
            let beach = Beach::new("x", own.at);
            let told = |(s, m): (&'static Station, f64)| {
                let alone = of_table_beside(&beach, &table, (s, m), &[]);
                let vouched = if alone.iter().any(|d| d.weight >= Weight::Blocks) {
                    of_table_beside(&beach, &table, (s, m), &others_of(own, s))
                } else {
                    alone.clone()
                };
                (*part, alone, vouched)
            };
            neighbours(own, NEAR_M).into_iter().map(told).collect::<Vec<_>>()
        };
        let all: Vec<(Part, Vec<Doubt>, Vec<Doubt>)> = stations.par_iter().flat_map_iter(of_one).collect();
        let sound = (fault.0, fault.1) == (0.0, 0);
        for part in PARTS {
            let of: Vec<_> = all.iter().filter(|p| p.0 == part).collect();
            let share = |kind: &str, least: Weight, word: bool| {
                let told = |d: &Doubt| d.weight >= least && d.key.starts_with(kind);
                let said = of.iter().filter(|p| if word { &p.2 } else { &p.1 }.iter().any(told)).count();
                100.0 * said as f64 / of.len().max(1) as f64
            };
            println!(
                "tables of {} days {:+.1} m and {:+} min, {part:?}, {} pairs: asked or blocked {:.1} %, blocked {:.1} % by one station, {:.1} % unless another stands by it",
                fault.2,
                fault.0,
                fault.1,
                of.len(),
                share("", Weight::Question, false),
                share("", Weight::Blocks, false),
                share("", Weight::Blocks, true)
            );
            if sound {
                // Only where looking spoils nothing.
                let looked_at = of.iter().filter(|_| matches!(part, Part::TunedOn | Part::LookedAt));
                for doubt in looked_at.flat_map(|p| &p.2).filter(|d| d.key.starts_with("table-turn")) {
                    println!("  {}", doubt.sentence);
                }
                for kind in ["table-range", "table-level", "table-late", "table-turn"] {
                    let of = |least, word| share(kind, least, word);
                    println!(
                        "  {kind:12} asked {:5.2}, blocked {:5.2} and {:5.2}",
                        of(Weight::Question, false),
                        of(Weight::Blocks, false),
                        of(Weight::Blocks, true)
                    );
                }
                assert!(of.len() > 500);
                let blocks = of.iter().filter(|p| p.2.iter().any(|d| d.weight >= Weight::Blocks)).count();
                blocked.push(Blocked { what: format!("a table of {} days", fault.2), part, pairs: of.len(), blocked: blocks });
            }
        }
    }
    blocked
}
