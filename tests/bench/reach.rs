//! How far the files reach: large ones taken into a new book by the built program, one edit kept in a large book, and a
//! large GPX beside a bare loop over the events of its XML.
//!
//! `cargo bench --bench reach [-- WHAT ...]`, where WHAT is any of `csv`, `geojson`, `levels`, `gpx`, `edit`; without it
//! all of them. Each is done three times, and the least time is told with the most memory. Nothing is random.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use quick_xml::Reader;
use quick_xml::events::Event;
use scourline::Progress;
use scourline::book::{Beach, Book, Edit, Find, RecordKind};
use scourline::earth::LonLat;
use scourline::exchange::{Options, Source, look};
use scourline::store::OpenBook;

/// The program's own, as time and memory depend on it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const TIMES: usize = 3;
const KINDS: [&str; 8] = ["coin", "ring", "pull tab", "foil", "nail", "button", "buckle", "lead weight"];

fn place(n: usize) -> (f64, f64) {
    (-20.0 + (n % 1000) as f64 * 1e-5, 45.0 + (n / 1000) as f64 * 1e-5)
}

fn time(n: usize) -> jiff::Timestamp {
    jiff::Timestamp::from_second(1_714_543_200 + n as i64).unwrap()
}

fn finds_csv() -> String {
    let mut text = String::from("lon,lat,time,what,kind,depth_cm,target_id,mass_g,notes\n");
    for n in 0..100_000 {
        let ((lon, lat), at, kind) = (place(n), time(37 * n), KINDS[n % 8]);
        let (depth, id, mass) = (5 + n % 30, n % 99, 1 + n % 40);
        writeln!(text, "{lon:.7},{lat:.7},{at},invented find {n},{kind},{depth},{id},{mass},note {}", n % 100).unwrap();
    }
    text
}

fn finds_geojson() -> String {
    let mut text = String::from("{\"type\":\"FeatureCollection\",\"features\":[\n");
    for n in 0..100_000 {
        let ((lon, lat), at, kind) = (place(n), time(37 * n), KINDS[n % 8]);
        let (depth, id, mass) = (5 + n % 30, n % 99, 1 + n % 40);
        let end = if n == 99_999 { "\n]}\n" } else { ",\n" };
        write!(
            text,
            "{{\"type\":\"Feature\",\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{lon:.7},{lat:.7}]}},\"properties\":{{\
             \"time\":\"{at}\",\"what\":\"invented find {n}\",\"kind\":\"{kind}\",\"depth_m\":0.{depth:02},\
             \"target_id\":{id},\"mass_g\":{mass},\"notes\":\"note {}\"}}}}{end}",
            n % 100
        )
        .unwrap();
    }
    text
}

fn levels_csv() -> String {
    let mut text = String::from("lon,lat,level_m,date,survey\n");
    for n in 0..1_000_000 {
        let (lon, lat) = place(n);
        writeln!(text, "{lon:.7},{lat:.7},{:.2},2024-05-01,spring", (n % 700) as f64 / 100.0).unwrap();
    }
    text
}

fn walks_gpx() -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n",
    );
    for walk in 0..20 {
        text.push_str("<trk><trkseg>\n");
        for n in 0..50_000 {
            let ((lon, lat), at) = (place(walk * 50_000 + n), time(walk * 200_000 + n));
            writeln!(text, "<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><ele>3.1</ele><time>{at}</time></trkpt>").unwrap();
        }
        text.push_str("</trkseg></trk>\n");
    }
    text + "</gpx>\n"
}

/// The most memory a running program has taken so far, MB; `None` once it has ended, or where there is no `/proc`.
fn memory_mb(process: u32) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let kib = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.trim().strip_suffix("kB")?.trim().parse::<f64>().ok())?;
    Some(kib * 1024.0 / 1e6)
}

/// Seconds and the most MB that the program needs to take a file into a new book.
fn taken_in(file: &Path) -> (f64, f64) {
    let dir = tempfile::tempdir().unwrap();
    let start = Instant::now();
    let mut program = Command::new(env!("CARGO_BIN_EXE_scourline"))
        .args(["import", "--beach", "Invented Bay", "--book"])
        .arg(dir.path().join("book.gpkg"))
        .arg(file)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let mut most_mb = f64::NAN;
    let status = loop {
        if let Some(status) = program.try_wait().unwrap() {
            break status;
        }
        most_mb = memory_mb(program.id()).map_or(most_mb, |mb| mb.max(most_mb));
        std::thread::sleep(Duration::from_millis(2));
    };
    let took_s = start.elapsed().as_secs_f64();
    assert!(status.success(), "the import failed");
    (took_s, most_mb)
}

fn tell(what: &str, took: impl Fn() -> (f64, f64)) -> f64 {
    let runs: Vec<(f64, f64)> = (0..TIMES).map(|_| took()).collect();
    let least_s = runs.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
    let most_mb = runs.iter().map(|r| r.1).fold(f64::NAN, f64::max);
    println!("{least_s:8.3} s  {most_mb:6.0} MB  {what}");
    least_s
}

/// Seconds of something done here.
fn seconds(work: impl FnOnce()) -> (f64, f64) {
    let start = Instant::now();
    work();
    (start.elapsed().as_secs_f64(), f64::NAN)
}

fn bare_loop(file: &Path) {
    let mut reader = Reader::from_reader(BufReader::with_capacity(1 << 16, File::open(file).unwrap()));
    let (mut event, mut events) = (Vec::new(), 0_u64);
    loop {
        match reader.read_event_into(&mut event).unwrap() {
            Event::Eof => break,
            Event::Start(tag) | Event::Empty(tag) => events += 1 + tag.attributes().filter(Result::is_ok).count() as u64,
            _ => events += 1,
        }
        event.clear();
    }
    assert!(events > 5_000_000);
}

fn gpx(file: &Path) {
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
    let mut book = Book::new();
    book.apply(&Edit::put(beach)).unwrap();
    let bare_s = tell("a bare loop over the events and attributes of that GPX", || seconds(|| bare_loop(file)));
    let read_s = tell("the same file read as a dry run", || {
        seconds(|| {
            let source = Source::path(file);
            let intake = look(&source, &book, &Options::default(), &Progress::new()).unwrap();
            assert_eq!(intake.taken[&RecordKind::Track], 20);
        })
    });
    println!("          {:.2} times the bare loop", read_s / bare_s);
}

/// One find changed, added and taken out, each kept in the file of a book of 100,000 finds.
fn edits() {
    let dir = tempfile::tempdir().unwrap();
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
    let find = |n: usize| {
        let (lon, lat) = place(n);
        let kind = scourline::book::Kind::keyed("coin");
        Find { depth_m: Some(0.1), ..Find::new(beach.uid, LonLat::new(lon, lat).unwrap(), format!("invented find {n}"), kind) }
    };
    let finds: Vec<Find> = (0..100_000).map(find).collect();
    let mut open = OpenBook::create(dir.path().join("book.gpkg")).unwrap();
    let all = std::iter::once(Edit::put(beach.clone())).chain(finds.iter().cloned().map(Edit::put)).collect();
    open.apply(&Edit::Batch(all)).unwrap();
    let mut took_ms = Vec::new();
    for n in 0..100 {
        // From the middle of the ground, so that its bounds stay; a snapshot is held, as work beside the edit holds one.
        let snapshot = open.snapshot();
        let mine = &finds[50_500 + n * 7];
        let edit = match n % 3 {
            0 => Edit::put(Find { notes: format!("edit {n}"), ..mine.clone() }),
            1 => Edit::put(find(40_500 + n)),
            _ => Edit::Remove(RecordKind::Find, mine.uid),
        };
        let start = Instant::now();
        open.apply(&edit).unwrap();
        took_ms.push(start.elapsed().as_secs_f64() * 1e3);
        drop(snapshot);
    }
    took_ms.sort_by(f64::total_cmp);
    let bare_ms = bare_commit_ms(&dir.path().join("bare.db"));
    println!(
        "{:8.2} ms (half of them), {:.2} ms (nine of ten), {:.2} ms at most: one edit kept in a book of 100,000 finds;\n\
         {bare_ms:8.2} ms (half of them): a bare commit of one row, as the disk has it",
        took_ms[49], took_ms[89], took_ms[99]
    );
}

/// What the disk alone takes for one row kept as safely, half of a hundred times, milliseconds.
fn bare_commit_ms(path: &Path) -> f64 {
    let conn = rusqlite::Connection::open(path).unwrap();
    conn.execute_batch("PRAGMA synchronous = FULL; CREATE TABLE t (a)").unwrap();
    let mut took_ms: Vec<f64> = (0..100)
        .map(|n| {
            let start = Instant::now();
            conn.execute("INSERT INTO t VALUES (?1)", [n]).unwrap();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    took_ms.sort_by(f64::total_cmp);
    took_ms[49]
}

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let wants = |what: &str| asked.is_empty() || asked.iter().any(|a| a == what);
    let dir = tempfile::tempdir().unwrap();
    let written = |name: &str, text: String| -> PathBuf {
        let path = dir.path().join(name);
        fs::write(&path, text).unwrap();
        path
    };
    if wants("csv") {
        let file = written("finds.csv", finds_csv());
        tell("a CSV of 100,000 finds into a new book", || taken_in(&file));
    }
    if wants("geojson") {
        let file = written("finds.geojson", finds_geojson());
        tell("a GeoJSON of 100,000 finds into a new book", || taken_in(&file));
    }
    if wants("levels") {
        let file = written("levels.csv", levels_csv());
        tell("a CSV of 1,000,000 levels into a new book", || taken_in(&file));
    }
    if wants("gpx") {
        let file = written("walks.gpx", walks_gpx());
        tell("a GPX of 1,000,000 points into a new book", || taken_in(&file));
        gpx(&file);
    }
    if wants("edit") {
        edits();
    }
}
