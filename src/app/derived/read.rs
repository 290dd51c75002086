use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{Both, Land};
use crate::Progress;
use crate::app::shown::ReadAsk;
use crate::app::state::Item;
use crate::book::{Book, Uid};
use crate::earth::LonLat;
use crate::reading::{self, Cluster, Covered, Ground, HotSpot, Of, Params, Reading, ScourLine};

/// Something read, on the drawing: the ring of a cluster or spot, or the line of a scour line.
pub(crate) struct ReadOutline {
    pub(crate) item: Item,
    pub(crate) of: Of,
    pub(crate) places: Vec<Both>,
    /// Its name on the drawing and on its card.
    pub(crate) label: String,
    pub(crate) members: BTreeSet<Item>,
}

/// A reading with what the views draw of it.
pub(crate) struct Read {
    pub(crate) reading: Reading,
    /// Numbered as in the reading.
    pub(crate) clusters: Vec<ReadOutline>,
    /// Hot spots, drop zones among them; numbered as in the reading.
    pub(crate) spots: Vec<ReadOutline>,
    /// Numbered as in the reading.
    pub(crate) scour_lines: Vec<ReadOutline>,
    pub(crate) band_members: Vec<BTreeSet<Item>>,
}

impl Read {
    /// Reads a beach from a snapshot of the book and the ground its tracks covered.
    ///
    /// # Errors
    /// A sentence when a setting cannot be used or the work was called off.
    pub(crate) fn of(
        book: &Book,
        land: &Land,
        covered: Option<&Covered>,
        ask: ReadAsk,
        now: Timestamp,
        progress: &Progress,
    ) -> Result<Self, String> {
        let ground = Ground { book, setting: &land.setting, covered, now: Some(now) };
        let params = Params { cluster_distance_m: ask.radius_m, cluster_points: ask.least, ..Params::default() };
        let reading = reading::read(&ground, &params, progress).map_err(|e| e.to_string())?;
        Ok(Self {
            clusters: reading.clusters.iter().enumerate().map(|(n, c)| cluster(Item::Cluster(n), c, land)).collect(),
            spots: reading.hot_spots.iter().enumerate().map(|(n, s)| spot(n, s, &reading, land)).collect(),
            scour_lines: reading.scour_lines.iter().enumerate().map(|(n, s)| scour_line(n, s, land)).collect(),
            band_members: band_members(book, land.setting.beach.uid, land),
            reading,
        })
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

fn placed(land: &Land, places: &[LonLat]) -> Vec<Both> {
    places.iter().filter_map(|p| land.placing.of(*p).ok()).collect()
}

fn finds(uids: &[Uid]) -> BTreeSet<Item> {
    uids.iter().map(|u| Item::Find(*u)).collect()
}

fn prefix(of: Of) -> &'static str {
    match of {
        Of::All => "",
        Of::Heavy => "heavy ",
        Of::Light => "light ",
    }
}

fn cluster(item: Item, c: &Cluster, land: &Land) -> ReadOutline {
    let label = format!("{}cluster {}", prefix(c.of), c.number);
    ReadOutline { item, of: c.of, places: placed(land, &c.hull), label, members: finds(&c.uids) }
}

fn spot(n: usize, s: &HotSpot, reading: &Reading, land: &Land) -> ReadOutline {
    let zone = reading.drop_zones.iter().find(|z| s.of == Of::All && z.hot_spot == s.number);
    let label = match zone {
        Some(zone) => {
            let near = zone.near.first().map_or_else(String::new, |near| format!(" · {}", near.name));
            format!("drop zone {}{near}", s.number)
        }
        None => format!("{}hot spot {}", prefix(s.of), s.number),
    };
    ReadOutline { item: Item::HotSpot(n), of: s.of, places: placed(land, &s.outline), label, members: finds(&s.uids) }
}

fn scour_line(n: usize, s: &ScourLine, land: &Land) -> ReadOutline {
    let label = format!("scour line {} · {:.0} m", s.number, s.length_m);
    ReadOutline { item: Item::ScourLine(n), of: Of::Heavy, places: placed(land, &s.line), label, members: finds(&s.uids) }
}

/// The finds of each band, by their own level of the sand.
fn band_members(book: &Book, beach: Uid, land: &Land) -> Vec<BTreeSet<Item>> {
    let mut members = vec![BTreeSet::new(); land.setting.bands.len()];
    let Some((shore, offset_m)) = land.placing.shore().zip(land.setting.beach.datum_offset_m) else { return members };
    for find in book.finds_of(beach) {
        let level = shore.frame().to_local(find.at).ok().and_then(|p| shore.sand_level(p));
        let band = level.and_then(|l| land.setting.bands.iter().position(|b| b.holds(l.land_m + offset_m)));
        if let Some(band) = band.and_then(|n| members.get_mut(n)) {
            band.insert(Item::Find(find.uid));
        }
    }
    members
}
