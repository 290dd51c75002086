use jiff::Timestamp;

use super::{DrawnPlace, Land};
use crate::query::{Given, Planned, RouteAsk};
use crate::route::{BlockId, Doing, Route, Start};

/// A route with what the views draw of it.
pub(crate) struct RouteDrawing {
    /// The route it draws.
    pub(crate) planned: Given<Planned>,
    /// Where each step of the way lies, with whether one walks to it.
    pub(crate) way: Vec<(DrawnPlace, bool)>,
    /// The corners of each block.
    pub(crate) blocks: Vec<[DrawnPlace; 4]>,
    /// The corners of every block that could be searched, with how much it is worth against the best, 0 to 1.
    pub(crate) ground: Vec<(BlockId, [DrawnPlace; 4], f32)>,
    /// Where it sets out and comes back.
    pub(crate) ends: [DrawnPlace; 2],
}

impl RouteDrawing {
    /// Draws a route on the land it was planned on.
    pub(crate) fn drawn(planned: Given<Planned>, land: &Land) -> Self {
        let route = &planned.route;
        let place = |p| land.placing.of_local(p);
        let way = route.trace.iter().map(|s| (place(s.at), s.doing == Doing::Walking)).collect();
        let blocks = route.visits.iter().map(|v| v.corners.map(place)).collect();
        let explore = planned.ask.params.explore;
        let worth = |g: &crate::route::Ground| g.finds + explore * g.finds_sd;
        let most = route.ground.iter().map(worth).fold(f64::MIN_POSITIVE, f64::max);
        let ground = route.ground.iter().map(|g| (g.block, g.corners.map(place), (worth(g) / most) as f32)).collect();
        let ends = [place(route.from.at), place(route.to.at)];
        Self { way, blocks, ground, ends, planned }
    }

    /// The route.
    pub(crate) fn route(&self) -> &Route {
        &self.planned.route
    }

    /// What it was asked for.
    pub(crate) fn ask(&self) -> &RouteAsk {
        &self.planned.ask
    }

    /// The blocks that are done with at a moment.
    pub(crate) fn done_by(&self, at: Timestamp) -> impl Iterator<Item = BlockId> + '_ {
        self.planned.route.visits.iter().filter(move |v| v.begin < at).map(|v| v.block)
    }

    /// Where one is at a moment, to set out from there.
    pub(crate) fn start_at(&self, land: &Land, at: Timestamp) -> Option<Start> {
        let frame = land.placing.shore()?.frame();
        Some(Start::Place(frame.to_lonlat(self.planned.route.at(at)?).ok()?))
    }
}
