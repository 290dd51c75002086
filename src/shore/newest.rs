use rstar::{RTree, primitives::GeomWithData};

use crate::book::LevelPoint;
use crate::earth::Frame;

/// The levels that still hold: those of older surveys go where a newer one was taken nearby.
///
/// Surveys are taken day by day, newest first; a level is dropped when a level of a later day lies
/// within `within_m` metres. Levels without a date are older than any with one. The order of the
/// input is kept. Positions that cannot belong to the beach are left out.
pub fn newest_levels<'a>(frame: &Frame, levels: impl IntoIterator<Item = &'a LevelPoint>, within_m: f64) -> Vec<&'a LevelPoint> {
    let mut placed: Vec<_> = levels
        .into_iter()
        .enumerate()
        .filter_map(|(n, level)| frame.to_local(level.at).ok().map(|p| (n, [p.east_m, p.north_m], level)))
        .collect();
    // `None` sorts before any day, so the reversed order ends with it.
    placed.sort_by_key(|(n, _, level)| (std::cmp::Reverse(level.date), *n));
    let mut tree: RTree<GeomWithData<[f64; 2], ()>> = RTree::new();
    let mut kept = Vec::with_capacity(placed.len());
    for day in placed.chunk_by(|a, b| a.2.date == b.2.date) {
        let fresh: Vec<_> =
            day.iter().filter(|(_, p, _)| tree.locate_within_distance(*p, within_m * within_m).next().is_none()).collect();
        for (_, p, _) in &fresh {
            tree.insert(GeomWithData::new(*p, ()));
        }
        kept.extend(fresh.iter().map(|(n, _, level)| (*n, *level)));
    }
    kept.sort_by_key(|(n, _)| *n);
    kept.into_iter().map(|(_, level)| level).collect()
}
