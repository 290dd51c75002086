//! The one exposure that every rate, verdict and forecast stands on.
//!
//! Exposure is told in m² of *rested ground*: what a single visit would sweep once of ground that nobody has searched
//! lately. An outing's exposure in a place is the ground it swept there, times what earlier visits had left, times what
//! its passes find over what one pass finds. A find counts against the exposure of its own outing and of no other; a
//! find without any (no track of that outing, off its track, one of many noted at one and the same position) is set
//! apart: it is counted and told, and enters no rate and no verdict.
//!
//! Outings differ, by the day, the searcher and the set-up, beyond what exposure explains. Each has a gamma effect
//! ([`Shapes`]); the outing is what there are many of, not the find.

mod apart;
mod field;
mod known;
mod outings;
mod renewal;
mod stays;

pub use apart::Apart;
pub use renewal::Renewal;

pub use known::KnownGround;

pub(super) use field::{Field, by_cell, finds_in};
pub(super) use outings::Outings;

use std::ops::Deref;
use std::sync::Arc;

use jiff::tz::TimeZone;
use rayon::prelude::*;

use super::given::{Ground, OneVisit, Placed, PlacedFinds, Visits, WeightChoice};
use super::params::Params;
use crate::book::Uid;
use crate::chance::{Group, Shapes};
use crate::shore::ShorePoint;
use apart::Standing;
use stays::NO_STAY;

/// Where a find is counted: its outing, by its place among [`Visits::outings`], and the square of ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CountedAt {
    pub(super) outing: u32,
    pub(super) square: u32,
    /// Whether most of what its outing swept near it was fresh; `None` when it swept nothing there.
    pub(super) fresh: Option<bool>,
}

/// The exposure of every visit, and where each find is counted against it; with the visits it is an [`Exposure`].
pub(super) struct Exposed {
    pub(super) field: Arc<Field>,
    /// For each of [`Visits::all`], m² of rested ground.
    pub(super) of_visit: Vec<f32>,
    /// For each find of [`PlacedFinds`]; `None` for those set apart.
    pub(super) of_find: Vec<Option<CountedAt>>,
    pub(super) apart: Apart,
    pub(super) renewal: Renewal,
    /// How much outings differ, for each choice of finds in order of [`WeightChoice::ALL`].
    shapes: Vec<Shapes>,
    /// For each cell of the field what was left there, and when it was last searched.
    left: Vec<(f64, Option<f64>)>,
}

/// The exposure of every visit, beside the visits.
#[derive(Clone, Copy)]
pub(super) struct Exposure<'a> {
    pub(super) visits: &'a Visits<'a>,
    exposed: &'a Exposed,
}

impl Deref for Exposure<'_> {
    type Target = Exposed;
    fn deref(&self) -> &Exposed {
        self.exposed
    }
}

/// A find is laid to ground that its outing swept within this of it, metres: receivers err by some metres, on either.
const REACH_M: [f64; 3] = [0.5, 3.0, 6.0];
/// With fewer outings than this how much they differ is not known from themselves, and verdicts rest on what lies
/// within outings alone.
pub(super) const LEAST_OUTINGS: usize = 6;

impl Exposed {
    /// What the finds make of the stays on known ground; `None` where none was swept or the beach has no shape.
    pub(super) fn new(
        ground: &Ground,
        laid: &PlacedFinds,
        visits: &Visits,
        known: &KnownGround,
        params: &Params,
    ) -> Option<Self> {
        let shore = ground.shore()?;
        let (field, stays) = known.stays()?;
        let field = Arc::clone(field);
        let by_time = ByTime::new(ground, visits);
        let heaps: Vec<bool> = laid.finds.iter().map(|f| f.pinned).collect();
        let standing = |n: usize| {
            let (find, at) = (&laid.finds[n], shore.to_shore(laid.finds[n].at));
            let known = visits.number_of(find.outing).or_else(|| by_time.outing(find));
            let Some(outing) = known else { return Standing::WithoutTrack };
            // The squares looked through for the one are at hand for the other.
            let counted = |square| CountedAt { outing: outing as u32, square, fresh: is_fresh(visits, at, outing) };
            nearest(visits, outing, at).map_or(Standing::OffTrack, |square| Standing::On(counted(square as u32)))
        };
        let standings: Vec<Standing> = (0..laid.finds.len()).into_par_iter().map(standing).collect();
        let apart = Apart::tally(&standings, &heaps);
        let counted = |(standing, heaped): (&Standing, &bool)| match standing {
            Standing::On(at) if !heaped => Some(*at),
            _ => None,
        };
        let of_find: Vec<Option<CountedAt>> = standings.iter().zip(&heaps).map(counted).collect();
        let in_stay = |at: &CountedAt| stays.at(field.of_square[at.square as usize]? as u32, at.outing);
        let found_in: Vec<usize> = of_find.iter().flatten().filter_map(in_stay).collect();
        let renewal = renewal::likeliest(stays, visits.outings().len(), &found_in, params.detection_per_pass);
        let of_stay = stays.exposure(renewal.found_per_pass, renewal.days);
        let left = stays.left(renewal.found_per_pass, renewal.days, field.swept_m2.len());
        let share = |(visit, stay): (&OneVisit, &u32)| match stays.all.get(*stay as usize) {
            Some(s) if *stay != NO_STAY && s.swept_m2 > 0.0 => of_stay[*stay as usize] * visit.swept_m2 as f32 / s.swept_m2,
            _ => 0.0,
        };
        let of_visit = visits.all().par_iter().zip(&stays.of_visit).map(share).collect();
        let mut exposed = Self { field, of_visit, of_find, apart, renewal, shapes: Vec::new(), left };
        let exposure = exposed.beside(visits);
        let shapes = WeightChoice::ALL
            .into_par_iter()
            .map(|of| Shapes::from_groups(&exposure.groups(laid, of, |_| true, |_| true)))
            .collect();
        exposed.shapes = shapes;
        Some(exposed)
    }

    /// The same beside the visits, which must be those it was made of.
    pub(super) fn beside<'a>(&'a self, visits: &'a Visits<'a>) -> Exposure<'a> {
        Exposure { visits, exposed: self }
    }

    /// How much outings differ in what they gave of some finds.
    pub(super) fn shapes(&self, of: WeightChoice) -> &Shapes {
        &self.shapes[of.place()]
    }

    /// Share of what lies about a square that its last visit left, 0 to 1, and when that was, seconds since 1970.
    pub(super) fn left(&self, square: usize) -> (f64, Option<f64>) {
        self.field.of_square[square].map_or((1.0, None), |cell| self.left[cell])
    }

    /// The cell of the field in which a find is counted.
    pub(super) fn cell_of(&self, find: usize) -> Option<usize> {
        self.field.of_square[self.of_find[find]?.square as usize]
    }
}

impl Exposure<'_> {
    /// How many outings there are; tracks of none count as one.
    pub(super) fn outings(&self) -> usize {
        self.visits.outings().len()
    }

    /// The exposure of each outing in some squares, m² of rested ground.
    pub(super) fn by_outing(&self, squares: impl Iterator<Item = usize>) -> Vec<f64> {
        let mut by_outing = vec![0.0; self.outings()];
        for square in squares {
            for (visit, m2) in self.visits.to(square).iter().zip(&self.of_visit[self.visits.numbers(square)]) {
                by_outing[visit.outing as usize] += f64::from(*m2);
            }
        }
        by_outing
    }

    /// Counts and exposure by outing of the whole ground: of the finds and the squares that are taken.
    pub(super) fn groups(
        &self,
        laid: &PlacedFinds,
        of: WeightChoice,
        find: impl Fn(usize) -> bool,
        square: impl Fn(usize) -> bool,
    ) -> Vec<Group> {
        let squares = (0..self.field.of_square.len()).filter(|n| square(*n));
        let mut groups: Vec<Group> = self.by_outing(squares).into_iter().map(|e| Group::new(0.0, e)).collect();
        for (n, (f, at)) in laid.finds.iter().zip(&self.of_find).enumerate() {
            if let Some(at) = at
                && of.takes(f.weight)
                && find(n)
            {
                groups[at.outing as usize].count += 1.0;
            }
        }
        groups
    }

    /// The exposure of every visit as outing, cell and m²; `cells` tells where a square lies and by which shares.
    pub(super) fn pieces<'e, C: Iterator<Item = (u32, f32)>>(
        &'e self,
        cells: impl Fn(usize) -> C + 'e,
    ) -> impl Iterator<Item = (u32, u32, f32)> + 'e {
        (0..self.visits.squares()).flat_map(move |square| {
            let own = cells(square).flat_map(move |(cell, share)| {
                let exposures = &self.of_visit[self.visits.numbers(square)];
                self.visits.to(square).iter().zip(exposures).map(move |(visit, m2)| (visit.outing, cell, share * m2))
            });
            own.collect::<Vec<_>>()
        })
    }
}

/// The outings by the time of the day, for finds that name none.
struct ByTime {
    /// Start, end and number.
    spans: Vec<(jiff::Timestamp, jiff::Timestamp, usize)>,
    /// Where no outing is told apart, all ground is of one.
    only: Option<usize>,
    /// The beach's clock, by which a day is told.
    zone: TimeZone,
}

impl ByTime {
    fn new(ground: &Ground, visits: &Visits) -> Self {
        let known = |(n, uid): (usize, &Option<Uid>)| {
            let outing = ground.book.outings().get(uid.as_ref()?)?;
            Some((outing.start, outing.end, n))
        };
        let mut spans: Vec<_> = visits.outings().iter().enumerate().filter_map(known).collect();
        spans.sort_unstable();
        let only = (visits.outings() == [None]).then_some(0);
        Self { spans, only, zone: ground.setting.beach.zone().unwrap_or(TimeZone::UTC) }
    }

    fn outing(&self, find: &Placed) -> Option<usize> {
        if self.only.is_some() {
            return self.only;
        }
        // A find of an outing without a track is of no other.
        let time = find.time.filter(|_| find.outing.is_none())?;
        if let Some(minute) = find.minute {
            return self.spans.iter().find(|(start, end, _)| *start <= minute && minute <= *end).map(|s| s.2);
        }
        // Of a day alone, the only outing of that day.
        let day = |t: jiff::Timestamp| self.zone.to_datetime(t).date();
        let mut of_day = self.spans.iter().filter(|(start, end, _)| day(*start) <= day(time) && day(time) <= day(*end));
        match (of_day.next(), of_day.next()) {
            (Some(only), None) => Some(only.2),
            _ => None,
        }
    }
}

/// Finds belong to ground swept within this of them, metres: a receiver's error.
const NEAR_M: f64 = 3.0;

/// Whether most of what the outing swept near a find was fresh; `None` when it swept nothing there.
fn is_fresh(visits: &Visits, at: ShorePoint, outing: usize) -> Option<bool> {
    let (mut fresh, mut swept) = (0.0, 0.0);
    for (_, visit) in visits.of_outing_near(outing, at, NEAR_M, NEAR_M) {
        fresh += visit.fresh_m2;
        swept += visit.swept_m2;
    }
    (swept > 0.0).then_some(2.0 * fresh >= swept)
}

/// The nearest square that an outing swept, within reach of a place.
fn nearest(visits: &Visits, outing: usize, at: ShorePoint) -> Option<usize> {
    let off_m = |n: usize| {
        let m = visits.middle(n);
        let half = 0.5 * visits.cell_m();
        ((m.along_m - at.along_m).abs() - half).max(0.0).hypot(((m.across_m - at.across_m).abs() - half).max(0.0))
    };
    REACH_M.iter().find_map(|reach| {
        let near = visits.of_outing_near(outing, at, *reach, *reach);
        near.map(|(n, _)| (off_m(n), n))
            .filter(|(m, _)| m <= reach)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .map(|n| n.1)
    })
}
