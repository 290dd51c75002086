//! Forms: what the keys do in them, what is refused, and where a thing lies.

use egui::{Key, Modifiers, pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use scourline::app::{App, SheetChoice};
use scourline::book::{Edit, Track, TrackPoint, Uid};
use scourline::earth::{LonLat, distance_m};
use scourline::store::OpenBook;

use crate::bench::{AT, click_at, click_row, instant, invented_book, settle, window, window_on, window_sized};

type Window = Harness<'static, App>;

/// A field of text by its name.
fn field<'h>(h: &'h Window, name: &'h str) -> egui_kittest::Node<'h> {
    h.get_by_role_and_label(egui::accesskit::Role::TextInput, name)
}

fn type_in(h: &mut Window, name: &str, text: &str) {
    field(h, name).focus();
    h.run();
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    field(h, name).type_text(text);
    h.run();
}

fn value(h: &Window, name: &str) -> String {
    field(h, name).accesskit_node().value().unwrap_or_default()
}

#[test]
fn enter_keeps_escape_leaves_and_undo_acts_on_the_form() {
    let mut h = window(SheetChoice::Log);
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    h.get_by_label("Edit").click();
    h.run();
    let before = h.state().book().clone();
    type_in(&mut h, "Depth, cm", "30");
    type_in(&mut h, "Note", "by the groyne");
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run();
    assert_eq!((value(&h, "Note").as_str(), value(&h, "Depth, cm").as_str()), ("", "30"), "the last field is as it was");
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run();
    assert_eq!(value(&h, "Depth, cm"), "24.5");
    assert_eq!(*h.state().book(), before, "the book was not touched");
    h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    h.run();
    assert_eq!(value(&h, "Depth, cm"), "30");
    field(&h, "Depth, cm").focus();
    h.run();
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(h.query_by_label("Keep").is_none(), "kept");
    let find = h.state().book().finds()[&crate::bench::find_uid(39)].clone();
    assert!((find.depth_m.unwrap() - 0.30).abs() < 1e-9 && find.notes.is_empty());
    // Escape leaves, from within a field too.
    h.get_by_label("Edit").click();
    h.run();
    type_in(&mut h, "Depth, cm", "99");
    h.key_press(Key::Escape);
    settle(&mut h);
    // What was typed is not thrown away without a word.
    h.get_by_label("Leave what you typed?");
    h.key_press(Key::Escape);
    settle(&mut h);
    assert_eq!(value(&h, "Depth, cm"), "99", "back in the form");
    h.key_press(Key::Escape);
    settle(&mut h);
    h.get_by_label("Leave it").click();
    settle(&mut h);
    assert!(h.query_by_label("Keep").is_none());
    assert_eq!(h.state().book().finds()[&find.uid], find);
}

#[test]
fn what_is_refused_stays_and_the_reason_stands_beside_its_field() {
    let mut h = window(SheetChoice::Log);
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    h.get_by_label("Edit").click();
    h.run();
    type_in(&mut h, "Mass, g", "heavy");
    type_in(&mut h, "Note", "kept");
    h.key_press(Key::Enter);
    settle(&mut h);
    assert_eq!((value(&h, "Mass, g").as_str(), value(&h, "Note").as_str()), ("heavy", "kept"));
    let why = h.get_by_label_contains("\"heavy\" is not a number").rect();
    let (mass, next) = (field(&h, "Mass, g").rect(), field(&h, "Note").rect());
    assert!(why.top() >= mass.bottom() - 2.0 && why.bottom() <= next.top() + 4.0, "{why:?} under {mass:?} over {next:?}");
}

/// A reason goes with the value that it was of, and after Enter the keyboard is still in the field that was refused.
#[test]
fn a_reason_goes_with_its_value_and_the_keyboard_stays() {
    let mut h = window(SheetChoice::Log);
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    h.get_by_label("Edit").click();
    h.run();
    type_in(&mut h, "Mass, g", "heavy");
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(field(&h, "Mass, g").accesskit_node().is_focused());
    // Typed on, it is text and no command of the window.
    field(&h, "Mass, g").type_text("3");
    h.run();
    assert_eq!(h.state().sheet(), SheetChoice::Log);
    type_in(&mut h, "Mass, g", "3.5");
    assert!(h.query_by_label_contains("is not a number").is_none(), "the value is another one");
    h.key_press(Key::Escape);
    settle(&mut h);
    h.get_by_label("Leave it").click();
    settle(&mut h);
    // The beach.
    h.get_by_label("Beach ...").click();
    h.run();
    type_in(&mut h, "Datum offset, m", "deep");
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(field(&h, "Datum offset, m").accesskit_node().is_focused());
    type_in(&mut h, "Datum offset, m", "2.1");
    assert!(h.query_by_label_contains("is not a number").is_none());
}

#[test]
fn a_kind_is_found_by_typing_a_part_of_its_name() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Add find").click();
    h.run();
    type_in(&mut h, "Kind", "silver ri");
    h.key_press(Key::Enter);
    h.run();
    assert_eq!(value(&h, "Kind"), "silver ring", "Enter takes the first that fits");
    assert!(h.query_by_label("Keep").is_some(), "and keeps nothing yet");
    type_in(&mut h, "Kind", "no such thing");
    h.get_by_label("no kind is called so");
    type_in(&mut h, "Place", "45.0001, -20.0002");
    h.get_by_label("Keep").click_accesskit();
    settle(&mut h);
    h.get_by_label_contains("no kind is called \"no such thing\"");
}

/// It is never taken from where Plan happens to look.
#[test]
fn a_find_lies_where_somebody_said_and_nowhere_else() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Add find").click();
    h.run();
    assert!(h.state().place_in_form().is_none());
    field(&h, "What").type_text("penny");
    h.run();
    h.key_press(Key::Enter);
    settle(&mut h);
    h.get_by_label_contains("where it lies is missing");
    assert_eq!(h.state().book().finds().len(), 40);
    // Clicked on Plan.
    let plan = h.get_by_label("Plan of Invented Bay").rect();
    let spot = pos2(plan.center().x + 60.0, plan.center().y + 20.0);
    click_at(&mut h, spot);
    let clicked = h.state().place_in_form().expect("where it was clicked");
    assert!(h.state().position_of(clicked).unwrap().distance(spot) < 1.5);
    // Moved by the arrow keys: a metre, with Shift ten.
    h.key_press(Key::ArrowRight);
    h.run();
    let moved = h.state().place_in_form().unwrap();
    assert!((distance_m(clicked, moved) - 1.0).abs() < 0.15, "{}", distance_m(clicked, moved));
    h.get_by_label("Plan of Invented Bay").focus();
    h.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    h.run();
    let down = h.state().place_in_form().unwrap();
    assert!((distance_m(moved, down) - 10.0).abs() < 0.5, "{}", distance_m(moved, down));
    // Dragged.
    let from = h.state().position_of(down).unwrap();
    h.drag_at(from);
    h.step();
    for n in 1..=4_u8 {
        h.hover_at(from + egui::vec2(-10.0 * f32::from(n), 0.0));
        h.step();
    }
    h.drop_at(from + egui::vec2(-40.0, 0.0));
    settle(&mut h);
    let dragged = h.state().place_in_form().unwrap();
    assert!(h.state().position_of(dragged).unwrap().distance(from + egui::vec2(-40.0, 0.0)) < 2.0);
    // All of it can be taken back in the form, and typed in any notation.
    h.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    h.run();
    type_in(&mut h, "Place", "45° 0' 0.36\" N 20° 0.012' W");
    let typed = h.state().place_in_form().unwrap();
    assert!((typed.lat_deg() - 45.0001).abs() < 1e-9 && (typed.lon_deg() + 20.0002).abs() < 1e-9);
    h.get_by_label("Keep").click_accesskit();
    settle(&mut h);
    let made = h.state().book().finds().values().find(|f| f.what == "penny").unwrap().clone();
    assert_eq!(made.at, typed);
    // What was added is picked, listed and in view.
    assert_eq!(h.state().selection().lead, Some(scourline::app::Item::Find(made.uid)));
    let drawn = h.state().mark_position(scourline::app::Item::Find(made.uid)).unwrap();
    assert!(h.get_by_label("Plan of Invented Bay").rect().contains(drawn));
}

#[test]
fn a_place_is_taken_from_a_track_at_its_time() {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().uid;
    let start = instant(AT).as_second();
    let points: Vec<TrackPoint> = (0..20_i32)
        .map(|n| {
            let time = jiff::Timestamp::from_second(start + i64::from(n) * 10).unwrap();
            TrackPoint::new(LonLat::new(-20.0 + f64::from(n) * 1e-5, 44.9996).unwrap()).with_time(Some(time))
        })
        .collect();
    let segments = vec![points.into()];
    let track = Track { uid: Uid::of_content("track", [&b"walk"[..]]), beach, outing: None, name: "walk".into(), segments };
    book.apply(&Edit::put(track)).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Log);
    h.get_by_label("Add signal").click();
    h.run();
    type_in(&mut h, "Time", "2026-06-01 05:31");
    h.get_by_label("from the track at its time").click_accesskit();
    h.run();
    let at = h.state().place_in_form().expect("where the track was");
    // A minute after its first fix: the seventh.
    assert!((at.lon_deg() + 20.0 - 6e-5).abs() < 1e-6 && (at.lat_deg() - 44.9996).abs() < 1e-6, "{at}");
    type_in(&mut h, "Time", "2026-06-02 05:31");
    h.get_by_label("from the track at its time").click_accesskit();
    h.run();
    h.get_by_label_contains("no track says where one was");
    assert_eq!(h.state().place_in_form(), Some(at), "what stood there stays");
}

#[test]
fn fields_do_not_overlap_and_the_form_does_not_widen_the_sheet() {
    for size in [[900.0, 560.0], [1320.0, 680.0]] {
        let mut h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, size);
        let sheet = h.get_by_label("Sheet Log").rect();
        for (add, fields) in [
            ("Add find", &["What", "Kind", "Place", "Time", "Depth, cm", "Target ID", "Mass, g", "Note"][..]),
            ("Add signal", &["Target IDs", "Place", "Time", "Gauge step", "Note"]),
            ("Add outing", &["Name", "Start", "End", "Set aside", "Note"]),
            ("Add way down", &["Name", "Place", "Note"]),
        ] {
            h.get_by_label(add).click_accesskit();
            settle(&mut h);
            assert!((h.get_by_label("Sheet Log").rect().width() - sheet.width()).abs() < 1.0, "{add} at {size:?}");
            let rects: Vec<_> = fields.iter().map(|f| (*f, field(&h, f).rect())).collect();
            for pair in rects.windows(2) {
                assert!(pair[0].1.bottom() <= pair[1].1.top() + 0.5, "{add} at {size:?}: {pair:?}");
                assert!(pair[1].1.right() <= sheet.right(), "{pair:?} beyond {sheet:?}");
            }
            h.key_press(Key::Escape);
            settle(&mut h);
        }
    }
}

/// What is usually noted of a find has room at the size the window opens with, with the buttons in view; the rest is folded.
#[test]
fn the_form_of_a_find_is_whole_on_a_small_screen() {
    let mut h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, [1320.0, 680.0]);
    h.get_by_label("Add find").click_accesskit();
    settle(&mut h);
    let keep = h.get_by_label("Keep").rect();
    let more = h.get_by_label("Outing, weight, photo, condition and more");
    assert!(
        field(&h, "Note").rect().bottom() < keep.top() && more.rect().bottom() < keep.top() + 1.0,
        "{:?} over {keep:?}",
        more.rect()
    );
    assert!(h.query_by_label("Photo").is_none());
    more.click_accesskit();
    settle(&mut h);
    field(&h, "Photo");
}

/// The list of keys promises it of every form.
#[test]
fn enter_keeps_the_beach_and_a_set_up_and_escape_leaves_them() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Beach ...").click();
    h.run();
    type_in(&mut h, "Datum offset, m", "deep");
    h.key_press(Key::Enter);
    settle(&mut h);
    // What was refused stays, and why stands under its field.
    assert_eq!(value(&h, "Datum offset, m"), "deep");
    let (why, of) = (h.get_by_label_contains("\"deep\" is not a number").rect(), field(&h, "Datum offset, m").rect());
    assert!(why.top() >= of.bottom() - 2.0 && why.top() < of.bottom() + 24.0, "{why:?} under {of:?}");
    type_in(&mut h, "Datum offset, m", "2.1");
    h.get_by_label_contains("comes from: given by hand");
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(h.query_by_label("Datum offset, m").is_none(), "kept");
    assert_eq!(h.state().book().beaches().values().next().unwrap().datum_offset_m, Some(2.1));
    h.get_by_label("Beach ...").click();
    h.run();
    // A press beside it, or Escape, asks first where something was typed.
    type_in(&mut h, "Name", "Elsewhere");
    click_at(&mut h, pos2(4.0, 4.0));
    settle(&mut h);
    h.get_by_label("Keep on editing").click();
    settle(&mut h);
    assert_eq!(value(&h, "Name"), "Elsewhere");
    h.key_press(Key::Escape);
    settle(&mut h);
    h.get_by_label("Leave it").click();
    settle(&mut h);
    assert!(h.query_by_label("Datum offset, m").is_none(), "left");
    assert_eq!(h.state().book().beaches().values().next().unwrap().name, "Invented Bay");
    // A set-up on the bench.
    h.get_by_label("bench").click();
    settle(&mut h);
    h.get_by_label("New set-up").click();
    h.run();
    type_in(&mut h, "Machine", "invented");
    h.key_press(Key::Enter);
    settle(&mut h);
    assert!(h.state().book().setups().is_empty(), "it has no name");
    type_in(&mut h, "Name", "dry sand");
    h.key_press(Key::Enter);
    settle(&mut h);
    let setup = h.state().book().setups().values().next().expect("kept").clone();
    assert_eq!((setup.name.as_str(), setup.machine.as_str()), ("dry sand", "invented"));
    h.get_by_label("Settings").click();
    h.run();
    type_in(&mut h, "Tones", "five");
    h.key_press(Key::Escape);
    settle(&mut h);
    h.get_by_label("Leave it").click();
    settle(&mut h);
    assert!(h.query_by_label("Tones").is_none(), "left");
    assert_eq!(h.state().book().setups()[&setup.uid], setup);
}
