//! The invented beach: made the same each time, planted where the truth says, and shipped as it is made.

use std::collections::BTreeMap;

use scourline::book::{Record, TideChoice, Track, TrackPoint, Uid, Weight};
use scourline::demo::{self, Cause, Made, Planting};
use scourline::earth::{Frame, Local, LonLat, distance_m};
use scourline::reading::Covered;
use scourline::route::{Asked, ByBand, Paces, plan};
use scourline::shore::Setting;
use scourline::tide::{Catalogue, Water};
use scourline::{Progress, effort, route};

/// Set to make the files of `data/demo` anew; the test then fails, so that nobody leaves it set.
const REGENERATE: &str = "SCOURLINE_REGENERATE_DEMO";

fn shipped() -> Made {
    Planting::shipped().make().expect("the shipped beach can be made")
}

fn patterned(seed: u64) -> Made {
    Planting::patterned(seed).make().expect("any seed makes a beach")
}

#[test]
fn the_shipped_files_are_what_the_generator_makes() {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo");
    if std::env::var_os(REGENERATE).is_some() {
        let tracks = dir.join("tracks");
        if tracks.exists() {
            std::fs::remove_dir_all(tracks).expect("the old tracks can be removed");
        }
        let names = demo::write_files(&dir).expect("the files can be written");
        panic!("{} files of data/demo were made anew; unset {REGENERATE} and run again", names.len());
    }
    let made = shipped().files();
    let embedded = demo::files();
    let embedded_names: Vec<&str> = embedded.iter().map(|f| f.name).collect();
    assert_eq!(embedded_names, made.iter().map(|f| f.0.as_str()).collect::<Vec<_>>());
    for (shipped, (name, bytes)) in embedded.iter().zip(&made) {
        assert!(shipped.bytes == bytes, "{name} is not what the generator makes; set {REGENERATE}=1 and run this test");
    }
    assert!(made.iter().map(|f| f.1.len()).sum::<usize>() < 6_200_000, "the demo outgrows some six megabytes");
}

#[test]
fn the_readme_states_the_counts() {
    let made = shipped();
    let readme = include_str!("../../../data/demo/README.md");
    let fixes: usize = made.tracks.iter().map(Track::len).sum();
    for (count, what) in [
        (made.outings.len(), "outings"),
        (made.tracks.len(), "tracks"),
        (fixes, "fixes"),
        (made.finds.len(), "finds"),
        (made.signals.len(), "signals"),
        (made.storms.len(), "storms"),
        (made.levels.len(), "level points"),
        (made.zones.len(), "zones"),
        (made.accesses.len(), "accesses"),
        (made.barriers.len(), "barriers"),
        (made.permissions.len(), "permissions"),
        (made.setups.len(), "set-ups"),
        (made.bench.len(), "bench readings"),
        (made.truth.drop_zones.len(), "drop zones"),
        (made.truth.scour_lines.len(), "scour lines"),
    ] {
        assert!(readme.contains(&format!("{count} {what}")), "data/demo/README.md does not say \"{count} {what}\"");
    }
}

#[test]
fn the_size_is_what_was_asked_for() {
    let made = shipped();
    assert_eq!((made.outings.len(), made.storms.len()), (30, 5));
    assert!((1400..=1650).contains(&made.finds.len()), "{} finds", made.finds.len());
    assert!((80..=110).contains(&made.signals.len()), "{} signals", made.signals.len());
    let peaks: Vec<f64> = made.storms.iter().filter_map(|s| s.peak()).map(|p| p.hs_m).collect();
    assert!(peaks.iter().all(|h| (2.4..=5.0).contains(h)), "{peaks:?}");
    let kinds: std::collections::BTreeSet<_> = made.finds.iter().map(|f| f.kind.key().to_owned()).collect();
    assert!(kinds.len() >= 20, "{kinds:?}");
    let rubbish = made.finds.iter().filter(|f| f.kind.is_rubbish()).count();
    assert!((0.35..0.65).contains(&(rubbish as f64 / made.finds.len() as f64)), "{rubbish} of {}", made.finds.len());
}

#[test]
fn a_seed_always_makes_the_same_beach_and_another_seed_another() {
    let (a, b, c) = (patterned(11), patterned(11), patterned(12));
    assert_eq!(a.files(), b.files());
    assert_eq!(a.records(), b.records());
    assert_eq!(a.truth, b.truth);
    assert_ne!(a.truth, c.truth);
    assert_ne!(a.finds, c.finds);
}

#[test]
fn every_record_is_valid_and_named_by_no_other() {
    let made = patterned(3);
    let records = made.records();
    let book = made.book().expect("every record is valid");
    let held: usize = scourline::book::RecordKind::ALL.iter().map(|k| book.count(*k)).sum();
    assert_eq!(held, records.len(), "two records share a uid");
    assert!(records.iter().any(|r| matches!(r, Record::Bench(_))));
}

/// Far from any land the nearest station is hundreds of kilometres away, and it is the one that is borrowed.
#[test]
fn the_beach_lies_on_no_coast() {
    let beach = demo::beach().expect("the beach can be made");
    let nearest = Catalogue::shipped().nearest(beach.origin, 1);
    assert_eq!(beach.tide, TideChoice::Station(nearest[0].0.id.clone()));
    assert_eq!(nearest[0].0.id, demo::STATION);
    assert!(nearest[0].1 > 300_000.0, "{} m", nearest[0].1);
    assert!(beach.baseline.is_empty() && beach.zone().is_ok());
    assert_eq!(beach.uid, shipped().beach.uid);
}

#[test]
fn planted_things_lie_where_the_truth_says() {
    for seed in 20..26 {
        let made = patterned(seed);
        for f in &made.finds {
            let at = made.truth.place_of[&f.uid];
            let (along, across) = made.along_across_m(at).unwrap();
            match made.truth.cause_of[&f.uid] {
                Cause::Scattered => {}
                Cause::DropZone(n) => {
                    let z = &made.truth.drop_zones[n];
                    let off = ((along - z.along_m) / z.half_along_m).hypot((across - z.across_m) / z.half_across_m);
                    assert!(off < 2.5, "seed {seed}: {off} half-axes from drop zone {n}");
                }
                Cause::ScourLine(n) => {
                    let line = &made.truth.scour_lines[n];
                    assert!((line.along_m.0 - 0.1..=line.along_m.1 + 0.1).contains(&along));
                    // 0.1 m to either side by the storm, and the line's own width on a slope of 1 in 15 at most.
                    let off_m = made.level_m(at).unwrap() - line.level_m;
                    assert!(off_m.abs() < 0.1 + 1.2 * line.width_m / 15.0, "seed {seed}: {off_m} m from the level of line {n}");
                }
            }
        }
        for line in &made.truth.scour_lines {
            for at in &line.line {
                assert!((made.level_m(*at).unwrap() - line.level_m).abs() < 1e-3);
            }
        }
    }
}

#[test]
fn scour_lines_are_heavy_and_drop_zones_mixed() {
    let mut heavy: BTreeMap<&str, [usize; 2]> = BTreeMap::new();
    for seed in 30..36 {
        let made = patterned(seed);
        for f in &made.finds {
            let cause = match made.truth.cause_of[&f.uid] {
                Cause::Scattered => "scattered",
                Cause::DropZone(_) => "dropped",
                Cause::ScourLine(_) => "sorted",
            };
            heavy.entry(cause).or_default()[usize::from(f.weight_class() == Weight::Heavy)] += 1;
        }
    }
    let share = |cause: &str| heavy[cause][1] as f64 / (heavy[cause][0] + heavy[cause][1]) as f64;
    assert!(share("sorted") > 0.9, "{heavy:?}");
    assert!((0.3..0.5).contains(&share("scattered")), "{heavy:?}");
    assert!((0.35..0.65).contains(&share("dropped")), "{heavy:?}");
}

/// Metres walked with the coil down, and finds, by a split of the beach.
fn by_part(made: &Made, part_of: impl Fn(f64, f64) -> Option<usize>) -> BTreeMap<usize, (f64, usize)> {
    let frame = Frame::centred_on(made.beach.origin).expect("a plane can be laid on the beach");
    let mut parts: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
    let part = |at: LonLat| made.along_across_m(at).ok().and_then(|(along, across)| part_of(along, across));
    for segment in made.tracks.iter().flat_map(|t| &t.segments) {
        for (a, b) in segment.iter().zip(segment.iter().skip(1)) {
            let (Ok(from), Ok(to), Some(part)) = (frame.to_local(a.at), frame.to_local(b.at), part(a.at)) else { continue };
            let (Some(start_s), Some(end_s)) = (a.time_s(), b.time_s()) else { continue };
            let seconds = end_s - start_s;
            if from.distance_m(to) / seconds < 0.9 {
                parts.entry(part).or_default().0 += from.distance_m(to);
            }
        }
    }
    for f in &made.finds {
        if let Some(part) = part(f.at) {
            parts.entry(part).or_default().1 += 1;
        }
    }
    parts
}

#[test]
fn without_patterns_every_part_of_the_beach_pays_alike() {
    let (mut across_parts, mut along_parts) = (BTreeMap::<usize, (f64, usize)>::new(), BTreeMap::<usize, (f64, usize)>::new());
    for seed in 40..48 {
        let made = Planting::plain(seed).make().unwrap();
        assert!(made.truth.cause_of.values().all(|c| *c == Cause::Scattered));
        assert!(made.truth.drop_zones.is_empty() && made.truth.scour_lines.is_empty());
        let bands = by_part(&made, |_, across| (15.0..215.0).contains(&across).then(|| (across / 50.0) as usize));
        let stretches = by_part(&made, |along, across| (15.0..215.0).contains(&across).then(|| (along / 280.0) as usize));
        for (sum, parts) in [(&mut across_parts, bands), (&mut along_parts, stretches)] {
            for (part, (metres, finds)) in parts {
                let entry = sum.entry(part).or_default();
                *entry = (entry.0 + metres, entry.1 + finds);
            }
        }
    }
    for parts in [across_parts, along_parts] {
        let (metres, finds) = parts.values().fold((0.0, 0), |(m, f), p| (m + p.0, f + p.1));
        let mean = finds as f64 / metres;
        // Where hardly anyone walked there is too little to compare.
        for (part, (metres, finds)) in parts.iter().filter(|(_, p)| p.0 * mean > 400.0) {
            let ratio = *finds as f64 / metres / mean;
            assert!((0.85..1.15).contains(&ratio), "part {part}: {ratio} of the mean in {parts:?}");
        }
    }
}

#[test]
fn a_biased_walker_stays_in_the_corner() {
    let planting = Planting::biased(5);
    let corner = planting.bias.expect("a biased planting has a corner");
    let made = planting.make().unwrap();
    assert!(made.finds.len() > 300, "{} finds", made.finds.len());
    for f in &made.finds {
        let (along, across) = made.along_across_m(made.truth.place_of[&f.uid]).unwrap();
        // Wandering back into the corner may lead a few metres beyond it.
        assert!((corner.along_m.0 - 15.0..corner.along_m.1 + 15.0).contains(&along), "{along} m along");
        assert!((corner.across_m.0 - 15.0..corner.across_m.1 + 15.0).contains(&across), "{across} m across");
    }
}

/// Nearest distance from a place to the runs of a track, metres.
fn off_track_m(frame: &Frame, track: &Track, at: LonLat) -> f64 {
    let local_of = |at| frame.to_local(at).expect("the place is on the beach");
    let p = local_of(at);
    let local: Vec<Vec<Local>> = track.segments.iter().map(|s| s.iter().map(|f: &TrackPoint| local_of(f.at)).collect()).collect();
    local.iter().flat_map(|s| s.windows(2)).map(|w| to_leg_m(p, w[0], w[1])).fold(f64::MAX, f64::min)
}

fn to_leg_m(p: Local, a: Local, b: Local) -> f64 {
    let (dx, dy) = (b.east_m - a.east_m, b.north_m - a.north_m);
    let length2 = dx * dx + dy * dy;
    let share = if length2 > 0.0 { ((p.east_m - a.east_m) * dx + (p.north_m - a.north_m) * dy) / length2 } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    p.distance_m(Local::new(a.east_m + dx * share, a.north_m + dy * share))
}

#[test]
fn finds_lie_within_the_swing_and_the_receiver_s_error_of_their_track() {
    let made = shipped();
    let frame = Frame::centred_on(made.beach.origin).unwrap();
    let track_of: BTreeMap<Uid, &Track> = made.tracks.iter().filter_map(|t| Some((t.outing?, t))).collect();
    let mut off: Vec<f64> = made
        .finds
        .iter()
        .step_by(4)
        .map(|f| off_track_m(&frame, track_of[&f.outing.expect("every find has its outing")], f.at))
        .collect();
    off.sort_by(f64::total_cmp);
    let (median, most) = (off[off.len() / 2], off[off.len() - 1]);
    assert!(median < made.truth.swing_m / 2.0, "median {median} m");
    assert!(most < 5.0, "the farthest find lies {most} m off its track");
    for f in &made.finds {
        let o = made.outings.iter().find(|o| Some(o.uid) == f.outing).expect("the outing is there");
        assert!(f.time.is_some_and(|t| o.covers(t, 60)), "{} at {:?}", f.what, f.time);
    }
}

/// Two to four metres off, and for minutes on end by nearly the same.
#[test]
fn positions_err_like_a_receiver_s() {
    let made = shipped();
    let frame = Frame::centred_on(made.beach.origin).unwrap();
    let errors: Vec<(Uid, f64, Local)> = made
        .finds
        .iter()
        .map(|f| {
            let (seen, true_) = (frame.to_local(f.at).unwrap(), frame.to_local(made.truth.place_of[&f.uid]).unwrap());
            let error = Local::new(seen.east_m - true_.east_m, seen.north_m - true_.north_m);
            (f.outing.unwrap(), f.time.unwrap().as_second() as f64, error)
        })
        .collect();
    let rms = |v: &[f64]| (v.iter().map(|e| e * e).sum::<f64>() / v.len() as f64).sqrt();
    let whole = rms(&errors.iter().map(|e| e.2.distance_m(Local::default())).collect::<Vec<_>>());
    assert!((2.0..4.0).contains(&whole), "{whole} m");
    let neighbours = |from_s: f64, to_s: f64| {
        let pairs = errors.windows(2).filter(|w| w[0].0 == w[1].0 && (from_s..to_s).contains(&(w[1].1 - w[0].1)));
        rms(&pairs.map(|w| w[0].2.distance_m(w[1].2)).collect::<Vec<_>>())
    };
    let (soon, late) = (neighbours(0.0, 70.0), neighbours(600.0, 3000.0));
    assert!(soon < 0.75 * late, "{soon} m within a minute, {late} m after ten");
}

/// Finds that a line gave, per fix that lay on it, soon after a storm and long after.
#[test]
fn scour_lines_give_more_after_a_storm() {
    let (mut soon, mut late) = ((0.0, 0.0), (0.0, 0.0));
    for seed in 60..68 {
        let made = patterned(seed);
        let since_days = |t: jiff::Timestamp| {
            let since = made.truth.storms.iter().map(|s| (t.as_second() - s.peak.as_second()) as f64 / 86_400.0);
            since.filter(|d| *d > 0.0).fold(f64::MAX, f64::min)
        };
        for (track, outing) in made.tracks.iter().zip(&made.outings) {
            let days = since_days(outing.start);
            let sums = if days < 20.0 {
                &mut soon
            } else if days > 60.0 {
                &mut late
            } else {
                continue;
            };
            for p in track.points() {
                let (along, _) = made.along_across_m(p.at).unwrap();
                let level_m = made.level_m(p.at).unwrap();
                let on_line =
                    |l: &&demo::ScourLine| (l.along_m.0..l.along_m.1).contains(&along) && (level_m - l.level_m).abs() < 0.15;
                sums.1 += if made.truth.scour_lines.iter().any(|l| on_line(&l)) { 1.0 } else { 0.0 };
            }
            let given = |f: &&scourline::book::Find| {
                f.outing == Some(outing.uid) && matches!(made.truth.cause_of[&f.uid], Cause::ScourLine(_))
            };
            sums.0 += made.finds.iter().filter(given).count() as f64;
        }
    }
    let ratio = (soon.0 / soon.1) / (late.0 / late.1);
    assert!(ratio > 1.5, "{ratio}: {soon:?} within 20 days, {late:?} after 60");
}

/// The walk keeps above the water that the program itself predicts, and by day.
#[test]
fn nobody_searches_under_water_or_at_night() {
    let made = shipped();
    let station = Catalogue::shipped().get(demo::STATION).unwrap();
    let water = Water::of_station(station, station.chart_datum.clone()).unwrap();
    let offset_m = made.beach.datum_offset_m.unwrap();
    let (mut wet, mut all) = (0, 0);
    for p in made.tracks.iter().flat_map(Track::points).step_by(10) {
        let time = p.time().expect("every fix is timed");
        let depth_m = water.height_m(time).unwrap() - (made.level_m(p.at).unwrap() + offset_m);
        all += 1;
        wet += usize::from(depth_m > 0.1);
        // A fix may be 8 m off, on the face that is two thirds of a metre.
        assert!(depth_m < 0.9, "{depth_m} m deep at {time}");
        assert!(scourline::sun::altitude_deg(p.at, time) > -4.0, "dark at {time}");
    }
    assert!(wet * 50 < all, "{wet} of {all} fixes under water");
}

/// The shore room, knowing only the records, sees the beach as it was shaped.
#[test]
fn the_shore_room_sees_the_same_beach() {
    let made = shipped();
    let book = made.book().unwrap();
    let setting = Setting::from_book(&book, made.beach.uid).expect("the beach is in the book");
    let shore = setting.shore.as_ref().expect("baseline and levels are there");
    let frame = Frame::centred_on(made.beach.origin).unwrap();
    let mut off = Vec::new();
    for f in made.finds.iter().step_by(7) {
        let p = frame.to_local(f.at).unwrap();
        let (along, across) = made.along_across_m(f.at).unwrap();
        let seen = shore.baseline().to_shore(p);
        assert!((seen.along_m - along).abs() < 3.0 && (seen.across_m - across).abs() < 0.1, "{seen:?} {along} {across}");
        if let Some(sand) = shore.sand_level(p) {
            off.push((sand.land_m - made.level_m(f.at).unwrap()).abs());
        }
    }
    off.sort_by(f64::total_cmp);
    assert!(off.len() > 200 && off[off.len() / 2] < 0.1, "{} levels, median {:?}", off.len(), off.get(off.len() / 2));
}

#[test]
fn tracks_have_gaps_and_some_say_how_good_the_fix_was() {
    let made = shipped();
    assert!(made.tracks.iter().any(|t| t.segments.len() > 1));
    assert!(made.tracks.iter().filter(|t| t.points().any(|p| p.hdop().is_some_and(|h| h > 4.0))).count() >= 1);
    let gap = |t: &Track| t.segments.iter().flat_map(|s| s.windows(2)).any(|w| w[1].time_s() > w[0].time_s().map(|s| s + 60.0));
    assert!(made.tracks.iter().any(gap), "no gap within a run of fixes");
    let steps: Vec<f64> = made
        .tracks
        .iter()
        .flat_map(|t| &t.segments)
        .flat_map(|s| s.windows(2))
        .filter_map(|w| Some(w[1].time_s()? - w[0].time_s()?))
        .collect();
    assert!(steps.iter().all(|s| (4.0..300.0).contains(s)));
    let origin = made.beach.origin;
    assert!(made.tracks.iter().flat_map(Track::points).all(|p| distance_m(p.at, origin) < 1_000.0));
}
/// Light and heavy finds by half metres of level: everywhere some, and heavy ones where the lines lie.
#[test]
fn finds_come_from_every_level_and_heavy_ones_from_the_lines() {
    let made = shipped();
    let mut levels: BTreeMap<i32, [usize; 2]> = BTreeMap::new();
    let (mut on_lines, mut elsewhere) = ([0, 0], [0, 0]);
    for f in &made.finds {
        let level_m = made.level_m(f.at).unwrap();
        let heavy = usize::from(f.weight_class() == Weight::Heavy);
        levels.entry((level_m * 2.0).floor() as i32).or_default()[heavy] += 1;
        let near = made.truth.scour_lines.iter().any(|l| (level_m - l.level_m).abs() < 0.25);
        (if near { &mut on_lines } else { &mut elsewhere })[heavy] += 1;
    }
    // From -1.5 m to 4.5 m in steps of half a metre.
    for step in -3..9 {
        let [light, heavy] = levels.get(&step).copied().unwrap_or_default();
        assert!(light >= 5 && heavy >= 3, "{light} light and {heavy} heavy at {} m: {levels:?}", f64::from(step) / 2.0);
    }
    let share = |[light, heavy]: [i32; 2]| f64::from(heavy) / f64::from(light + heavy);
    assert!(share(on_lines) > share(elsewhere) + 0.1, "{on_lines:?} {elsewhere:?}");
}

/// How much each outing searched is known beside the reading's own ground, and the pace learnt from it plans routes.
#[test]
fn the_search_pace_is_learnt_from_the_outings_and_used_by_a_route() {
    let made = shipped();
    let book = made.book().unwrap();
    let setting = Setting::from_book(&book, made.beach.uid).expect("the beach is in the book");
    let progress = Progress::new();
    let covered = Covered::from_tracks(&book, &setting, &effort::Params::default(), &progress).unwrap();
    let (covered, effort) = covered.expect("the tracks cover ground");

    let total = effort.totals();
    assert_eq!(effort.outings.len(), made.outings.len());
    let fresh: f64 = effort.outings.iter().map(|o| o.fresh_m2).sum();
    assert!((fresh / total.swept_m2 - 1.0).abs() < 1e-9, "{fresh} of {} m2", total.swept_m2);
    for outing in &effort.outings {
        let visits = covered.visits.iter().filter(|v| v.outing == outing.outing);
        let swept: f64 = visits.map(|v| v.swept_m2).sum();
        assert!((swept / outing.swept_m2 - 1.0).abs() < 1e-9 && outing.fresh_m2 <= outing.swept_m2 * (1.0 + 1e-9), "{outing:?}");
    }

    let paces = Paces::learned_from(&book, &effort);
    let learnt = paces.ground_m2_s.expect("the outings tell how fast ground is searched");
    // As the beach was made: 0.48 m/s over a swath of 1.2 + 0.28 m, some of it swept twice.
    let made_m2_s = 0.48 * 1.48;
    assert!((0.7 * made_m2_s..=1.05 * made_m2_s).contains(&learnt.value), "{learnt:?}");
    assert!(learnt.low < learnt.value && learnt.value < learnt.high && learnt.outings >= 20, "{learnt:?}");

    let usual = route::Params { rounds: 10, ..route::Params::for_beach(&book, &setting) };
    let mut own = usual.clone();
    paces.apply(&mut own);
    assert_eq!(own.ground_m2_s, Some(learnt.value));
    let worth = ByBand::new(&setting, None, Some(&covered), usual.prior_per_100m2, usual.detection);
    let after = "2026-09-26T00:00:00Z".parse().unwrap();
    let swept_m2 = |params: &route::Params| {
        let asked =
            Asked { book: &(&book).into(), setting: &setting, worth: &worth, after, hours: None, low: None, doubts: &[], params };
        plan(&asked, &progress).unwrap().swept_m2
    };
    assert!(swept_m2(&own) > 1.5 * swept_m2(&usual), "the same hours give more ground at the pace that was learnt");
}
