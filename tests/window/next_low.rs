use egui_kittest::kittest::Queryable;
use scourline::app::{SheetChoice, Start};

use crate::bench::{settle, window, window_from};

#[test]
fn a_low_of_the_demo_beach_gets_a_route_and_a_block_can_be_left_out() {
    let mut h = window_from(Start::Demo, SheetChoice::NextLow);
    let plan = h.get_all_by_label_contains("Plan a route, ").next().unwrap();
    plan.click();
    settle(&mut h);
    // The first low shown may be in the dark; then the refusal says so in a sentence.
    if h.query_all_by_label("No route").next().is_some() {
        h.get_all_by_label_contains("head-torch").next().unwrap();
        h.get_all_by_label_contains("Plan a route, ").nth(1).unwrap().click();
        settle(&mut h);
    }
    assert!(h.get_all_by_label_contains("Turn back by ").count() > 0);
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
    h.get_by_label_contains("Plan a route, Mon 1 Jun, 06:00").click();
    settle(&mut h);
    assert!(h.get_all_by_label("No route").count() > 0);
    // The sentence itself: the invented bay has no access.
    assert!(h.get_all_by_label_contains("it has no access").count() > 0);
}
