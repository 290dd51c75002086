//! Records of every kind, made up by proptest.

use std::sync::Arc;

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use jiff::civil::{Date, Time};
use jiff::{Span, Timestamp};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use scourline::book::*;
use scourline::earth::LonLat;

pub(crate) fn lonlat() -> impl Strategy<Value = LonLat> {
    (-180.0..=180.0, -90.0..=90.0).prop_map(|(lon, lat)| LonLat::new(lon, lat).unwrap())
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![3 => "[ -~]{0,12}", 1 => "\\PC{0,8}", 1 => Just(String::new()), 1 => Just("it's \"quoted\"; ü€𝄞\n\0x".to_owned())]
}

fn name() -> impl Strategy<Value = String> {
    "[a-zA-Z][ -~]{0,10}"
}

fn uid() -> impl Strategy<Value = Uid> {
    any::<u128>().prop_map(|n| format!("{n:032x}").parse().unwrap())
}

fn time() -> impl Strategy<Value = Timestamp> {
    prop_oneof![
        (0i64..4_000_000_000).prop_map(|s| Timestamp::from_second(s).unwrap()),
        (-60_000_000_000_000i64..200_000_000_000_000).prop_map(|ms| Timestamp::from_millisecond(ms).unwrap()),
        (0i64..2_000_000_000, 0i32..1_000_000_000).prop_map(|(s, ns)| Timestamp::new(s, ns).unwrap()),
    ]
}

fn date() -> impl Strategy<Value = Date> {
    (1i16..=9999, 1i8..=12, 1i8..=28).prop_map(|(y, m, d)| Date::new(y, m, d).unwrap())
}

fn clock() -> impl Strategy<Value = Time> {
    (0i8..24, 0i8..60, 0i8..60, prop_oneof![Just(0), 0i32..1_000_000_000])
        .prop_map(|(h, m, s, ns)| Time::new(h, m, s, ns).unwrap())
}

fn word<T: Clone + std::fmt::Debug + 'static>(all: &'static [T]) -> impl Strategy<Value = T> {
    select(all)
}

fn ring() -> impl Strategy<Value = LineString<f64>> {
    vec(lonlat(), 3..7).prop_map(|points| {
        let mut line: LineString<f64> = points.into_iter().map(Coord::from).collect();
        line.close();
        // Three positions of which two are one make a ring too short.
        if line.0.len() < 4 {
            line.0.extend(std::iter::repeat_n(line.0[0], 4));
        }
        line
    })
}

pub(crate) fn area() -> impl Strategy<Value = MultiPolygon<f64>> {
    let polygon = (ring(), vec(ring(), 0..2)).prop_map(|(outer, holes)| Polygon::new(outer, holes));
    vec(polygon, 1..3).prop_map(MultiPolygon)
}

fn barrier_shape() -> impl Strategy<Value = BarrierShape> {
    let line = vec(lonlat(), 2..6).prop_map(|points| points.into_iter().map(Coord::from).collect::<LineString<f64>>());
    prop_oneof![vec(line, 0..3).prop_map(|l| BarrierShape::Line(MultiLineString(l))), area().prop_map(BarrierShape::Area)]
}

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![select(Kinds::shipped().all()), "[a-z_]{0,8}".prop_map(|k| Kind::keyed(&k))]
}

fn fix() -> impl Strategy<Value = TrackPoint> {
    (lonlat(), of(time()), of(-500.0..9000.0f64), of(0.0..99.0f64), of(1u8..40)).prop_map(
        |(at, time, height, hdop, satellites)| {
            TrackPoint::new(at).with_time(time).with_height_m(height).with_hdop(hdop).with_satellites(satellites)
        },
    )
}

fn segments() -> impl Strategy<Value = Vec<Arc<[TrackPoint]>>> {
    (vec(vec(fix(), 0..5).prop_map(Arc::from), 0..3), vec(fix(), 1..5)).prop_map(|(mut runs, last)| {
        runs.push(last.into());
        runs
    })
}

type Port = (String, PortDifferences, Option<[f64; 4]>);

/// Name, differences and printed levels of a secondary port.
fn port() -> impl Strategy<Value = Port> {
    let times = (-720.0..720.0, -720.0..720.0);
    let differences = (times.clone(), times, [-15.0..15.0, -15.0..15.0, -15.0..15.0, -15.0..15.0])
        .prop_map(|(high_time_min, low_time_min, heights_m)| PortDifferences { high_time_min, low_time_min, heights_m });
    let levels = (-20.0..0.0, 0.01..5.0f64, 0.01..5.0f64, 0.01..5.0f64)
        .prop_map(|(low, a, b, c)| [low + a + b + c, low + a + b, low + a, low]);
    (name(), differences, of(levels))
}

fn secondary(
    name: String,
    standard: StandardPort,
    differences: PortDifferences,
    standard_levels_m: Option<[f64; 4]>,
) -> TideChoice {
    TideChoice::Secondary(SecondaryChoice { name, standard, differences, standard_levels_m })
}

fn search() -> impl Strategy<Value = SearchSettings> {
    (of(0.0..=5.0), of(0.05..=3.0), of(0.05..=1.0), of(0.05..=10.0), of(1.0..=180.0), of(1.0..=3600.0)).prop_map(
        |(swing_m, coil_width_m, overlap, walk_m_per_s, turn_deg, gap_s)| SearchSettings {
            swing_m,
            coil_width_m,
            overlap,
            walk_m_per_s,
            turn_deg,
            gap_s,
        },
    )
}

fn reading() -> impl Strategy<Value = ReadingSettings> {
    (of(word(ClusterMethod::ALL)), of(0.1..=1000.0), of(2u32..=10_000), of(0.01..=1.0), of(0.0..=2.0), of(1u32..=3650)).prop_map(
        |(cluster_by, cluster_distance_m, cluster_points, detection_per_pass, effort_error, storm_days)| ReadingSettings {
            cluster_by,
            cluster_distance_m,
            cluster_points,
            detection_per_pass,
            effort_error,
            storm_days,
        },
    )
}

prop_compose! {
    fn beach()(uid in uid(), name in name(), origin in lonlat(), baseline in vec(lonlat(), 0..5), seaward in word(Seaward::ALL),
               station in of(text()), offset in of(-50.0..50.0), zone in select(&["UTC", "Europe/London", "Pacific/Auckland"]),
               slope in of(0.0005..1.0), back in of(-50.0..200.0), port in of(port()), surge_m in of(-10.0..15.0),
               surge_sd_m in of(0.0..5.0), pressure_hpa in of(850.0..1100.0), run_up_m in of(0.0..10.0),
               free in select(&["", "sat sun 8-18", "22-2, mon 9:30-10"]), pace_m_s in of(0.2..2.0), search in search(), reading in reading(),
               invented in any::<bool>(), offset_from in of(text()), confirmed in vec((name(), time()), 0..3), notes in text()) -> Beach {
        let baseline = if baseline.len() == 1 { Vec::new() } else { baseline };
        let tide = match (station, port) {
            (Some(id), None) => TideChoice::Station(id),
            (Some(id), Some((name, differences, levels))) => {
                secondary(name, StandardPort::Station(id), differences, levels)
            }
            (None, _) => TideChoice::None,
        };
        let weather = Weather { surge_m, surge_sd_m, pressure_hpa, run_up_m };
        Beach { uid, name, origin, baseline, seaward, tide, weather, free: free.parse().unwrap(), pace_m_s,
                datum_offset_m: offset, offset_from,
                confirmed: confirmed.into_iter().map(|(key, time)| Confirmation { key, time }).collect(), time_zone: zone.to_owned(), slope, back_level_m: back, search, reading, invented, notes }
    }
}

prop_compose! {
    fn setup()(uid in uid(), name in name(), words in vec(text(), 9), width in of(0.05..3.0), ground in of(word(Ground::ALL))) -> Setup {
        let w = |n: usize| words[n].clone();
        Setup { uid, name, machine: w(0), mode: w(1), sensitivity: w(2), ground_balance: w(3), discrimination: w(4), iron_audio: w(5),
                tones: w(6), volume: w(7), coil: w(8), coil_width_m: width, ground, notes: w(0) }
    }
}

/// Stretches set aside, each later than it began.
fn asides() -> impl Strategy<Value = Vec<Aside>> {
    let one = (word(AsideWhy::ALL), time(), 1i64..20_000).prop_map(|(why, from, s)| Aside {
        why,
        from,
        to: from.checked_add(Span::new().seconds(s)).unwrap(),
    });
    vec(one, 0..3)
}

prop_compose! {
    fn outing(beach: Uid, setup: Uid)(uid in uid(), name in text(), start in time(), minutes in 0i64..600, with in any::<bool>(),
               sand in vec(word(SandNote::ALL), 0..4), asides in asides(), holes_filled in of(any::<bool>()),
               litter_kg in of(0.0..1e4), notes in text()) -> Outing {
        let end = start.checked_add(Span::new().minutes(minutes)).unwrap();
        Outing { uid, beach, name, start, end, setup: with.then_some(setup), sand, asides, holes_filled, litter_kg, notes }
    }
}

prop_compose! {
    fn find(beach: Uid, outing: Uid)(uid in uid(), with in any::<bool>(), at in lonlat(), time in of(time()), words in vec(text(), 10),
             more in proptest::collection::btree_map(text(), text(), 0..3),
             kind in kind(), weight in of(word(Weight::ALL)), material in of(word(Material::ALL)), depth_m in of(0.0..5.0),
             target_id in of(-1000.0..10_000.0), mass_g in of(0.0..1e6), size_mm in of(0.0..1e5)) -> Find {
        let w = |n: usize| words[n].clone();
        Find { uid, beach, outing: with.then_some(outing), at, time, what: w(0), kind, weight, material, depth_m, target_id, mass_g,
               size_mm, state: w(1), photo: w(2), notes: w(3), finder: w(4), permission: w(5), value: w(6), age: w(7), disposal: w(8),
               reported: w(9), more }
    }
}

prop_compose! {
    fn signal(beach: Uid, outing: Uid)(uid in uid(), with in any::<bool>(), at in lonlat(), time in of(time()),
              target_ids in vec(-1000i32..10_000, 0..5), steadiness in of(word(Steadiness::ALL)), gauge_step in of(0i32..=100),
              notes in text()) -> Signal {
        Signal { uid, beach, outing: with.then_some(outing), at, time, target_ids, steadiness, gauge_step, notes }
    }
}

prop_compose! {
    fn bench(setup: Uid)(uid in uid(), kind in of(kind()), target in text(), depth_m in 0.0..3.0, scraped_m in of(0.0..3.0), lie in of(word(Lie::ALL)),
             ground in of(word(Ground::ALL)),
             target_ids in vec(-1000i32..10_000, 0..5), steadiness in of(word(Steadiness::ALL)), tone in text(),
             gauge_step in of(0i32..=100), dig in of(any::<bool>()), time in of(time())) -> BenchReading {
        BenchReading { uid, setup, kind, target, depth_m, scraped_m, ground, lie, target_ids, steadiness, tone, gauge_step, dig, time, notes: String::new() }
    }
}

prop_compose! {
    fn permission(beach: Uid)(uid in uid(), words in vec(text(), 6), area in area(), deepest_m in of(0.0..=5.0),
                  holder_share in of(0.0..=1.0), due in of(word(ReportDue::ALL)), older_than in of(-10_000..=3000),
                  places in vec((word(KindGroup::ALL), word(Telling::ALL)), 0..3), days in of((date(), date())), end in any::<bool>(),
                  hours in of((clock(), clock())), exact_positions in any::<bool>(), coarsen_m in of(1.0..1e5), key in uid()) -> Permission {
        let w = |n: usize| words[n].clone();
        let from = days.map(|(a, b)| a.min(b));
        let to = days.map(|(a, b)| a.max(b)).filter(|_| end);
        Permission { uid, beach, name: w(0), holder: w(1), area, from, to, hours, terms: w(2), report: w(3), exact_positions, coarsen_m, key,
                     agreed: Agreed { contact: w(4), papers: w(5), deepest_m, holder_share, due, older_than,
                                      places: places.into_iter().map(|(group, told)| PlaceRule { group, told }).collect() } }
    }
}

prop_compose! {
    fn receipt(beach: Uid)(uid in uid(), permission in uid(), words in vec(text(), 3), time in time(), days in of((date(), date())),
               finds in vec(uid(), 0..4)) -> Receipt {
        let w = |n: usize| words[n].clone();
        Receipt { uid, beach, permission, name: w(0), holder: w(1), time, from: days.map(|(a, b)| a.min(b)),
                  to: days.map(|(a, b)| a.max(b)), finds, manifest: w(2) }
    }
}

/// A reason with or without its season.
fn closure() -> impl Strategy<Value = Closure> {
    (word(ClosureWhy::ALL), select(&["", " 03-01/08-31", " 11-15/02-29"]))
        .prop_map(|(why, season)| format!("{}{season}", why.word()).parse().unwrap())
}

prop_compose! {
    fn storm(beach: Uid)(uid in uid(), name in text(), mut times in vec(time(), 1..6), hs_m in 0.0..40.0, tp_s in of(0.5..40.0),
             dir_deg in of(0.0..=360.0), surge_m in of(-5.0..15.0), notes in text()) -> Storm {
        times.sort();
        let series = times.into_iter().map(|time| SeaState { time, hs_m, tp_s, dir_deg, surge_m }).collect();
        Storm { uid, beach, name, series, notes }
    }
}

prop_compose! {
    fn tide_table(beach: Uid)(uid in uid(), name in text(), start in 0i64..1_000_000_000, levels in vec(-20.0..30.0, 2..8)) -> TideTable {
        let turn = |(n, level_m): (usize, f64)| TideTurn {
            time: Timestamp::from_second(start + n as i64 * 22_360).unwrap(), level_m, high: n % 2 == 0
        };
        TideTable { uid, beach, name, turns: levels.into_iter().enumerate().map(turn).collect() }
    }
}

prop_compose! {
    fn gauge(beach: Uid)(uid in uid(), name in text(), mut times in vec(time(), 1..6), level in -50.0..50.0) -> GaugeRecord {
        times.sort();
        GaugeRecord { uid, beach, name, readings: times.into_iter().map(|t| (t, level)).collect() }
    }
}

prop_compose! {
    fn sea_record(beach: Uid)(uid in uid(), name in text(), mut times in vec(time(), 1..9), hs_m in 0.0..=40.0,
                              tp_s in of(0.5..40.0), dir_deg in of(0.0..=360.0), surge_m in of(-5.0..15.0)) -> SeaRecord {
        times.sort();
        times.dedup();
        let states = times.into_iter().map(|time| SeaState { time, hs_m, tp_s, dir_deg, surge_m }).collect();
        SeaRecord { uid, beach, name, states }
    }
}

/// Records of every kind around one beach, one set-up and one outing.
pub(crate) fn records() -> impl Strategy<Value = Vec<Record>> {
    (beach(), setup(), uid(), 0..4_u8, port()).prop_flat_map(|(beach, setup, outing, own, port)| {
        let (b, s) = (beach.uid, setup.uid);
        let zone = (uid(), text(), word(ZoneUse::ALL), area(), of(closure()), text()).prop_map(
            move |(uid, name, usage, area, closure, notes)| Zone { uid, beach: b, name, usage, area, closure, notes }.into(),
        );
        let access = (uid(), text(), lonlat(), text())
            .prop_map(move |(uid, name, at, notes)| Access { uid, beach: b, name, at, notes }.into());
        let barrier = (uid(), text(), word(BarrierKind::ALL), barrier_shape(), text())
            .prop_map(move |(uid, name, kind, shape, notes)| Barrier { uid, beach: b, name, kind, shape, notes }.into());
        let level = (uid(), lonlat(), -100.0..1000.0, of(0.0..100.0), of(date()), text()).prop_map(
            move |(uid, at, level_m, sigma_m, date, survey)| {
                LevelPoint { uid, beach: b, at, level_m, sigma_m, date, survey }.into()
            },
        );
        let plan =
            (uid(), text(), vec(lonlat(), 1..5)).prop_map(move |(uid, name, points)| Plan { uid, beach: b, name, points }.into());
        let track = (uid(), any::<bool>(), text(), segments()).prop_map(move |(uid, with, name, segments)| {
            Track { uid, beach: b, outing: with.then_some(outing), name, segments }.into()
        });
        let remembered = (uid(), name(), proptest::collection::btree_map(text(), text(), 0..3), text(), of(time())).prop_map(
            |(uid, headings, answers, zone, time)| {
                Remembered { uid, headings, columns: answers.clone(), answers, zone, time }.into()
            },
        );
        let record = prop_oneof![
            1 => remembered,
            2 => find(b, outing).prop_map(Record::from),
            2 => signal(b, outing).prop_map(Record::from),
            2 => track,
            1 => zone,
            1 => access,
            1 => barrier,
            1 => level,
            1 => plan,
            1 => bench(s).prop_map(Record::from),
            1 => permission(b).prop_map(Record::from),
            1 => receipt(b).prop_map(Record::from),
            1 => storm(b).prop_map(Record::from),
            1 => sea_record(b).prop_map(Record::from),
            1 => tide_table(b).prop_map(Record::from),
            1 => gauge(b).prop_map(Record::from),
        ];
        let own_records = (tide_table(b), gauge(b));
        (Just(beach), Just(setup), outing_named(b, s, outing), own_records, vec(record, 0..40)).prop_map(
            move |(mut beach, setup, outing, (table, gauge), mut records)| {
                match own {
                    0 => beach.tide = TideChoice::Table(table.uid),
                    1 => beach.tide = TideChoice::Gauge(gauge.uid),
                    2 => {
                        let (name, differences, levels) = port.clone();
                        let levels = Some(levels.unwrap_or([5.0, 4.0, 2.0, 1.0]));
                        beach.tide = secondary(name, StandardPort::Table(table.uid), differences, levels);
                    }
                    _ => {}
                }
                records.extend([Record::from(beach), setup.into(), outing.into(), table.into(), gauge.into()]);
                records
            },
        )
    })
}

fn outing_named(beach: Uid, setup: Uid, uid: Uid) -> impl Strategy<Value = Outing> {
    outing(beach, setup).prop_map(move |o| Outing { uid, ..o })
}

/// A small invented book with a little of everything that matters to other programs.
pub(crate) fn small() -> (Book, Uid, Uid) {
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
    let at = |n: f64| LonLat::new(-20.0 + n * 1e-4, 45.0 + n * 1e-4).unwrap();
    let t = |s| Timestamp::from_second(1_700_000_000 + s).unwrap();
    let outing = Outing::new(beach.uid, t(0), t(3600));
    let mut find = Find::new(beach.uid, at(1.0), "invented penny", Kind::keyed("coin"));
    find.outing = Some(outing.uid);
    find.depth_m = Some(0.15);
    let segments: Vec<Arc<[TrackPoint]>> =
        vec![(0..50).map(|n| TrackPoint::new(at(f64::from(n))).with_time(Some(t(i64::from(n))))).collect()];
    let track = Track {
        uid: Track::content_uid(beach.uid, &segments),
        beach: beach.uid,
        outing: Some(outing.uid),
        name: "walk".into(),
        segments,
    };
    let uids = (beach.uid, find.uid);
    let records: [Record; 4] = [beach.into(), outing.into(), find.into(), track.into()];
    (Book::gather(records).unwrap(), uids.0, uids.1)
}

/// The edit that writes a whole book.
pub(crate) fn whole(book: &Book) -> Edit {
    Edit::Batch(RecordKind::ALL.iter().flat_map(|k| book.records(*k)).map(Edit::put).collect())
}
