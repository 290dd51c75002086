use std::fs;

use egui_kittest::kittest::Queryable;
use scourline::app::SheetChoice;
use scourline::store::OpenBook;

use crate::bench::{instant, settle, window, window_on};

/// Two waypoints on the invented bay, one of them nowhere on earth.
const GPX: &str = r#"<?xml version="1.0"?>
<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">
  <wpt lat="44.9995" lon="-20.0001"><time>2026-06-01T06:10:00Z</time><name>gold ring</name></wpt>
  <wpt lat="44.9996" lon="-20.0005"><time>2026-06-01T06:20:00Z</time><name>foil</name></wpt>
  <wpt lat="144.9" lon="-20.0"><name>nowhere</name></wpt>
</gpx>
"#;

fn type_path(h: &mut egui_kittest::Harness<'static, scourline::app::App>, path: &std::path::Path) {
    h.get_by_label("or type a path").focus();
    h.run();
    h.get_by_label("or type a path").type_text(path.to_str().unwrap());
    h.run();
    h.get_by_label("Look").click();
    settle(h);
}

#[test]
fn a_dry_run_tells_what_would_be_taken_and_writes_nothing_until_it_is_asked_to() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("morning.gpx");
    fs::write(&file, GPX).unwrap();
    let mut h = window(SheetChoice::Log);
    let before = h.state().book().clone();
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    // 2 taken, 1 refused with its line and its reason.
    h.get_by_label("2 finds");
    h.get_by_label_contains("line 5");
    h.get_by_label_contains("144.9");
    assert_eq!(*h.state().book(), before);
    h.get_by_label_contains("Import 2 records").click();
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 42);
    assert_eq!(h.state().selection().len(), 2, "what came in is picked");
    // One key is too little to take all of it out again.
    h.key_press(egui::Key::Delete);
    h.run();
    h.get_by_label("Take 2 records out of the book?");
    h.get_by_label("Keep them").click();
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 42);
    h.key_press(egui::Key::Delete);
    h.run();
    h.get_by_label("Take them out").click();
    settle(&mut h);
    assert_eq!(h.state().book().finds().len(), 40);
    h.get_by_label("Undo").click();
    settle(&mut h);
    // The very same file once more: all of it is there already, and there is nothing to import.
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    h.get_by_label("already there:");
    h.get_by_label("nothing new");
    h.get_by_label("Leave").click();
    settle(&mut h);
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(*h.state().book(), before);
}

#[test]
fn a_file_that_cannot_be_read_says_why_and_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("broken.gpx");
    fs::write(&file, "<gpx version=\"1.1\"><wpt lat=").unwrap();
    let mut h = window(SheetChoice::Log);
    let before = h.state().book().clone();
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    assert!(h.get_all_by_label_contains("broken.gpx").count() >= 2, "the file is named where it is refused");
    h.get_by_label("Leave").click();
    settle(&mut h);
    assert_eq!(*h.state().book(), before);
}

#[test]
fn files_dropped_on_the_window_make_a_beach_in_an_empty_book() {
    #[derive(Debug)]
    struct Dropped(std::path::PathBuf);
    impl egui::DroppedFile for Dropped {
        fn path(&self) -> &std::path::Path {
            &self.0
        }
        fn bytes(&self) -> Result<Vec<u8>, String> {
            fs::read(&self.0).map_err(|e| e.to_string())
        }
    }
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("morning.gpx");
    fs::write(&file, GPX).unwrap();
    let mut h = window_on(OpenBook::in_memory(), SheetChoice::Log);
    assert!(h.state().book().is_empty());
    h.input_mut().dropped_files.push(std::sync::Arc::new(Dropped(file)));
    settle(&mut h);
    h.get_by_label_contains("A new beach \"My beach\" will be made");
    assert!(h.state().book().is_empty());
    h.get_by_label_contains("Import 2 records").click();
    settle(&mut h);
    assert_eq!(h.state().book().beaches().len(), 1);
    assert_eq!(h.state().book().finds().len(), 2);
    h.get_by_label("Plan of My beach");
}

/// A tide table printed in UTC and in feet, which says neither: both are asked for.
#[test]
fn the_clock_and_the_unit_of_a_tide_table_are_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("almanac.csv");
    fs::write(&file, "time,height\n2026-06-03 00:10,15.0\n2026-06-03 06:20,3.0\n2026-06-03 12:40,15.5\n").unwrap();
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    h.get_by_label_contains("say it if they are feet");
    h.get_by_label("Times without an offset are on the clock of").focus();
    h.run();
    h.get_by_label("Times without an offset are on the clock of").type_text("Asia/Tokyo");
    h.run();
    h.get_by_label("feet").click();
    settle(&mut h);
    h.get_by_label_contains("Import 1 record").click();
    settle(&mut h);
    let table = h.state().book().tide_tables().values().find(|t| t.name == "almanac").cloned().expect("the table");
    assert_eq!(table.turns[0].time, instant("2026-06-02T15:10:00Z"), "nine hours before Tokyo's clock");
    // 15 international feet of 0.3048 m.
    assert!((table.turns[0].level_m - 4.572).abs() < 1e-9);
}

/// A receiver's log whose heights are headed as levels: nothing can be taken before it is said what they are.
#[test]
fn what_a_file_leaves_open_is_asked_and_nothing_is_taken_before_it_is_answered() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("log.csv");
    let rows: String = (0..20).map(|n| format!("44.9{:03},-20.0001,1.{n},2026-06-01 06:10:{:02}\n", 970 + n, n * 2)).collect();
    fs::write(&file, format!("lat,lon,level_m,time\n{rows}")).unwrap();
    let mut h = window(SheetChoice::Log);
    let levels = h.state().book().levels().len();
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    h.get_by_label_contains("surveyed levels of the sand, or a receiver's heights along a track?");
    assert!(h.query_by_label_contains("Import 20 records").is_none(), "it is not to be had before it is answered");
    h.get_by_label("levels of the sand").click();
    settle(&mut h);
    h.get_by_label("Answered, about heights:");
    h.get_by_label_contains("Import 20 records").click();
    settle(&mut h);
    assert_eq!(h.state().book().levels().len(), levels + 20);
}

fn save_as(h: &mut egui_kittest::Harness<'static, scourline::app::App>, path: &std::path::Path) {
    h.get_by_label("Book").click();
    h.run();
    h.get_by_label("Save as ...").click();
    h.run();
    h.get_by_label("File").focus();
    h.run();
    h.get_by_label("File").type_text(path.to_str().unwrap());
    h.run();
    h.get_by_label("Save").click();
    settle(h);
}

/// A photograph where a book was to be saved stays; a book is asked about.
#[test]
fn save_as_replaces_no_photograph_and_asks_before_it_replaces_a_book() {
    let dir = tempfile::tempdir().unwrap();
    let (photo, other) = (dir.path().join("sunset.jpg"), dir.path().join("other.gpkg"));
    fs::write(&photo, b"\xFF\xD8\xFF a photograph").unwrap();
    drop(OpenBook::create(&other).unwrap());
    let mut h = window(SheetChoice::Log);
    save_as(&mut h, &photo);
    h.get_by_label_contains("is already there and is no book");
    h.get_by_label("Leave").click_accesskit();
    settle(&mut h);
    assert_eq!(fs::read(&photo).unwrap(), b"\xFF\xD8\xFF a photograph");
    save_as(&mut h, &other);
    h.get_by_label_contains("other.gpkg is already there and is a book");
    assert!(OpenBook::open(&other).unwrap().book().is_empty());
    h.get_by_label("Replace").click();
    settle(&mut h);
    assert_eq!(OpenBook::open(&other).unwrap().book(), h.state().book());
}

/// What a club-mate hands over stays theirs: it is said in the dialog as it is by the command.
#[test]
fn another_persons_finds_are_taken_in_as_theirs() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("evening.gpx");
    fs::write(&file, GPX).unwrap();
    let mut h = window(SheetChoice::Log);
    h.get_by_label("Import ...").click();
    h.run();
    type_path(&mut h, &file);
    h.get_by_label("another person's").click();
    settle(&mut h);
    h.get_by_label("it is not said whose finds they are");
    h.get_by_label("Whose they are").focus();
    h.run();
    h.get_by_label("Whose they are").type_text("A. Nother");
    h.key_press(egui::Key::Enter);
    settle(&mut h);
    h.get_by_label_contains("Import 2 records").click();
    settle(&mut h);
    let book = h.state().book();
    let theirs: Vec<_> = book.finds().values().filter(|f| f.finder == "A. Nother").collect();
    assert_eq!((book.finds().len(), theirs.len()), (42, 2));
    assert!(theirs.iter().all(|f| f.outing.is_none()), "in no outing of one's own");
}
