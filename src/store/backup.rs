//! Dated copies of a book, in a folder beside it, made and thinned by themselves.
//!
//! One is made before the first change of a day (by UTC) and before a book is brought to a newer format. Of those of days
//! all of the last seven days stay, then the last of each week for five weeks, the last of each month for a year, and the
//! last of each year; those made before a format or before something was restored stay for good.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _};
use rusqlite::Connection;
use rusqlite::backup::{Backup as Copying, StepResult};

use super::StoreError;
use crate::output::{draft_in, put_new};

/// How the time of a backup stands in its name.
const STAMP: &str = "%Y-%m-%d %H%M%SZ";

/// Why a backup was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Occasion {
    /// Before the first change of a day.
    Day,
    /// Before the book was brought to a newer format.
    Format,
    /// Before another backup was restored over it.
    Restore,
    /// As the person asked for it.
    Asked,
}

impl Occasion {
    const ALL: [(Self, &str); 4] = [
        (Self::Day, ""),
        (Self::Format, " before a newer format"),
        (Self::Restore, " before a restore"),
        (Self::Asked, " by hand"),
    ];

    /// How its name goes on behind the time.
    fn tail(self) -> &'static str {
        Self::ALL.iter().find(|(o, _)| *o == self).map_or("", |(_, tail)| tail)
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Day => "before the first change of a day",
            Self::Format => "before a newer format",
            Self::Restore => "before a restore",
            Self::Asked => "by hand",
        }
    }
}

/// A copy of a book as it once was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// The file.
    pub path: PathBuf,
    /// When it was made.
    pub at: Timestamp,
    /// Why.
    pub occasion: Occasion,
}

impl Backup {
    /// The file's name.
    pub fn name(&self) -> String {
        self.path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
    }
}

/// The folder of a book's backups, whether or not it is there.
pub fn backups_of(book: &Path) -> PathBuf {
    // Beside the file itself, wherever a link to it stands.
    let book = book.canonicalize().unwrap_or_else(|_| book.to_owned());
    book.with_file_name(format!("{} backups", stem(&book)))
}

fn stem(book: &Path) -> String {
    book.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The backups of a book, newest first.
pub fn list(book: &Path) -> Vec<Backup> {
    let Ok(entries) = fs::read_dir(backups_of(book)) else { return Vec::new() };
    let stem = stem(&book.canonicalize().unwrap_or_else(|_| book.to_owned()));
    let mut all: Vec<Backup> = entries.flatten().filter_map(|e| named(&stem, e.path())).collect();
    all.sort_by(|a, b| (b.at, &b.path).cmp(&(a.at, &a.path)));
    all
}

/// What a file's name says, if it is that of a backup of this book.
fn named(stem: &str, path: PathBuf) -> Option<Backup> {
    let rest = path.file_name()?.to_str()?.strip_prefix(stem)?.strip_prefix(' ')?.strip_suffix(".gpkg")?;
    let (stamp, tail) = (rest.get(..18)?, rest.get(18..)?);
    let at = TimeZone::UTC.to_timestamp(DateTime::strptime(STAMP.trim_end_matches('Z'), stamp.strip_suffix('Z')?).ok()?).ok()?;
    // Of two in one second the later has a number behind it.
    let plain = tail.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end();
    let (occasion, _) = *Occasion::ALL.iter().find(|(_, t)| t.trim() == plain.trim())?;
    Some(Backup { path, at, occasion })
}

/// Copies a book as it stands, with all that other programs put into it, and looks whether the copy can be read.
pub(super) fn make(conn: &Connection, book: &Path, occasion: Occasion) -> Result<Backup, StoreError> {
    let folder = backups_of(book);
    let failed = |why: String| StoreError::NoBackup { folder: folder.clone(), why };
    fs::create_dir_all(&folder).map_err(|e| failed(e.to_string()))?;
    let draft = draft_in(&folder).map_err(|e| failed(e.to_string()))?;
    copy(conn, draft.path()).map_err(failed)?;
    if let Ok(about) = fs::metadata(book) {
        // Who may not read the book may not read its copies.
        draft.as_file().set_permissions(about.permissions()).map_err(|e| failed(e.to_string()))?;
    }
    draft.as_file().sync_all().map_err(|e| failed(e.to_string()))?;
    let at = Timestamp::now();
    let path = free_name(book, &folder, at, occasion);
    put_new(draft, &path).map_err(|e| failed(e.to_string()))?;
    thin(book, at);
    Ok(Backup { path, at, occasion })
}

/// A name in the folder that nothing has yet.
pub(super) fn free_name(book: &Path, folder: &Path, at: Timestamp, occasion: Occasion) -> PathBuf {
    let book = book.canonicalize().unwrap_or_else(|_| book.to_owned());
    let head = format!("{} {}{}", stem(&book), at.strftime(STAMP), occasion.tail());
    (1..)
        .map(|n| folder.join(if n == 1 { format!("{head}.gpkg") } else { format!("{head} {n}.gpkg") }))
        .find(|path| path.symlink_metadata().is_err())
        .unwrap_or_default()
}

fn copy(conn: &Connection, to: &Path) -> Result<(), String> {
    let words = |e: rusqlite::Error| e.to_string();
    let mut target = Connection::open(to).map_err(words)?;
    {
        let copying = Copying::new(conn, &mut target).map_err(words)?;
        if copying.step(-1).map_err(words)? != StepResult::Done {
            return Err("the book is being written to by another program".to_owned());
        }
    }
    let said: String = target.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(words)?;
    if said != "ok" {
        return Err(format!("the copy is not sound ({said})"));
    }
    target.close().map_err(|(_, e)| words(e))
}

/// Takes away what the rule lets go. One that cannot be removed is in nobody's way.
fn thin(book: &Path, now: Timestamp) {
    let all = list(book);
    let days: Vec<Timestamp> = all.iter().filter(|b| b.occasion == Occasion::Day).map(|b| b.at).collect();
    let kept = kept(&days, now);
    for backup in all.iter().filter(|b| b.occasion == Occasion::Day && !kept.contains(&b.at)) {
        let _ = fs::remove_file(&backup.path);
    }
}

/// Which of the backups of days are kept.
fn kept(all: &[Timestamp], now: Timestamp) -> BTreeSet<Timestamp> {
    let day = |t: Timestamp| TimeZone::UTC.to_datetime(t).date();
    let today = day(now);
    let back = |days: i64| today.checked_sub(days.days()).unwrap_or(Date::MIN);
    let mut newest_first: Vec<Timestamp> = all.to_vec();
    newest_first.sort_unstable_by(|a, b| b.cmp(a));
    let mut spans = BTreeSet::new();
    newest_first
        .into_iter()
        .filter(|at| {
            let date = day(*at);
            let span = if date >= back(7) {
                return true;
            } else if date >= back(42) {
                let week = date.iso_week_date();
                (1, week.year(), week.week())
            } else if date >= back(366) {
                (2, date.year(), date.month())
            } else {
                (3, date.year(), 0)
            };
            spans.insert(span)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(day: &str) -> Timestamp {
        format!("{day}T10:00:00Z").parse().unwrap()
    }

    #[test]
    fn of_two_years_of_days_some_two_dozen_stay_and_the_newest_always_do() {
        let now = at("2027-03-01");
        let mut all = Vec::new();
        for back in 0..730_i64 {
            all.push(now.checked_sub(jiff::SignedDuration::from_hours(24 * back)).unwrap());
        }
        let stay = kept(&all, now);
        assert!((20..=30).contains(&stay.len()), "{}", stay.len());
        assert!(all[..8].iter().all(|t| stay.contains(t)));
        let oldest = stay.first().unwrap();
        assert_eq!(TimeZone::UTC.to_datetime(*oldest).date().year(), 2025);
        // Thinned day by day the same stay, so that the rule does not eat what it kept.
        let mut running: BTreeSet<Timestamp> = BTreeSet::new();
        for today in all.iter().rev() {
            running.insert(*today);
            running = kept(&running.iter().copied().collect::<Vec<_>>(), *today);
        }
        assert!(running.len() >= 18 && running.iter().filter(|t| **t >= all[7]).count() == 8, "{}", running.len());
        let months: BTreeSet<i8> =
            running.iter().filter(|t| **t >= all[300]).map(|t| TimeZone::UTC.to_datetime(*t).date().month()).collect();
        assert!(months.len() >= 9, "{months:?}");
    }

    #[test]
    fn names_say_when_and_why_and_others_are_left_alone() {
        let folder = Path::new("/x/my book backups");
        for (occasion, _) in Occasion::ALL {
            let path = free_name(Path::new("/x/my book.gpkg"), folder, at("2026-11-26"), occasion);
            let read = named("my book", path.clone()).unwrap();
            assert_eq!((read.at, read.occasion), (at("2026-11-26"), occasion), "{}", path.display());
            let second = path.with_file_name(format!("{} 2.gpkg", path.file_stem().unwrap().to_str().unwrap()));
            assert_eq!(named("my book", second).map(|b| b.occasion), Some(occasion));
        }
        for other in [
            "my book.gpkg",
            "my book 2026-11-26.gpkg",
            "my book 2026-11-26 100000Z of mine.gpkg",
            "other 2026-11-26 100000Z.gpkg",
        ] {
            assert_eq!(named("my book", folder.join(other)), None, "{other}");
        }
    }
}
