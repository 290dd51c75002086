use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{Both, Land};
use crate::Progress;
use crate::app::shown::ReadAsk;
use crate::app::state::Item;
use crate::book::{Book, Uid};
use crate::reading::{self, Cluster, Ground, Of, Params, Reading};

/// A cluster on the drawing.
pub(crate) struct ReadOutline {
    pub(crate) of: Of,
    pub(crate) ring: Vec<Both>,
    /// Its name on the drawing and on its card.
    pub(crate) label: String,
    pub(crate) members: BTreeSet<Item>,
}

/// A reading with what the views draw of it; outlines and bands are numbered as in the reading.
pub(crate) struct Read {
    pub(crate) reading: Reading,
    pub(crate) outlines: Vec<ReadOutline>,
    pub(crate) band_members: Vec<BTreeSet<Item>>,
}

impl Read {
    /// Reads a beach from a snapshot of the book.
    ///
    /// # Errors
    /// A sentence when a setting cannot be used or the work was called off.
    pub(crate) fn of(
        book: &Book,
        beach: Uid,
        land: &Land,
        ask: ReadAsk,
        now: Timestamp,
        progress: &Progress,
    ) -> Result<Self, String> {
        let ground = Ground { book, setting: &land.setting, covered: None, now: Some(now) };
        let params = Params { cluster_distance_m: ask.radius_m, cluster_points: ask.least, ..Params::default() };
        let reading = reading::read(&ground, &params, progress).map_err(|e| e.to_string())?;
        let outlines = reading.clusters.iter().map(|c| outline(c, land)).collect();
        let mut band_members = vec![BTreeSet::new(); reading.bands.len()];
        if let (Some(shore), Some(offset_m)) = (land.placing.shore(), land.setting.beach.datum_offset_m) {
            for find in book.finds_of(beach) {
                let level = shore.frame().to_local(find.at).ok().and_then(|p| shore.sand_level(p));
                let band = level.and_then(|l| land.setting.bands.iter().position(|b| b.holds(l.land_m + offset_m)));
                if let Some(members) = band.and_then(|n| band_members.get_mut(n)) {
                    members.insert(Item::Find(find.uid));
                }
            }
        }
        Ok(Self { reading, outlines, band_members })
    }
}

fn outline(cluster: &Cluster, land: &Land) -> ReadOutline {
    let what = match cluster.of {
        Of::All => "cluster",
        Of::Heavy => "heavy cluster",
        Of::Light => "light cluster",
    };
    ReadOutline {
        of: cluster.of,
        ring: cluster.hull.iter().filter_map(|p| land.placing.of(*p).ok()).collect(),
        label: format!("{what} {}", cluster.number),
        members: cluster.uids.iter().map(|u| Item::Find(*u)).collect(),
    }
}
