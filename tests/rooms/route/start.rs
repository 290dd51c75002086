//! Setting out from a chosen access or from the sand, and looking on while a route is found.

use jiff::SignedDuration;
use scourline::Progress;
use scourline::route::{Asked, Doing, Onlooker, Params, Route, RouteError, Start, check, plan, plan_watched};

use super::common::{LOW, Made, Seawards, at, quick};
use super::open_beach;

fn two_ways_in() -> Made {
    let mut made = open_beach();
    made.access("East steps", 340.0, 4.0);
    made
}

fn uid(made: &Made, name: &str) -> scourline::book::Uid {
    made.book.accesses().values().find(|a| a.name == name).unwrap().uid
}

#[test]
fn the_access_chosen_is_set_out_from_and_come_back_to() {
    let made = two_ways_in();
    for (from, to) in [("Steps", "East steps"), ("East steps", "Steps"), ("East steps", "East steps")] {
        let params = Params { start: Start::Access(uid(&made, from)), end: Some(uid(&made, to)), ..quick() };
        let route = made.plan(&params, &Seawards).unwrap();
        assert_eq!((route.from.name.as_str(), route.to.name.as_str()), (from, to));
        assert!(check(&made.book, &made.setting(), &params, &route.trace).is_ok());
    }
}

#[test]
fn a_route_is_planned_on_from_where_one_stands() {
    let made = two_ways_in();
    let whole = made.plan(&quick(), &Seawards).unwrap();
    let moment = at(LOW) + SignedDuration::from_mins(20);
    let spot = made.frame.to_lonlat(whole.at(moment).unwrap()).unwrap();
    let done = whole.visits.iter().filter(|v| v.begin <= moment).map(|v| v.block).collect();
    let params = Params { start: Start::Place(spot), excluded: done, ..quick() };
    let rest = made.plan_after(moment, &params, &Seawards).unwrap();
    assert_eq!(rest.depart, moment);
    let first = rest.trace.first().unwrap();
    assert!(made.frame.to_local(spot).unwrap().distance_m(first.at) < 0.5);
    assert!(rest.visits.iter().all(|v| !params.excluded.contains(&v.block) && v.begin >= moment));
    assert!(rest.finds < whole.finds);
    // The check lets no other route begin there.
    let without = Params { start: Start::AnyAccess, ..params.clone() };
    let breach = check(&made.book, &made.setting(), &without, &rest.trace).unwrap_err();
    assert!(breach.what.contains("begin and end at an access"), "{breach}");
}

#[test]
fn a_spot_that_is_not_safe_or_not_sand_is_refused() {
    let made = open_beach();
    let late = at(LOW) + SignedDuration::from_mins(200);
    let low_sand = Params { start: Start::Place(made.place(200.0, 100.0)), ..quick() };
    let error = made.plan_after(late, &low_sand, &Seawards).unwrap_err();
    assert!(matches!(error, RouteError::StartUnsafe { .. } | RouteError::NoLow { .. } | RouteError::NeverDry { .. }), "{error}");
    let off = Params { start: Start::Place(made.place(200.0, 4000.0)), ..quick() };
    assert!(matches!(made.plan_after(at(LOW), &off, &Seawards).unwrap_err(), RouteError::StartOff { .. }));
}

#[test]
fn each_reason_not_to_set_out_has_a_sentence_of_its_own() {
    let made = open_beach();
    let refused = |after: &str, start: scourline::earth::LonLat| {
        let params = Params { start: Start::Place(start), ..quick() };
        made.plan_after(at(after), &params, &Seawards).unwrap_err()
    };
    let (sand, sea) = (made.place(200.0, 20.0), made.place(200.0, 900.0));
    // In the sea at night: the sea is the reason, and not the dark.
    assert!(matches!(refused("2026-06-21T00:30:00Z", sea), RouteError::StartOff { .. }));
    let dark = refused("2026-06-21T00:30:00Z", sand);
    assert!(matches!(dark, RouteError::StartDark { .. }) && dark.to_string().contains("dark then"), "{dark}");
    // The bay lies at 12 degrees west, 48.9 north.
    let swapped = scourline::earth::LonLat::new(48.9, -12.0).unwrap();
    let far = refused(LOW, swapped);
    assert!(matches!(far, RouteError::StartFar { .. }) && far.to_string().contains("give longitude first"), "{far}");
    let elsewhere = refused(LOW, scourline::earth::LonLat::new(-12.0, 47.0).unwrap());
    assert!(elsewhere.to_string().contains("km from the beach") && !elsewhere.to_string().contains("swapped"), "{elsewhere}");
    // From an access: too late for the light, and too short a time.
    let setting = made.setting();
    let asked = |after: &str, hours: Option<f64>| {
        let params = quick();
        let (book, low) = ((&made.book).into(), Some(at(LOW)));
        let (worth, after, doubts) = (&Seawards, at(after), &[][..]);
        plan(&Asked { book: &book, setting: &setting, worth, after, hours, low, doubts, params: &params }, &Progress::new())
    };
    let late = asked("2026-06-21T23:00:00Z", None).unwrap_err();
    assert!(matches!(late, RouteError::TooLate { .. }) && late.to_string().contains("is over at the time asked for"), "{late}");
    let short = asked("2026-06-21T10:00:00Z", Some(0.01)).unwrap_err();
    assert!(short.to_string().contains("0.01 h are not between 10 minutes and 24 hours"), "{short}");
}

#[test]
fn better_routes_are_shown_as_they_are_found_and_each_has_passed_the_check() {
    struct Looking<'a> {
        made: &'a Made,
        params: &'a Params,
        finds: Vec<f64>,
        enough_at: usize,
    }
    impl Onlooker for Looking<'_> {
        fn better(&mut self, route: Route) {
            assert!(check(&self.made.book, &self.made.setting(), self.params, &route.trace).is_ok());
            assert!(route.trace.iter().any(|s| matches!(s.doing, Doing::Searching(_))));
            self.finds.push(route.finds);
        }
        fn enough(&mut self) -> bool {
            self.finds.len() >= self.enough_at
        }
    }
    let made = two_ways_in();
    let (setting, params) = (made.setting(), quick());
    let after = at("2026-06-21T04:00:00Z");
    let asked = Asked {
        book: &(&made.book).into(),
        setting: &setting,
        worth: &Seawards,
        after,
        hours: None,
        low: None,
        doubts: &[],
        params: &params,
    };
    let mut all = Looking { made: &made, params: &params, finds: Vec::new(), enough_at: usize::MAX };
    let seen = plan_watched(&asked, &Progress::new(), &mut all).unwrap();
    assert!(!all.finds.is_empty() && all.finds.iter().all(|f| *f <= seen.finds + 1e-9), "{:?}", all.finds);
    // Looking on changes nothing.
    assert_eq!(seen, plan(&asked, &Progress::new()).unwrap());
    let mut first = Looking { enough_at: 1, finds: Vec::new(), ..all };
    let stopped = plan_watched(&asked, &Progress::new(), &mut first).unwrap();
    assert!(first.finds.len() == 1 && stopped.finds <= seen.finds + 1e-9 && stopped.what_if.len() == 3);
}
