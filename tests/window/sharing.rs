//! Share: what was agreed with a holder is typed, what would leave is listed, and what was handed over is kept.

use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use geo_types::{MultiPolygon, polygon};
use scourline::app::{App, SheetChoice};
use scourline::book::{Edit, Permission, Uid, Zone, ZoneUse};

use crate::bench::{find_uid, settle, window};
use crate::next_low::says;

type Window = Harness<'static, App>;

fn retype(h: &mut Window, field: &str, text: &str) {
    h.get_by_label(field).focus();
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    h.get_by_label(field).type_text(text);
    h.run_steps(2);
}

/// The sheet Share of the invented bay, whose ground an invented trust gave.
fn shared() -> (Window, Uid) {
    let mut h = window(SheetChoice::Share);
    let beach = h.state().book().beaches().values().next().unwrap().clone();
    let (x, y) = (beach.origin.lon_deg(), beach.origin.lat_deg());
    let area = MultiPolygon(vec![
        polygon![(x: x - 0.1, y: y - 0.1), (x: x + 0.1, y: y - 0.1), (x: x + 0.1, y: y + 0.1), (x: x - 0.1, y: y + 0.1)],
    ]);
    let permission = Permission { holder: "an invented trust".into(), ..Permission::new(beach.uid, "Strand", area) };
    let uid = permission.uid;
    h.state_mut().edit(Edit::put(permission), "a permission");
    settle(&mut h);
    h.get_by_label("Strand, for an invented trust").click_accesskit();
    settle(&mut h);
    (h, uid)
}

#[test]
fn terms_are_typed_and_an_unusual_precision_is_refused() {
    let (mut h, uid) = shared();
    h.get_by_label("Terms ...").click_accesskit();
    h.run_steps(3);
    retype(&mut h, "Places told", "250");
    retype(&mut h, "Last day", "2027-03-31");
    h.get_by_label("Keep").click_accesskit();
    h.run_steps(3);
    assert!(says(&h, "squares of 10"), "the form stays open and says what would do");
    retype(&mut h, "Places told", "1 km");
    h.get_by_label("Keep").click_accesskit();
    settle(&mut h);
    let kept = h.state().book().permissions()[&uid].clone();
    assert_eq!((kept.coarsen_m, kept.to), (Some(1000.0), Some("2027-03-31".parse().unwrap())));
}

/// A reason stands once, beside its field, and goes with the value that it was of.
#[test]
fn a_day_that_cannot_be_read_is_said_beside_its_field_until_it_is_another_one() {
    let (mut h, _) = shared();
    h.get_by_label("Terms ...").click_accesskit();
    h.run_steps(3);
    retype(&mut h, "First day", "spring");
    h.key_press(Key::Enter);
    h.run_steps(3);
    let why = h.get_by_label_contains("\"spring\" is not a day").rect();
    let next = h.get_by_label("Last day").rect();
    assert!(why.bottom() <= next.top() + 6.0, "{why:?} over {next:?}");
    retype(&mut h, "First day", "2026-04-01");
    assert!(!says(&h, "is not a day"));
    h.key_press(Key::Enter);
    settle(&mut h);
    retype(&mut h, "First day told", "spring");
    settle(&mut h);
    assert_eq!(h.query_all_by_label_contains("\"spring\" is not a day").count(), 1);
    retype(&mut h, "First day told", "2026-04-01");
    settle(&mut h);
    assert!(!says(&h, "is not a day") && h.state().errors_in_view().is_empty());
}

#[test]
fn what_would_leave_is_listed_of_the_book_as_it_is_and_what_was_written_is_kept() {
    let (mut h, uid) = shared();
    h.get_by_label("Show what would leave").click_accesskit();
    settle(&mut h);
    assert!(says(&h, "Places are told as squares of 100 m"));
    // Of another book than the one that is shown nothing is listed.
    let removal = h.state().book().removal(scourline::book::RecordKind::Find, find_uid(3));
    h.state_mut().edit(removal, "delete penny 3");
    settle(&mut h);
    assert!(!says(&h, "Places are told as squares of 100 m"));
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("handed");
    retype(&mut h, "Folder", folder.to_str().unwrap());
    h.get_by_label("Write").click_accesskit();
    settle(&mut h);
    assert!(folder.join("manifest.json").exists() && folder.join("finds.csv").exists());
    settle(&mut h);
    let receipts: Vec<_> = h.state().book().receipts().values().cloned().collect();
    assert_eq!((receipts.len(), receipts[0].permission), (1, uid));
    assert!(says(&h, "Last handed over on"));
}

/// The invented bay lies in no country: that nothing is known of its law is said, rather than nothing.
#[test]
fn where_no_list_of_duties_is_known_the_sheet_says_whom_to_ask() {
    let h = window(SheetChoice::Share);
    for line in scourline::duties::law_said(&scourline::duties::LiesIn::Unknown) {
        assert!(says(&h, &line), "{line}");
    }
}

/// Forty finds on one closed ground are one line that says how many, and unfolds to each.
#[test]
fn what_is_alike_is_one_line_that_unfolds() {
    let mut h = window(SheetChoice::Share);
    let beach = h.state().book().beaches().values().next().unwrap().clone();
    let (x, y) = (beach.origin.lon_deg(), beach.origin.lat_deg());
    let area = MultiPolygon(vec![
        polygon![(x: x - 0.1, y: y - 0.1), (x: x + 0.1, y: y - 0.1), (x: x + 0.1, y: y + 0.1), (x: x - 0.1, y: y + 0.1)],
    ]);
    let zone = Zone {
        uid: Uid::of_content("zone", [&b"terns"[..]]),
        beach: beach.uid,
        name: "Terns".into(),
        usage: ZoneUse::NoSearch,
        area,
        closure: None,
        notes: String::new(),
    };
    h.state_mut().edit(Edit::put(zone), "a zone");
    settle(&mut h);
    let lines = |h: &Window| h.query_all_by_label_contains("lies in \"Terns\"").count();
    assert_eq!(lines(&h), 1, "forty finds whose names alone differ");
    assert!(!says(&h, "ring-pull 35, 1 Jun 2026"));
    h.get_by_label("all 40 of them").click_accesskit();
    settle(&mut h);
    assert!(says(&h, "penny 7, 1 Jun 2026") && says(&h, "ring-pull 35, 1 Jun 2026"));
    assert_eq!(lines(&h), 1);
}
