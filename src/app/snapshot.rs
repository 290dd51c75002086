//! Keeping up with the book: each state the keeper hands over, and whatever else has finished.

use std::path::PathBuf;

use jiff::tz::TimeZone;

use super::App;
use super::keeper::{KeeperReply, Kept};
use super::state::clock::seconds;
use super::state::command::Command;
use super::state::next_low::NextLowView;
use crate::book::{Beach, Book, Uid};

/// What the keeper last said about the book beside its content.
pub(super) struct KeptFacts {
    pub(super) path: Option<PathBuf>,
    pub(super) demo: bool,
    pub(super) read_only: bool,
    pub(super) undo: Option<String>,
    pub(super) redo: Option<String>,
}

/// The line at the foot.
pub(super) struct Message {
    pub(super) text: String,
    pub(super) bad: bool,
}

impl App {
    /// Takes in a new state of the book, noting which of its tables changed.
    fn adopt(&mut self, kept: Kept) {
        let old: Book = std::mem::replace(&mut self.book, kept.book);
        let new = &self.book;
        let same = |changed: &mut u64, same: bool| *changed += u64::from(!same);
        let r = &mut self.revision;
        same(&mut r.finds, std::ptr::eq(old.finds(), new.finds()) && std::ptr::eq(old.signals(), new.signals()));
        same(&mut r.tracks, std::ptr::eq(old.tracks(), new.tracks()));
        same(
            &mut r.bench,
            std::ptr::eq(old.bench(), new.bench())
                && std::ptr::eq(old.setups(), new.setups())
                && std::ptr::eq(old.outings(), new.outings())
                && std::ptr::eq(old.finds(), new.finds())
                && std::ptr::eq(old.signals(), new.signals()),
        );
        same(
            &mut r.calendar,
            std::ptr::eq(old.outings(), new.outings())
                && std::ptr::eq(old.storms(), new.storms())
                && std::ptr::eq(old.setups(), new.setups()),
        );
        same(
            &mut r.land,
            std::ptr::eq(old.beaches(), new.beaches())
                && std::ptr::eq(old.levels(), new.levels())
                && std::ptr::eq(old.tide_tables(), new.tide_tables())
                && std::ptr::eq(old.gauges(), new.gauges()),
        );
        same(
            &mut r.outlines,
            std::ptr::eq(old.zones(), new.zones())
                && std::ptr::eq(old.permissions(), new.permissions())
                && std::ptr::eq(old.accesses(), new.accesses())
                && std::ptr::eq(old.barriers(), new.barriers()),
        );
        if kept.fresh {
            self.state.selection.clear();
            self.state.draft = None;
            self.beach = None;
        }
        self.state.selection.settle(&self.book);
        if self.beach.is_none_or(|b| !self.book.beaches().contains_key(&b)) {
            let busiest =
                self.book.beaches().keys().copied().max_by_key(|b| (self.book.finds_of(*b).count(), std::cmp::Reverse(*b)));
            self.turn_to(busiest);
        }
        self.zone = self.beach().and_then(|b| b.zone().ok()).unwrap_or(TimeZone::UTC);
        if !kept.complaints.is_empty() {
            let more = kept.complaints.len() - 1;
            let and = if more > 0 { format!(" (and {more} more)") } else { String::new() };
            self.message = Some(Message { text: format!("{}{and}", kept.complaints[0]), bad: true });
        } else if let Some(text) = kept.said {
            self.message = Some(Message { text, bad: false });
        }
        self.kept =
            Some(KeptFacts { path: kept.path, demo: kept.demo, read_only: kept.read_only, undo: kept.undo, redo: kept.redo });
    }

    pub(super) fn beach(&self) -> Option<&Beach> {
        self.book.beaches().get(&self.beach?)
    }

    pub(super) fn turn_to(&mut self, beach: Option<Uid>) {
        self.beach = beach;
        self.derived.clear();
        self.state.selection.clear();
        self.state.next_low = NextLowView::default();
        self.state.plan.cameras = [None; 2];
        self.state.plan.along_m = None;
        self.zone = self.beach().and_then(|b| b.zone().ok()).unwrap_or(TimeZone::UTC);
    }

    /// Takes in whatever threads and the system have finished.
    pub(super) fn catch_up(&mut self, ctx: &egui::Context) {
        while let Some(told) = self.keeper.poll() {
            match told {
                KeeperReply::Kept(kept) => self.adopt(*kept),
                KeeperReply::Failed(why) => {
                    self.message = Some(Message { text: why, bad: true });
                    // Even when the first book fails there is an empty one to go on with.
                    self.kept.get_or_insert(KeptFacts { path: None, demo: false, read_only: false, undo: None, redo: None });
                }
            }
        }
        self.derived.poll(&self.waker);
        if self.exports.poll(&self.waker) {
            let (text, bad) = match (self.exports.failure(), self.exports.value()) {
                (Some(why), _) => (why.to_owned(), true),
                (None, Some(said)) => (said.as_str().to_owned(), false),
                (None, None) => (String::new(), false),
            };
            self.message = Some(Message { text, bad });
        }
        if let Some((purpose, paths)) = self.picks.poll() {
            self.state.use_paths(purpose, paths);
        }
        let dropped: Vec<PathBuf> = ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        if !dropped.is_empty() {
            self.state.commands.push(Command::Intake(dropped));
        }
        if self.state.clock.playing {
            let dt = f64::from(ctx.input(|i| i.stable_dt)).min(0.1);
            self.state.clock.run(dt);
            self.state.time.span = self.state.time.span.holding(seconds(self.state.clock.at));
            ctx.request_repaint();
        }
        self.want();
    }
}
