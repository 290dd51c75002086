//! The files of one import, and what is said of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use crate::book::{Book, Uid};
use crate::exchange::{About, What};
use crate::query::{Home, IntakeQuestion, Item, WholeBook};

/// The files of one import and what is said of them.
pub(crate) struct IntakeForm {
    /// Files, folders and patterns.
    pub(crate) paths: Vec<PathBuf>,
    /// Files of them that are not wanted.
    pub(crate) left_out: BTreeSet<String>,
    pub(crate) typed: String,
    pub(crate) home: Home,
    /// What a new beach is to be called.
    pub(crate) name: String,
    /// The new book that all goes into, where what is shown is not kept.
    pub(crate) into: Option<IntoBook>,
    pub(crate) what: Option<What>,
    /// Whether they are another person's; whose, as it is typed, and as it was left.
    pub(crate) anothers: bool,
    pub(crate) owner: String,
    pub(crate) by: Option<String>,
    /// The clock of times without an offset, as it is typed, and as it was left.
    pub(crate) clock: String,
    pub(crate) zone: Option<String>,
    /// Whether heights of the tide without a unit are feet.
    pub(crate) feet: bool,
    /// How far the camera's clock was ahead of UTC, as it is typed, and as it was left, seconds.
    pub(crate) camera: String,
    pub(crate) camera_clock_s: Option<i64>,
    /// What columns of tables were said to mean, by their headings.
    pub(crate) columns: BTreeMap<String, String>,
    /// What was answered where a file leaves something open.
    pub(crate) answers: BTreeMap<About, &'static str>,
    /// Of which file each was asked, so that the answer stands there too.
    pub(crate) asked: BTreeMap<About, String>,
    /// Whether the look at the files was called off.
    pub(crate) stopped: bool,
    /// Whether the keyboard goes to the field of paths.
    pub(crate) focus: bool,
    /// Whether the keyboard goes to the button that takes all in, once it can be pressed.
    pub(crate) to_button: bool,
    /// What is picked once it was taken in; it was sent to the book and its answer is awaited.
    pub(crate) sent: Option<Vec<Item>>,
    /// Why the book did not take it.
    pub(crate) refusal: Option<String>,
}

/// A new book as it is wanted for an import.
pub(crate) struct IntoBook {
    /// Where its file goes, as typed.
    pub(crate) path: String,
    /// What it holds before: nothing.
    pub(crate) empty: Book,
}

impl IntakeForm {
    /// The import of some files, into a beach of the book if there is one.
    pub(crate) fn new(paths: Vec<PathBuf>, beach: Option<Uid>) -> Self {
        Self {
            paths: Vec::new(),
            left_out: BTreeSet::new(),
            typed: String::new(),
            home: beach.map_or(Home::New, Home::Known),
            name: "My beach".to_owned(),
            into: None,
            what: None,
            anothers: false,
            owner: String::new(),
            by: None,
            clock: String::new(),
            zone: None,
            feet: false,
            camera: String::new(),
            camera_clock_s: None,
            columns: BTreeMap::new(),
            answers: BTreeMap::new(),
            asked: BTreeMap::new(),
            stopped: false,
            focus: paths.is_empty(),
            to_button: false,
            sent: None,
            refusal: None,
        }
        .with(paths)
    }

    fn with(mut self, paths: Vec<PathBuf>) -> Self {
        self.add(paths);
        self
    }

    /// The same into a new book of its own, as what is shown is not kept.
    pub(crate) fn into_new_book(mut self, path: String) -> Self {
        self.home = Home::New;
        self.into = Some(IntoBook { path, empty: Book::new() });
        self
    }

    /// Adds files, folders or patterns.
    pub(crate) fn add(&mut self, paths: Vec<PathBuf>) {
        self.stopped = false;
        self.to_button = true;
        for path in paths {
            if !self.paths.contains(&path) {
                self.paths.push(path);
            }
        }
    }

    /// What is asked of the importers, if anything is.
    pub(crate) fn question(&self, book: &Book) -> Option<IntakeQuestion> {
        if self.paths.is_empty() || self.stopped || self.sent.is_some() {
            return None;
        }
        let book = self.into.as_ref().map_or(book, |into| &into.empty);
        Some(IntakeQuestion {
            book: WholeBook(book.clone()),
            paths: self.paths.clone(),
            left_out: self.left_out.clone(),
            home: self.home.clone(),
            what: self.what,
            zone: self.zone.clone(),
            by: self.by.clone().filter(|_| self.anothers),
            feet: self.feet,
            camera_clock_s: self.camera_clock_s,
            columns: self.columns.clone(),
            answers: self.answers.clone(),
        })
    }
}

/// How far a clock is ahead, as people write it: `1:30`, `-0:00:45`, `90 s`, `2 h`; seconds.
///
/// # Errors
/// A sentence when it is none.
pub(crate) fn clock_offset_s(text: &str) -> Result<i64, String> {
    let wrong = || format!("\"{}\" is no time such as 1:00 (an hour), -0:00:45 or 90 s", text.trim());
    let plain = text.trim().replace('−', "-");
    let (minus, body) = match plain.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, plain.strip_prefix('+').unwrap_or(&plain)),
    };
    let body = body.trim();
    let seconds = if body.contains(':') {
        let parts: Vec<i64> = body.split(':').map(|p| p.trim().parse().map_err(|_| wrong())).collect::<Result<_, _>>()?;
        match parts.as_slice() {
            [h, m] if (0..60).contains(m) && *h >= 0 => h * 3600 + m * 60,
            [h, m, s] if (0..60).contains(m) && (0..60).contains(s) && *h >= 0 => h * 3600 + m * 60 + s,
            _ => return Err(wrong()),
        }
    } else {
        let unit = body.trim_start_matches(|c: char| c.is_ascii_digit());
        let per = match unit.trim() {
            "s" | "sec" | "seconds" => 1,
            "min" | "minutes" => 60,
            "h" | "hours" => 3600,
            _ => return Err(wrong()),
        };
        body[..body.len() - unit.len()].parse::<i64>().map_err(|_| wrong())?.checked_mul(per).ok_or_else(wrong)?
    };
    Ok(if minus { -seconds } else { seconds })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_is_ahead_is_read_as_people_write_it() {
        for (text, seconds) in
            [("1:00", 3600), ("-0:00:45", -45), ("90 s", 90), ("+2h", 7200), ("3 min", 180), ("01:00:30", 3630), ("−1:00", -3600)]
        {
            assert_eq!(clock_offset_s(text), Ok(seconds), "{text}");
        }
        for text in ["", "an hour", "1:75", "1:-5", "5", "1:2:3:4", "999999999999999999 h"] {
            assert!(clock_offset_s(text).unwrap_err().contains("such as 1:00"), "{text}");
        }
    }
}
