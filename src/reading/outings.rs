use std::collections::BTreeMap;

use jiff::Timestamp;

use super::Ground;
use super::ground::{Laid, Placed};
use super::visits::Visits;
use crate::book::Uid;
use crate::shore::ShorePoint;

/// One outing with the ground it swept.
pub(super) struct OutingGround {
    pub(super) uid: Uid,
    pub(super) start: Timestamp,
    pub(super) end: Timestamp,
    /// Ground swept, m²: in all, then by band.
    pub(super) swept_m2: Vec<f64>,
}

/// The outings whose ground is known, in order of time, and on which of them each find was made.
pub(super) struct Outings<'a> {
    pub(super) all: Vec<OutingGround>,
    /// By find of [`Laid`]; `None` for one of no such outing: it has no effort to be divided by.
    pub(super) of_find: Vec<Option<usize>>,
    /// The band that the middle of each square of the ground covered lies in.
    pub(super) band_of_square: Vec<Option<usize>>,
    /// What each did square by square, where ground covered is known.
    pub(super) visits: Option<Visits<'a>>,
    place_of: BTreeMap<Uid, usize>,
}

impl<'a> Outings<'a> {
    pub(super) fn new(ground: &Ground<'a>, laid: &Laid) -> Self {
        let band_of_square = band_of_square(ground);
        let mut all: Vec<OutingGround> = Vec::new();
        let parts = ground.setting.bands.len() + 1;
        let mut place_of = BTreeMap::new();
        for visit in ground.covered.iter().flat_map(|c| &c.visits) {
            let Some(outing) = visit.outing.and_then(|o| ground.book.outings().get(&o)) else { continue };
            let n = *place_of.entry(outing.uid).or_insert_with(|| {
                let (uid, start, end) = (outing.uid, outing.start, outing.end);
                all.push(OutingGround { uid, start, end, swept_m2: vec![0.0; parts] });
                all.len() - 1
            });
            all[n].swept_m2[0] += visit.swept_m2;
            if let Some(band) = band_of_square.get(visit.cell).copied().flatten() {
                all[n].swept_m2[1 + band] += visit.swept_m2;
            }
        }
        all.sort_by_key(|o| (o.start, o.uid));
        let place_of: BTreeMap<Uid, usize> = all.iter().enumerate().map(|(n, o)| (o.uid, n)).collect();
        let outing_of = |f: &Placed| match (f.outing, f.time) {
            (Some(outing), _) => place_of.get(&outing).copied(),
            (None, Some(time)) => all.iter().position(|o| o.start <= time && time <= o.end),
            (None, None) => None,
        };
        let of_find = laid.finds.iter().map(outing_of).collect();
        Self { all, of_find, band_of_square, visits: ground.covered.map(Visits::of), place_of }
    }

    /// The place of an outing in `all`.
    pub(super) fn place_of(&self, outing: Uid) -> Option<usize> {
        self.place_of.get(&outing).copied()
    }
}

/// For each square of the ground covered, the band of the setting that its middle lies in.
fn band_of_square(ground: &Ground) -> Vec<Option<usize>> {
    let Some((shore, offset_m)) = ground.shore().zip(ground.setting.beach.datum_offset_m) else { return Vec::new() };
    let band = |cell: &super::CoveredCell| {
        let level = shore.sand_level(shore.to_local(ShorePoint::new(cell.along_m, cell.across_m)))?;
        ground.setting.bands.iter().position(|b| b.holds(level.land_m + offset_m))
    };
    ground.covered.iter().flat_map(|c| &c.cells).map(band).collect()
}
