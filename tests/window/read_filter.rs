use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use scourline::app::{App, SheetChoice, Start};
use scourline::book::Book;
use scourline::demo::Planting;
use scourline::reading::ClusterBy;
use scourline::store::OpenBook;

use crate::bench::{settle, window, window_from, window_on};

#[test]
fn a_choice_of_kind_reads_again_and_is_said_in_words_and_cleared_at_once() {
    let mut h = window(SheetChoice::Read);
    h.get_by_label("every find, every outing");
    assert_eq!(h.state().reading_of().unwrap().1, 40);
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_by_label("kind").click();
    settle(&mut h);
    h.get_by_label_contains("ring-pull (10)").click();
    settle(&mut h);
    assert_eq!(h.state().reading_of().unwrap().1, 10);
    h.get_by_label_contains("Read of: only ring-pull");
    h.get_by_label_contains("10 of 40 finds, 1 of 1 outings");
    h.get_by_label("clear").click();
    settle(&mut h);
    assert!(h.state().reading_of().unwrap().0.is_open());
    assert_eq!(h.state().reading_of().unwrap().1, 40);
    h.get_by_label("every find, every outing");
}

#[test]
fn a_season_cuts_finds_and_ground_alike() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    let all = h.state().reading_of().unwrap().1;
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_by_label("winter").click();
    settle(&mut h);
    let (filter, finds) = h.state().reading_of().unwrap();
    assert!(filter.season.is_some() && finds > 0 && finds < all, "{finds} of {all}");
    h.get_by_label_contains("Read of: in winter (December to February)");
    h.get_by_label("any season").click();
    settle(&mut h);
    assert_eq!(h.state().reading_of().unwrap().1, all);
}

#[test]
fn the_way_of_clustering_is_chosen_by_the_keyboard_reads_again_and_is_named_with_its_settings() {
    let mut h = window(SheetChoice::Read);
    h.get_by_label("How this was read").click();
    settle(&mut h);
    assert_eq!(h.state().reading_params().unwrap().cluster_by, ClusterBy::Dbscan);
    h.get_by_label_contains("Clusters are DBSCAN over positions: 6 finds within");
    h.get_by_label_contains("1 clusters of 40 finds within");
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_by_label("by density").focus();
    h.run();
    h.key_press(Key::Enter);
    settle(&mut h);
    let params = h.state().reading_params().unwrap();
    assert_eq!((params.cluster_by, params.cluster_distance_m, params.cluster_points), (ClusterBy::Hdbscan, None, 6));
    h.get_by_label_contains("Clusters are HDBSCAN* over positions: at least 6 finds");
    h.get_by_label_contains("that lie denser than what is round them, the longest step within one");
    assert!(h.query_by_label_contains("DBSCAN over positions: 6 finds within").is_none());
    assert!(h.query_by_label("a fitting distance").is_none(), "by density there is no distance to set");
    // Taking every find again is a matter of the filter: the way of clustering stays.
    h.get_by_label("winter").click();
    settle(&mut h);
    h.get_by_label("clear").click();
    settle(&mut h);
    assert_eq!(h.state().reading_params().unwrap().cluster_by, ClusterBy::Hdbscan);
    h.get_by_label("by one distance").click();
    settle(&mut h);
    assert_eq!(h.state().reading_params().unwrap().cluster_by, ClusterBy::Dbscan);
    h.get_by_label("a fitting distance");
}

/// Sets what counts as searched and how well the effort is known, by the keyboard.
fn set_ground(h: &mut Harness<'static, App>) {
    h.get_by_label("choose ...").click();
    settle(h);
    for (name, typed) in [("swing", "0.6"), ("walking", "0.3"), ("turning under", "170"), ("misjudged by up to", "30")] {
        h.get_by_label(name).focus();
        h.run_steps(2);
        h.get_by_label(name).type_text(typed);
        h.run_steps(2);
        h.key_press(Key::Enter);
        h.run_steps(3);
    }
    settle(h);
}

#[test]
fn what_counts_as_searched_is_set_by_the_keyboard_and_reads_again() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    let swept = |h: &Harness<'_, App>| h.state().reading_swept_m2().unwrap();
    let usual = swept(&h);
    set_ground(&mut h);
    assert_eq!(h.state().reading_params().unwrap().effort_error, 0.3);
    assert!(swept(&h) < 0.7 * usual, "{} of {usual}", swept(&h));
}

#[test]
fn what_counts_as_searched_is_said() {
    let mut h = window(SheetChoice::Read);
    h.get_by_label("How this was read").click();
    settle(&mut h);
    h.get_by_label_contains("Searched is where one went slower than 0.8 m/s or turned by more than 75°");
    h.get_by_label_contains("nothing that effort misjudged by 15 % could bring about");
    set_ground(&mut h);
    h.get_by_label_contains("Searched is where one went slower than 0.3 m/s or turned by more than 170°");
    h.get_by_label_contains("a swing of 0.6 m");
    h.get_by_label_contains("nothing that effort misjudged by 30 % could bring about");
}

/// On an invented beach where chance alone decides nothing stands out: that answer has its figures too.
#[test]
fn nothing_standing_out_says_how_much_ground_would_tell() {
    let book = Planting::plain(1).make().unwrap().book().unwrap();
    let h = window_on(OpenBook::holding(book), SheetChoice::Read);
    h.get_all_by_label("Nothing here is more than luck").next().unwrap();
    h.get_by_label("What would make it surer");
    h.get_by_label_contains("would tell a place 2 times as rich in finds as the beach");
    h.get_by_label_contains("with a false alarm on 5 of 100 beaches at most");
}

#[test]
fn a_day_is_typed_and_what_is_no_day_is_said() {
    let mut h = window(SheetChoice::Read);
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_by_label("from").focus();
    h.run();
    h.get_by_label("from").type_text("2026-06-02");
    settle(&mut h);
    assert_eq!(h.state().reading_of().unwrap().1, 0, "the only outing was the day before");
    h.get_by_label("No find fits this choice.");
    h.get_by_label_contains("Read of: since 2 Jun 2026");
    h.get_by_label("clear").click();
    settle(&mut h);
    assert_eq!(h.state().reading_of().unwrap().1, 40);
}

#[test]
fn a_reading_called_off_leaves_the_one_that_stands_and_can_be_asked_again() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    let all = h.state().reading_of().unwrap().1;
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_by_label("summer").click();
    let mut frames = 0;
    while h.query_by_label("Stop").is_none() {
        h.step();
        frames += 1;
        assert!(frames < 1000, "the reading never began");
    }
    h.get_by_label_contains("from before the last change");
    h.get_by_label("Stop").click();
    settle(&mut h);
    let (filter, finds) = h.state().reading_of().unwrap();
    assert!(filter.is_open() && finds == all);
    assert!(h.query_by_label("Stop").is_none() && h.query_by_label_contains("called off").is_none());
    h.get_by_label("summer").click();
    settle(&mut h);
    assert!(h.state().reading_of().unwrap().0.season.is_some(), "asked again it is read");
}

#[test]
fn without_tracks_or_without_anything_the_sheet_says_what_to_do() {
    let h = window(SheetChoice::Read);
    h.get_by_label("Not enough ground covered yet");
    h.get_by_label_contains("Import the tracks of your outings");
    h.get_by_label_contains("Tracks that show which ground was covered; at least 20 finds on it are needed");
    let h = window_on(OpenBook::holding(Book::new()), SheetChoice::Read);
    h.get_by_label("There is no beach to read yet.");
    h.get_by_label_contains("Import finds and tracks (Ctrl+I)");
}
