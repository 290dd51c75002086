//! A window on a small invented beach, and the waiting for its background work.

use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use egui::{Pos2, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use jiff::Timestamp;
use scourline::app::{App, Options, SheetChoice, Start};
use scourline::book::{Beach, Book, Edit, Find, Kind, LevelPoint, Outing, Seaward, TideChoice, TideTable, TideTurn, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::store::OpenBook;

/// Half past five on the morning of the tide table's first low water.
pub(crate) const AT: &str = "2026-06-01T05:30:00Z";

pub(crate) fn instant(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// An invented bay of 600 m: the sea in the south, 1 in 25, its own tide table of five days.
pub(crate) fn invented_book() -> Book {
    let origin = LonLat::new(-20.0, 45.0).unwrap();
    let frame = Frame::centred_on(origin).unwrap();
    let place = |east: f64, north: f64| frame.to_lonlat(Local::new(east, north)).unwrap();
    let mut beach = Beach::new("Invented Bay", origin);
    beach.baseline = vec![place(-300.0, 0.0), place(300.0, 0.0)];
    beach.seaward = Seaward::Right;
    beach.slope = Some(0.04);
    beach.back_level_m = Some(4.0);
    beach.datum_offset_m = Some(2.0);
    let start = instant("2026-06-01T00:00:00Z").as_second();
    let turns = (0..20)
        .map(|n: i64| TideTurn {
            // One is to the minute: the others alone would pass for rounded.
            time: Timestamp::from_second(start + n * 6 * 3600 + if n == 18 { 7 * 60 } else { 0 }).unwrap(),
            level_m: if n % 2 == 0 { 5.0 } else { 1.0 },
            high: n % 2 == 0,
        })
        .collect();
    let table = TideTable { uid: Uid::of_content("tide table", []), beach: beach.uid, name: "invented table".into(), turns };
    let outing = Outing {
        name: "first morning".into(),
        ..Outing::new(beach.uid, instant("2026-06-01T05:00:00Z"), instant("2026-06-01T08:00:00Z"))
    };
    let mut edits = vec![Edit::put(beach.clone()), Edit::put(outing.clone()), Edit::put(table.clone())];
    edits.push(Edit::put(Beach { tide: TideChoice::Table(table.uid), ..beach.clone() }));
    // Thirty coins close together, ten ring-pulls strewn along the beach.
    for n in 0..40_i32 {
        let (east, north, what, key) = if n < 30 {
            (f64::from(n % 6) * 3.0, -40.0 - f64::from(n / 6) * 3.0, "penny", "coin")
        } else {
            (-280.0 + f64::from(n - 30) * 55.0, -20.0, "ring-pull", "ring_pull")
        };
        let mut find = Find::new(beach.uid, place(east, north), format!("{what} {n}"), Kind::keyed(key));
        find.uid = Uid::of_content("find", [n.to_le_bytes().as_slice()]);
        find.outing = Some(outing.uid);
        find.time = Some(Timestamp::from_second(outing.start.as_second() + i64::from(n) * 120).unwrap());
        find.depth_m = Some(0.05 + 0.005 * f64::from(n));
        edits.push(Edit::put(find));
    }
    let mut book = Book::new();
    book.apply(&Edit::Batch(edits)).unwrap();
    book
}

/// The levels of the same slope, surveyed: no route is planned on a slope that nobody surveyed.
pub(crate) fn survey(book: &mut Book) {
    let beach = book.beaches().values().next().unwrap().uid;
    let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
    let level = |n: i32, m: i32| {
        let (east, north) = (f64::from(n - 13) * 24.0, 12.0 - f64::from(m) * 12.0);
        let uid = Uid::of_content("level", [&n.to_le_bytes()[..], &m.to_le_bytes()[..]]);
        let at = frame.to_lonlat(Local::new(east, north)).unwrap();
        Edit::put(LevelPoint {
            uid,
            beach,
            at,
            level_m: 4.0 + 0.04 * north,
            sigma_m: Some(0.05),
            date: None,
            survey: String::new(),
        })
    };
    let levels = (0..=26).flat_map(|n| (0..=25).map(move |m| (n, m))).map(|(n, m)| level(n, m)).collect();
    book.apply(&Edit::Batch(levels)).unwrap();
}

/// The window, once everything has settled.
pub(crate) fn window(sheet: SheetChoice) -> Harness<'static, App> {
    window_on(OpenBook::holding(invented_book()), sheet)
}

pub(crate) fn window_on(open: OpenBook, sheet: SheetChoice) -> Harness<'static, App> {
    window_from(Start::Given(Box::new(open)), sheet)
}

pub(crate) fn window_from(start: Start, sheet: SheetChoice) -> Harness<'static, App> {
    window_with(Options { start, sheet, at: Some(instant(AT)), dark: Some(false), remember: false, ..Options::default() })
}

pub(crate) fn window_with(options: Options) -> Harness<'static, App> {
    sized(options, [1440.0, 900.0])
}

/// Frames after which a window that still asks for another counts as never still. Every job that ends or tells how far it
/// is asks for one, and on a slow machine they end while the frames of a key press are drawn.
pub(crate) const STEPS: u64 = 200;

/// The window in a room of so many points.
pub(crate) fn window_sized(open: OpenBook, sheet: SheetChoice, size: [f32; 2]) -> Harness<'static, App> {
    let start = Start::Given(Box::new(open));
    sized(Options { start, sheet, at: Some(instant(AT)), dark: Some(false), remember: false, ..Options::default() }, size)
}

fn sized(options: Options, size: [f32; 2]) -> Harness<'static, App> {
    let builder = Harness::builder().with_size(Vec2::from(size)).with_max_steps(STEPS);
    let mut harness = builder.build_eframe(move |cc| App::new(&cc.egui_ctx, options));
    settle(&mut harness);
    harness
}

/// What asks a window for its next frame, as on a screen: drawn again and again while it waits, it would take half of the machine
/// from the work that it waits for.
pub(crate) struct Wakes(Receiver<()>);

impl Wakes {
    /// Those of this window; none that were taken before hear of any from now on.
    pub(crate) fn of(harness: &Harness<'static, App>) -> Self {
        let (asks, asked) = channel();
        harness.ctx.set_request_repaint_callback(move |info| {
            if info.delay.is_zero() {
                // Nobody waits any more once it has come to rest.
                let _ = asks.send(());
            }
        });
        Self(asked)
    }

    /// Waits until a frame is asked for, or for a while where the window is still or nothing tells.
    pub(crate) fn wait(&self, harness: &Harness<'static, App>) {
        let most = if harness.state().is_idle() { 2 } else { 50 };
        std::thread::sleep(Duration::from_millis(2));
        let _ = self.0.recv_timeout(Duration::from_millis(most));
        // The coming frame answers all that asked so far.
        while self.0.try_recv().is_ok() {}
    }
}

/// Lets frames pass until nothing is being worked on, then until the window is still.
pub(crate) fn settle(harness: &mut Harness<'static, App>) {
    let (began, wakes) = (Instant::now(), Wakes::of(harness));
    let mut still = 0;
    while still < 3 {
        harness.step();
        still = if harness.state().is_idle() { still + 1 } else { 0 };
        assert!(began.elapsed() < Duration::from_secs(300), "the window never came to rest");
        wakes.wait(harness);
    }
    harness.run();
}

/// The find of the invented book with this number.
pub(crate) fn find_uid(n: i32) -> Uid {
    Uid::of_content("find", [n.to_le_bytes().as_slice()])
}

/// Presses the row of the Log that holds these words; its mark in Plan has the same name.
pub(crate) fn click_row(harness: &mut Harness<'static, App>, words: &str) {
    let rows = harness.get_all_by_label_contains(words);
    let mut rows = rows.filter(|n| n.accesskit_node().role() == egui::accesskit::Role::ListBoxOption);
    rows.next().expect("a row with these words").click();
}

/// Presses the primary button at a position and lets it go there.
pub(crate) fn click_at(harness: &mut Harness<'static, App>, at: Pos2) {
    harness.hover_at(at);
    harness.step();
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
}
