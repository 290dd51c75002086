use egui::{Color32, Key};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use scourline::app::{App, Item, SheetChoice, Start};
use scourline::shore::ShorePoint;

use crate::bench::{settle, window, window_from};

fn text(h: &mut Harness<'static, App>, t: &str) {
    h.event(egui::Event::Text(t.to_owned()));
    settle(h);
}

/// Colours of a net of places over the demo beach.
fn colours(h: &Harness<'static, App>) -> Option<Vec<Color32>> {
    let places =
        (0..60).flat_map(|a| (0..14).map(move |b| ShorePoint::new(20.0 + 20.0 * f64::from(a), 10.0 + 15.0 * f64::from(b))));
    places.map(|s| h.state().ground_colour(s)).collect()
}

#[test]
fn each_picture_of_the_ground_is_another_one_and_says_what_it_shows_in_units() {
    let mut h = window_from(Start::Demo, SheetChoice::Log);
    assert_eq!((h.state().ground_shown(), colours(&h)), ("none", None));
    assert!(h.query_by_label_contains("Ground, ").is_none());
    let mut seen: Vec<Vec<Color32>> = Vec::new();
    for (word, unit) in [
        ("covered", "times the coil went over it"),
        ("rate", "finds per 100 m² of rested ground"),
        ("certainty", "width of the 95 % interval, finds per 100 m²"),
    ] {
        h.get_by_label(word).click();
        settle(&mut h);
        assert_eq!(h.state().ground_shown(), word);
        h.get_by_label_contains(&format!("Ground, {word}: {unit}"));
        // Ground never looked at is told by hatching, in the legend too.
        h.get_by_label_contains("hatched: never looked at");
        let now = colours(&h).unwrap();
        assert!(now.contains(&Color32::TRANSPARENT), "the sea was never searched");
        let shades: std::collections::BTreeSet<[u8; 4]> = now.iter().map(|c| c.to_array()).collect();
        assert!(shades.len() >= 3, "{word}: {shades:?}");
        assert!(!seen.contains(&now), "{word} looks like another");
        seen.push(now);
    }
    // The same places were never looked at, whatever is shown of the others.
    let holes = |c: &Vec<Color32>| c.iter().map(|c| *c == Color32::TRANSPARENT).collect::<Vec<_>>();
    assert_eq!(holes(&seen[1]), holes(&seen[2]));
    h.get_by_label("none").click();
    settle(&mut h);
    assert!(h.query_by_label_contains("Ground, ").is_none());
}

#[test]
fn the_weight_shown_is_the_weight_whose_rate_the_ground_tells() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    h.get_by_label("rate").click();
    settle(&mut h);
    let all = colours(&h);
    h.get_by_label("choose ...").click();
    settle(&mut h);
    h.get_all_by_label("heavy").next().unwrap().click();
    settle(&mut h);
    h.get_by_label_contains("Ground, rate: heavy finds per 100 m² of rested ground");
    assert_ne!(colours(&h), all);
}

#[test]
fn the_ground_is_chosen_by_a_key_too_and_without_tracks_says_why_there_is_none() {
    let mut h = window(SheetChoice::Log);
    for want in ["covered", "rate", "certainty", "none", "covered"] {
        text(&mut h, "g");
        assert_eq!(h.state().ground_shown(), want);
    }
    h.get_by_label_contains("no tracks show which ground was covered");
    h.key_press(Key::F1);
    h.run();
    h.get_by_label_contains("what Plan shows of the ground");
}

#[test]
fn a_verdict_picked_lights_section_and_time_and_opens_to_its_figures() {
    let mut h = window_from(Start::Demo, SheetChoice::Read);
    assert!(h.query_by_label("What would make it surer").is_none());
    let along = h.state().section_along_m().unwrap();
    // A drop zone: narrow, so that Section has to move to it.
    let name = "drop zone";
    let cards: Vec<String> =
        h.get_all_by_label_contains(name).filter_map(|n| n.accesskit_node().label()).filter(|l| l.starts_with(name)).collect();
    let card = cards.first().expect("the demo has drop zones").clone();
    let node = h.get_all_by_label(&card).next().unwrap();
    node.scroll_to_me();
    h.run();
    h.get_all_by_label(&card).next().unwrap().click();
    settle(&mut h);
    let picked = h.state().selection().lead;
    assert!(matches!(picked, Some(Item::HotSpot(_))), "{picked:?}");
    assert!((h.state().section_along_m().unwrap() - along).abs() > 1.0, "Section goes to what is told");
    h.get_by_label("What would make it surer");
    h.get_by_label("Behind it");
    assert!(h.get_all_by_label_contains("all scans allowed for").count() > 0);
    let behind = |h: &Harness<'static, App>| {
        let outings = h.state().book().outings().keys().copied().map(Item::Outing);
        outings.filter(|o| h.state().is_behind_verdict(*o)).count()
    };
    let outings = h.state().book().outings().len();
    assert!(behind(&h) > 0 && behind(&h) < outings, "{} of {outings}", behind(&h));
    h.get_all_by_label(&card).next().unwrap().click();
    settle(&mut h);
    assert!(h.state().selection().is_empty() && h.query_by_label("Behind it").is_none());
    // By the keyboard alone.
    h.get_all_by_label(&card).next().unwrap().focus();
    h.run();
    h.key_press(Key::Enter);
    settle(&mut h);
    assert_eq!(h.state().selection().lead, picked);
}
