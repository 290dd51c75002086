//! What the views ask for, done once the frame is laid out.

use std::path::PathBuf;

use super::snapshot::Message;
use super::state::command::{Ask, Command};
use super::state::dialog::Dialog;
use super::state::intake::IntakeForm;
use super::{App, exports};

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
            _ => self.state.dialog = Some(Dialog::Intake(Box::new(IntakeForm::new(paths, self.beach)))),
        }
    }

    fn write_route(&mut self, folder: PathBuf) {
        let (Some(routed), Some(land)) = (self.derived.route.value().cloned(), self.derived.land.value().cloned()) else {
            return;
        };
        let book = self.book.clone();
        self.exports.clear();
        self.exports.want(folder.clone(), &self.waker, move |_| exports::write_route(&book, &land.setting, &routed, &folder));
    }

    fn hand_over(&mut self, folder: PathBuf) {
        let Some(beach) = self.beach else { return };
        let (book, permission, now) = (self.book.clone(), self.state.share.permission, self.now());
        let (effort, params) = (self.state.read.ask.effort, self.state.read.ask.params());
        // The same folder may be written again after another edit.
        self.exports.clear();
        self.exports.want(folder.clone(), &self.waker, move |progress| {
            exports::hand_over(&book, beach, permission, &folder, (&effort, &params), now, progress)
        });
    }
}
