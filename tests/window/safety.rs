//! What warns is there whatever the size of the window, whole, and covers nothing else that warns.

use egui::Rect;
use egui_kittest::kittest::Queryable;
use geo::{LineString, MultiPolygon, Polygon};
use scourline::app::SheetChoice;
use scourline::book::{Book, Edit, Find, Kind, Uid, Zone, ZoneUse};
use scourline::earth::{Frame, Local, LonLat};
use scourline::store::OpenBook;

use crate::bench::{invented_book, settle, window_sized};

/// The invented bay with two places to keep out of, close together, mud, and two finds that may be ordnance.
fn book() -> Book {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().uid;
    let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
    let place = |east: f64, north: f64| frame.to_lonlat(Local::new(east, north)).unwrap();
    let zone = |name: &str, usage: ZoneUse, east: f64, north: f64, side: f64| {
        let corners = [(0.0, 0.0), (side, 0.0), (side, -side), (0.0, -side), (0.0, 0.0)];
        let ring: Vec<(f64, f64)> = corners
            .iter()
            .map(|(e, n)| {
                let at = place(east + e, north + n);
                (at.lon_deg(), at.lat_deg())
            })
            .collect();
        let area = MultiPolygon(vec![Polygon::new(LineString::from(ring), Vec::new())]);
        Edit::put(Zone {
            uid: Uid::of_content("zone", [name.as_bytes()]),
            beach,
            name: name.into(),
            usage,
            area,
            closure: None,
            notes: String::new(),
        })
    };
    let find = |n: u8, east: f64| {
        let mut find = Find::new(beach, place(east, -30.0), "mortar", Kind::keyed("ordnance"));
        find.uid = Uid::of_content("danger", [&[n][..]]);
        Edit::put(find)
    };
    book.apply(&Edit::Batch(vec![
        zone("Nesting ground of the terns", ZoneUse::NoSearch, 20.0, -10.0, 8.0),
        zone("Old battery", ZoneUse::NoSearch, 30.0, -12.0, 8.0),
        zone("West mud", ZoneUse::Mud, -290.0, -60.0, 40.0),
        find(1, 22.0),
        find(2, 26.0),
    ]))
    .unwrap();
    book
}

/// The sizes that must hold, and how much larger everything is drawn there: what counts is the room in points. On the
/// smallest window the magnification is held at about 1.55.
fn rooms() -> Vec<([f32; 2], f32)> {
    let mut rooms = vec![([900.0, 560.0], 1.0), ([900.0, 560.0], 0.75), ([1320.0, 680.0], 1.0), ([1440.0, 900.0], 1.5)];
    rooms.extend([
        ([1920.0, 1080.0], 2.0),
        ([2560.0, 1440.0], 1.0),
        ([2560.0, 1440.0], 2.5),
        ([1440.0, 900.0], 2.5),
        ([900.0, 560.0], 1.55),
    ]);
    rooms
}

#[test]
fn what_warns_is_whole_in_view_at_every_size_and_covers_nothing_that_warns() {
    for (size, zoom) in rooms() {
        let points = size.map(|s| s / zoom);
        let mut h = window_sized(OpenBook::holding(book()), SheetChoice::Log, points);
        let screen = Rect::from_min_size(egui::Pos2::ZERO, points.into());
        let whole = |rect: Rect| screen.expand(0.5).contains_rect(rect);
        // The next low stands at the head of every sheet.
        for (key, sheet) in [(egui::Key::Num1, "Log"), (egui::Key::Num3, "Next low"), (egui::Key::Num4, "Share")] {
            h.key_press(key);
            settle(&mut h);
            let head = h.query_all_by_label_contains("low 06:00").chain(h.query_all_by_label_contains("low Mon 06:00"));
            assert!(head.into_iter().any(|n| whole(n.rect())), "{sheet} at {size:?}, zoom {zoom}: the next low");
        }
        if h.query_by_label("Plan of Invented Bay").is_none() {
            // So narrow that sheet and drawings take turns.
            h.get_by_label("Show drawings").click_accesskit();
            settle(&mut h);
        }
        let legend = h.get_by_label("possible ordnance").rect();
        assert!(whole(legend), "{size:?}, zoom {zoom}: the legend at {legend:?}");
        let plan = h.get_by_label("Plan of Invented Bay").rect();
        let (warned, low) = h.state().warnings_drawn();
        let count = |what: &str| warned.iter().filter(|(text, _)| text.contains(what)).count();
        assert_eq!((count("keep out"), count("ordnance")), (2, 2), "{size:?}, zoom {zoom}: {warned:?}");
        // The middle of a very low Plan holds few lines; one more does not fit at all.
        let roomy = plan.height() > 90.0;
        for (n, (text, rect)) in warned.iter().enumerate() {
            assert!(plan.expand(0.5).contains_rect(*rect), "{size:?}, zoom {zoom}: {text} at {rect:?} of {plan:?}");
            let covered = warned[..n].iter().find(|(_, other)| other.intersects(*rect));
            assert!(covered.is_none() || !roomy, "{size:?}, zoom {zoom}: {text} covers {covered:?}");
        }
        let (text, rect) = low.unwrap_or_else(|| panic!("{size:?}, zoom {zoom}: the next low on Time"));
        let time = h.get_by_label_contains("Time: ").rect();
        assert!(
            time.expand(0.5).contains_rect(rect) && text.contains("1.0"),
            "{size:?}, zoom {zoom}: {text} at {rect:?} of {time:?}"
        );
    }
}

/// What went wrong stands at the head until it was read, whatever is done meanwhile.
#[test]
fn an_error_stays_until_it_was_read() {
    let mut h = window_sized(OpenBook::in_memory(), SheetChoice::Log, [1320.0, 680.0]);
    h.get_by_label("Book").click();
    h.run();
    h.get_by_label("Open ...").click();
    h.run();
    h.event(egui::Event::Text("/there/is/none.gpkg".to_owned()));
    settle(&mut h);
    h.key_press(egui::Key::Enter);
    settle(&mut h);
    // The form says it where it was typed.
    assert!(h.get_all_by_label_contains("none.gpkg").count() >= 1);
    h.get_by_label("Leave").click_accesskit();
    settle(&mut h);
    assert!(h.state().errors_in_view().is_empty(), "said in the form, not twice");
}
