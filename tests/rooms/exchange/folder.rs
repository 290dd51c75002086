//! Folders and patterns in place of files.

use std::fs;
use std::path::{Path, PathBuf};

use scourline::exchange::{Named, files_of};

const GPX: &str = "<gpx version=\"1.1\"><wpt lat=\"45\" lon=\"-20\"><name>penny</name></wpt></gpx>";
const TABLE: &str = "lon,lat,what\n-20,45,penny\n";

fn write(folder: &Path, files: &[(&str, &[u8])]) {
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

fn season() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    write(
        dir.path(),
        &[
            ("b.csv", TABLE.as_bytes()),
            ("a.gpx", GPX.as_bytes()),
            ("diary.txt", b"Dear diary,\ntoday I dug a hole.\n"),
            ("report.pdf", b"%PDF-1.7"),
            ("empty.csv", b""),
            (".hidden.gpx", GPX.as_bytes()),
            ("2026/may/walk.gpx", GPX.as_bytes()),
            ("2026/may/finds.csv", TABLE.as_bytes()),
            // Which grid it is on is still to be said, but a table it is.
            ("2026/grid.csv", b"easting,northing,what\n1,2,penny\n"),
        ],
    );
    dir
}

fn names(root: &Path, named: &Named) -> (Vec<String>, Vec<String>) {
    let name = |p: &PathBuf| p.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/");
    (named.files.iter().map(name).collect(), named.passed_over.iter().map(|p| name(&p.path)).collect())
}

#[test]
fn a_folder_gives_what_can_be_read_in_the_order_of_names_and_tells_the_rest() {
    let dir = season();
    let named = files_of(&[dir.path().to_owned()]).unwrap();
    let (files, passed) = names(dir.path(), &named);
    assert_eq!(files, ["2026/grid.csv", "2026/may/finds.csv", "2026/may/walk.gpx", "a.gpx", "b.csv"]);
    assert_eq!(passed, ["diary.txt", "empty.csv", "report.pdf"]);
    assert!(named.passed_over[2].why.contains("PDF"), "{:?}", named.passed_over);
    // Named again by itself, a file is still taken once, and one that cannot be read is kept to be complained of.
    let again = [dir.path().to_owned(), dir.path().join("a.gpx"), dir.path().join("report.pdf"), dir.path().join("gone.gpx")];
    let (files, _) = names(dir.path(), &files_of(&again).unwrap());
    assert_eq!(files[5..], ["report.pdf", "gone.gpx"]);
}

#[test]
fn patterns_fit_within_a_folder_or_through_all_below() {
    let dir = season();
    let of = |pattern: &str| names(dir.path(), &files_of(&[dir.path().join(pattern)]).unwrap()).0;
    assert_eq!(of("*.gpx"), ["a.gpx"]);
    assert_eq!(of("?.csv"), ["b.csv"]);
    assert_eq!(of("*/*.csv"), ["2026/grid.csv"]);
    assert_eq!(of("**/*.gpx"), ["2026/may/walk.gpx", "a.gpx"]);
    assert_eq!(of("2026/m[a-n]y/*"), ["2026/may/finds.csv", "2026/may/walk.gpx"]);
    let said = |pattern: &str| files_of(&[dir.path().join(pattern)]).unwrap_err().to_string();
    assert!(said("*.kmz").contains("fits no file that can be read"));
    assert!(said("*.pdf").contains("report.pdf, is a PDF"), "{}", said("*.pdf"));
    assert!(said("[*.gpx").contains("is no pattern"));
}

#[test]
fn a_folder_with_nothing_to_read_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let said = |path: &Path| files_of(&[path.to_owned()]).unwrap_err().to_string();
    assert!(said(dir.path()).ends_with("holds no file that can be read here"));
    write(dir.path(), &[("x.pdf", b"%PDF")]);
    assert!(said(dir.path()).contains("the first of 1 passed over, x.pdf, is a PDF document"));
}

/// A link to the folder itself, or out of it, would lead round or to what nobody named.
#[cfg(unix)]
#[test]
fn links_in_a_folder_are_not_followed() {
    let (dir, elsewhere) = (season(), season());
    std::os::unix::fs::symlink(dir.path(), dir.path().join("2026/round")).unwrap();
    std::os::unix::fs::symlink(elsewhere.path(), dir.path().join("out")).unwrap();
    std::os::unix::fs::symlink(elsewhere.path().join("a.gpx"), dir.path().join("z.gpx")).unwrap();
    let named = files_of(&[dir.path().to_owned()]).unwrap();
    let (files, passed) = names(dir.path(), &named);
    assert_eq!(files.len(), 5);
    assert_eq!(passed, ["2026/round", "diary.txt", "empty.csv", "out", "report.pdf", "z.gpx"]);
}
