use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{DrawnPlace, Land};
use crate::book::Uid;
use crate::earth::LonLat;
use crate::query::{Given, Item, ReadBeach, Taken};
use crate::reading::{self, Cluster, HotSpot, LevelRange, Pattern, Reading, ReadingTables, ScourLine, Verdict, WeightChoice};

/// Something read, on the drawing: the ring of a cluster or spot, or the line of a scour line.
pub(crate) struct ReadOutline {
    pub(crate) item: Item,
    pub(crate) of: WeightChoice,
    pub(crate) places: Vec<DrawnPlace>,
    /// Its name on the drawing and on its card.
    pub(crate) label: String,
    pub(crate) members: BTreeSet<Item>,
    /// Metres along between which it lies.
    pub(crate) along_m: (f64, f64),
    /// Metres across between which it lies where the section cuts it: at either end of `along_m`.
    pub(crate) across_m: [(f64, f64); 2],
    /// Levels of the sand it holds, above the land datum, metres.
    pub(crate) land_m: Option<(f64, f64)>,
    /// The outings on which its finds were made.
    pub(crate) outings: BTreeSet<Uid>,
    /// The storms in the sixty days before its finds.
    pub(crate) storms: BTreeSet<Uid>,
}

impl ReadOutline {
    /// Metres across between which it lies at a place along, if it reaches there.
    pub(crate) fn across_at(&self, along_m: f64) -> Option<(f64, f64)> {
        let (from, to) = self.along_m;
        if !(from..=to).contains(&along_m) {
            return None;
        }
        let share = if to > from { (along_m - from) / (to - from) } else { 0.5 };
        let mix = |a: f64, b: f64| a + share * (b - a);
        let [a, b] = self.across_m;
        Some((mix(a.0, b.0), mix(a.1, b.1)))
    }

    /// Whether an outing or storm is behind it.
    pub(crate) fn rests_on(&self, item: Item) -> bool {
        match item {
            Item::Outing(uid) => self.outings.contains(&uid),
            Item::Storm(uid) => self.storms.contains(&uid),
            _ => false,
        }
    }
}

/// What the views draw of a reading.
pub(crate) struct ReadDrawing {
    /// Another one for every reading drawn.
    pub(crate) serial: u64,
    /// The reading it draws.
    pub(crate) read: Given<ReadBeach>,
    /// What it comes down to for all, heavy and light finds; the strongest evidence first.
    verdicts: [Vec<Verdict>; 3],
    /// Numbered as in the reading.
    pub(crate) clusters: Vec<ReadOutline>,
    /// Hot spots, drop zones among them; numbered as in the reading.
    pub(crate) spots: Vec<ReadOutline>,
    /// Numbered as in the reading.
    pub(crate) scour_lines: Vec<ReadOutline>,
    pub(crate) band_members: Vec<BTreeSet<Item>>,
}

impl ReadDrawing {
    /// Draws a reading on the land it was read on.
    pub(crate) fn drawn(read: Given<ReadBeach>, land: &Land) -> Self {
        let (tables, reading) = (&read.tables, &read.reading);
        let made = Outliner { book: tables, land };
        let ranked = |of: WeightChoice| reading::ranked(reading, of);
        let (band_members, (all, (heavy, light))) = rayon::join(
            || read.finds_by_band.iter().map(|uids| finds(uids)).collect(),
            || {
                rayon::join(
                    || ranked(WeightChoice::All),
                    || rayon::join(|| ranked(WeightChoice::Heavy), || ranked(WeightChoice::Light)),
                )
            },
        );
        Self {
            clusters: reading.clusters.iter().enumerate().map(|(n, c)| made.cluster(Item::Cluster(n), c)).collect(),
            spots: reading.hot_spots.iter().enumerate().map(|(n, s)| made.spot(n, s, reading)).collect(),
            scour_lines: reading.scour_lines.iter().enumerate().map(|(n, s)| made.scour_line(n, s)).collect(),
            verdicts: [all, heavy, light],
            band_members,
            serial: super::next_serial(),
            read,
        }
    }

    /// What was read.
    pub(crate) fn reading(&self) -> &Reading {
        &self.read.reading
    }

    /// How much of the book that took.
    pub(crate) fn taken(&self) -> &Taken {
        &self.read.taken
    }

    /// Whether patterns were sought: counts and rates come first.
    pub(crate) fn is_whole(&self) -> bool {
        self.read.is_whole
    }

    /// What it comes down to for a choice of weight, the strongest evidence first.
    pub(crate) fn verdicts(&self, of: WeightChoice) -> &[Verdict] {
        let n = WeightChoice::ALL.iter().position(|o| *o == of).unwrap_or(0);
        &self.verdicts[n]
    }

    /// The outline of what a verdict tells of.
    pub(crate) fn outline_of(&self, verdict: &Verdict) -> Option<&ReadOutline> {
        match verdict.told {
            Pattern::ScourLine(n) => self.scour_lines.get(n),
            Pattern::DropZone(n) | Pattern::HotSpot(n) => self.spots.get(n),
        }
    }

    /// Everything that has an outline, in painter's order.
    pub(crate) fn outlines(&self) -> impl Iterator<Item = &ReadOutline> {
        self.scour_lines.iter().chain(&self.spots).chain(&self.clusters)
    }

    /// The outline of an item of the reading.
    pub(crate) fn outline(&self, item: Item) -> Option<&ReadOutline> {
        self.outlines().find(|o| o.item == item)
    }
}

fn placed(land: &Land, places: &[LonLat]) -> Vec<DrawnPlace> {
    places.iter().filter_map(|p| land.placing.of_lonlat(*p).ok()).collect()
}

fn finds(uids: &[Uid]) -> BTreeSet<Item> {
    uids.iter().map(|u| Item::Find(*u)).collect()
}

fn prefix(of: WeightChoice) -> &'static str {
    match of {
        WeightChoice::All => "",
        WeightChoice::Heavy => "heavy ",
        WeightChoice::Light => "light ",
    }
}

/// Storms this long before a find are behind it, days: as scour lines count them.
const STORM_DAYS: i64 = 60;

/// Makes outlines from what was read and the book it was read from.
struct Outliner<'a> {
    book: &'a ReadingTables,
    land: &'a Land,
}

impl Outliner<'_> {
    fn outline(
        &self,
        item: Item,
        of: WeightChoice,
        places: &[LonLat],
        label: String,
        uids: &[Uid],
        level: Option<LevelRange>,
    ) -> ReadOutline {
        let places = placed(self.land, places);
        let range = |axis: usize| {
            let values = places.iter().map(|b| f64::from(b[1][axis]));
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let across_m = range(1);
        let found = || uids.iter().filter_map(|u| self.book.finds().get(u));
        let storms = self.book.storms_of(self.land.setting.beach.uid).into_iter().filter(|storm| {
            let Some((_, end)) = storm.span() else { return false };
            let since_s = |t: Timestamp| t.as_second() - end.as_second();
            found().filter_map(|f| f.time).any(|t| (0..=STORM_DAYS * 86_400).contains(&since_s(t)))
        });
        ReadOutline {
            item,
            of,
            label,
            members: finds(uids),
            along_m: range(0),
            across_m: [across_m; 2],
            land_m: level.map(|l| (l.low_m, l.high_m)),
            outings: found().filter_map(|f| f.outing).collect(),
            storms: storms.map(|s| s.uid).collect(),
            places,
        }
    }

    fn cluster(&self, item: Item, c: &Cluster) -> ReadOutline {
        self.outline(item, c.of, &c.hull, format!("{}cluster {}", prefix(c.of), c.number), &c.uids, c.level)
    }

    fn spot(&self, n: usize, s: &HotSpot, reading: &Reading) -> ReadOutline {
        let zone = reading.drop_zones.iter().find(|z| s.of == WeightChoice::All && z.hot_spot == s.number);
        let label = match zone {
            Some(zone) => {
                let near = zone.near.first().map_or_else(String::new, |near| format!(" · {}", near.name));
                format!("drop zone {}{near}", s.number)
            }
            None => format!("{}hot spot {}", prefix(s.of), s.number),
        };
        self.outline(Item::HotSpot(n), s.of, &s.outline, label, &s.uids, s.level)
    }

    /// A line has no width of its own; at each end it lies where the line does.
    fn scour_line(&self, n: usize, s: &ScourLine) -> ReadOutline {
        let label = format!("scour line {} · {:.0} m", s.number, s.length_m);
        let mut made = self.outline(Item::ScourLine(n), WeightChoice::Heavy, &s.line, label, &s.uids, s.level);
        let mut ends: Vec<(f64, f64)> = made.places.iter().map(|b| (f64::from(b[1][0]), f64::from(b[1][1]))).collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let (Some(a), Some(b)) = (ends.first(), ends.last()) {
            made.across_m = [(a.1, a.1), (b.1, b.1)];
        }
        made
    }
}
