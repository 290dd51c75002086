use std::collections::BTreeMap;

use jiff::Timestamp;

use super::Exposure;
use crate::book::Uid;
use crate::reading::given::{Ground, PlacedFinds, Visits};

/// One outing with the ground it swept.
pub(in crate::reading) struct OutingGround {
    pub(in crate::reading) uid: Uid,
    pub(in crate::reading) start: Timestamp,
    pub(in crate::reading) end: Timestamp,
    /// Ground swept, m²: in all, then by band.
    pub(in crate::reading) swept_m2: Vec<f64>,
    /// The same in m² of rested ground.
    pub(in crate::reading) exposure_m2: Vec<f64>,
}

/// The outings whose ground is known, in order of time, and on which of them each find counts.
pub(in crate::reading) struct Outings<'a> {
    pub(in crate::reading) all: Vec<OutingGround>,
    /// By find of [`PlacedFinds`]; `None` for one that is set apart: it has no exposure to be divided by.
    pub(in crate::reading) of_find: Vec<Option<usize>>,
    /// The band that the middle of each square of the ground covered lies in.
    pub(in crate::reading) band_of_square: &'a [Option<usize>],
    /// What each did square by square, where ground covered is known.
    pub(in crate::reading) visits: Option<&'a Visits<'a>>,
    pub(in crate::reading) exposure: Option<&'a Exposure<'a>>,
    /// Its place in `all`, for each outing of the visits.
    of_visits: Vec<Option<usize>>,
}

impl<'a> Outings<'a> {
    pub(in crate::reading) fn new(ground: &Ground, laid: &PlacedFinds, exposure: Option<&'a Exposure<'a>>) -> Self {
        let visits = exposure.map(|e| e.visits);
        let band_of_square = visits.map_or(&[][..], |v| v.band_of_square());
        let parts = ground.setting.bands.len() + 1;
        let known = |uid: &Option<Uid>| ground.book.outings().get(uid.as_ref()?);
        let uids = visits.map_or(&[][..], Visits::outings);
        let mut swept_m2 = vec![vec![0.0; parts]; uids.len()];
        let mut exposure_m2 = swept_m2.clone();
        for (square, exposure) in (0..ground.covered.map_or(0, |c| c.cells.len())).filter_map(|n| Some((n, exposure?))) {
            let band = band_of_square.get(square).copied().flatten();
            let rested = &exposure.of_visit[exposure.visits.numbers(square)];
            for (visit, rested_m2) in exposure.visits.to(square).iter().zip(rested) {
                let (n, rested_m2) = (visit.outing as usize, f64::from(*rested_m2));
                for part in [Some(0), band.map(|b| b + 1)].into_iter().flatten() {
                    swept_m2[n][part] += visit.swept_m2;
                    exposure_m2[n][part] += rested_m2;
                }
            }
        }
        let told = uids.iter().zip(swept_m2.into_iter().zip(exposure_m2)).filter_map(|(uid, (swept_m2, exposure_m2))| {
            let outing = known(uid)?;
            Some(OutingGround { uid: outing.uid, start: outing.start, end: outing.end, swept_m2, exposure_m2 })
        });
        let mut all: Vec<OutingGround> = told.collect();
        all.sort_by_key(|o| (o.start, o.uid));
        let place_of: BTreeMap<Uid, usize> = all.iter().enumerate().map(|(n, o)| (o.uid, n)).collect();
        let of_visits: Vec<Option<usize>> = uids.iter().map(|uid| place_of.get(uid.as_ref()?).copied()).collect();
        let of_find = match exposure {
            Some(e) => e.of_find.iter().map(|at| of_visits[at.as_ref()?.outing as usize]).collect(),
            None => vec![None; laid.finds.len()],
        };
        Self { all, of_find, band_of_square, visits, exposure, of_visits }
    }

    /// The place in `all` of an outing of the visits.
    pub(in crate::reading) fn of_visits(&self, number: usize) -> Option<usize> {
        self.of_visits.get(number).copied().flatten()
    }
}
