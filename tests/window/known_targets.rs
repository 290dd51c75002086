//! The bench in the window: a set-up, readings typed in, and what a signal may be.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, SheetChoice};
use scourline::book::{BenchReading, Edit, Kind, Lie, Outing, Setup, Signal, Uid};
use scourline::earth::LonLat;
use scourline::store::OpenBook;

use crate::bench::{invented_book, settle, window, window_on};

// Some steps rather than until all is still: a list that is made beside the drawing may come into view meanwhile.
pub(crate) fn type_into(h: &mut Harness<'static, App>, field: &str, text: &str) {
    h.get_by_label(field).focus();
    h.run_steps(8);
    h.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    h.get_by_label(field).type_text(text);
    // What is told of it is worked out beside the frames.
    settle(h);
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
                scraped_m: None,
                ground: None,
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
    h.get_by_label("what it learned").click();
    settle(&mut h);
    h.get_by_label_contains("coin: 9 of 10 passes");
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
    h.get_by_label("ask of a signal").click();
    settle(&mut h);
    type_into(&mut h, "Heard", "60 61");
    type_into(&mut h, "at gauge step", "2");
    settle(&mut h);
    h.get_by_label_contains("% coin (");
    // What is asked first stands first: the classes, and what leaving such signals costs.
    h.get_by_label_contains("coins ");
    h.get_by_label_contains("leaving 10 that sound like this leaves");
    h.get_by_label_contains("% something not on the bench (");
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

/// Tab until the thing with this name has the focus.
pub(crate) fn tab_to(h: &mut Harness<'static, App>, name: &str) {
    for _ in 0..150 {
        let focused = h.query_by(|n| n.is_focused() && n.label().is_some_and(|l| l == name)).is_some();
        if focused {
            return;
        }
        h.key_press(egui::Key::Tab);
        h.run_steps(8);
    }
    panic!("Tab never came to {name}");
}

pub(crate) fn write(h: &mut Harness<'static, App>, text: &str) {
    h.event(egui::Event::Text(text.into()));
    h.run();
}

pub(crate) fn press(h: &mut Harness<'static, App>, key: egui::Key) {
    h.key_press(key);
    // The sheet takes a few frames to bring what has the focus into view.
    h.run_steps(12);
    settle(h);
}

/// A whole bench run without the mouse: two directions, another depth after scraping, the bare hole unheard.
#[test]
fn a_bench_run_goes_by_the_keyboard_alone() {
    let mut h = window_on(taught(), SheetChoice::Read);
    h.key_press(egui::Key::B);
    write(&mut h, "b");
    settle(&mut h);
    tab_to(&mut h, "Target");
    write(&mut h, "my penny");
    press(&mut h, egui::Key::Tab);
    write(&mut h, "15");
    // Enter in any field but the numbers goes to the numbers.
    press(&mut h, egui::Key::Enter);
    write(&mut h, "-3 -4");
    press(&mut h, egui::Key::Enter);
    write(&mut h, "-2");
    press(&mut h, egui::Key::Enter);
    // Once too often keeps nothing and says so.
    press(&mut h, egui::Key::Enter);
    h.get_by_label_contains("press \"Nothing heard\"");
    let mine = |h: &Harness<'static, App>| {
        let mut all: Vec<_> = h.state().book().bench().values().filter(|b| b.target == "my penny").cloned().collect();
        all.sort_by(|a, b| a.depth_m.total_cmp(&b.depth_m).then(a.target_ids.cmp(&b.target_ids)));
        all
    };
    assert_eq!(mine(&h).iter().map(|b| b.target_ids.clone()).collect::<Vec<_>>(), [vec![-3, -4], vec![-2]]);
    // A button is pressed by Enter; Space lets time run.
    tab_to(&mut h, "Next depth");
    press(&mut h, egui::Key::Enter);
    write(&mut h, "9");
    press(&mut h, egui::Key::Tab);
    tab_to(&mut h, "Scraped off");
    write(&mut h, "6");
    press(&mut h, egui::Key::Enter);
    write(&mut h, "1 2");
    press(&mut h, egui::Key::Enter);
    let scraped = &mine(&h)[0];
    assert_eq!((scraped.depth_m, scraped.scraped_m, scraped.target_ids.as_slice()), (0.09, Some(0.06), [1, 2].as_slice()));
    tab_to(&mut h, "Nothing heard");
    press(&mut h, egui::Key::Enter);
    assert_eq!(mine(&h).iter().filter(|b| b.target_ids.is_empty()).count(), 1);
}

#[test]
fn settings_that_readings_stand_under_are_not_changed_unseen() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("Settings").click();
    h.run();
    h.get_by_label_contains("8 readings and 1 outings stand under this set-up");
    type_into(&mut h, "Sensitivity", "half of full");
    h.get_by_label("Keep as a new set-up").click();
    settle(&mut h);
    h.get_by_label_contains("there is a set-up \"Wet sand\" already");
    type_into(&mut h, "Name", "Wet sand, half");
    h.get_by_label("Keep as a new set-up").click();
    settle(&mut h);
    let book = h.state().book();
    let of = |name: &str| book.setups().values().find(|s| s.name == name).unwrap().clone();
    assert_eq!((of("Wet sand").sensitivity.as_str(), of("Wet sand, half").sensitivity.as_str()), ("", "half of full"));
    assert!(book.bench().values().all(|b| b.setup == of("Wet sand").uid), "the readings stay with their own settings");
    // The new one is in hand, and nothing was read with it.
    h.get_by_label("compare").click();
    settle(&mut h);
    h.get_by_label_contains("Nothing has been read with this set-up yet");
    h.get_by_label("Settings").click();
    h.run();
    type_into(&mut h, "Coil width, cm", "28");
    h.get_by_label("Keep set-up").click();
    settle(&mut h);
    assert!(h.state().book().setups().values().any(|s| s.coil_width_m == Some(0.28)));
}

#[test]
fn a_signal_is_added_mended_and_dug_in_the_log() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("Add signal").click();
    h.run();
    type_into(&mut h, "Target IDs", "sixty");
    h.get_by_label("Keep").click();
    h.run();
    h.get_by_label_contains("\"sixty\" is no target ID");
    type_into(&mut h, "Target IDs", "29 30");
    // Nobody says where it is but the person.
    type_into(&mut h, "Place", "45.0001, -20.0002");
    h.get_by_label("jumpy").click();
    type_into(&mut h, "Gauge step", "3");
    h.get_by_label("Keep").click();
    settle(&mut h);
    let new = |h: &Harness<'static, App>| h.state().book().signals().values().find(|s| s.target_ids == [29, 30]).cloned();
    let signal = new(&h).expect("kept");
    assert_eq!((signal.gauge_step, signal.outing.is_some()), (Some(3), true));
    h.get_by_label("Edit").click();
    h.run();
    h.get_by_label_contains("heard with Wet sand");
    type_into(&mut h, "Gauge step", "2");
    h.get_by_label("Keep").click();
    settle(&mut h);
    assert_eq!(new(&h).unwrap().gauge_step, Some(2));
    h.get_by_label("Dig it").click();
    h.run();
    h.get_by_label("Dug: what was it?");
    h.get_by_label("Leave").click();
    settle(&mut h);
    assert!(new(&h).is_some(), "leaving the form changes nothing");
    write(&mut h, "d");
    h.get_by_label("Dug: what was it?");
    type_into(&mut h, "What", "ring pull");
    type_into(&mut h, "Depth, cm", "11");
    h.get_by_label("Keep").click();
    settle(&mut h);
    assert!(new(&h).is_none(), "one step makes the find and takes the signal out");
    let find = h.state().book().finds().values().find(|f| f.what == "ring pull").unwrap().clone();
    assert_eq!(
        (find.target_id, find.depth_m, find.kind.key(), find.outing),
        (Some(29.5), Some(0.11), "ring_pull", signal.outing)
    );
    assert!(find.notes.contains("heard as 29 30, jumpy, gauge step 2"), "{}", find.notes);
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(new(&h).map(|s| s.uid), Some(signal.uid));
}

#[test]
fn what_a_signal_may_be_stands_beside_it_in_the_log() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("signals").click();
    settle(&mut h);
    h.get_by_label_contains("1 signals heard and left count as");
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("what it learned").click();
    settle(&mut h);
    h.get_by_label_contains("Leaving out each bench target whole");
    h.get_by_label_contains("No find with a target ID was made here");
}

/// Twenty finds with a number, made with the set-up, are left out in turn and drawn.
#[test]
fn how_often_the_bench_is_right_is_drawn() {
    let mut open = taught();
    let (beach, outing) = {
        let outing = open.book().outings().values().next().unwrap();
        (outing.beach, outing.uid)
    };
    let finds = (0..20_i32).map(|n| {
        let at = LonLat::new(-20.0001, 44.9997).unwrap();
        let (key, id) = if n % 3 == 0 { ("ring_pull", 30 + n % 5) } else { ("coin", 60 + n % 4) };
        let find = scourline::book::Find::new(beach, at, format!("read {n}"), Kind::keyed(key));
        Edit::put(scourline::book::Find { outing: Some(outing), target_id: Some(f64::from(id)), ..find })
    });
    open.apply(&Edit::Batch(finds.collect())).unwrap();
    let mut h = window_on(open, SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("what it learned").click();
    settle(&mut h);
    h.get_by_label_contains("Leaving out each of 20 finds in turn");
    h.get_by_label("Chance said against how often it was so");
}

/// A second machine on the same targets hears the shallow half of them only.
#[test]
fn two_set_ups_on_the_same_targets_are_drawn() {
    let mut open = taught();
    let other = Setup::new("Dry sand");
    let readings: Vec<BenchReading> = open.book().bench().values().map(BenchReading::clone).collect();
    let again = readings.iter().map(|r| {
        let target_ids = if r.depth_m < 0.12 { r.target_ids.clone() } else { Vec::new() };
        Edit::put(BenchReading { uid: Uid::fresh(), setup: other.uid, target_ids, ..r.clone() })
    });
    let edits = std::iter::once(Edit::put(other.clone())).chain(again).collect();
    open.apply(&Edit::Batch(edits)).unwrap();
    let mut h = window_on(open, SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("compare").click();
    settle(&mut h);
    assert!(h.query_by_label_contains("Share heard by depth").is_none(), "nothing is compared unasked");
    h.get_by_label("Compare with").click_accesskit();
    settle(&mut h);
    // Either may be in hand.
    let (this, that, heard) = if h.query_by_label("Dry sand").is_some() {
        ("Wet sand", "Dry sand", "2 of 2 against 0 of 2")
    } else {
        ("Dry sand", "Wet sand", "0 of 2 against 2 of 2")
    };
    h.get_by_label(that).click_accesskit();
    settle(&mut h);
    h.get_by_label(&format!("Share heard by depth: {this} against {that}"));
    h.get_by_label_contains(&format!("at 20 cm: heard {heard}"));
}

#[test]
fn a_kind_of_one_s_own_is_added_and_can_be_buried() {
    let mut h = window_on(taught(), SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("Kinds of your own, 0").click_accesskit();
    h.run_steps(30);
    settle(&mut h);
    h.get_by_label("Add kind").click_accesskit();
    h.run();
    h.get_by_label_contains("needs a name");
    type_into(&mut h, "Kind's name", "pilgrim badge");
    type_into(&mut h, "Usual mass, g", "heavy");
    h.get_by_label("Add kind").click_accesskit();
    h.run();
    h.get_by_label_contains("\"heavy\" is not a number");
    type_into(&mut h, "Usual mass, g", "4,5");
    h.get_by_label("Add kind").click_accesskit();
    settle(&mut h);
    let row = h.state().book().own_kinds().values().next().unwrap().clone();
    assert_eq!((row.kind.label(), row.mass_g), ("pilgrim badge", Some(4.5)));
    h.get_by_label("pilgrim badge (coin)");
    h.get_by_label("Delete kind pilgrim badge").click_accesskit();
    settle(&mut h);
    assert!(h.state().book().own_kinds().is_empty());
}

/// A photo lies beside the book; one that is missing, or that leads elsewhere, is told in words.
#[test]
fn the_photo_of_a_find_is_shown_from_beside_the_book() {
    let dir = tempfile::tempdir().unwrap();
    let mut encoder = png::Encoder::new(std::fs::File::create(dir.path().join("penny.png")).unwrap(), 3, 2);
    encoder.set_color(png::ColorType::Rgb);
    encoder.write_header().unwrap().write_image_data(&[90; 18]).unwrap();
    let mut open = OpenBook::create(dir.path().join("book.gpkg")).unwrap();
    let mut book = invented_book();
    for (n, photo) in [(0, "penny.png"), (1, "gone.jpg"), (2, "../penny.png")] {
        let find = book.finds()[&crate::bench::find_uid(n)].clone();
        book.apply(&Edit::put(scourline::book::Find { photo: photo.into(), ..find })).unwrap();
    }
    // A beach names its tide table and the table its beach, so the beach goes in twice.
    let beach = book.beaches().values().next().unwrap().clone();
    let untied = scourline::book::Beach { tide: scourline::book::TideChoice::None, ..beach.clone() };
    let rest = scourline::book::RecordKind::ALL[1..].iter().flat_map(|k| book.records(*k)).map(Edit::put);
    let puts = std::iter::once(Edit::put(untied)).chain(rest).chain([Edit::put(beach)]);
    open.apply(&Edit::Batch(puts.collect())).unwrap();
    let mut h = window_on(open, SheetChoice::Log);
    type_into(&mut h, "with", "penny");
    settle(&mut h);
    let pick = |h: &mut Harness<'static, App>, n: i32| {
        let row = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
            node.role() == egui::accesskit::Role::ListBoxOption
                && node.label().is_some_and(|l| l.starts_with(&format!("penny {n},")))
        };
        h.get_by(row).click();
        settle(h);
    };
    type_into(&mut h, "with", "penny 0");
    settle(&mut h);
    pick(&mut h, 0);
    h.get_by_label("Photo of penny 0");
    type_into(&mut h, "with", "penny 1");
    settle(&mut h);
    pick(&mut h, 1);
    h.get_by_label_contains("there is no file gone.jpg beside the book");
    type_into(&mut h, "with", "penny 2");
    settle(&mut h);
    pick(&mut h, 2);
    h.get_by_label_contains("\"../penny.png\" is no file name");
}
