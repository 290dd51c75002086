//! The book on disk: round trips, the standard's metadata, bad files, edits by other programs, undo.

mod bad_files;
mod book_of;
mod crash;
mod elsewhere;
mod gis;
mod history;
mod kept;
mod older;
mod round_trip;
mod standard;
mod undo;
