//! A new book, an empty one, and the program's own chooser.

use egui::Key;
use egui_kittest::kittest::Queryable;
use scourline::app::SheetChoice;
use scourline::book::{Beach, Book, Edit};
use scourline::earth::LonLat;
use scourline::store::OpenBook;

use crate::bench::{click_at, settle, window, window_on};

#[test]
fn a_new_book_takes_the_keyboard_makes_folders_and_says_beside_the_field_what_it_cannot() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("a file"), "x").unwrap();
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Book").click();
    h.run();
    h.get_by_label("New ...").click();
    h.run();
    let wrong = dir.path().join("a file/book");
    h.event(egui::Event::Text(wrong.to_str().unwrap().to_owned()));
    settle(&mut h);
    h.key_press(Key::Enter);
    settle(&mut h);
    h.get_by_label_contains("could not be made");
    let typed = egui_kittest::kittest::NodeT::accesskit_node(&h.get_by_label("File")).value().unwrap();
    assert_eq!(typed, wrong.to_str().unwrap(), "what was typed stays");
    assert_eq!(h.state().book().finds().len(), 40, "and so does the book");
    let right = dir.path().join("new/folders/bay.gpkg");
    h.get_by_label("File").focus();
    h.run();
    h.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    h.get_by_label("File").type_text(right.to_str().unwrap());
    h.run();
    h.get_by_label("Make it").click_accesskit();
    settle(&mut h);
    assert!(right.is_file() && h.state().book().is_empty());
    assert!(h.query_by_label("Make it").is_none());
    h.get_by_label("Book: bay.gpkg");
}

#[test]
fn an_empty_book_shows_its_three_steps_and_each_can_be_pressed() {
    let mut h = window_on(OpenBook::in_memory(), SheetChoice::Log);
    for step in ["1  Files or a place", "2  Tide", "3  Baseline"] {
        h.get_by_label(step);
    }
    for (button, title) in [
        ("Import files ...", "A dry run first: nothing is written before you press Import."),
        ("Choose the tide ...", "A beach at a place"),
        ("Draw the baseline ...", "A beach at a place"),
        ("Make a beach at a place ...", "A beach at a place"),
    ] {
        h.get_by_label(button).click_accesskit();
        settle(&mut h);
        h.get_by_label(title);
        if button.starts_with("Make") {
            break;
        }
        h.get_by_label("Leave").click_accesskit();
        settle(&mut h);
    }
    h.event(egui::Event::Text("45° 0' N 20° 0' W".to_owned()));
    settle(&mut h);
    h.key_press(Key::Enter);
    settle(&mut h);
    let beach = h.state().book().beaches().values().next().expect("a beach").clone();
    assert!((beach.origin.lat_deg() - 45.0).abs() < 1e-9 && (beach.origin.lon_deg() + 20.0).abs() < 1e-9);
    // "Laying out" ends, and the steps go on: the tide opens the beach's own form.
    assert!(h.query_by_label_contains("laying out").is_none());
    h.get_by_label("Choose the tide ...").click_accesskit();
    settle(&mut h);
    h.get_by_label("Datum offset, m");
    h.get_by_label("Leave").click_accesskit();
    settle(&mut h);
    // The baseline is drawn on Plan.
    h.get_by_label("Draw the baseline ...").click_accesskit();
    settle(&mut h);
    let plan = h.get_by_label("Plan of My beach").rect();
    for x in [-100.0, 100.0] {
        click_at(&mut h, plan.center() + egui::vec2(x, 40.0));
    }
    h.get_by_label("Keep it: the sea is on the right").click_accesskit();
    settle(&mut h);
    let drawn = h.state().book().beaches()[&beach.uid].baseline.clone();
    assert_eq!(drawn.len(), 2);
    assert!(drawn[0].lon_deg() < drawn[1].lon_deg());
}

#[test]
fn a_beach_of_which_only_the_place_is_known_is_laid_out() {
    let mut book = Book::new();
    book.apply(&Edit::put(Beach::new("Bare", LonLat::new(-20.0, 45.0).unwrap()))).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::NextLow);
    settle(&mut h);
    assert!(h.query_by_label_contains("laying out").is_none());
    h.get_by_label("1  Files or a place");
}
