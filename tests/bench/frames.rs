//! The window on a large book: what a frame costs on each sheet, and how soon after an edit all is fresh again.
//!
//! `cargo bench --bench frames [-- FINDS FIXES [frames|fresh]]`; without figures 100,000 finds and 1,000,000
//! fixes. A frame is laid out and cut into triangles without a screen; what it costs is the processor time of
//! its own thread, the median of many. At most 2 ms are wanted in the usual views, 8 ms in the densest.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

mod large_book;

use std::time::{Duration, Instant};

use eframe::App as _;
use egui::{Event, Modifiers, PointerButton, Pos2, RawInput, Rect, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use scourline::app::{App, Freshness, Options, SheetChoice, Start};
use scourline::book::{Book, Edit, Record};
use scourline::demo::Planting;
use scourline::store::{OpenBook, Replace};

/// The program's own, as time depends on it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const SIZE: Vec2 = Vec2::new(1440.0, 900.0);
/// A morning of the demo's own season, as the tide is predicted for it.
const AT: &str = "2027-03-10T06:40:00Z";

type Window = Harness<'static, App>;

/// Milliseconds this thread has run; giving way makes the kernel count up to now.
fn thread_ms() -> f64 {
    std::thread::yield_now();
    let stat = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    stat.split_whitespace().next().and_then(|ns| ns.parse::<f64>().ok()).map_or(f64::NAN, |ns| ns / 1e6)
}

/// What a frame took, milliseconds: laying out, then cutting into triangles.
fn frame(window: &mut Window, events: Vec<Event>) -> [f64; 2] {
    let ctx = window.ctx.clone();
    // Nobody listens, as is usual.
    ctx.disable_accesskit();
    let mut of = eframe::Frame::_new_kittest();
    let input =
        RawInput { screen_rect: Some(Rect::from_min_size(Pos2::ZERO, SIZE)), focused: true, events, ..window.input().clone() };
    let app = window.state_mut();
    let before = thread_ms();
    let mut shown = ctx.run_ui(input, |ui| {
        app.logic(&ctx, &mut of);
        app.ui(ui, &mut of);
    });
    let laid = thread_ms();
    shown.textures_delta.clear();
    let triangles = ctx.tessellate(shown.shapes, shown.pixels_per_point);
    let cut = thread_ms();
    drop(triangles);
    ctx.enable_accesskit();
    [laid - before, cut - laid]
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Measures a view as it stands; each frame with the events of its number.
fn measure(window: &mut Window, what: &str, most_ms: f64, events: impl Fn(usize) -> Vec<Event>) {
    for n in 0..8 {
        frame(window, events(n));
    }
    let taken: Vec<[f64; 2]> = (8..48).map(|n| frame(window, events(n))).collect();
    let all = median(taken.iter().map(|t| t[0] + t[1]).collect());
    let [laid, cut] = [0, 1].map(|part: usize| median(taken.iter().map(|t| t[part]).collect()));
    let verdict = if all <= most_ms { "" } else { "  OVER" };
    println!("{what:58} {all:7.2} ms = {laid:6.2} laid out + {cut:6.2} cut   (at most {most_ms:.0}){verdict}");
}

fn settle(window: &mut Window) {
    let mut still = 0;
    while still < 3 {
        window.step();
        still = if window.state().is_idle() { still + 1 } else { 0 };
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn press(window: &mut Window, key: egui::Key) {
    window.key_press(key);
    settle(window);
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    settle(window);
}

fn plan(window: &Window) -> Rect {
    window.get_all_by_label_contains("Plan of ").next().unwrap().rect()
}

fn time(window: &Window) -> Rect {
    let mut named = window.get_all_by_label_contains("Time: ");
    named.find(|n| n.accesskit_node().role() == egui::accesskit::Role::Canvas).unwrap().rect()
}

fn button(pos: Pos2, pressed: bool, modifiers: Modifiers) -> Event {
    Event::PointerButton { pos, button: PointerButton::Primary, pressed, modifiers }
}

/// Picks everything in Plan by drawing a box around it.
fn pick_all(window: &mut Window) {
    let plan = plan(window).shrink(2.0);
    window.event(Event::ModifiersChanged(Modifiers::SHIFT));
    window.event(Event::PointerMoved(plan.min));
    window.step();
    window.event(button(plan.min, true, Modifiers::SHIFT));
    window.step();
    for share in [0.3, 0.7, 1.0] {
        window.event(Event::PointerMoved(plan.min + plan.size() * share));
        window.step();
    }
    window.event(button(plan.max, false, Modifiers::SHIFT));
    window.step();
    window.event(Event::ModifiersChanged(Modifiers::NONE));
    window.event(Event::PointerMoved(Pos2::new(700.0, 4.0)));
    settle(window);
    println!("{} picked", window.state().selection().len());
}

/// The centre of the n-th row of the list on the sheet.
fn row(window: &Window, n: usize) -> Pos2 {
    let mut rows: Vec<Pos2> =
        window.get_all_by_role(egui::accesskit::Role::ListBoxOption).map(|row| row.rect().center()).collect();
    rows.sort_by(|a, b| a.y.total_cmp(&b.y));
    rows[n]
}

fn click_at(window: &mut Window, at: Pos2) {
    window.event(Event::PointerMoved(at));
    window.step();
    window.event(button(at, true, Modifiers::NONE));
    window.step();
    window.event(button(at, false, Modifiers::NONE));
    window.step();
    window.event(Event::PointerMoved(Pos2::new(700.0, 4.0)));
    settle(window);
}

/// Turns to a sheet; of the Log, to a list.
fn turn_to(window: &mut Window, sheet: &str) {
    match sheet {
        "Read" => press(window, egui::Key::Num2),
        "Next low" => press(window, egui::Key::Num3),
        "Share" => press(window, egui::Key::Num4),
        list => {
            press(window, egui::Key::Num1);
            window.get_all_by_label(list).rfind(|n| n.rect().left() > 900.0).unwrap().click();
            settle(window);
        }
    }
}

const SHEETS: [&str; 7] = ["finds", "outings", "signals", "bench", "Read", "Next low", "Share"];

fn open(start: Start) -> Window {
    let began = Instant::now();
    let at = Some(AT.parse().unwrap());
    let options = Options { start, sheet: SheetChoice::Read, at, dark: Some(false), remember: false, ..Options::default() };
    let mut window = Harness::builder().with_size(SIZE).build_eframe(move |cc| App::new(&cc.egui_ctx, options));
    settle(&mut window);
    println!("opened and idle after {:.2} s", began.elapsed().as_secs_f64());
    window
}

fn frames(book: Book) {
    let mut window = open(Start::Given(Box::new(OpenBook::holding(book))));
    let still = |_: usize| Vec::new();
    for sheet in SHEETS {
        turn_to(&mut window, sheet);
        measure(&mut window, &format!("{sheet}: usual"), 2.0, still);
    }
    let inside = plan(&window).shrink(60.0);
    let roam = move |n: usize| {
        vec![Event::PointerMoved(inside.lerp_inside(Vec2::new((n * 7 % 48) as f32 / 48.0, (n % 48) as f32 / 48.0)))]
    };
    measure(&mut window, "Share: pointer over Plan", 8.0, roam);
    // In the middle stands the section's line, which is dragged when it is taken hold of; beside it Plan itself is.
    for (what, from) in
        [("the section's line dragged", inside.center()), ("Plan dragged", inside.center() + Vec2::new(90.0, 0.0))]
    {
        frame(&mut window, vec![Event::PointerMoved(from), button(from, true, Modifiers::NONE)]);
        measure(&mut window, &format!("Share: {what}"), 8.0, |n| {
            vec![Event::PointerMoved(from + Vec2::new((n % 5) as f32, 9.0 + n as f32))]
        });
        let end = from + Vec2::new(0.0, 9.0);
        let off = Event::PointerMoved(Pos2::new(700.0, 4.0));
        frame(&mut window, vec![Event::PointerMoved(end), button(end, false, Modifiers::NONE), off]);
    }
    click(&mut window, "fit");
    // The densest: a picture of the ground, 18 months of Time, an outing in the light.
    turn_to(&mut window, "outings");
    let first = row(&window, 3);
    click_at(&mut window, first);
    click(&mut window, "rate");
    click(&mut window, "18 months");
    for sheet in SHEETS {
        turn_to(&mut window, sheet);
        measure(&mut window, &format!("{sheet}: an outing picked, rates, 18 months"), 8.0, still);
    }
    let time = time(&window).shrink(40.0);
    let from = time.left_center();
    frame(&mut window, vec![Event::PointerMoved(from), button(from, true, Modifiers::NONE)]);
    measure(&mut window, "Share: 18 months dragged through", 8.0, |n| {
        vec![Event::PointerMoved(from + Vec2::new(5.0 + 6.0 * n as f32, 0.0))]
    });
    let off = Event::PointerMoved(Pos2::new(700.0, 4.0));
    frame(&mut window, vec![button(from, false, Modifiers::NONE), off]);
    settle(&mut window);
    pick_all(&mut window);
    for sheet in SHEETS {
        turn_to(&mut window, sheet);
        measure(&mut window, &format!("{sheet}: all picked, rates, 18 months"), 8.0, still);
    }
    turn_to(&mut window, "finds");
    let at = row(&window, 2);
    click_at(&mut window, at);
    turn_to(&mut window, "Next low");
    measure(&mut window, "Next low: a find picked, rates, 18 months", 8.0, still);
    turn_to(&mut window, "Read");
    click(&mut window, "choose ...");
    measure(&mut window, "Read: choices open, rates, 18 months", 8.0, still);
    let list = window
        .get_all_by_role(egui::accesskit::Role::ComboBox)
        .find(|c| c.value().is_some_and(|v| v.contains("any")))
        .map(|c| c.rect().center());
    if let Some(list) = list {
        window.event(Event::PointerMoved(list));
        window.event(button(list, true, Modifiers::NONE));
        window.step();
        window.event(button(list, false, Modifiers::NONE));
        settle(&mut window);
        measure(&mut window, "Read: kinds listed, rates, 18 months", 8.0, still);
    }
}

/// Edits one find through the window's own form and prints when what is old is marked and all is fresh.
fn fresh(start: Start, what: &str) {
    let mut window = open(start);
    turn_to(&mut window, "finds");
    let first = row(&window, 5);
    click_at(&mut window, first);
    click(&mut window, "Edit");
    window.get_by_label("Depth, cm").focus();
    window.step();
    window.key_press_modifiers(Modifiers::COMMAND, egui::Key::A);
    window.get_by_label("Depth, cm").type_text("17");
    settle(&mut window);
    assert_eq!(window.state().freshness(), Freshness::Whole);
    let keep = window.get_by_label("Keep").rect().center();
    for event in [Event::PointerMoved(keep), button(keep, true, Modifiers::NONE), button(keep, false, Modifiers::NONE)] {
        frame(&mut window, vec![event]);
    }
    let began = Instant::now();
    let (mut worst, mut last) = (0.0_f64, Freshness::Whole);
    println!("one edit of a find in that book, {what}:");
    while last != Freshness::Whole || worst == 0.0 || !window.state().is_idle() {
        let drawn = Instant::now();
        let [laid, cut] = frame(&mut window, Vec::new());
        worst = worst.max(laid + cut);
        let now = window.state().freshness();
        if now != last {
            println!("{:8.2} s  {now:?}", began.elapsed().as_secs_f64());
            last = now;
        }
        // No window draws oftener than its screen does.
        std::thread::sleep(Duration::from_micros(16_667).saturating_sub(drawn.elapsed()));
    }
    println!("{:8.2} s  all is idle; the longest frame took {worst:.1} ms", began.elapsed().as_secs_f64());
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let given: Vec<usize> = args.iter().filter_map(|a| a.parse().ok()).collect();
    let (finds, fixes) = (given.first().copied().unwrap_or(100_000), given.get(1).copied().unwrap_or(1_000_000));
    let asked = |word: &str| args.iter().any(|a| a == word) || !args.iter().any(|a| a == "frames" || a == "fresh");
    let (mut book, _) = large_book::book(finds, fixes);
    // What the reading's own bench leaves out and the window shows.
    let made = Planting::shipped().make().unwrap();
    let more = made.barriers.iter().cloned().map(Record::from).chain(made.permissions.iter().cloned().map(Record::from));
    let more = more.chain(made.bench.iter().cloned().map(Record::from)).map(Edit::put);
    book.apply(&Edit::Batch(more.chain(large_book::signals(&book, finds / 10)).collect())).unwrap();
    println!("{} finds, {fixes} fixes, {} outings, {} signals", book.finds().len(), book.outings().len(), book.signals().len());
    if asked("frames") {
        frames(book.clone());
    }
    if asked("fresh") {
        fresh(Start::Given(Box::new(OpenBook::holding(book.clone()))), "in memory");
        let folder = tempfile::tempdir().unwrap();
        let mut open = OpenBook::holding(book);
        open.save_as(folder.path().join("large.gpkg"), Replace::Nothing).unwrap();
        fresh(Start::Given(Box::new(open)), "in a file");
    }
}
