//! What a book keeps of itself, in the window: fields of a find, changes, what was taken out, backups.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, SheetChoice};
use scourline::store::{OpenBook, Replace, backups};

use crate::bench::{click_row, find_uid, invented_book, settle, window_on};

fn type_into(h: &mut Harness<'static, App>, field: &str, text: &str) {
    h.get_by_label(field).focus();
    h.run();
    h.get_by_label(field).type_text(text);
    h.run();
}

#[test]
fn whose_a_find_is_and_what_became_of_it_is_typed_and_kept() {
    let mut h = window_on(OpenBook::holding(invented_book()), SheetChoice::Log);
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    h.get_by_label("Edit").click();
    h.run();
    h.get_by_label("Outing, weight, photo, condition and more").click();
    h.run_steps(30);
    let typed = [
        ("Condition", "bent"),
        ("Age", "of an invented year"),
        ("Value", "2 EUR"),
        ("Finder", "an invented friend"),
        ("What became of it", "in a drawer"),
        ("Reported", "to an invented office"),
    ];
    for (field, text) in typed {
        type_into(&mut h, field, text);
    }
    h.get_by_label("Keep").click();
    settle(&mut h);
    let find = h.state().book().finds()[&find_uid(39)].clone();
    let kept = [&find.state, &find.age, &find.value, &find.finder, &find.disposal, &find.reported].map(String::as_str);
    assert_eq!(kept, typed.map(|t| t.1));
}

#[test]
fn a_change_is_taken_back_a_find_brought_back_and_a_backup_put_back() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("mine.gpkg");
    let mut open = OpenBook::holding(invented_book());
    open.save_as(&path, Replace::Nothing).unwrap();
    let mut h = window_on(open, SheetChoice::Log);
    let whole = h.state().book().clone();
    click_row(&mut h, "ring-pull 39");
    settle(&mut h);
    h.get_by_label("Delete").click();
    settle(&mut h);
    assert!(!h.state().book().finds().contains_key(&find_uid(39)));
    let open_keeping = |h: &mut Harness<'static, App>| {
        h.get_by_label("Book").click();
        h.run_steps(5);
        h.get_by_label("Changes and backups ...").click();
        settle(h);
    };
    open_keeping(&mut h);
    h.get_by_label("Back up now").click();
    settle(&mut h);
    assert_eq!(backups(&path).len(), 1);
    h.get_by_label("bring back").click();
    settle(&mut h);
    assert_eq!(*h.state().book(), whole);
    assert!(h.query_by_label("bring back").is_none(), "it is there again");
    // The backup is of the book without the find; it is put back only once that is confirmed.
    h.get_by_label("put back").click();
    h.run_steps(5);
    assert_eq!(*h.state().book(), whole);
    h.get_by_label("Put it back").click();
    settle(&mut h);
    assert!(!h.state().book().finds().contains_key(&find_uid(39)));
    assert_eq!(backups(&path).len(), 2, "as it stood it is kept");
    h.get_by_label("take back").click();
    settle(&mut h);
    assert_eq!(*h.state().book(), whole);
}
