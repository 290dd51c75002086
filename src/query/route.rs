//! The next low-tide route.

use jiff::Timestamp;

use super::doubts::on_day;
use super::{Given, GroundCovered, Question, ReadBeach, Refusal, Work};
use crate::route::{Asked, ByBand, Onlooker, Paces, Params, Route, RouteError, RouteTables, WithUndug, plan_watched};
use crate::sea::Waves;
use crate::shore::Setting;
use crate::trust::{SMALL_TIDE, Told};

/// What a route is asked for, in the window and without it.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteAsk {
    /// The low water; the first that serves when `None`.
    pub low: Option<Timestamp>,
    /// Not before this.
    pub after: Timestamp,
    /// Most hours on the sand.
    pub hours: Option<f64>,
    /// What the person set; the weather's water, the least run-up and the coil come from the book unless one of the
    /// next four says otherwise.
    pub params: Params,
    /// Another coil than the one last used on the beach, metres wide.
    pub coil_m: Option<f64>,
    /// Another run-up than the beach's own, metres.
    pub run_up_m: Option<f64>,
    /// The waves that the person expects.
    pub sea: Option<Waves>,
    /// Another surge than the beach's own, metres.
    pub surge_m: Option<f64>,
    /// Whether a station is trusted for this route, however far it is and whatever lies between.
    pub trust_station: bool,
    /// Whether the person's own paces stand in where the outings tell them.
    pub own_paces: bool,
}

impl RouteAsk {
    /// The settings that hold for it.
    pub fn settings(&self, tables: &RouteTables, setting: &Setting, paces: Option<&Paces>) -> Params {
        let usual = Params::for_beach(tables, setting);
        let mut params = Params {
            surge: usual.surge,
            source_m: usual.source_m,
            run_up_m: self.run_up_m.unwrap_or(usual.run_up_m),
            sea: self.sea.or(self.params.sea),
            coil_width_m: self.coil_m.unwrap_or(usual.coil_width_m),
            ..self.params.clone()
        };
        params.surge.residual_m = self.surge_m.unwrap_or(params.surge.residual_m);
        params.sand_lower_m = params.sand_lower_m.max(setting.sand_aged_m(self.low.unwrap_or(self.after)));
        if let Some(paces) = paces.filter(|_| self.own_paces) {
            paces.apply(&mut params);
        }
        params.keep_to_pace(self.params.walk_out_m_s.min(setting.beach.pace_m_s.unwrap_or(f64::INFINITY)));
        params
    }
}

/// The route that serves best at a low water.
#[derive(Clone, PartialEq)]
pub struct RouteQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) reading: Given<ReadBeach>,
    pub(super) covered: Given<GroundCovered>,
    pub(super) paces: Given<Option<Paces>>,
    pub(super) doubts: Given<Vec<Told>>,
    pub(super) tables: RouteTables,
    pub(super) ask: RouteAsk,
}

impl RouteQuestion {
    /// What is asked for.
    pub fn ask(&self) -> &RouteAsk {
        &self.ask
    }

    /// The same of everything but what is asked for.
    #[must_use]
    pub fn with_ask(&self, ask: RouteAsk) -> Self {
        Self { ask, ..self.clone() }
    }

    /// The same for this low with the usual pace and the beach's own weather; `None` where that is what is asked for.
    pub fn usual_at(&self, low: Timestamp) -> Option<Self> {
        let here = RouteAsk { low: Some(low), ..self.ask.clone() };
        let params = Params { walk_out_m_s: Params::default().walk_out_m_s, sea: None, ..here.params.clone() };
        let usual = RouteAsk { run_up_m: None, sea: None, surge_m: None, params, ..here.clone() };
        let settings = |ask: &RouteAsk| ask.settings(&self.tables, &self.setting, self.paces.as_ref());
        (settings(&here) != settings(&usual)).then(|| self.with_ask(usual))
    }
}

/// A route with what it was asked for.
pub struct Planned {
    /// What it was asked for.
    pub ask: RouteAsk,
    /// The route; it has passed the check.
    pub route: Route,
}

/// Shows better routes as they are found.
struct Showing<'a> {
    work: &'a Work<Planned>,
    ask: &'a RouteAsk,
}

impl Onlooker for Showing<'_> {
    fn better(&mut self, route: Route) {
        self.work.show(Planned { ask: self.ask.clone(), route });
    }

    fn enough(&mut self) -> bool {
        self.work.is_enough()
    }
}

impl From<RouteError> for Refusal {
    fn from(error: RouteError) -> Self {
        match error {
            RouteError::Parameter { .. } => Self::bad_use(error),
            other => Self::missing(other),
        }
    }
}

impl Question for RouteQuestion {
    type Answer = Planned;
    const NAME: &'static str = "the route";
    /// Lows that were planned stand side by side while nothing they rest on has changed.
    const KEPT: usize = 12;

    fn work_out(&self, work: &Work<Planned>) -> Result<Planned, Refusal> {
        let (setting, ask, covered) = (&*self.setting, &self.ask, self.covered.covered.as_ref());
        let params = ask.settings(&self.tables, setting, self.paces.as_ref());
        let reading = Some(&self.reading.reading);
        let worth = ByBand::new(setting, reading, covered, params.prior_per_100m2, params.detection);
        let worth = WithUndug::new(&worth, &self.tables, setting, &params);
        let (after, hours, low) = (ask.after, ask.hours, ask.low);
        let mut doubts = on_day(&self.doubts, setting, low.unwrap_or(after));
        // A surge for this route alone is weather enough.
        doubts.retain(|t| ask.surge_m.is_none() || !t.doubt.key.starts_with(SMALL_TIDE));
        let doubts: Vec<Told> = doubts.iter().map(|t| t.trusted(ask.trust_station)).collect();
        let asked = Asked { book: &self.tables, setting, worth: &worth, after, hours, low, doubts: &doubts, params: &params };
        let route = plan_watched(&asked, work.progress(), &mut Showing { work, ask })?;
        Ok(Planned { ask: ask.clone(), route })
    }
}
