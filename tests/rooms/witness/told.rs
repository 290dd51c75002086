//! Each rule by which tracks and finds are heard.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use scourline::Progress;
use scourline::book::{Aside, AsideWhy, Beach, Book, Find, Kind, LevelPoint, Outing, Record, Seaward, Track, TrackPoint, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::shore::Setting;
use scourline::tide::{TurnKind, Water};
use scourline::trust::Weight;
use scourline::witness::{Believed, Change, Finding, Heard, Params, WitnessTables, Witnesses, in_wash, mean_level_m};

use super::draw::Draw;
use super::tide::Tide;

/// Level of the sand at the baseline, metres above the land datum, and its fall.
const BACK_M: f64 = 4.5;
const FALL: f64 = 0.04;

/// An even beach, surveyed every few metres, under an invented tide of about four metres.
struct Scene {
    beach: Beach,
    frame: Frame,
    water: Water,
    records: Vec<Record>,
}

impl Scene {
    fn new() -> Self {
        let at = LonLat::new(-20.0, 45.0).unwrap();
        let tide = (0..).map(|seed| Tide::draw(at, &mut Draw::new(seed, 1))).find(|t| (4.0..4.6).contains(&t.range_m())).unwrap();
        let frame = Frame::centred_on(at).unwrap();
        let place = |along: f64, across: f64| frame.to_lonlat(Local::new(along, -across)).unwrap();
        let beach = Beach {
            baseline: vec![place(-300.0, 0.0), place(300.0, 0.0)],
            seaward: Seaward::Right,
            datum_offset_m: Some(tide.offset_m()),
            ..Beach::new("Invented Bay", at)
        };
        let mut records = Vec::new();
        for (n, m) in (0..=30).flat_map(|n| (0..=24).map(move |m| (n, m))) {
            let (along, across) = (f64::from(n) * 20.0 - 300.0, f64::from(m) * 8.0 - 5.0);
            records.push(Record::from(LevelPoint {
                uid: Uid::fresh(),
                beach: beach.uid,
                at: place(along, across),
                level_m: BACK_M - FALL * across,
                sigma_m: Some(0.03),
                date: None,
                survey: String::new(),
            }));
        }
        let water = tide.water(1.0, 0.0);
        Self { beach, frame, water, records }
    }

    fn offset_m(&self) -> f64 {
        self.beach.datum_offset_m.unwrap()
    }

    /// The still water above the land datum.
    fn still_m(&self, time: Timestamp) -> f64 {
        self.water.height_m(time).unwrap() - self.offset_m()
    }

    /// Turns of the tide on the days of a month.
    fn turns(&self, kind: TurnKind) -> Vec<Timestamp> {
        let from: Timestamp = "2026-07-01T00:00:00Z".parse().unwrap();
        let turns = self.water.turns(from, from + SignedDuration::from_hours(24 * 30));
        turns.into_iter().filter(|t| t.kind == kind).map(|t| t.time).collect()
    }

    fn place(&self, along_m: f64, level_m: f64) -> LonLat {
        self.frame.to_lonlat(Local::new(along_m, -(BACK_M - level_m) / FALL)).unwrap()
    }

    /// An outing along the shore, to and fro, at a level that is told by the time.
    fn walk(&mut self, from: Timestamp, minutes: i64, level_m: impl Fn(&Self, Timestamp) -> f64) -> Outing {
        let outing = Outing::new(self.beach.uid, from, from + SignedDuration::from_mins(minutes));
        let fix = |n: i64| {
            let time = from + SignedDuration::from_secs(10 * n);
            let along_m = (4.0 * (n % 80) as f64 - 160.0).abs() - 80.0;
            TrackPoint::new(self.place(along_m, level_m(self, time))).with_time(Some(time))
        };
        let segments: Vec<Arc<[TrackPoint]>> = vec![(0..=6 * minutes).map(fix).collect()];
        let uid = Track::content_uid(self.beach.uid, &segments);
        self.records.push(outing.clone().into());
        self.records.push(Track { uid, beach: self.beach.uid, outing: Some(outing.uid), name: String::new(), segments }.into());
        outing
    }

    fn put(&mut self, record: impl Into<Record>) {
        let record = record.into();
        self.records.retain(|r| (r.kind(), r.uid()) != (record.kind(), record.uid()));
        self.records.push(record);
    }

    /// What is heard where the program takes the offset for this.
    fn heard_at(&self, offset_m: f64) -> Heard {
        let book = Book::gather(self.records.iter().cloned().chain([self.beach.clone().into()]).collect::<Vec<_>>()).unwrap();
        let setting = Setting::from_book(&book, self.beach.uid).unwrap();
        let (tables, params) = (WitnessTables::from(&book), Params::default());
        let witnesses = Witnesses::gather(
            &tables,
            &in_wash(&(&book).into(), setting.beach.uid),
            &setting,
            setting.shore.as_ref().unwrap(),
            &params,
        )
        .unwrap();
        let mean_m = mean_level_m(&self.water, "2026-07-01T00:00:00Z".parse().unwrap());
        let believed = Believed {
            water: &self.water,
            mean_m,
            offset_m,
            run_up_m: scourline::sea::USUAL_RUN_UP_M,
            even_from_m: None,
            others: &[],
        };
        witnesses.hear(&believed, &params, &Progress::new()).unwrap()
    }

    fn heard(&self) -> Heard {
        self.heard_at(self.offset_m())
    }
}

fn before(time: Timestamp, minutes: i64) -> Timestamp {
    time - SignedDuration::from_mins(minutes)
}

/// Along the edge through six low waters, a step above the swash.
fn followed() -> Scene {
    let mut scene = Scene::new();
    for low in scene.turns(TurnKind::Low).into_iter().step_by(9).take(6) {
        scene.walk(before(low, 120), 210, |s, t| s.still_m(t) + 0.3);
    }
    scene
}

#[test]
fn a_track_that_stood_under_the_water_for_minutes_is_told_with_depth_and_length() {
    let mut scene = Scene::new();
    let high = scene.turns(TurnKind::High)[3];
    let deep_m = scene.still_m(high) - 1.4;
    scene.walk(before(high, 20), 40, |_, _| deep_m);
    let heard = scene.heard();
    let dry = heard.testimonies[0].dry.unwrap();
    assert!((1.3..=1.4).contains(&dry.under_m) && (37.0..=40.0).contains(&dry.minutes), "{dry:?}");
    assert_eq!(heard.finding, Finding::Ask);
    let doubt = &heard.doubts(&scene.beach, &[])[0];
    assert_eq!(doubt.weight, Weight::Question);
    assert!(doubt.sentence.contains("m under this water for"), "{}", doubt.sentence);
}

#[test]
fn wading_the_receiver_and_a_few_minutes_are_not_told() {
    let mut scene = Scene::new();
    let high = scene.turns(TurnKind::High)[3];
    let (top_m, dry_m) = (scene.still_m(high), scene.still_m(high) + 0.8);
    // To the knee: half a metre is within wading and what receiver and weather leave open.
    scene.walk(before(high, 20), 40, |_, _| top_m - 0.5);
    assert_eq!(scene.heard().testimonies[0].dry, None);
    // Four minutes, far below.
    let mut scene = Scene::new();
    let end = before(high, 16);
    scene.walk(before(high, 20), 40, |_, t| if t < end { top_m - 1.4 } else { dry_m });
    assert_eq!(scene.heard().testimonies[0].dry, None);
    // Six are.
    let mut scene = Scene::new();
    let end = before(high, 14);
    scene.walk(before(high, 20), 40, |_, t| if t < end { top_m - 1.4 } else { dry_m });
    assert!(scene.heard().testimonies[0].dry.is_some());
}

#[test]
fn what_was_set_aside_or_driven_is_no_witness() {
    let mut scene = Scene::new();
    let high = scene.turns(TurnKind::High)[3];
    let deep_m = scene.still_m(high) - 1.4;
    let outing = scene.walk(before(high, 20), 40, |_, _| deep_m);
    for why in AsideWhy::ALL {
        let aside = Aside { why: *why, from: before(high, 25), to: before(high, -25) };
        scene.put(Outing { asides: vec![aside], ..outing.clone() });
        assert_eq!(scene.heard().finding, Finding::Unheard, "{why}");
    }
    // Aside of another part of the outing changes nothing.
    let aside = Aside { why: AsideWhy::Wading, from: before(high, 25), to: before(high, 19) };
    scene.put(Outing { asides: vec![aside], ..outing });
    assert_eq!(scene.heard().finding, Finding::Ask);
    // Four metres a second is a boat.
    let mut scene = Scene::new();
    scene.walk(before(high, 20), 40, |_, t| deep_m + 1.6 * ((t.as_second() / 10 % 2) as f64));
    assert_eq!(scene.heard().finding, Finding::Unheard);
}

#[test]
fn several_outings_that_stood_under_the_water_block() {
    let mut scene = Scene::new();
    for high in scene.turns(TurnKind::High).into_iter().step_by(7).take(4) {
        let deep_m = scene.still_m(high) - 1.4;
        scene.walk(before(high, 20), 40, |_, _| deep_m);
    }
    let heard = scene.heard();
    assert_eq!(heard.finding, Finding::Contradict, "{heard:?}");
    assert_eq!(heard.doubts(&scene.beach, &[])[0].weight, Weight::Blocks);
}

#[test]
fn outings_along_the_edge_agree_with_the_right_offset_and_block_a_wrong_one_with_its_size() {
    let scene = followed();
    let sound = scene.heard();
    assert_eq!((sound.finding, sound.wet_witnesses), (Finding::Agree, 6), "{sound:?}");
    assert_eq!(sound.doubts(&scene.beach, &[]), []);
    for wrong_m in [1.0, -1.0] {
        let heard = scene.heard_at(scene.offset_m() + wrong_m);
        assert_eq!(heard.finding, Finding::Contradict, "{wrong_m}: {heard:?}");
        let shift = heard.shift.unwrap();
        assert!((shift.higher_m - wrong_m).abs() < 0.3 && shift.earlier_min.abs() <= 10.0, "{shift:?}");
        let Change::Level { add_m } = heard.changes[0].change else { panic!("{:?}", heard.changes) };
        assert!((add_m + wrong_m).abs() < 0.3, "{add_m}");
    }
}

#[test]
fn an_offset_in_feet_is_known_for_one() {
    let scene = followed();
    let heard = scene.heard_at(scene.offset_m() / 0.3048);
    assert_eq!(heard.finding, Finding::Contradict);
    let feet = heard.changes.iter().find(|c| matches!(c.change, Change::OffsetInFeet { .. })).unwrap();
    assert!(feet.as_good, "{:?}", heard.changes);
    let Change::OffsetInFeet { offset_m } = feet.change else { unreachable!() };
    assert!((offset_m - scene.offset_m()).abs() < 1e-9);
}

#[test]
fn levels_in_feet_and_upside_down_are_known_for_what_they_are() {
    // About high water turned levels lie deep under it, while about low water they would lie high and dry.
    let about_high = || {
        let mut scene = Scene::new();
        for high in scene.turns(TurnKind::High).into_iter().step_by(9).take(6) {
            scene.walk(before(high, 105), 210, |s, t| s.still_m(t) + 0.3);
        }
        scene
    };
    for (mut scene, times, is) in [(followed(), 1.0 / 0.3048, Change::LevelsInFeet), (about_high(), -1.0, Change::LevelsTurned)] {
        for record in &mut scene.records {
            if let Record::Level(level) = record {
                Arc::make_mut(level).level_m *= times;
            }
        }
        let heard = scene.heard();
        assert!(heard.finding >= Finding::Ask, "{is:?}: {heard:?}");
        let named = heard.changes.iter().find(|c| c.change == is).unwrap_or_else(|| panic!("{is:?}: {:?}", heard.changes));
        assert!(named.as_good, "{:?}", heard.changes);
    }
}

#[test]
fn a_clock_that_is_an_hour_off_is_known_for_one() {
    for (minutes, way) in [(60, 60.0), (-60, -60.0)] {
        let mut scene = Scene::new();
        for low in scene.turns(TurnKind::Low).into_iter().step_by(6).take(9) {
            // The true water is where the program has it an hour on (or back).
            scene.walk(before(low, 120), 210, |s, t| s.still_m(before(t, -minutes)) + 0.3);
        }
        let heard = scene.heard();
        assert_eq!(heard.finding, Finding::Contradict, "{heard:?}");
        assert_eq!(heard.changes[0].change, Change::Clock { earlier_min: way }, "{:?}", heard.changes);
        assert!((heard.shift.unwrap().earlier_min - way).abs() <= 10.0);
        assert!(!heard.changes.iter().any(|c| matches!(c.change, Change::Level { .. })), "{:?}", heard.changes);
    }
}

#[test]
fn who_never_comes_near_the_water_is_no_wet_witness_and_that_is_told() {
    let mut scene = Scene::new();
    for low in scene.turns(TurnKind::Low).into_iter().step_by(9).take(6) {
        scene.walk(before(low, 120), 210, |_, _| 3.0);
    }
    for wrong_m in [0.0, 1.0] {
        let heard = scene.heard_at(scene.offset_m() + wrong_m);
        assert_eq!((heard.finding, heard.wet_witnesses, heard.dry_witnesses), (Finding::Agree, 0, 6));
        let said = heard.doubts(&scene.beach, &[]);
        assert!(said[0].weight == Weight::Caution && said[0].sentence.contains("followed the water's edge"), "{said:?}");
    }
}

#[test]
fn the_outing_counts_once_however_many_tracks_it_has() {
    let scene = followed();
    let mut split = followed();
    split.records = Vec::new();
    for record in scene.records.iter().cloned() {
        let Record::Track(track) = record else {
            split.records.push(record);
            continue;
        };
        for part in track.segments[0].chunks(200) {
            let segments: Vec<Arc<[TrackPoint]>> = vec![part.to_vec().into()];
            split.records.push(Track { uid: Track::content_uid(track.beach, &segments), segments, ..(*track).clone() }.into());
        }
    }
    let (one, many) = (scene.heard_at(scene.offset_m() + 1.0), split.heard_at(scene.offset_m() + 1.0));
    assert_eq!((one.dry_witnesses, one.testimonies.len()), (many.dry_witnesses, many.testimonies.len()));
    assert!((one.against_nats - many.against_nats).abs() < 0.25 * one.against_nats, "{} {}", one.against_nats, many.against_nats);
}

#[test]
fn finds_noted_in_the_wash_say_where_the_edge_was() {
    let with_notes = |notes: &str| {
        let mut scene = Scene::new();
        let low = scene.turns(TurnKind::Low)[4];
        let outing = Outing::new(scene.beach.uid, before(low, 120), before(low, -90));
        scene.put(outing.clone());
        for minutes in [-60, -30, 0, 20, 40, 70] {
            let time = before(low, minutes);
            let at = scene.place(10.0, scene.still_m(time) + 0.1);
            let mut find = Find::new(scene.beach.uid, at, "worn coin", Kind::keyed("coin"));
            (find.outing, find.time, find.notes) = (Some(outing.uid), Some(time), notes.to_owned());
            scene.put(find);
        }
        scene
    };
    let noted = with_notes("dug in the wash, rising");
    assert!(noted.heard().testimonies[0].against_nats < 0.5);
    let wrong = noted.heard_at(noted.offset_m() + 1.2);
    assert!(wrong.testimonies[0].wet.is_some() && wrong.testimonies[0].against_nats > 2.0, "{wrong:?}");
    let plain = with_notes("dug by the steps");
    assert_eq!(plain.heard_at(plain.offset_m() + 1.2).finding, Finding::Unheard);
}

#[test]
fn a_walk_on_the_high_sand_does_not_outvote_finds_noted_in_the_wash() {
    let mut scene = Scene::new();
    let low = scene.turns(TurnKind::Low)[4];
    let outing = scene.walk(before(low, 120), 210, |_, _| 3.0);
    for minutes in [100, 60, 30, 0, -20, -40, -70] {
        let time = before(low, minutes);
        let mut find = Find::new(scene.beach.uid, scene.place(10.0, scene.still_m(time) + 0.1), "worn coin", Kind::keyed("coin"));
        (find.outing, find.time, find.notes) = (Some(outing.uid), Some(time), "in the wash".to_owned());
        scene.put(find);
    }
    let sound = scene.heard();
    assert!(sound.finding == Finding::Agree && sound.testimonies[0].against_nats < 0.5, "{sound:?}");
    let wrong = scene.heard_at(scene.offset_m() + 1.2);
    assert!(wrong.testimonies[0].wet.is_some() && wrong.testimonies[0].against_nats > 2.0, "{wrong:?}");
}

#[test]
fn an_outing_along_a_plan_is_no_witness_of_where_the_water_stood() {
    // A metre above the water all the way, as a plan has it: water that stands a metre higher, or a margin?
    let kept_clear = |with_plans: bool| {
        let mut scene = Scene::new();
        for low in scene.turns(TurnKind::Low).into_iter().step_by(9).take(6) {
            scene.walk(before(low, 120), 210, |s, t| s.still_m(t) + 1.3);
        }
        let tracks: Vec<Track> =
            scene.records.iter().filter_map(|r| if let Record::Track(t) = r { Some((**t).clone()) } else { None }).collect();
        for track in tracks.into_iter().filter(|_| with_plans) {
            let points = track.segments[0].iter().map(|p| p.at).collect();
            let name = "Plan: Invented Bay, and its outing".to_owned();
            scene.put(scourline::book::Plan { uid: Uid::fresh(), beach: scene.beach.uid, name, points });
        }
        scene.heard()
    };
    let accused = kept_clear(false);
    assert!(accused.finding >= Finding::Ask && accused.by_plan == 0, "{accused:?}");
    let planned = kept_clear(true);
    assert_eq!((planned.finding, planned.by_plan, planned.wet_witnesses, planned.dry_witnesses), (Finding::Agree, 6, 0, 6));
    assert!(planned.unwitnessed().unwrap().contains("Outings that followed a plan made here"), "{planned:?}");
}

#[test]
fn the_invented_beach_of_the_demo_is_not_accused() {
    let book = scourline::demo::Planting::shipped().make().unwrap().book().unwrap();
    let beach = book.beaches().values().next().unwrap();
    let setting = Setting::from_book(&book, beach.uid).unwrap();
    let tables = WitnessTables::from(&book);
    let heard =
        scourline::witness::heard(&tables, &in_wash(&(&book).into(), beach.uid), &setting, &Params::default(), &Progress::new())
            .unwrap()
            .unwrap();
    println!(
        "{:?} {} {} {} {:?} {:?}",
        heard.finding, heard.against_nats, heard.agree, heard.wet_witnesses, heard.shift, heard.changes
    );
    assert!(heard.finding <= Finding::Agree, "{:?} {:?}", heard.shift, heard.changes);
    assert!(heard.dry_witnesses >= 20, "{}", heard.dry_witnesses);
}
