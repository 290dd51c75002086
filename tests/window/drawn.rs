//! What a view drew before is shown again only while it is what it would draw now: after each change of an answer or
//! of the view, what stands on the screen is held to the same drawn anew, which turning to the colours of night, or of
//! day, and back brings about.

use egui::epaint::Primitive;
use egui::{Key, Pos2, Rect, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use geo_types::{MultiPolygon, polygon};
use scourline::app::{App, SheetChoice};
use scourline::book::{Edit, RecordKind, Uid, Zone, ZoneUse};
use scourline::store::OpenBook;

use crate::bench::{click_at, find_uid, settle, window_on};
use crate::fresh::{bay, bay_with_tracks, place};

type Window = Harness<'static, App>;
/// A triangle on the screen: where its corners stand and their colours.
type Triangle = [([f32; 2], [u8; 4]); 3];

fn plan(h: &Window) -> Rect {
    h.get_by_label("Plan of Invented Bay").rect()
}

/// The three drawings, by how their names begin.
const ALL: [&str; 3] = ["Plan of ", "Section of ", "Time: "];
const PLAN: [&str; 1] = ["Plan of "];

/// The triangles of the last frame that lie in some of the drawings.
fn drawn(h: &Window, parts: &[&str]) -> Vec<Triangle> {
    let drawing = |part: &&str| {
        let canvas = h.get_all_by_label_contains(part).find(|n| n.accesskit_node().role() == egui::accesskit::Role::Canvas);
        canvas.expect("a drawing").rect().expand(1.0)
    };
    let (drawings, output): (Vec<Rect>, _) = (parts.iter().map(drawing).collect(), h.output());
    let pieces = h.ctx.tessellate(output.shapes.clone(), output.pixels_per_point);
    let mut triangles = Vec::new();
    for piece in pieces {
        let Primitive::Mesh(mesh) = piece.primitive else { continue };
        let clip = piece.clip_rect;
        if !drawings.iter().any(|drawing| drawing.contains_rect(clip)) {
            continue;
        }
        let corner = |i: &u32| mesh.vertices[*i as usize];
        let triangle = |t: &[u32]| [0, 1, 2].map(|n| (corner(&t[n]).pos.into(), corner(&t[n]).color.to_array()));
        triangles.extend(mesh.indices.chunks_exact(3).map(triangle));
    }
    triangles
}

/// Lets all be drawn anew, by colours in between that nothing drawn in those before can stand in for.
fn draw_anew(h: &mut Window) {
    let was = h.ctx.theme();
    let other = if was == Theme::Dark { Theme::Light } else { Theme::Dark };
    for theme in [other, was] {
        h.ctx.set_theme(theme);
        h.run_steps(2);
    }
}

/// Holds what is shown to what would be drawn now; returns Plan's part of it.
fn held(h: &mut Window, after: &str) -> Vec<Triangle> {
    settle(h);
    let (shown, plan) = (drawn(h, &ALL), drawn(h, &PLAN));
    draw_anew(h);
    let anew = drawn(h, &ALL);
    let first = shown.iter().zip(&anew).position(|(a, b)| a != b);
    assert!(
        shown == anew,
        "{after}: {} triangles shown, {} drawn anew, the first other one is {first:?}",
        shown.len(),
        anew.len()
    );
    assert!(plan.len() > 1_000, "{after}: Plan is all but empty");
    plan
}

/// Ground on which nobody may search.
fn no_search(beach: Uid) -> Zone {
    let corner = |east: f64, north: f64| {
        let at = place(east, north);
        geo_types::coord! { x: at.lon_deg(), y: at.lat_deg() }
    };
    let area = MultiPolygon(vec![polygon![corner(-250.0, -10.0), corner(250.0, -10.0), corner(0.0, -120.0)]]);
    let (uid, name, notes) = (Uid::of_content("zone", []), "Groyne bay".to_owned(), String::new());
    Zone { uid, beach, name, usage: ZoneUse::NoSearch, area, closure: None, notes }
}

fn press(h: &mut Window, key: Key) {
    h.get_by_label("Plan of Invented Bay").focus();
    h.run_steps(2);
    h.key_press(key);
}

#[test]
fn what_was_drawn_for_another_answer_or_another_view_is_never_shown() {
    let book = bay_with_tracks();
    let beach = bay(&book).uid;
    let zone = no_search(beach);
    let rocks = Zone { usage: ZoneUse::Rocks, ..zone.clone() };
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Read);
    let mut last = held(&mut h, "opening");
    type Step = (&'static str, Box<dyn Fn(&mut Window)>);
    let edit = |edit: Edit| -> Box<dyn Fn(&mut Window)> { Box::new(move |h| h.state_mut().edit(edit.clone(), "a change")) };
    let click = |label: &'static str| -> Box<dyn Fn(&mut Window)> { Box::new(move |h| h.get_by_label(label).click()) };
    let key = |key: Key| -> Box<dyn Fn(&mut Window)> { Box::new(move |h| press(h, key)) };
    let steps: Vec<Step> = vec![
        ("a zone is added", edit(Edit::put(zone))),
        ("its use changes", edit(Edit::put(rocks))),
        ("a find is gone", edit(Edit::Remove(RecordKind::Find, find_uid(0)))),
        ("Plan is moved", key(Key::ArrowLeft)),
        ("Plan is magnified", key(Key::Plus)),
        ("the water moves", click("low >")),
        ("the picture of the ground", Box::new(|h| h.state_mut().show_ground("covered"))),
        ("another picture of it", Box::new(|h| h.state_mut().show_ground("rate"))),
        ("Plan is fitted in again", click("fit")),
        ("as it lies", click("as it lies")),
        ("the window is smaller", Box::new(|h| _ = h.set_size(Vec2::new(1200.0, 800.0)))),
    ];
    for (what, step) in steps {
        step(&mut h);
        let now = held(&mut h, what);
        assert!(now != last, "{what}: nothing of that is seen in Plan");
        last = now;
    }
}

/// Section and Time keep what they drew just as Plan does.
#[test]
fn another_cut_and_another_stretch_of_time_are_drawn_anew() {
    let mut h = window_on(OpenBook::holding(bay_with_tracks()), SheetChoice::Read);
    held(&mut h, "opening");
    let mut last = drawn(&h, &ALL[1..]);
    for (what, label) in [
        ("a later low", Some("low >")),
        ("a fortnight", Some("fortnight")),
        ("a season", Some("season")),
        ("18 months", Some("18 months")),
        ("another cut", None),
    ] {
        match label {
            Some(label) => h.get_by_label(label).click(),
            None => {
                h.get_by_label_contains("Section of ").focus();
                h.run_steps(2);
                h.key_press(Key::ArrowRight);
            }
        }
        held(&mut h, what);
        let now = drawn(&h, &ALL[1..]);
        assert!(now != last, "{what}: nothing of that is seen in Section or Time");
        last = now;
    }
}

#[test]
fn what_is_pointed_at_or_picked_lights_up_and_goes_out_again() {
    let mut book = bay_with_tracks();
    book.apply(&Edit::put(no_search(bay(&book).uid))).unwrap();
    let mut h = window_on(OpenBook::holding(book), SheetChoice::Read);
    let plain = held(&mut h, "opening");
    let canvas = plan(&h).shrink(20.0);
    let mut lit = None;
    for n in 0..36_u8 {
        let at = canvas.lerp_inside(Vec2::new(f32::from(n % 6) / 6.0, f32::from(n / 6) / 6.0));
        h.hover_at(at);
        h.run_steps(3);
        let shown = drawn(&h, &PLAN);
        draw_anew(&mut h);
        assert!(shown == drawn(&h, &PLAN), "pointed at {at:?}");
        lit = lit.or((shown != plain).then_some(at));
    }
    let at = lit.unwrap();
    click_at(&mut h, at);
    h.hover_at(Pos2::new(700.0, 4.0));
    assert!(held(&mut h, "picked") != plain, "picked, and not lit");
    press(&mut h, Key::Escape);
    assert!(held(&mut h, "let go of") == plain, "let go of, and still lit");
}
