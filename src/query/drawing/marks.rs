use std::collections::BTreeMap;
use std::sync::Arc;

use rstar::primitives::GeomWithData;
use rstar::{AABB, Envelope as _, RTree};

use super::{DrawnPlace, DrawnPoint, Placing, Pyramid};
use crate::Progress;
use crate::book::part::part;
use crate::book::{Find, KindGroup, Uid, Weight};
use crate::query::Item;

part! {
    /// What has a mark.
    pub struct MarkTables: finds, signals;
}

part! {
    /// What has a trace.
    pub struct TraceTables: tracks;
}

/// The sign a mark is drawn with: weight first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum MarkShape {
    /// Heard and not dug: an open ring.
    Undug,
    /// Iron and rubbish: a short bar.
    Rubbish,
    /// Light: a small disc.
    Light,
    /// Weight not known: a small open square.
    Unknown,
    /// Heavy: a filled diamond.
    Heavy,
    /// Possible ordnance: a filled triangle.
    Danger,
}

/// A find or a signal on the drawing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mark {
    pub(crate) item: Item,
    /// The outing on which it was found or heard.
    pub(crate) outing: Option<Uid>,
    pub(crate) at: DrawnPlace,
    pub(crate) shape: MarkShape,
    /// Radius factor, 1 for a usual one; grows with mass when known.
    pub(crate) size: f32,
    /// Metres along and across; NaN without a baseline.
    pub(crate) along_m: f32,
    pub(crate) across_m: f32,
    /// Level of the sand where it lay, above the land datum, metres; NaN when not known.
    pub(crate) land_m: f32,
}

type Leaf = GeomWithData<[f32; 2], u32>;

/// Where a mark stands, and its shape.
pub(crate) struct Spot {
    pub(crate) at: DrawnPlace,
    pub(crate) shape: MarkShape,
}

/// Every find and signal of a beach, in painter's order: heavy ones last.
#[derive(Default)]
pub(crate) struct Marks {
    /// Another one for all marks placed.
    pub(crate) serial: u64,
    pub(crate) all: Vec<Mark>,
    /// Of each of them, what is gone through whenever the view moves, close together.
    pub(crate) spots: Vec<Spot>,
    /// One tree for each lay.
    trees: [RTree<Leaf>; 2],
    places: BTreeMap<Item, usize>,
    /// Places in `all` of what lies along a baseline, by metres along.
    by_along: Vec<u32>,
    /// Places in `all` of what each outing brought, in painter's order.
    by_outing: BTreeMap<Uid, Vec<u32>>,
    /// Finds and signals too far away to be drawn.
    pub(crate) strays: usize,
}

impl Marks {
    /// The marks of a beach.
    ///
    /// # Errors
    /// When the work was called off.
    pub(crate) fn placed(book: &MarkTables, beach: Uid, placing: &Placing, progress: &Progress) -> Result<Self, String> {
        let finds = book.finds_of(beach).map(|f| (Item::Find(f.uid), f.outing, f.at, shape_of(f), size_of(f)));
        let signals = book.signals_of(beach).map(|s| (Item::Signal(s.uid), s.outing, s.at, MarkShape::Undug, 1.0));
        let mut made = Self { serial: super::next_serial(), ..Self::default() };
        for (n, (item, outing, position, shape, size)) in finds.chain(signals).enumerate() {
            if n % 1000 == 0 {
                progress.check().map_err(|e| e.to_string())?;
            }
            let Ok(at) = placing.of_lonlat(position) else {
                made.strays += 1;
                continue;
            };
            let local = placing.to_local(0, at[0]);
            let (along_m, across_m, land_m) = placing.shore().map_or((f32::NAN, f32::NAN, f32::NAN), |s| {
                let p = s.to_shore(local);
                (p.along_m as f32, p.across_m as f32, s.sand_level(local).map_or(f32::NAN, |l| l.land_m as f32))
            });
            made.all.push(Mark { item, outing, at, shape, size, along_m, across_m, land_m });
        }
        made.all.sort_by(|a, b| a.shape.cmp(&b.shape).then_with(|| a.item.cmp(&b.item)));
        made.spots = made.all.iter().map(|m| Spot { at: m.at, shape: m.shape }).collect();
        made.places = made.all.iter().enumerate().map(|(i, m)| (m.item, i)).collect();
        made.by_along = (0..made.all.len() as u32).filter(|i| !made.all[*i as usize].along_m.is_nan()).collect();
        made.by_along.sort_by(|a, b| made.all[*a as usize].along_m.total_cmp(&made.all[*b as usize].along_m));
        for (i, mark) in made.all.iter().enumerate() {
            if let Some(outing) = mark.outing {
                made.by_outing.entry(outing).or_default().push(i as u32);
            }
        }
        made.trees = [0, 1].map(|lay: usize| {
            RTree::bulk_load(made.all.iter().enumerate().map(|(i, m)| Leaf::new(m.at[lay], i as u32)).collect())
        });
        Ok(made)
    }

    /// The marks between two corners, in painter's order.
    pub(crate) fn within(&self, lay: usize, low: DrawnPoint, high: DrawnPoint) -> Vec<&Mark> {
        self.numbers_within(lay, low, high).into_iter().filter_map(|i| self.all.get(i as usize)).collect()
    }

    /// The places in `all` of the marks between two corners, in painter's order.
    pub(crate) fn numbers_within(&self, lay: usize, low: DrawnPoint, high: DrawnPoint) -> Vec<u32> {
        let (view, tree) = (AABB::from_corners(low, high), &self.trees[lay]);
        if view.contains_envelope(&tree.root().envelope()) {
            return (0..self.all.len() as u32).collect();
        }
        let mut found: Vec<u32> = tree.locate_in_envelope(view).map(|leaf| leaf.data).collect();
        found.sort_unstable();
        found
    }

    /// The places in `all` of the marks from one place along to another, metres, in painter's order.
    pub(crate) fn numbers_along(&self, from_m: f32, to_m: f32) -> Vec<u32> {
        let before = |m: f32| self.by_along.partition_point(|i| self.all[*i as usize].along_m < m);
        let mut found = self.by_along[before(from_m)..before(to_m.next_up()).max(before(from_m))].to_vec();
        found.sort_unstable();
        found
    }

    /// The places in `all` of what an outing brought, in painter's order.
    pub(crate) fn numbers_of(&self, outing: Uid) -> &[u32] {
        self.by_outing.get(&outing).map_or(&[], Vec::as_slice)
    }

    /// The place in `all` of an item's mark.
    pub(crate) fn number(&self, item: Item) -> Option<u32> {
        self.places.get(&item).map(|n| *n as u32)
    }

    /// The mark of an item.
    pub(crate) fn get(&self, item: Item) -> Option<&Mark> {
        self.all.get(*self.places.get(&item)?)
    }
}

fn shape_of(find: &Find) -> MarkShape {
    if find.kind.group() == KindGroup::Danger {
        return MarkShape::Danger;
    }
    if find.kind.is_rubbish() {
        return MarkShape::Rubbish;
    }
    match find.weight_class() {
        Weight::Heavy => MarkShape::Heavy,
        Weight::Light => MarkShape::Light,
        Weight::Unknown => MarkShape::Unknown,
    }
}

/// A mark's area grows with the cube root of mass, 8 g (about a coin) being usual.
fn size_of(find: &Find) -> f32 {
    find.mass_g.map_or(1.0, |g| ((g / 8.0).max(1e-3).powf(1.0 / 6.0) as f32).clamp(0.75, 1.8))
}

/// A track ready to draw.
pub(crate) struct Trace {
    pub(crate) outing: Option<Uid>,
    pub(crate) pyramid: Pyramid,
}

/// Every track of a beach.
#[derive(Default)]
pub(crate) struct Traces {
    /// Another one for all tracks placed.
    pub(crate) serial: u64,
    pub(crate) all: Vec<Trace>,
}

impl Traces {
    /// The places in `all` of the tracks of some outings.
    pub(crate) fn of_outings(&self, takes: impl Fn(Uid) -> bool) -> Vec<u32> {
        let of = self.all.iter().enumerate().filter(|(_, t)| t.outing.is_some_and(&takes));
        of.map(|(n, _)| n as u32).collect()
    }

    /// The tracks of a beach.
    ///
    /// # Errors
    /// When the work was called off.
    pub(crate) fn placed(book: &TraceTables, beach: Uid, placing: &Placing, progress: &Progress) -> Result<Self, String> {
        let mut all = Vec::new();
        for track in book.tracks_of(beach) {
            progress.check().map_err(|e| e.to_string())?;
            let place =
                |segment: &Arc<[crate::book::TrackPoint]>| segment.iter().filter_map(|p| placing.of_lonlat(p.at).ok()).collect();
            let runs: Vec<Vec<DrawnPlace>> = track.segments.iter().map(place).collect();
            all.push(Trace { outing: track.outing, pyramid: Pyramid::build(&runs) });
        }
        Ok(Self { serial: super::next_serial(), all })
    }
}
