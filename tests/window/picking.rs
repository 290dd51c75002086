use egui::{Modifiers, pos2};
use egui_kittest::kittest::Queryable;
use scourline::app::{Item, PlanShape, SheetChoice};

use crate::bench::{click_at, click_row, find_uid, settle, window};

#[test]
fn a_find_picked_in_plan_is_picked_in_the_log_and_named() {
    let mut h = window(SheetChoice::Log);
    let item = Item::Find(find_uid(35));
    let at = h.state().mark_position(item).unwrap();
    click_at(&mut h, at);
    assert!(h.state().selection().holds(item));
    // Its row in the Log, its mark in Plan and the card under the pointer all say its name.
    assert!(h.get_all_by_label_contains("ring-pull 35, light").count() >= 2);
}

#[test]
fn a_click_on_bare_ground_lets_go() {
    let mut h = window(SheetChoice::Log);
    let at = h.state().mark_position(Item::Find(find_uid(35))).unwrap();
    click_at(&mut h, at);
    assert_eq!(h.state().selection().len(), 1);
    let plan = h.get_by_label("Plan of Invented Bay").rect();
    click_at(&mut h, pos2(plan.left() + 4.0, plan.top() + 60.0));
    assert!(h.state().selection().is_empty());
}

#[test]
fn shift_and_drag_picks_what_lies_in_the_box() {
    let mut h = window(SheetChoice::Log);
    let corners: Vec<_> = (0..30).filter_map(|n| h.state().mark_position(Item::Find(find_uid(n)))).collect();
    let rect = corners.iter().fold(egui::Rect::NOTHING, |r, p| r.union(egui::Rect::from_min_max(*p, *p))).expand(6.0);
    h.event(egui::Event::ModifiersChanged(Modifiers::SHIFT));
    h.event(egui::Event::PointerMoved(rect.min));
    h.step();
    let press = |pressed, pos| egui::Event::PointerButton {
        pos,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: Modifiers::SHIFT,
    };
    h.event(press(true, rect.min));
    h.step();
    for share in [0.3, 0.7, 1.0] {
        h.event(egui::Event::PointerMoved(rect.min + rect.size() * share));
        h.step();
    }
    h.event(press(false, rect.max));
    h.step();
    h.event(egui::Event::ModifiersChanged(Modifiers::NONE));
    h.run();
    assert_eq!(h.state().selection().len(), 30, "the thirty coins and no ring-pull");
}

#[test]
fn a_row_of_the_log_picks_too() {
    let mut h = window(SheetChoice::Log);
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    assert!(h.state().selection().holds(Item::Find(find_uid(39))));
}

#[test]
fn plan_is_dragged_and_fits_again() {
    let mut h = window(SheetChoice::Log);
    let (_, before) = h.state().plan();
    let plan = h.get_by_label("Plan of Invented Bay").rect();
    let from = pos2(plan.left() + 30.0, plan.top() + 60.0);
    h.drag_at(from);
    h.step();
    h.hover_at(from + egui::vec2(40.0, 10.0));
    h.step();
    h.drop_at(from + egui::vec2(40.0, 10.0));
    h.run();
    let (_, moved) = h.state().plan();
    assert!(moved.centre[0] < before.centre[0] - 1.0, "{before:?} {moved:?}");
    h.get_by_label("fit").click();
    h.run();
    assert_eq!(h.state().plan().1, before);
}

#[test]
fn both_lays_can_be_chosen_and_each_keeps_its_own_view() {
    let mut h = window(SheetChoice::Log);
    assert_eq!(h.state().plan().0, PlanShape::Straight);
    h.get_by_label("as it lies").click();
    h.run();
    let (lay, camera) = h.state().plan();
    assert_eq!(lay, PlanShape::AsItLies);
    assert!((camera.stretch - 1.0).abs() < 1e-12, "as it lies is true to shape");
}
