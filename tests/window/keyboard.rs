use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use scourline::app::{Item, SheetChoice};

use crate::bench::{AT, instant, settle, window};

#[test]
fn finds_are_stepped_through_edited_and_undone_by_keys_alone() {
    let mut h = window(SheetChoice::Log);
    let text = |t: &str| egui::Event::Text(t.to_owned());
    h.event(text("n"));
    settle(&mut h);
    let first = h.state().selection().lead;
    assert!(matches!(first, Some(Item::Find(_))));
    h.event(text("n"));
    settle(&mut h);
    assert_ne!(h.state().selection().lead, first);
    h.event(text("p"));
    settle(&mut h);
    assert_eq!(h.state().selection().lead, first);
    h.key_press(Key::Delete);
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 39);
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 40);
    h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 39);
}

#[test]
fn keys_change_the_sheet_and_the_instant() {
    let mut h = window(SheetChoice::Log);
    for (key, sheet) in [(Key::Num2, SheetChoice::Read), (Key::Num3, SheetChoice::NextLow), (Key::Num4, SheetChoice::Share)] {
        h.key_press(key);
        settle(&mut h);
        assert_eq!(h.state().sheet(), sheet);
        h.get_by_label(&format!("Sheet {}", sheet.label()));
    }
    h.event(egui::Event::Text(".".into()));
    settle(&mut h);
    assert_eq!(h.state().clock().at.as_second() - instant(AT).as_second(), 600);
    h.event(egui::Event::Text(">".into()));
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T06:00:00Z"));
}

#[test]
fn plan_is_moved_and_zoomed_by_keys_once_it_has_the_focus() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Plan of Invented Bay").focus();
    h.run();
    let (_, before) = h.state().plan();
    h.key_press(Key::ArrowRight);
    h.run();
    let (_, right) = h.state().plan();
    assert!(right.centre[0] > before.centre[0]);
    h.get_by_label("Plan of Invented Bay").focus();
    h.key_press(Key::Plus);
    h.run();
    assert!(h.state().plan().1.scale > right.scale);
    h.key_press(Key::Home);
    h.run();
    assert_eq!(h.state().plan().1, before);
}

#[test]
fn every_key_is_listed_and_the_list_closes() {
    let mut h = window(SheetChoice::Log);
    h.key_press(Key::F1);
    h.run();
    h.get_by_label("Keys, all of them");
    h.get_by_label("Ctrl+Z, Ctrl+Shift+Z");
    h.key_press(Key::Escape);
    h.run();
    assert!(h.query_by_label("Ctrl+Z, Ctrl+Shift+Z").is_none());
}

#[test]
fn typing_into_a_field_is_no_command() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("with").focus();
    h.run();
    h.get_by_label("with").type_text("pen 1,.");
    settle(&mut h);
    assert_eq!(h.state().sheet(), SheetChoice::Log);
    assert_eq!(h.state().clock().at, instant(AT));
    assert!(h.state().selection().is_empty());
}
