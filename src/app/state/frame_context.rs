//! What every view reads in one frame: the book, the beach and what was derived from them.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::selection::Selection;
use crate::app::derived::{Derived, Land, ReadOutline, Revision};
use crate::app::item::Item;
use crate::book::{Beach, Book, Uid};
use crate::earth::distance_words;
use crate::tide::Water;

/// One frame's view of it all.
pub(crate) struct FrameContext<'a> {
    pub(crate) book: &'a Book,
    pub(crate) beach: Option<&'a Beach>,
    pub(crate) zone: &'a TimeZone,
    pub(crate) derived: &'a Derived,
    pub(crate) revision: Revision,
    /// The wall clock.
    pub(crate) now: Timestamp,
    /// The folder of the book's file, if it is in one.
    pub(crate) folder: Option<&'a Path>,
}

impl<'a> FrameContext<'a> {
    pub(crate) fn has_beach(&self) -> bool {
        self.beach.is_some()
    }

    pub(crate) fn beach_name(&self) -> &str {
        self.beach.map_or("no beach", |b| b.name.as_str())
    }

    /// The land, once it was laid out.
    pub(crate) fn land(&self) -> Option<&'a Land> {
        self.derived.land.value().map(AsRef::as_ref)
    }

    /// The water, if the beach has a source.
    pub(crate) fn water(&self) -> Option<&'a Water> {
        self.land()?.setting.water.as_ref()
    }

    /// The tide source in use: its kind, name and distance, and what its levels count from.
    pub(crate) fn source_line(&self) -> String {
        let Some(land) = self.land() else { return "laying out the beach".to_owned() };
        let Some(water) = &land.setting.water else { return "no tide source".to_owned() };
        let away = match land.setting.station_distance_m {
            Some(_) if land.setting.tide_borrowed => ", borrowed".to_owned(),
            Some(m) => format!(", {} away", distance_words(m)),
            None => String::new(),
        };
        format!("{}: {}{away}; metres above {}", water.kind().label(), water.name(), water.datum().words())
    }

    /// Water level above its datum at an instant, metres.
    pub(crate) fn water_m(&self, at: Timestamp) -> Option<f64> {
        self.water()?.height_m(at)
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
        self.derived.read.value()?.outline(item)
    }

    /// What sets others in the shade: the outing, cluster or band in the light.
    pub(crate) fn spotlight(&self, selection: &Selection) -> Spotlight<'a> {
        let gathers =
            |i: &Item| matches!(i, Item::Outing(_) | Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_) | Item::Band(_));
        let lead = selection.lead.filter(gathers);
        let pointed = selection.hovered.filter(gathers);
        match pointed.or(lead) {
            Some(Item::Outing(uid)) => Spotlight::Outing(self.book, uid),
            Some(Item::Band(n)) => match self.derived.read.value().and_then(|r| r.band_members.get(n)) {
                Some(members) => Spotlight::These(members),
                None => Spotlight::None,
            },
            Some(item) => {
                let outline = self.derived.read.value().and_then(|r| r.outline(item));
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
    Outing(&'a Book, Uid),
    /// Named ones.
    These(&'a BTreeSet<Item>),
}

impl Spotlight<'_> {
    /// Whether the others are dimmed.
    pub(crate) fn is_on(&self) -> bool {
        !matches!(self, Self::None)
    }

    /// Whether a mark is in the light.
    pub(crate) fn lights(&self, item: Item) -> bool {
        match self {
            Self::None => true,
            Self::These(items) => items.contains(&item),
            Self::Outing(book, uid) => match item {
                Item::Find(f) => book.finds().get(&f).is_some_and(|f| f.outing == Some(*uid)),
                Item::Signal(s) => book.signals().get(&s).is_some_and(|s| s.outing == Some(*uid)),
                _ => false,
            },
        }
    }
}
