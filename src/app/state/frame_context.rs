//! What every view reads in one frame: the book, the beach and what was derived from them.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::selection::Selection;
use crate::book::{Beach, Book, Kind, Kinds, Uid};
use crate::earth::distance_words;
use crate::query::drawing::{Curve, Land, Mark, Marks, Outlines, ReadDrawing, ReadOutline};
use crate::query::{
    Age, Answers, BenchLessons, BenchQuestion, CurveQuestion, Given, Happening, HappeningsQuestion, Item, KindsQuestion,
    LandQuestion, LogQuestion, MarksQuestion, NotYet, OutlinesQuestion, Question, ReadDrawingQuestion, RouteQuestion,
    SettingQuestion, TracesQuestion,
};
use crate::route::{Route, RouteClock};
use crate::shore::Setting;
use crate::tide::Water;

/// One frame's view of it all.
pub(crate) struct FrameContext<'a> {
    pub(crate) book: &'a Book,
    pub(crate) beach: Option<&'a Beach>,
    pub(crate) zone: &'a TimeZone,
    /// What was asked, with its answers.
    pub(crate) answers: &'a Answers,
    /// What every route of the beach stands on now, whatever is asked of it; `None` while it is being renewed.
    pub(crate) route_base: Option<&'a RouteQuestion>,
    /// Why no route can be asked for, as what it rests on is not there.
    pub(crate) unplanned: Option<&'a NotYet>,
    /// The wall clock.
    pub(crate) now: Timestamp,
    /// The folder of the book's file, if it is in one.
    pub(crate) folder: Option<&'a Path>,
    /// Where a new book would go, if nobody says otherwise.
    pub(crate) proposed: &'a str,
}

impl<'a> FrameContext<'a> {
    pub(crate) fn has_beach(&self) -> bool {
        self.beach.is_some()
    }

    pub(crate) fn beach_name(&self) -> &str {
        self.beach.map_or("no beach", |b| b.name.as_str())
    }

    /// The beach laid out, as the book has it now: what times and levels of the water are read from.
    pub(crate) fn setting(&self) -> Option<&'a Setting> {
        self.answers.answer::<SettingQuestion>().fresh().map(|s| &**s)
    }

    /// The land, once it was laid out, with its age.
    pub(crate) fn land(&self) -> Option<(&'a Given<Land>, Age)> {
        self.answers.answer::<LandQuestion>().newest()
    }

    /// Why the beach is not laid out, in words to stand in its place; `None` without a beach.
    pub(crate) fn not_laid_out(&self) -> Option<String> {
        self.beach?;
        let (setting, land) = (self.answers.answer::<SettingQuestion>(), self.answers.answer::<LandQuestion>());
        Some(match setting.failure().or(land.failure()) {
            Some(why) => format!("The beach could not be laid out: {why}."),
            None => "laying out the beach ...".to_owned(),
        })
    }

    /// The marks of finds and signals, with their age.
    pub(crate) fn marks(&self) -> Option<(&'a Marks, Age)> {
        self.newest::<MarksQuestion>()
    }

    /// Zones, permissions, barriers and accesses as they are drawn, with their age.
    pub(crate) fn outlines(&self) -> Option<(&'a Given<Outlines>, Age)> {
        self.answers.answer::<OutlinesQuestion>().newest()
    }

    /// What was read, as it is drawn, with its age.
    pub(crate) fn read(&self) -> Option<(&'a Given<ReadDrawing>, Age)> {
        self.answers.answer::<ReadDrawingQuestion>().newest()
    }

    /// The curve of the tide as it is now, over the stretch asked for or, until that is there, another one.
    pub(crate) fn tide_curve(&self) -> Option<&'a Given<Curve>> {
        let (answer, setting) = (self.answers.answer::<CurveQuestion>(), self.answers.answer::<SettingQuestion>());
        let (curve, _) = answer.newest()?;
        (answer.question()?.setting == *setting.fresh()?).then_some(curve)
    }

    /// What the Log lists, in order, with its age.
    pub(crate) fn rows(&self) -> Option<(&'a Vec<Item>, Age)> {
        self.newest::<LogQuestion>()
    }

    /// Every kind there is to choose from; until they are known those that ship.
    pub(crate) fn kinds(&self) -> &'a [Kind] {
        self.newest::<KindsQuestion>().map_or_else(|| Kinds::shipped().all(), |(known, _)| &known.all)
    }

    /// The outings and storms of the beach.
    pub(crate) fn happenings(&self) -> &'a [Happening] {
        self.newest::<HappeningsQuestion>().map_or(&[], |(happened, _)| happened.as_slice())
    }

    /// What the bench learned, with its age.
    pub(crate) fn lessons(&self) -> Option<(&'a BenchLessons, Age)> {
        self.newest::<BenchQuestion>()
    }

    /// The newest answer of a kind, with its age.
    pub(crate) fn newest<Q: Question>(&self) -> Option<(&'a Q::Answer, Age)> {
        self.answers.answer::<Q>().newest().map(|(value, age)| (&**value, age))
    }

    /// What is drawn of the beach and older than the book, in the words of the questions.
    pub(crate) fn old_drawings(&self) -> Vec<&'static str> {
        let old = [
            (self.answers.answer::<LandQuestion>().is_old(), LandQuestion::NAME),
            (self.answers.answer::<MarksQuestion>().is_old(), MarksQuestion::NAME),
            (self.answers.answer::<TracesQuestion>().is_old(), TracesQuestion::NAME),
            (self.answers.answer::<OutlinesQuestion>().is_old(), OutlinesQuestion::NAME),
            (self.answers.answer::<ReadDrawingQuestion>().is_old(), ReadDrawingQuestion::NAME),
        ];
        old.into_iter().filter_map(|(is_old, name)| is_old.then_some(name)).collect()
    }

    /// The water, if the beach has a source; never that of an earlier setting.
    pub(crate) fn water(&self) -> Option<&'a Water> {
        self.setting()?.water.as_ref()
    }

    /// The tide source in use: its kind, name and distance, and what its levels count from.
    pub(crate) fn source_line(&self) -> String {
        let Some(setting) = self.setting() else {
            return if self.has_beach() { "laying out the beach" } else { "no beach yet" }.to_owned();
        };
        let Some(water) = &setting.water else { return "no tide source".to_owned() };
        let away = match setting.station_distance_m {
            Some(_) if setting.tide_borrowed => ", borrowed".to_owned(),
            Some(m) => format!(", {} away", distance_words(m)),
            None => String::new(),
        };
        format!("{}: {}{away}; metres above {}", water.kind().label(), water.name(), water.datum().words())
    }

    /// Water level above its datum at an instant, metres.
    pub(crate) fn water_m(&self, at: Timestamp) -> Option<f64> {
        self.water()?.height_m(at)
    }

    /// The clock that a route's times are told on.
    pub(crate) fn route_clock(&self, route: &Route) -> RouteClock {
        RouteClock::for_route(route, self.zone)
    }

    /// Whether the water rises or falls.
    pub(crate) fn trend(&self, at: Timestamp) -> &'static str {
        let later = at.checked_add(jiff::SignedDuration::from_secs(60)).unwrap_or(at);
        match (self.water_m(at), self.water_m(later)) {
            (Some(a), Some(b)) if b > a => "rising",
            (Some(_), Some(_)) => "falling",
            _ => "not known",
        }
    }

    /// An instant in the beach's time, by a pattern of `strftime`.
    pub(crate) fn time(&self, at: Timestamp, pattern: &str) -> String {
        at.to_zoned_datetime(self.zone.clone()).strftime(pattern).to_string()
    }

    /// The verdict in the light: the one pointed at, else the one picked last.
    pub(crate) fn verdict(&self, selection: &Selection) -> Option<&'a ReadOutline> {
        let told = |i: &Item| matches!(i, Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_));
        let item = selection.hovered.filter(told).or(selection.lead.filter(told))?;
        self.read()?.0.outline(item)
    }

    /// What sets others in the shade, by what it is itself.
    pub(crate) fn in_light(&self, selection: &Selection) -> Option<Item> {
        let gathers =
            |i: &Item| matches!(i, Item::Outing(_) | Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_) | Item::Band(_));
        selection.hovered.filter(gathers).or(selection.lead.filter(gathers))
    }

    /// What sets others in the shade: the outing, cluster or band in the light.
    pub(crate) fn spotlight(&self, selection: &Selection) -> Spotlight<'a> {
        match self.in_light(selection) {
            Some(Item::Outing(uid)) => Spotlight::Outing(uid),
            Some(Item::Band(n)) => match self.read().and_then(|(r, _)| r.band_members.get(n)) {
                Some(members) => Spotlight::These(members),
                None => Spotlight::None,
            },
            Some(item) => {
                let outline = self.read().and_then(|(r, _)| r.outline(item));
                outline.map_or(Spotlight::None, |o| Spotlight::These(&o.members))
            }
            None => Spotlight::None,
        }
    }
}

/// Which marks stand in the light.
pub(crate) enum Spotlight<'a> {
    /// All alike.
    None,
    /// What was found on one outing.
    Outing(Uid),
    /// Named ones.
    These(&'a BTreeSet<Item>),
}

impl Spotlight<'_> {
    /// Whether the others are dimmed.
    pub(crate) fn is_on(&self) -> bool {
        !matches!(self, Self::None)
    }

    /// Whether a mark is in the light.
    pub(crate) fn lights(&self, mark: &Mark) -> bool {
        match self {
            Self::None => true,
            Self::These(items) => items.contains(&mark.item),
            Self::Outing(uid) => mark.outing == Some(*uid),
        }
    }

    /// The marks in the light by their places in `marks`, where they are at most so many.
    pub(crate) fn lit(&self, marks: &Marks, most: usize) -> Vec<u32> {
        match self {
            Self::These(items) if items.len() <= most => items.iter().filter_map(|i| marks.number(*i)).collect(),
            Self::Outing(uid) if marks.numbers_of(*uid).len() <= most => marks.numbers_of(*uid).to_vec(),
            Self::None | Self::These(_) | Self::Outing(_) => Vec::new(),
        }
    }
}
