//! What was worked out before an edit is not shown as if it still held: each case once went wrong, as the key of a
//! derived thing was typed by hand and forgot one of its inputs.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use jiff::Timestamp;
use scourline::app::{App, SheetChoice};
use scourline::book::{Beach, Edit, RecordKind};
use scourline::demo::Planting;
use scourline::output::MARK;
use scourline::query::{Ask, AtOnce, Inquiry, RouteAsk};
use scourline::route;
use scourline::store::{OpenBook, Replace};

use crate::bench::{AT, find_uid, instant, invented_book, settle, window, window_on};
use crate::fresh::quick;
use crate::next_low::{planned, planned_with, says};

type Window = Harness<'static, App>;

/// Types over what stands in a field.
fn retype(h: &mut Window, field: &str, text: &str) {
    h.get_by_label(field).focus();
    h.run_steps(2);
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    h.get_by_label(field).type_text(text);
    h.run_steps(2);
}

/// Presses Keep under Beach once another datum offset stands there; nothing is waited for.
fn keep_offset(h: &mut Window, text: &str) {
    h.get_by_label("Beach ...").click();
    h.run_steps(3);
    retype(h, "Datum offset, m", text);
    h.get_by_label("Keep").click();
}

fn offset_m(h: &Window) -> Option<f64> {
    h.state().book().beaches().values().next().unwrap().datum_offset_m
}

/// Everything on screen that gives a figure of when to turn back or of what a route brings.
fn said_of_routes(h: &Window) -> BTreeSet<String> {
    // A button says it as its name, plain text as its value.
    let words = |n: egui_kittest::Node<'_>| n.accesskit_node().label().or_else(|| n.accesskit_node().value());
    let said = |part: &'static str| h.query_all_by_label_contains(part).filter_map(words);
    ["urn back by", "finds expected"].into_iter().flat_map(said).filter(|s| s.contains(char::is_numeric)).collect()
}

/// The routes that the list, the sheet, Plan and Time show, by their lows.
fn routes(h: &Window) -> BTreeMap<String, String> {
    h.state().fresh_answers().into_iter().filter(|(name, _)| name.starts_with("the route for ")).collect()
}

/// A route's GeoJSON without what differs from one writing of it to the next: when it was planned, from which file, and what
/// is said of that.
fn without_the_moment(geojson: &str) -> serde_json::Value {
    let mut all: serde_json::Value = serde_json::from_str(geojson).unwrap();
    let way = all["features"][0]["properties"].as_object_mut().unwrap();
    for key in ["made_at", "book", "dated", "stands_on"] {
        way.remove(key);
    }
    all
}

/// Lets frames pass until all is done, `look` after each in which the window has the book as it is to be.
fn watch(h: &mut Window, edited: impl Fn(&Window) -> bool, mut look: impl FnMut(&Window)) {
    let mut still = 0;
    let began = std::time::Instant::now();
    while still < 3 {
        h.step();
        still = if h.state().is_idle() { still + 1 } else { 0 };
        if edited(h) {
            look(h);
        } else {
            still = 0;
        }
        assert!(began.elapsed().as_secs() < 60, "the window never came to rest");
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
}

/// Two lows of the invented bay, planned, and their sentences.
fn two_planned() -> (Window, BTreeSet<String>) {
    let mut h = planned();
    h.get_by_label_contains("Plan a route, Tue 2 Jun, 06:00").click_accesskit();
    settle(&mut h);
    assert_eq!(routes(&h).len(), 2);
    // The list begins at the instant shown, which went to the low that is planned.
    h.state_mut().show_instant(instant(AT));
    settle(&mut h);
    let said = said_of_routes(&h);
    assert!(said.iter().filter(|s| s.starts_with("planned: ")).count() == 2, "{said:?}");
    (h, said)
}

/// The list went on with "planned ... turn back by 06:59" for the low that was not planned anew.
#[test]
fn another_datum_offset_leaves_no_turn_back_time_of_before_it() {
    let (mut h, before) = two_planned();
    let (old, marks) = (routes(&h), h.state().route_start_position());
    assert!(marks.is_some());
    keep_offset(&mut h, "0.2");
    let mut waited = 0;
    watch(
        &mut h,
        |h| offset_m(h) == Some(0.2),
        |h| {
            let shown = said_of_routes(h);
            assert!(shown.iter().all(|s| !before.contains(s)), "{shown:?}");
            for (low, route) in routes(h) {
                assert_ne!(old.get(&low), Some(&route), "{low}");
            }
            if h.state().route_start_position().is_none() && !says(h, "No route") {
                waited += 1;
                assert!(says(h, "looking for the best way") || shown.is_empty(), "nothing says that it is being worked out");
            }
        },
    );
    assert!(waited > 0, "no frame was seen in which the route was not there yet");
    // Only the low that is chosen was planned anew; the other's plan is gone.
    assert_eq!(said_of_routes(&h).iter().filter(|s| s.starts_with("planned: ")).count(), routes(&h).len());
    assert!(routes(&h).len() <= 1);
}

/// With an offset at which the whole beach stands under water the sheet said "No route", the list and Plan showed
/// the one of before.
#[test]
fn where_no_route_is_left_none_is_shown_anywhere() {
    let (mut h, before) = two_planned();
    keep_offset(&mut h, "-4");
    watch(
        &mut h,
        |h| offset_m(h) == Some(-4.0),
        |h| {
            let shown = said_of_routes(h);
            assert!(shown.iter().all(|s| !before.contains(s)), "{shown:?}");
            assert!(routes(h).is_empty() && h.state().route_start_position().is_none());
            assert!(h.state().route_block_position(0).is_none());
        },
    );
    h.get_all_by_label("No route").next().unwrap();
    assert!(said_of_routes(&h).is_empty());
    assert!(h.query_by_label("Write the route").is_none());
}

/// A changed swing left the finds expected of before beside the new reading.
#[test]
fn finds_expected_follow_a_changed_swing_and_undo() {
    // Ground enough that what was found on it counts in what a route is worth.
    let book = Planting { outings: 12, ..Planting::plain(1) }.make().unwrap().book().unwrap();
    let inquiry = Inquiry::new(&book, *book.beaches().keys().next().unwrap(), instant(AT)).unwrap();
    let (after, params) = (instant(AT), quick());
    let ask = RouteAsk {
        low: None,
        after,
        hours: None,
        params,
        coil_m: None,
        run_up_m: None,
        sea: None,
        surge_m: None,
        trust_station: false,
        own_paces: true,
    };
    let low = inquiry.route(&mut AtOnce::default(), ask).unwrap().route.low.time;
    let mut h = window_on(OpenBook::holding(book), SheetChoice::NextLow);
    h.state_mut().plan_for(low, quick());
    settle(&mut h);
    let (before, old) = (said_of_routes(&h), routes(&h));
    assert!(before.iter().any(|s| s.contains("finds expected on")), "{before:?}");
    h.get_by_label("Read").click();
    settle(&mut h);
    h.get_by_label("choose ...").click();
    settle(&mut h);
    let swept = h.state().reading_swept_m2().unwrap();
    retype(&mut h, "swing", "0.6");
    h.key_press(Key::Enter);
    h.run_steps(2);
    h.get_by_label("Next low").click();
    let narrower = |h: &Window| h.state().book().beaches().values().any(|b| b.search.swing_m == Some(0.6));
    watch(&mut h, narrower, |h| {
        for (low, route) in routes(h) {
            assert_ne!(old.get(&low), Some(&route), "{low}");
        }
        let shown = said_of_routes(h);
        assert!(shown.is_empty() || h.state().route_start_position().is_some(), "{shown:?}");
    });
    assert!(h.state().reading_swept_m2().unwrap() < 0.7 * swept);
    assert!(routes(&h).len() == 1 && said_of_routes(&h).iter().any(|s| s.contains("finds expected on")));
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(h.state().reading_swept_m2(), Some(swept));
    assert_eq!((said_of_routes(&h), routes(&h)), (before, old));
}

/// An imported zone entered the reading only after some other setting was touched.
#[test]
fn an_imported_zone_is_read_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("east.geojson");
    let ring = "[[-20.001,44.9990],[-19.999,44.9990],[-19.999,44.9999],[-20.001,44.9999],[-20.001,44.9990]]";
    let zone = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"name":"East end","role":"zone"}},
        "geometry":{{"type":"Polygon","coordinates":[{ring}]}}}}]}}"#
    );
    std::fs::write(&file, zone).unwrap();
    let mut h = window(SheetChoice::Read);
    assert!(h.query_by_label("Zones").is_none());
    h.get_by_label("Import ...").click();
    h.run();
    h.get_by_label("or type a path").focus();
    h.run();
    h.get_by_label("or type a path").type_text(file.to_str().unwrap());
    h.run();
    h.get_by_label("Look").click();
    settle(&mut h);
    h.get_by_label_contains("Import 1 record").click();
    settle(&mut h);
    h.get_by_label("Zones").click();
    settle(&mut h);
    h.get_by_label_contains("East end: 3");
}

/// A reading called off on one beach left "it was called off" there for good.
#[test]
fn another_beach_and_back_leaves_nothing_called_off() {
    let mut book = Planting { outings: 12, ..Planting::plain(1) }.make().unwrap().book().unwrap();
    let first = book.beaches().values().next().unwrap().clone();
    book.apply(&Edit::put(Beach::new("Empty Cove", first.origin))).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Read);
    h.get_by_label("choose ...").click();
    settle(&mut h);
    let beach = |h: &mut Window, to: &str| {
        h.get_by_label("Beach shown").click();
        h.run_steps(3);
        h.get_by_label(to).click();
        settle(h);
    };
    // A reading of other settings than the one that stands; one of other outings would only be given up.
    let mut stopped = false;
    for swing in ["0.7", "0.8", "0.9", "1.0", "1.1", "1.3"] {
        retype(&mut h, "swing", swing);
        h.key_press(Key::Enter);
        for _ in 0..400 {
            h.step();
            if h.query_by_label("Stop").is_some() {
                h.get_by_label("Stop").click();
                break;
            }
        }
        settle(&mut h);
        stopped = says(&h, "called off");
        if stopped {
            break;
        }
    }
    assert!(stopped, "no reading was slow enough to be called off");
    beach(&mut h, "Empty Cove");
    assert!(!says(&h, "called off"));
    beach(&mut h, &first.name);
    assert!(!says(&h, "called off") && !says(&h, "gave nothing"));
    assert!(h.state().reading_of().is_some(), "it is read again");
}

fn type_folder(h: &mut Window, field: &str, folder: &Path) {
    h.get_by_label(field).focus();
    h.run();
    h.get_by_label(field).type_text(folder.to_str().unwrap());
    h.run();
}

/// What the window shows of the low at six in the evening.
fn evening(h: &Window) -> Option<String> {
    routes(h).remove(&format!("the route for {}", instant("2026-06-01T18:00:00Z")))
}

/// A written file as it was before the seal was filled in.
fn unsealed(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let (name, len) = (MARK.trim_end_matches('0'), MARK.len());
    match text.find(name) {
        Some(at) => format!("{}{MARK}{}", &text[..at], &text[at + len..]),
        None => text,
    }
}

/// A route that was on screen when it was asked to be written was written, whatever had been edited since.
#[test]
fn a_route_is_written_of_the_book_after_an_edit_that_was_on_its_way() {
    let mut h = planned();
    let first = evening(&h).unwrap();
    keep_offset(&mut h, "2.3");
    settle(&mut h);
    let second = evening(&h).unwrap();
    assert_ne!(first, second);
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("card");
    type_folder(&mut h, "Folder for the route", &folder);
    // Both in one frame: the edit is on its way when the route is to be written.
    keep_offset_soon(&mut h, 2.0);
    h.get_by_label("Write the route").click_accesskit();
    settle(&mut h);
    assert_eq!(offset_m(&h), Some(2.0));
    let written = unsealed(&std::fs::read(folder.join("route.geojson")).unwrap());
    assert_eq!(without_the_moment(&written), without_the_moment(&first));
    assert_eq!(evening(&h), Some(first));
}

/// As the route: files of finds that were deleted meanwhile were handed over.
#[test]
fn a_hand_over_is_of_the_book_after_an_edit_that_was_on_its_way() {
    let mut h = window(SheetChoice::Share);
    let find = h.state().book().finds()[&find_uid(3)].clone();
    let removal = h.state().book().removal(RecordKind::Find, find_uid(3));
    h.state_mut().edit(removal, "delete penny 3");
    settle(&mut h);
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("out");
    type_folder(&mut h, "Folder", &folder);
    h.state_mut().edit(Edit::put(find), "penny 3 again");
    h.get_by_label("Write").click_accesskit();
    h.run_steps(2);
    assert!(says(&h, "composing the files to be written") || says(&h, "wrote "), "nothing says that it is being composed");
    settle(&mut h);
    assert!(says(&h, "wrote ") && !says(&h, "composing"));
    let written = std::fs::read_to_string(folder.join("finds.geojson")).unwrap();
    assert!(written.contains("penny 3\""), "the find that came back is missing");
    let now: Timestamp = AT.parse().unwrap();
    let inquiry = Inquiry::new(&invented_book(), h.state().beach_shown().unwrap(), now).unwrap();
    let made = AtOnce::default().ask(inquiry.hand_over(None, now)).unwrap();
    for (name, bytes) in &made.files {
        assert_eq!(unsealed(&std::fs::read(folder.join(name)).unwrap()), String::from_utf8_lossy(bytes), "{name}");
    }
}

/// A route waiting to be written and another one chosen meanwhile called each other off for ever.
#[test]
fn a_route_waiting_to_be_written_and_another_chosen_both_come_to_an_end() {
    // Sought for long, so that it still waits when the other is chosen.
    let mut h = planned_with(route::Params::default());
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("card");
    type_folder(&mut h, "Folder for the route", &folder);
    keep_offset_soon(&mut h, 2.3);
    h.get_by_label("Write the route").click_accesskit();
    h.run_steps(2);
    // The list is being made anew, so that it cannot be pressed there.
    h.state_mut().plan_for(instant("2026-06-02T06:00:00Z"), route::Params::default());
    settle(&mut h);
    assert!(folder.join("card.html").exists());
    assert!(says(&h, "Route for the low of Tue 2 Jun, 06:00"), "the other low was not turned to");
    let tuesday = format!("the route for {}", instant("2026-06-02T06:00:00Z"));
    assert!(routes(&h).contains_key(&tuesday), "{:?}", h.state().fresh_answers().keys());
    h.get_by_label_contains("Plan a route, Mon 1 Jun, 18:00").click_accesskit();
    settle(&mut h);
    let written = unsealed(&std::fs::read(folder.join("route.geojson")).unwrap());
    assert_eq!(without_the_moment(&written), without_the_moment(&evening(&h).unwrap()));
}

/// Asks for another datum offset, to be made after the coming frame.
fn keep_offset_soon(h: &mut Window, offset_m: f64) {
    let beach = h.state().book().beaches().values().next().unwrap().clone();
    h.state_mut().edit(Edit::put(Beach { datum_offset_m: Some(offset_m), ..beach }), "change beach");
}

/// What was to be handed over of one beach was written of the other that was turned to meanwhile.
#[test]
fn what_waits_to_be_written_is_dropped_with_its_beach_and_that_is_said() {
    let mut book = invented_book();
    let other = Beach::new("Empty Cove", book.beaches().values().next().unwrap().origin);
    book.apply(&Edit::put(other.clone())).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Share);
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("out");
    type_folder(&mut h, "Folder", &folder);
    h.get_by_label("Write").click_accesskit();
    h.step();
    h.state_mut().show_beach(other.uid);
    settle(&mut h);
    assert!(says(&h, "nothing was written, as another beach is shown now"));
    assert!(!folder.exists());
}

/// The finds counted beside an outing in the Log stayed those of before an edit.
#[test]
fn finds_counted_beside_an_outing_follow_an_edit() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("outings").click();
    settle(&mut h);
    let counted = |h: &Window| h.state().fresh_answers().remove("the finds of each outing");
    let before = counted(&h).unwrap();
    assert!(before.ends_with(": 40}"), "{before}");
    let removal = h.state().book().removal(RecordKind::Find, find_uid(3));
    h.state_mut().edit(removal, "delete penny 3");
    watch(
        &mut h,
        |h| h.state().book().finds().len() == 39,
        |h| {
            assert!(counted(h).is_none_or(|now| now.ends_with(": 39}")));
        },
    );
    assert!(counted(&h).unwrap().ends_with(": 39}"));
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(counted(&h), Some(before));
}

/// Another program changed the file while the window stood there with a route of before: nothing was noticed until
/// the next edit, and the old time to turn back could still be written.
#[test]
fn what_another_program_changed_is_read_anew_and_what_rests_on_it_is_gone() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    OpenBook::holding(invented_book()).save_as(&path, Replace::Nothing).unwrap();
    let mut h = window_on(OpenBook::open(&path).unwrap(), SheetChoice::Log);
    let before = offset_m(&h);
    let mut elsewhere = OpenBook::open(&path).unwrap();
    let beach = elsewhere.book().beaches().values().next().unwrap().clone();
    let changed = before.map_or(1.25, |m| m + 0.75);
    elsewhere.apply(&Edit::put(Beach { datum_offset_m: Some(changed), ..beach })).unwrap();
    let began = std::time::Instant::now();
    while offset_m(&h) != Some(changed) {
        h.step();
        std::thread::sleep(std::time::Duration::from_millis(50));
        assert!(began.elapsed().as_secs() < 60, "the window never noticed");
    }
    settle(&mut h);
    h.get_by_label_contains("was changed by another program and was read anew");
    // Editing goes on.
    keep_offset(&mut h, "2.5");
    settle(&mut h);
    assert_eq!(offset_m(&h), Some(2.5));
}
