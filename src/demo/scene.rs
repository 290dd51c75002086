//! The furniture of the invented beach: zones, accesses, barriers, permissions, set-ups and the bench.

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use jiff::civil::{date, time};
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::DemoError;
use super::ground::{self, ACCESSES, CHANNEL, GROYNE_REACH_M, GROYNES_M, Ground, MUD, NO_SEARCH, Patch, ROCKS, Spot};
use super::things::spread;
use crate::book::{
    Access, Agreed, Barrier, BarrierKind, BarrierShape, BenchReading, Ground as Wet, Kind, Lie, Permission, ReportDue, Setup,
    Steadiness, Uid, Zone, ZoneUse,
};

/// The invented beach's name.
pub(super) const NAME: &str = "Tarrow Sands";

/// A detector's scale of target IDs: invented ones.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    /// The number shown for a place on the invented scale of conductivity, 0 to 1.
    pub(super) fn read(self, response: f64) -> i32 {
        (self.low + (self.high - self.low) * response.clamp(0.0, 1.0)).round() as i32
    }
}

pub(super) fn setups() -> Vec<Setup> {
    let setup = |name: &str, machine: &str, mode: &str, coil: &str, coil_width_m: f64, ground| Setup {
        machine: machine.to_owned(),
        mode: mode.to_owned(),
        coil: coil.to_owned(),
        coil_width_m: Some(coil_width_m),
        ground: Some(ground),
        ..Setup::new(name)
    };
    vec![
        Setup {
            sensitivity: "three quarters of full".to_owned(),
            ground_balance: "follows the ground by itself".to_owned(),
            discrimination: "nothing shut out".to_owned(),
            tones: "higher with the number".to_owned(),
            ..setup("Wet sand, big coil", "first machine (invented)", "salt ground", "round, 28 cm", 0.28, Wet::WetSalt)
        },
        Setup {
            sensitivity: "nine tenths of full".to_owned(),
            ground_balance: "set by hand on clean sand".to_owned(),
            discrimination: "iron shut out".to_owned(),
            iron_audio: "faint".to_owned(),
            tones: "low, middle and high".to_owned(),
            ..setup("Dry sand, small coil", "first machine (invented)", "dry ground", "oval, 23 cm", 0.23, Wet::Dry)
        },
        Setup {
            sensitivity: "two thirds of full".to_owned(),
            ground_balance: "set once at the start".to_owned(),
            discrimination: "nothing shut out".to_owned(),
            tones: "the same for all".to_owned(),
            ..setup("Second machine", "second machine (invented)", "damp ground", "round, 33 cm", 0.33, Wet::Damp)
        },
    ]
}

/// The first two set-ups share a machine and its scale; the third has its own.
pub(super) fn scale_of(setup: &Setup, setups: &[Setup]) -> Scale {
    if setups.get(2).is_some_and(|third| third.uid == setup.uid) {
        Scale { low: -10.0, high: 60.0 }
    } else {
        Scale { low: 0.0, high: 99.0 }
    }
}

pub(super) fn zones(ground: &Ground, beach: Uid) -> Result<Vec<Zone>, DemoError> {
    let length = ground::LENGTH_M;
    let around = |along: f64| Patch::new((along - 15.0, along + 15.0), (0.0, 24.0));
    let mut list = vec![
        ("Dry sand", ZoneUse::DrySand, Patch::new((0.0, length), (4.0, 54.0))),
        ("Sand between the tides", ZoneUse::WetSand, Patch::new((0.0, length), (54.0, 235.0))),
        ("Bathers' water", ZoneUse::Bathing, Patch::new((520.0, 760.0), (70.0, 200.0))),
        ("Tea hut and seats", ZoneUse::Seats, Patch::new((585.0, 710.0), (18.0, 46.0))),
        ("Groyne bay", ZoneUse::GroyneBay, Patch::new((GROYNES_M[0], GROYNES_M[1]), GROYNE_REACH_M)),
        ("Tarrow rocks", ZoneUse::Rocks, ROCKS),
        ("West mud", ZoneUse::Mud, MUD),
        ("Tarrow water", ZoneUse::Channel, CHANNEL),
        ("Tern plot, keep out", ZoneUse::NoSearch, NO_SEARCH),
    ];
    list.extend(ACCESSES.iter().map(|(name, along, _)| (*name, ZoneUse::Access, around(*along))));
    list.into_iter()
        .map(|(name, usage, patch)| {
            Ok(Zone {
                uid: named("zone", name),
                beach,
                name: name.to_owned(),
                usage,
                area: MultiPolygon(vec![polygon(ground, patch)?]),
                closure: None,
                notes: String::new(),
            })
        })
        .collect()
}

pub(super) fn accesses(ground: &Ground, beach: Uid) -> Result<Vec<Access>, DemoError> {
    ACCESSES
        .iter()
        .map(|(name, along, across)| {
            let at = ground.place(Spot::new(*along, *across), 7)?;
            Ok(Access { uid: named("access", name), beach, name: (*name).to_owned(), at, notes: String::new() })
        })
        .collect()
}

pub(super) fn barriers(ground: &Ground, beach: Uid) -> Result<Vec<Barrier>, DemoError> {
    let barrier = |name: &str, kind, shape| Barrier {
        uid: named("barrier", name),
        beach,
        name: name.to_owned(),
        kind,
        shape,
        notes: String::new(),
    };
    let mut list = Vec::new();
    for (name, along) in ["West groyne", "East groyne"].into_iter().zip(GROYNES_M) {
        let (near, far) = GROYNE_REACH_M;
        let line = line(ground, &[Spot::new(along, near), Spot::new(along, far)])?;
        list.push(barrier(name, BarrierKind::Groyne, BarrierShape::Line(MultiLineString(vec![line]))));
    }
    for (name, kind, patch) in [
        ("Tarrow water", BarrierKind::Channel, CHANNEL),
        ("West mud", BarrierKind::Mud, MUD),
        ("Tarrow rocks", BarrierKind::Rocks, ROCKS),
    ] {
        list.push(barrier(name, kind, BarrierShape::Area(MultiPolygon(vec![polygon(ground, patch)?]))));
    }
    Ok(list)
}

pub(super) fn permissions(ground: &Ground, beach: Uid) -> Result<Vec<Permission>, DemoError> {
    let area = |patch| polygon(ground, patch).map(|p| MultiPolygon(vec![p]));
    Ok(vec![
        Permission {
            uid: named("permission", "Foreshore"),
            beach,
            name: "Foreshore".to_owned(),
            holder: "Tarrow Harbour Trust (invented)".to_owned(),
            area: area(Patch::new((0.0, ground::LENGTH_M), (54.0, 300.0)))?,
            from: Some(date(2025, 4, 1)),
            to: Some(date(2027, 3, 31)),
            hours: None,
            terms: "Fill every hole. Take litter home.".to_owned(),
            report: "Everything older than 1950, with its exact place, once a year.".to_owned(),
            exact_positions: true,
            coarsen_m: None,
            agreed: Agreed {
                contact: "harbour office on the quay (invented)".to_owned(),
                papers: "letter of 14 March 2025, in the blue folder".to_owned(),
                due: Some(ReportDue::Yearly),
                ..Agreed::default()
            },
            key: key("Foreshore"),
        },
        Permission {
            uid: named("permission", "Upper sand"),
            beach,
            name: "Upper sand".to_owned(),
            holder: "Tarrow Parish (invented)".to_owned(),
            area: area(Patch::new((0.0, ground::LENGTH_M), (0.0, 54.0)))?,
            from: Some(date(2025, 4, 1)),
            to: Some(date(2026, 12, 31)),
            hours: Some((time(6, 0, 0, 0), time(21, 0, 0, 0))),
            terms: "Keep clear of the tern plot. Lost property goes to the tea hut.".to_owned(),
            report: "Rings and watches, to the nearest 100 m.".to_owned(),
            exact_positions: false,
            coarsen_m: Some(100.0),
            agreed: Agreed {
                contact: "parish clerk, notice board at the tea hut (invented)".to_owned(),
                holder_share: Some(0.5),
                due: Some(ReportDue::EachOuting),
                ..Agreed::default()
            },
            key: key("Upper sand"),
        },
    ])
}

/// Eight known targets at three depths with each set-up, and the bare hole.
pub(super) fn bench(setups: &[Setup], rng: &mut ChaCha8Rng) -> Vec<BenchReading> {
    const TARGETS: [(&str, &str, f64); 8] = [
        ("coin", "copper coin, green", 0.66),
        ("silver_coin", "thin silver coin", 0.80),
        ("gold_ring", "plain gold band", 0.42),
        ("silver_ring", "twisted silver ring", 0.60),
        ("lead_weight", "anglers' pear weight", 0.58),
        ("ring_pull", "curled ring-pull", 0.34),
        ("bottle_cap", "rusty bottle cap", 0.30),
        ("nail", "boat nail", 0.06),
    ];
    let mut readings = Vec::new();
    for setup in setups {
        let scale = scale_of(setup, setups);
        for (key, target, response) in TARGETS {
            for depth_cm in [5_i32, 15, 25] {
                let depth_m = f64::from(depth_cm) / 100.0;
                let target_ids: Vec<i32> = (0..6).map(|_| scale.read(response + spread(rng, 0.01 + 0.12 * depth_m))).collect();
                readings.push(BenchReading {
                    uid: Uid::of_content("demo bench", [setup.name.as_bytes(), target.as_bytes(), &depth_cm.to_le_bytes()]),
                    setup: setup.uid,
                    kind: Some(Kind::keyed(key)),
                    target: target.to_owned(),
                    depth_m,
                    scraped_m: None,
                    ground: None,
                    lie: Some(if rng.random_bool(0.7) { Lie::Flat } else { Lie::Edge }),
                    steadiness: Some(if depth_cm < 25 { Steadiness::Steady } else { Steadiness::Jumpy }),
                    target_ids,
                    tone: String::new(),
                    gauge_step: Some(((depth_m / 0.05 + spread(rng, 0.4)).round() as i32).max(0)),
                    dig: Some(!matches!(key, "nail" | "bottle_cap")),
                    time: None,
                    notes: String::new(),
                });
            }
        }
        readings.push(bare_hole(setup));
    }
    readings
}

fn bare_hole(setup: &Setup) -> BenchReading {
    BenchReading {
        uid: Uid::of_content("demo bench", [setup.name.as_bytes(), b"bare hole"]),
        setup: setup.uid,
        kind: None,
        target: "bare hole".to_owned(),
        depth_m: 0.15,
        scraped_m: None,
        ground: None,
        lie: None,
        target_ids: Vec::new(),
        steadiness: None,
        tone: String::new(),
        gauge_step: None,
        dig: Some(false),
        time: None,
        notes: String::new(),
    }
}

/// The key of a permission of the invented beach.
pub(super) fn key(name: &str) -> Uid {
    named("key", name)
}

fn named(kind: &str, name: &str) -> Uid {
    Uid::of_content(kind, [NAME.as_bytes(), name.as_bytes()])
}

fn line(ground: &Ground, spots: &[Spot]) -> Result<LineString<f64>, DemoError> {
    let coords = spots.iter().map(|s| ground.place(*s, 7).map(Coord::from));
    Ok(LineString(coords.collect::<Result<_, _>>()?))
}

/// A stretch of beach as a ring, counter-clockwise as RFC 7946 wants it, bent with the shore every 50 m at most.
fn polygon(ground: &Ground, patch: Patch) -> Result<Polygon<f64>, DemoError> {
    let (from, to) = patch.along_m;
    let steps = ((to - from) / 50.0).ceil().max(1.0) as usize;
    let along = |i: usize| from + (to - from) * i as f64 / steps as f64;
    let seaward = (0..=steps).map(|i| Spot::new(along(i), patch.across_m.1));
    let landward = (0..=steps).rev().map(|i| Spot::new(along(i), patch.across_m.0));
    let mut spots: Vec<Spot> = seaward.chain(landward).collect();
    spots.push(spots[0]);
    Ok(Polygon::new(line(ground, &spots)?, Vec::new()))
}
