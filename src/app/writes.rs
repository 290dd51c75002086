//! What is waiting to be written for others: it is written from a fresh answer or not at all.

use std::path::PathBuf;

use jiff::Timestamp;

use super::App;
use super::snapshot::Message;
use super::state::command::Again;
use super::state::dialog::Standing;
use super::state::share::Preview;
use crate::book::{Book, Edit, Receipt, Uid};
use crate::output::{self, OutputError, Over};
use crate::query::{
    Ask as _, Given, HandOver, HandOverQuestion, Inquiry, NotYet, Planned, Refusal, RouteAsk, Running, WholeBook,
};
use crate::share::{self, HandedOut, PackAsk};
use crate::shore::Setting;

/// The permission whose holder a hand-over is for and what of it is asked for; `None`: for oneself.
type Asked = Option<(Uid, PackAsk)>;

/// What came of writing.
enum Written {
    /// It was done, in a sentence, with what the book is to keep of it.
    Done(String, Option<Box<Receipt>>),
    /// Files stand there that the program did not make.
    Asks(Standing),
}

/// The files to be written, and the work that writes them.
#[derive(Default)]
pub(super) struct Writes {
    /// Into this folder, or only to be shown.
    hand_over: Option<(Option<PathBuf>, Asked, Timestamp, Over)>,
    route: Option<(PathBuf, RouteAsk, Over)>,
    writing: Vec<Running<Written>>,
}

impl Writes {
    /// Whether something waits or is being written.
    pub(super) fn is_busy(&self) -> bool {
        self.hand_over.is_some() || self.route.is_some() || !self.writing.is_empty()
    }

    /// Writes a hand-over once it is composed of the book as it is then.
    pub(super) fn want_hand_over(&mut self, folder: Option<PathBuf>, permission: Asked, now: Timestamp, over: Over) {
        self.hand_over = Some((folder, permission, now, over));
    }

    /// Writes the route that answers this once it is fresh.
    pub(super) fn want_route(&mut self, folder: PathBuf, ask: RouteAsk, over: Over) {
        self.route = Some((folder, ask, over));
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
        if let Some((folder, permission, now, over)) = self.writes.hand_over.clone() {
            match self.answers.ask::<HandOverQuestion>(inquiry.hand_over(permission.clone(), now)) {
                Ok(made) => {
                    self.writes.hand_over = None;
                    match (folder, permission) {
                        (Some(folder), permission) => self.start_writing("the writing of the hand-over", move || {
                            write_hand_over(&made, folder, permission, over)
                        }),
                        (None, Some(asked)) => {
                            let book = WholeBook(self.book.clone());
                            self.state.share.preview = Some(Preview { book, asked, made });
                        }
                        (None, None) => {}
                    }
                }
                Err(NotYet::Waiting) => {}
                Err(why) => {
                    self.writes.hand_over = None;
                    self.message = Some(Message { text: why.to_string(), bad: true });
                }
            }
        }
        if let Some((folder, ask, over)) = self.writes.route.clone() {
            let answered = inquiry.route(&mut self.answers, ask.clone());
            match (answered, self.answers.ask(inquiry.setting())) {
                (Ok(planned), Ok(setting)) => {
                    self.writes.route = None;
                    let book = WholeBook(self.book.clone());
                    let handed = HandedOut::now(self.now(), self.kept.as_ref().and_then(|k| k.path.as_deref()));
                    self.start_writing("the writing of the route", move || {
                        write_route(&book.0, &setting, &planned, &handed, folder, ask, over)
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

    fn start_writing(&mut self, name: &str, work: impl FnOnce() -> Result<Written, Refusal> + Send + 'static) {
        let running = self.answers.runner().start(name, work);
        self.writes.writing.push(running);
    }

    /// Says what was written.
    pub(super) fn say_what_was_written(&mut self) {
        let mut said = None;
        let mut asks = None;
        let mut kept = None;
        self.writes.writing.retain(|running| match running.poll() {
            None => true,
            Some(result) => {
                match result {
                    Ok(Written::Done(text, receipt)) => {
                        said = Some(Message { text, bad: false });
                        kept = receipt.or(kept.take());
                    }
                    Ok(Written::Asks(standing)) => asks = Some(standing),
                    Err(why) => said = Some(Message { text: why.sentence, bad: true }),
                }
                false
            }
        });
        if let Some(standing) = asks {
            self.ask_to_replace(standing);
        }
        self.message = said.or(self.message.take());
        if let Some(receipt) = kept {
            let label = format!("hand over under {}", receipt.name);
            self.state.apply(Edit::put(*receipt), label);
        }
    }
}

/// Writes files into a folder and says which; asks where the program did not make what stands there.
fn write_files(
    folder: PathBuf,
    files: &[(&str, &[u8])],
    left_out: &[PathBuf],
    receipt: Option<Receipt>,
    over: Over,
    again: impl FnOnce(PathBuf) -> Again,
) -> Result<Written, Refusal> {
    std::fs::create_dir_all(&folder)
        .map_err(|e| Refusal::missing(format!("the folder {} could not be made: {e}", folder.display())))?;
    let placed: Vec<(PathBuf, &[u8])> = files.iter().map(|(name, bytes)| (folder.join(name), *bytes)).collect();
    match output::write_instead(&placed, left_out, over) {
        Ok(gone) => {
            let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
            let gone: Vec<String> = gone.iter().map(|path| format!("; removed {}, of an earlier one", path.display())).collect();
            let done = format!("wrote {} into {}{}", names.join(", "), folder.display(), gone.concat());
            Ok(Written::Done(done, receipt.map(Box::new)))
        }
        Err(why @ OutputError::Foreign(_)) => Ok(Written::Asks(Standing { said: format!("{why}."), again: again(folder) })),
        Err(why) => Err(Refusal::missing(why)),
    }
}

/// Writes the files of a hand-over into a folder.
fn write_hand_over(made: &Given<HandOver>, folder: PathBuf, permission: Asked, over: Over) -> Result<Written, Refusal> {
    let files: Vec<(&str, &[u8])> = made.files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    let (left_out, beside) = (made.left_out_in(&folder), made.beside_in(&folder));
    if let Some(why) = beside.refusal() {
        return Err(Refusal::missing(why));
    }
    let written =
        write_files(folder, &files, &left_out, made.receipt.clone(), over, |folder| Again::HandOver(folder, permission))?;
    Ok(match (written, beside.said()) {
        (Written::Done(done, receipt), Some(said)) => Written::Done(format!("{done}. {said}"), receipt),
        (other, _) => other,
    })
}

/// Writes the card and the files of a route into a folder.
fn write_route(
    book: &Book,
    setting: &Setting,
    planned: &Planned,
    handed: &HandedOut,
    folder: PathBuf,
    ask: RouteAsk,
    over: Over,
) -> Result<Written, Refusal> {
    let route = &planned.route;
    let gpx = share::route_gpx(route, setting, handed).map_err(Refusal::missing)?;
    let geojson = share::route_geojson(route, setting, handed).map_err(Refusal::missing)?;
    let card = share::route_card(route, book, setting, handed).into_bytes();
    let files: [(&str, &[u8]); 3] = [("route.gpx", &gpx), ("route.geojson", &geojson), ("card.html", &card)];
    write_files(folder, &files, &[], None, over, |folder| Again::Route(folder, Box::new(ask)))
}
