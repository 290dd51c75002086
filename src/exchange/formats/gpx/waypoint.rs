//! What a waypoint stands for: something dug, or something heard and not dug.

use super::fix::Fix;
use super::spoken::{Spoken, names_a_place};
use crate::book::{Access, Find, Kinds, Signal, Uid};
use crate::earth::LonLat;

/// Whether a waypoint is named a signal rather than something dug.
pub(super) fn named_signal(fix: &Fix) -> bool {
    let says = |text: &str| {
        text.split(|c: char| !c.is_alphanumeric()).any(|w| matches!(w.to_lowercase().as_str(), "signal" | "signals"))
    };
    [&fix.name, &fix.sort, &fix.symbol].into_iter().any(|t| says(t))
}

pub(super) fn signal(beach: Uid, at: LonLat, fix: &Fix) -> Signal {
    // Numbers after the word are the target IDs as they came: "signal 12 13 12".
    let target_ids = |text: &str| text.split(|c: char| c != '-' && !c.is_ascii_digit()).filter_map(|w| w.parse().ok()).collect();
    let notes = [fix.name.as_str(), &fix.comment, &fix.description].into_iter().filter(|t| !t.is_empty());
    Signal {
        time: fix.time,
        target_ids: target_ids(&fix.name),
        notes: notes.collect::<Vec<_>>().join("; "),
        ..Signal::new(beach, at)
    }
}

/// A way on or off the beach.
pub(super) fn access(beach: Uid, at: LonLat, fix: &Fix) -> Access {
    Access { uid: Uid::of_content("", []), beach, name: fix.name.clone(), at, notes: fix.description.clone() }
}

/// Whether a waypoint names a place and nothing that is dug.
pub(super) fn named_place(fix: &Fix) -> bool {
    let kinds = Kinds::shipped();
    let texts = [fix.name.as_str(), &fix.description, &fix.comment, &fix.sort, &fix.symbol];
    fix.sort != "find" && texts.iter().all(|t| kinds.recognise(t).key() == "other") && names_a_place(&[&fix.name, &fix.symbol])
}

/// What a waypoint's name says beside the thing, put into the find.
pub(super) fn as_spoken(find: Find, said: &Spoken) -> Find {
    Find { target_id: said.target_id, depth_m: said.depth_m, size_mm: said.size_mm, mass_g: said.mass_g, ..find }
}

pub(super) fn find(beach: Uid, at: LonLat, fix: &Fix) -> Find {
    let kinds = Kinds::shipped();
    // The first text that speaks of a known kind says what it is: many receivers only number their waypoints.
    let texts = [&fix.name, &fix.description, &fix.comment, &fix.sort, &fix.symbol];
    let spoken = texts.iter().find(|t| kinds.recognise(t).key() != "other");
    let numbered = fix.name.chars().all(|c| !c.is_alphabetic());
    let what = match spoken {
        Some(text) => text.as_str(),
        None if numbered => texts.iter().skip(1).find(|t| !t.is_empty()).map_or(fix.name.as_str(), |t| t.as_str()),
        None => &fix.name,
    };
    let notes = [&fix.name, &fix.description, &fix.comment].into_iter().filter(|t| !t.is_empty() && t.as_str() != what);
    let notes = notes.map(String::as_str).collect::<Vec<_>>().join("; ");
    let kind = kinds.recognise(what);
    Find { time: fix.time, notes, ..Find::new(beach, at, what, kind) }
}
