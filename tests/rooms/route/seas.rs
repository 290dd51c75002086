//! Routes keep clear of what the sea of their own hours runs up, whatever was typed.

use jiff::SignedDuration;
use scourline::book::{SeaRecord, SeaState};
use scourline::route::{Params, Route};
use scourline::sea::{SeaFrom, Waves, swash};
use scourline::tide::Surge;

use super::common::{LOW, Made, Seawards, at, quick};
use super::open_beach;

/// The slope of the open beach, metres a metre.
const SLOPE: f64 = 0.045;

/// A record or forecast of the sea, three-hourly through the day of the low, as high as `hs_m` says at each hour.
fn with_record(made: &mut Made, hs_m: impl Fn(i64) -> f64) {
    let from = at("2026-06-21T00:00:00Z");
    let state = |h: i64| SeaState {
        time: from + SignedDuration::from_hours(3 * h),
        hs_m: hs_m(3 * h),
        tp_s: Some(9.0),
        dir_deg: None,
        surge_m: None,
    };
    let (beach, states) = (made.beach.uid, (0..=9).map(state).collect());
    made.put(SeaRecord { uid: SeaRecord::uid_of(beach, "forecast"), beach, name: "forecast".into(), states });
}

fn planned(made: &Made, params: &Params) -> Route {
    made.plan(params, &Seawards).unwrap()
}

fn uncalmed() -> Params {
    Params { sea: None, ..quick() }
}

#[test]
fn the_run_up_of_a_record_that_covers_the_low_is_kept_and_takes_time() {
    let mut made = open_beach();
    let calm = planned(&made, &quick());
    assert_eq!((calm.sea.from, calm.margins.run_up_m), (SeaFrom::Asked, 0.3));
    // 0.5 m in the night, 1.6 m for the hours around noon, as a forecast has it.
    with_record(&mut made, |h| if (9..=15).contains(&h) { 1.6 } else { 0.5 });
    let rough = planned(&made, &uncalmed());
    assert!(matches!(rough.sea.from, SeaFrom::Record(_)), "{:?}", rough.sea);
    let wanted = swash(Waves { height_m: 1.6, period_s: 9.0 }, SLOPE).run_up_m;
    // An even slope, but for what is rounded on its survey.
    assert!((rough.margins.run_up_m - wanted).abs() < 0.02, "{} {wanted}", rough.margins.run_up_m);
    assert!((rough.sea.foreshore.slope - SLOPE).abs() < 0.002, "{:?}", rough.sea);
    assert!(rough.margins.run_up_m > 0.6 && rough.params.run_up_m == rough.margins.run_up_m);
    assert!(rough.turn_back < calm.turn_back && rough.finds < calm.finds);
    assert!(rough.assumptions.iter().any(|a| a.contains("sea record or forecast has over these hours")));
    // What calls the sea calm does not calm the record.
    assert_eq!(planned(&made, &quick()).margins.run_up_m, rough.margins.run_up_m);
}

#[test]
fn without_a_record_over_the_low_a_cautious_sea_is_named() {
    let mut made = open_beach();
    with_record(&mut made, |_| 0.3);
    // The same beach a day later: the record has ended.
    made.tide(at(LOW) + SignedDuration::from_hours(24), [5.8, 0.6, 5.6]);
    let route = made.plan_after(at("2026-06-22T04:00:00Z"), &uncalmed(), &Seawards).unwrap();
    assert_eq!(route.sea.from, SeaFrom::Usual);
    assert!(route.margins.run_up_m > 0.6, "{}", route.margins.run_up_m);
    assert!(route.cautions.iter().any(|c| c.contains("nothing is known of the sea")), "{:?}", route.cautions);
    let expected = Params { sea: Some(Waves { height_m: 0.8, period_s: 7.0 }), ..quick() };
    let route = made.plan_after(at("2026-06-22T04:00:00Z"), &expected, &Seawards).unwrap();
    assert_eq!(route.sea.from, SeaFrom::Asked);
    assert!((route.margins.run_up_m - swash(expected.sea.unwrap(), SLOPE).run_up_m).abs() < 0.02);
}

#[test]
fn a_typed_run_up_below_the_computed_one_changes_nothing_but_words() {
    let mut made = open_beach();
    with_record(&mut made, |_| 1.4);
    let free = planned(&made, &uncalmed());
    let low = planned(&made, &Params { run_up_m: 0.1, ..uncalmed() });
    assert_eq!((low.margins, low.turn_back, low.back), (free.margins, free.turn_back, free.back));
    assert!(low.assumptions.iter().any(|a| a.contains("0.10 m of run-up that were typed are less and lower nothing")));
    let high = planned(&made, &Params { run_up_m: 1.5, ..uncalmed() });
    assert!(high.margins.run_up_m == 1.5 && high.turn_back < free.turn_back);
}

/// `--surge -0.5` took the weather's whole margin away.
#[test]
fn a_negative_surge_takes_nothing_from_the_margin() {
    let made = open_beach();
    let of = |residual_m| planned(&made, &Params { surge: Surge { residual_m, ..Surge::UNKNOWN }, ..quick() });
    let (none, held_down) = (of(0.0), of(-0.5));
    assert_eq!((none.margins, none.turn_back, none.back), (held_down.margins, held_down.turn_back, held_down.back));
    assert!(of(0.3).turn_back < none.turn_back);
}

/// The check reckons the margin anew: one that believed a water held down would let this pass.
#[test]
fn the_check_believes_no_water_that_is_held_down() {
    let made = open_beach();
    let bold = Params { surge: Surge { residual_m: 0.0, sd_m: 0.0 }, ..quick() };
    let route = planned(&made, &bold);
    let held_down = Params { surge: Surge { residual_m: -1.0, sd_m: 0.5 }, ..route.params.clone() };
    let check = |params: &Params| scourline::route::check(&made.book, &made.setting(), params, &route.trace);
    assert!(check(&route.params).is_ok());
    assert!(check(&held_down).is_err(), "twice 0.5 m are kept whatever the weather holds down");
}

#[test]
fn each_low_has_its_own_sea() {
    let mut made = open_beach();
    // By evening it blows: the hours of the low at noon are calm, and the outing ends before.
    with_record(&mut made, |h| if h < 21 { 0.2 } else { 3.0 });
    let noon = planned(&made, &uncalmed());
    assert!(noon.margins.run_up_m == 0.3 && noon.sea.is_covered(), "{:?}", noon.sea);
    // A low in the evening of the same day.
    made.tide(at("2026-06-21T17:30:00Z"), [5.8, 0.6, 5.6]);
    let evening = planned(&made, &uncalmed());
    assert!(evening.margins.run_up_m > 0.8 && evening.sea.waves.height_m == 3.0, "{:?}", evening.sea);
}
