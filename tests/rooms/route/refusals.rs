//! Bad input: each case refuses in one sentence that says what is missing or stands against it.

use jiff::SignedDuration;
use scourline::Progress;
use scourline::book::{Access, Beach, Permission, RecordKind, TideChoice, TideTable, TideTurn};
use scourline::route::{Asked, Params, RouteError, Start, plan};
use scourline::shore::ShoreError;
use scourline::tide::Window;
use scourline::trust::{Confirmed, Doubt, Told, Weight};

use super::common::{Even, LOW, Made, Seawards, at, beach, quick};
use super::open_beach;
use super::plain;

/// The refusal of a plan, after a look at its sentence.
fn refusal(made: &Made, params: &Params, says: &[&str]) -> RouteError {
    let error = made.plan(params, &Even(1.0)).unwrap_err();
    let text = error.to_string();
    assert!(!text.contains('\n') && says.iter().all(|s| text.contains(s)), "{text}");
    error
}

#[test]
fn a_beach_without_an_access() {
    let made = beach(200.0, 100.0, 10.0, plain);
    let error = refusal(&made, &quick(), &["Invented Bay", "no access", "mark where people come"]);
    assert!(matches!(error, RouteError::NoAccess { .. }));
}

#[test]
fn a_book_without_a_tide_source() {
    let mut made = open_beach();
    let bare = Beach { tide: TideChoice::None, ..made.beach.clone() };
    made.put(bare);
    assert!(matches!(refusal(&made, &quick(), &["no tide source", "choose a station"]), RouteError::NoTide { .. }));
}

#[test]
fn a_book_without_a_datum_offset() {
    let mut made = open_beach();
    let bare = Beach { datum_offset_m: None, ..made.beach.clone() };
    made.put(bare);
    let error = refusal(&made, &quick(), &["datum"]);
    assert!(matches!(error, RouteError::Shore(ShoreError::NoDatumOffset(_))));
}

#[test]
fn a_beach_without_levels() {
    let mut made = open_beach();
    let uids: Vec<_> = made.book.levels_of(made.beach.uid).map(|l| l.uid).collect();
    for uid in uids {
        let edit = made.book.removal(RecordKind::Level, uid);
        made.book.apply(&edit).unwrap();
    }
    assert!(matches!(refusal(&made, &quick(), &["level"]), RouteError::Shore(ShoreError::NoLevels(_))));
}

#[test]
fn an_access_under_water() {
    let mut made = beach(200.0, 100.0, 10.0, |_, across| 0.9 - 0.01 * across);
    made.access("Jetty", 100.0, 20.0);
    let error = refusal(&made, &quick(), &["access is under water", "margin"]);
    assert!(matches!(error, RouteError::AccessUnderWater { .. }));
}

#[test]
fn an_access_apart_from_the_sand() {
    let mut made = open_beach();
    let (access, at_sea) = (made.book.accesses().values().next().unwrap().clone(), made.place(60.0, -300.0));
    made.put(Access { at: at_sea, ..access });
    assert!(matches!(refusal(&made, &quick(), &["no access lies within"]), RouteError::AccessApart { .. }));
}

#[test]
fn a_beach_that_never_dries() {
    // Sand that even the lowest water covers, the access on the land behind it.
    let mut drowned = beach(200.0, 100.0, 10.0, |_, across| 0.5 - 0.01 * across);
    drowned.access("Steps", 100.0, -15.0);
    assert!(matches!(refusal(&drowned, &quick(), &["under water even at low water"]), RouteError::AccessUnderWater { .. }));
    // A strip at the back rises above it, too narrow for a block.
    let mut strip = beach(200.0, 100.0, 10.0, |_, across| if across < -5.0 { 6.5 } else { 0.5 - 0.01 * across });
    strip.access("Steps", 100.0, -9.0);
    let params = Params { cell_m: 3.0, ..quick() };
    let error = refusal(&strip, &params, &["Invented Bay", "dry"]);
    assert!(matches!(error, RouteError::NeverDry { .. } | RouteError::NoGround { .. }), "{error}");
}

#[test]
fn no_low_in_daylight() {
    let mut made = open_beach();
    made.tide(at("2026-06-21T01:30:00Z"), [5.8, 0.6, 5.6]);
    let error = made.plan_after(at("2026-06-20T22:00:00Z"), &quick(), &Even(1.0)).unwrap_err();
    assert!(matches!(error, RouteError::Dark { .. }) && error.to_string().contains("head-torch"), "{error}");
    let torch = Params { head_torch: true, ..quick() };
    assert!(made.plan_after(at("2026-06-20T22:00:00Z"), &torch, &Even(1.0)).is_ok());
}

/// Low water before dawn: an access that lies low is under water, a higher one is dry in the dark alone, and a still higher one
/// until it is light.
#[test]
fn an_access_that_is_dry_by_night_alone() {
    let at_level = |level_m: f64, params: &Params| {
        let mut made = beach(200.0, 100.0, 10.0, move |_, _| level_m);
        made.access("Steps", 100.0, 4.0);
        made.tide(at("2026-06-21T03:40:00Z"), [5.8, 0.6, 5.6]);
        made.plan_after(at("2026-06-21T00:30:00Z"), params, &Even(1.0))
    };
    let least_m = 0.6 + quick().water_margin_m();
    let levels = (0..40).map(|n| least_m + 0.02 * f64::from(n));
    let mut dry =
        levels.map(|m| (m, at_level(m, &quick()))).skip_while(|(_, r)| matches!(r, Err(RouteError::AccessUnderWater { .. })));
    let Some((level_m, Err(error))) = dry.next() else { panic!("no access is refused for the dark") };
    assert!(matches!(error, RouteError::DarkAccess { .. }), "{error}");
    let text = error.to_string();
    assert!(text.contains("whenever an access is dry it is dark") && text.contains("head-torch"), "{text}");
    // By a head-torch, and where the sand is dry until it is light, darkness is not what stands against it.
    let torch = Params { head_torch: true, ..quick() };
    assert!(!matches!(at_level(level_m, &torch), Err(RouteError::DarkAccess { .. } | RouteError::Dark { .. })));
    assert!(at_level(3.5, &quick()).is_ok());
}

/// Where the light ends the outing and the check finds that it is dark on some way out, a route that ends earlier is sought.
#[test]
fn no_low_about_dusk_is_refused_for_the_dark_on_the_way_out() {
    let mut made = beach(600.0, 140.0, 10.0, plain);
    made.access("Steps", 20.0, 4.0);
    let dusk =
        scourline::sun::lit(made.beach.origin, at("2026-06-21T12:00:00Z"), at("2026-06-22T12:00:00Z"), scourline::sun::CIVIL_DEG)
            [0]
        .1;
    let mut near = 0;
    for minutes in (-30..=60).step_by(15) {
        let low = dusk - SignedDuration::from_mins(minutes);
        made.tide(low, [5.8, 0.6, 5.6]);
        match made.plan_after(low - SignedDuration::from_hours(4), &quick(), &Seawards) {
            Ok(route) => {
                assert!(route.off_sand_by() <= dusk, "a low {minutes} min before dusk: {}", route.off_sand_by());
                near += usize::from(dusk.duration_since(route.off_sand_by()) < SignedDuration::from_mins(60));
            }
            Err(error) => assert!(matches!(error, RouteError::Dark { .. }), "a low {minutes} min before dusk: {error}"),
        }
    }
    assert!(near > 0, "the light ends some of them");
}

#[test]
fn a_tide_table_that_has_ended() {
    let error = open_beach().plan_after(at("2027-01-01T00:00:00Z"), &quick(), &Even(1.0)).unwrap_err();
    assert!(matches!(error, RouteError::TideEnds { .. }) && error.to_string().contains("import a later one"), "{error}");
}

#[test]
fn a_permission_that_has_ended() {
    let mut made = open_beach();
    let ended = Permission { to: Some("2026-06-20".parse().unwrap()), ..made.permission((0.0, 400.0), (0.0, 140.0)) };
    made.put(ended);
    assert!(matches!(refusal(&made, &quick(), &["permission", "dates and hours"]), RouteError::OutsidePermission { .. }));
}

#[test]
fn a_setting_that_cannot_be() {
    let odd = Params { overlap: 1.5, ..quick() };
    let error = refusal(&open_beach(), &odd, &["overlap", "between 0 and 0.9"]);
    assert!(matches!(error, RouteError::Parameter { what: "overlap", .. }));
    let not_a_number = Params { run_up_m: f64::NAN, ..quick() };
    assert!(matches!(refusal(&open_beach(), &not_a_number, &["run-up"]), RouteError::Parameter { .. }));
}

#[test]
fn an_access_that_is_shut_at_this_low() {
    let mut made = open_beach();
    // Its foot is walled in.
    made.access("Shut steps", 300.0, 4.0);
    made.rocks("Rubble", (250.0, 350.0), (-15.0, 60.0));
    let uid = made.book.accesses().values().find(|a| a.name == "Shut steps").unwrap().uid;
    for params in [Params { start: Start::Access(uid), ..quick() }, Params { end: Some(uid), ..quick() }] {
        let error = refusal(&made, &params, &["Shut steps", "choose another"]);
        assert!(matches!(error, RouteError::AccessShut { .. }));
    }
}

#[test]
fn a_night_route_crosses_midnight_and_the_change_of_clocks_within_the_hours_allowed() {
    // On 25 October 2026 British clocks go back at 02:00 summer time, 01:00 UTC.
    let mut made = open_beach();
    made.tide(at("2026-10-25T00:40:00Z"), [5.8, 0.6, 5.6]);
    let local = Beach { time_zone: "Europe/London".to_owned(), ..made.beach.clone() };
    made.put(local);
    let hours = Some(("22:00".parse().unwrap(), "03:00".parse().unwrap()));
    let permission = Permission { hours, ..made.permission((0.0, 400.0), (0.0, 140.0)) };
    made.put(permission);
    let after = at("2026-10-24T18:00:00Z");
    // Without a head-torch there is no such night.
    assert!(matches!(made.plan_after(after, &quick(), &Even(1.0)), Err(RouteError::Dark { .. })));
    let params = Params { head_torch: true, ..quick() };
    let route = made.plan_after(after, &params, &Even(1.0)).unwrap();
    // 22:00 summer time is 21:00 UTC; 03:00 winter time is 03:00 UTC.
    let (from, to) = (at("2026-10-24T21:00:00Z"), at("2026-10-25T03:00:00Z"));
    assert!(route.visits.iter().all(|v| v.begin >= from && v.leave <= to));
    assert!(route.visits.first().unwrap().begin < at("2026-10-24T23:00:00Z"));
    assert!(route.visits.last().unwrap().leave > at("2026-10-25T01:00:00Z"));
    // The card and the files tell both sides of the change.
    let setting = made.setting();
    assert!(scourline::share::route_card(&route, &made.book, &setting, &super::handed()).contains("Sunday 25 October 2026"));
}

#[test]
fn the_night_on_which_clocks_go_forward_has_an_hour_less() {
    // On 29 March 2026 British clocks go from 01:00 to 02:00; an hour allowed from 23:00 to 04:00 is four hours long.
    let mut made = open_beach();
    made.tide(at("2026-03-29T01:00:00Z"), [5.8, 0.6, 5.6]);
    let local = Beach { time_zone: "Europe/London".to_owned(), ..made.beach.clone() };
    made.put(local);
    let hours = Some(("23:00".parse().unwrap(), "04:00".parse().unwrap()));
    let permission = Permission { hours, ..made.permission((0.0, 400.0), (0.0, 140.0)) };
    made.put(permission);
    let params = Params { head_torch: true, ..quick() };
    let route = made.plan_after(at("2026-03-28T18:00:00Z"), &params, &Even(1.0)).unwrap();
    // 23:00 winter time is 23:00 UTC; 04:00 summer time is 03:00 UTC.
    let (from, to) = (at("2026-03-28T23:00:00Z"), at("2026-03-29T03:00:00Z"));
    assert!(route.visits.iter().all(|v| v.begin >= from && v.leave <= to));
}

/// A high water misprinted: the low before it is not planned, that of the next day is, and says what is doubted.
#[test]
fn a_misprint_bars_the_low_it_touches_and_no_other() {
    let mut made = open_beach();
    let table = made.book.tide_tables().values().next().unwrap().clone();
    let (low, step) = (at(LOW), SignedDuration::from_mins(372));
    let turn = |n: i32| TideTurn { time: low + step * (n - 1), ..table.turns[usize::from(n % 2 == 1)] };
    made.put(TideTable { turns: (0..7).map(turn).collect(), ..table.clone() });
    let setting = made.setting();
    let doubt = Doubt {
        key: "table-turn:1@x".into(),
        sentence: "One turn does not go with the others.".into(),
        weight: Weight::Blocks,
        settle: Vec::new(),
        spans: vec![Window { from: low, to: low + step * 2 }],
    };
    let planned = |low, confirmed| {
        let (book, params) = ((&made.book).into(), quick());
        let doubts = [Told { doubt: doubt.clone(), confirmed }];
        let after = at("2026-06-21T04:00:00Z");
        let asked = Asked {
            book: &book,
            setting: &setting,
            worth: &Even(1.0),
            after,
            hours: None,
            low,
            doubts: &doubts,
            params: &params,
        };
        plan(&asked, &Progress::new())
    };
    let error = planned(Some(low), None).unwrap_err();
    assert!(matches!(error, RouteError::LowUnsettled { .. }), "{error}");
    let text = error.to_string();
    assert!(text.contains("One turn does not go") && text.contains("--confirm \"table-turn:1@x\""), "{text}");
    let route = planned(None, None).unwrap();
    assert_eq!(route.low.time, low + step * 4);
    assert_eq!(route.passed_over.iter().map(|p| p.low).collect::<Vec<_>>(), [low, low + step * 2]);
    let cautions = route.cautions.join(" ");
    assert!(cautions.contains("One turn does not go") && cautions.contains("is doubted, and not settled"), "{cautions}");
    // Who says that it is so may go.
    assert_eq!(planned(None, Some(Confirmed::ForThisRoute)).unwrap().low.time, low);
}
