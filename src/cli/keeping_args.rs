//! Options of the commands that keep a book: its history and backups, its doubles, its tracks.

use std::path::PathBuf;

use clap::Args as ClapArgs;

/// Options of `book`.
#[derive(Debug, ClapArgs)]
pub struct BookArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// How many of the last changes are told.
    #[arg(long, value_name = "N", default_value_t = 20)]
    pub changes: usize,
    /// Take back this change of the history by itself, by its number.
    #[arg(long, value_name = "NUMBER")]
    pub take_back: Option<i64>,
    /// Put back a record that was taken out, by the uid it is told under.
    #[arg(long, value_name = "UID")]
    pub bring_back: Option<String>,
    /// Make a backup now.
    #[arg(long)]
    pub back_up: bool,
    /// Put this backup in the place of the book, by its name, its path or `latest`; the book as it stands is kept among
    /// the backups.
    #[arg(long, value_name = "BACKUP", conflicts_with_all = ["take_back", "bring_back", "back_up"])]
    pub restore: Option<String>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Options of `doubles`.
#[derive(Debug, ClapArgs)]
pub struct DoublesArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// Only those of this beach.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Merge these two, by the name they are told under; without it nothing is changed. May be repeated.
    #[arg(long, value_name = "PAIR")]
    pub merge: Vec<String>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}

/// Options of `clean`.
#[derive(Debug, ClapArgs)]
pub struct CleanArgs {
    /// The book.
    #[arg(long, value_name = "FILE")]
    pub book: PathBuf,
    /// Only the tracks of this beach.
    #[arg(long, value_name = "NAME")]
    pub beach: Option<String>,
    /// Clean this track, by its uid, or `all` that are told; without it nothing is changed. May be repeated.
    #[arg(long, value_name = "UID")]
    pub track: Vec<String>,
    /// Print one JSON document.
    #[arg(long)]
    pub json: bool,
}
