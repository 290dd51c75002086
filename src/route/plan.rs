//! From a book and a beach to a checked route: which low, which ground, which order, and when to be back.

use geo_types::{Coord, Line};
use jiff::{SignedDuration, Timestamp};

use super::RouteError;
use super::bars::Bars;
use super::block::{self, Allowed, Candidate, Cutting, Tally};
use super::cells::{Cells, Sand};
use super::check::{Breach, check};
use super::dryness::{Dryness, Span};
use super::lay::Lay;
use super::params::Params;
use super::route::Route;
use super::search::{Effort, Problem, Stop};
use super::telling;
use super::trace::Draw;
use super::walks::Walks;
use super::ways_out::{Gate, Retreat, WaysOut};
use super::worth::Worth;
use crate::Progress;
use crate::book::{Access, Book, Permission};
use crate::earth::Local;
use crate::shore::{Setting, Shore};
use crate::sun;
use crate::tide::{Turn, TurnKind, Water};

/// What a route is asked for.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    /// The book, as a snapshot.
    pub book: &'a Book,
    /// The beach with its sand and water.
    pub setting: &'a Setting,
    /// What its ground is worth.
    pub worth: &'a dyn Worth,
    /// Not before this.
    pub after: Timestamp,
    /// Most hours from the first step on the sand to the last; `None`: as long as the water allows, eight at most.
    pub hours: Option<f64>,
    /// The low water wanted; `None`: the first that serves.
    pub low: Option<Timestamp>,
    /// How to plan.
    pub params: &'a Params,
}

/// How far ahead a low is looked for.
const AHEAD_H: i64 = 48;
/// Hours of an outing that are never exceeded.
const MOST_HOURS: f64 = 8.0;
/// A low counts as lit when so much of the hour on either side of it is, seconds.
const LEAST_LIT_S: i32 = 1800;
/// An access is joined to the walking ground over at most this, metres.
const LINK_M: f64 = 40.0;
/// What is added to the margins, metres and minutes, when the check finds fault with a route.
const HARDER: [(f64, f64); 4] = [(0.02, 0.0), (0.1, 5.0), (0.2, 10.0), (0.4, 20.0)];
/// Water higher than predicted, and sand lower than surveyed, of the questions "what if", metres.
const IF_WATER_M: f64 = 0.3;
const IF_SAND_M: f64 = 0.2;
/// Lateness of the third, seconds.
const IF_LATE_S: i32 = 30 * 60;

/// Plans the best route that was found for the next low that serves. It has passed [`check`].
///
/// # Errors
/// [`RouteError`] says what is missing or stands against it; [`RouteError::Cancelled`] when called off.
pub fn plan(asked: &Asked<'_>, progress: &Progress) -> Result<Route, RouteError> {
    asked.params.check()?;
    if asked.hours.is_some_and(|h| !(h > 0.0 && h <= 24.0)) {
        return Err(RouteError::Parameter { what: "hours", why: "there must be more than 0 and at most 24".to_owned() });
    }
    let ground = Planner::of(asked)?;
    let mut why: Option<RouteError> = None;
    for low in ground.lows()? {
        progress.check()?;
        match ground.at_low(low, progress) {
            Ok(route) => return Ok(route),
            Err(cancelled @ RouteError::Cancelled(_)) => return Err(cancelled),
            // The reason of the first low is the one that interests; a dark one is passed over for a better reason.
            Err(error) => match why {
                Some(RouteError::Dark { .. }) | None => why = Some(error),
                Some(_) => {}
            },
        }
    }
    Err(why.unwrap_or_else(|| RouteError::NoLow { beach: ground.name() }))
}

/// The ground as it is, whatever the water does.
pub(super) struct Planner<'a> {
    pub(super) asked: &'a Asked<'a>,
    pub(super) shore: &'a Shore,
    pub(super) water: &'a Water,
    sand: Sand<'a>,
    bars: Bars,
    cells: Cells,
    accesses: Vec<(&'a Access, Local)>,
    pub(super) permissions: Vec<&'a Permission>,
    pace: Vec<f64>,
}

/// One low with its clock and light.
struct Tide {
    dryness: Dryness,
    light: Span,
}

/// The gates of one low: the access each belongs to, and how it is joined.
type Gates = Vec<(usize, Gate)>;

impl<'a> Planner<'a> {
    pub(super) fn of(asked: &'a Asked<'a>) -> Result<Self, RouteError> {
        let (setting, params) = (asked.setting, asked.params);
        let beach = &setting.beach;
        let shore = setting.shore.as_ref().map_err(|e| RouteError::Shore(e.clone()))?;
        let water = setting.water.as_ref().ok_or_else(|| RouteError::NoTide { beach: beach.name.clone() })?;
        let offset_m = shore.datum_offset_m()?;
        let accesses: Vec<(&Access, Local)> = asked
            .book
            .accesses()
            .values()
            .filter(|a| a.beach == beach.uid)
            .filter_map(|a| Some((a, shore.frame().to_local(a.at).ok()?)))
            .collect();
        if accesses.is_empty() {
            return Err(RouteError::NoAccess { beach: beach.name.clone() });
        }
        let no_levels = || crate::shore::ShoreError::NoLevels(beach.name.clone());
        let lay = Lay::along(&shore.baseline().points()).ok_or_else(no_levels)?;
        let closed = |uid| params.closed_zones.contains(&uid);
        let bars = Bars::of(asked.book, beach.uid, &closed, shore.frame(), &lay);
        let sand = Sand { shore, offset_m, sigmas: params.sand_sigmas, lower_m: params.sand_lower_m };
        let cells = Cells::cut(&sand, lay, &bars, params.cell_m).ok_or_else(no_levels)?;
        let top_m = setting.marks.first().map_or(f64::INFINITY, |m| m.level_m);
        let pace = (0..cells.len())
            .map(|n| 1.0 / if cells.level_m(n) > top_m { params.walk_dry_m_s } else { params.walk_wet_m_s })
            .collect();
        let permissions = asked.book.permissions().values().filter(|p| p.beach == beach.uid).collect();
        Ok(Self { asked, shore, water, sand, bars, cells, accesses, permissions, pace })
    }

    fn name(&self) -> String {
        self.asked.setting.beach.name.clone()
    }

    /// The lows to be tried, in order.
    fn lows(&self) -> Result<Vec<Turn>, RouteError> {
        let after = self.asked.after;
        let ends = || RouteError::TideEnds { beach: self.name() };
        let (from, to) = match self.asked.low {
            Some(low) => (low - SignedDuration::from_mins(30), low + SignedDuration::from_mins(30)),
            None => (after - SignedDuration::from_hours(3), after + SignedDuration::from_hours(AHEAD_H)),
        };
        let turns = self.water.turns(from, to);
        let mut lows: Vec<Turn> = turns.into_iter().filter(|t| t.kind == TurnKind::Low).collect();
        if let Some(low) = self.asked.low {
            lows.sort_by_key(|t| t.time.duration_since(low).abs());
            lows.truncate(1);
        }
        if lows.is_empty() && self.water.height_m(after).is_none() {
            return Err(ends());
        }
        Ok(lows)
    }

    fn at_low(&self, low: Turn, progress: &Progress) -> Result<Route, RouteError> {
        let tide = self.tide(&low)?;
        let window = self.window(&tide)?;
        let mut breach: Option<Breach> = None;
        for (more_m, more_min) in HARDER {
            progress.check()?;
            match self.try_once(&low, &tide, window, more_m, more_min, progress)? {
                Ok(route) => return Ok(route),
                Err(found) => breach = Some(found),
            }
        }
        let said = breach.map_or_else(String::new, |b| b.said(self.asked.setting));
        Err(RouteError::NotSafe { beach: self.name(), said })
    }

    /// The water and light around a low.
    fn tide(&self, low: &Turn) -> Result<Tide, RouteError> {
        let dryness = Dryness::around(self.water, low.time);
        let day = Span { from_s: -43_200, to_s: 43_200 };
        if self.asked.params.head_torch {
            return Ok(Tide { dryness, light: day });
        }
        let (from, to) = (dryness.time(day.from_s), dryness.time(day.to_s));
        let lit = sun::lit(self.asked.setting.beach.origin, from, to, sun::CIVIL_DEG);
        let around = Span { from_s: -3600, to_s: 3600 };
        let spans = lit.into_iter().map(|(a, b)| Span { from_s: dryness.seconds(a) + 1, to_s: dryness.seconds(b) - 1 });
        let length = |s: &Span| s.shared(around).map_or(0, |s| s.to_s - s.from_s);
        match spans.max_by_key(length) {
            Some(light) if length(&light) >= LEAST_LIT_S => Ok(Tide { dryness, light }),
            _ => Err(RouteError::Dark { beach: self.name(), low: self.clock(low.time) }),
        }
    }

    /// When the outing may last: light, the hour asked for and its length.
    fn window(&self, tide: &Tide) -> Result<Span, RouteError> {
        let length_s = (self.asked.hours.unwrap_or(MOST_HOURS).min(MOST_HOURS) * 3600.0) as i32;
        let from_s = tide.dryness.seconds(self.asked.after).max(-length_s / 2).max(tide.light.from_s);
        let window = Span { from_s, to_s: (from_s + length_s).min(tide.light.to_s) };
        if window.to_s - window.from_s < 600 {
            return Err(RouteError::Dark { beach: self.name(), low: self.clock(tide.dryness.time(0)) });
        }
        Ok(window)
    }

    fn clock(&self, time: Timestamp) -> String {
        telling::clock(self.asked.setting, time)
    }

    /// Where the accesses meet dry ground at this low.
    fn gates(&self, tide: &Tide, margin_m: f64) -> Result<Gates, RouteError> {
        let mut joined = false;
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
                if self.bars.bar(Line::new(place, self.cells.middle(cell))) {
                    continue;
                }
                joined = true;
                if let Some(span) = self.link(tide, place, cell, margin_m) {
                    gates.push((number, Gate { cell, link_m, span }));
                    break;
                }
            }
        }
        match (gates.is_empty(), joined) {
            (false, _) => Ok(gates),
            (true, true) => Err(RouteError::AccessUnderWater { beach: self.name(), margin_m }),
            (true, false) => Err(RouteError::AccessApart { beach: self.name(), link_m: LINK_M }),
        }
    }

    /// When the way from an access to a square is dry wherever its sand is known, and lit.
    fn link(&self, tide: &Tide, place: Coord<f64>, cell: usize, margin_m: f64) -> Option<Span> {
        let end = self.cells.middle(cell);
        let mut span = tide.dryness.span(self.cells.level_m(cell) - margin_m)?;
        for n in 0..=20 {
            let part = f64::from(n) / 20.0;
            let at = self.cells.lay.to_local(place + (end - place) * part);
            if let Some((level_m, _)) = self.sand.level(at) {
                span = span.shared(tide.dryness.span(level_m - margin_m)?)?;
            }
        }
        let margin_s = (self.asked.params.time_margin_min * 60.0) as i32;
        Span { to_s: span.to_s - margin_s, ..span }.shared(tide.light)
    }

    fn ways_out(&self, tide: &Tide, more_m: f64, more_min: f64) -> Result<(Gates, WaysOut), RouteError> {
        let p = self.asked.params;
        let margin_m = p.water_margin_m() + more_m;
        let gates = self.gates(tide, margin_m)?;
        let list: Vec<Gate> = gates.iter().map(|(_, g)| *g).collect();
        let retreat = Retreat { walk_m_s: p.walk_out_m_s, margin_s: ((p.time_margin_min + more_min) * 60.0) as i32 };
        Ok((gates, WaysOut::find(&self.cells, &tide.dryness, margin_m, &list, retreat)))
    }

    /// One route, or the fault that the check finds with it.
    fn try_once(
        &self,
        low: &Turn,
        tide: &Tide,
        window: Span,
        more_m: f64,
        more_min: f64,
        progress: &Progress,
    ) -> Result<Result<Route, Breach>, RouteError> {
        let p = self.asked.params;
        let (gates, ways_out) = self.ways_out(tide, more_m, more_min)?;
        let zone =
            self.asked.setting.beach.zone().map_err(|e| RouteError::Parameter { what: "time zone", why: e.to_string() })?;
        let allowed: Vec<Allowed> = self
            .permissions
            .iter()
            .filter_map(|x| Allowed::of(x, &zone, &tide.dryness, &self.cells.lay, self.shore.frame()))
            .collect();
        // A permission that cannot be laid out must not turn into "no permission needed".
        if !self.permissions.is_empty() && allowed.len() < self.permissions.len() {
            return Err(RouteError::OutsidePermission { beach: self.name(), day: self.clock(low.time) });
        }
        let cutting = Cutting {
            sand: &self.sand,
            cells: &self.cells,
            ways_out: &ways_out,
            bars: &self.bars,
            allowed: &allowed,
            worth: self.asked.worth,
            params: p,
        };
        let (blocks, tally) = block::cut(&cutting, window);
        progress.check()?;
        if blocks.is_empty() {
            return Err(self.nothing(low, tally, &ways_out));
        }
        let stops: Vec<Stop> = blocks.iter().map(|b| Stop::within(value(b, p), b.takes_s, b.span)).collect();
        let gate_spans: Vec<(i32, i32)> = gates
            .iter()
            .map(|(_, g)| g.span.shared(window).map_or((i32::MAX / 2, i32::MIN / 2), |s| (s.from_s, s.to_s)))
            .collect();
        let link_s = |m: f64| (m / p.walk_dry_m_s.min(p.walk_wet_m_s)).ceil() as i32;
        let places = blocks.iter().map(|b| (b.cell, 0)).chain(gates.iter().map(|(_, g)| (g.cell, link_s(g.link_m)))).collect();
        let walks = Walks::new(&self.cells, &ways_out, &self.pace, places);
        let problem = Problem { stops: &stops, gates: &gate_spans, legs: &walks };
        let effort = Effort { seed: p.seed, rounds: p.rounds, time_limit_s: p.time_limit_s };
        let tour = problem.solve(effort, progress)?.filter(|t| !t.stops.is_empty());
        let Some(tour) = tour else { return Err(self.nothing(low, tally, &ways_out)) };
        let draw = Draw {
            shore: self.shore,
            cells: &self.cells,
            walks: &walks,
            dryness: &tide.dryness,
            blocks: &blocks,
            accesses: gates.iter().map(|(n, _)| self.accesses[*n]).collect(),
            params: p,
        };
        let Some(drawn) = draw.draw(&tour) else {
            let lost =
                Breach { time: low.time, at: Local::default(), what: "a way between two blocks could not be drawn".to_owned() };
            return Ok(Err(lost));
        };
        let checked = match check(self.asked.book, self.asked.setting, p, &drawn.trace) {
            Ok(checked) => checked,
            Err(breach) => return Ok(Err(breach)),
        };
        let chosen: Vec<&Candidate> = tour.stops.iter().map(|s| &blocks[*s]).collect();
        let mut route = telling::tell(self, low, drawn, &chosen, blocks.len(), checked);
        route.what_if = self.what_if(tide, &route, &chosen);
        Ok(Ok(route))
    }

    /// How the moment to turn back moves.
    fn what_if(&self, tide: &Tide, route: &Route, chosen: &[&Candidate]) -> Vec<super::WhatIf> {
        let leave_s: Vec<i32> = route.visits.iter().map(|v| tide.dryness.seconds(v.leave)).collect();
        let begin_s: Vec<i32> = route.visits.iter().map(|v| tide.dryness.seconds(v.begin)).collect();
        let lost = |holds: &dyn Fn(usize) -> bool| -> (usize, Option<usize>) {
            let gone: Vec<usize> = (0..chosen.len()).filter(|n| !holds(*n)).collect();
            (gone.len(), gone.first().copied())
        };
        let higher = |more_m: f64, said: String| {
            let ways_out = self.ways_out(tide, more_m, 0.0).ok().map(|(_, w)| w);
            let span = |n: usize| -> Option<Span> {
                let ways_out = ways_out.as_ref()?;
                self.touched(chosen[n]).try_fold(Span { from_s: i32::MIN, to_s: i32::MAX }, |s, c| s.shared(ways_out.safe(c)?))
            };
            let holds = |n: usize| span(n).is_some_and(|s| s.from_s <= begin_s[n] && leave_s[n] <= s.to_s);
            let (visits_lost, first_lost) = lost(&holds);
            let turn_back = (0..chosen.len()).filter_map(span).map(|s| s.to_s).min().map(|s| tide.dryness.time(s));
            super::WhatIf { said, turn_back, visits_lost, first_lost }
        };
        let holds = |n: usize| leave_s[n] + IF_LATE_S <= chosen[n].leave_by_s.min(chosen[n].span.to_s);
        let (visits_lost, first_lost) = lost(&holds);
        vec![
            super::WhatIf {
                said: format!("arriving {} minutes late", IF_LATE_S / 60),
                turn_back: Some(route.turn_back),
                visits_lost,
                first_lost,
            },
            higher(IF_WATER_M, format!("water {IF_WATER_M} m higher than predicted")),
            higher(IF_SAND_M, format!("sand {IF_SAND_M} m lower than surveyed")),
        ]
    }

    /// The squares that a block touches.
    fn touched(&self, block: &Candidate) -> impl Iterator<Item = usize> {
        use geo::{BoundingRect, Intersects};
        let ring = block.corners.iter().chain(&block.corners[..1]).map(|c| self.cells.lay.lay_at(*c)).collect();
        let quad = geo_types::Polygon::new(geo_types::LineString(ring), Vec::new());
        let bounds = quad.bounding_rect();
        bounds.into_iter().flat_map(|b| self.cells.within(b)).filter(move |n| quad.intersects(&self.cells.rect(*n)))
    }

    /// Why no ground remains.
    fn nothing(&self, low: &Turn, tally: Tally, ways_out: &WaysOut) -> RouteError {
        let beach = self.name();
        if tally.known == 0 {
            return RouteError::NoGround { beach, why: "no block of it lies wholly on sand whose level is known".to_owned() };
        }
        if !self.permissions.is_empty() && (tally.allowed == 0 || (tally.clear > 0 && tally.in_hours == 0)) {
            return RouteError::OutsidePermission { beach, day: self.clock(low.time) };
        }
        if tally.clear == 0 {
            return RouteError::NoGround { beach, why: "barriers and closed ground take all that may be searched".to_owned() };
        }
        let dry = (0..self.cells.len()).any(|n| ways_out.safe(n).is_some());
        if dry {
            let why = "no block stays dry, lit and allowed, with a dry way out, for as long as it takes to search it".to_owned();
            return RouteError::NoGround { beach, why };
        }
        RouteError::NeverDry { beach, low: self.clock(low.time), margin_m: self.asked.params.water_margin_m() }
    }

    /// Standard errors of the sand in the squares of a block: the largest counts, metres.
    pub(super) fn sand_error_m(&self, block: &Candidate) -> f64 {
        self.touched(block).map(|n| self.cells.sigma_m(n)).fold(0.0, f64::max) * self.asked.params.sand_sigmas
    }
}

/// What the search counts a block for.
fn value(block: &Candidate, p: &Params) -> f64 {
    let wanted = block.finds + p.explore * block.finds_sd;
    // A pinned block outweighs any number of others, so it is in whenever it can be.
    if p.pinned.contains(&block.id) { wanted + 1e6 } else { wanted }
}
