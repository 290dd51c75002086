//! Ground covered: against exact polygons, and on tracks as they come.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use proptest::prelude::*;
use scourline::Progress;
use scourline::book::{Beach, Book, Edit, Outing, Setup, Track, TrackPoint, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::effort::{Effort, EffortError, Fix, Params, StretchKind, Walk};
use serde::Deserialize;

fn uid(n: u32) -> Uid {
    Uid::of_content("test", [n.to_le_bytes().as_slice()])
}

/// A walk at one fix every second from `start_s`, on a grid of metres east and north.
fn walk(n: u32, start_s: f64, points: &[(f64, f64)]) -> Walk {
    let fix = |(i, (x, y)): (usize, &(f64, f64))| {
        let at = Local::new(*x, *y);
        Fix { at, on_grid: at, time_s: start_s + i as f64 }
    };
    let run = points.iter().enumerate().map(fix).collect();
    Walk { track: uid(n), outing: Some(uid(n)), began_s: start_s, coil_width_m: None, runs: vec![run], unusable: 0 }
}

#[derive(Deserialize)]
struct Reference {
    cases: BTreeMap<String, Case>,
}

#[derive(Deserialize)]
struct Case {
    swath_m: f64,
    outings: Vec<Vec<(f64, f64)>>,
    swept_m2: Vec<f64>,
    fresh_m2: Vec<f64>,
    union_m2: f64,
}

/// Areas from shapely 2.2.0: see `tests/reference/effort/swath.py`.
#[test]
fn swept_and_fresh_ground_are_within_two_percent_of_exact_polygons() {
    let reference: Reference = serde_json::from_str(include_str!("../reference/effort/swath.json")).unwrap();
    assert_eq!(reference.cases.len(), 6);
    for (name, case) in reference.cases {
        let walks: Vec<_> = (0..).zip(&case.outings).map(|(n, points)| walk(n, f64::from(n) * 1e6, points)).collect();
        for cell_m in [0.5, 1.0, 2.0] {
            // Everything counts as searched here: the areas are what is compared.
            let params = Params {
                cell_m,
                swing_m: (case.swath_m - 0.28f64).max(0.0),
                walk_m_per_s: 10.0,
                jump_m_per_s: 100.0,
                ..Params::default()
            };
            let effort = Effort::of_walks(&walks, &params, &Progress::new()).unwrap();
            let off = |found: f64, truth: f64| (found / truth - 1.0).abs();
            let total = effort.totals();
            println!(
                "{name}, {cell_m} m: {:.2} of {:.2} m2 ({:+.3} %)",
                total.swept_m2,
                case.union_m2,
                100.0 * (total.swept_m2 / case.union_m2 - 1.0)
            );
            assert!(off(total.swept_m2, case.union_m2) < 0.02, "{name}: {} {}", total.swept_m2, case.union_m2);
            for (n, (swept, fresh)) in (0..).zip(case.swept_m2.iter().zip(&case.fresh_m2)) {
                let found = of_outing(&effort, uid(n));
                assert!(off(found.0, *swept) < 0.02, "{name} {n}: swept {} {swept}", found.0);
                assert!(off(found.1, *fresh) < 0.02, "{name} {n}: fresh {} {fresh}", found.1);
            }
        }
    }
}

/// Ground that an outing swept and how much of it was fresh, m².
fn of_outing(effort: &Effort, outing: Uid) -> (f64, f64) {
    let found = effort.outings.iter().find(|o| o.outing == Some(outing)).expect("the outing swept some ground");
    (found.swept_m2, found.fresh_m2)
}

const ORIGIN: (f64, f64) = (-20.0, 45.0);

struct Scene {
    book: Book,
    beach: Uid,
    frame: Frame,
}

fn scene() -> Scene {
    let beach = Beach::new("Invented Bay", LonLat::new(ORIGIN.0, ORIGIN.1).unwrap());
    let frame = Frame::centred_on(beach.origin).unwrap();
    let uid = beach.uid;
    let mut book = Book::new();
    book.apply(&Edit::put(beach)).unwrap();
    Scene { book, beach: uid, frame }
}

impl Scene {
    fn points(&self, start_s: Option<i64>, way: &[(f64, f64)]) -> Vec<TrackPoint> {
        let point = |(n, (x, y)): (usize, &(f64, f64))| {
            let at = self.frame.to_lonlat(Local::new(*x, *y)).unwrap();
            TrackPoint::new(at).with_time(start_s.map(|s| Timestamp::from_second(s + n as i64).unwrap()))
        };
        way.iter().enumerate().map(point).collect()
    }

    fn add(&mut self, outing: Option<Uid>, segments: Vec<Vec<TrackPoint>>) {
        let segments: Vec<Arc<[TrackPoint]>> = segments.into_iter().map(Arc::from).collect();
        let track = Track { uid: Uid::fresh(), beach: self.beach, outing, name: String::new(), segments };
        self.book.apply(&Edit::put(track)).unwrap();
    }

    fn effort(&self, params: &Params) -> Effort {
        Effort::from_book(&self.book, self.beach, |p| p, params, &Progress::new()).unwrap()
    }
}

/// A straight lane of 100 m at 0.5 m/s.
fn lane(y: f64) -> Vec<(f64, f64)> {
    (0..=200).map(|n| (f64::from(n) * 0.5, y)).collect()
}

const LANE_M2: f64 = 100.0 * 1.48 + std::f64::consts::PI * 0.74 * 0.74;

#[test]
fn a_track_imported_twice_counts_once() {
    let mut s = scene();
    let points = s.points(Some(1_700_000_000), &lane(0.0));
    s.add(None, vec![points.clone()]);
    let once = s.effort(&Params::default());
    assert!((once.totals().swept_m2 / LANE_M2 - 1.0).abs() < 0.01, "{:?}", once.totals());
    assert!((once.totals().passed_m2 / once.totals().swept_m2 - 1.0).abs() < 1e-9);
    // The same walk again: cut in two, with fewer decimals, without its last fixes.
    let rounded = |p: &TrackPoint| {
        let round = |v: f64| (v * 1e7).round() / 1e7;
        TrackPoint::new(LonLat::new(round(p.at.lon_deg()), round(p.at.lat_deg())).unwrap()).with_time(p.time())
    };
    let copy: Vec<_> = points.iter().map(rounded).collect();
    s.add(None, vec![copy[..90].to_vec(), copy[90..195].to_vec()]);
    let twice = s.effort(&Params::default());
    assert_eq!(twice.repeated_tracks, 1);
    assert_eq!(twice.cells, once.cells, "the fuller of the two is kept");
    // Another walk over the same lane is another pass.
    let later = s.points(Some(1_700_100_000), &lane(0.0));
    s.add(None, vec![later]);
    let again = s.effort(&Params::default());
    assert_eq!(again.repeated_tracks, 1);
    assert!((again.totals().passed_m2 / again.totals().swept_m2 - 2.0).abs() < 1e-9);
}

#[test]
fn timeless_tracks_are_taken_as_searched_and_said_to_be() {
    let mut s = scene();
    let points = s.points(None, &lane(0.0));
    s.add(None, vec![points.clone()]);
    s.add(None, vec![points]);
    let effort = s.effort(&Params::default());
    assert_eq!(effort.repeated_tracks, 1);
    assert!((effort.totals().swept_m2 / LANE_M2 - 1.0).abs() < 0.01);
    assert!((effort.lengths_m()[&StretchKind::Timeless] - 100.0).abs() < 0.01);
    let strict = s.effort(&Params { timeless_is_searched: false, ..Params::default() });
    assert_eq!(strict.totals().swept_m2, 0.0);
}

#[test]
fn gaps_and_walks_sweep_nothing() {
    let mut s = scene();
    // A lane, the receiver lost for two minutes, a lane, then off the beach at a walk.
    let first = s.points(Some(1_700_000_000), &lane(0.0));
    let second = s.points(Some(1_700_000_320), &lane(30.0));
    let off: Vec<_> = (0..100).map(|n| (100.0 + f64::from(n) * 1.3, 60.0)).collect();
    let third = s.points(Some(1_700_002_000), &off);
    s.add(None, vec![[first, second].concat(), third]);
    let effort = s.effort(&Params::default());
    assert!((effort.totals().swept_m2 / (2.0 * LANE_M2) - 1.0).abs() < 0.01, "{:?}", effort.totals());
    let lengths = effort.lengths_m();
    assert!((lengths[&StretchKind::Walked] - 128.7).abs() < 0.1, "{lengths:?}");
    assert_eq!(effort.stretches.iter().filter(|s| s.kind == StretchKind::Gap).count(), 2);
}

#[test]
fn fixes_the_receiver_was_unsure_of_are_left_out() {
    let mut s = scene();
    let mut points = s.points(Some(1_700_000_000), &lane(0.0));
    for p in &mut points[50..150] {
        *p = p.with_hdop(Some(25.0));
    }
    points[10] = points[10].with_satellites(Some(3));
    s.add(None, vec![points]);
    let effort = s.effort(&Params::default());
    assert_eq!(effort.unusable_fixes, 101);
    assert_eq!(effort.stretches.iter().filter(|s| s.kind == StretchKind::Gap).count(), 1);
    assert!((effort.totals().swept_m2 / (LANE_M2 / 2.0) - 1.0).abs() < 0.03, "{:?}", effort.totals());
}

#[test]
fn the_set_ups_coil_sets_the_swath_and_outings_come_in_order_of_time() {
    let mut s = scene();
    let t = |n: i64| Timestamp::from_second(1_700_000_000 + n).unwrap();
    let mut setup = Setup::new("wide");
    setup.coil_width_m = Some(0.4);
    let mut early = Outing::new(s.beach, t(0), t(3600));
    early.setup = Some(setup.uid);
    let late = Outing::new(s.beach, t(100_000), t(103_600));
    let outings = (early.uid, late.uid);
    s.book.apply(&Edit::Batch(vec![Edit::put(setup), Edit::put(early), Edit::put(late)])).unwrap();
    let points = s.points(Some(1_700_100_000), &lane(0.0));
    s.add(Some(outings.1), vec![points]);
    let points = s.points(Some(1_700_000_000), &lane(0.0));
    s.add(Some(outings.0), vec![points]);
    let effort = s.effort(&Params::default());
    let (early, late) = (of_outing(&effort, outings.0), of_outing(&effort, outings.1));
    assert!((early.0 / (100.0 * 1.6 + 2.0106) - 1.0).abs() < 0.01, "{early:?}");
    assert_eq!(early.0, early.1);
    assert!((late.0 / LANE_M2 - 1.0).abs() < 0.01 && late.1 < 0.5, "the second outing finds hardly any fresh ground: {late:?}");
    // Parts of the ground are the caller's to name.
    let parts = effort.totals_by(|c| (c.along_m < 50.0).then_some("west"));
    assert!((parts["west"].swept_m2 / effort.totals().swept_m2 - 0.5).abs() < 0.02);
    let by_day = effort.searched_by(|s| Some(s > 1_700_050_000.0));
    assert!((by_day[&Some(false)] - 160.0).abs() < 0.1 && (by_day[&Some(true)] - 148.0).abs() < 0.1, "{by_day:?}");
}

#[test]
fn what_cannot_be_is_refused_and_nothing_gives_nothing() {
    let s = scene();
    let refused =
        Effort::from_book(&s.book, s.beach, |p| p, &Params { overlap: f64::NAN, ..Params::default() }, &Progress::new());
    assert_eq!(
        refused.unwrap_err().to_string(),
        "the setting \"overlap\" of the ground covered is NaN; it must be between 0.05 and 1"
    );
    assert_eq!(Effort::from_book(&s.book, Uid::fresh(), |p| p, &Params::default(), &Progress::new()), Err(EffortError::NoBeach));
    assert!(s.effort(&Params::default()).cells.is_empty());
    let progress = Progress::new();
    progress.cancel();
    assert!(matches!(Effort::from_book(&s.book, s.beach, |p| p, &Params::default(), &progress), Err(EffortError::Cancelled(_))));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Whatever the tracks: fresh ground adds up to the swept, no square holds more than it has, and
    /// the result is the same on one thread as on several.
    #[test]
    fn sums_agree(ways in prop::collection::vec(prop::collection::vec((-30.0..30.0f64, -30.0..30.0f64), 0..40), 0..5), cell_m in 0.3..3.0f64) {
        let walks: Vec<_> = (0..).zip(&ways).map(|(n, way)| walk(n, f64::from(n) * 1e5, way)).collect();
        let params = Params { cell_m, jump_m_per_s: 100.0, walk_m_per_s: 10.0, ..Params::default() };
        let effort = Effort::of_walks(&walks, &params, &Progress::new()).unwrap();
        let total = effort.totals();
        let fresh: f64 = effort.shares.iter().map(|s| s.fresh_m2).sum();
        prop_assert!((fresh - total.swept_m2).abs() < 1e-6 * (1.0 + total.swept_m2));
        let by_outing: f64 = effort.outings.iter().map(|o| o.fresh_m2).sum();
        prop_assert!((by_outing - total.swept_m2).abs() < 1e-6 * (1.0 + total.swept_m2));
        for c in &effort.cells {
            prop_assert!(c.swept_m2 > 0.0 && c.swept_m2 <= cell_m * cell_m * (1.0 + 1e-12) && c.passes >= 1.0);
        }
        let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        let alone = one.install(|| Effort::of_walks(&walks, &params, &Progress::new()).unwrap());
        prop_assert_eq!(alone, effort);
    }
}
