//! What the views ask for, done once the frame is laid out.

use std::path::PathBuf;

use super::App;
use super::snapshot::Message;
use super::state::command::{Again, Ask, Command};
use super::state::dialog::Dialog;
use super::state::intake::IntakeForm;
use crate::output::Over;
use crate::query::{
    CountsQuestion, CoveredQuestion, InWashQuestion, KnownGroundQuestion, PacesQuestion, ReadDrawingQuestion, ReadingQuestion,
    RouteQuestion, WitnessQuestion,
};
use crate::share::{PackAsk, PictureFolder};
use crate::store::Replace;

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
                Command::Pick(purpose) => self.picks.ask(purpose, self.answers.runner()),
                Command::Intake(paths) => self.open_intake(paths),
                Command::StopReading => self.stop_reading(),
                Command::ReadAgain => {
                    self.ask_counts_again();
                    self.answers.ask_again::<ReadingQuestion>();
                }
                Command::StopRoute => {
                    self.answers.call_off::<RouteQuestion>();
                    self.state.next_low.low = None;
                }
                Command::TakeRoute => self.answers.take_best::<RouteQuestion>(),
                Command::PlanAgain => {
                    self.answers.ask_again::<InWashQuestion>();
                    self.answers.ask_again::<WitnessQuestion>();
                    self.ask_counts_again();
                    self.answers.ask_again::<PacesQuestion>();
                    self.answers.ask_again::<RouteQuestion>();
                }
                Command::WriteRoute(folder) => {
                    // What is written is of the file as it is now, whoever changed it last.
                    self.ask(Ask::Check);
                    if let Some(ask) = self.state.next_low.asked.clone() {
                        self.writes.want_route(folder, ask, Over::Own);
                    }
                }
                Command::HandOver(folder) => {
                    self.ask(Ask::Check);
                    self.want_hand_over(Some(folder));
                }
                Command::Preview => self.want_hand_over(None),
                Command::Replace(again) => self.do_again(again),
            }
        }
    }

    /// Composes what is asked for on the sheet, to be written into a folder or only to be shown.
    fn want_hand_over(&mut self, folder: Option<PathBuf>) {
        let beside = self.kept.as_ref().and_then(|k| k.path.as_deref()).and_then(std::path::Path::parent);
        // The folder is looked into now, and not in every frame.
        let photos = beside.filter(|_| self.state.share.pictures).map(PictureFolder::looked_into);
        match self.state.share.asked().map(|asked| asked.map(|(uid, ask)| (uid, PackAsk { photos, ..ask }))) {
            Ok(asked) => self.writes.want_hand_over(folder, asked, self.now(), Over::Own),
            Err(text) => self.message = Some(Message { text, bad: true }),
        }
    }

    /// Does once more, of the book as it is now, what something stood in the way of.
    fn do_again(&mut self, again: Again) {
        match again {
            Again::HandOver(folder, permission) => {
                self.ask(Ask::Check);
                let now = self.now();
                let again = |p: PictureFolder| PictureFolder::looked_into(p.path());
                let permission = permission.map(|(uid, ask)| (uid, PackAsk { photos: ask.photos.map(again), ..ask }));
                self.writes.want_hand_over(Some(folder), permission, now, Over::Anything);
            }
            Again::Route(folder, ask) => {
                self.ask(Ask::Check);
                self.writes.want_route(folder, *ask, Over::Anything);
            }
            Again::SaveAs(path) => self.ask(Ask::SaveAs(path, Replace::Book)),
        }
    }

    /// Goes back to asking for the reading that stands, where it was of other finds and outings; what runs is then
    /// no longer wanted. Else it is called off.
    fn stop_reading(&mut self) {
        let standing = self.answers.answer::<ReadDrawingQuestion>().newest().map(|(read, _)| read.read.filter.clone());
        match standing.filter(|f| *f != self.state.read.filter) {
            Some(filter) => self.state.read.set_filter(filter),
            None => {
                self.answers.call_off::<CoveredQuestion>();
                self.answers.call_off::<KnownGroundQuestion>();
                self.answers.call_off::<CountsQuestion>();
                self.answers.call_off::<ReadingQuestion>();
            }
        }
    }

    /// Tries again what counts and rates stand on, and those.
    fn ask_counts_again(&mut self) {
        self.answers.ask_again::<CoveredQuestion>();
        self.answers.ask_again::<KnownGroundQuestion>();
        self.answers.ask_again::<CountsQuestion>();
    }

    fn open_intake(&mut self, paths: Vec<PathBuf>) {
        match &mut self.state.dialog {
            Some(Dialog::Intake(form)) => form.add(paths),
            _ => {
                let form = IntakeForm::new(paths, self.beach);
                // What a person finds is not to be put among what is invented and not kept.
                let form = match self.kept.as_ref().filter(|k| k.demo) {
                    Some(kept) => form.into_new_book(kept.proposed.clone()),
                    None => form,
                };
                self.state.dialog = Some(Dialog::Intake(Box::new(form)));
            }
        }
    }
}
