//! What could be put right in the book is proposed, and done only when it is pressed.

use egui_kittest::kittest::Queryable;
use scourline::app::SheetChoice;
use scourline::book::{Edit, Track, TrackPoint, Uid};
use scourline::earth::LonLat;
use scourline::store::OpenBook;

use crate::bench::{AT, instant, invented_book, settle, window_on};

#[test]
fn a_spike_of_a_track_is_proposed_cleaned_and_comes_back() {
    let mut book = invented_book();
    let beach = book.beaches().values().next().unwrap().uid;
    let start = instant(AT).as_second();
    let points: Vec<TrackPoint> = (0..60_i32)
        .map(|n| {
            let time = jiff::Timestamp::from_second(start + i64::from(n) * 5).unwrap();
            // Half a metre a second, and once 300 m off.
            let off = if n == 30 { 0.0027 } else { 0.0 };
            TrackPoint::new(LonLat::new(-20.0 + f64::from(n) * 3.2e-5, 44.9996 - off).unwrap()).with_time(Some(time))
        })
        .collect();
    let uid = Uid::of_content("track", [&b"spiked"[..]]);
    book.apply(&Edit::put(Track { uid, beach, outing: None, name: "spiked walk".into(), segments: vec![points.into()] }))
        .unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Log);
    h.get_by_label("Book").click();
    h.run();
    h.get_by_label("Doubles and spikes ...").click_accesskit();
    settle(&mut h);
    h.get_by_label("Nothing seems to stand in the book twice.");
    h.get_by_label_contains("spiked walk: 1 of 60 fixes would go");
    assert_eq!(h.state().book().tracks()[&uid].len(), 60, "nothing is done by itself");
    h.get_by_label("clean").click_accesskit();
    settle(&mut h);
    assert_eq!(h.state().book().tracks()[&uid].len(), 59);
    h.get_by_label_contains("No track has spikes");
    h.get_by_label("Close").click_accesskit();
    settle(&mut h);
    h.get_by_label("Undo").click_accesskit();
    settle(&mut h);
    assert_eq!(h.state().book().tracks()[&uid].len(), 60);
}
