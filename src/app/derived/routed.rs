use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{Both, Land, Read};
use crate::Progress;
use crate::book::Book;
use crate::reading::Covered;
use crate::route::{Asked, BlockId, ByBand, Doing, Params, Route, WithUndug, plan};

/// What a route is asked for on screen.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RouteAsk {
    /// The low water.
    pub(crate) low: Timestamp,
    /// Not before this.
    pub(crate) after: Timestamp,
    pub(crate) head_torch: bool,
    pub(crate) run_up_m: f64,
    /// Blocks to be left out.
    pub(crate) excluded: BTreeSet<BlockId>,
}

/// Most time for the search, seconds: someone is waiting.
const MOST_S: f64 = 4.0;

/// A route with what the views draw of it.
pub(crate) struct Routed {
    pub(crate) ask: RouteAsk,
    pub(crate) route: Route,
    /// Where each step of the way lies, with whether one walks to it.
    pub(crate) way: Vec<(Both, bool)>,
    /// The corners of each block.
    pub(crate) blocks: Vec<[Both; 4]>,
}

impl Routed {
    pub(crate) fn of(
        book: &Book,
        land: &Land,
        read: Option<&Read>,
        covered: Option<&Covered>,
        ask: RouteAsk,
        progress: &Progress,
    ) -> Result<Self, String> {
        let mut params = Params { head_torch: ask.head_torch, run_up_m: ask.run_up_m, ..Params::of_beach(book, &land.setting) };
        params.excluded.clone_from(&ask.excluded);
        params.time_limit_s = Some(MOST_S);
        let reading = read.map(|r| &r.reading);
        let worth = ByBand::new(&land.setting, reading, covered, params.prior_per_100m2, params.detection);
        let worth = WithUndug::new(&worth, book, &land.setting, &params);
        let asked = Asked {
            book,
            setting: &land.setting,
            worth: &worth,
            after: ask.after,
            hours: None,
            low: Some(ask.low),
            params: &params,
        };
        let route = plan(&asked, progress).map_err(|e| e.to_string())?;
        let place = |p| land.placing.of_local(p);
        let way = route.trace.iter().map(|s| (place(s.at), s.doing == Doing::Walking)).collect();
        let blocks = route.visits.iter().map(|v| v.corners.map(place)).collect();
        Ok(Self { ask, way, blocks, route })
    }
}
