//! Nothing is lost: what commands write, where they write it, and what stands there already.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use super::end_to_end::{json, scourline, text};

/// Invented finds on an invented bay, each a waypoint.
fn gpx(names: &[String]) -> String {
    let points: Vec<String> = names
        .iter()
        .enumerate()
        .map(|(n, name)| format!("<wpt lat=\"48.{:05}\" lon=\"-11.9\"><name>{name} coin</name></wpt>", 90_000 + n))
        .collect();
    format!("<gpx version=\"1.1\" creator=\"by hand\">{}</gpx>", points.join("\n"))
}

fn finds(book: &Path) -> u64 {
    json(&["beach", "--book", text(book), "--json"])["beach"]["counts"]["find"].as_u64().expect("a count")
}

/// Names in a folder that a person sees.
fn seen(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).expect("a folder").map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.filter(|n| !n.starts_with('.')).collect();
    names.sort();
    names
}

/// Two first imports into one book that was not there: the later used to replace the earlier every time.
#[test]
fn of_two_first_imports_into_one_book_neither_is_lost() {
    for round in 0..6 {
        let dir = tempfile::tempdir().expect("a temporary folder");
        let book = dir.path().join("book.gpkg");
        let mut running = Vec::new();
        for n in 0..2 {
            let file = dir.path().join(format!("{n}.gpx"));
            fs::write(&file, gpx(&[format!("round {round} file {n}")]).replace("-11.9", &format!("-11.90{n}"))).expect("a file");
            let child = Command::new(env!("CARGO_BIN_EXE_scourline"))
                .args(["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)])
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn();
            running.push(child.expect("the program starts"));
        }
        let mut done = 0;
        for child in running {
            let out = child.wait_with_output().expect("it ends");
            if out.status.success() {
                done += 1;
            } else {
                let said = String::from_utf8_lossy(&out.stderr).into_owned();
                assert_eq!((out.status.code(), said.trim_end().lines().count()), (Some(4), 1), "{said}");
            }
        }
        assert!(done >= 1);
        assert_eq!(finds(&book), done, "every import that said it was done is in the book");
        assert_eq!(seen(dir.path()), ["0.gpx", "1.gpx", "book.gpkg"]);
    }
}

#[test]
fn a_book_is_never_replaced_by_a_route_or_a_diagram() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("a.gpx"));
    fs::write(&file, gpx(&["penny".to_owned()])).expect("a file");
    assert!(scourline(&["import", "--book", text(&book), "--beach", "Bay", text(&file)]).status.success());
    let before = fs::read(&book).expect("a book");
    for option in ["--gpx", "--geojson", "--card"] {
        for force in [&[][..], &["--force"]] {
            let args = [&["route", "--book", text(&book), "--after", "2026-06-01", option, text(&book)][..], force].concat();
            let out = scourline(&args);
            let said = String::from_utf8_lossy(&out.stderr).into_owned();
            assert_eq!(out.status.code(), Some(4), "{args:?}: {said}");
            assert!(said.contains("never replaced by anything but a book"), "{said}");
        }
    }
    let out = scourline(&["bench", "--book", text(&book), "--calibration", "--svg", text(&book)]);
    assert_eq!(out.status.code(), Some(4), "{}", String::from_utf8_lossy(&out.stderr));
    assert_eq!(fs::read(&book).expect("a book"), before);
}

/// A second demo, over its own book and over one that was edited since.
#[test]
fn what_the_demo_finds_in_its_way_stays() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let demo = dir.path().join("demo");
    let made = ["demo", "--out", text(&demo), "--no-window"];
    assert!(scourline(&made).status.success());
    let book = demo.join("tarrow-sands.gpkg");
    assert!(scourline(&made).status.success(), "what the demo made itself is no obstacle");

    // Edited, the demo's book is its person's.
    assert!(scourline(&["beach", "--book", text(&book), "--surge", "0.3"]).status.success());
    let edited = fs::read(&book).expect("a book");
    let out = scourline(&made);
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(4), "{said}");
    assert!(said.contains("was edited since the demo made it") && said.contains("--force"), "{said}");
    assert_eq!(fs::read(&book).expect("a book"), edited);

    assert!(scourline(&[&made[..], &["--force"]].concat()).status.success());
    assert_ne!(fs::read(&book).expect("a book"), edited);
}

/// A hand-over into a folder with a file of one's own, and a disk that fills up half way.
#[test]
fn what_a_hand_over_finds_in_its_way_stays() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("many.gpx"));
    let many: Vec<String> = (0..400).map(|n| format!("find {n}")).collect();
    fs::write(&file, gpx(&many)).expect("a file");
    assert!(scourline(&["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)]).status.success());
    // A file of one's own stands where a hand-over would put one of that name.
    let folder = dir.path().join("mine");
    fs::create_dir(&folder).expect("a folder");
    let own = folder.join("finds.geojson");
    let words = r#"{"type":"FeatureCollection","features":[],"name":"my own"}"#;
    fs::write(&own, words).expect("a file");
    let share = ["share", "--book", text(&book), "--out", text(&folder)];
    let out = scourline(&share);
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(4), "{said}");
    assert!(said.contains("finds.geojson is already there") && said.contains("--force"), "{said}");
    assert_eq!((fs::read_to_string(&own).expect("mine").as_str(), seen(&folder).len()), (words, 1), "nothing was written");
    assert!(scourline(&[&share[..], &["--force"]].concat()).status.success());
    assert!(scourline(&share).status.success(), "its own files of before are replaced without asking");
    let mut theirs = fs::read_to_string(&own).expect("a file").replace("coin", "coin that I know better");
    theirs.push('\n');
    fs::write(&own, &theirs).expect("edited");
    assert_eq!(scourline(&share).status.code(), Some(4), "an edited copy is its person's");
    assert_eq!(fs::read_to_string(&own).expect("a file"), theirs);

    full_disk(&folder, &share);
}

/// A limit on the size of files stands for a disk that fills up while a report is written.
fn full_disk(folder: &Path, share: &[&str]) {
    let report = folder.join("report.html");
    let before = fs::read(&report).expect("a report");
    assert!(before.len() > 16 * 512, "the report must be larger than the limit");
    // With the signal ignored the write fails with an error; without it the program is ended in the middle.
    for trap in ["trap '' XFSZ;", ""] {
        let script = format!("{trap} ulimit -f 16; exec \"$@\"");
        let out = Command::new("sh")
            .args(["-c", &script, "sh", env!("CARGO_BIN_EXE_scourline")])
            .args(share)
            .arg("--force")
            .output()
            .expect("a shell");
        assert!(!out.status.success());
        if !trap.is_empty() {
            assert_eq!(out.status.code(), Some(4), "{}", String::from_utf8_lossy(&out.stderr));
        }
        assert_eq!(fs::read(&report).expect("a report"), before, "the old report is whole");
    }
}

/// Ended at any moment, a first import leaves a whole book or none.
#[test]
fn a_first_import_that_is_ended_leaves_a_whole_book_or_none() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let many: Vec<String> = (0..2000).map(|n| format!("find {n}")).collect();
    let file = dir.path().join("many.gpx");
    fs::write(&file, gpx(&many)).expect("a file");
    let mut whole = 0;
    for round in 0..24 {
        let folder = dir.path().join(format!("{round}"));
        fs::create_dir(&folder).expect("a folder");
        let book = folder.join("book.gpkg");
        let mut child = Command::new(env!("CARGO_BIN_EXE_scourline"))
            .args(["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(Duration::from_millis(4 * round));
        let _ = child.kill();
        child.wait().expect("it ends");
        if book.exists() {
            whole += 1;
            assert_eq!(finds(&book), 2000, "half a book stands there");
            assert_eq!(seen(&folder), ["book.gpkg"]);
        } else {
            assert_eq!(seen(&folder), [""; 0], "something is left that looks like a document");
        }
        // And the import can simply be repeated.
        assert!(scourline(&["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)]).status.success());
        assert_eq!(finds(&book), 2000);
    }
    assert!(whole < 24, "no kill came before the end");
}

/// What a file leaves open: refused with exit 3 and the option that answers it, and shown by a dry run.
#[test]
fn a_question_refuses_the_file_and_names_its_answer() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("both.csv"));
    fs::write(&file, "lon,lat,what,date\n-11.9,48.9,penny,13/05/2024\n-11.9,48.9,ring,05/14/2024\n").expect("a file");
    let import = ["import", "--book", text(&book), "--beach", "Invented Bay", text(&file)];
    let out = scourline(&import);
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!((out.status.code(), said.trim_end().lines().count()), (Some(3), 1), "{said}");
    assert!(said.contains("--answer dates=month-first") && said.contains("nothing was changed"), "{said}");
    assert!(!book.exists());
    let dry = scourline(&[&import[..], &["--dry-run", "--json"]].concat());
    assert_eq!(dry.status.code(), Some(3));
    let shown: serde_json::Value = serde_json::from_slice(&dry.stdout).expect("one JSON document");
    let asked = &shown["files"][0]["unsettled"][0];
    assert_eq!((asked["about"].as_str(), asked["taken"].is_null()), (Some("dates"), true));
    assert_eq!(asked["answers"].as_array().map(Vec::len), Some(2));
    assert!(scourline(&[&import[..], &["--answer", "dates=day-first"]].concat()).status.success());
    assert_eq!(finds(&book), 1);
    assert_eq!(scourline(&[&import[..], &["--answer", "dates=never"]].concat()).status.code(), Some(2));
}

/// Such an import used to end as if it had been done.
#[test]
fn an_import_of_which_every_record_is_refused_says_so_and_is_no_success() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, file) = (dir.path().join("book.gpkg"), dir.path().join("a.csv"));
    fs::write(&file, gpx(&["penny".to_owned()])).expect("a file");
    assert!(scourline(&["import", "--book", text(&book), "--beach", "Bay", text(&file)]).status.success());
    let before = fs::read(&book).expect("a book");
    fs::write(&file, "lat,lon,what,date\n48.9,-11.9,penny,someday\n48.9,-11.9,ring,never\n").expect("a file");
    for dry in [&[][..], &["--dry-run"]] {
        let out = scourline(&[&["import", "--book", text(&book), text(&file)][..], dry].concat());
        let (said, shown) = (String::from_utf8_lossy(&out.stderr), String::from_utf8_lossy(&out.stdout));
        assert_eq!(out.status.code(), Some(3), "{said}");
        assert!(said.contains("every record was refused, so nothing was changed; the first of 2:"), "{said}");
        assert!(shown.contains("every record of this file was refused"), "{shown}");
    }
    assert_eq!(fs::read(&book).expect("a book"), before);
    // Beside a file of which something is new it is no bar to that, and ends the command no otherwise than alone.
    let good = dir.path().join("b.gpx");
    fs::write(&good, gpx(&["ring".to_owned()])).expect("a file");
    let out = scourline(&["import", "--book", text(&book), text(&file), text(&good)]);
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(3), "{said}");
    assert!(
        said.contains("a.csv: every record was refused; the first of 2:") && said.contains("the others were taken"),
        "{said}"
    );
    assert_eq!(finds(&book), 2);
}

/// One file that cannot be read, and one that asks, used to keep out the whole folder.
#[test]
fn an_odd_file_keeps_out_no_other() {
    let dir = tempfile::tempdir().expect("a temporary folder");
    let (book, folder) = (dir.path().join("book.gpkg"), dir.path().join("season"));
    fs::create_dir(&folder).expect("a folder");
    fs::write(folder.join("asks.csv"), "lon,lat,what,date\n-11.9,48.9,penny,13/05/2024\n-11.9,48.9,ring,05/14/2024\n")
        .expect("a file");
    fs::write(folder.join("cut.gpx"), &gpx(&["key".to_owned()])[..60]).expect("a file");
    fs::write(folder.join("good.gpx"), gpx(&["ring".to_owned()])).expect("a file");
    let import = ["import", "--book", text(&book), "--beach", "Invented Bay", text(&folder)];
    let dry = scourline(&[&import[..], &["--dry-run"]].concat());
    assert!(String::from_utf8_lossy(&dry.stderr).contains("the others would be taken"), "{dry:?}");
    assert!(dry.status.code() == Some(3) && !book.exists());
    let out = scourline(&[&import[..], &["--json"]].concat());
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(3), "{said}");
    assert!(
        said.contains("cut.gpx") && said.contains("nothing of 1 more file") && said.contains("the others were taken"),
        "{said}"
    );
    let shown: serde_json::Value = serde_json::from_slice(&out.stdout).expect("one JSON document");
    assert!(shown["failed"][0].as_str().is_some_and(|why| why.contains("cut.gpx")), "{shown}");
    let waits: Vec<_> = shown["files"].as_array().expect("files").iter().map(|f| f["waits"].as_bool()).collect();
    assert_eq!((waits, &shown["taken"]), (vec![Some(true), Some(false)], &serde_json::json!(1)));
    assert_eq!(finds(&book), 1);
    // Answered, it comes in; what is left is told again.
    let out = scourline(&[&import[..], &["--answer", "dates=day-first"]].concat());
    assert_eq!((out.status.code(), finds(&book)), (Some(3), 2));
}
