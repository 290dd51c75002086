use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;

use super::{DrawnPlace, Land, Read};
use crate::Progress;
use crate::app::work::Waker;
use crate::book::Book;
use crate::reading::Covered;
use crate::route::{Asked, BlockId, ByBand, Doing, Onlooker, Paces, Params, Route, Start, WithUndug, plan_watched};

/// What a route is asked for on screen.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RouteAsk {
    /// The low water.
    pub(crate) low: Timestamp,
    /// Not before this.
    pub(crate) after: Timestamp,
    /// What the person set; the weather's water, the run-up and the coil come from the book unless `run_up_m`
    /// or `coil_m` says otherwise.
    pub(crate) params: Params,
    pub(crate) coil_m: Option<f64>,
    /// Whether the person's own paces stand in where the outings tell them.
    pub(crate) own_paces: bool,
    /// Another run-up than the beach's own, metres.
    pub(crate) run_up_m: Option<f64>,
}

impl RouteAsk {
    /// The settings that hold for it.
    pub(crate) fn settings(&self, book: &Book, land: &Land, paces: Option<&Paces>) -> Params {
        let usual = Params::for_beach(book, &land.setting);
        let mut params = Params {
            surge: usual.surge,
            run_up_m: self.run_up_m.unwrap_or(usual.run_up_m),
            coil_width_m: self.coil_m.unwrap_or(usual.coil_width_m),
            ..self.params.clone()
        };
        if let Some(paces) = paces.filter(|_| self.own_paces) {
            paces.apply(&mut params);
        }
        params
    }
}

/// A route with what the views draw of it.
pub(crate) struct Routed {
    pub(crate) ask: RouteAsk,
    pub(crate) route: Route,
    /// Where each step of the way lies, with whether one walks to it.
    pub(crate) way: Vec<(DrawnPlace, bool)>,
    /// The corners of each block.
    pub(crate) blocks: Vec<[DrawnPlace; 4]>,
    /// The corners of every block that could be searched, with how much it is worth against the best, 0 to 1.
    pub(crate) ground: Vec<(BlockId, [DrawnPlace; 4], f32)>,
    /// Where it sets out and comes back.
    pub(crate) ends: [DrawnPlace; 2],
}

/// The best route so far of a search under way, between the worker and the window.
#[derive(Default)]
pub(crate) struct SoFar {
    latest: Mutex<Option<Arc<Routed>>>,
    enough: AtomicBool,
}

impl SoFar {
    /// The best so far of what was asked last.
    pub(crate) fn latest(&self) -> Option<Arc<Routed>> {
        self.latest.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Ends the search with the best so far.
    pub(crate) fn take_it(&self) {
        self.enough.store(true, Ordering::Relaxed);
    }

    fn put(&self, routed: Option<Arc<Routed>>) {
        *self.latest.lock().unwrap_or_else(PoisonError::into_inner) = routed;
    }
}

/// Everything a route on screen is made from.
pub(crate) struct Making<'a> {
    pub(crate) book: &'a Book,
    pub(crate) land: &'a Land,
    pub(crate) read: Option<&'a Read>,
    pub(crate) covered: Option<&'a (Covered, Paces)>,
    pub(crate) so_far: &'a SoFar,
    pub(crate) waker: &'a Waker,
}

/// Shows better routes in the window as they are found.
struct Showing<'a> {
    making: &'a Making<'a>,
    ask: &'a RouteAsk,
    progress: &'a Progress,
}

impl Onlooker for Showing<'_> {
    fn better(&mut self, route: Route) {
        if !self.progress.is_cancelled() {
            self.making.so_far.put(Some(Arc::new(Routed::laid(self.making.land, self.ask.clone(), route))));
            (self.making.waker)();
        }
    }

    fn enough(&mut self) -> bool {
        self.making.so_far.enough.load(Ordering::Relaxed)
    }
}

impl Routed {
    pub(crate) fn of(making: &Making<'_>, ask: RouteAsk, progress: &Progress) -> Result<Self, String> {
        let (book, land) = (making.book, making.land);
        making.so_far.enough.store(false, Ordering::Relaxed);
        making.so_far.put(None);
        let params = ask.settings(book, land, making.covered.map(|(_, paces)| paces));
        let reading = making.read.map(|r| &r.reading);
        let covered = making.covered.map(|(covered, _)| covered);
        let worth =
            ByBand::new(&land.setting, reading, covered, params.prior_per_100m2, params.detection).by_place(book, &land.setting);
        let worth = WithUndug::new(&worth, book, &land.setting, &params);
        let (after, low) = (ask.after, Some(ask.low));
        let asked = Asked { book: &book.into(), setting: &land.setting, worth: &worth, after, hours: None, low, params: &params };
        let mut showing = Showing { making, ask: &ask, progress };
        let route = plan_watched(&asked, progress, &mut showing).map_err(|e| e.to_string())?;
        Ok(Self::laid(land, ask, route))
    }

    fn laid(land: &Land, ask: RouteAsk, route: Route) -> Self {
        let place = |p| land.placing.of_local(p);
        let way = route.trace.iter().map(|s| (place(s.at), s.doing == Doing::Walking)).collect();
        let blocks = route.visits.iter().map(|v| v.corners.map(place)).collect();
        let explore = ask.params.explore;
        let worth = |g: &crate::route::Ground| g.finds + explore * g.finds_sd;
        let most = route.ground.iter().map(worth).fold(f64::MIN_POSITIVE, f64::max);
        let ground = route.ground.iter().map(|g| (g.block, g.corners.map(place), (worth(g) / most) as f32)).collect();
        let ends = [place(route.from.at), place(route.to.at)];
        Self { ask, way, blocks, ground, ends, route }
    }

    /// The blocks that are done with at a moment.
    pub(crate) fn done_by(&self, at: Timestamp) -> impl Iterator<Item = BlockId> + '_ {
        self.route.visits.iter().filter(move |v| v.begin < at).map(|v| v.block)
    }

    /// Where one is at a moment, to set out from there.
    pub(crate) fn start_at(&self, land: &Land, at: Timestamp) -> Option<Start> {
        let frame = land.placing.shore()?.frame();
        Some(Start::Place(frame.to_lonlat(self.route.at(at)?).ok()?))
    }
}
