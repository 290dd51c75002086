//! The bench in the window: a set-up, readings typed in, and what a signal may be.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, SheetChoice};
use scourline::book::{BenchReading, Edit, Kind, Lie, Outing, Setup, Signal, Uid};
use scourline::earth::LonLat;
use scourline::store::OpenBook;

use crate::bench::{invented_book, settle, window, window_on};

fn type_into(h: &mut Harness<'static, App>, field: &str, text: &str) {
    h.get_by_label(field).focus();
    h.run();
    h.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    h.get_by_label(field).type_text(text);
    h.run();
}

/// The invented book with a set-up on which coins read about 60 and ring-pulls about 30, and a signal
/// heard with it.
fn taught() -> OpenBook {
    let mut book = invented_book();
    let setup = Setup::new("Wet sand");
    let mut edits = vec![Edit::put(setup.clone())];
    for (key, at) in [("coin", 60), ("ring_pull", 30)] {
        for n in 0..4_i32 {
            edits.push(Edit::put(BenchReading {
                uid: Uid::of_content("test", [key.as_bytes(), &n.to_le_bytes()]),
                setup: setup.uid,
                kind: Some(Kind::keyed(key)),
                target: format!("{key} {n}"),
                depth_m: 0.05 * f64::from(n + 1),
                lie: Some(Lie::Flat),
                target_ids: vec![at + n, at, at - 1],
                steadiness: None,
                tone: String::new(),
                gauge_step: Some(n + 1),
                dig: None,
                time: None,
                notes: String::new(),
            }));
        }
    }
    let outing = book.outings().values().next().unwrap().clone();
    let beach = outing.beach;
    edits.push(Edit::put(Outing { setup: Some(setup.uid), ..outing.clone() }));
    let at = LonLat::new(-20.0001, 44.9997).unwrap();
    let heard = Signal { outing: Some(outing.uid), target_ids: vec![61, 60], ..Signal::new(beach, at) };
    edits.push(Edit::put(Signal { time: Some(outing.start), ..heard }));
    book.apply(&Edit::Batch(edits)).unwrap();
    OpenBook::holding(book)
}

#[test]
fn a_set_up_is_made_and_a_target_read_from_two_directions() {
    let mut h = window(SheetChoice::Read);
    h.key_press(egui::Key::B);
    h.event(egui::Event::Text("b".into()));
    settle(&mut h);
    h.get_by_label("New set-up").click();
    h.run();
    type_into(&mut h, "Name", "Wet sand, big coil");
    h.get_by_label("Keep set-up").click();
    settle(&mut h);
    assert_eq!(h.state().book().setups().len(), 1);

    type_into(&mut h, "Target", "old penny");
    type_into(&mut h, "Depth to it", "6");
    h.get_by_label("in").click();
    h.run();
    type_into(&mut h, "Target IDs", "60 61 60");
    h.get_by_label("Keep reading").click();
    settle(&mut h);
    // The numbers are cleared and have the focus again; the rest stays for the next direction.
    h.get_by_label("Target IDs").type_text("58, 62");
    h.run();
    h.key_press(egui::Key::Enter);
    settle(&mut h);
    let mut ids: Vec<_> = h.state().book().bench().values().map(|r| r.target_ids.clone()).collect();
    ids.sort();
    assert_eq!(ids, [vec![58, 62], vec![60, 61, 60]]);
    assert!(h.state().book().bench().values().all(|r| (r.depth_m - 0.1524).abs() < 1e-9 && r.target == "old penny"));
    h.get_by_label_contains("coin: centre");
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(h.state().book().bench().len(), 1);
}

#[test]
fn what_cannot_be_a_reading_is_refused_in_words() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    for (depth, ids, why) in
        [("deep", "60", "\"deep\" is no depth"), ("6 in 2 cm", "60", "is no depth"), ("15", "60cm", "\"60cm\" is no target ID")]
    {
        type_into(&mut h, "Depth to it", depth);
        type_into(&mut h, "Target IDs", ids);
        h.get_by_label("Keep reading").click();
        settle(&mut h);
        h.get_by_label_contains(why);
        assert_eq!(h.state().book().bench().len(), 8);
    }
}

#[test]
fn typed_numbers_are_answered_with_chances() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    type_into(&mut h, "Heard", "60 61");
    type_into(&mut h, "at gauge step", "2");
    settle(&mut h);
    h.get_by_label_contains("% coin (");
    h.get_by_label_contains("% none of these (");
    h.get_by_label_contains("the gauge says 10 cm");
    type_into(&mut h, "at gauge step", "9");
    h.get_by_label_contains("lies outside the steps read on the bench, 1 to 4");
}

#[test]
fn a_picked_signal_is_answered_and_once_dug_becomes_a_find() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("signals").click();
    settle(&mut h);
    h.get_by_role_and_label(egui::accesskit::Role::ListBoxOption, &signal_name(&h)).click();
    settle(&mut h);
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label_contains("% coin (");
    h.get_by_label("Make it a find").click();
    settle(&mut h);
    let book = h.state().book();
    assert_eq!((book.signals().len(), book.finds().len()), (0, 41));
    assert!(book.finds().values().any(|f| f.target_id == Some(60.5)));
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(h.state().book().signals().len(), 1);
}

/// The name of the one signal listed.
fn signal_name(h: &Harness<'static, App>) -> String {
    let row = h.get_by_role(egui::accesskit::Role::ListBoxOption);
    egui_kittest::kittest::NodeT::accesskit_node(&row).label().unwrap_or_default()
}
