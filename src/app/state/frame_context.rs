//! What every view reads in one frame: the book, the beach, what was derived from them, and how to say it.

use std::collections::BTreeSet;
use std::path::Path;

use egui::Ui;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::app::State;
use crate::app::derived::{Derived, Land, ReadOutline, Revision};
use crate::app::item::Item;
use crate::app::widgets::theme::{soft, strong};
use crate::book::{Beach, Book, Find, Uid};
use crate::earth::distance_words;
use crate::tide::Water;

/// One frame's view of it all.
pub(crate) struct Shown<'a> {
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

impl<'a> Shown<'a> {
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

    /// An instant in the beach's time, by a pattern of `strftime`.
    pub(crate) fn time(&self, at: Timestamp, pattern: &str) -> String {
        at.to_zoned_datetime(self.zone.clone()).strftime(pattern).to_string()
    }

    /// The verdict in the light: the one pointed at, else the one picked last.
    pub(crate) fn verdict(&self, state: &State) -> Option<&'a ReadOutline> {
        let told = |i: &Item| matches!(i, Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_));
        let item = state.selection.hovered.filter(told).or(state.selection.lead.filter(told))?;
        self.derived.read.value()?.outline(item)
    }

    /// What sets others in the shade: the outing, cluster or band in the light.
    pub(crate) fn spotlight(&self, state: &State) -> Spotlight<'a> {
        let gathers =
            |i: &Item| matches!(i, Item::Outing(_) | Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_) | Item::Band(_));
        let lead = state.selection.lead.filter(gathers);
        let pointed = state.selection.hovered.filter(gathers);
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

    /// What an item is called, in one line; the same words for the eye and for assistive tools.
    pub(crate) fn name_of(&self, item: Item) -> String {
        let named = |name: &str, what: &str| if name.is_empty() { what.to_owned() } else { format!("{name}, {what}") };
        let book = self.book;
        let known = match item {
            Item::Find(uid) => book.finds().get(&uid).map(|f| self.find_line(f)),
            Item::Signal(uid) => book.signals().get(&uid).map(|s| {
                let ids: Vec<String> = s.target_ids.iter().map(i32::to_string).collect();
                if ids.is_empty() { "undug signal".to_owned() } else { format!("undug signal, target ID {}", ids.join(" ")) }
            }),
            Item::Outing(uid) => {
                book.outings().get(&uid).map(|o| named(&o.name, &format!("outing of {}", self.time(o.start, "%-d %b %Y %H:%M"))))
            }
            Item::Zone(uid) => book.zones().get(&uid).map(|z| named(&z.name, z.usage.label())),
            Item::Permission(uid) => book.permissions().get(&uid).map(|p| named(&p.name, "permission")),
            Item::Access(uid) => book.accesses().get(&uid).map(|a| named(&a.name, "way on and off the beach")),
            Item::Barrier(uid) => book.barriers().get(&uid).map(|b| named(&b.name, b.kind.label())),
            Item::Storm(uid) => book.storms().get(&uid).map(|s| named(&s.name, "storm")),
            Item::Cluster(_) | Item::HotSpot(_) | Item::ScourLine(_) => {
                self.derived.read.value().and_then(|r| r.outline(item)).map(|o| o.label.clone())
            }
            Item::Band(n) => self.derived.read.value().and_then(|r| r.reading.bands.get(n)).map(|b| format!("band {}", b.name)),
        };
        known.unwrap_or_else(|| "no longer there".to_owned())
    }

    fn find_line(&self, find: &Find) -> String {
        let what = if find.what.is_empty() { find.kind.label() } else { find.what.as_str() };
        let mut said = format!("{what}, {}", find.weight_class());
        if let Some(t) = find.time {
            said += &format!(", {}", self.time(t, "%-d %b %Y"));
        }
        said
    }

    /// The card of an item beside the pointer, where it hides least of what stands around.
    pub(crate) fn card_at_pointer(&self, response: &egui::Response, item: Item) {
        let card = egui::Popup::from_response(response).kind(egui::PopupKind::Tooltip).at_pointer().gap(14.0).interactable(false);
        card.show(|ui| self.card(ui, item));
    }

    /// The card of an item: its name and what is known of it.
    pub(crate) fn card(&self, ui: &mut Ui, item: Item) {
        ui.set_max_width(300.0);
        ui.spacing_mut().item_spacing.y = 1.0;
        let name = self.name_of(item);
        ui.label(strong(&name));
        for line in self.facts(item) {
            ui.label(soft(ui, line).size(13.0));
        }
    }

    /// What is known of an item, a line each.
    pub(crate) fn facts(&self, item: Item) -> Vec<String> {
        let mut facts = Vec::new();
        let mut add = |fact: Option<String>| facts.extend(fact.filter(|f| !f.is_empty()));
        match item {
            Item::Find(uid) => {
                let Some(f) = self.book.finds().get(&uid) else { return facts };
                add(Some(format!("kind: {}", f.kind.label())));
                let figures = [
                    f.depth_m.map(|d| format!("{:.0} cm deep", d * 100.0)),
                    f.target_id.map(|t| format!("target ID {t:.0}")),
                    f.mass_g.map(|g| format!("{g:.1} g")),
                    f.size_mm.map(|s| format!("{s:.0} mm")),
                ];
                add(Some(figures.into_iter().flatten().collect::<Vec<_>>().join(" · ")));
                add(f.time.map(|t| self.time(t, "%a %-d %b %Y %H:%M")));
                add(self.place_line(item));
                add((!f.photo.trim().is_empty()).then(|| format!("photo: {}", f.photo.trim())));
                add(Some(f.notes.clone()));
            }
            Item::Signal(uid) => {
                let Some(s) = self.book.signals().get(&uid) else { return facts };
                let ids: Vec<String> = s.target_ids.iter().map(ToString::to_string).collect();
                let heard = [
                    (!ids.is_empty()).then(|| format!("target IDs {}", ids.join(" "))),
                    s.steadiness.map(|s| s.label().to_owned()),
                    s.gauge_step.map(|g| format!("gauge step {g}")),
                ];
                add(Some(heard.into_iter().flatten().collect::<Vec<_>>().join(" · ")));
                let may_be = self.derived.bench.value().and_then(|d| d.expected_of(uid));
                add(may_be.map(|e| format!("may be: {} ({:.0} %)", e.likeliest, 100.0 * e.chance)));
                add(s.time.map(|t| self.time(t, "%a %-d %b %Y %H:%M")));
                add(self.place_line(item));
                add(Some(s.notes.clone()));
            }
            Item::Outing(uid) => {
                let Some(o) = self.book.outings().get(&uid) else { return facts };
                add(Some(format!("{} to {}", self.time(o.start, "%a %-d %b %Y %H:%M"), self.time(o.end, "%H:%M"))));
                let finds = self.book.finds().values().filter(|f| f.outing == Some(uid)).count();
                add(Some(format!("{finds} finds")));
                let sand: Vec<&str> = o.sand.iter().map(|s| s.label()).collect();
                add(Some(sand.join(", ")));
                add(Some(o.notes.clone()));
            }
            Item::Permission(uid) => {
                let Some(p) = self.book.permissions().get(&uid) else { return facts };
                add(Some(p.holder.clone()));
                add(Some(p.terms.clone()));
            }
            Item::Storm(uid) => {
                let Some(s) = self.book.storms().get(&uid) else { return facts };
                add(s.span().map(|(a, b)| format!("{} to {}", self.time(a, "%-d %b %Y %H:%M"), self.time(b, "%-d %b %H:%M"))));
                add(s.peak().map(|p| format!("waves up to {:.1} m (significant height)", p.hs_m)));
                add(Some(s.notes.clone()));
            }
            Item::Zone(uid) => add(self.book.zones().get(&uid).map(|z| z.notes.clone())),
            Item::Access(uid) => add(self.book.accesses().get(&uid).map(|a| a.notes.clone())),
            Item::Barrier(uid) => add(self.book.barriers().get(&uid).map(|b| b.notes.clone())),
            Item::Cluster(n) => {
                let cluster = self.derived.read.value().and_then(|r| r.reading.clusters.get(n));
                add(cluster.map(|c| format!("{} finds, {} heavy, {} light", c.counts.finds, c.counts.heavy, c.counts.light)));
            }
            Item::HotSpot(_) | Item::ScourLine(_) => {
                let outline = self.derived.read.value().and_then(|r| r.outline(item));
                add(outline.map(|o| format!("{} finds", o.members.len())));
            }
            Item::Band(_) => {}
        }
        facts
    }

    fn place_line(&self, item: Item) -> Option<String> {
        let mark = self.derived.marks.value()?.get(item)?;
        if mark.along_m.is_nan() {
            return None;
        }
        let mut said = format!("{:.0} m along, {:.0} m across", mark.along_m, mark.across_m);
        if !mark.land_m.is_nan() {
            let offset = self.beach.and_then(|b| b.datum_offset_m);
            let (level, datum) =
                offset.map_or((f64::from(mark.land_m), "land datum"), |o| (f64::from(mark.land_m) + o, "tide datum"));
            said += &format!(", sand {:.1} m above {datum}", crate::tide::rounded(level, 1));
        }
        Some(said)
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
