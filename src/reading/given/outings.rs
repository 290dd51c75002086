use std::collections::BTreeMap;

use jiff::Timestamp;

use super::ground::Ground;
use super::placed::{Placed, PlacedFinds};
use super::visits::Visits;
use crate::book::Uid;

/// One outing with the ground it swept.
pub(in crate::reading) struct OutingGround {
    pub(in crate::reading) uid: Uid,
    pub(in crate::reading) start: Timestamp,
    pub(in crate::reading) end: Timestamp,
    /// Ground swept, m²: in all, then by band.
    pub(in crate::reading) swept_m2: Vec<f64>,
}

/// The outings whose ground is known, in order of time, and on which of them each find was made.
pub(in crate::reading) struct Outings<'a> {
    pub(in crate::reading) all: Vec<OutingGround>,
    /// By find of [`PlacedFinds`]; `None` for one of no such outing: it has no effort to be divided by.
    pub(in crate::reading) of_find: Vec<Option<usize>>,
    /// The band that the middle of each square of the ground covered lies in.
    pub(in crate::reading) band_of_square: &'a [Option<usize>],
    /// What each did square by square, where ground covered is known.
    pub(in crate::reading) visits: Option<&'a Visits<'a>>,
    /// Its place in `all`, for each outing of the visits.
    of_visits: Vec<Option<usize>>,
}

impl<'a> Outings<'a> {
    pub(in crate::reading) fn new(ground: &Ground, laid: &PlacedFinds, visits: Option<&'a Visits<'a>>) -> Self {
        let band_of_square = visits.map_or(&[][..], |v| v.band_of_square());
        let parts = ground.setting.bands.len() + 1;
        let known = |uid: &Option<Uid>| ground.book.outings().get(uid.as_ref()?);
        let uids = visits.map_or(&[][..], Visits::outings);
        let mut swept_m2 = vec![vec![0.0; parts]; uids.len()];
        for square in 0..ground.covered.map_or(0, |c| c.cells.len()) {
            let band = band_of_square.get(square).copied().flatten();
            for (n, visit) in visits.iter().flat_map(|v| v.to(square)) {
                swept_m2[n][0] += visit.swept_m2;
                if let Some(band) = band {
                    swept_m2[n][1 + band] += visit.swept_m2;
                }
            }
        }
        let told = uids.iter().zip(swept_m2).filter_map(|(uid, swept_m2)| {
            let outing = known(uid)?;
            Some(OutingGround { uid: outing.uid, start: outing.start, end: outing.end, swept_m2 })
        });
        let mut all: Vec<OutingGround> = told.collect();
        all.sort_by_key(|o| (o.start, o.uid));
        let place_of: BTreeMap<Uid, usize> = all.iter().enumerate().map(|(n, o)| (o.uid, n)).collect();
        let outing_of = |f: &Placed| match (f.outing, f.time) {
            (Some(outing), _) => place_of.get(&outing).copied(),
            (None, Some(time)) => all.iter().position(|o| o.start <= time && time <= o.end),
            (None, None) => None,
        };
        let of_find = laid.finds.iter().map(outing_of).collect();
        let of_visits = uids.iter().map(|uid| place_of.get(uid.as_ref()?).copied()).collect();
        Self { all, of_find, band_of_square, visits, of_visits }
    }

    /// The place in `all` of an outing of the visits.
    pub(in crate::reading) fn of_visits(&self, number: usize) -> Option<usize> {
        self.of_visits.get(number).copied().flatten()
    }
}
