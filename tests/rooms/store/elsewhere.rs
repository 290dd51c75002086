//! A book for other programs to read, with what they should find in it.
//!
//! `cargo test --test rooms -- --ignored store::elsewhere` writes `book.gpkg` and `expected.json` into the
//! folder that the variable `SCOURLINE_STORE_OUT` names; `tests/reference/store/check.py` then reads
//! the one with GDAL and compares it with the other, and lets GDAL write into a copy, which
//! `-- --ignored after_gdal` then opens.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use geo_types::{LineString, MultiLineString, MultiPolygon, polygon};
use jiff::Timestamp;
use jiff::civil::{Date, Time};
use scourline::book::*;
use scourline::earth::LonLat;
use scourline::store::Store;
use serde_json::{Value, json};

use super::book_of::whole;

fn at(east: f64, north: f64) -> LonLat {
    LonLat::new(-20.0 + east * 1e-5, 45.0 + north * 1e-5).unwrap()
}

fn t(seconds: i64) -> Timestamp {
    Timestamp::from_millisecond(1_700_000_000_000 + seconds * 1000 + 250).unwrap()
}

fn square(east: f64, north: f64) -> geo_types::Polygon<f64> {
    let c = |e: f64, n: f64| geo_types::Coord::from(at(east + e, north + n));
    geo_types::Polygon::new(
        LineString(vec![c(0.0, 0.0), c(30.0, 0.0), c(30.0, 30.0), c(0.0, 30.0), c(0.0, 0.0)]),
        vec![LineString(vec![c(10.0, 10.0), c(10.0, 20.0), c(20.0, 20.0), c(20.0, 10.0), c(10.0, 10.0)])],
    )
}

/// An invented book with every kind of record.
fn book() -> Book {
    let uid = |kind: &str, n: u32| Uid::of_content(kind, [n.to_le_bytes().as_slice()]);
    let mut beach = Beach::new("Invented Bay", at(0.0, 0.0));
    beach.baseline = vec![at(-50.0, 0.0), at(0.0, 5.0), at(80.0, 0.0)];
    beach.datum_offset_m = Some(1.85);
    beach.tide = TideChoice::Station("invented/1".into());
    beach.time_zone = "Europe/London".into();
    let b = beach.uid;
    let mut setup = Setup::new("wet sand");
    setup.coil_width_m = Some(0.28);
    setup.ground = Some(Ground::WetSalt);
    let mut outing = Outing::new(b, t(0), t(7200));
    outing.setup = Some(setup.uid);
    outing.sand = vec![SandNote::Cut, SandNote::BlackSand];
    let finds = (0..25u32).map(|n| {
        let mut find = Find::new(b, at(f64::from(n), f64::from(n * 7 % 11)), format!("Münze №{n}"), Kind::keyed("coin"));
        find.uid = uid("find", n);
        find.outing = Some(outing.uid);
        find.time = Some(t(i64::from(n) * 60));
        find.depth_m = (n % 3 > 0).then_some(0.05 * f64::from(n % 3));
        find.mass_g = (n % 2 > 0).then_some(2.5 + f64::from(n));
        find.weight = (n % 4 == 0).then_some(Weight::Heavy);
        Record::from(find)
    });
    let mut signal = Signal::new(b, at(3.0, 4.0));
    signal.uid = uid("signal", 0);
    signal.target_ids = vec![12, 13, -4];
    let fix = |n: u32| {
        let fix = TrackPoint::new(at(f64::from(n) * 0.4, 2.0)).with_time((!n.is_multiple_of(10)).then(|| t(i64::from(n))));
        fix.with_height_m((!n.is_multiple_of(7)).then_some(2.0 + f64::from(n) * 0.125))
            .with_hdop(Some(0.9))
            .with_satellites(Some(11))
    };
    let segments: Vec<Arc<[TrackPoint]>> =
        vec![(0..40).map(fix).collect(), (40..41).map(fix).collect(), (60..90).map(fix).collect()];
    let track =
        Track { uid: Track::content_uid(b, &segments), beach: b, outing: Some(outing.uid), name: "lanes".into(), segments };
    let area = MultiPolygon(vec![square(0.0, 0.0), square(50.0, 0.0)]);
    let zone = Zone {
        uid: uid("zone", 0),
        beach: b,
        name: "West".into(),
        usage: ZoneUse::WetSand,
        area: area.clone(),
        closure: Some("bird_closure 03-01/08-31".parse().unwrap()),
        notes: String::new(),
    };
    let single =
        MultiPolygon(vec![polygon![(x: -20.0, y: 45.0), (x: -19.999, y: 45.0), (x: -19.999, y: 45.001), (x: -20.0, y: 45.0)]]);
    let permission = Permission {
        uid: uid("permission", 0),
        beach: b,
        name: "Foreshore".into(),
        holder: "invented estate".into(),
        area: single,
        from: Some(Date::constant(2025, 1, 1)),
        to: None,
        hours: Some((Time::constant(7, 0, 0, 0), Time::constant(20, 30, 0, 0))),
        terms: "fill every hole".into(),
        report: String::new(),
        exact_positions: false,
        coarsen_m: Some(100.0),
        agreed: Agreed {
            contact: "the estate's office".into(),
            deepest_m: Some(0.3),
            holder_share: Some(0.5),
            due: Some(ReportDue::Yearly),
            older_than: Some(1950),
            places: PlaceRule::read_all("jewellery withheld").unwrap(),
            ..Agreed::default()
        },
        key: uid("key", 0),
    };
    let line = MultiLineString(vec![LineString(vec![at(5.0, 0.0).into(), at(5.0, 60.0).into()])]);
    let barrier = |n: u32, kind: BarrierKind, shape: BarrierShape| {
        Record::from(Barrier { uid: uid("barrier", n), beach: b, name: String::new(), kind, shape, notes: String::new() })
    };
    let level = |n: u32| {
        let level_m = 3.0 - f64::from(n) * 0.2;
        let date = Some(Date::constant(2025, 3, 9));
        let at = at(f64::from(n) * 3.0, -f64::from(n));
        Record::from(LevelPoint {
            uid: uid("level", n),
            beach: b,
            at,
            level_m,
            sigma_m: Some(0.03),
            date,
            survey: "staff".into(),
        })
    };
    let sea =
        |n: i64| SeaState { time: t(n * 3600), hs_m: 2.0 + n as f64 * 0.5, tp_s: Some(8.0), dir_deg: None, surge_m: Some(0.3) };
    let storm = Storm {
        uid: uid("storm", 0),
        beach: b,
        name: "Invented".into(),
        series: (0..5).map(sea).collect(),
        notes: String::new(),
    };
    let record =
        SeaRecord { uid: SeaRecord::uid_of(b, "buoy"), beach: b, name: "buoy".into(), states: (0..7).map(sea).collect() };
    let turn = |n: i64| TideTurn { time: t(n * 22_360), level_m: if n % 2 == 0 { 4.6 } else { 0.9 }, high: n % 2 == 0 };
    let table = TideTable { uid: uid("table", 0), beach: b, name: "almanac".into(), turns: (0..6).map(turn).collect() };
    let readings = (0..10).map(|n| (t(n * 600), 2.0 + n as f64 / 8.0)).collect();
    let gauge = GaugeRecord { uid: uid("gauge", 0), beach: b, name: "logger".into(), readings };
    let plan = Plan { uid: uid("plan", 0), beach: b, name: "down the gully".into(), points: vec![at(0.0, 0.0), at(9.0, 9.0)] };
    let bench = BenchReading {
        uid: uid("bench", 0),
        setup: setup.uid,
        kind: None,
        target: "bare hole".into(),
        depth_m: 0.2,
        scraped_m: None,
        ground: None,
        lie: Some(Lie::Edge),
        target_ids: Vec::new(),
        steadiness: None,
        tone: String::new(),
        gauge_step: Some(2),
        dig: Some(false),
        time: None,
        notes: String::new(),
    };
    let access = Access { uid: uid("access", 0), beach: b, name: "steps".into(), at: at(-9.0, 8.0), notes: String::new() };
    let kind = OwnKind {
        mass_g: Some(7.5),
        source: "own scales".into(),
        ..OwnKind::new(Kind::own(&Kind::keyed("button"), "naval button").unwrap())
    };
    let receipt = Receipt { finds: vec![uid("find", 0)], ..Receipt::new(&permission, t(9), "00") };
    let mut records: Vec<Record> = finds.collect();
    records.push(receipt.into());
    records.push(kind.into());
    let answered = [("dates".to_owned(), "day-first".to_owned())];
    records.push(Remembered { answers: answered.into(), zone: "UTC".into(), ..Remembered::new(["lat", "lon", "what"]) }.into());
    records.extend((0..12).map(level));
    records.push(barrier(0, BarrierKind::Groyne, BarrierShape::Line(line)));
    records.push(barrier(1, BarrierKind::Rocks, BarrierShape::Area(area)));
    records.extend([
        Record::from(beach),
        setup.into(),
        outing.into(),
        signal.into(),
        track.into(),
        zone.into(),
        permission.into(),
        storm.into(),
        record.into(),
        table.into(),
        gauge.into(),
        plan.into(),
        bench.into(),
        access.into(),
    ]);
    Book::gather(records).unwrap()
}

fn xy(p: LonLat) -> Value {
    json!([p.lon_deg(), p.lat_deg()])
}

fn multi(area: &MultiPolygon<f64>) -> Value {
    let ring = |r: &LineString<f64>| r.0.iter().map(|c| json!([c.x, c.y])).collect::<Value>();
    let coordinates: Vec<Value> = area
        .iter()
        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
        .flat_map(|r| ring(r).as_array().cloned().unwrap())
        .collect();
    json!({"type": "MultiPolygon", "coordinates": coordinates})
}

/// What another program should find: for each table a list of rows, each with the geometry's type
/// and its positions in one flat list, and the columns worth comparing.
fn expected(book: &Book) -> Value {
    let mut tables: BTreeMap<&str, Vec<Value>> = BTreeMap::new();
    let mut add = |table, row: Value| tables.entry(table).or_default().push(row);
    let point = |p: LonLat| json!({"type": "Point", "coordinates": [xy(p)]});
    for b in book.beaches().values() {
        add(
            "beaches",
            json!({"uid": b.uid, "name": b.name, "geometry": point(b.origin), "datum_offset_m": b.datum_offset_m,
            "tide_station": "invented/1", "time_zone": b.time_zone, "seaward": b.seaward.word()}),
        );
        let line: Value = b.baseline.iter().map(|p| xy(*p)).collect();
        add("baselines", json!({"beach": b.uid, "geometry": {"type": "LineString", "coordinates": line}}));
    }
    for f in book.finds().values() {
        add(
            "finds",
            json!({"uid": f.uid, "geometry": point(f.at), "what": f.what, "kind": f.kind, "time": f.time, "depth_m": f.depth_m,
            "mass_g": f.mass_g, "weight": f.weight.map(Weight::word), "outing": f.outing}),
        );
    }
    for s in book.signals().values() {
        add("signals", json!({"uid": s.uid, "geometry": point(s.at), "target_ids": "[12,13,-4]"}));
    }
    for t in book.tracks().values() {
        for (n, run) in t.segments.iter().enumerate() {
            let fix = |p: &TrackPoint| json!([p.at.lon_deg(), p.at.lat_deg(), p.height_m(), p.time_s()]);
            let mut line: Vec<Value> = run.iter().map(fix).collect();
            if line.len() == 1 {
                line.push(line[0].clone());
            }
            add(
                "tracks",
                json!({"uid": t.uid, "segment": n, "name": t.name, "fixes": run.len(),
                "geometry": {"type": "LineString", "coordinates": line}}),
            );
        }
    }
    for z in book.zones().values() {
        add(
            "zones",
            json!({"uid": z.uid, "use": z.usage.word(), "closure": "bird_closure 03-01/08-31", "geometry": multi(&z.area)}),
        );
    }
    for p in book.permissions().values() {
        add(
            "permissions",
            json!({"uid": p.uid, "geometry": multi(&p.area), "first_day": p.from, "last_day": p.to,
            "hours_from": "07:00:00", "exact_positions": p.exact_positions, "coarsen_m": p.coarsen_m, "id_key": p.key,
            "deepest_m": p.agreed.deepest_m, "holder_share": p.agreed.holder_share, "report_due": "yearly", "older_than": p.agreed.older_than}),
        );
    }
    for r in book.receipts().values() {
        add("receipts", json!({"uid": r.uid, "permission": r.permission, "time": r.time, "manifest": r.manifest}));
    }
    for a in book.accesses().values() {
        add("accesses", json!({"uid": a.uid, "name": a.name, "geometry": point(a.at)}));
    }
    for b in book.barriers().values() {
        let geometry = match &b.shape {
            BarrierShape::Area(area) => multi(area),
            BarrierShape::Line(lines) => {
                let all: Value = lines.iter().flat_map(|l| l.0.iter().map(|c| json!([c.x, c.y]))).collect();
                json!({"type": "MultiLineString", "coordinates": all})
            }
        };
        add("barriers", json!({"uid": b.uid, "kind": b.kind.word(), "geometry": geometry}));
    }
    for l in book.levels().values() {
        let geometry = json!({"type": "Point", "coordinates": [[l.at.lon_deg(), l.at.lat_deg(), l.level_m]]});
        add("levels", json!({"uid": l.uid, "level_m": l.level_m, "sigma_m": l.sigma_m, "date": l.date, "geometry": geometry}));
    }
    for p in book.plans().values() {
        let line: Value = p.points.iter().map(|p| xy(*p)).collect();
        add("plans", json!({"uid": p.uid, "name": p.name, "geometry": {"type": "LineString", "coordinates": line}}));
    }
    for o in book.outings().values() {
        add(
            "outings",
            json!({"uid": o.uid, "start": o.start, "end": o.end, "sand": "[\"cut\",\"black_sand\"]", "setup": o.setup}),
        );
    }
    for s in book.setups().values() {
        add(
            "setups",
            json!({"uid": s.uid, "name": s.name, "coil_width_m": s.coil_width_m, "ground": s.ground.map(Ground::word)}),
        );
    }
    for s in book.storms().values() {
        add("storms", json!({"uid": s.uid, "name": s.name}));
        for (n, s1) in s.series.iter().enumerate() {
            add("sea_states", json!({"storm": s.uid, "number": n, "time": s1.time, "hs_m": s1.hs_m, "dir_deg": s1.dir_deg}));
        }
    }
    for r in book.seas().values() {
        add("sea_records", json!({"uid": r.uid, "name": r.name}));
        for (n, s) in r.states.iter().enumerate() {
            add("recorded_sea", json!({"sea_record": r.uid, "number": n, "time": s.time, "hs_m": s.hs_m, "tp_s": s.tp_s}));
        }
    }
    for t in book.tide_tables().values() {
        add("tide_tables", json!({"uid": t.uid, "name": t.name}));
        for (n, turn) in t.turns.iter().enumerate() {
            add(
                "tide_turns",
                json!({"tide_table": t.uid, "number": n, "level_m": turn.level_m, "high": turn.high, "time": turn.time}),
            );
        }
    }
    for g in book.gauges().values() {
        add("gauges", json!({"uid": g.uid, "name": g.name}));
        for (n, (time, level_m)) in g.readings.iter().enumerate() {
            add("gauge_readings", json!({"gauge": g.uid, "number": n, "level_m": level_m, "time": time}));
        }
    }
    for b in book.bench().values() {
        add(
            "bench",
            json!({"uid": b.uid, "target": b.target, "depth_m": b.depth_m, "lie": b.lie.map(Lie::word), "dig": b.dig,
            "gauge_step": b.gauge_step}),
        );
    }
    for k in book.own_kinds().values() {
        add("kinds", json!({"uid": k.uid, "kind": k.kind.key(), "mass_g": k.mass_g, "size_mm": k.size_mm, "source": k.source}));
    }
    for r in book.remembered().values() {
        add("remembered", json!({"uid": r.uid, "headings": r.headings, "zone": r.zone}));
    }
    json!({ "tables": tables })
}

#[test]
#[ignore = "writes files for another program; see the top of this file"]
fn elsewhere() {
    let out = PathBuf::from(std::env::var_os("SCOURLINE_STORE_OUT").expect("set SCOURLINE_STORE_OUT to a folder"));
    std::fs::create_dir_all(&out).unwrap();
    let path = out.join("book.gpkg");
    if path.exists() {
        std::fs::remove_file(&path).unwrap();
    }
    let book = book();
    let mut store = Store::create(&path).unwrap();
    store.write(&whole(&book)).unwrap();
    store.close().unwrap();
    std::fs::write(out.join("expected.json"), serde_json::to_string_pretty(&expected(&book)).unwrap()).unwrap();
}

#[test]
fn the_example_book_has_every_kind_of_record_and_comes_back() {
    let dir = tempfile::tempdir().unwrap();
    let book = book();
    assert!(RecordKind::ALL.iter().all(|k| book.count(*k) > 0));
    let mut store = Store::create(dir.path().join("book.gpkg")).unwrap();
    store.write(&whole(&book)).unwrap();
    assert_eq!(store.load().unwrap().book, book);
}

/// After `check.py`: GDAL has added a find and a layer of its own to a copy of the book.
#[test]
#[ignore = "reads a file that another program wrote; see the top of this file"]
fn after_gdal() {
    let out = PathBuf::from(std::env::var_os("SCOURLINE_STORE_OUT").expect("set SCOURLINE_STORE_OUT to a folder"));
    let loaded = Store::open(out.join("book.gpkg-edited.gpkg")).unwrap().load().unwrap();
    assert_eq!(loaded.complaints, []);
    assert_eq!(loaded.book.finds().len(), book().finds().len() + 1);
    assert!(loaded.book.finds().values().any(|f| f.depth_m == Some(0.25) && f.what.is_empty()));
}
