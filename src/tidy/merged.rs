//! One record of two: what one lacks it takes from the other, and what they say differently is kept in the notes.

use std::collections::BTreeMap;

use crate::book::{Find, Outing};

/// A find with what another says of the same thing. Nothing that was written is lost.
pub(super) fn find(keep: &Find, goes: &Find) -> Find {
    let mut find = keep.clone();
    let mut differs: Vec<String> = Vec::new();
    {
        let texts: [(&mut String, &String, &str); 9] = [
            (&mut find.what, &goes.what, "what"),
            (&mut find.state, &goes.state, "condition"),
            (&mut find.photo, &goes.photo, "photo"),
            (&mut find.finder, &goes.finder, "finder"),
            (&mut find.permission, &goes.permission, "permission"),
            (&mut find.value, &goes.value, "value"),
            (&mut find.age, &goes.age, "age"),
            (&mut find.disposal, &goes.disposal, "disposal"),
            (&mut find.reported, &goes.reported, "reported"),
        ];
        for (mine, theirs, name) in texts {
            if mine.trim().is_empty() {
                mine.clone_from(theirs);
            } else if !theirs.trim().is_empty() && mine.trim() != theirs.trim() {
                differs.push(format!("{name}: {theirs}"));
            }
        }
        let numbers: [(&mut Option<f64>, Option<f64>, &str); 4] = [
            (&mut find.depth_m, goes.depth_m, "depth_m"),
            (&mut find.target_id, goes.target_id, "target ID"),
            (&mut find.mass_g, goes.mass_g, "mass_g"),
            (&mut find.size_mm, goes.size_mm, "size_mm"),
        ];
        for (mine, theirs, name) in numbers {
            match (&*mine, theirs) {
                (None, theirs) => *mine = theirs,
                (Some(m), Some(t)) if !same(*m, t) => differs.push(format!("{name}: {t}")),
                _ => {}
            }
        }
    }
    if find.kind.key() == "other" {
        find.kind = goes.kind.clone();
    } else if goes.kind.key() != "other" && goes.kind != find.kind {
        differs.push(format!("kind: {}", goes.kind.label()));
    }
    find.outing = find.outing.or(goes.outing);
    find.weight = find.weight.or(goes.weight);
    find.material = find.material.or(goes.material);
    match (find.time, goes.time) {
        (None, theirs) => find.time = theirs,
        (Some(mine), Some(theirs)) if mine != theirs => differs.push(format!("time: {theirs}")),
        _ => {}
    }
    if keep.at != goes.at {
        differs.push(format!("place: {}", goes.at));
    }
    for (title, text) in &goes.more {
        add_more(&mut find.more, title, text);
    }
    find.notes = joined(&keep.notes, &goes.notes);
    if !differs.is_empty() {
        find.notes = joined(&find.notes, &format!("merged with one that said {}", differs.join(", ")));
    }
    find
}

/// Whether two measured values are the same but for the last digit of a file.
pub(super) fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * b.abs().max(1.0)
}

fn add_more(more: &mut BTreeMap<String, String>, title: &str, text: &str) {
    match more.get_mut(title) {
        None => drop(more.insert(title.to_owned(), text.to_owned())),
        Some(mine) if mine != text => *mine = joined(mine, text),
        Some(_) => {}
    }
}

fn joined(a: &str, b: &str) -> String {
    match (a.trim(), b.trim()) {
        (a, b) if b.is_empty() || a == b => a.to_owned(),
        ("", b) => b.to_owned(),
        (a, b) => format!("{a}; {b}"),
    }
}

/// An outing that lasts as long as two do together.
pub(super) fn outing(keep: &Outing, goes: &Outing) -> Outing {
    let mut sand = keep.sand.clone();
    sand.extend(goes.sand.iter().filter(|n| !keep.sand.contains(n)));
    let mut asides = keep.asides.clone();
    asides.extend(goes.asides.iter().filter(|a| !keep.asides.contains(a)));
    Outing {
        name: if keep.name.is_empty() { goes.name.clone() } else { keep.name.clone() },
        start: keep.start.min(goes.start),
        end: keep.end.max(goes.end),
        setup: keep.setup.or(goes.setup),
        sand,
        asides,
        notes: joined(&keep.notes, &goes.notes),
        ..keep.clone()
    }
}
