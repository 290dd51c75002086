//! Ground that nobody surveyed: never stood on and never crossed, named with what would close it.
//!
//! That a surveyor leaves out what holds water, and that runnels run along the shore and channels through it, is
//! common practice, no published source.

use jiff::SignedDuration;
use scourline::book::{Beach, RecordKind};
use scourline::earth::Local;
use scourline::route::{Params, Route, RouteError, Start, Step, check};
use scourline::shore::{GapWay, LevelSource};

use super::common::{Beyond, Even, LOW, Made, Seawards, at, quick, spot, surveyed};
use super::{open_beach, plain};

fn along_across(p: Local) -> (f64, f64) {
    (p.east_m + 200.0, 100.0 - p.north_m)
}

/// Places of the way every two metres, along and across.
fn walked(route: &Route) -> impl Iterator<Item = (f64, f64)> + '_ {
    route.trace.windows(2).flat_map(|w| {
        let parts = (w[0].at.distance_m(w[1].at) / 2.0).ceil().max(1.0) as u32;
        (0..=parts).map(move |n| {
            let part = f64::from(n) / f64::from(parts);
            let ((a, x), (b, y)) = (along_across(w[0].at), along_across(w[1].at));
            (a + (b - a) * part, x + (y - x) * part)
        })
    })
}

/// Lines across the shore, a level every so many metres.
fn lines(along: &[f64], width_m: f64, every_m: f64) -> Vec<(f64, f64)> {
    let steps = (width_m / every_m).round() as i32;
    along.iter().flat_map(|a| (-1..=steps).map(|n| (*a, f64::from(n) * every_m))).collect()
}

/// A plain with a trough 0.9 m deep along it, from 62 to 88 m across.
fn trough(along: f64, across: f64) -> f64 {
    let off = ((across - 75.0) / 13.0).abs();
    plain(along, across) - if off < 1.0 { 0.9 * (1.0 - off * off) } else { 0.0 }
}

/// The plain surveyed every 10 m but for the trough, which held water.
fn trough_left_out() -> Made {
    let grid: Vec<f64> = (0..=40).map(|n| f64::from(n) * 10.0).collect();
    let spots: Vec<_> = lines(&grid, 140.0, 10.0).into_iter().filter(|(_, x)| !(62.0..88.0).contains(x)).collect();
    let mut made = surveyed(400.0, &spots, trough);
    made.tide(at(LOW), [5.8, -0.6, 5.6]);
    made.access("Steps", 60.0, 4.0);
    made
}

#[test]
fn a_runnel_left_out_of_the_survey_is_neither_stood_on_nor_crossed() {
    let made = trough_left_out();
    let setting = made.setting();
    let shore = setting.shore.as_ref().unwrap();
    let from = |along, across| shore.sand_level(spot(along, across)).unwrap().from;
    assert_eq!(
        (from(205.0, 55.0), from(205.0, 75.0), from(205.0, 95.0)),
        (LevelSource::Surveyed, LevelSource::Gap, LevelSource::Surveyed)
    );
    let gap = &shore.gaps()[0];
    assert!(
        gap.way == GapWay::Across
            && (gap.across_m.0 - 60.0).abs() < 1e-6
            && (gap.across_m.1 - 90.0).abs() < 1e-6
            && (gap.wide_m - 30.0).abs() < 1e-6,
        "{gap:?}"
    );
    // All that is worth anything lies beyond it.
    let route = made.plan(&quick(), &Beyond(90.0)).unwrap();
    assert!(walked(&route).all(|(_, across)| across <= 60.5), "{:?}", walked(&route).map(|w| w.1).fold(0.0, f64::max));
    assert!(!route.visits.is_empty());
    let said = route.cautions.iter().find(|c| c.contains("Nobody surveyed")).unwrap();
    assert!(
        said.contains("30 m wide")
            && said.contains("60 to 90 m across")
            && said.contains("runnel")
            && said.contains("would make it known"),
        "{said}"
    );
    // With the levels of its bed the bar is searched, by a way that knows how deep the trough is.
    let mut known = trough_left_out();
    let bed: Vec<_> = (0..=40).flat_map(|n| [65.0, 75.0, 85.0].map(|x| (f64::from(n) * 10.0, x))).collect();
    for (n, &(a, x)) in bed.iter().enumerate() {
        let first = known.book.levels_of(known.beach.uid).next().unwrap().clone();
        let uid = scourline::book::Uid::of_content("bed", [&n.to_le_bytes()[..]]);
        let place = known.place(a, x);
        known.put(scourline::book::LevelPoint { uid, at: place, level_m: trough(a, x), ..first });
    }
    assert!(known.setting().shore.unwrap().gaps().is_empty());
    let farther = known.plan(&quick(), &Beyond(90.0)).unwrap();
    assert!(farther.visits.iter().any(|v| v.across_m > 90.0));
}

#[test]
fn the_check_finds_out_a_way_over_ground_that_nobody_surveyed() {
    // Planned with every level; checked by one who lacks those of the trough.
    let whole =
        super::common::beach(400.0, 140.0, 10.0, |a, x| if (62.0..88.0).contains(&x) { plain(a, x) - 0.05 } else { plain(a, x) });
    let mut whole = whole;
    whole.tide(at(LOW), [5.8, -0.6, 5.6]);
    whole.access("Steps", 60.0, 4.0);
    let params = quick();
    let route = whole.plan(&params, &Beyond(90.0)).unwrap();
    assert!(walked(&route).any(|(_, x)| x > 95.0), "it crosses the strip");
    let gapped = trough_left_out();
    assert!(check(&whole.book, &whole.setting(), &params, &route.trace).is_ok());
    let breach = check(&gapped.book, &gapped.setting(), &params, &route.trace).unwrap_err();
    assert!(breach.what.contains("nobody surveyed") || breach.what.contains("access"), "{breach}");
    // One who is already beyond the strip, with an access on this side of it alone, has no way out.
    let beyond = |minutes: i64| Step {
        at: spot(200.0, 95.0),
        time: at(LOW) + SignedDuration::from_mins(minutes),
        doing: scourline::route::Doing::Walking,
    };
    let stands = Params { start: Start::Place(gapped.place(200.0, 95.0)), ..quick() };
    let breach = check(&gapped.book, &gapped.setting(), &stands, &[beyond(0), beyond(1)]).unwrap_err();
    assert!(breach.what.contains("access"), "{breach}");
}

/// A channel through the beach, 24 m wide and 1.5 m deep, half-way between lines of levels 60 m apart.
fn channel(along: f64, across: f64) -> f64 {
    let off = ((along - 210.0) / 12.0).abs();
    plain(along, across) - if off < 1.0 { 1.5 * (1.0 - off * off) } else { 0.0 }
}

#[test]
fn a_channel_between_lines_sixty_metres_apart_is_not_walked() {
    let dense: Vec<f64> = (0..=9).map(|n| f64::from(n) * 20.0).collect();
    let all: Vec<f64> = dense.iter().copied().chain((0..=8).map(|n| 240.0 + f64::from(n) * 20.0)).collect();
    let mut made = surveyed(400.0, &lines(&all, 140.0, 10.0), channel);
    made.access("Steps", 60.0, 4.0);
    struct East;
    impl scourline::route::Worth for East {
        fn expected(&self, at: Local, _when: jiff::Timestamp) -> scourline::route::Expected {
            let rich = if along_across(at).0 > 250.0 { 5.0 } else { 0.1 };
            scourline::route::Expected::new(rich, rich)
        }
        fn said(&self) -> String {
            "Invented: the east is rich.".to_owned()
        }
    }
    let route = made.plan(&quick(), &East).unwrap();
    assert!(walked(&route).all(|(along, _)| along <= 180.5));
    let said = route.cautions.iter().find(|c| c.contains("Lines of levels")).unwrap();
    assert!(said.contains("60 m apart") && said.contains("180 to 240 m along") && said.contains("would make it known"), "{said}");
    // Every line 60 m apart: nothing is known at all, and the refusal says what to survey.
    let sparse: Vec<f64> = (0..=6).map(|n| f64::from(n) * 60.0).collect();
    let mut made = surveyed(400.0, &lines(&sparse, 140.0, 10.0), channel);
    made.access("Steps", 60.0, 4.0);
    let error = made.plan(&quick(), &East).unwrap_err();
    let text = error.to_string();
    assert!(
        matches!(error, RouteError::AccessApart { .. } | RouteError::NotSurveyed { .. }) && text.contains("survey"),
        "{text}"
    );
}

#[test]
fn a_slope_alone_plans_nothing_and_says_what_survey_is_needed() {
    let mut made = open_beach();
    let uids: Vec<_> = made.book.levels_of(made.beach.uid).map(|l| l.uid).collect();
    for uid in uids {
        let edit = made.book.removal(RecordKind::Level, uid);
        made.book.apply(&edit).unwrap();
    }
    let sloping = Beach { slope: Some(0.045), back_level_m: Some(6.2), ..made.beach.clone() };
    made.put(sloping);
    let error = made.plan(&quick(), &Even(1.0)).unwrap_err();
    let text = error.to_string();
    assert!(matches!(error, RouteError::NotSurveyed { .. }), "{text}");
    assert!(
        ["even slope", "35 m apart", "every 20 m", "runnel"].iter().all(|w| text.contains(w)) && !text.contains('\n'),
        "{text}"
    );
    let setting = made.setting();
    assert!(setting.warnings.iter().any(|w| w.contains("even slope")), "{:?}", setting.warnings);
    let shore = setting.shore.unwrap();
    assert!(!shore.is_known(spot(200.0, 50.0)) && shore.sand_level(spot(200.0, 50.0)).is_some());
    // Off the survey the slope stands in for the level, and is no ground either.
    let mut both = open_beach();
    both.put(Beach { slope: Some(0.045), back_level_m: Some(6.2), ..both.beach.clone() });
    assert!(!both.setting().shore.unwrap().is_known(spot(200.0, 190.0)));
}

#[test]
fn levels_along_the_water_s_edge_make_ground_known_with_their_own_error() {
    // Nine walks along the edge, each a contour with a level every 4 m, by 0.3 m of water: 6.7 m apart.
    let mut spots = Vec::new();
    for walk in 0..20 {
        spots.extend((0..=100).map(|n| (f64::from(n) * 4.0, f64::from(walk) * 6.7)));
    }
    let mut made = surveyed(400.0, &spots, plain);
    made.access("Steps", 60.0, 4.0);
    assert!(made.setting().shore.unwrap().gaps().is_empty());
    let sure = made.plan(&quick(), &Seawards).unwrap();
    let levels: Vec<_> = made.book.levels_of(made.beach.uid).cloned().collect();
    for level in levels {
        made.put(scourline::book::LevelPoint { sigma_m: Some(0.25), ..level });
    }
    let unsure = made.plan(&quick(), &Seawards).unwrap();
    assert!(unsure.margins.sand_m.0 > sure.margins.sand_m.0 + 0.3, "{:?} {:?}", sure.margins, unsure.margins);
    // Between two such walks 30 m apart a runnel could lie.
    let two: Vec<_> = spots.into_iter().filter(|s| !(30.0..55.0).contains(&s.1)).collect();
    let shore = surveyed(400.0, &two, plain).setting().shore.unwrap();
    assert!(!shore.is_known(spot(200.0, 43.0)) && shore.is_known(spot(200.0, 65.0)));
}

#[test]
fn gaps_too_small_for_a_sentence_each_are_told_together() {
    let grid: Vec<f64> = (0..=40).map(|n| f64::from(n) * 10.0).collect();
    let hole = |at: (f64, f64)| [100.0, 110.0, 300.0, 310.0].contains(&at.0) && at.1 == 60.0;
    let whole = lines(&grid, 140.0, 10.0);
    let spots: Vec<_> = whole.iter().copied().filter(|s| !hole(*s)).collect();
    let warnings = |spots: &[(f64, f64)]| surveyed(400.0, spots, plain).setting().warnings;
    let told = warnings(&spots);
    let small: Vec<&String> = told.iter().filter(|w| w.contains("small place")).collect();
    assert!(small.len() == 1 && small[0].starts_with("2 small places, together "), "{told:?}");
    assert!(!told.iter().any(|w| w.starts_with("Nobody surveyed")), "{told:?}");
    assert!(!warnings(&whole).iter().any(|w| w.contains("small place")));
}

#[test]
fn an_access_is_not_reached_across_a_strip_that_was_left_out() {
    // Beyond 14 m across nothing is known for 20 m; the access stands on the surveyed sand at the back.
    let grid: Vec<f64> = (0..=80).map(|n| f64::from(n) * 5.0).collect();
    let spots: Vec<_> = lines(&grid, 140.0, 5.0).into_iter().filter(|(_, x)| !(11.0..34.0).contains(x)).collect();
    let mut made = surveyed(400.0, &spots, plain);
    made.access("Steps", 60.0, 2.0);
    let params = Params { cell_m: 4.0, block_across_m: 5.0, ..quick() };
    match made.plan(&params, &Seawards) {
        Ok(route) => assert!(walked(&route).all(|(_, across)| across <= 10.5)),
        Err(error) => assert!(!matches!(error, RouteError::NotSafe { .. }), "{error}"),
    }
}

#[test]
fn the_demo_s_survey_has_no_gap() {
    let book = scourline::demo::Planting::shipped().make().unwrap().book().unwrap();
    let beach = book.beaches().values().next().unwrap().uid;
    let setting = scourline::shore::Setting::from_book(&book, beach).unwrap();
    let shore = setting.shore.as_ref().unwrap();
    assert!(shore.is_surveyed() && shore.gaps().is_empty(), "{:?}", shore.gaps());
    let ((a0, a1), mut unknown, mut all) = (shore.along_range_m(), 0, 0);
    for along in (a0 as i32 + 15..a1 as i32 - 30).step_by(5) {
        for across in (5..290).step_by(5) {
            all += 1;
            let place = shore.to_local(scourline::shore::ShorePoint::new(f64::from(along), f64::from(across)));
            unknown += i32::from(!shore.is_known(place));
        }
    }
    println!("{unknown} of {all} places of the demo beach are not known");
    assert!(unknown * 100 < all, "{unknown} of {all}");
}
