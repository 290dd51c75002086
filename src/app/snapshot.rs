//! Keeping up with the book: each state the keeper hands over, and whatever else has finished.

use std::path::PathBuf;

use jiff::tz::TimeZone;

use super::App;
use super::keeper::{KeeperReply, Kept};
use super::state::clock::seconds;
use super::state::command::{Again, Command};
use super::state::dialog::{Chooser, Dialog, Standing};
use super::state::next_low::NextLowView;
use crate::book::{Beach, Uid};
use crate::query::SettingQuestion;
use crate::tide::TurnKind;

/// What the keeper last said about the book beside its content.
pub(super) struct KeptFacts {
    pub(super) path: Option<PathBuf>,
    pub(super) demo: bool,
    pub(super) read_only: bool,
    pub(super) undo: Option<String>,
    pub(super) redo: Option<String>,
    /// Where a new book would go, if nobody says otherwise.
    pub(super) proposed: String,
}

/// So many complaints about a book are said at once.
const MOST_COMPLAINTS: usize = 8;

/// The line at the foot.
pub(super) struct Message {
    pub(super) text: String,
    pub(super) bad: bool,
}

impl App {
    /// Takes in a new state of the book.
    fn adopt(&mut self, kept: Kept) {
        let old = std::mem::replace(&mut self.book, kept.book);
        // A large table that nobody shares any more takes a while to let go of.
        rayon::spawn(move || drop(old));
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
            // Each on a line of its own, as any of them may matter.
            let mut text = kept.complaints.iter().take(MOST_COMPLAINTS).cloned().collect::<Vec<_>>().join("\n");
            if kept.complaints.len() > MOST_COMPLAINTS {
                text += &format!("\nand {} more", kept.complaints.len() - MOST_COMPLAINTS);
            }
            self.message = Some(Message { text, bad: true });
        } else if let Some(text) = kept.said {
            self.message = Some(Message { text, bad: false });
        }
        self.kept = Some(KeptFacts {
            path: kept.path,
            demo: kept.demo,
            read_only: kept.read_only,
            undo: kept.undo,
            redo: kept.redo,
            proposed: kept.proposed,
        });
        self.state.was_kept();
    }

    /// Asks whether what stands somewhere may be replaced; beside another dialog it is only told.
    pub(super) fn ask_to_replace(&mut self, standing: Standing) {
        if self.state.dialog.is_none() {
            self.state.dialog = Some(Dialog::Replace(standing));
        } else {
            self.message = Some(Message { text: standing.said, bad: true });
        }
    }

    pub(super) fn beach(&self) -> Option<&Beach> {
        self.book.beaches().get(&self.beach?)
    }

    pub(super) fn turn_to(&mut self, beach: Option<Uid>) {
        if self.writes.drop_what_waits() {
            let text = "nothing was written, as another beach is shown now".to_owned();
            self.message = Some(Message { text, bad: true });
        }
        self.beach = beach;
        self.answers.forget();
        self.state.selection.clear();
        self.state.next_low = NextLowView::default();
        self.state.plan.cameras = [None; 2];
        self.state.plan.along_m = None;
        self.zone = self.beach().and_then(|b| b.zone().ok()).unwrap_or(TimeZone::UTC);
    }

    /// Plans for the next low where that was asked for as the window was opened.
    fn plan_next(&mut self) {
        let at = self.state.clock.at;
        let setting = self.answers.answer::<SettingQuestion>().fresh().filter(|_| self.plans_next);
        let Some(water) = setting.and_then(|setting| setting.water.as_ref()) else { return };
        let turns = at.checked_add(jiff::SignedDuration::from_hours(40)).map(|to| water.turns(at, to)).unwrap_or_default();
        if let Some(low) = turns.iter().find(|t| t.kind == TurnKind::Low && t.time >= at) {
            self.state.plan_at(low.time);
        }
        self.plans_next = false;
    }

    /// Takes in whatever threads and the system have finished.
    pub(super) fn catch_up(&mut self, ctx: &egui::Context) {
        while let Some(told) = self.keeper.poll() {
            match told {
                KeeperReply::Kept(kept) => self.adopt(*kept),
                KeeperReply::Unchanged => {}
                KeeperReply::Keeping(keeping) => {
                    if let Some(Dialog::Keeping(view)) = &mut self.state.dialog {
                        view.known = Some(*keeping);
                    }
                }
                KeeperReply::BookThere(path) => {
                    let said = format!("{} is already there and is a book.", path.display());
                    if matches!(&self.state.dialog, Some(Dialog::Book(form)) if form.sent) {
                        self.state.dialog = None;
                    }
                    self.ask_to_replace(Standing { said, again: Again::SaveAs(path) });
                }
                KeeperReply::Recovered(kept, said) | KeeperReply::ReadAnew(kept, said) => {
                    self.adopt(*kept);
                    self.message = Some(Message { text: said, bad: true });
                }
                KeeperReply::Failed(why) | KeeperReply::Lost(why) => {
                    if self.kept.is_none() {
                        self.picture.give_up(ctx, &why);
                    }
                    if !self.state.was_refused(&why) {
                        self.message = Some(Message { text: why, bad: true });
                    }
                    // Even when the first book fails there is an empty one to go on with.
                    self.kept.get_or_insert(KeptFacts {
                        path: None,
                        demo: false,
                        read_only: false,
                        undo: None,
                        redo: None,
                        proposed: String::new(),
                    });
                }
            }
        }
        self.say_what_was_written();
        if let Some(why) = self.picks.failure() {
            self.message = Some(Message { text: why, bad: true });
        }
        match self.picks.poll() {
            Some((purpose, Some(paths))) => self.state.use_paths(purpose, paths),
            // Where the system has no dialog, the program's own opens.
            Some((purpose, None)) => self.state.chooser = Some(Chooser::new(purpose)),
            None => {}
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
        self.plan_next();
        self.ask_all();
        if let Some(text) = self.answers.take_mistakes().pop() {
            self.message = Some(Message { text, bad: true });
        }
    }
}
