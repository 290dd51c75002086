use egui_kittest::kittest::{NodeT, Queryable};
use scourline::app::{SheetChoice, Start};
use scourline::book::{Beach, Edit, SeaRecord, SeaState, TideChoice};
use scourline::store::OpenBook;
use scourline::tide::CAUTION;

use crate::bench::{AT, instant, invented_book, settle, window, window_from, window_on, window_sized};

/// Unfolds what the list is made with.
fn settings(h: &mut egui_kittest::Harness<'static, scourline::app::App>) {
    h.get_by_label_contains("Listed: ").click_accesskit();
    settle(h);
}

/// The next low stands over what is to be minded, that over the month, and what can be set is folded.
#[test]
fn the_answer_stands_first_and_what_warns_is_in_view_under_it() {
    for size in [[900.0, 560.0], [1320.0, 680.0]] {
        let h = window_sized(OpenBook::holding(invented_book()), SheetChoice::NextLow, size);
        let top = |what: &str| h.get_by_label_contains(what).rect().top();
        let (low, minded, month) = (top("Next low water Mon 1 Jun, 06:00"), top("Times are predictions"), top("A month of lows"));
        assert!(low < minded && minded < month, "{size:?}: {low}, {minded}, {month}");
        assert!(
            h.get_by_label_contains("Times are predictions").rect().bottom() < size[1] - 20.0,
            "{size:?}: what warns is in view"
        );
        assert!(h.query_by_label("Your free hours").is_none() && h.query_by_label("I know the sea").is_none());
        h.get_by_label_contains("Listed: coming fortnight, soonest");
    }
}

/// Without the metres between the two zeros nothing can be planned: one press leads to where they are typed.
#[test]
fn what_planning_lacks_is_said_and_one_press_leads_there() {
    for sheet in [SheetChoice::NextLow, SheetChoice::Read] {
        let mut book = invented_book();
        let beach = book.beaches().values().next().unwrap().clone();
        book.apply(&Edit::put(Beach { datum_offset_m: None, ..beach.clone() })).unwrap();
        let mut h = window_on(OpenBook::holding(book), sheet);
        h.get_by_label("The datum offset is missing");
        h.get_by_label("Set the datum offset ...").click_accesskit();
        settle(&mut h);
        // The keyboard is there already.
        h.event(egui::Event::Text("2".to_owned()));
        settle(&mut h);
        h.get_by_label("Keep").click();
        settle(&mut h);
        assert_eq!(h.state().book().beaches()[&beach.uid].datum_offset_m, Some(2.0), "{sheet:?}");
        assert!(h.query_by_label("The datum offset is missing").is_none());
    }
}

#[test]
fn the_coming_lows_are_listed_and_one_can_be_shown() {
    let mut h = window(SheetChoice::NextLow);
    // The invented table: lows of 1.0 m at 06:00 and 18:00 UTC.
    assert!(h.query_by_label("Next low water Mon 1 Jun, 06:00").is_some(), "the answer stands first");
    assert!(h.query_by_label("Low water Mon 1 Jun, 06:00").is_none(), "and once");
    h.get_by_label("Low water Mon 1 Jun, 18:00").click_accesskit();
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T18:00:00Z"));
    settings(&mut h);
    h.get_by_label("coming day").click();
    settle(&mut h);
    assert!(h.query_by_label("Next low water Mon 1 Jun, 18:00").is_some(), "from the moment that is shown on");
    assert!(h.query_by_label_contains("Low water Wed 3 Jun").is_none(), "beyond the day");
    assert!(h.get_all_by_label_contains(CAUTION).count() > 0);
}

#[test]
fn a_low_says_which_band_it_does_not_lay_bare_and_by_how_much() {
    let h = window(SheetChoice::NextLow);
    // The table's lows are all alike: the margin alone, 0.4 m of weather and 0.84 m of a cautious sea, keeps their mean from
    // falling dry.
    assert!(h.query_all_by_label_contains("is laid bare: the water stays 1.24 m too high").next().is_some());
}

#[test]
fn a_long_list_is_cut_to_the_lowest_by_daylight() {
    let mut h = window(SheetChoice::NextLow);
    settings(&mut h);
    h.get_by_label("ten of 180 days").click();
    settle(&mut h);
    let cards = h.get_all_by_label_contains("Low water ").filter(|n| n.accesskit_node().role() == egui::accesskit::Role::Button);
    let count = cards.count();
    assert!((1..=10).contains(&count), "{count}");
    // At 45 N in June both lows, at 06:00 and 18:00 UTC, lie in daylight at 20 W.
    h.get_by_label("in daylight only").click();
    settle(&mut h);
    assert!(h.query_by_label_contains("Low water Mon 1 Jun 2026, 06:00").is_some());
}

#[test]
fn free_hours_are_taken_in_the_words_of_the_hint_and_refused_otherwise() {
    let mut h = window(SheetChoice::NextLow);
    settings(&mut h);
    h.get_by_label("Your free hours").focus();
    h.run();
    h.get_by_label("Your free hours").type_text("mon 5-7");
    settle(&mut h);
    h.get_all_by_label_contains("in your free hours").next().expect("said on the cards");
    assert!(h.get_all_by_label_contains("; 0 min usable").count() > 0, "Tuesday is not free");
    h.get_by_label("Your free hours").type_text(" sometimes");
    settle(&mut h);
    h.get_by_label_contains("names no free hours");
}

#[test]
fn free_hours_and_run_up_are_kept_with_the_beach_and_can_be_undone() {
    let mut h = window(SheetChoice::NextLow);
    settings(&mut h);
    h.get_by_label("Your free hours").focus();
    h.run();
    h.get_by_label("Your free hours").type_text("mon 5-7");
    settle(&mut h);
    h.get_by_label("< low").focus();
    settle(&mut h);
    let beach =
        |h: &egui_kittest::Harness<'static, scourline::app::App>| h.state().book().beaches().values().next().unwrap().clone();
    assert_eq!(beach(&h).free.to_string(), "mon 05:00-07:00");
    // Nothing is known of the sea off the invented bay, so that a cautious one is named.
    h.get_by_label_contains("nothing is known of the sea");
    h.get_by_label("I know the sea").click_accesskit();
    settle(&mut h);
    for (field, value) in [("waves, m", "0.2"), ("period, s", "3")] {
        h.get_by_label(field).focus();
        h.run();
        h.get_by_label(field).type_text(value);
        h.key_press(egui::Key::Enter);
        settle(&mut h);
    }
    h.get_by_label_contains("keep 0.70 m above the predicted water");
    h.get_by_label("waves run up, m").focus();
    h.run();
    h.get_by_label("waves run up, m").type_text("1.1");
    h.key_press(egui::Key::Enter);
    settle(&mut h);
    assert_eq!(beach(&h).weather.run_up_m, Some(1.1));
    h.get_by_label_contains("keep 1.50 m above the predicted water");
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(beach(&h).weather.run_up_m, None);
    assert_eq!(beach(&h).free.to_string(), "mon 05:00-07:00");
}

#[test]
fn the_picked_place_says_when_it_is_dry_and_with_what_margin() {
    let mut h = window(SheetChoice::Log);
    let find = h.state().book().finds().values().next().unwrap().clone();
    let at = h.state().mark_position(scourline::app::Item::Find(find.uid)).expect("a mark in Plan");
    crate::bench::click_at(&mut h, at);
    h.get_by_label("Next low").click();
    settle(&mut h);
    h.get_by_label_contains("When it is dry: ");
    h.get_by_label_contains("for twice the error of the sand's level");
}

#[test]
fn a_month_of_lows_is_stepped_through_by_day() {
    let mut h = window(SheetChoice::NextLow);
    h.get_by_label_contains("Lows of Mon 1 Jun").focus();
    h.run();
    h.key_press(egui::Key::ArrowRight);
    settle(&mut h);
    let at = h.state().clock().at;
    assert!(at == instant("2026-06-02T06:00:00Z") || at == instant("2026-06-02T18:00:00Z"), "{at}");
    h.key_press(egui::Key::ArrowLeft);
    settle(&mut h);
    assert_eq!(h.state().clock().at.strftime("%d").to_string(), "01");
    assert_ne!(h.state().clock().at, instant(AT));
}

#[test]
fn the_source_in_use_is_said_beside_the_curve() {
    let h = window(SheetChoice::Log);
    assert!(h.get_all_by_label_contains("own tide table: invented table").count() > 0);
    assert!(h.get_all_by_label_contains("Not for navigation").count() > 0);
}

#[test]
fn a_station_is_searched_for_shown_on_the_world_and_taken() {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().clone();
    book.apply(&Edit::put(Beach { tide: TideChoice::None, ..beach.clone() })).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::NextLow);
    h.get_by_label_contains("There is no tide source");
    h.get_by_label("Beach ...").click();
    h.run();
    h.get_by_label("Stations near the beach, or by name:").focus();
    h.run();
    h.get_by_label("Stations near the beach, or by name:").type_text("newlyn");
    h.run();
    let offered = h.get_all_by_label_contains("Newlyn").find(|n| n.accesskit_node().role() == egui::accesskit::Role::RadioButton);
    offered.expect("Newlyn is a shipped station").click();
    h.run();
    h.get_by_label_contains("World outline: Newlyn");
    assert!(h.get_all_by_label_contains("km from Invented Bay").count() > 0);
    h.get_by_label("Surge, m").focus();
    h.run();
    h.get_by_label("Surge, m").type_text("0,5");
    h.run();
    h.get_by_label("Keep").click();
    settle(&mut h);
    let kept = h.state().book().beaches()[&beach.uid].clone();
    assert!(matches!(&kept.tide, TideChoice::Station(id) if id.contains("newlyn")), "{:?}", kept.tide);
    assert_eq!(kept.weather.surge_m, Some(0.5));
    assert!(h.get_all_by_label_contains("tide station: Newlyn").count() > 0);
    // The surge of 0.5 m, twice the unknown 0.2 m and the run-up of a cautious sea, 1.31 m, narrow every window, and so does
    // the distance: Newlyn lies hundreds of kilometres away.
    let newlyn = scourline::tide::Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
    let far_m = scourline::trust::of_station(&kept, newlyn).error.far_m;
    assert!(far_m > 1.0, "{far_m}");
    let setting = scourline::shore::Setting::from_book(h.state().book(), beach.uid).unwrap();
    assert!((setting.water_margin_m() - (0.9 + 1.31 + far_m)).abs() < 0.01, "{}", setting.water_margin_m());
    h.get_by_label_contains(&format!("keep {:.2} m above the predicted water", setting.water_margin_m()));
    // It is told above all planning, with a button that says that it serves.
    h.get_by_label_contains("To be settled before any route");
    assert!(h.get_all_by_label_contains("which says little about this beach").count() > 0);
    h.get_by_label("I checked this: it is so").click();
    settle(&mut h);
    // Beside the time zone, which was kept with the form.
    let confirmed = &h.state().book().beaches()[&beach.uid].confirmed;
    assert_eq!(confirmed.iter().filter(|c| c.key.starts_with("station-")).count(), 1, "{confirmed:?}");
    assert!(h.query_by_label("I checked this: it is so").is_none());
    h.get_by_label_contains("Checked by you on");
}

#[test]
fn a_picked_band_tells_from_when_to_when_it_is_dry() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    let rows = h.get_all_by_label_contains("MHWN to MSL: ").collect::<Vec<_>>();
    let row = rows.iter().find(|n| n.accesskit_node().role() == egui::accesskit::Role::Button).unwrap();
    row.click_accesskit();
    settle(&mut h);
    h.get_by_label("Next low").click();
    settle(&mut h);
    h.get_by_label("When it is dry: MHWN to MSL");
    h.get_by_label_contains("Its upper edge, ");
    h.get_by_label_contains("All of it, down to its lower edge, ");
    h.get_by_label_contains("The way there can close sooner");
}

#[test]
fn cautions_are_one_line_that_unfolds_and_the_first_low_is_seen_at_once() {
    let mut h = window_from(Start::Demo, SheetChoice::NextLow);
    let role = egui::accesskit::Role::Button;
    let first = |h: &egui_kittest::Harness<'static, scourline::app::App>| {
        let cards = h.get_all_by_label_contains("Low water ").filter(|n| n.accesskit_node().role() == role);
        cards.map(|n| n.rect()).min_by(|a, b| a.top().total_cmp(&b.top())).unwrap()
    };
    // What warns of the tide stays; what nobody witnessed and the borrowed tide are folded.
    assert!(h.get_all_by_label_contains(CAUTION).count() > 0);
    h.get_by_label_contains("Turn back well before the water does");
    assert!(h.query_all_by_label_contains("followed the water's edge").next().is_none());
    let next = |h: &egui_kittest::Harness<'static, scourline::app::App>| h.get_by_label_contains("Next low water ").rect();
    let (folded, answer) = (first(&h), next(&h));
    assert!(answer.top() < 200.0 && answer.bottom() < 400.0, "{answer}");
    h.get_by_label_contains("3 cautions").click();
    settle(&mut h);
    assert!(h.query_all_by_label_contains("followed the water's edge").next().is_some());
    assert!(h.query_all_by_label_contains("borrows the tide").next().is_some());
    assert!(h.query_all_by_label_contains("were never surveyed").next().is_some(), "and what nobody surveyed");
    assert!(first(&h).top() > folded.top() + 40.0);
    assert_eq!(next(&h), answer, "what is unfolded pushes no answer away");
}

#[test]
fn a_record_of_the_sea_is_removed_and_comes_back() {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().uid;
    let state = |time: &str| SeaState { time: instant(time), hs_m: 0.4, tp_s: Some(5.0), dir_deg: None, surge_m: None };
    let states = vec![state("2026-05-31T00:00:00Z"), state("2026-05-31T03:00:00Z")];
    let record = SeaRecord { uid: SeaRecord::uid_of(beach, "buoy"), beach, name: "buoy".into(), states };
    book.apply(&Edit::put(record)).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::NextLow);
    settings(&mut h);
    h.get_by_label_contains("Sea record \"buoy\": 31 May 2026 to 31 May 2026");
    h.get_by_label("Remove buoy").click_accesskit();
    settle(&mut h);
    assert!(h.state().book().seas().is_empty() && h.query_by_label("Remove buoy").is_none());
    h.get_by_label("Undo").click();
    settle(&mut h);
    assert_eq!(h.state().book().seas().len(), 1);
}

#[test]
fn the_sea_that_is_known_counts_for_the_picked_place_too() {
    let mut h = window(SheetChoice::Log);
    let find = h.state().book().finds().values().next().unwrap().clone();
    let at = h.state().mark_position(scourline::app::Item::Find(find.uid)).expect("a mark in Plan");
    crate::bench::click_at(&mut h, at);
    h.get_by_label("Next low").click();
    settle(&mut h);
    let run_up = |h: &egui_kittest::Harness<'static, scourline::app::App>| {
        let said = h.get_by_label_contains("for twice the error of the sand's level");
        let said = said.accesskit_node().label().or_else(|| said.accesskit_node().value()).unwrap();
        let (head, _) = said.split_once(" m for waves running up").unwrap();
        head.rsplit(' ').next().unwrap().parse::<f64>().unwrap()
    };
    let usual = run_up(&h);
    settings(&mut h);
    h.get_by_label("I know the sea").click_accesskit();
    settle(&mut h);
    for (field, value) in [("waves, m", "0.2"), ("period, s", "3")] {
        h.get_by_label(field).focus();
        h.run();
        h.get_by_label(field).type_text(value);
        h.key_press(egui::Key::Enter);
        settle(&mut h);
    }
    assert!(usual > 0.5 && run_up(&h) == 0.3, "{usual} {}", run_up(&h));
    // A sea so calm is told as such, beside the lows and beside the place.
    assert!(h.query_all_by_label_contains("You expect a calm sea").count() >= 2);
}
