//! Scour lines: strips where the sea has left heavy targets behind.
//!
//! The scan of [`scan`](crate::reading::scan) is run on heavy finds over cells of along and *level*, with
//! strips that hold a narrow range of level and run along the shore: a line sorted by the sea keeps
//! its level where the sand bends. Where hardly any level is known the distance from the baseline stands in for it: a line
//! then shows as far as the sand runs along with that. A strip becomes a scour line if it is more than luck after all
//! scans are allowed for, if its finds are heavier than those of the rest of the beach (Fisher's
//! exact test, 1 %, or light finds as dense would plainly have shown), if no third of its length is nearly
//! empty, and if what lies beside the compact mixed hot spots on it is richer than luck by itself, so that one place where things are lost is not drawn out into a line.
//!
//! A line that a storm laid holds few of the finds of all the outings before it: strips are sought over the outings since
//! each of up to four storms as well, and the look is paid for, as the strongest strip of a replicate is that over any of them.

use serde::{Deserialize, Serialize};

use super::levels::{ALONG_M, Kept, Levels};
use super::moved::{LineState, states};
use super::since::{Part, Since, since_storms};
use super::whereabouts::Whereabouts;
use crate::Progress;
use crate::book::Uid;
use crate::chance::{Fisher, gamma_quantile};
use crate::earth::LonLat;
use crate::reading::error::ReadingError;
use crate::reading::exposure::{Exposure, finds_in};
use crate::reading::given::{Counts, Ground, LevelRange, Placed, PlacedFinds, WeightChoice, level_range, main_band, outings_of};
use crate::reading::params::Params;
use crate::reading::rates::{self, Rate, in_band, surer};
use crate::reading::scan::{HotSpot, ScanRun, Shape, Window, scan_since, settings, strips};
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

/// Half lengths of the strips, in steps: 50 to 310 m long.
const HALF_LENGTHS: [i32; 6] = [2, 3, 5, 7, 10, 15];
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
