//! What the window shows as fresh, as text: two windows that show the same of the same book say the same.

use std::collections::BTreeMap;
use std::fmt::Debug;

use super::App;
use super::state::FrameContext;
use super::state::next_low::Stage;
use crate::query::drawing::RouteDrawing;
use crate::query::{
    BenchQuestion, CheckQuestion, CountsQuestion, CoveredQuestion, CurveQuestion, DoubtsQuestion, GroundPictureQuestion,
    LogQuestion, LowsQuestion, MarksQuestion, OutlinesQuestion, PacesQuestion, ProfileQuestion, Question, ReadDrawingQuestion,
    ReadingQuestion, RouteQuestion, SettingQuestion, SignalQuestion, TallyQuestion, WitnessQuestion,
};
use crate::share::{self, HandedOut};

impl App {
    /// Every answer that is shown as fresh, as text by the name of its question: figures, places and words, but
    /// nothing that would differ between two windows. What is old or not there yet is left out, and so is what is
    /// only the best so far. A route stands under "the route for" and its low water in RFC 3339, as the GeoJSON
    /// (RFC 7946) that is written of it; a refusal under the question's name and "refused".
    pub fn fresh_answers(&self) -> BTreeMap<String, String> {
        let mut told = BTreeMap::new();
        self.tell::<SettingQuestion>(&mut told, |s| {
            let water = (&s.station_distance_m, s.surge, s.run_up, &s.source_notes);
            text(&(&s.beach, &s.guessed, water, &s.marks, &s.bands, &s.warnings))
        });
        self.tell::<WitnessQuestion>(&mut told, text);
        self.tell::<DoubtsQuestion>(&mut told, text);
        self.tell::<CurveQuestion>(&mut told, |c| text(&(c.span, c.step_s, &c.heights, &c.turns, &c.lit)));
        self.tell::<LowsQuestion>(&mut told, |l| text(&(&l.marks, l.margin_m, l.run_up, l.compared, &l.free, &l.lows)));
        self.tell::<MarksQuestion>(&mut told, |m| text(&(&m.all, m.strays)));
        self.tell::<OutlinesQuestion>(&mut told, |o| {
            let areas: Vec<_> = o.areas.iter().map(|a| (a.item, a.kind, &a.name, &a.rings, a.closed)).collect();
            text(&(areas, &o.accesses))
        });
        self.tell::<ProfileQuestion>(&mut told, text);
        self.tell::<LogQuestion>(&mut told, text);
        self.tell::<TallyQuestion>(&mut told, text);
        self.tell::<CheckQuestion>(&mut told, |c| text(&(&c.flags, &c.reminders, &c.crossing, &c.lies_in)));
        self.tell::<BenchQuestion>(&mut told, |l| text(&(&l.learned, &l.mix, l.undug())));
        self.tell::<SignalQuestion>(&mut told, text);
        self.tell::<CoveredQuestion>(&mut told, |c| text(&(&c.covered, &c.params, &c.effort)));
        self.tell::<PacesQuestion>(&mut told, text);
        self.tell::<CountsQuestion>(&mut told, |c| text(&(&c.read.reading, &c.read.filter, &c.read.taken)));
        self.tell::<ReadingQuestion>(&mut told, |r| text(&(&r.reading, &r.filter, &r.taken)));
        if self.answers.answer::<ReadDrawingQuestion>().fresh().is_some_and(|drawn| drawn.is_whole()) {
            self.tell::<ReadDrawingQuestion>(&mut told, |d| text(&(d.reading(), d.taken(), &d.band_members)));
        }
        self.tell::<GroundPictureQuestion>(&mut told, |g| {
            let dots = g.pictures.each_ref().map(|p| (p.columns, blake3::hash(p.dots.as_flattened())));
            text(&(g.what, &g.title, &g.note, &g.breaks, dots, &g.net))
        });
        self.tell_routes(&mut told);
        told
    }

    fn tell<Q: Question>(&self, told: &mut BTreeMap<String, String>, words: impl Fn(&Q::Answer) -> String) {
        let answer = self.answers.answer::<Q>();
        if let Some(value) = answer.fresh() {
            told.insert(Q::NAME.to_owned(), words(value));
        } else if let Some(why) = answer.failure() {
            told.insert(format!("{} refused", Q::NAME), why.to_owned());
        }
    }

    /// The route on the sheet, and those of other lows that still stand.
    fn tell_routes(&self, told: &mut BTreeMap<String, String>) {
        let (shown, view) = (self.frame_context(), &self.state.next_low);
        if let Some(why) = self.answers.answer::<RouteQuestion>().failure() {
            told.insert(format!("{} refused", RouteQuestion::NAME), why.to_owned());
        }
        let Some(setting) = shown.setting() else { return };
        let current = view.current_route(&shown).filter(|(_, stage)| *stage == Stage::Done).map(|(route, _)| route);
        let kept = view.planned.keys().filter_map(|low| view.kept_route(&shown, *low));
        let mut tell = |drawn: &RouteDrawing| {
            let route = drawn.route();
            // When it was planned, and the name of the book's file, differ between two windows.
            let handed = HandedOut::now(route.low.time, None);
            let written = share::route_geojson(route, setting, &handed).map_err(|e| e.to_string());
            let name = format!("the route for {}", route.low.time);
            told.insert(name, written.map_or_else(|why| why, |bytes| String::from_utf8_lossy(&bytes).into_owned()));
        };
        current.iter().for_each(|drawn| tell(drawn));
        kept.for_each(|drawn| tell(&drawn));
    }

    /// What every view reads, as it stands between two frames.
    pub(super) fn frame_context(&self) -> FrameContext<'_> {
        let folder = self.kept.as_ref().and_then(|k| k.path.as_deref()).and_then(std::path::Path::parent);
        FrameContext {
            book: &self.book,
            beach: self.beach(),
            zone: &self.zone,
            answers: &self.answers,
            route_base: self.route_base.as_ref(),
            unplanned: self.unplanned.as_ref(),
            now: self.now(),
            folder,
            proposed: "",
        }
    }
}

fn text<T: Debug>(value: &T) -> String {
    format!("{value:?}")
}
