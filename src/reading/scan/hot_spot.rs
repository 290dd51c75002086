use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::asked::Window;
use super::gi_star::gi_star;
use super::grid::ExposureGrid;
use super::run::{ScanRun, settings};
use super::statistic::scan_since;
use super::trend::allow_for_trend;
use super::window::{Shape, ellipses};
use crate::Progress;
use crate::book::Uid;
use crate::earth::LonLat;
use crate::reading::error::ReadingError;
use crate::reading::exposure::{Exposure, Field, by_cell, finds_in};
use crate::reading::given::{
    Counts, Ground, KindCount, LevelRange, Placed, PlacedFinds, WeightChoice, kinds_of, level_range, main_band, outings_of,
};
use crate::reading::params::Params;
use crate::reading::rates::{Part, Rate, surer};
use crate::shore::{Shore, ShorePoint};

/// Ground where finds are more than the searching done and luck explain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HotSpot {
    /// Which finds.
    pub of: WeightChoice,
    /// Its number, strongest first, from 1.
    pub number: usize,
    /// Middle of the window.
    pub centre: LonLat,
    /// Middle of the window by the shore.
    pub shore: ShorePoint,
    /// Half its length along the shore, metres.
    pub half_along_m: f64,
    /// Half its width across the shore, metres.
    pub half_across_m: f64,
    /// The ellipse, anticlockwise or clockwise as the shore runs, the first position repeated.
    pub outline: Vec<LonLat>,
    /// The finds in it, in order of uid.
    pub uids: Vec<Uid>,
    /// How many of all weights lie in it.
    #[serde(flatten)]
    pub counts: Counts,
    /// What they are, most frequent first.
    pub kinds: Vec<KindCount>,
    /// Finds of the kind scanned for.
    pub seen: usize,
    /// As many as its share of the searching would give, on the days on which it was done.
    pub expected: f64,
    /// Seen over expected.
    pub ratio: f64,
    /// Rate of the finds scanned for.
    pub rate: Option<Rate>,
    /// Log likelihood ratio against even ground, beyond the margin for effort misjudged.
    pub log_likelihood_ratio: f64,
    /// Chance of a window as strong anywhere on a beach of even rate.
    pub p: f64,
    /// The same after all scans of the reading were allowed for (Benjamini & Hochberg).
    pub q: f64,
    /// Getis-Ord Gi* score of its middle, a second opinion: above 1.96 supports it.
    pub gi_star: f64,
    /// Levels of the sand at its finds.
    pub level: Option<LevelRange>,
    /// The band most of its finds lie in.
    pub band: Option<String>,
    /// Signals left undug in it; not among the finds.
    #[serde(default)]
    pub signals: usize,
    /// On how many outings its finds were made.
    pub outings: usize,
    /// What would make it surer.
    pub surer: String,
    /// Where its middle is: by what is near, its coordinates, and how far from which end.
    #[serde(default)]
    pub place: String,
}

/// Half widths of the windows, metres: none so small that a receiver's error would empty it.
pub(in crate::reading) const HALF_WIDTHS_M: [f64; 4] = [5.0, 8.0, 12.0, 18.0];
/// Lengths along the shore over widths across it.
pub(in crate::reading) const STRETCHES: [f64; 3] = [1.0, 2.0, 4.0];
/// A place where things are lost reaches no further to either side along the shore, metres.
pub(in crate::reading) const COMPACT_M: f64 = 25.0;
/// What the scans for hot spots gave: the runs, and every window worth a look with its run.
pub(in crate::reading) struct Found {
    pub(in crate::reading) runs: Vec<ScanRun>,
    pub(in crate::reading) spots: Vec<HotSpot>,
}

/// Scans all, heavy and light finds. The q-values are set later, when all scans are known.
pub(in crate::reading) fn hot_spots(
    ground: &Ground,
    laid: &PlacedFinds,
    exposure: &Exposure,
    params: &Params,
    progress: &Progress,
) -> Result<Found, ReadingError> {
    let none = || Found { runs: Vec::new(), spots: Vec::new() };
    let Some(shore) = ground.shore() else { return Ok(none()) };
    let field = &exposure.field;
    // Half widths that catch the same cells are one.
    let mut halves: Vec<f64> = HALF_WIDTHS_M.iter().map(|m| m / field.cell_m).filter(|h| *h >= 0.5).collect();
    halves.dedup();
    let shapes: Vec<Shape> = STRETCHES.iter().map(|s| ellipses(*s, &halves)).collect();
    let cell_of: Vec<Option<usize>> = (0..laid.finds.len()).map(|n| exposure.cell_of(n)).collect();
    let by_cell = by_cell(&cell_of, field.swept_m2.len());
    let signals: Vec<Option<usize>> = laid.signals.iter().map(|s| field.cell_at(shore.to_shore(s.at))).collect();
    let mut squares_of = vec![Vec::new(); field.swept_m2.len()];
    field.of_square.iter().zip(0_u32..).filter_map(|(c, n)| Some((*c.as_ref()?, n))).for_each(|(c, n)| squares_of[c].push(n));
    let place = Place { ground, laid, shore, exposure, by_cell: &by_cell, signals: &signals, squares_of: &squares_of };
    let pieces = exposure.pieces(|square| field.of_square[square].map(|c| (c as u32, 1.0)).into_iter());
    let nothing = std::iter::empty();
    let as_swept = ExposureGrid::new(field.across_count, field.swept_m2.len(), exposure.outings(), pieces, nothing);
    let finds_of = |of: WeightChoice| {
        let taken = |n: &usize| of.takes(laid.finds[*n].weight);
        let finds = (0..laid.finds.len()).filter(taken).filter_map(|n| Some((exposure.of_find[n]?.outing, cell_of[n]? as u32)));
        as_swept.finds_with_exposure(finds)
    };
    let finds = WeightChoice::ALL.map(finds_of);
    let mut blurred = as_swept;
    blurred.blur([0.25, 0.5, 0.25], [0.25, 0.5, 0.25]);
    let searched = field.swept_m2.iter().filter(|e| **e > 0.0).count();
    let scan_for = |(of, finds): (WeightChoice, Vec<(u32, u32)>)| {
        let total = finds.len();
        if total < params.least_finds {
            return Ok(none());
        }
        let mut cells = blurred.with_finds(finds);
        allow_for_trend(&mut cells);
        // A place where things are lost is compact: a wide window that hardly tells more reaches over what lies beside it, or
        // over two of them.
        let half_along_m = |shape: usize, rings: usize| halves[rings - 1] * field.cell_m * STRETCHES[shape];
        let prefer = |shape, rings| of != WeightChoice::All || half_along_m(shape, rings) <= COMPACT_M;
        let settings = settings(params, of.place() as u64);
        let scanned = scan_since(&cells, &[], &shapes, &settings, progress, prefer, |_| true)?;
        let gi_star = gi_star(field, &cells.counts(), &cells.weighed(|_| 1.0));
        let told = scanned.windows.iter().enumerate().map(|(n, window)| {
            let half_across_m = halves[window.rings - 1] * field.cell_m;
            let half_along_m = half_across_m * STRETCHES[window.shape];
            place.spot(of, n + 1, window, (half_along_m, half_across_m), gi_star[window.middle])
        });
        let spots = told.collect::<Result<_, ReadingError>>()?;
        Ok(Found { runs: vec![ScanRun::of_scan((of, "hot_spot"), &scanned, total, field.cell_m, searched)], spots })
    };
    let each: Vec<_> = WeightChoice::ALL.into_iter().zip(finds).collect();
    let each: Vec<Result<Found, ReadingError>> = each.into_par_iter().map(scan_for).collect();
    each.into_iter().try_fold(none(), |mut all, found| {
        let found = found?;
        all.runs.extend(found.runs);
        all.spots.extend(found.spots);
        Ok(all)
    })
}

struct Place<'a> {
    ground: &'a Ground<'a>,
    laid: &'a PlacedFinds,
    shore: &'a Shore,
    exposure: &'a Exposure<'a>,
    /// The finds of each cell.
    by_cell: &'a [Vec<usize>],
    /// The cell of each signal.
    signals: &'a [Option<usize>],
    /// The squares of ground in each cell.
    squares_of: &'a [Vec<u32>],
}

impl Place<'_> {
    fn spot(
        &self,
        of: WeightChoice,
        number: usize,
        window: &Window,
        (half_along_m, half_across_m): (f64, f64),
        gi_star: f64,
    ) -> Result<HotSpot, ReadingError> {
        let mut inside = window.cells.clone();
        inside.sort_unstable();
        let finds: Vec<(usize, &Placed)> = finds_in(&inside, self.by_cell).map(|n| (n, &self.laid.finds[n])).collect();
        let field: &Field = &self.exposure.field;
        let squares = inside.iter().flat_map(|c| &self.squares_of[*c]).map(|n| *n as usize);
        let by_outing = self.exposure.by_outing(squares);
        let rate = Part::of_finds(self.exposure, &by_outing, finds.iter().copied()).rate(of);
        let members: Vec<&Placed> = finds.into_iter().map(|f| f.1).collect();
        let middle = field.middle(window.middle);
        let outline = (0..=36).map(|k| {
            let (sin, cos) = f64::from(k % 36 * 10).to_radians().sin_cos();
            self.shore.to_lonlat(ShorePoint::new(middle.along_m + half_along_m * cos, middle.across_m + half_across_m * sin))
        });
        let (band, _) = main_band(self.ground, &members);
        Ok(HotSpot {
            of,
            number,
            centre: self.shore.to_lonlat(middle)?,
            shore: middle,
            half_along_m,
            half_across_m,
            outline: outline.collect::<Result<_, _>>()?,
            uids: members.iter().map(|f| f.uid).collect(),
            counts: Counts::tally(members.iter().copied()),
            kinds: kinds_of(&members),
            seen: window.finds as usize,
            expected: window.expected,
            ratio: f64::from(window.finds) / window.expected,
            surer: rate.map_or_else(String::new, |r| surer("inside it", &r)),
            rate,
            log_likelihood_ratio: window.log_ratio,
            p: window.p,
            q: 1.0,
            gi_star,
            level: level_range(&members),
            band,
            signals: self.signals.iter().flatten().filter(|c| inside.binary_search(c).is_ok()).count(),
            outings: outings_of(&members),
            place: String::new(),
        })
    }
}
