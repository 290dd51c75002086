//! What the views ask for; done once the frame is laid out.

use std::path::PathBuf;

use crate::book::{Edit, Uid};
use crate::query::RouteAsk;
use crate::share::PackAsk;
use crate::store::{OpenBook, Replace};

/// What a view asks for; done after the frame is laid out.
pub(crate) enum Command {
    Ask(Ask),
    /// Shows another beach of the book.
    Beach(Uid),
    /// Asks the system for files or a place.
    Pick(PickFor),
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
    /// Composes what would be handed over, and shows it.
    Preview,
    /// Does something once more, replacing what stood in its way.
    Replace(Again),
}

/// What something stood in the way of, to be done once more if the person says so.
#[derive(Debug, Clone)]
pub(crate) enum Again {
    /// The hand-over for this permission, into this folder.
    HandOver(PathBuf, Option<(Uid, PackAsk)>),
    /// The files of the route that answers this, into this folder.
    Route(PathBuf, Box<RouteAsk>),
    /// The whole book, in place of the book in this file.
    SaveAs(PathBuf),
}

/// What the window asks the keeper to do.
pub(crate) enum Ask {
    /// The last book, or the demo beach when there is none.
    Last,
    /// A book on disk.
    Open(PathBuf),
    /// A new book on disk.
    Create(PathBuf),
    /// A new book on disk with this edit made, under its name; neither without the other.
    CreateWith(PathBuf, Edit, String),
    /// The embedded demo beach, in memory.
    Demo,
    /// A book that is open already.
    Given(Box<OpenBook>),
    /// Whether another program changed the book's file; it is then read anew.
    Check,
    /// An edit, under a name of its own or the usual one.
    Apply(Edit, Option<String>),
    Undo,
    Redo,
    /// Go on in another file.
    SaveAs(PathBuf, Replace),
    /// Tell the history, what was taken out, and the backups.
    Keeping,
    /// Take back one change of the history by itself.
    TakeBack(i64),
    /// Put a record back that was taken out.
    BringBack(Uid),
    /// Make a backup now.
    BackUp,
    /// Put this backup in the place of the book.
    Restore(PathBuf),
}

/// What a file or a place is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PickFor {
    /// Files to import.
    Import,
    /// A folder to import.
    ImportFolder,
    /// A book to open.
    Open,
    /// Where a new book goes.
    New,
    /// Where the book goes on.
    SaveAs,
    /// The folder into which a hand-over goes.
    HandOver,
    /// The folder into which a route goes.
    Route,
}
