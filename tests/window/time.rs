use egui::pos2;
use egui_kittest::kittest::Queryable;
use scourline::app::SheetChoice;
use scourline::book::{Beach, Edit, Weather};
use scourline::store::OpenBook;

use crate::bench::{AT, click_at, instant, invented_book, settle, window, window_on, window_sized};

#[test]
fn dragging_along_time_moves_the_instant_and_the_water() {
    let mut h = window(SheetChoice::Log);
    let (at, water) = (h.state().clock().at, h.state().water_land_m().unwrap());
    assert_eq!(at, instant(AT));
    let canvas = h.get_by_label_contains("Time: ").rect();
    let y = canvas.top() + 40.0;
    h.drag_at(pos2(canvas.center().x, y));
    h.step();
    for n in 1..=5_u8 {
        h.hover_at(pos2(canvas.center().x + 8.0 * f32::from(n), y));
        h.step();
    }
    h.drop_at(pos2(canvas.center().x + 40.0, y));
    settle(&mut h);
    let moved = h.state().clock().at;
    // Three days over the width of the canvas.
    let expected = 40.0 / f64::from(canvas.width()) * 3.0 * 86_400.0;
    let by = moved.as_second() - at.as_second();
    assert!((by as f64 - expected).abs() < 600.0, "{by} s, expected {expected}");
    // The half-cosine of the invented table between high (5 m at 00:00) and low (1 m at 06:00) water.
    let hours = (moved.as_second() - instant("2026-06-01T00:00:00Z").as_second()) as f64 / 3600.0;
    let level = 3.0 + 2.0 * (std::f64::consts::PI * hours / 6.0).cos();
    assert!((h.state().water_land_m().unwrap() - (level - 2.0)).abs() < 1e-3);
    assert!((h.state().water_land_m().unwrap() - water).abs() > 0.05);
    assert!(h.get_all_by_label_contains("rising").count() > 0, "said in words too");
}

#[test]
fn the_next_low_water_is_one_press_away() {
    let mut h = window(SheetChoice::Log);
    h.get_by_label("low >").click();
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T06:00:00Z"));
    h.get_by_label("low >").click();
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T18:00:00Z"));
    h.get_by_label("< low").click();
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T06:00:00Z"));
}

#[test]
fn every_span_from_a_day_to_eighteen_months_can_be_shown() {
    let mut h = window(SheetChoice::Log);
    for span in ["day", "fortnight", "season", "18 months", "3 days"] {
        h.get_by_label(span).click();
        settle(&mut h);
        assert!(h.query_by_label_contains("Time: ").is_some());
    }
}

#[test]
fn an_outing_in_time_can_be_picked() {
    let mut h = window(SheetChoice::Log);
    let canvas = h.get_by_label_contains("Time: ").rect();
    // 06:30 lies in the outing; the view is centred on half past five.
    let x = canvas.center().x + canvas.width() * 3600.0 / (3.0 * 86_400.0);
    click_at(&mut h, pos2(x, canvas.bottom() - 3.0));
    assert_eq!(h.state().selection().len(), 1);
    assert!(matches!(h.state().selection().lead, Some(scourline::app::Item::Outing(_))));
}

#[test]
fn the_expected_water_is_told_beside_the_predicted_one_from_now_on() {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().clone();
    let weather = Weather { surge_m: Some(0.5), surge_sd_m: Some(0.1), ..Weather::default() };
    book.apply(&Edit::put(Beach { weather, ..beach })).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Log);
    h.get_by_label("low >").click();
    settle(&mut h);
    // Low water of 1.0 m: 0.5 m of surge, give or take twice 0.1 m.
    assert!(h.get_all_by_label_contains("water 1.0 m above").count() > 0);
    h.get_by_label_contains("expected with the weather 1.3 to 1.7 m");
    // Four times ten minutes back, before the present moment of 05:30.
    h.get_by_label_contains("Time: ").focus();
    h.run();
    (0..4).for_each(|_| h.key_press(egui::Key::ArrowLeft));
    settle(&mut h);
    assert_eq!(h.state().clock().at, instant("2026-06-01T05:20:00Z"));
    assert!(h.query_by_label_contains("expected with the weather").is_none(), "what is past is not expected");
}

/// What the hatching means stands over the drawing, or in a gap of it: it covers no water.
#[test]
fn what_the_hatching_means_covers_no_high_water() {
    for size in [[1440.0, 900.0], [1320.0, 680.0], [900.0, 560.0], [683.0, 384.0]] {
        let h = window_sized(OpenBook::holding(invented_book()), SheetChoice::Log, size);
        let canvas = h.get_by_label_contains("Time: ").rect();
        let key = h.query_by_label_contains("Hatched: the water that is to come").map(|n| n.rect());
        assert!(key.is_none_or(|key| !key.intersects(canvas.shrink(1.0))), "{size:?}: {key:?} over {canvas:?}");
        if let Some(key) = h.state().key_among_the_tide() {
            // Every high water of the invented table stands at 5 m, the highest that is drawn.
            let highs = h.state().tide_highs_drawn();
            assert!(highs.iter().all(|at| !key.contains(*at)), "{size:?}: {key:?} over {highs:?}");
        } else {
            assert!(key.is_some() || size[0] < 1000.0, "{size:?}: it is said nowhere");
        }
    }
}
