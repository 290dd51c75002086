//! Whatever is done and however fast, what is shown as fresh is what a window opened on the same book works out
//! from nothing: after each step once the window is idle, and in every frame before that.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use geo_types::{MultiPolygon, polygon};
use jiff::Timestamp;
use proptest::prelude::*;
use scourline::app::{App, Options, SheetChoice, Start};
use scourline::book::{
    Access, Beach, BenchReading, Book, ClusterMethod, Edit, Find, Kind, LevelPoint, Outing, RecordKind, Setup, TideChoice, Track,
    TrackPoint, Uid, Weight, Zone, ZoneUse,
};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{Filter, Season};
use scourline::route;
use scourline::store::OpenBook;
use scourline::tide::Catalogue;

use crate::bench::{AT, STEPS, Wakes, instant, invented_book, settle, survey};

type Window = Harness<'static, App>;
/// What is shown as fresh, by the name of its question.
type Shown = BTreeMap<String, String>;

const LOWS: [&str; 2] = ["2026-06-01T18:00:00Z", "2026-06-02T06:00:00Z"];
const ROUTE: &str = "the route for ";

/// A search for a route that is soon done.
pub(crate) fn quick() -> route::Params {
    route::Params { rounds: 8, ..route::Params::default() }
}

pub(crate) fn place(east: f64, north: f64) -> LonLat {
    Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap().to_lonlat(Local::new(east, north)).unwrap()
}

pub(crate) fn bay(book: &Book) -> Beach {
    book.beaches().values().find(|b| b.name == "Invented Bay").unwrap().clone()
}

/// Lines along the shore from a place on, walked as one searches.
fn track(book: &Book, name: &str, from: (f64, f64), lines: i32, start: Timestamp, outing: Option<Uid>) -> Track {
    let fix = |n: i32| {
        let (line, step) = (n / 40, n % 40);
        let along = if line % 2 == 0 { step } else { 39 - step };
        let at = place(from.0 + 2.5 * f64::from(along), from.1 - 2.0 * f64::from(line));
        TrackPoint::new(at).with_time(Timestamp::from_second(start.as_second() + 5 * i64::from(n)).ok())
    };
    let segments = vec![(0..40 * lines).map(fix).collect::<Vec<_>>().into()];
    Track { uid: Uid::of_content("track", [name.as_bytes()]), beach: bay(book).uid, outing, name: name.to_owned(), segments }
}

/// The invented bay with a way onto the sand and the ground that its outing covered.
pub(crate) fn bay_with_tracks() -> Book {
    let mut book = invented_book();
    survey(&mut book);
    let beach = bay(&book).uid;
    let outing = book.outings().keys().next().copied();
    let (uid, at) = (Uid::of_content("access", []), place(-100.0, 0.0));
    let access = Access { uid, beach, name: "Slip".to_owned(), at, notes: String::new() };
    let start = instant("2026-06-01T05:00:00Z");
    let walked = track(&book, "coins", (-20.0, -36.0), 12, start, outing);
    book.apply(&Edit::Batch(vec![Edit::put(access), Edit::put(walked)])).unwrap();
    book
}

/// That, and another beach with little on it.
fn two_beaches() -> Book {
    let mut book = bay_with_tracks();
    let mut cove = Beach::new("Empty Cove", place(3000.0, 0.0));
    cove.baseline = vec![place(2900.0, 0.0), place(3100.0, 0.0)];
    (cove.slope, cove.back_level_m) = (Some(0.05), Some(3.0));
    let setup = Setup::new("invented set-up");
    let find = Find::new(cove.uid, place(3000.0, -20.0), "penny", Kind::keyed("coin"));
    book.apply(&Edit::Batch(vec![Edit::put(cove), Edit::put(setup), Edit::put(find)])).unwrap();
    book
}

/// What is looked at.
#[derive(Debug, Clone, PartialEq)]
struct View {
    beach: Uid,
    sheet: SheetChoice,
    ground: &'static str,
    filter: Filter,
    low: Option<Timestamp>,
}

/// A window on a book, as it looks before anything is chosen.
fn open(book: &Book) -> Window {
    let options = Options {
        start: Start::Given(Box::new(OpenBook::holding(book.clone()))),
        // The bench is asked from the first time it is seen, and so is the reading.
        bench: true,
        at: Some(instant(AT)),
        remember: false,
        ..Options::default()
    };
    let builder = Harness::builder().with_size([1000.0, 700.0]).with_max_steps(STEPS);
    let mut h = builder.build_eframe(move |cc| App::new(&cc.egui_ctx, options));
    settle(&mut h);
    h.get_by_label("outings").click();
    settle(&mut h);
    h.state_mut().show_sheet(SheetChoice::Read);
    settle(&mut h);
    h
}

fn look(h: &mut Window, from: Option<&View>, to: &View) {
    let app = h.state_mut();
    if app.beach_shown() != Some(to.beach) {
        app.show_beach(to.beach);
    }
    app.show_sheet(to.sheet);
    app.show_ground(to.ground);
    app.read_only(to.filter.clone());
    if let Some(low) = to.low.filter(|_| from.is_none_or(|from| from.low != to.low)) {
        app.plan_for(low, quick());
    }
}

/// What a window shows that was opened on the book and has worked all of it out from nothing.
fn from_nothing(book: &Book, view: &View) -> Shown {
    let mut h = open(book);
    look(&mut h, None, view);
    settle(&mut h);
    h.state().fresh_answers()
}

/// One step of a person.
#[derive(Debug, Clone)]
enum Step {
    Edit(u8, u8),
    Undo,
    Redo,
    Beach,
    Sheet(u8),
    Ground(u8),
    Filter(u8),
    Low(u8),
}

fn step() -> impl Strategy<Value = (Step, u8)> {
    let step = prop_oneof![
        6 => (0..12_u8, any::<u8>()).prop_map(|(what, n)| Step::Edit(what, n)),
        2 => Just(Step::Undo),
        1 => Just(Step::Redo),
        1 => Just(Step::Beach),
        1 => (0..4_u8).prop_map(Step::Sheet),
        1 => (0..4_u8).prop_map(Step::Ground),
        1 => (0..4_u8).prop_map(Step::Filter),
        2 => (0..2_u8).prop_map(Step::Low),
    ];
    // How many frames pass before the next: one in two waits until the window is idle.
    (step, prop_oneof![Just(u8::MAX), 0..6_u8])
}

/// One of these, if there are any.
fn pick<T: Clone>(of: impl Iterator<Item = T>, n: u8) -> Option<T> {
    let all: Vec<T> = of.collect();
    all.get(usize::from(n) % all.len().max(1)).cloned()
}

/// An edit of every kind of record that something is derived from.
fn edit(book: &Book, what: u8, n: u8) -> Option<Edit> {
    let (beach, x) = (bay(book), f64::from(n));
    let changed = |change: &dyn Fn(&mut Beach)| {
        let mut beach = beach.clone();
        change(&mut beach);
        Some(Edit::put(beach))
    };
    let uid = |kind: &str| Uid::of_content(kind, [[n].as_slice()]);
    match what {
        0 => {
            let mut find = Find::new(beach.uid, place(x / 8.0, -38.0 - x / 16.0), "button", Kind::keyed("button"));
            (find.uid, find.outing) = (uid("added find"), book.outings().keys().next().copied());
            find.time = Some(instant("2026-06-01T06:30:00Z"));
            Some(Edit::put(find))
        }
        1 => pick(book.finds_of(beach.uid).map(|f| f.uid), n).map(|uid| book.removal(RecordKind::Find, uid)),
        2 => pick(book.finds_of(beach.uid).cloned(), n).map(|mut find| {
            find.weight = Some(if n.is_multiple_of(2) { Weight::Heavy } else { Weight::Light });
            find.at = place(x - 100.0, -44.0);
            Edit::put(find)
        }),
        3 => {
            let start = Timestamp::from_second(instant("2026-05-01T05:00:00Z").as_second() + 86_400 * i64::from(n % 20)).ok()?;
            let outing = Outing::new(beach.uid, start, Timestamp::from_second(start.as_second() + 7200).ok()?);
            let walked = track(book, &format!("walk {n}"), (x - 150.0, -20.0 - x / 8.0), 4, start, Some(outing.uid));
            Some(Edit::Batch(vec![Edit::put(outing), Edit::put(walked)]))
        }
        4 => pick(book.outings().keys().copied(), n).map(|uid| book.removal(RecordKind::Outing, uid)),
        5 => {
            let (w, e, s) = (place(x - 150.0, -30.0), place(x - 100.0, -30.0), place(x - 120.0, -60.0));
            let corner = |at: LonLat| (at.lon_deg(), at.lat_deg());
            let area = MultiPolygon(vec![polygon![corner(w).into(), corner(e).into(), corner(s).into()]]);
            let usage = if n.is_multiple_of(3) { ZoneUse::ALL[usize::from(n) % ZoneUse::ALL.len()] } else { ZoneUse::ALL[0] };
            let name = format!("zone {n}");
            Some(Edit::put(Zone { uid: uid("zone"), beach: beach.uid, name, usage, area, closure: None, notes: String::new() }))
        }
        6 => pick(book.zones_of(beach.uid).map(|z| z.uid), n).map(|uid| book.removal(RecordKind::Zone, uid)),
        7 => {
            let (at, level_m) = (place(2.0 * x - 250.0, -x / 3.0), 4.0 - x / 75.0);
            let survey = "by hand".to_owned();
            Some(Edit::put(LevelPoint { uid: uid("level"), beach: beach.uid, at, level_m, sigma_m: None, date: None, survey }))
        }
        8 => changed(&|b| b.datum_offset_m = [Some(2.0), Some(0.2), Some(-4.0), Some(1.7), None][usize::from(n) % 5]),
        9 => changed(&|b| match n % 5 {
            0 => b.search.swing_m = Some(0.6 + f64::from(n % 7) / 10.0),
            1 => b.reading.cluster_points = Some(3 + u32::from(n % 5)),
            2 => b.reading.cluster_by = Some(ClusterMethod::Hdbscan),
            3 => b.weather.run_up_m = Some(0.2 + f64::from(n % 4) / 10.0),
            _ => b.reading.detection_per_pass = Some(0.4),
        }),
        10 => {
            let near = TideChoice::Station(Catalogue::shipped().nearest(beach.origin, 1)[0].0.id.clone());
            changed(&|b| {
                b.tide =
                    if n.is_multiple_of(3) { near.clone() } else { TideChoice::Table(*book.tide_tables().keys().next().unwrap()) }
            })
        }
        _ => Some(Edit::put(BenchReading {
            uid: uid("bench reading"),
            setup: *book.setups().keys().next()?,
            kind: (!n.is_multiple_of(4)).then(|| Kind::keyed("coin")),
            target: "penny".to_owned(),
            depth_m: x / 1000.0,
            scraped_m: None,
            ground: None,
            lie: None,
            target_ids: vec![60 + i32::from(n % 9), 62],
            steadiness: None,
            tone: String::new(),
            gauge_step: None,
            dig: Some(true),
            time: None,
            notes: String::new(),
        })),
    }
}

/// What was shown of a book from a view, frame by frame.
#[derive(Default)]
struct Seen(Vec<(Book, View, Frames)>);

/// What each frame showed, and whether the window was idle by then.
type Frames = Vec<(Shown, bool)>;

impl Seen {
    fn note(&mut self, h: &Window, view: &View, idle: bool) {
        // A low that the tide has not is let go of by the window itself.
        let view = &View { low: h.state().chosen_low(), ..view.clone() };
        let (book, shown) = (h.state().book(), h.state().fresh_answers());
        let place = self.0.iter().position(|(b, v, _)| b == book && v == view).unwrap_or_else(|| {
            self.0.push((book.clone(), view.clone(), Vec::new()));
            self.0.len() - 1
        });
        let frames = &mut self.0[place].2;
        if frames.last().is_none_or(|last| *last != (shown.clone(), idle)) {
            frames.push((shown, idle));
        }
    }

    /// Holds every frame against a window that works it all out from nothing.
    fn check(&self) {
        for (book, view, frames) in &self.0 {
            let right = from_nothing(book, view);
            // A low that was planned before and still stands is right when it is what planning it now gives.
            let mut others: Shown = BTreeMap::new();
            for (shown, idle) in frames {
                for (name, told) in shown {
                    let wanted = match name.strip_prefix(ROUTE).map(|low| low.parse::<Timestamp>()) {
                        Some(Ok(low)) if Some(low) != view.low => {
                            if !others.contains_key(name) {
                                others.extend(from_nothing(book, &View { low: Some(low), ..view.clone() }));
                            }
                            others.get(name)
                        }
                        _ => right.get(name),
                    };
                    assert!(
                        wanted == Some(told),
                        "{name} is shown as fresh and is not, idle: {idle}, {view:?}: {}",
                        apart(told, wanted)
                    );
                }
                let missing = right.keys().find(|name| !shown.contains_key(*name));
                assert!(!idle || missing.is_none(), "{missing:?} is not shown in an idle window, {view:?}");
            }
        }
    }
}

/// Where two texts part.
fn apart(told: &str, wanted: Option<&String>) -> String {
    let Some(wanted) = wanted else { return "nothing is to be shown".to_owned() };
    let at = told.bytes().zip(wanted.bytes()).take_while(|(a, b)| a == b).count().saturating_sub(60);
    let part = |text: &str| String::from_utf8_lossy(&text.as_bytes()[at..(at + 200).min(text.len())]).into_owned();
    format!("\n{}\nagainst\n{}", part(told), part(wanted))
}

/// Takes the steps in a window, noting what each frame shows.
fn take(steps: &[(Step, u8)]) -> Seen {
    let book = two_beaches();
    let beaches: Vec<Uid> = book.beaches().keys().copied().collect();
    let mut h = open(&book);
    let beach = h.state().beach_shown().unwrap();
    let mut view = View { beach, sheet: SheetChoice::Read, ground: "none", filter: Filter::default(), low: None };
    let mut seen = Seen::default();
    for (step, frames) in steps {
        let before = view.clone();
        match step {
            Step::Edit(what, n) => {
                // An edit that the book would refuse by now is refused in words and changes nothing.
                let _ = edit(h.state().book(), *what, *n).map(|edit| h.state_mut().edit(edit, "edit"));
            }
            Step::Undo => h.key_press_modifiers(Modifiers::COMMAND, Key::Z),
            Step::Redo => h.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z),
            Step::Beach => {
                let next = beaches.iter().position(|b| *b == view.beach).map_or(0, |n| (n + 1) % beaches.len());
                // What was chosen of lows belonged to the other beach.
                (view.beach, view.low) = (beaches[next], None);
            }
            Step::Sheet(n) => view.sheet = SheetChoice::ALL[usize::from(*n)],
            Step::Ground(n) => view.ground = ["none", "covered", "rate", "certainty"][usize::from(*n)],
            Step::Filter(n) => {
                view.filter = match n {
                    0 => Filter::default(),
                    1 => Filter { season: Some(Season::Summer), ..Filter::default() },
                    2 => Filter { kinds: [Kind::keyed("coin")].into(), ..Filter::default() },
                    _ => Filter { from: Some("2026-05-10".parse().unwrap()), ..Filter::default() },
                }
            }
            Step::Low(n) => view.low = Some(instant(LOWS[usize::from(*n)])),
        }
        look(&mut h, Some(&before), &view);
        let (began, wakes, mut still, mut n) = (Instant::now(), Wakes::of(&h), 0, 0);
        while still < 3 && n < *frames {
            h.step();
            still = if h.state().is_idle() { still + 1 } else { 0 };
            // A waiting window may take more frames than are counted.
            n = if *frames == u8::MAX { 0 } else { n + 1 };
            seen.note(&h, &view, still == 3);
            assert!(began.elapsed() < Duration::from_secs(60), "the window never came to rest");
            // Between steps in haste frames follow one upon the other; else each that is asked for is drawn, as on a screen.
            if *frames == u8::MAX { wakes.wait(&h) } else { std::thread::sleep(Duration::from_millis(1)) }
        }
    }
    settle(&mut h);
    seen.note(&h, &view, true);
    seen
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3, max_shrink_iters: 30, ..ProptestConfig::default() })]

    /// Keys of derived things were typed by hand and forgot inputs: what answered an earlier book was shown as if
    /// it answered the present one.
    #[test]
    fn what_is_shown_as_fresh_is_what_is_worked_out_from_nothing(steps in prop::collection::vec(step(), 10..16)) {
        take(&steps).check();
    }
}

/// Edits that change what a route, the reading and the counts rest on, one upon the other without waiting.
#[test]
fn edits_in_haste_leave_nothing_old_marked_as_fresh() {
    let quick = [0, 3, 5, 7, 8, 9, 2, 1, 6, 4, 11].map(|what| (Step::Edit(what, 7), what % 3));
    let mut steps = vec![(Step::Sheet(2), u8::MAX), (Step::Low(0), u8::MAX), (Step::Low(1), u8::MAX)];
    steps.extend(quick);
    steps.extend([(Step::Undo, 1), (Step::Undo, 0), (Step::Redo, 1), (Step::Ground(2), 2), (Step::Filter(1), 1)]);
    let seen = take(&steps);
    let ever = |name: &str| seen.0.iter().flat_map(|s| &s.2).any(|(shown, _)| shown.keys().any(|k| k.starts_with(name)));
    for name in [ROUTE, "the reading", "the ground covered", "the list of low waters", "what the bench learned", "the marks"] {
        assert!(ever(name), "{name} was never shown, so that nothing was held against it");
    }
    seen.check();
}
