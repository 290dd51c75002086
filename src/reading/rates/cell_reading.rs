//! What each cell of a grid along and across the shore gave: its rate, from [`CellRates`], with what was
//! found and heard in it and how much of it was swept again. O(squares + visits + finds).

use serde::{Deserialize, Serialize};

use super::cell_rates::{CellRate, CellRates, side_for};
use crate::reading::exposure::Exposure;
use crate::reading::given::{Counts, Ground, PlacedFinds, WeightChoice};
use crate::reading::params::Params;
use crate::shore::ShorePoint;

/// What one square of the beach gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellReading {
    /// Its middle, metres along.
    pub along_m: f64,
    /// Its middle, metres across.
    pub across_m: f64,
    /// Finds in it, by weight.
    #[serde(flatten)]
    pub counts: Counts,
    /// Signals left undug in it.
    pub signals: usize,
    /// Finds among them that are not set apart.
    #[serde(default)]
    pub counted: u32,
    /// Ground in it swept at least once, m².
    pub swept_m2: f64,
    /// What it was searched in all, each outing by what its day gave elsewhere, m² of rested ground.
    #[serde(default, rename = "rested_m2")]
    pub exposure_m2: f64,
    /// Share of what lies there that the last visit left, 0 to 1, ...
    #[serde(default)]
    pub left: f64,
    /// ... and when that was, seconds since 1970; `None` when no outing there has a date.
    #[serde(default)]
    pub last_s: Option<f64>,
    /// Ground swept by an outing where an earlier one had been, m²; each outing counts.
    pub again_m2: f64,
    /// Finds per 100 m² of a visit to rested ground, drawn towards the mean of the beach.
    #[serde(rename = "drawn_per_100m2_rested")]
    pub drawn_per_100m2: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end of its 95 % interval.
    pub high: f64,
}

/// The squares on which ground was swept, and the side they have, metres.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Cells {
    /// Side of a square, metres; coarser than asked for where there would be too many.
    pub cell_m: f64,
    /// Mean rate of all of them, finds per 100 m² of a visit to rested ground.
    #[serde(rename = "mean_per_100m2_rested")]
    pub mean_per_100m2: f64,
    /// The squares, by along and then by across.
    pub cells: Vec<CellReading>,
}

/// No more squares than this are told.
const MOST_CELLS: usize = 20_000;

/// Lays what was found, heard and swept on a grid, and adds to its rates who found what, and when, there.
pub(in crate::reading) fn cells(
    ground: &Ground,
    laid: &PlacedFinds,
    exposure: Option<&Exposure>,
    params: &Params,
) -> (Cells, Option<CellRates>) {
    let none = || (Cells::default(), None);
    let Some(((shore, covered), exposure)) = ground.shore().zip(ground.covered).zip(exposure) else { return none() };
    let cell_m = side_for(covered, params.rate_cell_m.max(covered.cell_m), MOST_CELLS);
    let places: Vec<ShorePoint> = laid.finds.iter().map(|f| shore.to_shore(f.at)).collect();
    let Some(rates) = CellRates::fitted(exposure, laid, WeightChoice::All, cell_m) else { return none() };
    let mut cells: Vec<CellReading> = rates.cells.iter().map(|c| CellReading::from_rate(c, cell_m)).collect();
    for (find, place) in laid.finds.iter().zip(places) {
        if let Some(cell) = rates.number_at(place).and_then(|n| cells.get_mut(n)) {
            cell.counts = cell.counts.and(Counts::tally([find]));
        }
    }
    for signal in &laid.signals {
        if let Some(cell) = rates.number_at(shore.to_shore(signal.at)).and_then(|n| cells.get_mut(n)) {
            cell.signals += 1;
        }
    }
    let cell_of: Vec<Option<usize>> =
        covered.cells.iter().map(|c| rates.number_at(ShorePoint::new(c.along_m, c.across_m))).collect();
    for visit in &covered.visits {
        if let Some(cell) = cell_of.get(visit.cell).copied().flatten().and_then(|n| cells.get_mut(n)) {
            cell.again_m2 += (visit.swept_m2 - visit.fresh_m2).max(0.0);
        }
    }
    let mut weight = vec![0.0; cells.len()];
    for (square, cell) in cell_of.iter().enumerate().filter_map(|(n, c)| Some((n, (*c)?))) {
        let (left, last_s) = exposure.left(square);
        let m2 = exposure.visits.swept_m2(square);
        let of = &mut cells[cell];
        of.left = (of.left * weight[cell] + left * m2) / (weight[cell] + m2).max(1e-9);
        weight[cell] += m2;
        of.last_s = of.last_s.into_iter().chain(last_s).reduce(f64::max);
    }
    cells.sort_by(|a, b| a.along_m.total_cmp(&b.along_m).then(a.across_m.total_cmp(&b.across_m)));
    (Cells { cell_m, mean_per_100m2: rates.mean_per_100m2, cells }, Some(rates))
}

impl CellReading {
    /// A cell with its rate and nothing told of what was found in it yet.
    fn from_rate(c: &CellRate, cell_m: f64) -> Self {
        Self {
            along_m: (c.column as f64 + 0.5) * cell_m,
            across_m: (c.row as f64 + 0.5) * cell_m,
            counts: Counts::default(),
            signals: 0,
            counted: c.finds,
            swept_m2: c.swept_m2,
            exposure_m2: c.exposure_m2,
            left: 0.0,
            last_s: None,
            again_m2: 0.0,
            drawn_per_100m2: c.per_100m2,
            low: c.low,
            high: c.high,
        }
    }
}
