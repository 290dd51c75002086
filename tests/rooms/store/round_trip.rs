use proptest::prelude::*;
use scourline::book::{Book, Edit, RecordKind, TideChoice};
use scourline::store::Store;

use super::book_of::{records, whole};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_book_comes_back_exactly(records in records(), drop in any::<prop::sample::Index>()) {
        let mut book = Book::gather(records).unwrap();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("book.gpkg");
        let mut store = Store::create(&path).unwrap();
        store.write(&whole(&book)).unwrap();
        store.close().unwrap();

        let mut store = Store::open(&path).unwrap();
        let loaded = store.load().unwrap();
        prop_assert_eq!(&loaded.complaints, &[]);
        prop_assert_eq!(&loaded.book, &book);

        // Written again nothing changes; one record and all that hangs on it taken out, the rest stays.
        store.write(&whole(&book)).unwrap();
        let all: Vec<_> = RecordKind::ALL.iter().flat_map(|k| book.records(*k)).map(|r| (r.kind(), r.uid())).collect();
        let (kind, uid) = all[drop.index(all.len())];
        let removal = book.removal(kind, uid);
        let inverse = book.apply(&removal).unwrap();
        store.write(&removal).unwrap();
        let loaded = store.load().unwrap();
        prop_assert_eq!(&loaded.complaints, &[]);
        prop_assert_eq!(&loaded.book, &book);

        book.apply(&inverse).unwrap();
        store.write(&inverse).unwrap();
        prop_assert_eq!(&store.load().unwrap().book, &book);
        drop_store(store);
        prop_assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "one file only");
    }

    #[test]
    fn the_contents_table_tells_the_true_bounds(records in records()) {
        let book = Book::gather(records).unwrap();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("book.gpkg");
        let mut store = Store::create(&path).unwrap();
        store.write(&whole(&book)).unwrap();
        let bounds = |table: &str| {
            let conn = rusqlite::Connection::open(&path).unwrap();
            conn.query_row("SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = ?1", [table], |r| {
                Ok([r.get::<_, Option<f64>>(0)?, r.get(1)?, r.get(2)?, r.get(3)?])
            }).unwrap()
        };
        let truth = |book: &Book| {
            let (mut west, mut south, mut east, mut north) = (None::<f64>, None::<f64>, None::<f64>, None::<f64>);
            for f in book.finds().values() {
                let (x, y) = (f.at.lon_deg(), f.at.lat_deg());
                west = Some(west.map_or(x, |v| v.min(x)));
                south = Some(south.map_or(y, |v| v.min(y)));
                east = Some(east.map_or(x, |v| v.max(x)));
                north = Some(north.map_or(y, |v| v.max(y)));
            }
            [west, south, east, north]
        };
        let mut left = book;
        prop_assert_eq!(bounds("finds"), truth(&left));
        for uid in left.finds().keys().copied().collect::<Vec<_>>() {
            let edit = Edit::Remove(RecordKind::Find, uid);
            left.apply(&edit).unwrap();
            store.write(&edit).unwrap();
            prop_assert_eq!(bounds("finds"), truth(&left));
        }
    }
}

fn drop_store(store: Store) {
    store.close().unwrap();
}

#[test]
fn an_own_tide_table_and_its_beach_name_each_other() {
    use proptest::strategy::{Strategy, ValueTree};
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let book = loop {
        let book = Book::gather(records().new_tree(&mut runner).unwrap().current()).unwrap();
        if book.beaches().values().any(|b| matches!(b.tide, TideChoice::Table(_))) {
            break book;
        }
    };
    let dir = tempfile::tempdir().unwrap();
    let mut store = Store::create(dir.path().join("book.gpkg")).unwrap();
    store.write(&whole(&book)).unwrap();
    assert_eq!(store.load().unwrap().book, book);
}
