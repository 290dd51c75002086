use std::collections::BTreeMap;

use jiff::Timestamp;

use super::{Expected, Place, Worth};
use crate::chance::Shapes;
use crate::earth::Local;
use crate::reading::{CellReading, Covered, Rate, Reading, Yield};
use crate::shore::{Setting, Shore, ShorePoint};

/// Worth of ground after a reading: the rate of its cell, drawn towards that of its band by as much as the cell is
/// little known itself; the band's where the cell was not searched; where the band was hardly searched, the beach's.
/// Without rates, the density of a band's finds; and where nothing was found at all, a stand-in.
pub struct ByBand<'a> {
    shore: Option<&'a Shore>,
    offset_m: f64,
    bands: Vec<(Option<f64>, Option<f64>, Expected)>,
    elsewhere: Expected,
    rates: usize,
    prior_per_100m2: f64,
    cells: Option<Cells<'a>>,
    covered: Option<Grid>,
    detection: f64,
    day_variance: f64,
}

/// The cells of a reading, for quick look-up.
struct Cells<'a> {
    cell_m: f64,
    by_place: BTreeMap<Place, &'a CellReading>,
    /// Coefficient of variation of the rates of cells.
    cv: f64,
    /// Days in which about two thirds of what was taken come back.
    days: Option<f64>,
}

/// Squares of ground covered, for quick look-up.
struct Grid {
    cell_m: f64,
    passes: BTreeMap<Place, (f64, f64)>,
}

impl<'a> ByBand<'a> {
    /// From a reading; `prior` is the stand-in, finds that lie on 100 m², `detection` the chance that one pass
    /// finds what lies there. What was covered counts where the reading has no cells of its own.
    pub fn new(
        setting: &'a Setting,
        reading: Option<&'a Reading>,
        covered: Option<&Covered>,
        prior_per_100m2: f64,
        detection: f64,
    ) -> Self {
        let prior = Expected::new(prior_per_100m2 * detection, prior_per_100m2 * detection);
        let cells = reading.and_then(Cells::known);
        // What holds for ground that was searched says little of a band that was not: as unsure as it is large.
        let mean = reading.map_or(0.0, |r| r.cells.mean_per_100m2);
        let elsewhere = if cells.is_some() && mean > 0.0 { Expected::new(mean, mean) } else { prior };
        let mut rates = 0;
        let bands = reading.into_iter().flat_map(|r| &r.bands).map(|b| {
            let by_rate = by_rate(&b.gave, mean);
            rates += usize::from(by_rate.is_some());
            let density = || if cells.is_some() && mean > 0.0 { None } else { by_density(&b.gave) };
            (b.low_m, b.high_m, by_rate.or_else(density).unwrap_or(elsewhere))
        });
        let bands = bands.collect();
        let covered = covered.filter(|_| cells.is_none()).map(|c| Grid {
            cell_m: c.cell_m,
            passes: c.cells.iter().map(|s| (square(s.along_m, s.across_m, c.cell_m), (s.swept_m2, s.passes))).collect(),
        });
        let shore = setting.shore.as_ref().ok().map(AsRef::as_ref);
        let offset_m = setting.beach.datum_offset_m.unwrap_or(0.0);
        // Where no outing tells, what is held of days before anything is seen.
        let day_variance =
            reading.and_then(|r| r.differ).map_or_else(|| Shapes::default().variance(), |d| d.outings_cv * d.outings_cv);
        Self { shore, offset_m, bands, elsewhere, rates, prior_per_100m2, cells, covered, detection, day_variance }
    }

    /// What the band of a place gives.
    fn band(&self, at: Local) -> Expected {
        let Some(level) = self.shore.and_then(|s| s.sand_level(at)) else { return self.elsewhere };
        let tide_m = level.land_m + self.offset_m;
        let holds = |low: &Option<f64>, high: &Option<f64>| low.is_none_or(|l| tide_m >= l) && high.is_none_or(|h| tide_m < h);
        self.bands.iter().find(|(low, high, _)| holds(low, high)).map_or(self.elsewhere, |(_, _, e)| *e)
    }

    fn along_shore(&self, at: Local) -> Option<ShorePoint> {
        self.shore.map(|s| s.to_shore(at))
    }
}

fn square(along_m: f64, across_m: f64, cell_m: f64) -> Place {
    ((along_m / cell_m).floor() as i64, (across_m / cell_m).floor() as i64)
}

/// What a band's rate says, where enough ground was covered for one. It is drawn towards the beach's by as much as
/// one find is worth, so that a band without any is poor and not barren.
fn by_rate(gave: &Yield, mean_per_100m2: f64) -> Option<Expected> {
    let rate: Rate = gave.rate.filter(|_| !gave.too_little)?;
    let over = if rate.finds > 0.0 && rate.per_100m2 > 0.0 { rate.finds / rate.per_100m2 } else { rate.exposure_m2 / 100.0 };
    let drawn = (rate.finds + 1.0) / (over + 1.0 / mean_per_100m2);
    let per_100m2 = if mean_per_100m2 > 0.0 { drawn } else { rate.per_100m2 };
    // A 95 % interval spans about four standard deviations.
    Some(Expected::new(per_100m2, (rate.high - rate.low) / 4.0))
}

/// What a band's density says. It says where one walked as much as where things lie: as unsure as it is large.
fn by_density(gave: &Yield) -> Option<Expected> {
    gave.density_per_100m2.filter(|_| gave.counts.finds > 0).map(|d| Expected::new(d, d))
}

impl Grid {
    /// What the coil left that went over a place, of what lay there.
    fn left(&self, s: ShorePoint, detection: f64) -> f64 {
        let Some((swept_m2, passes)) = self.passes.get(&square(s.along_m, s.across_m, self.cell_m)) else { return 1.0 };
        let share = (swept_m2 / (self.cell_m * self.cell_m)).clamp(0.0, 1.0);
        1.0 - share * (1.0 - (1.0 - detection).powf(passes.max(1.0)))
    }
}

impl<'a> Cells<'a> {
    fn known(reading: &'a Reading) -> Option<Self> {
        let cells = &reading.cells;
        if cells.cells.is_empty() || cells.cell_m.is_nan() || cells.cell_m <= 0.0 {
            return None;
        }
        let by_place = cells.cells.iter().map(|c| (square(c.along_m, c.across_m, cells.cell_m), c)).collect();
        let cv = reading.differ.map_or(0.0, |d| d.cells_cv);
        Some(Self { cell_m: cells.cell_m, by_place, cv, days: reading.renewal.and_then(|r| r.days) })
    }

    fn at(&self, s: ShorePoint) -> Option<&'a CellReading> {
        self.by_place.get(&square(s.along_m, s.across_m, self.cell_m)).copied()
    }

    /// The rate of a place in a band: the gamma posterior of its cell about the band's rate.
    fn expected(&self, band: Expected, s: ShorePoint) -> Expected {
        if self.cv <= 0.0 || band.per_100m2 <= 0.0 {
            return band;
        }
        let shape = 1.0 / (self.cv * self.cv);
        let (count, over) = self.at(s).map_or((0.0, 0.0), |c| (f64::from(c.counted), c.exposure_m2 / 100.0));
        let (count, over) = (shape + count, shape / band.per_100m2 + over);
        let per_100m2 = count / over;
        Expected {
            per_100m2,
            sd_per_100m2: band.sd_per_100m2 * per_100m2 / band.per_100m2,
            own_sd_per_100m2: count.sqrt() / over,
        }
    }

    /// What earlier visits left at a place, and what has come back since.
    fn left(&self, s: ShorePoint, when: Timestamp) -> f64 {
        let Some(cell) = self.at(s) else { return 1.0 };
        let since_days = cell.last_s.map_or(0.0, |last_s| (when.as_second() as f64 - last_s).max(0.0) / 86_400.0);
        let gone = self.days.map_or(1.0, |days| (-since_days / days).exp());
        1.0 - (1.0 - cell.left.clamp(0.0, 1.0)) * gone
    }
}

impl Worth for ByBand<'_> {
    fn expected(&self, at: Local, when: Timestamp) -> Expected {
        let band = self.band(at);
        let Some(s) = self.along_shore(at) else { return band };
        match (&self.cells, &self.covered) {
            (Some(cells), _) => cells.expected(band, s).times(cells.left(s, when)),
            (None, Some(grid)) => band.times(grid.left(s, self.detection)),
            (None, None) => band,
        }
    }

    fn place(&self, at: Local) -> Place {
        match (self.along_shore(at), &self.cells) {
            (Some(s), Some(cells)) => square(s.along_m, s.across_m, cells.cell_m),
            _ => (0, 0),
        }
    }

    fn day_variance(&self) -> f64 {
        self.day_variance
    }

    fn said(&self) -> String {
        let covered = match (&self.cells, &self.covered) {
            (Some(Cells { days: Some(days), .. }), _) => {
                format!("what earlier visits took counts as gone, two thirds of it back in {days:.0} days")
            }
            (Some(_), _) => "what earlier visits took counts as gone".to_owned(),
            (None, Some(_)) => "ground covered before counts less".to_owned(),
            (None, None) => "no ground counts as covered before".to_owned(),
        };
        let days = format!("days differ by {:.0} % beyond luck", 100.0 * self.day_variance.sqrt());
        match (self.bands.len(), self.rates) {
            (0, _) if self.cells.is_none() => format!(
                "Nothing is known of where finds lie: {} per 100 m² stand in everywhere; {covered}; {days}.",
                self.prior_per_100m2
            ),
            (0, _) => format!("Finds to be expected are the rates of cells, and the beach's mean elsewhere; {covered}; {days}."),
            (all, 0) if self.cells.is_none() => format!(
                "Finds to be expected are the densities of the {all} bands, as no rates are known; they say where one walked as much as where things lie; {covered}; {days}."
            ),
            (all, n) => format!(
                "Finds to be expected are the rates of cells that were searched, and of {n} of {all} bands elsewhere; the beach's mean in the other bands; {covered}; {days}."
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(along_m: f64, counted: u32, exposure_m2: f64) -> CellReading {
        let told = serde_json::json!({
            "along_m": along_m, "across_m": 5.0, "finds": counted, "heavy_non_ferrous": 0, "light_non_ferrous": counted, "signals": 0,
            "counted": counted, "swept_m2": 100.0, "rested_m2": exposure_m2, "left": 0.4, "last_s": 86_400.0, "again_m2": 0.0,
            "drawn_per_100m2_rested": 1.0, "low": 0.5, "high": 2.0,
        });
        serde_json::from_value(told).unwrap()
    }

    #[test]
    fn a_cell_that_gave_more_than_its_band_is_worth_more_but_not_all_of_it() {
        let (rich, plain) = (cell(5.0, 16, 400.0), cell(15.0, 4, 400.0));
        let by_place = [((0, 0), &rich), ((1, 0), &plain)].into_iter().collect();
        let cells = Cells { cell_m: 10.0, by_place, cv: 0.8, days: Some(10.0) };
        let band = Expected::new(1.0, 0.1);
        let [rich, plain, unknown] = [5.0, 15.0, 95.0].map(|a| cells.expected(band, ShorePoint::new(a, 5.0)));
        assert!(rich.per_100m2 > 2.0 && rich.per_100m2 < 4.0, "{rich:?}");
        assert!((plain.per_100m2 - 1.0).abs() < 1e-9 && (unknown.per_100m2 - 1.0).abs() < 1e-9, "{plain:?} {unknown:?}");
        // What was not searched may be anything that cells are.
        assert!((unknown.own_sd_per_100m2 - 0.8).abs() < 1e-9 && plain.own_sd_per_100m2 < 0.5);
    }

    #[test]
    fn what_was_taken_comes_back_with_time() {
        let one = cell(5.0, 4, 400.0);
        let cells = |days| Cells { cell_m: 10.0, by_place: [((0, 0), &one)].into_iter().collect(), cv: 0.0, days };
        let at = |days: i64| Timestamp::from_second(86_400 * (1 + days)).unwrap();
        let s = ShorePoint::new(5.0, 5.0);
        assert!((cells(Some(10.0)).left(s, at(0)) - 0.4).abs() < 1e-9);
        assert!((cells(Some(10.0)).left(s, at(10)) - (1.0 - 0.6 * (-1.0_f64).exp())).abs() < 1e-9);
        assert!((cells(None).left(s, at(100)) - 0.4).abs() < 1e-9);
        assert!((cells(Some(10.0)).left(ShorePoint::new(50.0, 5.0), at(0)) - 1.0).abs() < 1e-9);
    }
}
