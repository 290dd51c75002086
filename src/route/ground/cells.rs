//! The walking ground: squares of sand with their lowest level, and the steps between them.
//!
//! A square can be walked when the level of the sand is known all over it (at nine places: corners, middles
//! of the sides, middle; of a large square at more) and nothing that bars touches it. Sand across a gap of the
//! survey, or taken from an even slope, is not known. A step to one of the eight neighbours is open
//! when no barrier crosses it; a slanting one needs both squares beside it as well, as a person cuts through
//! their corners. O(squares) to build; sand is read on all cores.

use geo::{BoundingRect, Intersects};
use geo_types::{Coord, Line, Rect};
use rayon::prelude::*;

use super::bars::Bars;
use super::chord_plane::ChordPlane;
use crate::earth::Local;
use crate::shore::{LevelSource, SandLevel, Shore};

/// The eight steps, straight ones first.
pub(in crate::route) const STEPS: [(i32, i32); 8] = [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)];

/// At most this many squares: a survey of a whole coast is planned in parts.
const MOST_CELLS: usize = 400_000;

/// Places at which a square is looked at lie no farther apart than this, metres: less than any gap of a survey.
const CLOSE_M: f64 = 7.0;

/// The squares of a beach.
pub(in crate::route) struct Cells {
    pub(in crate::route) lay: ChordPlane,
    origin: Coord<f64>,
    nx: i32,
    ny: i32,
    pub(in crate::route) side_m: f64,
    /// Lowest sand above the tide's datum less its own error, metres; NaN where nobody walks.
    level_m: Vec<f64>,
    /// Standard error of the sand at the middle, metres.
    sigma_m: Vec<f64>,
    /// Open steps, a bit each.
    open: Vec<u8>,
}

/// What the squares are cut from.
pub(in crate::route) struct Sand<'a> {
    pub(in crate::route) shore: &'a Shore,
    pub(in crate::route) offset_m: f64,
    /// Standard errors by which the sand is taken lower.
    pub(in crate::route) sigmas: f64,
    /// Metres by which it is taken lower besides.
    pub(in crate::route) lower_m: f64,
}

impl Sand<'_> {
    /// Level that counts above the tide's datum, and its standard error, metres, where the sand is known.
    pub(in crate::route) fn level(&self, p: Local) -> Option<(f64, f64)> {
        let sand = self.shore.sand_level(p).filter(|s| s.from == LevelSource::Surveyed)?;
        Some((self.counted(sand), sand.sigma_m))
    }

    /// The same, and whether it is known, where anything at all is said of it.
    pub(in crate::route) fn guess(&self, p: Local) -> Option<(f64, bool)> {
        let sand = self.shore.sand_level(p)?;
        Some((self.counted(sand), sand.from == LevelSource::Surveyed))
    }

    fn counted(&self, sand: SandLevel) -> f64 {
        sand.land_m + self.offset_m - self.sigmas * sand.sigma_m - self.lower_m
    }
}

impl Cells {
    /// Cuts the ground whose level is known into squares. `None` when there is none, or more than can be planned.
    pub(in crate::route) fn cut(sand: &Sand<'_>, lay: ChordPlane, bars: &Bars, side_m: f64) -> Option<Self> {
        let outline = sand.shore.outline();
        let corners = outline.iter().flat_map(|p| p.exterior().0.iter()).map(|c| lay.lay_at((*c).into()));
        let bounds = geo_types::MultiPoint::from(corners.collect::<Vec<_>>()).bounding_rect()?;
        let (nx, ny) = ((bounds.width() / side_m).ceil().max(1.0), (bounds.height() / side_m).ceil().max(1.0));
        if nx * ny > MOST_CELLS as f64 {
            return None;
        }
        let (nx, ny) = (nx as i32, ny as i32);
        let origin = bounds.min();
        // A lattice of half squares: each of its points serves up to four squares.
        let (lx, ly) = (2 * nx + 1, 2 * ny + 1);
        let half = side_m / 2.0;
        let lattice: Vec<(f64, f64)> = (0..lx * ly)
            .into_par_iter()
            .map(|n| {
                let at = Coord { x: origin.x + f64::from(n % lx) * half, y: origin.y + f64::from(n / lx) * half };
                sand.level(lay.to_local(at)).unwrap_or((f64::NAN, f64::NAN))
            })
            .collect();
        let of = |x: i32, y: i32| lattice[(y * lx + x) as usize];
        let (mut level_m, mut sigma_m) = (Vec::new(), Vec::new());
        for n in 0..nx * ny {
            let (x, y) = (2 * (n % nx) + 1, 2 * (n / nx) + 1);
            let nine = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (dx, dy))).map(|(dx, dy)| of(x + dx, y + dy).0);
            // One unknown makes the whole unknown: a NaN that `min` would pass over.
            level_m.push(nine.fold(f64::INFINITY, |low, l| if l.is_nan() || low.is_nan() { f64::NAN } else { low.min(l) }));
            sigma_m.push(of(x, y).1);
        }
        let mut cells = Self { lay, origin, nx, ny, side_m, level_m, sigma_m, open: Vec::new() };
        cells.look_closer(sand);
        cells.bar(bars);
        Some(cells)
    }

    /// Between the nine places of a large square a gap of the survey could lie unseen.
    fn look_closer(&mut self, sand: &Sand<'_>) {
        let parts = (self.side_m / CLOSE_M).ceil() as u32;
        if parts <= 2 {
            return;
        }
        for n in 0..self.len() {
            let corner = self.rect(n).min();
            let at = |k: u32| f64::from(k) / f64::from(parts) * self.side_m;
            let mut places = (0..=parts).flat_map(|x| (0..=parts).map(move |y| (x, y)));
            let known = |(x, y)| sand.level(self.lay.to_local(Coord { x: corner.x + at(x), y: corner.y + at(y) })).is_some();
            if self.is_ground(n) && !places.all(known) {
                self.level_m[n] = f64::NAN;
            }
        }
    }

    fn bar(&mut self, bars: &Bars) {
        for area in &bars.areas {
            let Some(bounds) = area.bounding_rect() else { continue };
            for n in self.within(bounds) {
                if area.intersects(&self.rect(n)) {
                    self.level_m[n] = f64::NAN;
                }
            }
        }
        let mut open = vec![0_u8; self.len()];
        for (n, steps) in open.iter_mut().enumerate() {
            for (s, &(dx, dy)) in STEPS.iter().enumerate() {
                let aside = |to| self.is_ground(to);
                let sides = s < 4 || (self.beside(n, (dx, 0)).is_some_and(aside) && self.beside(n, (0, dy)).is_some_and(aside));
                if self.is_ground(n) && sides && self.beside(n, (dx, dy)).is_some_and(aside) {
                    *steps |= 1 << s;
                }
            }
        }
        for line in &bars.lines {
            let bounds = line.bounding_rect();
            let wide = Rect::new(
                Coord { x: bounds.min().x - self.side_m, y: bounds.min().y - self.side_m },
                Coord { x: bounds.max().x + self.side_m, y: bounds.max().y + self.side_m },
            );
            for n in self.within(wide) {
                for (s, step) in STEPS.iter().enumerate() {
                    let Some(to) = self.beside(n, *step) else { continue };
                    if open[n] & (1 << s) != 0 && line.intersects(&Line::new(self.middle(n), self.middle(to))) {
                        open[n] &= !(1 << s);
                    }
                }
            }
        }
        self.open = open;
    }

    pub(in crate::route) fn len(&self) -> usize {
        (self.nx * self.ny) as usize
    }

    /// Whether a square can be walked when it is dry.
    pub(in crate::route) fn is_ground(&self, n: usize) -> bool {
        !self.level_m[n].is_nan()
    }

    /// Lowest sand that counts, metres above the tide's datum; NaN where nobody walks.
    pub(in crate::route) fn level_m(&self, n: usize) -> f64 {
        self.level_m[n]
    }

    /// Standard error of the sand, metres.
    pub(in crate::route) fn sigma_m(&self, n: usize) -> f64 {
        self.sigma_m[n]
    }

    /// Its middle, in the lay.
    pub(in crate::route) fn middle(&self, n: usize) -> Coord<f64> {
        let (x, y) = (n as i32 % self.nx, n as i32 / self.nx);
        Coord { x: self.origin.x + (f64::from(x) + 0.5) * self.side_m, y: self.origin.y + (f64::from(y) + 0.5) * self.side_m }
    }

    /// The square itself, in the lay.
    pub(in crate::route) fn rect(&self, n: usize) -> Rect<f64> {
        let (middle, half) = (self.middle(n), self.side_m / 2.0);
        Rect::new(Coord { x: middle.x - half, y: middle.y - half }, Coord { x: middle.x + half, y: middle.y + half })
    }

    /// The neighbour a step away, if there is one.
    pub(in crate::route) fn beside(&self, n: usize, (dx, dy): (i32, i32)) -> Option<usize> {
        let (x, y) = (n as i32 % self.nx + dx, n as i32 / self.nx + dy);
        (x >= 0 && y >= 0 && x < self.nx && y < self.ny).then(|| (y * self.nx + x) as usize)
    }

    /// The open steps from a square: where each leads, its length in metres, and the squares beside a
    /// slanting one.
    pub(in crate::route) fn steps(&self, n: usize) -> impl Iterator<Item = (usize, f64, Option<[usize; 2]>)> + '_ {
        let open = self.open[n];
        STEPS.iter().enumerate().filter(move |(s, _)| open & (1 << s) != 0).filter_map(move |(s, &(dx, dy))| {
            let to = self.beside(n, (dx, dy))?;
            if s < 4 {
                return Some((to, self.side_m, None));
            }
            let sides = [self.beside(n, (dx, 0))?, self.beside(n, (0, dy))?];
            Some((to, self.side_m * std::f64::consts::SQRT_2, Some(sides)))
        })
    }

    /// The square that holds a place of the lay.
    pub(in crate::route) fn at(&self, c: Coord<f64>) -> Option<usize> {
        let (x, y) = (((c.x - self.origin.x) / self.side_m).floor(), ((c.y - self.origin.y) / self.side_m).floor());
        let inside = x >= 0.0 && y >= 0.0 && x < f64::from(self.nx) && y < f64::from(self.ny);
        inside.then(|| y as usize * self.nx as usize + x as usize)
    }

    /// The squares that touch a rectangle of the lay.
    pub(in crate::route) fn within(&self, bounds: Rect<f64>) -> impl Iterator<Item = usize> + use<> {
        let index = |v: f64, from: f64, most: i32| (((v - from) / self.side_m).floor().clamp(-1.0, f64::from(most))) as i32;
        let (x0, x1) = (index(bounds.min().x, self.origin.x, self.nx), index(bounds.max().x, self.origin.x, self.nx));
        let (y0, y1) = (index(bounds.min().y, self.origin.y, self.ny), index(bounds.max().y, self.origin.y, self.ny));
        let (nx, ny) = (self.nx, self.ny);
        (y0.max(0)..=y1.min(ny - 1)).flat_map(move |y| (x0.max(0)..=x1.min(nx - 1)).map(move |x| (y * nx + x) as usize))
    }
}
