use std::fs;

use scourline::book::{Beach, Book, ClusterMethod, Edit, ReadingSettings, RecordKind, SearchSettings, Setup, TideChoice, Uid};
use scourline::store::{OpenBook, Replace, StoreError};

use super::book_of::{small, whole};

fn on_disk(path: &std::path::Path) -> Book {
    let open = OpenBook::open(path).unwrap();
    assert_eq!(open.complaints(), []);
    open.snapshot()
}

#[test]
fn goes_to_a_worker_thread() {
    fn sent<T: Send>() {}
    sent::<OpenBook>();
}

#[test]
fn undo_and_redo_reach_memory_and_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, beach, find) = small();
    let mut open = OpenBook::create(&path).unwrap();
    open.apply_as("import demo", &whole(&small)).unwrap();
    open.apply(&open.book().removal(RecordKind::Find, find)).unwrap();
    open.apply(&Edit::put(Beach { notes: "windy".into(), ..small.beaches()[&beach].clone() })).unwrap();
    let last = open.snapshot();
    assert_eq!(on_disk(&path), last);
    assert_eq!(open.can_undo(), Some("change beach"));

    assert_eq!(open.undo().unwrap(), "change beach");
    assert_eq!(open.undo().unwrap(), "remove find");
    assert_eq!((open.can_undo(), open.can_redo()), (Some("import demo"), Some("remove find")));
    assert_eq!(open.snapshot(), small);
    assert_eq!(on_disk(&path), small);
    assert_eq!(open.undo().unwrap(), "import demo");
    assert!(on_disk(&path).is_empty());
    assert_eq!(open.undo().unwrap_err().to_string(), "there is nothing to undo");

    for _ in 0..3 {
        open.redo().unwrap();
    }
    assert_eq!(open.snapshot(), last);
    assert_eq!(on_disk(&path), last);
    assert!(matches!(open.redo(), Err(StoreError::Nothing("redo"))));

    open.undo().unwrap();
    open.apply(&Edit::put(Setup::new("other"))).unwrap();
    assert_eq!(open.can_redo(), None, "a new edit ends what could be done again");
}

#[test]
fn a_refused_edit_changes_neither() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, beach, _) = small();
    let mut open = OpenBook::create(&path).unwrap();
    open.apply(&whole(&small)).unwrap();
    let bytes = fs::read(&path).unwrap();
    let bad = Beach { tide: TideChoice::Table(Uid::fresh()), ..small.beaches()[&beach].clone() };
    assert!(matches!(open.apply(&Edit::Batch(vec![Edit::put(Setup::new("x")), Edit::put(bad)])), Err(StoreError::Book(_))));
    assert_eq!(open.snapshot(), small);
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn save_as_moves_on_to_the_new_file_and_replaces_a_book_only_when_told_to() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, ..) = small();
    let mut open = OpenBook::in_memory();
    open.apply(&whole(&small)).unwrap();
    assert_eq!(open.path(), None);
    let photo = dir.path().join("sunset.jpg");
    fs::write(&photo, "\u{ff}a photograph").unwrap();
    for replace in [Replace::Nothing, Replace::Book] {
        assert!(matches!(open.save_as(&photo, replace), Err(StoreError::NotReplaced(_))));
    }
    assert_eq!(fs::read_to_string(&photo).unwrap(), "\u{ff}a photograph");
    fs::remove_file(&photo).unwrap();
    drop(OpenBook::create(&path).unwrap());
    assert!(matches!(open.save_as(&path, Replace::Nothing), Err(StoreError::AlreadyThere(_))));
    assert!(on_disk(&path).is_empty());
    open.save_as(&path, Replace::Book).unwrap();
    assert_eq!(on_disk(&path), small);
    open.save_as(&path, Replace::Nothing).unwrap();

    let second = dir.path().join("second.gpkg");
    open.save_as(&second, Replace::Nothing).unwrap();
    assert_eq!(open.path(), Some(second.as_path()));
    assert!(open.can_undo().is_some());
    open.undo().unwrap();
    assert!(on_disk(&second).is_empty());
    assert_eq!(on_disk(&path), small, "the old file stays as it was");
    assert!(matches!(open.save_as(dir.path(), Replace::Book), Err(StoreError::Directory(_))));
    assert!(open.save_as(dir.path().join("no/such.gpkg"), Replace::Nothing).is_err());
    assert_eq!(open.path(), Some(second.as_path()));
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2, "no draft is left behind");
}

#[test]
fn settings_are_kept_with_the_beach_and_taken_back_like_any_edit() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, beach, _) = small();
    let mut open = OpenBook::create(&path).unwrap();
    open.apply(&whole(&small)).unwrap();
    let before = &small.beaches()[&beach];
    let search = SearchSettings { swing_m: Some(0.4), gap_s: Some(12.0), ..SearchSettings::default() };
    let reading = ReadingSettings {
        cluster_by: Some(ClusterMethod::Hdbscan),
        detection_per_pass: Some(0.5),
        storm_days: Some(30),
        ..ReadingSettings::default()
    };
    open.apply(&Edit::put(Beach { search, reading, ..before.clone() })).unwrap();
    let set = open.snapshot();
    assert_eq!((set.beaches()[&beach].search, set.beaches()[&beach].reading), (search, reading));
    assert_eq!(on_disk(&path), set);
    assert_eq!(open.undo().unwrap(), "change beach");
    assert_eq!((open.snapshot(), on_disk(&path)), (small.clone(), small.clone()));
    open.redo().unwrap();
    assert_eq!(on_disk(&path), set);

    let wrong = SearchSettings { overlap: Some(0.0), ..search };
    let refused = open.apply(&Edit::put(Beach { search: wrong, ..before.clone() })).unwrap_err().to_string();
    assert!(refused.contains("share of the swath covered 0 of 1 is not between 0.05 and 1"), "{refused}");
    let wrong = ReadingSettings { cluster_points: Some(1), ..reading };
    assert!(open.apply(&Edit::put(Beach { reading: wrong, ..before.clone() })).is_err());
    assert_eq!(on_disk(&path), set);
}
