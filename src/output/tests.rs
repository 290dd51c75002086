use super::*;

fn made(text: &str) -> Vec<u8> {
    format!("<!-- {MARK} -->{text}").into_bytes()
}

fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_str().unwrap().to_owned()).collect();
    names.sort();
    names
}

/// A report used to be written over whatever stood there.
#[test]
fn own_files_are_replaced_and_others_are_not() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("report.html");
    write(&path, &made("one"), Over::Own).unwrap();
    write(&path, &made("two"), Over::Own).unwrap();
    let ours = fs::read(&path).unwrap();
    assert!(ours.ends_with(b"two") && is_own(&ours));
    // Edited by its person, it is theirs.
    let mut edited = ours;
    edited.extend(b" and my own words");
    fs::write(&path, &edited).unwrap();
    let refused = write(&path, &made("three"), Over::Own).unwrap_err();
    assert!(matches!(&refused, OutputError::Foreign(paths) if *paths == [path.clone()]), "{refused}");
    assert!(refused.to_string().contains("report.html is already there and not as this program made it"), "{refused}");
    assert_eq!(fs::read(&path).unwrap(), edited);
    write(&path, &made("three"), Over::Anything).unwrap();
    assert!(fs::read(&path).unwrap().ends_with(b"three"));
    assert_eq!(entries(dir.path()), ["report.html"], "no draft is left");
}

#[test]
fn a_database_and_a_folder_are_never_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let book = dir.path().join("book.gpkg");
    let bytes = [b"SQLite format 3\0".as_slice(), &[7; 84]].concat();
    fs::write(&book, &bytes).unwrap();
    for over in [Over::Own, Over::Anything] {
        assert!(matches!(write(&book, &made("x"), over), Err(OutputError::Database(_))));
        assert!(matches!(write(dir.path(), &made("x"), over), Err(OutputError::Folder(_))));
    }
    assert_eq!(fs::read(&book).unwrap(), bytes);
    assert!(matches!(write(&dir.path().join("no/such"), b"x", Over::Own), Err(OutputError::Io { .. })));
}

/// One foreign file among several keeps all of them from being written.
#[test]
fn several_files_are_written_together_or_not_at_all() {
    let dir = tempfile::tempdir().unwrap();
    let [first, second] = ["a.html", "finds.geojson"].map(|n| dir.path().join(n));
    fs::write(&second, "{\"my\": \"own\"}").unwrap();
    let (one, two) = (made("one"), made("two"));
    let files = [(first.clone(), one.as_slice()), (second.clone(), two.as_slice())];
    assert!(matches!(write_all(&files, Over::Own), Err(OutputError::Foreign(p)) if p == [second.clone()]));
    assert_eq!(entries(dir.path()), ["finds.geojson"]);
    write_all(&files, Over::Anything).unwrap();
    assert_eq!(entries(dir.path()), ["a.html", "finds.geojson"]);
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_a_pipe_is_written_into() {
    let dir = tempfile::tempdir().unwrap();
    let (path, link) = (dir.path().join("report.html"), dir.path().join("link.html"));
    write(&path, &made("one"), Over::Own).unwrap();
    std::os::unix::fs::symlink(&path, &link).unwrap();
    write(&link, &made("two"), Over::Own).unwrap();
    assert!(link.symlink_metadata().unwrap().is_symlink() && fs::read(&path).unwrap().ends_with(b"two"));
    write(Path::new("/dev/null"), &made("x"), Over::Own).unwrap();
}

#[test]
fn only_drafts_that_were_left_long_ago_are_cleared_away() {
    let dir = tempfile::tempdir().unwrap();
    let old = SystemTime::now() - 2 * STALE;
    for (name, aged) in [(".scourline-old.part", true), (".scourline-old.part-journal", true), (".scourline-new.part", false)] {
        let file = fs::File::create(dir.path().join(name)).unwrap();
        if aged {
            file.set_modified(old).unwrap();
        }
    }
    let mine = dir.path().join("notes.part");
    fs::File::create(&mine).unwrap().set_modified(old).unwrap();
    write(&dir.path().join("x.html"), &made("x"), Over::Own).unwrap();
    assert_eq!(entries(dir.path()), [".scourline-new.part", "notes.part", "x.html"]);
}

/// A process of this machine that has ended.
#[cfg(target_os = "linux")]
fn ended() -> u32 {
    let mut child = std::process::Command::new("true").spawn().unwrap();
    let pid = child.id();
    child.wait().unwrap();
    pid
}

#[cfg(target_os = "linux")]
#[test]
fn what_a_process_left_that_is_gone_is_cleared_away_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let here = left::machine().unwrap();
    let (gone, own) = (ended(), std::process::id());
    let database = b"SQLite format 3\0 and more".as_slice();
    let files = [
        (format!(".scourline-{here}-{gone}-aB3xYz.part"), database),
        (format!(".scourline-{here}-{gone}-aB3xYz.part-journal"), [0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7].as_slice()),
        (format!(".scourline-{here}-{gone}-empty1.part"), b""),
    ];
    let stay = [
        // Of a process that runs, of another machine, and of somebody who calls their files so.
        (format!(".scourline-{here}-{own}-aB3xYz.part"), database),
        (format!(".scourline-{here}-{own}-aB3xYz.part-journal"), b""),
        (format!(".scourline-00000000-{gone}-aB3xYz.part"), database),
        (format!(".scourline-{here}-{gone}-notes1.part"), b"my own words"),
        (".scourline-notes.part".to_owned(), database),
    ];
    for (name, bytes) in files.iter().chain(&stay) {
        fs::write(dir.path().join(name), bytes).unwrap();
    }
    clear_left(dir.path());
    let mut names: Vec<String> = stay.iter().map(|(name, _)| name.clone()).collect();
    names.sort();
    assert_eq!(entries(dir.path()), names);
    let draft = draft_in(dir.path()).unwrap();
    let name = draft.path().file_name().unwrap().to_str().unwrap().to_owned();
    assert!(name.starts_with(&format!(".scourline-{here}-{own}-")) && name.ends_with(".part"), "{name}");
    assert!(!left::is_left(&name, draft.path()));
}

#[test]
fn the_first_mark_counts_and_words_of_others_do_not_make_a_file_ours() {
    assert!(!is_own(b"") && !is_own(b"scourline-made-") && !is_own(MARK.as_bytes()));
    assert!(!is_own(format!("{}{}", "scourline-made-", "f".repeat(32)).as_bytes()));
    let sealed = seal::sealed(&made("a note that says scourline-made-what")).into_owned();
    assert!(is_own(&sealed));
    assert_eq!(seal::sealed(b"plain").as_ref(), b"plain");
    assert!(is_own(b"\x89PNG....tEXtSoftware\0Scourline"));
    assert!(!is_own(b"\x89PNG....a photograph"));
}

#[test]
fn two_files_for_one_place_are_refused_before_anything_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("card.html");
    let both = [(path.clone(), b"one".to_vec()), (path.clone(), b"two".to_vec())];
    let refused = write_all(&both, Over::Anything).unwrap_err();
    assert!(matches!(refused, OutputError::Twice(ref p) if *p == path) && !path.exists(), "{refused}");
}

#[test]
fn files_of_an_earlier_writing_go_and_those_of_others_stand_in_the_way() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    std::fs::write(at("old.geojson"), seal::sealed(&format!("<!-- {MARK} -->made here").into_bytes())).unwrap();
    let new = [(at("new.txt"), b"new".as_slice())];
    let gone = write_instead(&new, &[at("old.geojson"), at("never there")], Over::Own).unwrap();
    assert_eq!(gone, [at("old.geojson")]);
    assert!(!at("old.geojson").exists() && at("new.txt").exists());
    // What is somebody's own is neither taken away nor passed over.
    std::fs::write(at("old.geojson"), "mine").unwrap();
    let other = [(at("other.txt"), b"other".as_slice())];
    assert!(matches!(write_instead(&other, &[at("old.geojson")], Over::Own), Err(OutputError::Foreign(_))));
    assert!(at("old.geojson").exists() && !at("other.txt").exists());
    assert!(write_instead(&other, &[at("old.geojson")], Over::Anything).unwrap().is_empty());
    assert!(std::fs::read(at("old.geojson")).unwrap() == b"mine" && at("other.txt").exists());
}

#[test]
fn what_holds_no_more_is_taken_away_if_it_was_made_here_and_nobody_changed_it() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    for name in ["own.html", "edited.html", "left.html"] {
        write(&at(name), &made("a plan"), Over::Own).unwrap();
    }
    let edited = [fs::read(at("edited.html")).unwrap(), b" and my own words".to_vec()].concat();
    fs::write(at("edited.html"), &edited).unwrap();
    fs::write(at("theirs.gpx"), "<gpx/>").unwrap();
    fs::write(at("book.gpkg"), SQLITE).unwrap();
    fs::write(at("empty.gpx"), "").unwrap();
    let named = ["own.html", "edited.html", "theirs.gpx", "book.gpkg", "empty.gpx", "never there"].map(at);
    let withdrawn = withdraw(named.iter().map(PathBuf::as_path).chain([dir.path(), Path::new("/dev/null")]));
    assert_eq!(withdrawn.gone, [at("own.html")]);
    assert_eq!(withdrawn.stay, ["edited.html", "theirs.gpx", "book.gpkg"].map(at));
    assert_eq!(entries(dir.path()), ["book.gpkg", "edited.html", "empty.gpx", "left.html", "theirs.gpx"]);
    assert_eq!(fs::read(at("edited.html")).unwrap(), edited);
}

#[cfg(unix)]
#[test]
fn what_a_link_leads_to_is_emptied_and_is_written_again() {
    let dir = tempfile::tempdir().unwrap();
    let (path, link) = (dir.path().join("card.html"), dir.path().join("link.html"));
    write(&path, &made("a plan"), Over::Own).unwrap();
    std::os::unix::fs::symlink(&path, &link).unwrap();
    assert_eq!(withdraw([link.as_path()]).gone, std::slice::from_ref(&link));
    assert!(link.symlink_metadata().unwrap().is_symlink() && fs::read(&path).unwrap().is_empty());
    write(&link, &made("another"), Over::Own).unwrap();
    assert!(fs::read(&path).unwrap().ends_with(b"another"));
}
