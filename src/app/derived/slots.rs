//! Everything made in the background, each under the key of what it was made from.

use std::path::PathBuf;
use std::sync::Arc;

use super::photo::Photo;
use super::{
    BenchLessons, CoveredKey, Curve, GroundKey, GroundPicture, Land, Lows, LowsAsk, Marks, Outlines, Read, ReadAsk, RouteAsk,
    Routed, SoFar, Span, Traces,
};
use crate::app::work::{Slot, Waker};
use crate::bench::{Calibration, Comparison};
use crate::book::Uid;
use crate::reading::{Covered, Filter};
use crate::route::Paces;
use crate::shore::SectionPoint;

/// Changes of the book's tables, counted, so that only what hangs on a changed one is made anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Revision {
    pub(crate) land: u64,
    pub(crate) outlines: u64,
    pub(crate) finds: u64,
    pub(crate) tracks: u64,
    /// Set-ups, outings, bench readings, finds and signals.
    pub(crate) bench: u64,
    /// Outings, storms and set-ups: what a reading is filtered by.
    pub(crate) calendar: u64,
}

/// Everything made from the book in the background.
#[derive(Default)]
pub(crate) struct Derived {
    pub(crate) land: Slot<(Uid, u64, u64), Land>,
    pub(crate) outlines: Slot<(u64, u64), Outlines>,
    pub(crate) marks: Slot<(u64, u64), Marks>,
    pub(crate) traces: Slot<(u64, u64), Traces>,
    pub(crate) curve: Slot<(u64, Span), Curve>,
    pub(crate) lows: Slot<(u64, LowsAsk), Lows>,
    pub(crate) profile: Slot<(u64, i64), Vec<SectionPoint>>,
    pub(crate) covered: Slot<CoveredKey, Option<(Covered, Paces)>>,
    pub(crate) read: Slot<(u64, CoveredKey, ReadAsk), Read>,
    pub(crate) ground: Slot<GroundKey, GroundPicture>,
    pub(crate) bench: Slot<(Uid, u64, u64), BenchLessons>,
    /// By beach, set-up and revision.
    pub(crate) calibration: Slot<(Uid, Uid, u64), Calibration>,
    /// By the two set-ups and revision.
    pub(crate) compared: Slot<(Uid, Uid, u64), Comparison>,
    pub(crate) photo: Slot<PathBuf, Photo>,
    pub(crate) route: Slot<(Revision, u64, Filter, RouteAsk), Routed>,
    /// The best route of the search under way.
    pub(crate) so_far: Arc<SoFar>,
}

impl Derived {
    /// Takes in finished work; whether anything came.
    pub(crate) fn poll(&mut self, waker: &Waker) -> bool {
        let came = [
            self.land.poll(waker),
            self.outlines.poll(waker),
            self.marks.poll(waker),
            self.traces.poll(waker),
            self.curve.poll(waker),
            self.lows.poll(waker),
            self.profile.poll(waker),
            self.covered.poll(waker),
            self.read.poll(waker),
            self.ground.poll(waker),
            self.bench.poll(waker),
            self.calibration.poll(waker),
            self.compared.poll(waker),
            self.photo.poll(waker),
            self.route.poll(waker),
        ];
        came.contains(&true)
    }

    /// Whether anything is still being made.
    pub(crate) fn is_busy(&self) -> bool {
        self.land.is_busy()
            || self.outlines.is_busy()
            || self.marks.is_busy()
            || self.traces.is_busy()
            || self.curve.is_busy()
            || self.lows.is_busy()
            || self.profile.is_busy()
            || self.covered.is_busy()
            || self.read.is_busy()
            || self.ground.is_busy()
            || self.bench.is_busy()
            || self.calibration.is_busy()
            || self.compared.is_busy()
            || self.photo.is_busy()
            || self.route.is_busy()
    }

    /// Forgets everything: another beach is shown.
    pub(crate) fn clear(&mut self) {
        self.land.clear();
        self.outlines.clear();
        self.marks.clear();
        self.traces.clear();
        self.curve.clear();
        self.lows.clear();
        self.profile.clear();
        self.covered.clear();
        self.read.clear();
        self.ground.clear();
        self.bench.clear();
        self.calibration.clear();
        self.compared.clear();
        self.photo.clear();
        self.route.clear();
        self.so_far = Arc::default();
    }
}
