use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, Options, SheetChoice, Start};
use scourline::book::{Access, Book, Edit, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::route::Params;
use scourline::store::OpenBook;

use crate::bench::{AT, click_at, instant, invented_book, settle, survey, window, window_from, window_with};
use crate::fresh::quick;

#[test]
fn a_low_of_the_demo_beach_gets_a_route_and_a_block_can_be_left_out() {
    let mut h = window_from(Start::Demo, SheetChoice::NextLow);
    h.state_mut().plan_with(quick());
    let plan = h.get_all_by_label_contains("Plan a route, ").next().unwrap();
    plan.click_accesskit();
    settle(&mut h);
    // The first low shown may be in the dark; then the refusal says so in a sentence.
    if h.query_all_by_label("No route").next().is_some() {
        h.get_all_by_label_contains("head-torch").next().unwrap();
        h.get_all_by_label_contains("Plan a route, ").nth(1).unwrap().click_accesskit();
        settle(&mut h);
    }
    assert!(h.get_all_by_label_contains("Off the sand by ").count() > 0);
    let before = h.get_all_by_label_contains("Leave out block").count();
    assert!(before > 3, "{before}");
    h.get_by_label("Leave out block 1").click_accesskit();
    settle(&mut h);
    h.get_by_label("Take back 1 block left out");
    assert!(h.get_all_by_label_contains("planned: ").count() > 0);
}

#[test]
fn without_an_access_the_refusal_says_what_is_missing() {
    let mut h = window(SheetChoice::NextLow);
    h.get_by_label_contains("Plan a route, Mon 1 Jun, 06:00").click_accesskit();
    settle(&mut h);
    assert!(h.get_all_by_label("No route").count() > 0);
    // The sentence itself: the invented bay has no access.
    assert!(h.get_all_by_label_contains("it has no access").count() > 0);
    // Time and Plan show the low that is planned for, and another one is a press away.
    assert_eq!(Some(h.state().clock().at), h.state().chosen_low());
    h.get_by_label("Choose another low").click_accesskit();
    settle(&mut h);
    assert_eq!(h.state().chosen_low(), None);
    h.get_by_label_contains("Plan a route, Tue 2 Jun, 06:00").click_accesskit();
    settle(&mut h);
    assert_eq!(Some(h.state().clock().at), h.state().chosen_low());
}

/// The invented bay with two ways onto the sand, its first evening low planned in few rounds: what is said and shown of a
/// route does not hang on how long a better one was sought.
pub(crate) fn planned() -> Harness<'static, App> {
    planned_at(AT)
}

/// The same, sought with these settings.
pub(crate) fn planned_with(params: Params) -> Harness<'static, App> {
    let mut book = invented_book();
    survey(&mut book);
    planned_on(book, AT, params)
}

fn planned_at(at: &str) -> Harness<'static, App> {
    let mut book = invented_book();
    survey(&mut book);
    planned_on(book, at, quick())
}

fn planned_on(mut book: Book, at: &str, params: Params) -> Harness<'static, App> {
    let beach = book.beaches().values().next().unwrap().clone();
    let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
    for (name, east) in [("Slip", -100.0), ("East slip", 200.0)] {
        let at = frame.to_lonlat(Local::new(east, 0.0)).unwrap();
        let uid = Uid::of_content("access", [name.as_bytes()]);
        let access = Access { uid, beach: beach.uid, name: name.to_owned(), at, notes: String::new() };
        book.apply(&Edit::put(access)).unwrap();
    }
    let start = Start::Given(Box::new(OpenBook::holding(book)));
    let (sheet, at, dark) = (SheetChoice::NextLow, Some(instant(at)), Some(false));
    let mut h = window_with(Options { start, sheet, at, dark, remember: false, ..Options::default() });
    h.state_mut().plan_with(params);
    h.get_by_label_contains("Plan a route, Mon 1 Jun, 18:00").click_accesskit();
    settle(&mut h);
    h
}

/// Unfolds what the route is planned with.
fn settings(h: &mut Harness<'static, App>) {
    h.get_by_label_contains("How it is planned").click_accesskit();
    settle(h);
}

pub(crate) fn says(h: &Harness<'static, App>, text: &str) -> bool {
    h.query_all_by_label_contains(text).next().is_some()
}

#[test]
fn a_block_picked_on_plan_is_left_out_or_kept_in_by_a_key() {
    let mut h = planned();
    assert!(says(&h, "as planned: first to be left by ") && says(&h, "water 0.3 m higher than predicted: first to be left by "));
    let at = h.state().route_block_position(0).unwrap();
    click_at(&mut h, at);
    h.key_press(egui::Key::K);
    settle(&mut h);
    h.get_by_label("Let go 1 block kept in");
    assert!(says(&h, "kept in"));
    h.key_press(egui::Key::X);
    settle(&mut h);
    h.get_by_label("Take back 1 block left out");
    assert!(!says(&h, "Let go 1 block kept in"));
}

#[test]
fn the_start_is_dragged_onto_the_sand_and_typed() {
    let mut h = planned();
    let from = h.state().route_start_position().unwrap();
    let plan = h.get_by_label("Plan of Invented Bay").rect();
    let to = egui::pos2((from.x + 60.0).min(plan.right() - 40.0), from.y + 12.0);
    h.hover_at(from);
    h.step();
    h.drag_at(from);
    h.step();
    for share in [0.3, 0.7, 1.0] {
        h.hover_at(from + (to - from) * share);
        h.step();
    }
    h.drop_at(to);
    settle(&mut h);
    settings(&mut h);
    // The metres along and across can be typed as well: the keyboard's way to the same.
    h.get_by_label("start, m along");
    h.get_by_label("m across");
    assert!(says(&h, "the spot chosen on the sand") || says(&h, "spot chosen"), "planned from there, or refused in a sentence");
}

#[test]
fn two_lows_stand_side_by_side_and_dragging_time_plans_anew() {
    let mut h = planned();
    assert!(says(&h, "Plan another low from the list below"));
    h.get_by_label_contains("Plan a route, Tue 2 Jun, 06:00").click_accesskit();
    settle(&mut h);
    assert!(says(&h, "Beside another low") && says(&h, "finds an hour") && says(&h, "longest way out"));
    h.get_by_label("Turn to the low of Mon 1 Jun, 18:00").click_accesskit();
    settle(&mut h);
    assert!(says(&h, "Route for the low of Mon 1 Jun, 18:00"));
    // From the moment on Time, now at the low itself: nothing is set out for before it.
    settings(&mut h);
    h.get_by_label("as Time is dragged").click_accesskit();
    settle(&mut h);
    assert!(says(&h, "Set out 18:"), "set out at the moment shown or after it");
}

#[test]
fn a_slope_that_nobody_surveyed_is_hatched_and_plans_nothing() {
    let h = planned_on(invented_book(), AT, quick());
    assert!(says(&h, "No route") && says(&h, "even slope") && says(&h, "survey levels on lines across the shore"));
    // What the hatching in Plan means.
    h.get_by_label("nobody surveyed");
}

/// The clock is an input too: at half past five nobody can set out at two.
#[test]
fn a_route_that_the_clock_has_overtaken_says_so() {
    assert!(!says(&planned(), "is past: it is "), "planned in good time");
    let late = planned_at("2026-06-01T17:30:00Z");
    assert!(says(&late, "The time to set out is past: it is 17:30."));
}

/// A route that nobody can set out on any more is no plan to follow: the head says so, and what can be planned instead.
#[test]
fn in_place_of_a_route_that_is_past_another_is_offered() {
    let mut late = planned_at("2026-06-01T17:30:00Z");
    assert!(says(&late, "Set out by ") && says(&late, " - past"));
    assert!(says(&late, ", for who is out on it."), "who is out needs the time all the same");
    assert!(says(&late, "Plan the next low, "));
    late.get_by_label("Plan from 17:35 on").click_accesskit();
    settle(&mut late);
    assert!(!says(&late, " - past") && !says(&late, "Set out 14:"), "planned anew, or refused in a sentence");
}

/// The times of a route stand before all else that its head says, in full, whatever the window.
#[test]
fn when_to_be_off_the_sand_is_in_view_at_every_size() {
    for at in [AT, "2026-06-01T17:30:00Z"] {
        let mut h = planned_at(at);
        for (size, zoom) in [
            ([900.0, 560.0], 1.0),
            ([900.0, 560.0], 1.5),
            ([1366.0, 768.0], 2.0),
            ([1366.0, 768.0], 2.13),
            ([900.0, 560.0], 0.75),
        ] {
            let room = size.map(|s: f32| s / zoom);
            h.set_size(room.into());
            settle(&mut h);
            if h.query_by_label("Sheet Next low").is_none() {
                h.get_by_label("Show sheet").click_accesskit();
                settle(&mut h);
            }
            let sheet = h.get_by_label("Sheet Next low").rect();
            for said in ["Off the sand by ", "First to be left: "] {
                // The card that holds the words has the same name; the words themselves are the lower.
                let rects: Vec<_> = h.get_all_by_label_contains(said).map(|n| n.rect()).collect();
                assert!(
                    rects.iter().any(|r| r.height() < 60.0 && sheet.contains_rect(*r)),
                    "{at}, {room:?}: {said} at {rects:?} of {sheet:?}"
                );
            }
        }
    }
}

/// How near its end lies to sunset stands with the other times of a route, and where its offset comes from with its tide.
#[test]
fn a_route_says_in_what_light_it_ends_and_where_its_offset_comes_from() {
    let h = planned();
    let off = h.get_all_by_label_contains("Off the sand by ").next().unwrap().rect();
    let light = h.get_all_by_label_contains("the end lies ").next().expect("the light").rect();
    assert!(light.top() > off.top() && light.top() < off.top() + 260.0, "{light:?} under {off:?}");
    assert!(says(&h, "sunset at ") && says(&h, "twilight ends at "));
    assert!(says(&h, "Datum offset +2.00 m, given by hand"));
}
