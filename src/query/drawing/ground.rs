//! A picture of the ground: how well it was covered, what it gave, how surely that is known.

use std::collections::BTreeMap;

use super::{DrawnPlace, Land};
use crate::Progress;
use crate::reading::{CellRates, Covered, WeightChoice};
use crate::shore::ShorePoint;

/// What Plan shows of the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum GroundShown {
    /// The sand as it is.
    #[default]
    Nothing,
    /// How often the coil went over it.
    Covered,
    /// Finds per 100 m² of rested ground.
    Rate,
    /// How wide the interval of that rate is.
    Certainty,
}

impl GroundShown {
    pub(crate) const ALL: [Self; 4] = [Self::Nothing, Self::Covered, Self::Rate, Self::Certainty];

    pub(crate) fn label(self) -> &'static str {
        match self {
            Self::Nothing => "none",
            Self::Covered => "covered",
            Self::Rate => "rate",
            Self::Certainty => "certainty",
        }
    }

    /// The one that a word on screen names.
    pub(crate) fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|g| g.label().eq_ignore_ascii_case(word.trim()))
    }

    /// The one after it, round and round.
    pub(crate) fn next(self) -> Self {
        let n = Self::ALL.iter().position(|g| *g == self).unwrap_or(0);
        Self::ALL[(n + 1) % Self::ALL.len()]
    }
}

/// The colours of the ground from little to much, by day and by night: opaque red, green and blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Shades(pub(crate) [[[u8; 3]; SHADES]; 2]);

/// A dot of a picture: red, green, blue and how far it hides what is below, all multiplied by the last.
pub(crate) type Dot = [u8; 4];

/// A dot that hides nothing.
const NOTHING: Dot = [0; 4];

/// A picture by rows, the first row highest up the beach.
#[derive(Debug, Clone)]
pub(crate) struct Picture {
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    pub(crate) dots: Vec<Dot>,
}

impl Picture {
    fn empty() -> Self {
        Self { columns: 1, rows: 1, dots: vec![NOTHING] }
    }
}

/// What a picture of the ground is to show.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wanted {
    pub(crate) what: GroundShown,
    /// Which finds the rates are of.
    pub(crate) of: WeightChoice,
    pub(crate) shades: Shades,
}

/// Side of a cell of rates, metres: fine enough for a spot, wide enough to hold some ground.
const RATE_CELL_M: f64 = 10.0;
/// More dots than this and cells are joined.
const MOST_DOTS: usize = 2_000_000;
/// Longest side of a picture, dots.
const MOST_SIDE: usize = 4096;
/// Times swept at which the shade of the ground covered changes.
const TIMES: [f64; 4] = [0.5, 1.0, 2.0, 4.0];
/// Shades there are.
pub(crate) const SHADES: usize = 5;
/// The net on which the picture is hung: at most so many knots along and across.
const NET: (usize, usize) = (160, 40);

/// A corner of the net: its place in both lays and in the picture (0 to 1).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Knot {
    pub(crate) at: DrawnPlace,
    pub(crate) uv: [f32; 2],
}

/// The ground, cell by cell, as dots of a picture with a net to hang it on.
pub(crate) struct GroundPicture {
    /// Another one for every picture made.
    pub(crate) serial: u64,
    pub(crate) what: GroundShown,
    /// What the figures are: "finds per 100 m² of rested ground".
    pub(crate) title: String,
    /// What they rest on, in a line.
    pub(crate) note: String,
    /// Where one shade ends and the next begins, rising.
    pub(crate) breaks: Vec<f64>,
    /// By day and by night.
    pub(crate) pictures: [Picture; 2],
    shades: Shades,
    pub(crate) net: Vec<Knot>,
    /// Knots in a row of the net.
    pub(crate) net_columns: usize,
    cells: Cells,
}

enum Cells {
    None,
    Covered { cell_m: f64, times: BTreeMap<(i64, i64), (f64, f64)> },
    Rates(CellRates),
}

/// Values on a grid of cells; `None` where the coil never went.
struct Grid {
    cell_m: f64,
    corner: (i64, i64),
    columns: usize,
    rows: usize,
    values: Vec<Option<(f64, f32)>>,
}

impl Grid {
    /// The grid that holds these cells: column, row, value, how far it hides the hatching.
    fn new(cell_m: f64, cells: &[(i64, i64, f64, f32)]) -> Option<Self> {
        let range = |of: fn(&(i64, i64, f64, f32)) -> i64| Some((cells.iter().map(of).min()?, cells.iter().map(of).max()?));
        let ((left, right), (top, bottom)) = (range(|c| c.0)?, range(|c| c.1)?);
        let (columns, rows) = (usize::try_from(right - left).ok()? + 1, usize::try_from(bottom - top).ok()? + 1);
        if columns.max(rows) > MOST_SIDE || columns.checked_mul(rows)? > MOST_DOTS {
            return None;
        }
        let mut values = vec![None; columns * rows];
        for (column, row, value, cover) in cells {
            let at = (row - top) as usize * columns + (column - left) as usize;
            values[at] = Some((*value, *cover));
        }
        Some(Self { cell_m, corner: (left, top), columns, rows, values })
    }
}

impl GroundPicture {
    /// The picture that is wanted; `rates` tells those of cells of a side. An empty one where no track shows any ground covered.
    ///
    /// # Errors
    /// A sentence when the work was called off.
    pub(crate) fn painted(
        wanted: &Wanted,
        rates: impl Fn(f64) -> Result<Option<CellRates>, String>,
        land: &Land,
        covered: Option<&Covered>,
        progress: &Progress,
    ) -> Result<Self, String> {
        let mut made = Self {
            serial: super::next_serial(),
            what: wanted.what,
            title: String::new(),
            note: String::new(),
            breaks: Vec::new(),
            pictures: [Picture::empty(), Picture::empty()],
            shades: wanted.shades,
            net: Vec::new(),
            net_columns: 0,
            cells: Cells::None,
        };
        let (Some(covered), Some(_)) = (covered, land.placing.shore()) else {
            made.title = "no tracks show which ground was covered".to_owned();
            return Ok(made);
        };
        let grid = match wanted.what {
            GroundShown::Nothing => return Ok(made),
            GroundShown::Covered => made.covered(covered),
            GroundShown::Rate | GroundShown::Certainty => made.rates(rates, wanted.of)?,
        };
        progress.check().map_err(|e| e.to_string())?;
        if let Some(grid) = grid {
            made.paint(&grid);
            made.hang(&grid, land);
        }
        Ok(made)
    }

    /// Times swept: ground passed over for each square metre of ground there is.
    fn covered(&mut self, covered: &Covered) -> Option<Grid> {
        self.title = "times the coil went over it".to_owned();
        let mut join = 1;
        // Cells are joined four by four until the picture is small enough.
        loop {
            let cell_m = covered.cell_m * f64::from(join);
            let index = |v: f64| (v / cell_m).floor() as i64;
            let mut times: BTreeMap<(i64, i64), (f64, f64)> = BTreeMap::new();
            for c in covered.cells.iter().filter(|c| c.along_m.is_finite() && c.across_m.is_finite()) {
                let sum = times.entry((index(c.across_m), index(c.along_m))).or_default();
                sum.0 += c.swept_m2;
                sum.1 += c.swept_m2 * c.passes;
            }
            let m2 = cell_m * cell_m;
            let cells: Vec<_> =
                times.iter().map(|((row, column), (swept, passed))| (*column, *row, passed / m2, (swept / m2) as f32)).collect();
            if cells.is_empty() {
                return None;
            }
            if let Some(grid) = Grid::new(cell_m, &cells) {
                self.breaks = TIMES.to_vec();
                self.note = format!("squares of {cell_m:.0} m; {:.0} m² swept in all", covered.swept_m2());
                self.cells = Cells::Covered { cell_m, times };
                return Some(grid);
            }
            join *= 2;
            if join > 4096 {
                return None;
            }
        }
    }

    /// Rates, or the widths of their intervals.
    fn rates(
        &mut self,
        read: impl Fn(f64) -> Result<Option<CellRates>, String>,
        of: WeightChoice,
    ) -> Result<Option<Grid>, String> {
        let what = match of {
            WeightChoice::All => "finds",
            WeightChoice::Heavy => "heavy finds",
            WeightChoice::Light => "light finds",
        };
        let sure = self.what == GroundShown::Certainty;
        self.title = if sure {
            format!("width of the 95 % interval, {what} per 100 m²")
        } else {
            format!("{what} per 100 m² of rested ground")
        };
        let mut cell_m = RATE_CELL_M;
        loop {
            let Some(rates) = read(cell_m)? else { return Ok(None) };
            let value = |c: &crate::reading::CellRate| if sure { c.width() } else { c.per_100m2 };
            let breaks = breaks(rates.cells.iter().map(value).collect());
            let m2 = cell_m * cell_m;
            let cover = |c: &crate::reading::CellRate| {
                if sure {
                    // The wider the interval, the more the hatching of ground never looked at shows through.
                    let shade = breaks.iter().filter(|b| **b <= c.width()).count();
                    1.0 - shade as f32 / (SHADES as f32 + 0.5)
                } else {
                    (c.swept_m2 / (0.25 * m2)) as f32
                }
            };
            let cells: Vec<_> = rates.cells.iter().map(|c| (c.column, c.row, value(c), cover(c))).collect();
            if let Some(grid) = Grid::new(cell_m, &cells) {
                self.note = format!("cells of {cell_m:.0} m, drawn towards the mean of {}", said(rates.mean_per_100m2));
                self.breaks = breaks;
                self.cells = Cells::Rates(rates);
                return Ok(Some(grid));
            }
            cell_m *= 2.0;
            if cell_m > 1e5 {
                return Ok(None);
            }
        }
    }

    /// Which shade a value has, 0 the palest. Certainty is darkest where the interval is narrowest.
    pub(crate) fn shade(&self, value: f64) -> usize {
        let n = self.breaks.iter().filter(|b| **b <= value).count();
        self.shade_of_step(n)
    }

    /// The shade of the n-th step of the scale, spread over all shades there are.
    pub(crate) fn shade_of_step(&self, step: usize) -> usize {
        let last = self.breaks.len().max(1);
        let n = if self.what == GroundShown::Certainty { last - step.min(last) } else { step };
        (n * (SHADES - 1)).div_ceil(last).min(SHADES - 1)
    }

    /// The colours of its shades.
    pub(crate) fn colours(&self, dark: bool) -> [[u8; 3]; SHADES] {
        self.shades.0[usize::from(dark)]
    }

    fn paint(&mut self, grid: &Grid) {
        self.pictures = [false, true].map(|dark| {
            let colours = self.colours(dark);
            let dot = |v: &Option<(f64, f32)>| {
                v.map_or(NOTHING, |(value, cover)| {
                    let [r, g, b] = colours[self.shade(value)];
                    let cover = cover.clamp(0.3, 0.94);
                    [r, g, b, u8::MAX].map(|c| (f32::from(c) * cover + 0.5) as u8)
                })
            };
            Picture { columns: grid.columns, rows: grid.rows, dots: grid.values.iter().map(dot).collect() }
        });
    }

    fn hang(&mut self, grid: &Grid, land: &Land) {
        let knots = |cells: usize, most: usize| ((cells as f64 * grid.cell_m / 15.0).ceil() as usize + 1).clamp(2, most);
        let (columns, rows) = (knots(grid.columns, NET.0), knots(grid.rows, NET.1));
        self.net_columns = columns;
        for row in 0..rows {
            for column in 0..columns {
                let uv = [column as f64 / (columns - 1) as f64, row as f64 / (rows - 1) as f64];
                let m = |corner: i64, cells: usize, share: f64| (corner as f64 + share * cells as f64) * grid.cell_m;
                let s = ShorePoint::new(m(grid.corner.0, grid.columns, uv[0]), m(grid.corner.1, grid.rows, uv[1]));
                self.net.push(Knot { at: land.placing.of_shore(s), uv: uv.map(|v| v as f32) });
            }
        }
    }

    /// What is known of the ground at a place, in words.
    pub(crate) fn at(&self, s: ShorePoint) -> String {
        let unknown = || "here: never looked at".to_owned();
        match &self.cells {
            Cells::None => String::new(),
            Cells::Covered { cell_m, times } => {
                let index = |v: f64| (v / cell_m).floor() as i64;
                let m2 = cell_m * cell_m;
                times.get(&(index(s.across_m), index(s.along_m))).map_or_else(unknown, |(swept, passed)| {
                    format!("here: {:.1} times, {:.0} % of the square swept", passed / m2, 100.0 * (swept / m2).min(1.0))
                })
            }
            Cells::Rates(rates) => rates.at(s).map_or_else(unknown, |c| {
                let finds = if c.finds == 1 { "1 find".to_owned() } else { format!("{} finds", c.finds) };
                format!("here: {} ({} to {}); {finds} on {:.0} m²", said(c.per_100m2), said(c.low), said(c.high), c.swept_m2)
            }),
        }
    }

    /// The steps of the scale in words, as the legend has them.
    pub(crate) fn steps(&self) -> Vec<String> {
        let n = self.breaks.len();
        (0..=n)
            .map(|k| match (k.checked_sub(1).and_then(|k| self.breaks.get(k)), self.breaks.get(k)) {
                (None, Some(b)) => format!("under {}", said(*b)),
                (Some(a), Some(b)) => format!("{} to {}", said(*a), said(*b)),
                (Some(a), None) => format!("{} and more", said(*a)),
                (None, None) => "all alike".to_owned(),
            })
            .collect()
    }

    /// Whether there is anything to show.
    pub(crate) fn is_empty(&self) -> bool {
        self.net.is_empty()
    }

    /// The colour of the ground at a place by day; `None` where nobody looked.
    pub(crate) fn colour_at(&self, s: ShorePoint) -> Option<[u8; 3]> {
        let value = match &self.cells {
            Cells::None => None,
            Cells::Covered { cell_m, times } => {
                let index = |v: f64| (v / cell_m).floor() as i64;
                times.get(&(index(s.across_m), index(s.along_m))).map(|(_, passed)| passed / (cell_m * cell_m))
            }
            Cells::Rates(rates) => rates.at(s).map(|c| if self.what == GroundShown::Certainty { c.width() } else { c.per_100m2 }),
        };
        value.map(|v| self.colours(false)[self.shade(v)])
    }
}

/// A figure with two places that matter and no more.
pub(crate) fn said(value: f64) -> String {
    match value.abs() {
        v if v >= 10.0 => format!("{value:.0}"),
        v if v >= 1.0 => format!("{:.1}", value).trim_end_matches(".0").to_owned(),
        v if v >= 0.1 || v == 0.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

/// Round values (1, 2 or 5 times a power of ten) that part the values: at most one fewer than there
/// are shades, leaving out the ends that hardly any reach.
fn breaks(mut values: Vec<f64>) -> Vec<f64> {
    values.retain(|v| v.is_finite() && *v > 0.0);
    values.sort_by(f64::total_cmp);
    let at = |share: f64| values.get(((values.len() as f64 - 1.0) * share).round().max(0.0) as usize).copied();
    let (Some(low), Some(high)) = (at(0.02), at(0.995)) else { return Vec::new() };
    let within = |steps: &[f64]| -> Vec<f64> {
        let powers = low.log10().floor() as i32..=high.log10().ceil() as i32;
        let all = powers.flat_map(|power| steps.iter().map(move |m| m * 10f64.powi(power)));
        all.filter(|v| (low..=high).contains(v)).collect()
    };
    let mut round = within(&[1.0, 2.0, 5.0]);
    if round.len() < 3 {
        // A narrow range needs finer steps.
        round = within(&[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0]);
    }
    if round.is_empty() {
        round.extend(at(0.5));
    }
    while round.len() > SHADES - 1 {
        // Where the scale is long, every other step goes.
        round = round.into_iter().step_by(2).collect();
    }
    round
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{Ground, KnownGround, ReadingTables};

    #[test]
    fn the_scale_is_round_and_short() {
        let even: Vec<f64> = (1..=1000).map(f64::from).map(|n| n / 100.0).collect();
        assert_eq!(breaks(even), [0.5, 1.0, 2.0, 5.0]);
        assert_eq!(breaks(vec![1.3; 50]), [1.3]);
        assert!(breaks(vec![]).is_empty() && breaks(vec![f64::NAN, 0.0]).is_empty());
        let wide: Vec<f64> = (0..=600).map(|n| 10f64.powf(f64::from(n) / 100.0 - 3.0)).collect();
        assert!(breaks(wide).len() < SHADES);
    }

    #[test]
    fn figures_are_said_with_the_places_that_matter() {
        let told: Vec<String> = [0.0, 0.04, 0.5, 1.0, 1.26, 12.6].into_iter().map(said).collect();
        assert_eq!(told, ["0.0", "0.04", "0.5", "1", "1.3", "13"]);
    }

    #[test]
    fn a_grid_too_large_to_draw_is_refused_and_holes_stay_holes() {
        let cells = [(3, -2, 1.0, 1.0), (5, -1, 2.0, 1.0)];
        let grid = Grid::new(10.0, &cells).unwrap();
        assert_eq!((grid.columns, grid.rows, grid.corner), (3, 2, (3, -2)));
        assert_eq!(grid.values.iter().map(Option::is_some).collect::<Vec<_>>(), [true, false, false, false, false, true]);
        assert!(Grid::new(1.0, &[(0, 0, 1.0, 1.0), (i64::MAX / 2, 0, 1.0, 1.0)]).is_none());
        assert!(Grid::new(1.0, &[]).is_none());
    }

    /// What is handed to the screen stays small however many cells there are, and what is shown of a
    /// cell is its own figure.
    #[test]
    fn a_hundred_thousand_cells_are_one_picture_on_a_small_net() {
        use crate::book::{Beach, Book, Edit, Seaward};
        use crate::earth::{Frame, Local, LonLat};
        use crate::query::Given;
        use crate::reading::CoveredCell;
        use crate::shore::Setting;
        let origin = LonLat::new(-20.0, 45.0).unwrap();
        let frame = Frame::centred_on(origin).unwrap();
        let mut beach = Beach::new("Invented Bay", origin);
        beach.baseline = [-500.0, 500.0].map(|e| frame.to_lonlat(Local::new(e, 0.0)).unwrap()).to_vec();
        (beach.seaward, beach.slope, beach.back_level_m) = (Seaward::Right, Some(0.04), Some(4.0));
        let mut book = Book::new();
        book.apply(&Edit::put(beach.clone())).unwrap();
        let setting = Setting::from_book(&book, beach.uid).unwrap();
        let land = Land::drawn(Given::new(setting), &Progress::new()).unwrap();
        let cells = (0..100_000).map(|n| CoveredCell {
            along_m: f64::from(n % 1000) + 0.5,
            across_m: f64::from(n / 1000) + 0.5,
            swept_m2: 1.0,
            passes: 1.0 + f64::from(n % 5),
        });
        let covered = Covered { cell_m: 1.0, cells: cells.collect(), visits: Vec::new(), searched: Vec::new() };
        let shades = Shades([[[10, 10, 10], [20, 20, 20], [30, 30, 30], [40, 40, 40], [50, 50, 50]]; 2]);
        let wanted = |what| Wanted { what, of: WeightChoice::All, shades };
        let painted = |what, covered: Option<&Covered>| {
            let (tables, params) = (ReadingTables::from(&book), crate::reading::Params::default());
            let rates = |cell_m| {
                let ground = Ground { book: &tables, setting: &land.setting, covered, now: None };
                let Some(covered) = covered else { return Ok(None) };
                let known = KnownGround::new(&land.setting, &(&tables).into(), covered, params.scan_cell_m);
                CellRates::read(&ground, &known, WeightChoice::All, cell_m, &params, &Progress::new()).map_err(|e| e.to_string())
            };
            GroundPicture::painted(&wanted(what), rates, &land, covered, &Progress::new()).unwrap()
        };
        for what in [GroundShown::Covered, GroundShown::Rate, GroundShown::Certainty] {
            let picture = painted(what, Some(&covered));
            assert!(picture.net.len() <= NET.0 * NET.1 && picture.pictures[0].dots.len() <= MOST_DOTS, "{what:?}");
            assert!(!picture.is_empty() && !picture.title.is_empty());
            let named = picture.steps().len();
            assert_eq!(named, picture.breaks.len() + 1);
        }
        let picture = painted(GroundShown::Covered, Some(&covered));
        let at = |along: f64| picture.at(ShorePoint::new(along, 10.5));
        assert_eq!(
            (at(0.5).as_str(), at(3.5).as_str()),
            ("here: 1.0 times, 100 % of the square swept", "here: 4.0 times, 100 % of the square swept")
        );
        assert_eq!(at(5000.0), "here: never looked at");
        let colours = picture.colours(false);
        let colour = |along: f64| picture.colour_at(ShorePoint::new(along, 10.5));
        assert_eq!((colour(0.5), colour(3.5)), (Some(colours[2]), Some(colours[4])));
        assert_eq!(colour(5000.0), None);
        // Without any track there is nothing to show, and that is said.
        let none = painted(GroundShown::Rate, None);
        assert!(none.is_empty() && none.title.contains("no tracks"));
    }
}
