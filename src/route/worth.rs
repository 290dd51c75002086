use crate::earth::Local;
use crate::reading::{Covered, Rate, Reading, Yield};
use crate::shore::{Setting, Shore};

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
}

/// Squares of ground covered, for quick look-up.
struct Grid {
    cell_m: f64,
    passes: std::collections::BTreeMap<(i64, i64), (f64, f64)>,
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
        Self { shore, offset_m: setting.beach.datum_offset_m.unwrap_or(0.0), bands, prior, covered, detection, rates }
    }
}

fn square(along_m: f64, across_m: f64, cell_m: f64) -> (i64, i64) {
    ((along_m / cell_m).floor() as i64, (across_m / cell_m).floor() as i64)
}

/// What a band's yield says, and whether by its rate.
fn known(gave: &Yield) -> Option<(Expected, bool)> {
    // A 95 % interval spans about four standard deviations.
    let of = |r: &Rate| Expected { per_100m2: r.rate_per_100m2, sd_per_100m2: (r.high - r.low) / 4.0 };
    match &gave.rate {
        Some(rate) if !gave.too_little => Some((of(rate), true)),
        _ => gave
            .density_per_100m2
            .filter(|_| gave.counts.finds > 0)
            // A density says where one walked as much as where things lie: as unsure as it is large.
            .map(|d| (Expected { per_100m2: d, sd_per_100m2: d }, false)),
    }
}

impl Worth for ByBand<'_> {
    fn expected(&self, at: Local) -> Expected {
        let Some(level) = self.shore.and_then(|s| s.sand_level(at)) else { return self.prior };
        let tide_m = level.land_m + self.offset_m;
        let holds = |low: &Option<f64>, high: &Option<f64>| low.is_none_or(|l| tide_m >= l) && high.is_none_or(|h| tide_m < h);
        self.bands.iter().find(|(low, high, _)| holds(low, high)).map_or(self.prior, |(_, _, e)| *e)
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
            (all, n) => format!("Finds to be expected are the rates of {n} of {all} bands, and densities elsewhere; {covered}."),
        }
    }
}
