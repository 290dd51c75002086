use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
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

#[test]
fn space_plays_wherever_the_keyboard_is_but_in_text_and_enter_presses() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("low >").focus();
    h.run();
    h.key_press(Key::Space);
    h.step();
    assert!(h.state().clock().playing, "Space is no press of the button");
    h.key_press(Key::Space);
    h.step();
    assert!(!h.state().clock().playing);
    settle(&mut h);
    h.get_by_label("low >").focus();
    h.run();
    let at = h.state().clock().at;
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(h.state().clock().at > at);
    h.get_by_label("with").focus();
    h.run();
    h.key_press(Key::Space);
    h.step();
    assert!(!h.state().clock().playing, "in text it is a space");
}

#[test]
fn marks_of_plan_section_and_time_are_reached_by_the_keyboard() {
    let mut h = window(SheetChoice::Log);
    let name = |h: &egui_kittest::Harness<'static, scourline::app::App>, part: &str| {
        use egui_kittest::kittest::NodeT;
        let canvas = h.get_all_by_label_contains(part).find(|n| n.accesskit_node().role() == egui::accesskit::Role::Canvas);
        canvas.expect("a canvas").accesskit_node().label().unwrap()
    };
    let mut seen = std::collections::BTreeSet::new();
    let plan = name(&h, "Plan of ");
    h.get_by_label(&plan).focus();
    h.run();
    for _ in 0..3 {
        h.key_press(Key::PageDown);
        settle(&mut h);
        let lead = h.state().selection().lead.expect("a mark");
        assert!(seen.insert(lead) && matches!(lead, Item::Find(_)));
    }
    h.key_press(Key::PageUp);
    settle(&mut h);
    assert!(seen.contains(&h.state().selection().lead.unwrap()));
    let (section, along) = (name(&h, "Section of "), h.state().section_along_m().unwrap());
    h.get_by_label(&section).focus();
    h.run();
    h.key_press(Key::ArrowRight);
    settle(&mut h);
    assert!((h.state().section_along_m().unwrap() - along - 10.0).abs() < 1e-6);
    let time = name(&h, "Time: ");
    h.get_by_label(&time).focus();
    h.run();
    h.key_press(Key::PageDown);
    settle(&mut h);
    assert!(matches!(h.state().selection().lead, Some(Item::Outing(_))));
}

#[test]
fn the_list_of_keys_tells_the_words_too() {
    let mut h = window(SheetChoice::Log);
    h.key_press(Key::F1);
    h.run();
    h.get_by_label("MHWS");
    h.get_by_label_contains("mean high water springs");
    h.get_by_label("strong evidence");
    h.get_by_label_contains("fewer than 1 of 500 such beaches");
}

/// A screen reader finds the marks in view by name, and can pick one as the mouse does.
#[test]
fn marks_in_view_are_things_with_names_that_can_be_picked() {
    let mut h = window(SheetChoice::Log);
    for view in [", in Plan", ", in Section", ", in Time"] {
        let marks = h.get_all_by_label_contains(view).filter(|n| n.accesskit_node().role() == egui::accesskit::Role::Mark);
        let (names, rects): (Vec<_>, Vec<_>) = marks.map(|n| (n.accesskit_node().label().unwrap(), n.rect())).unzip();
        assert!(!names.is_empty() && names.len() <= 60, "{view}{}", names.len());
        let whole = egui::Rect::from_min_size(egui::Pos2::ZERO, h.ctx.content_rect().size()).expand(0.5);
        assert!(rects.iter().all(|r| whole.contains_rect(*r)), "{view}{rects:?}");
    }
    let first = h.get_all_by_label_contains(", in Plan").find(|n| n.accesskit_node().role() == egui::accesskit::Role::Mark);
    let first = first.unwrap();
    let name = first.accesskit_node().label().unwrap();
    first.click_accesskit();
    settle(&mut h);
    let plain = name.strip_suffix(", in Plan").unwrap();
    assert_eq!(h.state().selection().len(), 1);
    // Picked, it has its plain name in Plan as on its row.
    assert!(h.get_all_by_label(plain).any(|n| n.accesskit_node().role() == egui::accesskit::Role::Mark), "{plain}");
}
