//! A bench run in the window: kinds found by typing, depth after depth by keys alone, a list for the next set-up.

use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, SheetChoice};
use scourline::book::{BenchReading, Book, Edit, Ground, Setup};
use scourline::store::OpenBook;

use crate::bench::{invented_book, settle, window_on};
use crate::known_targets::{press, tab_to, type_into, write};

fn with(keys: &mut usize, h: &mut Harness<'static, App>, key: Key) {
    *keys += 1;
    h.key_press_modifiers(Modifiers::COMMAND, key);
    h.run_steps(8);
    settle(h);
}

fn typed(keys: &mut usize, h: &mut Harness<'static, App>, text: &str) {
    *keys += text.len();
    write(h, text);
}

fn enter(keys: &mut usize, h: &mut Harness<'static, App>, key: Key) {
    *keys += 1;
    press(h, key);
}

fn on_the_bench(mut book: Book, setups: &[&str]) -> Harness<'static, App> {
    let edits = setups.iter().map(|name| Edit::put(Setup::new(*name))).collect();
    book.apply(&Edit::Batch(edits)).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Log);
    h.get_by_label("bench").click();
    settle(&mut h);
    h
}

fn read_with(h: &Harness<'static, App>, setup: &str) -> Vec<BenchReading> {
    let book = h.state().book();
    let uid = book.setups().values().find(|s| s.name == setup).unwrap().uid;
    book.bench().values().filter(|r| r.setup == uid).cloned().collect()
}

/// Two targets at three depths without the mouse, and the same list with the next set-up. Beside the numbers and the
/// target's name a reading takes no more than three keys, so that 25 targets at 4 depths are some 1000 keys in all:
/// two a second leave a minute to spare of ten.
#[test]
fn a_run_goes_depth_by_depth_and_its_list_serves_the_next_set_up() {
    let mut h = on_the_bench(invented_book(), &["A first", "B second"]);
    let mut keys = 0;
    tab_to(&mut h, "Target");
    for (target, name) in ["worn coin", "boat nail"].into_iter().enumerate() {
        typed(&mut keys, &mut h, name);
        enter(&mut keys, &mut h, Key::Tab);
        for (n, depth) in ["5", "15", "25"].into_iter().enumerate() {
            if target == 0 {
                if n > 0 {
                    with(&mut keys, &mut h, Key::D);
                }
                typed(&mut keys, &mut h, depth);
                enter(&mut keys, &mut h, Key::Enter);
            } else if n == 0 {
                // The depths of the run are known by now.
                enter(&mut keys, &mut h, Key::Enter);
            } else {
                with(&mut keys, &mut h, Key::D);
            }
            if n == 2 && target == 1 {
                with(&mut keys, &mut h, Key::N);
            } else {
                typed(&mut keys, &mut h, "43 44");
                enter(&mut keys, &mut h, Key::Enter);
            }
        }
        with(&mut keys, &mut h, Key::T);
    }
    let mut all = read_with(&h, "A first");
    all.sort_by(|a, b| a.target.cmp(&b.target).then(a.depth_m.total_cmp(&b.depth_m)));
    let told: Vec<_> = all.iter().map(|r| (r.target.as_str(), (100.0 * r.depth_m).round() as i32, r.target_ids.len())).collect();
    assert_eq!(
        told,
        [
            ("boat nail", 5, 2),
            ("boat nail", 15, 2),
            ("boat nail", 25, 0),
            ("worn coin", 5, 2),
            ("worn coin", 15, 2),
            ("worn coin", 25, 2)
        ]
    );
    assert_eq!(all[0].kind.as_ref().unwrap().key(), "nail", "the kind is told by the name");
    assert_eq!(all[3].kind.as_ref().unwrap().key(), "coin");
    let words = "worn coin".len() + "boat nail".len() + 5 * "43 44".len() + 5;
    assert!(keys - words <= 3 * all.len(), "{keys} keys of which {words} write what was read");

    h.get_by_label("Set-up").click_accesskit();
    settle(&mut h);
    h.get_by_label("B second").click_accesskit();
    settle(&mut h);
    h.get_by_label_contains("6 read with other set-ups are left to read with this one");
    for left in [5, 4] {
        with(&mut keys, &mut h, Key::L);
        typed(&mut keys, &mut h, "60 61");
        enter(&mut keys, &mut h, Key::Enter);
        h.get_by_label_contains(&format!("{left} read with other set-ups are left"));
    }
    let second = read_with(&h, "B second");
    assert!(second.len() == 2 && second.iter().all(|r| r.target == "boat nail" && r.target_ids == [60, 61]), "{second:?}");
}

#[test]
fn a_kind_is_found_by_typing() {
    let mut h = on_the_bench(invented_book(), &["A first"]);
    type_into(&mut h, "Find a kind", "gold r");
    press(&mut h, Key::Enter);
    write(&mut h, "this one");
    tab_to(&mut h, "Depth to it");
    write(&mut h, "10");
    press(&mut h, Key::Enter);
    write(&mut h, "12");
    press(&mut h, Key::Enter);
    let read = read_with(&h, "A first");
    assert_eq!((read.len(), read[0].kind.as_ref().unwrap().key(), read[0].target.as_str()), (1, "gold_ring", "this one"));
    type_into(&mut h, "Find a kind", "zzz");
    h.get_by_label_contains("no kind is called so");
}

/// A book without a beach has a bench.
#[test]
fn a_bench_needs_no_beach() {
    let mut h = on_the_bench(Book::new(), &["A first"]);
    for (depth, step) in [("5", "1"), ("15", "3")] {
        type_into(&mut h, "Target", "worn coin");
        type_into(&mut h, "Depth to it", depth);
        type_into(&mut h, "Gauge step", step);
        type_into(&mut h, "Target IDs", "43 44");
        press(&mut h, Key::Enter);
    }
    assert_eq!(read_with(&h, "A first").len(), 2);
    h.get_by_label("ask of a signal").click();
    settle(&mut h);
    type_into(&mut h, "Heard", "43");
    settle(&mut h);
    h.get_by_label_contains("Not enough known targets: 1 target of 1 kind with 4 numbers");
    h.get_by_label("what it learned").click();
    settle(&mut h);
    h.get_by_label("Depth by gauge step, cm");
}

fn choose_ground(h: &mut Harness<'static, App>, ground: &str) {
    h.get_by_label("Ground").click_accesskit();
    settle(h);
    h.get_by_label(ground).click_accesskit();
    settle(h);
}

/// The ground is chosen once and goes with each reading; where a signal is asked about, it says what was made of it.
#[test]
fn a_reading_keeps_its_ground_and_a_signal_is_asked_about_on_one() {
    let mut h = on_the_bench(Book::new(), &["A first"]);
    choose_ground(&mut h, "wet salt sand");
    for depth in ["5", "15"] {
        type_into(&mut h, "Target", "worn coin");
        type_into(&mut h, "Depth to it", depth);
        type_into(&mut h, "Target IDs", "43 44");
        press(&mut h, Key::Enter);
    }
    let read = read_with(&h, "A first");
    assert!(read.len() == 2 && read.iter().all(|r| r.ground == Some(Ground::WetSalt)), "{read:?}");
    choose_ground(&mut h, "dry sand");
    type_into(&mut h, "Target IDs", "41 42");
    press(&mut h, Key::Enter);
    h.get_by_label("ask of a signal").click();
    settle(&mut h);
    type_into(&mut h, "Heard", "43");
    settle(&mut h);
    h.get_by_label_contains("Heard on several grounds, 1 on dry sand, 2 on wet salt sand");
    assert!(h.query_by_label_contains("Taken on").is_none(), "no ground was given");
    choose_ground(&mut h, "wet salt sand");
    h.get_by_label_contains("Taken on wet salt sand: 2 of 3 readings heard were on it. The one on dry sand is not moved");
    choose_ground(&mut h, "dry sand");
    h.get_by_label_contains("Taken on dry sand: 1 of 3 readings heard were on it. The 2 on wet salt sand are not moved");
}

/// A list obeys the keyboard: Enter opens it, chooses and closes it, Escape closes the list alone, Tab away closes it.
#[test]
fn a_list_is_chosen_from_and_closed_by_the_keyboard() {
    let mut h = on_the_bench(Book::new(), &["A first"]);
    let is_open = |h: &Harness<'static, App>| h.query_by_label("wet salt sand").is_some();
    h.get_by_label("Ground").focus();
    h.run();
    press(&mut h, Key::Enter);
    assert!(is_open(&h));
    press(&mut h, Key::Escape);
    assert!(!is_open(&h) && h.query_by_label("Ground").is_some(), "the list alone");
    // The keyboard is at its field again.
    press(&mut h, Key::Enter);
    assert!(is_open(&h));
    h.get_by_label("dry sand").focus();
    h.run();
    press(&mut h, Key::Enter);
    assert!(!is_open(&h), "chosen");
    h.get_by_label("Ground").focus();
    h.run();
    press(&mut h, Key::Enter);
    // Past the last of the list.
    for _ in 0..20 {
        press(&mut h, Key::Tab);
        if !is_open(&h) {
            return;
        }
    }
    panic!("Tab never left the list");
}

/// A reason stands at its field and goes with the value, and the keyboard is still there.
#[test]
fn what_the_bench_refuses_is_said_at_its_field() {
    let mut h = on_the_bench(Book::new(), &["A first"]);
    type_into(&mut h, "Target", "worn coin");
    type_into(&mut h, "Depth to it", "15");
    type_into(&mut h, "Target IDs", "43 abc");
    press(&mut h, Key::Enter);
    let (why, ids) = (h.get_by_label_contains("is no target ID").rect(), h.get_by_label("Target IDs").rect());
    assert!(why.top() >= ids.bottom() - 4.0 && why.top() < ids.bottom() + 24.0, "{why:?} under {ids:?}");
    // Typed over, without another press: the keyboard is in the field.
    h.key_press_modifiers(Modifiers::COMMAND, Key::A);
    write(&mut h, "43 44");
    assert!(h.query_by_label_contains("is no target ID").is_none(), "the value is another one");
    press(&mut h, Key::Enter);
    assert_eq!(read_with(&h, "A first").len(), 1);
}
