mod undug;

pub use undug::WithUndug;

use std::collections::BTreeMap;

use crate::book::FindTables;
use crate::earth::Local;
use crate::reading::{Covered, Rate, Reading, Shrinkage, Yield};
use crate::shore::{Setting, Shore, ShorePoint};

/// Finds to be expected on fresh ground, per 100 m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// The mean.
    pub per_100m2: f64,
    /// Its standard deviation: how little is known.
    pub sd_per_100m2: f64,
}

/// What ground is worth: the reading answers, or anything else that knows.
pub trait Worth: Sync {
    /// Finds to be expected at a place of the beach's plane.
    fn expected(&self, at: Local) -> Expected;
    /// Share of what lies there that is still to be found, 0 to 1.
    fn fresh(&self, at: Local) -> f64;
    /// Where the figures come from, as a sentence.
    fn said(&self) -> String;
}

/// Worth of ground by the rate of its band, after a reading; where too little ground was covered, by the
/// density of its finds; and where nothing was found at all, by a stand-in.
pub struct ByBand<'a> {
    shore: Option<&'a Shore>,
    offset_m: f64,
    bands: Vec<(Option<f64>, Option<f64>, Expected)>,
    prior: Expected,
    covered: Option<Grid>,
    detection: f64,
    rates: usize,
    places: Option<Places>,
}

/// Side of the squares in which a band's finds are told apart, metres.
const PLACE_M: f64 = 20.0;
/// A square with less ground covered than this (a quarter of it) says nothing of its own, m²: the finds of the rest
/// of it would be laid to what was covered.
const LEAST_SWEPT_M2: f64 = 100.0;

/// How squares of the beach gave against what their band's rate would have given: each drawn towards the mean by
/// empirical Bayes, the more the less of it was covered.
struct Places {
    ratio: Shrinkage,
    /// Finds, and finds that the band's rate would have given, by square along and across.
    seen: BTreeMap<(i64, i64), (f64, f64)>,
}

/// Squares of ground covered, for quick look-up.
struct Grid {
    cell_m: f64,
    passes: BTreeMap<(i64, i64), (f64, f64)>,
}

impl<'a> ByBand<'a> {
    /// From a reading; `prior` is the stand-in, finds per 100 m², `detection` the chance that one pass
    /// finds what lies there.
    pub fn new(
        setting: &'a Setting,
        reading: Option<&Reading>,
        covered: Option<&Covered>,
        prior_per_100m2: f64,
        detection: f64,
    ) -> Self {
        let prior = Expected { per_100m2: prior_per_100m2, sd_per_100m2: prior_per_100m2 };
        let mut rates = 0;
        let bands = reading.into_iter().flat_map(|r| &r.bands).map(|b| {
            let known = known(&b.gave);
            rates += usize::from(known.is_some_and(|(_, by_rate)| by_rate));
            (b.low_m, b.high_m, known.map_or(prior, |(e, _)| e))
        });
        let bands = bands.collect();
        let covered = covered.map(|c| Grid {
            cell_m: c.cell_m,
            passes: c.cells.iter().map(|s| (square(s.along_m, s.across_m, c.cell_m), (s.swept_m2, s.passes))).collect(),
        });
        let shore = setting.shore.as_ref().ok().map(AsRef::as_ref);
        let offset_m = setting.beach.datum_offset_m.unwrap_or(0.0);
        Self { shore, offset_m, bands, prior, covered, detection, rates, places: None }
    }

    /// Tells the squares of a band apart by what they gave.
    #[must_use]
    pub fn by_place(mut self, book: impl Into<FindTables>, setting: &Setting) -> Self {
        let book = book.into();
        let (Some(shore), Some(grid)) = (self.shore, &self.covered) else { return self };
        let mut seen: BTreeMap<(i64, i64), (f64, f64, f64)> = BTreeMap::new();
        for (&(along, across), (swept_m2, _)) in &grid.passes {
            let middle = |n: i64| (n as f64 + 0.5) * grid.cell_m;
            let (along_m, across_m) = (middle(along), middle(across));
            let per_m2 = self.band(shore.to_local(ShorePoint::new(along_m, across_m))).per_100m2 / 100.0;
            let one = seen.entry(square(along_m, across_m, PLACE_M)).or_default();
            (one.1, one.2) = (one.1 + per_m2 * swept_m2, one.2 + swept_m2);
        }
        for find in book.finds().values().filter(|f| f.beach == setting.beach.uid) {
            let Some(s) = shore.frame().to_local(find.at).ok().map(|p| shore.to_shore(p)) else { continue };
            if let Some(one) = seen.get_mut(&square(s.along_m, s.across_m, PLACE_M)) {
                one.0 += 1.0;
            }
        }
        seen.retain(|_, (_, given, swept_m2)| *swept_m2 >= LEAST_SWEPT_M2 && *given > 0.0);
        let seen: BTreeMap<(i64, i64), (f64, f64)> = seen.into_iter().map(|(k, (finds, given, _))| (k, (finds, given))).collect();
        let (finds, given): (Vec<f64>, Vec<f64>) = seen.values().copied().unzip();
        self.places = Shrinkage::from_counts(&finds, &given).map(|ratio| Places { ratio, seen });
        self
    }

    /// What the band of a place gives.
    fn band(&self, at: Local) -> Expected {
        let Some(level) = self.shore.and_then(|s| s.sand_level(at)) else { return self.prior };
        let tide_m = level.land_m + self.offset_m;
        let holds = |low: &Option<f64>, high: &Option<f64>| low.is_none_or(|l| tide_m >= l) && high.is_none_or(|h| tide_m < h);
        self.bands.iter().find(|(low, high, _)| holds(low, high)).map_or(self.prior, |(_, _, e)| *e)
    }
}

fn square(along_m: f64, across_m: f64, cell_m: f64) -> (i64, i64) {
    ((along_m / cell_m).floor() as i64, (across_m / cell_m).floor() as i64)
}

/// What a band's yield says, and whether by its rate.
fn known(gave: &Yield) -> Option<(Expected, bool)> {
    // A 95 % interval spans about four standard deviations.
    let of = |r: &Rate| Expected { per_100m2: r.per_100m2, sd_per_100m2: (r.high - r.low) / 4.0 };
    match &gave.rate {
        Some(rate) if !gave.too_little => Some((of(rate), true)),
        _ => gave
            .density_per_100m2
            .filter(|_| gave.counts.finds > 0)
            // A density says where one walked as much as where things lie: as unsure as it is large.
            .map(|d| (Expected { per_100m2: d, sd_per_100m2: d }, false)),
    }
}

impl Places {
    /// A band's rate as this square changes it.
    fn expected(&self, band: Expected, square: (i64, i64)) -> Expected {
        // Where nothing was covered the square may be anything that squares are.
        let (ratio, sd) = match self.seen.get(&square) {
            Some(&(finds, given)) => {
                let (low, high) = self.ratio.interval(finds, given);
                (self.ratio.rate(finds, given), (high - low) / 4.0)
            }
            None => (1.0, self.ratio.variance.sqrt()),
        };
        Expected { per_100m2: band.per_100m2 * ratio, sd_per_100m2: (band.sd_per_100m2 * ratio).hypot(band.per_100m2 * sd) }
    }
}

impl Worth for ByBand<'_> {
    fn expected(&self, at: Local) -> Expected {
        let band = self.band(at);
        let (Some(shore), Some(places)) = (self.shore, &self.places) else { return band };
        let s = shore.to_shore(at);
        places.expected(band, square(s.along_m, s.across_m, PLACE_M))
    }

    fn fresh(&self, at: Local) -> f64 {
        let (Some(shore), Some(grid)) = (self.shore, &self.covered) else { return 1.0 };
        let s = shore.to_shore(at);
        let Some((swept_m2, passes)) = grid.passes.get(&square(s.along_m, s.across_m, grid.cell_m)) else { return 1.0 };
        let share = (swept_m2 / (grid.cell_m * grid.cell_m)).clamp(0.0, 1.0);
        1.0 - share * (1.0 - (1.0 - self.detection).powf(passes.max(1.0)))
    }

    fn said(&self) -> String {
        let covered =
            if self.covered.is_some() { "ground covered before counts less" } else { "no ground counts as covered before" };
        match (self.bands.len(), self.rates) {
            (0, _) => format!(
                "Nothing is known of where finds lie: {} per 100 m² stand in everywhere; {covered}.",
                self.prior.per_100m2
            ),
            (all, 0) => format!(
                "Finds to be expected are the densities of the {all} bands, as no rates are known; they say where one walked as much as where things lie; {covered}."
            ),
            (all, n) => {
                let places = if self.places.is_some() { ", changed by what each square gave against its band" } else { "" };
                format!("Finds to be expected are the rates of {n} of {all} bands, and densities elsewhere{places}; {covered}.")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_that_gave_more_than_its_band_is_worth_more_but_not_all_of_it() {
        let given = 4.0;
        let seen: BTreeMap<(i64, i64), (f64, f64)> =
            (0..40).map(|n| ((n, 0), (if n < 4 { 16.0 } else { 3.0 + (n % 3) as f64 }, given))).collect();
        let (finds, expected): (Vec<f64>, Vec<f64>) = seen.values().copied().unzip();
        let places = Places { ratio: Shrinkage::from_counts(&finds, &expected).unwrap(), seen };
        let band = Expected { per_100m2: 1.0, sd_per_100m2: 0.1 };
        let (rich, plain, unknown) =
            (places.expected(band, (0, 0)), places.expected(band, (10, 0)), places.expected(band, (99, 9)));
        assert!(rich.per_100m2 > 2.0 && rich.per_100m2 < 4.0, "{rich:?}");
        assert!(plain.per_100m2 < unknown.per_100m2 + 0.3 && unknown.per_100m2 == 1.0);
        // What is not known is the least sure.
        assert!(unknown.sd_per_100m2 > plain.sd_per_100m2);
    }
}
