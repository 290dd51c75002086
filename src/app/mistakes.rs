//! Whatever dies of a mistake in the program, the window says so, nothing stays busy, and editing goes on.

use std::path::Path;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use jiff::Timestamp;

use super::{App, Options, SheetChoice, Start};
use crate::book::{Book, Edit, Find};
use crate::demo::Planting;
use crate::query::{
    Answers, CountsQuestion, CoveredQuestion, CurveQuestion, DoubtsQuestion, GroundPictureQuestion, InWashQuestion,
    KnownGroundQuestion, LandQuestion, LogQuestion, LowsQuestion, MarksQuestion, OutlinesQuestion, PacesQuestion,
    ProfileQuestion, Question, ReadDrawingQuestion, ReadingQuestion, RouteQuestion, SettingQuestion, TallyQuestion,
    TracesQuestion, WitnessQuestion,
};
use crate::route;
use crate::store::OpenBook;

const SAID: &str = "ended by a mistake in the program";

/// A beach on which everything can be asked, and with little on it.
fn small_book() -> Book {
    static MADE: OnceLock<Book> = OnceLock::new();
    MADE.get_or_init(|| Planting { outings: 1, ..Planting::plain(1) }.make().unwrap().book().unwrap()).clone()
}

/// A window in which all work of one name dies.
fn window(name: &'static str, sheet: SheetChoice, reports: &Path) -> Harness<'static, App> {
    let at: Timestamp = "2026-06-01T05:30:00Z".parse().unwrap();
    let options = Options {
        start: Start::Given(Box::new(OpenBook::holding(small_book()))),
        sheet,
        at: Some(at),
        ground: Some("covered".to_owned()),
        remember: false,
        reports: Some(reports.to_owned()),
        ..Options::default()
    };
    let mut h = Harness::builder().with_size([1440.0, 900.0]).with_max_steps(200).build_eframe(move |cc| {
        let mut app = App::new(&cc.egui_ctx, options);
        app.answers = Answers::new(app.answers.runner().clone().dying_at(name));
        app
    });
    settle(&mut h);
    h
}

fn settle(h: &mut Harness<'static, App>) {
    let (began, mut still) = (Instant::now(), 0);
    while still < 3 {
        h.step();
        still = if h.state().is_idle() { still + 1 } else { 0 };
        assert!(began.elapsed() < Duration::from_secs(60), "busy for ever");
        // Drawing frame upon frame would take from the work that is waited for.
        std::thread::sleep(Duration::from_millis(if still > 0 { 2 } else { 15 }));
    }
}

fn says(h: &Harness<'static, App>, text: &str) -> bool {
    h.query_all_by_label_contains(text).next().is_some()
}

/// The drawings, the counts of the Log and the paces used to die in silence: nothing was shown and nothing said.
#[test]
fn every_question_that_dies_is_told_at_the_foot_with_its_report_and_editing_goes_on() {
    let names = [
        SettingQuestion::NAME,
        DoubtsQuestion::NAME,
        InWashQuestion::NAME,
        WitnessQuestion::NAME,
        LandQuestion::NAME,
        MarksQuestion::NAME,
        OutlinesQuestion::NAME,
        TracesQuestion::NAME,
        CurveQuestion::NAME,
        ProfileQuestion::NAME,
        LogQuestion::NAME,
        TallyQuestion::NAME,
        CoveredQuestion::NAME,
        GroundPictureQuestion::NAME,
        KnownGroundQuestion::NAME,
        CountsQuestion::NAME,
        ReadingQuestion::NAME,
        ReadDrawingQuestion::NAME,
    ];
    for name in names {
        let dir = tempfile::tempdir().unwrap();
        let of_reading = [KnownGroundQuestion::NAME, CountsQuestion::NAME, ReadingQuestion::NAME, ReadDrawingQuestion::NAME];
        let read = name == CoveredQuestion::NAME || of_reading.contains(&name);
        let mut h = window(name, if read { SheetChoice::Read } else { SheetChoice::Log }, dir.path());
        assert!(says(&h, &format!("{name} {SAID}")), "{name}");
        assert!(says(&h, &format!("a report is in {}", dir.path().display())), "{name}");
        let report = std::fs::read_dir(dir.path()).unwrap().next().unwrap().unwrap().path();
        let report = std::fs::read_to_string(report).unwrap();
        assert!(report.contains("on purpose") && report.contains(name), "{report}");
        let book = h.state().book().clone();
        let beach = book.beaches().values().next().unwrap();
        let find = Find::new(beach.uid, beach.origin, "penny", crate::book::Kind::keyed("coin"));
        h.state_mut().edit(Edit::put(find), "add a penny");
        settle(&mut h);
        assert_eq!(h.state().book().finds().len(), book.finds().len() + 1, "{name}");
    }
}

/// Where what a route rests on had died or was called off, the sheet went on looking for the best way for ever, and
/// "Plan again" tried nothing again.
#[test]
fn what_dies_below_a_route_is_told_as_no_route() {
    for name in [
        LowsQuestion::NAME,
        InWashQuestion::NAME,
        WitnessQuestion::NAME,
        CoveredQuestion::NAME,
        PacesQuestion::NAME,
        KnownGroundQuestion::NAME,
        CountsQuestion::NAME,
        RouteQuestion::NAME,
    ] {
        let dir = tempfile::tempdir().unwrap();
        let mut h = window(name, SheetChoice::NextLow, dir.path());
        if name == LowsQuestion::NAME {
            assert!(says(&h, &format!("could not be listed: {name} {SAID}")));
            continue;
        }
        let low = "2026-06-01T12:00:00Z".parse().unwrap();
        h.state_mut().plan_for(low, route::Params { rounds: 5, ..route::Params::default() });
        settle(&mut h);
        assert!(says(&h, "No route") && says(&h, SAID), "{name}");
        assert!(!says(&h, "looking for the best way"), "{name}");
        let reports = || std::fs::read_dir(dir.path()).unwrap().count();
        let before = reports();
        h.get_by_label("Plan again").click_accesskit();
        settle(&mut h);
        assert!(reports() > before, "{name} was not tried again");
    }
}
