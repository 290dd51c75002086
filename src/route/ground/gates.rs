//! Where a route may begin and end: accesses joined to the walking ground, and the spot one stands on.

use geo_types::{Coord, Line};

use super::dryness::Span;
use super::planner::{Planner, Tide};
use super::ways_out::{Gate, WaysOut};
use crate::earth::{Local, LonLat, distance_m, distance_words};
use crate::route::error::RouteError;
use crate::route::params::Start;

/// An access is joined to the walking ground over at most this, metres.
const LINK_M: f64 = 40.0;
/// The part of that before the access itself whose level need not be known, metres.
const BARE_M: f64 = 20.0;
/// A spot farther than this from the middle of the beach is on another, metres.
const OFF_THE_BEACH_M: f64 = 25_000.0;
/// No moment: what cannot be an end is never come back to in time.
const NEVER_S: i32 = i32::MIN / 2;

/// An access as a route uses it.
#[derive(Debug, Clone, PartialEq)]
pub struct WayIn {
    /// Its name.
    pub name: String,
    /// Where it meets the sand.
    pub at: Local,
}

/// The gates of one low: the access each belongs to, and how it is joined.
pub(in crate::route) type Gates = Vec<(usize, Gate)>;

/// A place where a route may begin or end, as the search sees it.
pub(in crate::route) struct Join {
    pub(in crate::route) cell: usize,
    pub(in crate::route) link_m: f64,
    /// Not left before the first, not come back to after the second, seconds from the low.
    pub(in crate::route) open_s: (i32, i32),
    pub(in crate::route) way: WayIn,
}

/// All of them, with what was asked for.
pub(in crate::route) struct Ends {
    pub(in crate::route) joins: Vec<Join>,
    pub(in crate::route) start: Option<usize>,
    pub(in crate::route) end: Option<usize>,
    /// Whether one sets out from the sand.
    pub(in crate::route) placed: bool,
}

impl Planner<'_> {
    /// Where the accesses meet dry ground at this low.
    pub(in crate::route) fn gates(&self, tide: &Tide, margin_m: f64) -> Result<Gates, RouteError> {
        let (mut joined, mut dry) = (false, false);
        let mut gates = Gates::new();
        for (number, (_, at)) in self.accesses.iter().enumerate() {
            let place = self.cells.lay.lay_at(*at);
            let reach = Coord { x: LINK_M, y: LINK_M };
            let near = self.cells.within(geo_types::Rect::new(place - reach, place + reach));
            let away = |n: usize| geo::Distance::distance(&geo::Euclidean, place, self.cells.middle(n));
            let mut ways: Vec<(f64, usize)> =
                near.filter(|n| self.cells.is_ground(*n)).map(|n| (away(n), n)).filter(|(m, _)| *m <= LINK_M).collect();
            ways.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            for (link_m, cell) in ways {
                if self.bars.bar(Line::new(place, self.cells.middle(cell))) || !self.is_surveyed(place, cell, link_m) {
                    continue;
                }
                joined = true;
                let Some(span) = self.link(tide, place, cell, margin_m) else { continue };
                dry = true;
                if let Some(span) = span.shared(tide.light) {
                    gates.push((number, Gate { cell, link_m, span }));
                    break;
                }
            }
        }
        match (gates.is_empty(), joined) {
            (false, _) => Ok(self.ways_off(gates, tide, margin_m)),
            (true, true) if dry => Err(RouteError::DarkAccess { beach: self.name() }),
            (true, true) => Err(RouteError::AccessUnderWater { beach: self.name(), margin_m }),
            (true, false) => Err(RouteError::AccessApart { beach: self.name(), link_m: LINK_M }),
        }
    }

    /// Those that lead off the water, or were asked for by name; all of them where none does.
    fn ways_off(&self, gates: Gates, tide: &Tide, margin_m: f64) -> Gates {
        let p = self.asked.params;
        let low = tide.dryness.time(0);
        let named = |n: usize| {
            let uid = self.accesses[n].0.uid;
            p.end == Some(uid) || p.start == Start::Access(uid)
        };
        let serves = |n: usize| named(n) || self.not_off(tide, low, n, margin_m).is_none();
        let sound: Gates = gates.iter().copied().filter(|(n, _)| serves(*n)).collect();
        if sound.is_empty() { gates } else { sound }
    }

    /// Whether nothing lies between an access and a square that nobody surveyed, but what lies before the access
    /// itself.
    fn is_surveyed(&self, place: Coord<f64>, cell: usize, link_m: f64) -> bool {
        let end = self.cells.middle(cell);
        let steps = link_m.ceil().max(1.0) as u32;
        let known = |n: u32| {
            let at = place + (end - place) * (f64::from(n) / f64::from(steps));
            self.sand.level(self.cells.lay.to_local(at)).is_some()
        };
        let bare = (0..=steps).take_while(|n| !known(*n)).count() as u32;
        f64::from(bare) <= BARE_M && (bare..=steps).all(known)
    }

    /// When the way from an access to a square is dry wherever anything is said of its sand.
    fn link(&self, tide: &Tide, place: Coord<f64>, cell: usize, margin_m: f64) -> Option<Span> {
        let end = self.cells.middle(cell);
        let mut span = tide.dryness.span(self.cells.level_m(cell) - margin_m)?;
        for n in 0..=20 {
            let part = f64::from(n) / 20.0;
            let at = self.cells.lay.to_local(place + (end - place) * part);
            if let Some((level_m, _)) = self.sand.guess(at) {
                span = span.shared(tide.dryness.span(level_m - margin_m)?)?;
            }
        }
        let margin_s = (self.asked.params.time_margin_min * 60.0) as i32;
        Some(Span { to_s: span.to_s - margin_s, ..span }).filter(|s| s.from_s <= s.to_s)
    }

    /// Where this route may begin and end.
    pub(in crate::route) fn ends(
        &self,
        gates: &Gates,
        ways_out: &WaysOut,
        tide: &Tide,
        window: Span,
    ) -> Result<Ends, RouteError> {
        let p = self.asked.params;
        let mut joins: Vec<Join> = gates
            .iter()
            .map(|(n, g)| {
                let (access, at) = self.accesses[*n];
                let open_s = g.span.shared(window).map_or((i32::MAX / 2, NEVER_S), |s| (s.from_s, s.to_s));
                Join { cell: g.cell, link_m: g.link_m, open_s, way: WayIn { name: access.name.clone(), at } }
            })
            .collect();
        let of_access = |uid: crate::book::Uid| -> Result<usize, RouteError> {
            gates.iter().position(|(n, _)| self.accesses[*n].0.uid == uid).ok_or_else(|| {
                let known = self.asked.book.accesses().get(&uid).map(|a| a.name.clone());
                RouteError::AccessShut { beach: self.name(), access: known.unwrap_or_else(|| "the one chosen".to_owned()) }
            })
        };
        let start = match p.start {
            Start::AnyAccess => None,
            Start::Access(uid) => Some(of_access(uid)?),
            Start::Place(at) => {
                joins.push(self.stand(at, ways_out, tide, window)?);
                Some(joins.len() - 1)
            }
        };
        let end = p.end.map(of_access).transpose()?;
        Ok(Ends { joins, start, end, placed: matches!(p.start, Start::Place(_)) })
    }

    /// The square of the walking ground that a spot lies on, and the spot in the beach's plane.
    pub(in crate::route) fn spot(&self, at: LonLat) -> Result<(usize, Local), RouteError> {
        let origin = self.asked.setting.beach.origin;
        let away_m = distance_m(origin, at);
        if away_m > OFF_THE_BEACH_M {
            let turned = LonLat::new(at.lat_deg(), at.lon_deg()).ok();
            let swapped = turned.is_some_and(|p| distance_m(origin, p) <= OFF_THE_BEACH_M);
            let swapped = if swapped { "; longitude and latitude look swapped: give longitude first" } else { "" };
            return Err(RouteError::StartFar { beach: self.name(), away: distance_words(away_m), swapped });
        }
        let off = || RouteError::StartOff { beach: self.name() };
        let local = self.shore.frame().to_local(at).map_err(|_| off())?;
        let place = self.cells.lay.lay_at(local);
        let cell = self.cells.at(place).filter(|n| self.cells.is_ground(*n)).ok_or_else(off)?;
        if self.bars.bar(Line::new(place, self.cells.middle(cell))) {
            return Err(off());
        }
        Ok((cell, local))
    }

    /// The spot one stands on when the plan begins. It must be safe there and then.
    fn stand(&self, at: LonLat, ways_out: &WaysOut, tide: &Tide, window: Span) -> Result<Join, RouteError> {
        let (cell, local) = self.spot(at)?;
        let (place, middle) = (self.cells.lay.lay_at(local), self.cells.middle(cell));
        let held = |s: Span| s.from_s <= window.from_s && window.from_s <= s.to_s;
        if !ways_out.safe(cell).is_some_and(held) {
            return Err(RouteError::StartUnsafe { beach: self.name(), time: self.clock(tide.dryness.time(window.from_s)) });
        }
        let link_m = geo::Distance::distance(&geo::Euclidean, place, middle);
        let way = WayIn { name: "the spot chosen on the sand".to_owned(), at: local };
        Ok(Join { cell, link_m, open_s: (window.from_s, NEVER_S), way })
    }
}
