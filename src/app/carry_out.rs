//! What the views ask for, done once the frame is laid out.

use std::path::PathBuf;

use super::dialogs::{self, beach_form, intake};
use super::keeper::Ask;
use super::snapshot::Message;
use super::{App, sheet};
use crate::book::Uid;

/// What stands over the window until it is answered.
pub(crate) enum Dialog {
    Intake(Box<intake::IntakeForm>),
    Beach(Box<beach_form::BeachForm>),
    Book(dialogs::PathForm),
    Cautions,
    Keys,
}

/// What a view asks for; done after the frame is laid out.
pub(crate) enum Command {
    Ask(Ask),
    /// Shows another beach of the book.
    Beach(Uid),
    /// Asks the system for files or a place.
    Pick(dialogs::PickFor),
    /// Starts the dry run of these files.
    Intake(Vec<PathBuf>),
    /// Calls the reading off.
    StopReading,
    /// Reads once more after a failure.
    ReadAgain,
    /// Calls the search for a route off.
    StopRoute,
    /// Ends the search for a route with the best so far.
    TakeRoute,
    /// Plans once more after a failure.
    PlanAgain,
    /// Writes the route's card and files into this folder.
    WriteRoute(PathBuf),
    /// Writes what is handed over into this folder.
    HandOver(PathBuf),
}

impl App {
    fn ask(&mut self, ask: Ask) {
        if let Err(text) = self.keeper.ask(ask) {
            self.message = Some(Message { text, bad: true });
        }
    }

    pub(super) fn carry_out(&mut self) {
        for command in std::mem::take(&mut self.state.commands) {
            match command {
                Command::Ask(ask) => self.ask(ask),
                Command::Beach(uid) => self.turn_to(Some(uid)),
                Command::Pick(purpose) => self.picks.ask(purpose, &self.waker),
                Command::Intake(paths) => self.open_intake(paths),
                Command::StopReading => self.stop_reading(),
                Command::ReadAgain => {
                    self.derived.covered.clear();
                    self.derived.read.clear();
                }
                Command::StopRoute => {
                    self.derived.route.cancel();
                    self.state.next_low.low = None;
                }
                Command::TakeRoute => self.derived.so_far.take_it(),
                Command::PlanAgain => self.derived.route.clear(),
                Command::WriteRoute(folder) => self.write_route(folder),
                Command::HandOver(folder) => self.hand_over(folder),
            }
        }
    }

    /// Calls the reading off and goes back to asking for the one that stands, if one does.
    fn stop_reading(&mut self) {
        self.derived.covered.cancel();
        self.derived.read.cancel();
        if let Some((_, _, ask)) = self.derived.read.key() {
            self.state.read.set(ask.clone());
        }
    }

    fn open_intake(&mut self, paths: Vec<PathBuf>) {
        match &mut self.state.dialog {
            Some(Dialog::Intake(form)) => form.add(paths),
            _ => self.state.dialog = Some(Dialog::Intake(Box::new(intake::IntakeForm::new(paths, self.beach)))),
        }
    }

    fn write_route(&mut self, folder: PathBuf) {
        let (Some(routed), Some(land)) = (self.derived.route.value().cloned(), self.derived.land.value().cloned()) else {
            return;
        };
        let book = self.book.clone();
        self.exports.clear();
        self.exports.want(folder.clone(), &self.waker, move |_| sheet::write_route(&book, &land.setting, &routed, &folder));
    }

    fn hand_over(&mut self, folder: PathBuf) {
        let Some(beach) = self.beach else { return };
        let (book, permission, now) = (self.book.clone(), self.state.share.permission, self.now());
        let (effort, params) = (self.state.read.ask.effort, self.state.read.ask.params());
        // The same folder may be written again after another edit.
        self.exports.clear();
        self.exports.want(folder.clone(), &self.waker, move |progress| {
            sheet::hand_over(&book, beach, permission, &folder, (&effort, &params), now, progress)
        });
    }
}
