//! Every size and zoom that the window is made for: Plan stays usable, and no words on it cover each other.

use egui::{Rect, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, Options, SheetChoice, Start};
use scourline::route::Params;
use scourline::store::OpenBook;

use crate::bench::{instant, invented_book, settle, window_from, window_sized, window_with};
use crate::next_low::planned_with;

/// Screens, pixels where a screen has one for each point.
const SCREENS: [[f32; 2]; 6] =
    [[900.0, 560.0], [1320.0, 680.0], [1366.0, 768.0], [1440.0, 900.0], [1920.0, 1080.0], [2560.0, 1440.0]];
const ZOOMS: [f32; 6] = [0.75, 1.0, 1.25, 1.5, 2.0, 2.5];
/// The least room, points: the magnification is held there.
const LEAST: [f32; 2] = [560.0, 360.0];

/// The rooms that these come to.
fn rooms() -> impl Iterator<Item = [f32; 2]> {
    let all = SCREENS.into_iter().flat_map(|size| ZOOMS.map(|zoom| size.map(|s| s / zoom)));
    all.filter(|room| room[0] >= LEAST[0] && room[1] >= LEAST[1]).chain([LEAST])
}

/// Plan is there whatever the window, without a press.
fn plan(h: &Harness<'static, App>) -> Rect {
    h.get_by_label("Plan of Invented Bay").rect()
}

#[test]
fn plan_has_room_whatever_the_window() {
    for room in rooms() {
        let h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Read, room);
        let plan = plan(&h);
        assert!(plan.width() >= 300.0 && plan.height() >= 90.0, "in {room:?} Plan has {:?}", plan.size());
        let time = h.get_by_label_contains("Time: ").rect();
        assert!(time.height() >= 50.0 && time.bottom() <= room[1], "in {room:?} Time lies at {time:?}");
    }
}

/// Parts that were made large before do not keep that size where it would push Plan out.
#[test]
fn plan_has_room_when_everything_is_magnified_while_it_runs() {
    for (before, after) in [([1366.0, 768.0], [683.0, 384.0]), ([2560.0, 1440.0], [1024.0, 576.0]), ([1440.0, 900.0], LEAST)] {
        let mut h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, before);
        h.set_size(Vec2::from(after));
        settle(&mut h);
        let plan = plan(&h);
        assert!(plan.width() >= 300.0 && plan.height() >= 90.0, "from {before:?} to {after:?}: {:?}", plan.size());
    }
}

/// So narrow that sheet and drawings take turns: the drawings come first, and the sheet is back where there is room.
#[test]
fn the_sheet_makes_way_where_there_is_no_room_for_both() {
    let mut h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, [1320.0, 680.0]);
    for _ in 0..2 {
        assert!(h.query_by_label("Sheet Log").is_some());
        h.set_size(Vec2::new(600.0, 373.0));
        settle(&mut h);
        plan(&h);
        assert!(h.query_by_label("Sheet Log").is_none());
        h.get_by_label("Show sheet").click_accesskit();
        settle(&mut h);
        assert!(h.query_by_label("Sheet Log").is_some() && h.query_by_label("Plan of Invented Bay").is_none());
        h.get_by_label("Show drawings").click_accesskit();
        settle(&mut h);
        plan(&h);
        h.set_size(Vec2::new(1320.0, 680.0));
        settle(&mut h);
    }
    // Who is typing goes on typing.
    h.get_by_label("Add find").click_accesskit();
    settle(&mut h);
    h.set_size(Vec2::new(600.0, 373.0));
    settle(&mut h);
    assert!(h.query_by_label("Sheet Log").is_some() && h.query_by_label("Show drawings").is_some());
}

/// Whoever asked for a sheet as the window opened sees it, also where it takes turns with the drawings.
#[test]
fn a_sheet_that_was_asked_for_comes_before_the_drawings() {
    for asked in [false, true] {
        let start = Start::Given(Box::new(OpenBook::holding(invented_book())));
        let options = Options { start, dark: Some(false), remember: false, ..Options::default() };
        let options = if asked { options.with_sheet("read").unwrap() } else { options };
        let mut h = window_with(options);
        h.set_size(Vec2::new(600.0, 373.0));
        settle(&mut h);
        assert_eq!(h.query_by_label_contains("Sheet ").is_some(), asked);
    }
}

/// What is pressed over Plan and Time is whole, and the list of keys and the first steps too.
#[test]
fn what_is_pressed_is_whole_in_the_smallest_windows() {
    for room in [LEAST, [600.0, 373.0], [640.0, 360.0], [683.0, 384.0]] {
        let screen = Rect::from_min_size(egui::Pos2::ZERO, room.into());
        let mut h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, room);
        let time = h.get_by_label_contains("Time: ").rect();
        let plan = plan(&h);
        // A list where there is no room for words.
        if let Some(span) = h.query_by_label("span of time").map(|n| n.rect()) {
            assert!(
                span.right() <= time.right() + 1.0 && span.bottom() <= time.top() + 1.0,
                "in {room:?} {span:?} over {time:?}"
            );
        }
        let shown = h.get_by_label("shown").rect();
        assert!(shown.right() <= plan.right() + 1.0 && shown.bottom() <= plan.top() + 1.0, "in {room:?} {shown:?} over {plan:?}");
        h.key_press(egui::Key::F1);
        settle(&mut h);
        for name in ["Keys, all of them", "Tab, Shift+Tab", "Close"] {
            let rect = h.get_by_label(name).rect();
            assert!(screen.contains_rect(rect), "in {room:?} {name} at {rect:?}");
        }
        let h = window_sized(OpenBook::in_memory(), SheetChoice::NextLow, room);
        for name in ["Import files ...", "Make a beach at a place ...", "Choose the tide ...", "Draw the baseline ..."] {
            let rect = h.get_by_label(name).rect();
            assert!(screen.contains_rect(rect), "in {room:?} {name} at {rect:?}");
        }
    }
}

#[test]
fn no_words_on_plan_cover_the_number_of_a_block_or_each_other() {
    let mut h = planned_with(Params::default());
    for room in [[900.0, 560.0], [683.0, 384.0], [1320.0, 680.0], [1440.0, 900.0], [1920.0, 1080.0], LEAST] {
        h.set_size(Vec2::from(room));
        settle(&mut h);
        let plan = plan(&h);
        let words = h.state().words_on_plan();
        assert!(words.len() > 4, "in {room:?} hardly anything is named: {words:?}");
        for (n, rect) in words.iter().enumerate() {
            let covered = words[..n].iter().find(|other| other.shrink(0.5).intersects(*rect));
            assert!(covered.is_none(), "in {room:?} {rect:?} covers {covered:?} on {plan:?}");
        }
    }
}

/// A small Plan moves the names of levels along their lines rather than leave them out.
#[test]
fn the_marks_between_which_the_water_moves_are_named_on_a_small_plan() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    for room in [[900.0, 560.0], [1180.0, 720.0], [1320.0, 680.0]] {
        h.set_size(Vec2::from(room));
        settle(&mut h);
        let levels = h.state().levels_on_plan();
        for name in ["MHWS", "MSL", "water"] {
            assert!(levels.iter().any(|(text, _)| text.starts_with(name)), "in {room:?} {name} is not among {levels:?}");
        }
        for (n, (name, rect)) in levels.iter().enumerate() {
            let covered = levels[..n].iter().find(|(_, other)| other.shrink(0.5).intersects(*rect));
            assert!(covered.is_none(), "in {room:?} {name} covers {covered:?}");
        }
    }
}

/// A route on the demo beach is long in planning: it is planned once for all that must hold beside one, at whatever size.
#[test]
fn beside_a_planned_route_all_is_named_and_covers_nothing_at_every_size() {
    let (start, sheet, at) = (Start::Demo, SheetChoice::NextLow, Some(instant("2027-01-12T06:40:00Z")));
    let mut h = window_with(Options { start, sheet, at, dark: Some(false), remember: false, ..Options::default() });
    h.get_all_by_label_contains("Plan a route, ").next().unwrap().click_accesskit();
    settle(&mut h);
    the_high_water_after_the_planned_low_is_named_at_every_size(&mut h);
    when_to_leave_covers_no_high_water(&mut h);
    what_to_keep_off_is_said_beside_a_route_and_where_it_is(&mut h);
    every_block_in_view_has_its_number(&mut h);
}

/// The high water after the low that is planned is named with its height and its time before any other turn.
fn the_high_water_after_the_planned_low_is_named_at_every_size(h: &mut Harness<'static, App>) {
    let low = h.state().chosen_low().unwrap();
    for room in [[900.0, 560.0], [1320.0, 680.0], [1366.0 / 1.5, 768.0 / 1.5], [1024.0, 576.0]] {
        h.set_size(Vec2::from(room));
        settle(h);
        let named = h.state().turns_named();
        assert!(named.iter().any(|(time, text)| *time == low && text.contains(':')), "in {room:?}: {named:?}");
        // Some six hours later: half the period of the main lunar tide, 12 h 25 min (from memory).
        let high = named.iter().filter(|(time, _)| *time > low).min_by_key(|(time, _)| *time).unwrap();
        let hours = high.0.duration_since(low).as_secs_f64() / 3_600.0;
        assert!((4.5..8.0).contains(&hours), "in {room:?} the next name is {hours} h later: {named:?}");
        assert!(high.1.contains(':') && high.1.ends_with(" m"), "in {room:?}: {high:?}");
    }
}

/// The low that has just passed keeps its name: the line of the moment shown stands beside it.
#[test]
fn a_low_that_has_just_passed_keeps_its_name() {
    // The invented bay's lows are at six in the morning and in the evening.
    let low = instant("2026-06-01T06:00:00Z");
    let (sheet, start) = (SheetChoice::Share, Start::Given(Box::new(OpenBook::holding(invented_book()))));
    let at = Some(instant("2026-06-01T06:11:00Z"));
    let h = window_with(Options { start, sheet, at, dark: Some(false), remember: false, ..Options::default() });
    let named = h.state().turns_named();
    assert!(named.iter().any(|(time, _)| time.duration_since(low).as_secs().abs() < 900), "{named:?}");
}

/// When to leave is written clear of the high waters, whose marks and names stand at the tops of the curve.
fn when_to_leave_covers_no_high_water(h: &mut Harness<'static, App>) {
    for room in [[900.0, 560.0], [1320.0, 680.0], [1440.0, 900.0]] {
        h.set_size(Vec2::from(room));
        settle(h);
        let (text, rect) = h.state().first_to_leave_drawn().expect("the line is in view");
        assert!(text.contains("leave"), "{text}");
        let time = h.get_by_label_contains("Time: ").rect();
        assert!(time.expand(0.5).contains_rect(rect), "in {room:?} {rect:?} of {time:?}");
        let highs = h.state().tide_highs_drawn();
        assert!(highs.len() > 2, "{highs:?}");
        for at in highs {
            let mark = Rect::from_min_max(at - Vec2::new(15.0, 12.0), at + Vec2::new(15.0, 2.0));
            assert!(!mark.intersects(rect), "in {room:?} {text} at {rect:?} covers the high water at {at:?}");
        }
    }
}

/// A warning keeps what it tells to do, and stands at what it warns of or is tied to it, beside a route too.
fn what_to_keep_off_is_said_beside_a_route_and_where_it_is(h: &mut Harness<'static, App>) {
    for room in [[900.0, 560.0], [1320.0, 680.0], [1366.0 / 1.5, 768.0 / 1.5], [1024.0, 576.0]] {
        h.set_size(Vec2::from(room));
        settle(h);
        let plan = h.get_by_label_contains("Plan of ").rect();
        let (warned, _) = h.state().warnings_drawn();
        for said in ["keep off", "keep out"] {
            assert!(warned.iter().any(|(text, _)| text.contains(said)), "in {room:?} {said} is not among {warned:?}");
        }
        for (text, _) in &warned {
            assert!(text.contains("keep o") || text == "possible ordnance", "in {room:?} {text}");
        }
        for (rect, to) in h.state().warnings_tied() {
            assert!(rect.distance_to_pos(to) <= plan.width() / 2.0, "in {room:?} {rect:?} is of {to:?}");
        }
    }
}

/// Where blocks are drawn small a number stands beside its own, rather than nowhere.
fn every_block_in_view_has_its_number(h: &mut Harness<'static, App>) {
    for room in [[900.0, 560.0], [1320.0, 680.0], [1920.0, 1080.0], [1366.0 / 1.5, 768.0 / 1.5], [1024.0, 576.0]] {
        h.set_size(Vec2::from(room));
        settle(h);
        let plan = h.get_by_label_contains("Plan of ").rect();
        let numbers = h.state().numbers_on_plan();
        let blocks: Vec<_> = (0..).map_while(|n| h.state().route_block_position(n)).collect();
        assert!(blocks.len() > 5, "{blocks:?}");
        for (n, _) in blocks.iter().enumerate().filter(|(_, at)| plan.contains(**at)) {
            let number = format!("{}", n + 1);
            let written = numbers.iter().any(|(text, _)| text.split_whitespace().next() == Some(&number));
            assert!(written, "in {room:?} block {number} has no number among {numbers:?}");
        }
        for (n, (text, rect)) in numbers.iter().enumerate() {
            let covered = numbers[..n].iter().find(|(_, other)| other.intersects(*rect));
            assert!(covered.is_none() && plan.contains_rect(*rect), "in {room:?} {text} at {rect:?} covers {covered:?}");
        }
    }
}
