//! Which derived things the present state of the window wants, and the jobs that make them.

use std::sync::Arc;

use super::derived::{
    BenchLessons, CoveredKey, Curve, GroundKey, GroundPicture, GroundShown, Land, Lows, Making, Marks, Outlines, Read, ReadAsk,
    Routed, Traces,
};
use super::item::Item;
use super::work::Waker;
use super::{App, SheetChoice};
use crate::bench::{Calibration, compare};
use crate::book::Book;
use crate::reading::Covered;
use crate::route::Paces;

/// Where two sections this near to each other are the same one, metres.
const SAME_SECTION_M: f64 = 0.5;
/// Steps of a section across the shore, metres.
const SECTION_STEP_M: f64 = 0.5;

impl App {
    /// The photo of the find that is picked, where it should lie.
    fn wanted_photo(&self) -> Option<std::path::PathBuf> {
        let Some(Item::Find(uid)) = self.state.selection.lead else { return None };
        let find = self.book.finds().get(&uid).filter(|f| !f.photo.trim().is_empty())?;
        let folder = self.kept.as_ref()?.path.as_deref()?.parent();
        super::derived::photo::path_of(folder, &find.photo).ok()
    }

    /// Asks for whatever is missing or stale. Jobs get a snapshot, never the book itself.
    pub(super) fn want(&mut self) {
        let Some(beach) = self.beach else { return };
        let Some(at) = self.beach().map(|b| b.origin) else { return };
        // Without a baseline of its own the beach is guessed from finds and tracks.
        let guessed = self.beach().is_some_and(|b| b.baseline.len() < 2);
        let guess = if guessed { self.revision.finds + self.revision.tracks } else { 0 };
        let (book, waker) = (self.book.clone(), Arc::clone(&self.waker));
        self.derived.land.want((beach, self.revision.land, guess), &waker, {
            let book = book.clone();
            move |progress| super::derived::Land::of(&book, beach, progress)
        });
        if self.state.bench.wanted || matches!(self.state.selection.lead, Some(Item::Signal(_))) {
            let key = (beach, self.revision.bench, self.revision.tracks);
            self.derived.bench.want(key, &waker, {
                let book = book.clone();
                move |_| Ok(BenchLessons::learned_from(&book, beach))
            });
        }
        if let Some(setup) = self.state.bench.calibrating() {
            let key = (beach, setup, self.revision.bench);
            self.derived.calibration.want(key, &waker, {
                let book = book.clone();
                move |_| Ok(Calibration::leaving_out(&book, beach, setup))
            });
        }
        if let Some((first, second)) = self.state.bench.comparing() {
            self.derived.compared.want((first, second, self.revision.bench), &waker, {
                let book = book.clone();
                move |_| compare(&book, first, second).map_err(|e| e.to_string())
            });
        }
        if let Some(path) = self.wanted_photo() {
            self.derived.photo.want(path.clone(), &waker, move |_| super::derived::photo::read(&path));
        }
        let Some(land) = self.derived.land.value().cloned() else { return };
        self.derived.marks.want((self.revision.finds, land.serial), &waker, {
            let (book, land) = (book.clone(), Arc::clone(&land));
            move |progress| Marks::of(&book, beach, &land.placing, progress)
        });
        self.derived.outlines.want((self.revision.outlines, land.serial), &waker, {
            let (book, land) = (book.clone(), Arc::clone(&land));
            move |_| Ok(Outlines::of(&book, beach, &land.placing))
        });
        self.derived.traces.want((self.revision.tracks, land.serial), &waker, {
            let (book, land) = (book.clone(), Arc::clone(&land));
            move |progress| Traces::of(&book, beach, &land.placing, progress)
        });
        let span = self.state.time.span.rounded_out();
        self.derived.curve.want((land.serial, span), &waker, {
            let land = Arc::clone(&land);
            move |progress| Curve::of(land.setting.water.as_ref(), at, span, progress)
        });
        if let (Some(along_m), Some(shore)) = (self.state.plan.section_along_m(&land), land.placing.shore().cloned()) {
            let step = (along_m / SAME_SECTION_M).round() as i64;
            self.derived
                .profile
                .want((land.serial, step), &waker, move |_| Ok(shore.section(step as f64 * SAME_SECTION_M, SECTION_STEP_M)));
        }
        let run_up_m = self.state.next_low.run_up_m;
        if self.state.sheet == SheetChoice::NextLow
            && land.setting.water.is_some()
            && let Some(beach) = self.book.beaches().get(&beach)
            && let Some(ask) = self.state.lows.ask(self.state.clock.at, beach, &self.zone, run_up_m)
        {
            let (land, zone) = (Arc::clone(&land), self.zone.clone());
            self.derived
                .lows
                .want((land.serial, ask.clone()), &waker, move |progress| Lows::of(&land.setting, &zone, &ask, progress));
        }
        let grounds = self.state.plan.ground != GroundShown::Nothing;
        if self.state.read.wanted || self.state.next_low.low.is_some() || grounds {
            let (ask, now): (ReadAsk, _) = (self.state.read.ask.clone(), self.now());
            let key = CoveredKey {
                tracks: self.revision.tracks,
                calendar: self.revision.calendar,
                land: land.serial,
                filter: ask.filter.of_outings(),
                effort: ask.effort,
            };
            self.derived.covered.want(key.clone(), &waker, {
                let (book, land, filter, effort) = (book.clone(), Arc::clone(&land), key.filter.clone(), key.effort);
                move |progress| {
                    let cut = filter.cut(&book, &land.setting.beach).map_err(|e| e.to_string())?;
                    Covered::from_tracks(&cut.book, &land.setting, &effort, progress)
                        .map(|c| c.map(|(c, effort)| (c, Paces::learned_from(&book, &effort))))
                        .map_err(|e| e.to_string())
                }
            });
            // A reading without rates for a moment would only mislead: the ground covered comes first.
            let ready = !self.derived.covered.is_stale(&key) || self.derived.covered.failure().is_some();
            if !ready {
                return;
            }
            if grounds {
                self.want_ground(&book, &land, &waker);
            }
            if !self.state.read.wanted && self.state.next_low.low.is_none() {
                return;
            }
            let (snapshot, ground, land_serial) = (book.clone(), Arc::clone(&land), land.serial);
            let covered = self.derived.covered.value().cloned();
            let filter = ask.filter.clone();
            // What the undug signals count for hangs on the bench as well as on the finds.
            self.derived.read.want((self.revision.bench, key, ask.clone()), &waker, move |progress| {
                let covered = covered.as_deref().and_then(Option::as_ref).map(|(c, _)| c);
                Read::of(&book, &land, covered, ask, now, progress)
            });
            let read_ready = !self.derived.read.is_busy();
            let asked = self.state.next_low.ask(&self.state.clock);
            if let Some(ask) = asked.filter(|_| read_ready && self.state.sheet == SheetChoice::NextLow) {
                let (covered, read) = (self.derived.covered.value().cloned(), self.derived.read.value().cloned());
                let (so_far, wake) = (Arc::clone(&self.derived.so_far), Arc::clone(&waker));
                self.derived.route.want((self.revision, land_serial, filter, ask.clone()), &waker, move |progress| {
                    let making = Making {
                        book: &snapshot,
                        land: &ground,
                        read: read.as_deref(),
                        covered: covered.as_deref().and_then(Option::as_ref),
                        so_far: &so_far,
                        waker: &wake,
                    };
                    Routed::of(&making, ask, progress)
                });
            }
        }
    }

    /// The picture of the ground covered, of its rates or of how sure they are.
    fn want_ground(&mut self, book: &Book, land: &Arc<Land>, waker: &Waker) {
        let (Some(covered), Some(of)) = (self.derived.covered.value().cloned(), self.derived.covered.key().cloned()) else {
            return;
        };
        let key = GroundKey {
            what: self.state.plan.ground,
            weight: self.state.read.weight,
            finds: self.revision.finds,
            filter: self.state.read.ask.filter.clone(),
            of,
        };
        let (book, land) = (book.clone(), Arc::clone(land));
        self.derived.ground.want(key.clone(), waker, move |progress| {
            GroundPicture::of(&book, &land, covered.as_ref().as_ref().map(|(c, _)| c), &key, progress)
        });
    }
}
