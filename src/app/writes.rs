//! What is waiting to be written for others: it is written from a fresh answer or not at all.

use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::App;
use super::snapshot::Message;
use crate::book::{Book, Uid};
use crate::query::{
    Ask as _, Given, HandOver, HandOverQuestion, Inquiry, NotYet, Planned, Refusal, RouteAsk, Running, WholeBook,
};
use crate::share::{self, HandedOut, PutError};
use crate::shore::Setting;

/// The files to be written, and the work that writes them.
#[derive(Default)]
pub(super) struct Writes {
    hand_over: Option<(PathBuf, Option<Uid>, Timestamp)>,
    route: Option<(PathBuf, RouteAsk)>,
    writing: Vec<Running<String>>,
}

impl Writes {
    /// Whether something waits or is being written.
    pub(super) fn is_busy(&self) -> bool {
        self.hand_over.is_some() || self.route.is_some() || !self.writing.is_empty()
    }

    /// Writes a hand-over once it is composed of the book as it is then.
    pub(super) fn want_hand_over(&mut self, folder: PathBuf, permission: Option<Uid>, now: Timestamp) {
        self.hand_over = Some((folder, permission, now));
    }

    /// Writes the route that answers this once it is fresh.
    pub(super) fn want_route(&mut self, folder: PathBuf, ask: RouteAsk) {
        self.route = Some((folder, ask));
    }

    /// Whether a route waits for its answer: until it is there no other is asked for, as the two would call each
    /// other off for ever.
    pub(super) fn waits_for_route(&self) -> bool {
        self.route.is_some()
    }

    /// Drops what waits, as another beach is shown than it was wanted of; what is being written goes on. Says
    /// whether there was anything.
    pub(super) fn drop_what_waits(&mut self) -> bool {
        let waited = self.hand_over.is_some() || self.route.is_some();
        (self.hand_over, self.route) = (None, None);
        waited
    }
}

impl App {
    /// Writes what is fresh; asks for what is not.
    pub(super) fn write_what_waits(&mut self, inquiry: &Inquiry) {
        if self.keeper.is_busy() {
            // What is fresh now is old once the edit that is on its way has been made.
            return;
        }
        if let Some((folder, permission, now)) = self.writes.hand_over.clone() {
            match self.answers.ask::<HandOverQuestion>(inquiry.hand_over(permission, now)) {
                Ok(made) => {
                    self.writes.hand_over = None;
                    self.start_writing("the writing of the hand-over", move || write_hand_over(&made, &folder));
                }
                Err(NotYet::Waiting) => {}
                Err(why) => {
                    self.writes.hand_over = None;
                    self.message = Some(Message { text: why.to_string(), bad: true });
                }
            }
        }
        if let Some((folder, ask)) = self.writes.route.clone() {
            let answered = inquiry.route(&mut self.answers, ask);
            match (answered, self.answers.ask(inquiry.setting())) {
                (Ok(planned), Ok(setting)) => {
                    self.writes.route = None;
                    let book = WholeBook(self.book.clone());
                    let handed = HandedOut::now(self.now(), self.kept.as_ref().and_then(|k| k.path.as_deref()));
                    self.start_writing("the writing of the route", move || {
                        write_route(&book.0, &setting, &planned, (&folder, &handed))
                    });
                }
                (Err(NotYet::Waiting), _) | (Ok(_), Err(_)) => {}
                (Err(why), _) => {
                    self.writes.route = None;
                    self.message = Some(Message { text: why.to_string(), bad: true });
                }
            }
        }
    }

    fn start_writing(&mut self, name: &str, work: impl FnOnce() -> Result<String, Refusal> + Send + 'static) {
        let running = self.answers.runner().start(name, work);
        self.writes.writing.push(running);
    }

    /// Says what was written.
    pub(super) fn say_what_was_written(&mut self) {
        let mut said = None;
        self.writes.writing.retain(|running| match running.poll() {
            None => true,
            Some(result) => {
                said = Some(match result {
                    Ok(text) => Message { text, bad: false },
                    Err(why) => Message { text: why.sentence, bad: true },
                });
                false
            }
        });
        self.message = said.or(self.message.take());
    }
}

fn write_error(folder: &Path) -> impl Fn(std::io::Error) -> Refusal + '_ {
    move |e| Refusal::missing(format!("{} could not be written to: {e}", folder.display()))
}

/// Writes the files of a hand-over into a folder and says what was written.
fn write_hand_over(made: &Given<HandOver>, folder: &Path) -> Result<String, Refusal> {
    std::fs::create_dir_all(folder).map_err(write_error(folder))?;
    for (name, bytes) in &made.files {
        std::fs::write(folder.join(name), bytes).map_err(write_error(folder))?;
    }
    let names: Vec<&str> = made.files.iter().map(|(name, _)| name.as_str()).collect();
    Ok(format!("wrote {} into {}", names.join(", "), folder.display()))
}

/// Writes the card and the files of a route into a folder and says what was written.
///
/// What stands there is replaced when this program made it, and otherwise refused.
fn write_route(
    book: &Book,
    setting: &Setting,
    planned: &Planned,
    (folder, handed): (&Path, &HandedOut),
) -> Result<String, Refusal> {
    std::fs::create_dir_all(folder).map_err(write_error(folder))?;
    let route = &planned.route;
    let files = [
        (folder.join("route.gpx"), share::route_gpx(route, setting).map_err(Refusal::missing)?),
        (folder.join("route.geojson"), share::route_geojson(route, setting).map_err(Refusal::missing)?),
        (folder.join("card.html"), share::route_card(route, book, setting, handed).into_bytes()),
    ];
    share::put_files(&files, false).map_err(|why| match why {
        PutError::Foreign(path) => Refusal::missing(format!(
            "{} was not made by this program and is not replaced; choose another folder",
            path.display()
        )),
        other => Refusal::missing(other),
    })?;
    Ok(format!("wrote route.gpx, route.geojson, card.html into {}", folder.display()))
}
