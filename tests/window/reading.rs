use egui_kittest::kittest::Queryable;
use scourline::app::{Item, Options, SheetChoice, Start};

use crate::bench::{AT, instant, settle, window, window_from, window_with};

#[test]
fn a_cluster_is_told_in_words_and_picking_its_card_puts_it_in_the_light() {
    let mut h = window(SheetChoice::Read);
    // The thirty coins lie within 15 x 12 m; the ring-pulls are strewn too thinly to join them.
    h.get_by_label_contains("Cluster 1   30 finds");
    h.get_by_label("cluster 1").click();
    settle(&mut h);
    assert!(h.state().selection().holds(Item::Cluster(0)));
}

/// The planted scour lines and drop zones of the demo are told, drawn and can be picked.
#[test]
fn the_demo_beach_opens_by_itself_and_its_verdicts_are_told() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    h.get_by_label("Plan of Tarrow Sands");
    h.get_by_label_contains("Invented beach, invented finds");
    let card = h.get_all_by_label_contains("scour line 1").next().unwrap();
    card.click();
    settle(&mut h);
    assert!(h.state().selection().holds(Item::ScourLine(0)));
    assert!(h.get_all_by_label_contains("drop zone").count() > 0);
    assert!(h.get_all_by_label_contains("heavy finds where the searching done would give").count() > 0);
}

/// A window can be opened with a folded part of the sheet or a verdict open and in view.
#[test]
fn a_part_asked_for_by_name_is_open_and_in_view() {
    let options = |part: &str| Options {
        start: Start::Demo,
        sheet: SheetChoice::Read,
        part: Some(part.to_owned()),
        at: Some(instant(AT)),
        remember: false,
        ..Options::default()
    };
    let h = window_with(options("by state of the tide"));
    h.get_by_label_contains("Ground that outings swept in several states counts in each");
    assert!(h.get_all_by_label_contains("round low water").count() > 1, "for the beach and for its bands");
    let top = h.get_by_label("By state of the tide").rect().top();
    assert!((0.0..450.0).contains(&top), "{top}");
    let mut h = window_with(options("scour line 1"));
    settle(&mut h);
    assert!(h.state().selection().holds(Item::ScourLine(0)));
    h.get_by_label("How it moved");
}

#[test]
fn too_few_finds_are_an_answer_of_their_own() {
    let mut h = window(SheetChoice::Read);
    // Ten light finds of the twenty that a pattern needs.
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_all_by_label("light").next().unwrap().click();
    settle(&mut h);
    h.get_by_label("Not enough finds for clusters yet");
    h.get_by_label_contains("10 finds of this choice; at least 20");
}

#[test]
fn the_bands_stand_in_the_order_of_the_shore() {
    let mut h = window(SheetChoice::Read);
    settle(&mut h);
    let rows: Vec<String> =
        ["above MHHW/MHW", "MHHW/MHW to MTL", "MTL to MLLW/MLW", "below MLLW/MLW"].iter().map(|s| (*s).to_owned()).collect();
    let tops: Vec<f32> = rows.iter().map(|r| h.get_by_label_contains(&format!("{r}: ")).rect().top()).collect();
    assert!(tops.is_sorted(), "{tops:?}");
}

#[test]
fn next_low_says_how_long_each_band_lies_dry_and_share_says_what_it_can() {
    let mut h = window(SheetChoice::NextLow);
    h.get_by_label_contains("Next low water Mon 1 Jun, 06:00").click();
    settle(&mut h);
    assert_eq!(h.state().clock().at.to_string(), "2026-06-01T06:00:00Z");
    assert!(h.get_all_by_label_contains("down to MTL").count() > 0);
    h.get_by_label("Share").click();
    settle(&mut h);
    h.get_by_label("Sheet Share");
}
