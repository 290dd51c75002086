//! The low chosen, how its route is planned, and which route is shown for it.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp};

use super::clock::Clock;
use super::frame_context::FrameContext;
use crate::query::drawing::RouteDrawing;
use crate::query::{Age, Given, RouteAsk, RouteDrawingQuestion};
use crate::route::{BlockId, Params, Start};
use crate::sea::Waves;

/// From when a route is planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum When {
    /// Some minutes before the low.
    BeforeLow,
    /// From the moment that Time shows: dragging it plans anew.
    Shown,
    /// From this moment on.
    At(Timestamp),
}

/// The low chosen and how its route is planned.
pub(crate) struct NextLowView {
    pub(crate) low: Option<Timestamp>,
    pub(crate) when: When,
    /// Minutes before low water at which one sets out at the earliest.
    pub(crate) before_min: i64,
    /// What the person set, pinned and left-out blocks among it.
    pub(crate) params: Params,
    pub(crate) coil_m: Option<f64>,
    pub(crate) own_paces: bool,
    /// The run-up while it is being changed; the beach keeps it.
    pub(crate) run_up_m: Option<f64>,
    /// The pace of the slowest while it is dragged or typed, metres per second.
    pub(crate) pace_m_s: Option<f64>,
    /// The sea that the person expects where no record or forecast covers the low.
    pub(crate) sea: Option<Waves>,
    /// The block picked on Plan or in the list.
    pub(crate) block: Option<BlockId>,
    /// The block that the pointer rests on.
    pub(crate) hovered: Option<BlockId>,
    /// Whether the start is being dragged, or the next click on Plan sets it.
    pub(crate) drags_start: bool,
    pub(crate) places_start: bool,
    /// What is asked for now, and the moment Time showed when it last stood still.
    pub(crate) asked: Option<RouteAsk>,
    held: Option<Timestamp>,
    /// What was asked for each low that was planned, to compare.
    pub(crate) planned: BTreeMap<Timestamp, RouteAsk>,
    /// The low whose route stands beside this one's.
    pub(crate) beside: Option<Timestamp>,
    pub(crate) folder: String,
    /// How high the route's times and all below them last were on the sheet, points.
    pub(crate) highs: [f32; 2],
}

/// Moments nearer than this are one: Time plans anew in such steps, seconds.
const STEP_S: i64 = 300;

impl Default for NextLowView {
    fn default() -> Self {
        Self {
            low: None,
            when: When::BeforeLow,
            before_min: 240,
            params: Params::default(),
            coil_m: None,
            own_paces: true,
            run_up_m: None,
            pace_m_s: None,
            sea: None,
            block: None,
            hovered: None,
            drags_start: false,
            places_start: false,
            asked: None,
            held: None,
            planned: BTreeMap::new(),
            beside: None,
            folder: String::new(),
            highs: [0.0; 2],
        }
    }
}

impl NextLowView {
    /// Plans for another low; what was kept in or left out for the last one is forgotten.
    pub(crate) fn choose(&mut self, low: Timestamp) {
        if self.low != Some(low) {
            self.beside = self.low.filter(|l| self.planned.contains_key(l)).or(self.beside);
        }
        self.low = Some(low);
        self.when = When::BeforeLow;
        self.block = None;
        self.params.excluded.clear();
        self.params.pinned.clear();
        if matches!(self.params.start, Start::Place(_)) {
            self.params.start = Start::AnyAccess;
        }
    }

    /// What is asked for now, if a low is chosen.
    pub(crate) fn ask(&mut self, clock: &Clock) -> Option<RouteAsk> {
        let low = self.low?;
        // While time runs by itself the plan stands.
        if !clock.playing || self.held.is_none() {
            let at = clock.at.as_second().div_euclid(STEP_S) * STEP_S;
            self.held = Timestamp::from_second(at).ok();
        }
        let after = match self.when {
            When::BeforeLow => low.checked_sub(SignedDuration::from_mins(self.before_min)).ok()?,
            When::Shown => self.held?,
            When::At(at) => at,
        };
        self.asked = Some(RouteAsk {
            low: Some(low),
            after,
            hours: None,
            params: self.params.clone(),
            coil_m: self.coil_m,
            run_up_m: self.run_up_m,
            sea: self.sea,
            surge_m: None,
            trust_station: false,
            own_paces: self.own_paces,
        });
        self.asked.clone()
    }

    /// The route to show: the answer to what is asked now, else the best so far. What answered an earlier
    /// question is never shown, as people stake a walk on it.
    pub(crate) fn current_route(&self, shown: &FrameContext<'_>) -> Option<(Given<RouteDrawing>, Stage)> {
        let asked = self.asked.as_ref().filter(|_| self.low.is_some())?;
        let question = shown.route_base?.with_ask(asked.clone());
        let drawing = shown.answers.answer::<RouteDrawingQuestion>();
        let (drawn, _) = drawing.newest().filter(|_| drawing.question().is_some_and(|q| q.of == question))?;
        let answer = shown.answers.kept(&question);
        let stage = if answer.is_some_and(|a| *a == drawn.planned) { Stage::Done } else { Stage::SoFar };
        Some((drawn.clone(), stage))
    }

    /// The route that was planned for a low before, while nothing it rests on has changed since.
    pub(crate) fn kept_route(&self, shown: &FrameContext<'_>, low: Timestamp) -> Option<Given<RouteDrawing>> {
        let of = shown.route_base?.with_ask(self.planned.get(&low)?.clone());
        let (land, _) = shown.land().filter(|(_, age)| *age == Age::Fresh)?;
        let planned = shown.answers.kept(&of)?.clone();
        shown.answers.kept(&RouteDrawingQuestion { land: land.clone(), planned, of }).cloned()
    }

    /// Whether a card may move Time to its moment without planning anew.
    pub(crate) fn time_is_free(&self) -> bool {
        self.when != When::Shown
    }

    /// Leaves a block out, or takes it back.
    pub(crate) fn leave_out(&mut self, block: BlockId) {
        self.params.pinned.remove(&block);
        if !self.params.excluded.remove(&block) {
            self.params.excluded.insert(block);
        }
    }

    /// Keeps a block in, or lets it go again.
    pub(crate) fn keep_in(&mut self, block: BlockId) {
        self.params.excluded.remove(&block);
        if !self.params.pinned.remove(&block) {
            self.params.pinned.insert(block);
        }
    }
}

/// How the route shown stands to what is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stage {
    /// It is the answer.
    Done,
    /// It is the best so far.
    SoFar,
}
