//! Scour lines: strips where the sea has left heavy targets behind.
//!
//! The scan of [`scan`](crate::reading::scan) is run on heavy finds over cells of along and *level*, with
//! strips that hold a narrow range of level and run along the shore: a line sorted by the sea keeps
//! its level where the sand bends. Where hardly any level is known the distance from the baseline stands in for it: a line
//! then shows as far as the sand runs along with that. A strip becomes a scour line if it is more than luck after all
//! scans are allowed for, if its finds are heavier than those of the rest of the beach (Fisher's
//! exact test, 1 %, or light finds as dense would plainly have shown), if no third of its length is nearly empty, and if what lies beside the compact mixed hot spots on it
//! is richer than luck by itself, so that one place where things are lost is not drawn out into a line.
//!
//! A line that a storm laid holds few of the finds of all the outings before it: strips are sought over the outings since
//! each of up to four storms as well, and the look is paid for, as the strongest strip of a replicate is that over any of them.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::moved::{LineState, states};
use super::whereabouts::Whereabouts;
use crate::Progress;
use crate::book::Uid;
use crate::chance::{Fisher, fisher_exact, gamma_quantile};
use crate::earth::LonLat;
use crate::reading::error::ReadingError;
use crate::reading::exposure::{CountedAt, Exposure, by_cell, finds_in};
use crate::reading::given::{
    Counts, Covered, Ground, LevelRange, Placed, PlacedFinds, WeightChoice, level_range, main_band, outings_of,
};
use crate::reading::params::Params;
use crate::reading::rates::{self, Rate, in_band, surer};
use crate::reading::scan::{ByCell, ExposureGrid, HotSpot, ScanRun, Shape, Window, scan_since, settings, strips};
use crate::shore::{Shore, ShorePoint};

/// A shore-parallel line where heavy targets gather.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScourLine {
    /// Its number, strongest first, from 1.
    pub number: usize,
    /// Through its heavy finds from end to end, as straight by the shore as that bends.
    pub line: Vec<LonLat>,
    /// Its middle by the shore.
    pub shore: ShorePoint,
    /// From where along the shore, metres, ...
    pub from_along_m: f64,
    /// ... to where, metres.
    pub to_along_m: f64,
    /// Length, metres.
    pub length_m: f64,
    /// Levels of the sand at its heavy finds, where it was sought by them; else it was by its distance from the baseline.
    pub level: Option<LevelRange>,
    /// How far from the baseline its heavy finds lie, metres.
    pub across: AcrossRange,
    /// The band most of its heavy finds lie in.
    pub band: Option<String>,
    /// The heavy finds in it, in order of uid.
    pub uids: Vec<Uid>,
    /// How many of all weights lie in it.
    #[serde(flatten)]
    pub counts: Counts,
    /// Heavy finds that its share of the searching would give, on the days on which it was done.
    pub expected_heavy: f64,
    /// Its rate of heavy finds.
    pub rate_heavy: Option<Rate>,
    /// Share of heavy ones among its finds of known weight.
    pub heavy_share: f64,
    /// The same on the rest of the beach; `None` when nothing was found there.
    pub heavy_share_elsewhere: Option<f64>,
    /// Fisher's exact test of the two shares.
    pub shares_test: Fisher,
    /// Log likelihood ratio against even ground, beyond the margin for effort misjudged.
    pub log_likelihood_ratio: f64,
    /// Chance of a strip as strong anywhere on a beach of even rate.
    pub p: f64,
    /// The same after all scans of the reading were allowed for (Benjamini & Hochberg).
    pub q: f64,
    /// On how many outings its heavy finds were made.
    pub outings: usize,
    /// Names of the storms in the sixty days before its heavy finds.
    pub storms: Vec<String>,
    /// What would make it surer.
    pub surer: String,
    /// Where its middle is: by what is near, its coordinates, and how far from which end.
    #[serde(default)]
    pub place: String,
    /// The storm since which it stands out; finds, shares and rate are of the outings since then. `None` where it does over
    /// all outings.
    #[serde(default)]
    pub since: Option<Since>,
    /// How it lay before the first storm, between each and the next, and after the last.
    #[serde(default)]
    pub states: Vec<LineState>,
}

/// A storm that something began with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Since {
    /// Its name.
    pub storm: String,
    /// Its end.
    pub from: Timestamp,
}

impl ScourLine {
    /// Whether it is one without the spots on it: they hold no more than two fifths of its finds, or the rest of its length
    /// has more than its share of what the searching would give, by the margin for a rest of luck and by luck itself in
    /// less than one case of a hundred. (By length, as exposure lies along a strip about evenly; a judgement with no
    /// published source.)
    pub(in crate::reading) fn stands_without(&self, spots: &[&HotSpot]) -> bool {
        let inside = |u: &&Uid| spots.iter().any(|s| s.uids.binary_search(u).is_ok());
        let taken: Vec<&Uid> = self.uids.iter().filter(inside).collect();
        if 5 * taken.len() <= 2 * self.uids.len() {
            return true;
        }
        let on_it = spots.iter().filter(|s| taken.iter().any(|u| s.uids.binary_search(u).is_ok()));
        let mut covered: Vec<(f64, f64)> = on_it
            .map(|s| (s.shore.along_m - s.half_along_m, s.shore.along_m + s.half_along_m))
            .map(|(from, to)| (from.max(self.from_along_m), to.min(self.to_along_m)))
            .filter(|(from, to)| to > from)
            .collect();
        covered.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut under_m, mut until_m) = (0.0, self.from_along_m);
        for (from, to) in covered {
            under_m += (to - from.max(until_m)).max(0.0);
            until_m = until_m.max(to);
        }
        let rest = (1.0 - under_m / self.length_m.max(1e-9)).max(0.0);
        let count = (self.uids.len() - taken.len()) as f64;
        count > 0.0 && gamma_quantile(count, REST_P) > REST_MARGIN * self.expected_heavy * rest
    }
}

/// The rest of a line must be richer than luck, to this chance, ...
const REST_P: f64 = 0.01;
/// ... and than so many times what is expected there: the rim of a spot reaches a little beyond it.
const REST_MARGIN: f64 = 1.5;

/// From where to where across the shore something lies, metres from the baseline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AcrossRange {
    /// The nearest to it.
    pub from_m: f64,
    /// The farthest.
    pub to_m: f64,
}

/// What a strip keeps along its length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kept {
    /// The level of the sand.
    Level,
    /// The distance from the baseline.
    Distance,
}

/// With less of the ground covered of known level than this share strips are sought by their distance from the baseline.
const LEVEL_SHARE: f64 = 0.5;

/// A step along the shore, metres.
const ALONG_M: f64 = 10.0;
/// Half lengths of the strips, in steps: 50 to 310 m long.
const HALF_LENGTHS: [i32; 6] = [2, 3, 5, 7, 10, 15];
/// A step of level is what the sand falls over this many metres across, ...
const ACROSS_M: f64 = 2.5;
/// ... and strips are this many steps wide.
const WIDTHS: [i32; 4] = [1, 2, 3, 4];
/// Anything shorter is a spot, metres.
const LEAST_LENGTH_M: f64 = 35.0;
/// A gap in a line that is no wider than this does not end it, metres.
const GAP_M: f64 = 30.0;
/// Places on a line lie no further apart, metres.
const BEND_M: f64 = 20.0;
/// A storm counts for a find made at most this many days after it.
const STORM_DAYS: i64 = 60;

/// What was searched, on a grid of along and level, or of along and how far landward it lies: what a strip keeps is its
/// *height* here.
struct Levels {
    kept: Kept,
    from_along_m: f64,
    low_m: f64,
    step_m: f64,
    across_count: usize,
    count: usize,
    /// For each square of the ground covered the cells it lies in, and by which share.
    of_square: Vec<Vec<(u32, f32)>>,
    /// Exposure of each cell by outing; its finds are those scanned for.
    grid: ExposureGrid,
}

/// A piece of ground swept: its square, along, across, height and size, m².
#[derive(Clone, Copy)]
struct Piece {
    square: u32,
    along_m: f64,
    across_m: f64,
    height_m: f64,
    m2: f64,
}

/// The pieces whose level is known, or all by their distance from the baseline where that is not most of the ground.
fn pieces(covered: &Covered, shore: &Shore) -> (Kept, Vec<Piece>) {
    // Large squares are taken apart, as a level changes within them.
    let parts = covered.cell_m.clamp(1.0, 20.0).ceil() as u32;
    let part = 1.0 / f64::from(parts * parts);
    let (mut leveled, mut all): (Vec<Piece>, Vec<Piece>) = (Vec::new(), Vec::new());
    for (square, c) in (0..).zip(&covered.cells).filter(|(_, c)| c.swept_m2 > 0.0) {
        for k in 0..parts * parts {
            let shift = |n: u32| ((f64::from(n) + 0.5) / f64::from(parts) - 0.5) * covered.cell_m;
            let s = ShorePoint::new(c.along_m + shift(k / parts), c.across_m + shift(k % parts));
            let piece = Piece { square, along_m: s.along_m, across_m: s.across_m, height_m: -s.across_m, m2: c.swept_m2 * part };
            all.push(piece);
            leveled.extend(shore.sand_level(shore.to_local(s)).map(|level| Piece { height_m: level.land_m, ..piece }));
        }
    }
    let m2 = |of: &[Piece]| of.iter().map(|p| p.m2).sum::<f64>();
    if m2(&leveled) >= LEVEL_SHARE * m2(&all) { (Kept::Level, leveled) } else { (Kept::Distance, all) }
}

impl Levels {
    fn new(ground: &Ground, laid: &PlacedFinds, shore: &Shore, exposure: &Exposure) -> Option<Self> {
        let covered = ground.covered?;
        let (kept, pieces) = pieces(covered, shore);
        let step_m = match kept {
            Kept::Level => (ACROSS_M * fall(&pieces)?).clamp(0.03, 0.5),
            Kept::Distance => ACROSS_M,
        };
        let range = |of: fn(&Piece) -> f64| {
            pieces.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((from_along_m, to_along_m), (low_m, high_m)) = (range(|p| p.along_m), range(|p| p.height_m));
        let rows = ((to_along_m - from_along_m) / ALONG_M) as usize + 1;
        let across_count = ((high_m - low_m) / step_m) as usize + 1;
        if rows.saturating_mul(across_count) > 200_000 {
            return None;
        }
        let count = rows * across_count;
        let (of_square, nothing) = (vec![Vec::new(); covered.cells.len()], std::iter::empty());
        let grid = ExposureGrid::new(across_count, count, 0, nothing, std::iter::empty());
        let mut levels = Self { kept, from_along_m, low_m, step_m, across_count, count, of_square, grid };
        let whole_m2 = |square: u32| covered.cells[square as usize].swept_m2;
        for p in &pieces {
            if let Some(n) = levels.cell(p.along_m, p.height_m) {
                levels.of_square[p.square as usize].push((n as u32, (p.m2 / whole_m2(p.square)) as f32));
            }
        }
        let of_square = |square: usize| levels.of_square[square].iter().copied();
        let pieces = exposure.pieces(of_square);
        let mut grid = ExposureGrid::new(across_count, count, exposure.outings(), pieces, std::iter::empty());
        for (find, at) in laid.finds.iter().zip(&exposure.of_find) {
            let Some(at) = at.filter(|_| WeightChoice::Heavy.takes(find.weight)) else { continue };
            if let Some(cell) = levels.cell_of(&grid, shore, find, at) {
                grid.finds.push((at.outing, cell));
            }
        }
        // A receiver's error across is as wide as a step of level; along, a step is far longer.
        grid.blur([0.0, 1.0, 0.0], [0.25, 0.5, 0.25]);
        levels.grid = grid;
        Some(levels)
    }

    fn cell(&self, along_m: f64, height_m: f64) -> Option<usize> {
        let (a, b) = ((along_m - self.from_along_m) / ALONG_M, (height_m - self.low_m) / self.step_m);
        let inside = a >= 0.0 && b >= 0.0 && (b as usize) < self.across_count;
        let n = a as usize * self.across_count + b as usize;
        (inside && n < self.count).then_some(n)
    }

    /// The height of a find, if it has one.
    fn height_m(&self, find: &Placed, at: ShorePoint) -> Option<f64> {
        match self.kept {
            Kept::Level => find.land_m,
            Kept::Distance => Some(-at.across_m),
        }
    }

    /// The cell a find is counted in: its own if its outing searched that, else that of the ground it is laid to.
    fn cell_of(&self, grid: &ExposureGrid, shore: &Shore, find: &Placed, at: CountedAt) -> Option<u32> {
        let at_shore = shore.to_shore(find.at);
        let own = self.height_m(find, at_shore).and_then(|m| self.cell(at_shore.along_m, m)).map(|c| c as u32);
        let laid_to = self.of_square[at.square as usize].iter().map(|c| c.0);
        own.into_iter().chain(laid_to).find(|cell| grid.has(at.outing, *cell))
    }
}

/// The outings that are scanned together: all, or those since a storm.
struct Part<'a> {
    since: Option<Since>,
    /// Exposure of each cell, m² of rested ground, and the same by outing.
    exposure: Vec<f64>,
    by_cell: ByCell,
    placed: Leveled<'a>,
}

impl<'a> Part<'a> {
    fn new(since: Option<(Since, &[bool])>, laid: &'a PlacedFinds, shore: &Shore, levels: &Levels, exposure: &Exposure) -> Self {
        let taken = since.as_ref().map(|(_, taken)| *taken);
        let own = taken.map(|taken| levels.grid.of_outings(taken));
        let grid = own.as_ref().unwrap_or(&levels.grid);
        let placed = Leveled::new(laid, shore, levels, exposure, taken);
        Self { since: since.map(|s| s.0), exposure: grid.weighed(|_| 1.0), by_cell: grid.by_cell(), placed }
    }
}

/// So many storms are asked about at most whether a line began with one: each takes as long as the scan itself, and its look
/// must be paid for.
const MOST_STORMS: usize = 4;
/// Fewer outings since a storm tell nothing of it.
const LEAST_SINCE: usize = 3;

/// The storms with which lines may have begun, each with the outings since its end, as many of them as of the storm before
/// or fewer.
fn since_storms(ground: &Ground, levels: &Levels, exposure: &Exposure, least_finds: usize) -> Vec<(Since, Vec<bool>)> {
    let begins = |uid: &Option<Uid>| ground.book.outings().get(uid.as_ref()?).map(|o| o.start);
    let begins: Vec<Option<Timestamp>> = exposure.visits.outings().iter().map(begins).collect();
    let storms = ground.book.storms_of(ground.setting.beach.uid);
    let mut ends: Vec<(Timestamp, &str)> = storms.iter().filter_map(|s| Some((s.span()?.1, &*s.name))).collect();
    ends.sort_unstable();
    let searched = |n: usize| levels.grid.outings.get(n).is_some_and(|own| !own.is_empty());
    let all = (0..begins.len()).filter(|n| searched(*n)).count();
    let (mut told, mut last): (Vec<(Since, Vec<bool>)>, usize) = (Vec::new(), all);
    // What nobody searched between two storms is the later one's.
    for (from, storm) in ends.into_iter().rev() {
        let taken: Vec<bool> = begins.iter().map(|b| b.is_some_and(|b| b >= from)).collect();
        let outings = (0..taken.len()).filter(|n| taken[*n] && searched(*n)).count();
        let finds = levels.grid.finds.iter().filter(|f| taken[f.0 as usize]).count();
        if outings >= LEAST_SINCE && outings < all && finds >= least_finds && (told.is_empty() || outings > last) {
            told.push((Since { storm: storm.to_owned(), from }, taken));
            last = outings;
        }
    }
    told.reverse();
    let every = told.len().div_ceil(MOST_STORMS).max(1);
    // Evenly over the storms, the last among them.
    let skipped = (told.len().max(1) - 1) % every;
    told.into_iter().skip(skipped).step_by(every).collect()
}

/// Finds by along and level.
struct Leveled<'a> {
    finds: Vec<(&'a Placed, ShorePoint)>,
    /// The number of each among all finds.
    numbers: Vec<usize>,
    /// For each cell its finds, how many they are, and where along the heavy ones lie.
    by_cell: Vec<Vec<usize>>,
    counts: Vec<Counts>,
    heavy: Vec<Vec<f64>>,
    all: Counts,
}

impl<'a> Leveled<'a> {
    /// Those of the outings that are taken; all without.
    fn new(laid: &'a PlacedFinds, shore: &Shore, levels: &Levels, exposure: &Exposure, taken: Option<&[bool]>) -> Self {
        let on_ground = |(n, (f, at)): (usize, (&'a Placed, &Option<CountedAt>))| {
            let at = at.filter(|at| taken.is_none_or(|taken| taken[at.outing as usize]))?;
            let cell = levels.cell_of(&levels.grid, shore, f, at)? as usize;
            Some((((f, shore.to_shore(f.at)), n), cell))
        };
        let all = laid.finds.iter().zip(&exposure.of_find).enumerate().filter_map(on_ground);
        let (finds, cells): (Vec<_>, Vec<_>) = all.unzip();
        let (finds, numbers): (Vec<(&Placed, ShorePoint)>, Vec<usize>) = finds.into_iter().unzip();
        let by_cell = by_cell(&cells.into_iter().map(Some).collect::<Vec<_>>(), levels.count);
        let of = |own: &Vec<usize>| own.iter().map(|n| finds[*n]).collect::<Vec<(&Placed, ShorePoint)>>();
        let counts: Vec<Counts> = by_cell.iter().map(|own| Counts::tally(of(own).into_iter().map(|f| f.0))).collect();
        let heavy = |own: &Vec<usize>| {
            of(own).into_iter().filter(|(f, _)| WeightChoice::Heavy.takes(f.weight)).map(|(_, s)| s.along_m).collect()
        };
        let heavy = by_cell.iter().map(heavy).collect();
        let all = counts.iter().fold(Counts::default(), |sum, c| sum.and(*c));
        Self { finds, numbers, by_cell, counts, heavy, all }
    }

    /// From where to where the heavy finds of some cells lie along the shore.
    fn ends_m(&self, cells: &[usize]) -> (f64, f64) {
        let along = cells.iter().flat_map(|n| &self.heavy[*n]);
        along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)))
    }

    /// Counts in some cells, and Fisher's test of their share of heavy ones against the rest's.
    fn shares(&self, cells: &[usize]) -> (Counts, Counts, Fisher) {
        let counts = cells.iter().fold(Counts::default(), |sum, n| sum.and(self.counts[*n]));
        let rest = self.all.without(counts);
        let table = [counts.heavy, counts.light, rest.heavy, rest.light].map(|n| n as u64);
        (counts, rest, fisher_exact([[table[0], table[1]], [table[2], table[3]]]))
    }

    /// Whether heavy finds are sorted out of the light ones in a window: by Fisher's test of their shares, or as light ones as
    /// many times as dense would plainly have shown, which tells more where a beach holds few light ones. Where the light ones
    /// are plainly denser there too, things were lost rather than sorted.
    fn is_sorted(&self, window: &Window, cells: &[usize]) -> bool {
        let (counts, _, test) = self.shares(cells);
        let (heavy, expected) = (counts.heavy as f64, window.expected.max(1e-9));
        let times = gamma_quantile(heavy.max(0.5), SURELY) / expected;
        let due = self.all.light as f64 * expected / (self.all.heavy as f64).max(1.0);
        let as_rich = counts.light as f64 * times.ln() - due * (times - 1.0);
        let denser = counts.light > 0 && gamma_quantile(counts.light as f64, DENSER_P) > DENSER_TIMES * due;
        !denser && (test.greater <= 0.01 || (times > 1.0 && as_rich <= -LN_ODDS))
    }
}

/// Heavy finds of a window are taken as no richer than they surely are, but for this chance: the strongest window is richer by
/// luck as well.
const SURELY: f64 = 0.25;
/// Light ones as rich as the heavy must be as unlikely as one to twenty, as a logarithm.
const LN_ODDS: f64 = 3.0;
/// Light ones are denser there if they are more than so many times what is due, but for luck in so many cases.
const DENSER_TIMES: f64 = 1.15;
const DENSER_P: f64 = 0.05;

/// How much the sand falls per metre across, over the ground swept.
fn fall(pieces: &[Piece]) -> Option<f64> {
    let weight: f64 = pieces.iter().map(|p| p.m2).sum();
    let mean = |of: fn(&Piece) -> f64| pieces.iter().map(|p| of(p) * p.m2).sum::<f64>() / weight;
    let (across, level) = (mean(|p| p.across_m), mean(|p| p.height_m));
    let both: f64 = pieces.iter().map(|p| p.m2 * (p.across_m - across) * (p.height_m - level)).sum();
    let own: f64 = pieces.iter().map(|p| p.m2 * (p.across_m - across).powi(2)).sum();
    (own > 0.0).then(|| (both / own).abs())
}

/// Scans heavy finds for strips. The q-values are set later, when all scans are known.
pub(in crate::reading) fn scour_lines(
    ground: &Ground,
    laid: &PlacedFinds,
    exposure: &Exposure,
    params: &Params,
    progress: &Progress,
) -> Result<(Option<ScanRun>, Vec<ScourLine>), ReadingError> {
    let Some(shore) = ground.shore() else { return Ok((None, Vec::new())) };
    let Some(levels) = Levels::new(ground, laid, shore, exposure) else { return Ok((None, Vec::new())) };
    let total = levels.grid.finds.len();
    if total < params.least_finds {
        return Ok((None, Vec::new()));
    }
    let shapes: Vec<Shape> = WIDTHS.iter().map(|w| strips(*w, &HALF_LENGTHS)).collect();
    let storms = since_storms(ground, &levels, exposure, params.least_in_spot as usize);
    let of_storms = storms.iter().map(|(since, taken)| Some((since.clone(), &taken[..])));
    let parts: Vec<Part> =
        std::iter::once(None).chain(of_storms).map(|since| Part::new(since, laid, shore, &levels, exposure)).collect();
    let place = Lines { ground, shore, levels: &levels, parts: &parts, exposure };
    let whole = |w: &Window| place.stands(w, &sorted(&w.cells));
    let since: Vec<Vec<bool>> = storms.iter().map(|(_, taken)| taken.clone()).collect();
    let scanned = scan_since(&levels.grid, &since, &shapes, &settings(params, 3), progress, |_, _| true, whole)?;
    let searched = parts[0].exposure.iter().filter(|e| **e > 0.0).count();
    let by_distance = levels.kept == Kept::Distance;
    let run = ScanRun::of_scan((WeightChoice::Heavy, "scour_line"), &scanned, total, ALONG_M, searched);
    let run = ScanRun { by_distance, ..run };
    // Each with the height in its middle.
    let mut strips: Vec<(Window, ScourLine, f64)> = Vec::new();
    for window in scanned.windows {
        let Some((line, height_m)) = place.describe(&window, true)? else { continue };
        // What lies against a stronger line carries it on, or is what that one left over at its rim.
        let against = |l: &ScourLine, there_m: f64| {
            let along = line.from_along_m < l.to_along_m + GAP_M && l.from_along_m < line.to_along_m + GAP_M;
            along && (height_m - there_m).abs() < 4.0 * levels.step_m
        };
        let Some((stronger, told, there_m)) = strips.iter_mut().find(|(_, l, m)| against(l, *m)) else {
            strips.push((window, line, height_m));
            continue;
        };
        if stronger.slice == window.slice && (height_m - *there_m).abs() < 1.5 * levels.step_m {
            stronger.cells.extend(&window.cells);
            stronger.expected += window.expected;
            if let Some(joined) = place.describe(stronger, false)? {
                (*told, *there_m) = joined;
            }
        }
    }
    let whereabouts = Whereabouts::new(ground, shore);
    let numbered = |(n, (_, line, _)): (usize, (Window, ScourLine, f64))| {
        let place = whereabouts.said(line.shore);
        ScourLine { number: n + 1, place, ..line }
    };
    let lines = strips.into_iter().enumerate().map(numbered);
    Ok((Some(run), lines.collect()))
}

/// All that a line is described from.
#[derive(Clone, Copy)]
struct Lines<'a> {
    ground: &'a Ground<'a>,
    shore: &'a Shore,
    levels: &'a Levels,
    /// All outings, and those since each storm.
    parts: &'a [Part<'a>],
    exposure: &'a Exposure<'a>,
}

impl Lines<'_> {
    /// Rate of heavy finds in some cells, given with their numbers among all finds.
    fn rate(&self, part: &Part, cells: &[usize], heavy: &[(usize, &Placed)]) -> Option<Rate> {
        let mut by_outing = vec![0.0; self.exposure.outings()];
        for (outing, m2) in cells.iter().flat_map(|c| part.by_cell.of(*c)) {
            by_outing[*outing as usize] += f64::from(*m2);
        }
        rates::Part::of_finds(self.exposure, &by_outing, heavy.iter().copied()).rate(WeightChoice::Heavy)
    }

    /// Whether a window, its cells in order, is a line: what turns most windows down is asked first, cheapest first.
    fn stands(&self, window: &Window, cells: &[usize]) -> bool {
        let part = &self.parts[window.slice];
        let (from_m, to_m) = part.placed.ends_m(cells);
        to_m - from_m >= LEAST_LENGTH_M && is_even(self.levels, part, cells) && part.placed.is_sorted(window, cells)
    }

    /// The line in a window, and the height in its middle.
    fn describe(&self, window: &Window, strict: bool) -> Result<Option<(ScourLine, f64)>, ReadingError> {
        let Lines { ground, shore, .. } = *self;
        let part = &self.parts[window.slice];
        let placed = &part.placed;
        let cells = sorted(&window.cells);
        if strict && !self.stands(window, &cells) {
            return Ok(None);
        }
        let (from_along_m, to_along_m) = placed.ends_m(&cells);
        let length_m = to_along_m - from_along_m;
        let (counts, rest, shares_test) = placed.shares(&cells);
        let is_heavy = |n: &usize| WeightChoice::Heavy.takes(placed.finds[*n].0.weight);
        let inside: Vec<usize> = finds_in(&cells, &placed.by_cell).filter(is_heavy).collect();
        let heavy: Vec<(&Placed, ShorePoint)> = inside.iter().map(|n| placed.finds[*n]).collect();
        let members: Vec<&Placed> = heavy.iter().map(|(f, _)| *f).collect();
        let mut heights_m: Vec<f64> = heavy.iter().filter_map(|(f, s)| self.levels.height_m(f, *s)).collect();
        heights_m.sort_by(f64::total_cmp);
        let Some(middle_m) = heights_m.get(heights_m.len() / 2).copied() else { return Ok(None) };
        let level = level_range(&members).filter(|_| self.levels.kept == Kept::Level);
        let across_m = |of: fn(f64, f64) -> f64| heavy.iter().map(|(_, s)| s.across_m).reduce(of).unwrap_or_default();
        let across = AcrossRange { from_m: across_m(f64::min), to_m: across_m(f64::max) };
        let numbered: Vec<(usize, &Placed)> = inside.iter().map(|n| (placed.numbers[*n], placed.finds[*n].0)).collect();
        let rate_heavy = self.rate(part, &cells, &numbered);
        let (ends, slant) = through(&heavy, from_along_m, to_along_m);
        let share = |c: Counts| (c.heavy + c.light > 0).then(|| c.heavy as f64 / (c.heavy + c.light) as f64);
        let (band, _) = main_band(ground, &members);
        let place = band.as_deref().map_or_else(|| "along it".to_owned(), |b| format!("along it {}", in_band(b)));
        let mut told_states = states(ground, &heavy, slant, 0.5 * (from_along_m + to_along_m));
        // Of what lay there before, its finds are not among those of the outings since.
        told_states.retain(|s| part.since.as_ref().is_none_or(|since| s.from.is_some_and(|from| from >= since.from)));
        let line = ScourLine {
            number: 0,
            line: along_shore(ends).map(|s| shore.to_lonlat(s)).collect::<Result<_, _>>()?,
            shore: ShorePoint::new(0.5 * (from_along_m + to_along_m), 0.5 * (ends[0].across_m + ends[1].across_m)),
            from_along_m,
            to_along_m,
            length_m,
            level,
            across,
            band,
            uids: members.iter().map(|f| f.uid).collect(),
            counts,
            expected_heavy: window.expected,
            surer: rate_heavy.map_or_else(String::new, |r| surer(&place, &r)),
            rate_heavy,
            heavy_share: share(counts).unwrap_or(1.0),
            heavy_share_elsewhere: share(rest),
            shares_test,
            log_likelihood_ratio: window.log_ratio,
            p: window.p,
            q: 1.0,
            outings: outings_of(&members),
            storms: storms_before(ground, &members),
            place: String::new(),
            since: part.since.clone(),
            states: told_states,
        };
        Ok(Some((line, middle_m)))
    }
}

/// Cells in order.
fn sorted(cells: &[usize]) -> Vec<usize> {
    let mut cells = cells.to_vec();
    cells.sort_unstable();
    cells
}

/// Whether heavy finds lie over the whole length of a strip as its effort would have it: one rich spot does
/// not. By the strip's own length, as the finds of a spot would seem even over theirs.
fn is_even(levels: &Levels, part: &Part, cells: &[usize]) -> bool {
    let along_m: Vec<f64> = cells.iter().flat_map(|n| &part.placed.heavy[*n]).copied().collect();
    let row = |n: &usize| n / levels.across_count;
    let (first, last) = (cells.first().map_or(0, row), cells.last().map_or(0, row));
    let third = |row: usize| ((row - first) * 3 / (last + 1 - first)).min(2);
    let (mut effort, mut finds) = ([0.0; 3], [0.0; 3]);
    cells.iter().for_each(|n| effort[third(row(n))] += part.exposure[*n]);
    for a in &along_m {
        let row = ((a - levels.from_along_m) / ALONG_M).max(0.0) as usize;
        finds[third(row.clamp(first, last))] += 1.0;
    }
    let (ground, count): (f64, f64) = (effort.iter().sum(), along_m.len() as f64);
    let enough = |k: usize| finds[k] >= 0.4 * count * effort[k] / ground;
    let filled = finds.iter().filter(|f| **f >= 0.15 * count).count();
    (0..3).all(enough) && filled >= 2
}

/// Ends of the straight line that fits the finds' across over along by least squares, and its slant.
fn through(finds: &[(&Placed, ShorePoint)], from_along_m: f64, to_along_m: f64) -> ([ShorePoint; 2], f64) {
    let n = finds.len() as f64;
    let mean = |of: fn(&ShorePoint) -> f64| finds.iter().map(|(_, s)| of(s)).sum::<f64>() / n;
    let (along, across) = (mean(|s| s.along_m), mean(|s| s.across_m));
    let own: f64 = finds.iter().map(|(_, s)| (s.along_m - along).powi(2)).sum();
    let both: f64 = finds.iter().map(|(_, s)| (s.along_m - along) * (s.across_m - across)).sum();
    let slant = if own > 0.0 { both / own } else { 0.0 };
    ([from_along_m, to_along_m].map(|a| ShorePoint::new(a, across + slant * (a - along))), slant)
}

/// A line by the shore with a place every so often, as what is straight there bends with the beach.
fn along_shore([from, to]: [ShorePoint; 2]) -> impl Iterator<Item = ShorePoint> {
    let steps = ((to.along_m - from.along_m).abs() / BEND_M).ceil().max(1.0) as u32;
    (0..=steps).map(move |n| {
        let share = f64::from(n) / f64::from(steps);
        let mix = |a: f64, b: f64| a + share * (b - a);
        ShorePoint::new(mix(from.along_m, to.along_m), mix(from.across_m, to.across_m))
    })
}

fn storms_before(ground: &Ground, members: &[&Placed]) -> Vec<String> {
    let behind = |storm: &&crate::book::Storm| {
        let Some((_, end)) = storm.span() else { return false };
        let since_s = |t: jiff::Timestamp| t.as_second() - end.as_second();
        members.iter().filter_map(|f| f.time).any(|t| (0..=STORM_DAYS * 86_400).contains(&since_s(t)))
    };
    ground.book.storms_of(ground.setting.beach.uid).into_iter().filter(behind).map(|s| s.name.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One cell with so many heavy and light finds, of so many on the beach.
    fn sorted_of(heavy: usize, expected: f64, light: usize, all: (usize, usize)) -> bool {
        let counts = |heavy: usize, light: usize| Counts { finds: heavy + light, heavy, light, ..Counts::default() };
        let leveled = Leveled {
            finds: Vec::new(),
            numbers: Vec::new(),
            by_cell: vec![Vec::new()],
            counts: vec![counts(heavy, light)],
            heavy: vec![Vec::new()],
            all: counts(all.0, all.1),
        };
        let (finds, log_ratio, p) = (heavy as u32, 9.0, 0.01);
        let window = Window { cells: vec![0], finds, expected, log_ratio, p, slice: 0, shape: 0, rings: 1, middle: 0 };
        leveled.is_sorted(&window, &[0])
    }

    #[test]
    fn heavy_finds_are_sorted_where_light_ones_are_not_as_dense() {
        // As many light ones as are due: Fisher's test tells (31 of 35 heavy, 66 of 152 elsewhere).
        assert!(sorted_of(31, 8.4, 4, (97, 90)));
        // Five heavy ones where 0.3 are due and no light one: too few for the test, and 3.4 / 0.3 times as many light ones as the
        // 0.3 due would be missing in one case of twenty-one.
        assert!(sorted_of(5, 0.3, 0, (32, 32)));
        // Where light ones are as dense, or too few are due to tell, they are not.
        assert!(!sorted_of(45, 20.2, 40, (432, 432)));
        assert!(!sorted_of(24, 7.4, 3, (60, 13)));
        // Heavier than elsewhere beyond doubt, and yet light ones are denser as well: 24 where 13.6 are due.
        assert!(!sorted_of(29, 5.7, 24, (207, 492)));
    }
}
