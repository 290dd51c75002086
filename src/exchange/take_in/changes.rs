//! A find of the book that comes back with other values, as after work in a program for maps.

use serde_json::Value;

use crate::book::{BenchReading, Find, Setup, setup_name};
use crate::earth::distance_m;

/// Positions are written to 1e-7 degrees; nearer than this they are the same, metres.
const SAME_PLACE_M: f64 = 0.03;

/// Depths of one target nearer than this are the same, metres.
const SAME_DEPTH_M: f64 = 1e-5;

/// The book's find with the numbers that it lacks and the file has, and what they are; `None` where it lacks none. What it
/// has stays.
pub(super) fn added(mine: &Find, file: &Find) -> Option<(Find, Vec<&'static str>)> {
    let mut find = mine.clone();
    let mut what = Vec::new();
    let numbers = [
        (&mut find.depth_m, file.depth_m, "depth"),
        (&mut find.target_id, file.target_id, "target ID"),
        (&mut find.mass_g, file.mass_g, "mass"),
        (&mut find.size_mm, file.size_mm, "size"),
    ];
    for (mine, theirs, name) in numbers {
        if mine.is_none() && theirs.is_some() {
            *mine = theirs;
            what.push(name);
        }
    }
    (!what.is_empty()).then_some((find, what))
}

/// The book's find with what the file says otherwise, and what that is; `None` where it says nothing otherwise. What the
/// file does not say at all stays. That it is something else counts where the file says so (`says_other`), and is else
/// only a want of a better word.
pub(super) fn changed(mine: &Find, file: &Find, says_other: bool) -> Option<(Find, Vec<&'static str>)> {
    let mut find = mine.clone();
    let mut what = Vec::new();
    if distance_m(mine.at, file.at) > SAME_PLACE_M {
        find.at = file.at;
        what.push("place");
    }
    if (says_other || file.kind.key() != "other") && file.kind != mine.kind {
        find.kind = file.kind.clone();
        what.push("kind");
    }
    let texts = [
        (&mut find.what, &file.what, "what it is"),
        (&mut find.state, &file.state, "state"),
        (&mut find.photo, &file.photo, "photo"),
        (&mut find.notes, &file.notes, "notes"),
        (&mut find.finder, &file.finder, "finder"),
        (&mut find.permission, &file.permission, "permission"),
        (&mut find.value, &file.value, "value"),
        (&mut find.age, &file.age, "age"),
        (&mut find.disposal, &file.disposal, "disposal"),
        (&mut find.reported, &file.reported, "report"),
    ];
    for (mine, theirs, name) in texts {
        if !theirs.is_empty() && mine.trim() != theirs.trim() {
            mine.clone_from(theirs);
            what.push(name);
        }
    }
    let numbers = [
        (&mut find.depth_m, file.depth_m, "depth"),
        (&mut find.target_id, file.target_id, "target ID"),
        (&mut find.mass_g, file.mass_g, "mass"),
        (&mut find.size_mm, file.size_mm, "size"),
    ];
    for (mine, theirs, name) in numbers {
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs().max(1.0);
        if let Some(theirs) = theirs.filter(|t| !mine.is_some_and(|m| same(m, *t))) {
            *mine = Some(theirs);
            what.push(name);
        }
    }
    let more_before = find.more.len();
    let other: Vec<_> = file.more.iter().filter(|(title, text)| find.more.get(*title) != Some(text)).collect();
    if !other.is_empty() {
        find.more.extend(other.into_iter().map(|(title, text)| (title.clone(), text.clone())));
        what.push(if find.more.len() > more_before { "more columns" } else { "other columns" });
    }
    take(&mut find.time, file.time, "time", &mut what);
    take(&mut find.weight, file.weight, "weight", &mut what);
    take(&mut find.material, file.material, "material", &mut what);
    (!what.is_empty()).then_some((find, what))
}

/// The book's reading of a known target with what the file says otherwise, and what that is; `None` where it says nothing
/// otherwise. That no number came is said as well.
pub(super) fn changed_reading(mine: &BenchReading, file: &BenchReading) -> Option<(BenchReading, Vec<&'static str>)> {
    let mut reading = mine.clone();
    let mut what = Vec::new();
    if setup_name(&mine.target) != setup_name(&file.target) {
        reading.target.clone_from(&file.target);
        what.push("target");
    }
    if mine.kind != file.kind {
        reading.kind.clone_from(&file.kind);
        what.push("kind");
    }
    if (mine.depth_m - file.depth_m).abs() > SAME_DEPTH_M {
        reading.depth_m = file.depth_m;
        what.push("depth");
    }
    if mine.target_ids != file.target_ids {
        reading.target_ids.clone_from(&file.target_ids);
        what.push("target IDs");
    }
    for (mine, theirs, name) in [(&mut reading.tone, &file.tone, "tone"), (&mut reading.notes, &file.notes, "notes")] {
        if !theirs.is_empty() && mine.trim() != theirs.trim() {
            mine.clone_from(theirs);
            what.push(name);
        }
    }
    take(&mut reading.lie, file.lie, "lie", &mut what);
    take(&mut reading.ground, file.ground, "ground", &mut what);
    take(&mut reading.scraped_m, file.scraped_m, "depth scraped off", &mut what);
    take(&mut reading.time, file.time, "time", &mut what);
    take(&mut reading.steadiness, file.steadiness, "steadiness", &mut what);
    take(&mut reading.gauge_step, file.gauge_step, "gauge step", &mut what);
    take(&mut reading.dig, file.dig, "dig or leave", &mut what);
    (!what.is_empty()).then_some((reading, what))
}

/// The book's set-up with what the file says otherwise, and what that is; `None` where it says nothing otherwise.
pub(super) fn changed_setup(mine: &Setup, file: &Setup) -> Option<(Setup, Vec<String>)> {
    let (Ok(Value::Object(mut setup)), Ok(Value::Object(theirs))) = (serde_json::to_value(mine), serde_json::to_value(file))
    else {
        return None;
    };
    let mut what = Vec::new();
    for (field, value) in theirs {
        let said = !(value.is_null() || value.as_str().is_some_and(|text| text.trim().is_empty()));
        if said && !["uid", "name"].contains(&field.as_str()) && setup.get(&field) != Some(&value) {
            what.push(field.trim_end_matches("_m").replace('_', " "));
            setup.insert(field, value);
        }
    }
    let setup = serde_json::from_value(Value::Object(setup)).ok()?;
    (!what.is_empty()).then_some((setup, what))
}

fn take<T: PartialEq + Copy>(mine: &mut Option<T>, theirs: Option<T>, name: &'static str, what: &mut Vec<&'static str>) {
    if theirs.is_some() && *mine != theirs {
        *mine = theirs;
        what.push(name);
    }
}
