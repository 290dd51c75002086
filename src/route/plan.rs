//! From a book and a beach to a checked route: which low, which ground, which order, and when to be back.

use std::cell::OnceCell;
use std::sync::Arc;
use std::time::{Duration, Instant};

use jiff::SignedDuration;

use super::asked::Asked;
use super::check::{Breach, check};
use super::error::RouteError;
use super::ground::block::{self, Allowed, Candidate, Cutting, Tally};
use super::ground::dryness::{Dryness, Span};
use super::ground::gates::Gates;
use super::ground::planner::{AHEAD_H, Planner, Tide};
use super::ground::ways_out::{Gate, Retreat, WaysOut};
use super::params::{Params, Start};
use super::result::telling;
use super::result::trace::Draw;
use super::result::{Ground, PassedOver, Route};
use super::search::walks::Walks;
use super::search::{Effort, Problem, Stop, Tour, Watch};
use crate::Progress;
use crate::earth::Local;
use crate::sun;
use crate::tide::{Turn, TurnKind, Window};
use crate::trust::{unsettled, unsettled_within};

/// Hours of an outing that are never exceeded.
const MOST_HOURS: f64 = 8.0;
/// No outing is shorter, seconds.
const LEAST_WINDOW_S: i32 = 600;
/// A low counts as lit when so much of the hour on either side of it is, seconds.
const LEAST_LIT_S: i32 = 1800;
/// What is added to the margins, metres and minutes, when the check finds fault with a route.
const HARDER: [(f64, f64); 4] = [(0.02, 0.0), (0.1, 5.0), (0.2, 10.0), (0.4, 20.0)];
/// The water is read so long before the outing may begin and after it must end: ways out are held open beyond the walk.
const BESIDE: SignedDuration = SignedDuration::from_hours(1);

/// Plans the best route that was found for the next low that serves. It has passed [`check`].
///
/// # Errors
/// [`RouteError`] says what is missing or stands against it; [`RouteError::Cancelled`] when called off.
pub fn plan(asked: &Asked<'_>, progress: &Progress) -> Result<Route, RouteError> {
    plan_watched(asked, progress, &mut ())
}

/// Looks on while a route is sought.
pub trait Onlooker {
    /// Told of a route better than any before it. It has passed [`check`] too, but says nothing yet of what
    /// happens when things go otherwise.
    fn better(&mut self, route: Route);
    /// Whether the best so far will do.
    fn enough(&mut self) -> bool;
}

/// Nobody looks on.
impl Onlooker for () {
    fn better(&mut self, _route: Route) {}
    fn enough(&mut self) -> bool {
        false
    }
}

/// As [`plan`], showing better routes as they are found.
///
/// # Errors
/// As [`plan`].
pub fn plan_watched(asked: &Asked<'_>, progress: &Progress, onlooker: &mut dyn Onlooker) -> Result<Route, RouteError> {
    asked.params.check()?;
    if let Some(hours) = asked.hours.filter(|h| !(LEAST_WINDOW_S..=86_400).contains(&((h * 3600.0) as i32))) {
        let why = format!("{hours} h are not between {} minutes and 24 hours", LEAST_WINDOW_S / 60);
        return Err(RouteError::Parameter { what: "hours", why });
    }
    // What is missing is told before what is doubted.
    let mut ground = Planner::new(asked)?;
    if let Some(said) = unsettled(asked.doubts) {
        return Err(RouteError::Unsettled { beach: ground.name(), said });
    }
    ground.begins()?;
    let lows = ground.lows()?;
    // Each low has its own sea, and so its own margin.
    let settings: Vec<OnceCell<Params>> = lows.iter().map(|_| OnceCell::new()).collect();
    let mut why: Option<RouteError> = None;
    for (low, kept) in lows.into_iter().zip(&settings) {
        progress.check()?;
        ground.asked.params = asked.params;
        if let Ok((tide, window)) = ground.tide(&low).and_then(|tide| ground.window(&tide).map(|w| (tide, w))) {
            ground.run_up = ground.run_up(&low, &tide, window);
            ground.asked.params = kept.get_or_init(|| Params { run_up_m: ground.run_up.m, ..asked.params.clone() });
        }
        match ground.at_low(low, progress, onlooker) {
            Ok(route) => return Ok(route),
            Err(cancelled @ RouteError::Cancelled(_)) => return Err(cancelled),
            // The reason of the first low is the one that interests; a dark one is passed over for a better reason.
            Err(error) => {
                ground.passed_over.push(PassedOver { low: low.time, why: error.why_passed_over() });
                match why {
                    Some(RouteError::Dark { .. } | RouteError::DarkAccess { .. } | RouteError::TooLate { .. }) | None => {
                        why = Some(error)
                    }
                    Some(_) => {}
                }
            }
        }
    }
    Err(why.unwrap_or_else(|| RouteError::NoLow { beach: ground.name() }))
}

/// The low under work and how long the outing may last.
struct At<'x> {
    low: &'x Turn,
    tide: &'x Tide,
    window: Span,
}

impl Planner<'_> {
    /// Whether one can set out from the spot chosen at all: on this beach, on sand, and by light.
    fn begins(&self) -> Result<(), RouteError> {
        let Start::Place(at) = self.asked.params.start else { return Ok(()) };
        self.spot(at)?;
        let after = self.asked.after;
        let hour = SignedDuration::from_hours(1);
        let lit = sun::lit(self.asked.setting.beach.origin, after - hour, after + hour, sun::CIVIL_DEG);
        if self.asked.params.head_torch || lit.iter().any(|(from, to)| *from <= after && after <= *to) {
            return Ok(());
        }
        Err(RouteError::StartDark { beach: self.name(), time: self.clock(after) })
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

    fn at_low(&self, low: Turn, progress: &Progress, onlooker: &mut dyn Onlooker) -> Result<Route, RouteError> {
        let tide = self.tide(&low)?;
        let window = self.window(&tide)?;
        self.settled(&low, &tide, window)?;
        let mut breach: Option<Breach> = None;
        for (more_m, more_min) in HARDER {
            progress.check()?;
            // What is to be done with more time to spare is to be done by light as well.
            let to_s = tide.light.to_s - (60.0 * more_min) as i32;
            let tide = Tide { dryness: tide.dryness.clone(), light: Span { to_s, ..tide.light } };
            let window = Span { to_s: window.to_s.min(to_s), ..window };
            match self.try_once(&At { low: &low, tide: &tide, window }, (more_m, more_min), progress, onlooker)? {
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
        // Whoever stands on the sand already cannot wait for the tide or the light elsewhere.
        let after_s = tide.dryness.seconds(self.asked.after);
        let placed = matches!(self.asked.params.start, Start::Place(_));
        let from_s = if placed { after_s } else { after_s.max(-length_s / 2).max(tide.light.from_s) };
        let window = Span { from_s, to_s: (from_s + length_s).min(tide.light.to_s) };
        let low = || self.clock(tide.dryness.time(0));
        if window.from_s < tide.light.from_s {
            return Err(RouteError::Dark { beach: self.name(), low: low() });
        }
        if window.to_s - window.from_s < LEAST_WINDOW_S {
            return Err(RouteError::TooLate { beach: self.name(), low: low(), after: self.clock(self.asked.after) });
        }
        Ok(window)
    }

    pub(super) fn ways_out(&self, tide: &Tide, more_m: f64, more_min: f64) -> Result<(Gates, WaysOut), RouteError> {
        let p = self.asked.params;
        let margin_m = p.water_margin_m() + more_m;
        let gates = self.gates(tide, margin_m)?;
        let list: Vec<Gate> = gates.iter().map(|(_, g)| *g).collect();
        let retreat = Retreat { walk_m_s: p.walk_out_m_s, margin_s: ((p.time_margin_min + more_min) * 60.0) as i32 };
        Ok((gates, WaysOut::find(&self.cells, &tide.dryness, margin_m, &list, retreat)))
    }

    /// Whether the water that a route at this low stands on may be believed.
    fn settled(&self, low: &Turn, tide: &Tide, window: Span) -> Result<(), RouteError> {
        let (from, to) = (tide.dryness.time(window.from_s), tide.dryness.time(window.to_s));
        let read = Window { from: from.min(low.time) - BESIDE, to: to.max(low.time) + BESIDE };
        unsettled_within(self.asked.doubts, &read)
            .map_or(Ok(()), |said| Err(RouteError::LowUnsettled { beach: self.name(), low: self.clock(low.time), said }))
    }

    /// One route, or the fault that the check finds with it.
    fn try_once(
        &self,
        at: &At<'_>,
        (more_m, more_min): (f64, f64),
        progress: &Progress,
        onlooker: &mut dyn Onlooker,
    ) -> Result<Result<Route, Breach>, RouteError> {
        let (p, low, tide, window) = (self.asked.params, at.low, at.tide, at.window);
        let (gates, ways_out) = self.ways_out(tide, more_m, more_min)?;
        let ends = self.ends(&gates, &ways_out, tide, window)?;
        let allowed = self.allowed(tide, low)?;
        let cutting = Cutting {
            sand: &self.sand,
            cells: &self.cells,
            ways_out: &ways_out,
            bars: &self.bars,
            allowed: &allowed,
            worth: self.asked.worth,
            when: low.time,
            params: p,
        };
        let (blocks, tally) = block::cut(&cutting, window);
        progress.check()?;
        if blocks.is_empty() {
            return Err(self.nothing(low, tally, &ways_out));
        }
        let stops: Vec<Stop> = blocks.iter().map(|b| Stop::within(value(b, p), b.takes_s, b.span)).collect();
        let link_s = |m: f64| (m / p.walk_dry_m_s.min(p.walk_wet_m_s)).ceil() as i32;
        let places = blocks.iter().map(|b| (b.cell, 0)).chain(ends.joins.iter().map(|j| (j.cell, link_s(j.link_m)))).collect();
        let walks = Walks::new(&self.cells, &ways_out, &self.pace, places);
        let spans: Vec<(i32, i32)> = ends.joins.iter().map(|j| j.open_s).collect();
        let problem = Problem { stops: &stops, gates: &spans, legs: &walks, start: ends.start, end: ends.end };
        let effort = Effort { seed: p.seed, rounds: p.rounds, time_limit_s: p.time_limit_s };
        let day_variance = self.asked.worth.day_variance();
        let draw = Draw {
            shore: self.shore,
            cells: &self.cells,
            walks: &walks,
            dryness: &tide.dryness,
            blocks: &blocks,
            ways_in: ends.joins.iter().map(|j| &j.way).collect(),
            waits_from_s: ends.placed.then_some(window.from_s),
            day_variance,
            params: p,
        };
        let ground: Arc<[Ground]> = blocks.iter().map(|b| Ground::from_candidate(b, day_variance)).collect();
        let mut telling = Telling { planner: self, low, tide, draw: &draw, ground: &ground, onlooker, last: None };
        let tour = problem.solve_watched(effort, progress, &mut telling)?.filter(|t| !t.stops.is_empty());
        let Some(tour) = tour else {
            // Ground there is, and a way out of it: then it is what it is worth that keeps anyone from going.
            if blocks.iter().all(|b| value(b, p) <= 0.0) {
                return Err(RouteError::NothingWorth { beach: self.name() });
            }
            return Err(self.nothing(low, tally, &ways_out));
        };
        Ok(telling.route(&tour).map(|mut route| {
            let chosen: Vec<&Candidate> = tour.stops.iter().map(|s| &blocks[*s]).collect();
            route.what_if = self.what_if(tide, &route, &chosen);
            route
        }))
    }

    /// The permissions laid on the ground and the clock.
    fn allowed(&self, tide: &Tide, low: &Turn) -> Result<Vec<Allowed>, RouteError> {
        let zone =
            self.asked.setting.beach.zone().map_err(|e| RouteError::Parameter { what: "time zone", why: e.to_string() })?;
        let allowed: Vec<Allowed> = self
            .permissions
            .iter()
            .filter_map(|x| Allowed::laid_on(x, &zone, &tide.dryness, &self.cells.lay, self.shore.frame()))
            .collect();
        // A permission that cannot be laid out must not turn into "no permission needed".
        if allowed.len() < self.permissions.len() {
            return Err(RouteError::OutsidePermission { beach: self.name(), day: self.clock(low.time) });
        }
        Ok(allowed)
    }

    /// Why no ground remains.
    fn nothing(&self, low: &Turn, tally: Tally, ways_out: &WaysOut) -> RouteError {
        let beach = self.name();
        if let (0, Some(gap)) = (tally.known, self.shore.gaps().first()) {
            return RouteError::NotSurveyed { beach, why: gap.said(None).trim_end_matches('.').to_owned() };
        }
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
}

/// Between two better routes that are shown, so that showing does not eat up the search.
const SHOW_EVERY: Duration = Duration::from_millis(250);

/// Draws, checks and shows better tours as they are found.
struct Telling<'x, 'a> {
    planner: &'x Planner<'a>,
    low: &'x Turn,
    tide: &'x Tide,
    draw: &'x Draw<'x>,
    ground: &'x Arc<[Ground]>,
    onlooker: &'x mut dyn Onlooker,
    last: Option<Instant>,
}

impl Telling<'_, '_> {
    /// The route of a tour, if the check lets it pass.
    fn route(&self, tour: &Tour) -> Result<Route, Breach> {
        let asked = self.planner.asked;
        let lost = || Breach {
            time: self.low.time,
            at: Local::default(),
            what: "a way between two blocks could not be drawn".to_owned(),
        };
        let drawn = self.draw.draw(tour).ok_or_else(lost)?;
        let checked = check(asked.book, asked.setting, asked.params, &drawn.trace)?;
        let chosen: Vec<&Candidate> = tour.stops.iter().map(|s| &self.draw.blocks[*s]).collect();
        Ok(telling::tell(self.planner, (self.low, self.tide), drawn, &chosen, Arc::clone(self.ground), checked))
    }
}

impl Watch for Telling<'_, '_> {
    fn better(&mut self, tour: &Tour) {
        if tour.stops.is_empty() || self.last.is_some_and(|t| t.elapsed() < SHOW_EVERY) {
            return;
        }
        self.last = Some(Instant::now());
        if let Ok(route) = self.route(tour) {
            self.onlooker.better(route);
        }
    }

    fn enough(&mut self) -> bool {
        self.onlooker.enough()
    }
}

/// What the search counts a block for.
fn value(block: &Candidate, p: &Params) -> f64 {
    let wanted = block.finds + p.explore * Candidate::unsure(&[block]);
    // A pinned block outweighs any number of others, so it is in whenever it can be.
    if p.pinned.contains(&block.id) { wanted + 1e6 } else { wanted }
}
