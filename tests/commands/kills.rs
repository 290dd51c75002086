//! The program is killed in the middle of imports, edits, upgrades and restores, and every time the book is whole: as it
//! was before, or as it is when the job is done, and nothing in between.
//!
//! A thousand kills: `KILLS=1000 SEED=1 cargo test --test commands kills:: -- --ignored --nocapture`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rand::{RngExt as _, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rusqlite::Connection;
use scourline::book::RecordKind;
use scourline::store::{OpenBook, backups};

use super::end_to_end::{scourline, text};

/// What is killed.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Job {
    FirstImport,
    Import,
    ImportOnAnotherDay,
    Edit,
    EditOnAnotherDay,
    TakeBack,
    Upgrade,
    UpgradeAndImport,
    Restore,
}

const JOBS: [Job; 9] = [
    Job::FirstImport,
    Job::Import,
    Job::ImportOnAnotherDay,
    Job::Edit,
    Job::EditOnAnotherDay,
    Job::TakeBack,
    Job::Upgrade,
    Job::UpgradeAndImport,
    Job::Restore,
];

/// Books and files from which each job starts.
struct Ground {
    dir: tempfile::TempDir,
}

impl Ground {
    fn new() -> Self {
        let ground = Self { dir: tempfile::tempdir().expect("a temporary folder") };
        fs::write(ground.path("first.gpx"), gpx(0, 300, 3000)).expect("a file");
        fs::write(ground.path("more.gpx"), gpx(5000, 1200, 4000)).expect("a file");
        let book = ground.path("base.gpkg");
        done(&["import", "--book", text(&book), "--beach", "Bay", text(&ground.path("first.gpx"))]);
        done(&["beach", "--book", text(&book), "--surge", "0.1"]);
        for (name, spoil) in [("aged.gpkg", AGED), ("old.gpkg", BACK_TO_8)] {
            fs::copy(&book, ground.path(name)).expect("a copy");
            Connection::open(ground.path(name)).expect("a book").execute_batch(spoil).expect("older");
        }
        ground
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// A folder as it is before the job, and what the job is started with.
    fn start(&self, job: Job, folder: &Path) -> Vec<String> {
        let book = folder.join("book.gpkg");
        let from = match job {
            Job::FirstImport => None,
            Job::Import | Job::Edit | Job::TakeBack | Job::Restore => Some("base.gpkg"),
            Job::ImportOnAnotherDay | Job::EditOnAnotherDay => Some("aged.gpkg"),
            Job::Upgrade | Job::UpgradeAndImport => Some("old.gpkg"),
        };
        if let Some(from) = from {
            fs::copy(self.path(from), &book).expect("a copy");
        }
        let (book, more, old) = (text(&book).to_owned(), self.path("more.gpx"), self.path("old.gpkg"));
        let words: Vec<&str> = match job {
            Job::FirstImport => vec!["import", "--book", &book, "--beach", "Bay", text(&more)],
            Job::Import | Job::ImportOnAnotherDay | Job::UpgradeAndImport => vec!["import", "--book", &book, text(&more)],
            Job::Edit | Job::EditOnAnotherDay => vec!["beach", "--book", &book, "--surge", "0.3"],
            Job::TakeBack => vec!["book", "--book", &book, "--take-back", "2"],
            Job::Upgrade => vec!["book", "--book", &book],
            Job::Restore => vec!["book", "--book", &book, "--restore", text(&old)],
        };
        words.into_iter().map(str::to_owned).collect()
    }
}

const AGED: &str =
    "UPDATE scourline_book SET changed = '2020-01-01T00:00:00Z'; UPDATE scourline_changes SET at = '2020-01-01T00:00:00Z';";

const BACK_TO_8: &str =
    "ALTER TABLE finds DROP COLUMN finder; ALTER TABLE finds DROP COLUMN permission; ALTER TABLE finds DROP COLUMN value;
    ALTER TABLE finds DROP COLUMN age; ALTER TABLE finds DROP COLUMN disposal; ALTER TABLE finds DROP COLUMN reported;
    ALTER TABLE finds DROP COLUMN more; DROP TABLE remembered; DROP TABLE scourline_changes;
    DELETE FROM gpkg_contents WHERE table_name IN ('remembered', 'scourline_changes');
    UPDATE scourline_book SET format_version = 8;";

/// Invented finds and a track.
fn gpx(from: u32, finds: u32, fixes: u32) -> String {
    let time = |n: u32| format!("2026-03-{:02}T{:02}:{:02}:{:02}Z", 1 + from / 1000, 8 + n / 3600, n / 60 % 60, n % 60);
    let place = |n: u32| format!("lat=\"48.{:06}\" lon=\"-11.9\"", 900_000 + (from + n) * 3);
    let points: String = (0..finds).map(|n| format!("<wpt {}><name>coin {}</name></wpt>\n", place(n), from + n)).collect();
    let track: String = (0..fixes).map(|n| format!("<trkpt {}><time>{}</time></trkpt>\n", place(n), time(n))).collect();
    format!("<gpx version=\"1.1\" creator=\"by hand\">{points}<trk><trkseg>{track}</trkseg></trk></gpx>")
}

fn done(args: &[&str]) {
    let out = scourline(args);
    assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
}

/// What a book holds, apart from uids that are drawn; `None` where there is no book.
fn state(book: &Path) -> Option<String> {
    if !book.exists() {
        return None;
    }
    let conn = Connection::open(book).expect("a database");
    let sound: String = conn.query_row("PRAGMA integrity_check", [], |r| r.get(0)).expect("a check");
    assert_eq!(sound, "ok");
    drop(conn);
    let open = OpenBook::open(book).expect("a book");
    assert_eq!(open.complaints(), []);
    let counts: Vec<(RecordKind, usize)> = RecordKind::ALL.iter().map(|k| (*k, open.book().count(*k))).collect();
    let surge = open.book().beaches().values().next().map(|b| b.weather.surge_m);
    let fixes: usize = open.book().tracks().values().map(scourline::book::Track::len).sum();
    Some(format!("{counts:?} {surge:?} {fixes}"))
}

fn changes(book: &Path) -> usize {
    OpenBook::open(book).expect("a book").history(usize::MAX).expect("a history").len()
}

#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    kills: usize,
    ended_first: usize,
    before: usize,
    after: usize,
}

fn kill(count: usize, seed: u64) -> Tally {
    let ground = Ground::new();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut all = Tally::default();
    for (n, job) in JOBS.into_iter().enumerate() {
        let mine = count / JOBS.len() + usize::from(n < count % JOBS.len());
        let tally = kill_job(&ground, job, mine, &mut rng);
        println!("{job:?}: {tally:?}");
        all.kills += tally.kills;
        all.ended_first += tally.ended_first;
        all.before += tally.before;
        all.after += tally.after;
    }
    println!("seed {seed}: {all:?}");
    all
}

fn kill_job(ground: &Ground, job: Job, count: usize, rng: &mut ChaCha8Rng) -> Tally {
    // As it is before, and as it is when the job is done, and how long that takes.
    let whole = tempfile::tempdir().expect("a folder");
    let args = ground.start(job, whole.path());
    let book = |folder: &Path| folder.join("book.gpkg");
    let copy = whole.path().join("before.gpkg");
    let before = book(whole.path()).exists().then(|| fs::copy(book(whole.path()), &copy)).and_then(|_| state(&copy));
    let began = Instant::now();
    done(&args.iter().map(String::as_str).collect::<Vec<_>>());
    let lasts = began.elapsed();
    let (after, noted) = (state(&book(whole.path())), changes(&book(whole.path())));
    let mut tally = Tally::default();
    while tally.kills < count {
        let dir = tempfile::tempdir().expect("a folder");
        let args = ground.start(job, dir.path());
        let mut child = Command::new(env!("CARGO_BIN_EXE_scourline"))
            .args(&args)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        // The file is written towards the end.
        let share = if rng.random_bool(0.5) { rng.random_range(0.0..1.1) } else { rng.random_range(0.5..1.1) };
        std::thread::sleep(Duration::from_secs_f64(lasts.as_secs_f64() * share));
        child.kill().expect("it was started here");
        let ended_by_itself = child.wait().expect("it ends").success();
        tally.kills += 1;
        tally.ended_first += usize::from(ended_by_itself);
        let now = state(&book(dir.path()));
        assert!(now == before || now == after, "{job:?}, kill {}: {now:?} is neither {before:?} nor {after:?}", tally.kills);
        if ended_by_itself {
            assert_eq!(now, after, "{job:?}: it said that it was done");
        }
        tally.before += usize::from(now == before);
        tally.after += usize::from(now != before);
        look_at_the_rest(job, dir.path(), (&before, now == after && before != after), noted);
        if tally.kills % 10 == 1 && job != Job::TakeBack {
            done(&args.iter().map(String::as_str).collect::<Vec<_>>());
            assert_eq!(state(&book(dir.path())), after, "{job:?}: done again it is done");
            let journal = dir.path().join("book.gpkg-journal");
            assert!(matches!(job, Job::Edit | Job::EditOnAnotherDay | Job::Upgrade) || !journal.exists(), "{job:?}");
        }
    }
    tally
}

/// Nothing half made is left where a person sees it (a journal of which SQLite has taken what there was to take back stays
/// until the next write), what is noted is what was done, and each backup is a book.
fn look_at_the_rest(job: Job, folder: &Path, (before, is_done): (&Option<String>, bool), noted: usize) {
    let book = folder.join("book.gpkg");
    let seen: Vec<String> = fs::read_dir(folder)
        .expect("a folder")
        .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|n| !n.starts_with('.') && !["book.gpkg", "book.gpkg-journal", "book backups"].contains(&n.as_str()))
        .collect();
    assert_eq!(seen, [""; 0], "{job:?}");
    if is_done && job != Job::Restore {
        assert_eq!(changes(&book), noted, "{job:?}");
    }
    for copy in backups(&book) {
        let whole = tempfile::tempdir().expect("a folder");
        let path = whole.path().join("copy.gpkg");
        fs::copy(&copy.path, &path).expect("a copy");
        let held = state(&path);
        assert!(held == *before || job == Job::Restore, "{job:?}: the backup holds {held:?}");
        assert!(held.is_some(), "{job:?}");
    }
}

#[test]
fn a_few_kills_leave_the_book_whole() {
    let tally = kill(18, 7);
    assert_eq!(tally.kills, 18);
}

#[test]
#[ignore = "takes minutes; see the top of this file"]
fn many_kills_leave_the_book_whole() {
    let number = |name: &str, usual: u64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(usual);
    let count = usize::try_from(number("KILLS", 1000)).expect("a count");
    let tally = kill(count, number("SEED", 1));
    assert!(tally.kills == count && tally.before > 0 && tally.after > 0, "{tally:?}");
}

/// A disk that is full while a book is imported into, backed up or upgraded: a small file system in memory where one may
/// be made, else a limit on the size of a file.
#[test]
#[ignore = "makes a file system where it may"]
fn a_full_disk_leaves_the_book_whole() {
    let ground = Ground::new();
    let dir = tempfile::tempdir().expect("a folder");
    let sizes = ["base.gpkg", "aged.gpkg", "old.gpkg"].map(|name| fs::metadata(ground.path(name)).expect("a book").len());
    // The file system needs a little for itself.
    let size = sizes.into_iter().fold(32_768, u64::max) + 32_768;
    let mut refused = 0;
    for spare in (0..40).map(|n| n * 30_000) {
        for job in [Job::Import, Job::ImportOnAnotherDay, Job::Upgrade, Job::UpgradeAndImport, Job::FirstImport] {
            let folder = dir.path().join("small");
            fs::create_dir_all(&folder).expect("a folder");
            let room = if job == Job::FirstImport { spare } else { size + spare };
            let option = format!("size={}k", room.div_ceil(1024).next_multiple_of(4).max(8));
            let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", &option, "tmpfs"]).arg(&folder).output();
            let mounted = mounted.is_ok_and(|out| out.status.success());
            let args = ground.start(job, &folder);
            let book = folder.join("book.gpkg");
            let before = book.exists().then(|| {
                let copy = dir.path().join("before.gpkg");
                fs::copy(&book, &copy).expect("a copy");
                state(&copy).expect("a book")
            });
            let script = if mounted {
                "exec \"$@\"".to_owned()
            } else {
                format!("trap '' XFSZ; ulimit -f {}; exec \"$@\"", room.div_ceil(512))
            };
            let out = Command::new("sh").args(["-c", &script, "sh", env!("CARGO_BIN_EXE_scourline")]).args(&args).output();
            let out = out.expect("a shell");
            if !out.status.success() {
                refused += 1;
                let said = String::from_utf8_lossy(&out.stderr).into_owned();
                assert!(matches!(out.status.code(), Some(3 | 4)), "{job:?}, {spare}: {:?} {said}", out.status);
                // Looked at where there is room: opening it may take a half-done write back.
                let there = dir.path().join("looked");
                fs::create_dir_all(&there).expect("a folder");
                for name in ["book.gpkg", "book.gpkg-journal"] {
                    let _ = fs::remove_file(there.join(name));
                    let _ = fs::copy(folder.join(name), there.join(name));
                }
                let now = state(&there.join("book.gpkg"));
                assert_eq!(now, before, "{job:?}, {spare}: {said}");
            }
            if mounted {
                assert!(Command::new("umount").arg(&folder).status().is_ok_and(|s| s.success()));
            } else {
                fs::remove_dir_all(&folder).expect("a folder");
            }
            if spare == 0 {
                println!("{job:?}: {}", if mounted { "a file system in memory" } else { "a limit on the size of files" });
            }
        }
    }
    println!("{refused} of 200 runs met a full disk");
    assert!(refused > 20, "{refused}");
}
