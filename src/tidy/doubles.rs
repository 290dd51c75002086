//! What stands in a book twice: one walk from two receivers, one find by its photo and by the receiver, a file taken again
//! after it was put right. Common practice, no published source.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;

use super::merged;
use super::paths::one_walk;
use crate::book::{Book, Edit, Find, Kinds, Outing, RecordKind, Signal, Track, TrackPoint, Uid};
use crate::earth::distance_m;

/// Why two records may be one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Twice {
    /// One walk, as two receivers saw it.
    TwoReceivers,
    /// Two visits of one time, of which one has no track.
    TwoOutings,
    /// One find by its photo and by the receiver.
    PhotoAndReceiver,
    /// A file that was taken again after it was put right.
    TakenAgain,
}

impl Twice {
    /// What its names begin with.
    fn word(self) -> &'static str {
        match self {
            Self::TwoReceivers => "walk",
            Self::TwoOutings => "outing",
            Self::PhotoAndReceiver => "photo",
            Self::TakenAgain => "again",
        }
    }
}

/// Two records that may be one, with the edits that would make them so.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Its name, the same as long as both records are there.
    pub name: String,
    /// Why.
    pub twice: Twice,
    /// The beach both belong to.
    pub beach: Uid,
    /// The record that stays, and the one that goes.
    pub pair: [Uid; 2],
    /// What they have in common and in what they differ, in a sentence.
    pub words: String,
    /// The change that keeps the first of the pair.
    pub edit: Edit,
    /// The change that keeps the second.
    pub other: Edit,
}

/// A photo is taken within this of the digging, seconds.
const PHOTO_S: i64 = 600;
/// A camera's receiver and another differ by no more than this, metres.
const PHOTO_M: f64 = 20.0;
/// Positions nearer than this are one, as a file gives it, metres.
const SAME_M: f64 = 0.5;
/// Positions nearer than this are one where the time of one is to the minute only, metres.
const MINUTE_M: f64 = 1.0;
/// Two tracks or visits are one where this share of the shorter is common time.
const COMMON: f64 = 0.8;

/// Everything that may stand in the book twice, in order of name. A record stands in one proposal at most.
pub fn doubles(book: &Book) -> Vec<Proposal> {
    let mut found = Vec::new();
    for beach in book.beaches().values() {
        let zone = beach.zone().unwrap_or(TimeZone::UTC);
        let finds: Vec<&Find> = book.finds_of(beach.uid).collect();
        let mut taken = BTreeSet::new();
        taken_again(&finds, &zone, &mut taken, &mut found);
        to_the_minute(&finds, &mut taken, &mut found);
        by_photo(&finds, &mut taken, &mut found);
        let walks = walks(book, beach.uid, &mut found);
        outings(book, beach.uid, &walks, &mut found);
    }
    found.sort_by(|a, b| (a.twice, &a.name).cmp(&(b.twice, &b.name)));
    found
}

fn name(twice: Twice, a: Uid, b: Uid) -> String {
    let both = [a.min(b).to_string(), a.max(b).to_string()];
    let uid = Uid::of_content("double", both.iter().map(|u| u.as_bytes())).to_string();
    format!("{}-{}", twice.word(), uid.get(..8).unwrap_or_default())
}

fn of_finds(twice: Twice, keep: &Find, goes: &Find, words: String) -> Proposal {
    let edit = |keep: &Find, goes: &Find| {
        Edit::Batch(vec![Edit::put(merged::find(keep, goes)), Edit::Remove(RecordKind::Find, goes.uid)])
    };
    Proposal {
        name: name(twice, keep.uid, goes.uid),
        twice,
        beach: keep.beach,
        pair: [keep.uid, goes.uid],
        words,
        edit: edit(keep, goes),
        other: edit(goes, keep),
    }
}

fn called(find: &Find) -> &str {
    if find.what.trim().is_empty() { find.kind.label() } else { find.what.trim() }
}

/// How much a find says, by which of two is kept.
fn fields(find: &Find) -> usize {
    let numbers = [find.depth_m, find.target_id, find.mass_g, find.size_mm].iter().flatten().count();
    let texts =
        [&find.state, &find.photo, &find.notes, &find.finder, &find.value, &find.age].iter().filter(|t| !t.is_empty()).count();
    numbers + texts + find.more.len() + usize::from(find.outing.is_some())
}

/// Two finds of one place and one name of which a value, the place, or the order of day and month was put right, or two of
/// one place and time of which the name was. Of more than two no pair can be told.
fn taken_again(finds: &[&Find], zone: &TimeZone, taken: &mut BTreeSet<Uid>, found: &mut Vec<Proposal>) {
    let mut by_time: BTreeMap<(String, Timestamp), Vec<&Find>> = BTreeMap::new();
    let mut by_place: BTreeMap<(String, i64, i64), Vec<&Find>> = BTreeMap::new();
    let mut by_both: BTreeMap<(Timestamp, i64, i64), Vec<&Find>> = BTreeMap::new();
    for find in finds {
        let Some(time) = find.time else { continue };
        let words = called(find).to_lowercase();
        let fine = |degrees: f64| (degrees * 1e7).round() as i64;
        let (lon, lat) = (fine(find.at.lon_deg()), fine(find.at.lat_deg()));
        by_place.entry((words.clone(), lon, lat)).or_default().push(find);
        by_both.entry((time, lon, lat)).or_default().push(find);
        by_time.entry((words, time)).or_default().push(find);
    }
    let groups = by_time.into_values().chain(by_place.into_values()).chain(by_both.into_values());
    for pair in groups {
        let [a, b] = pair.as_slice() else { continue };
        if taken.contains(&a.uid) || taken.contains(&b.uid) {
            continue;
        }
        let Some(how) = put_right(a, b, zone) else { continue };
        let (keep, goes) = if fields(b) > fields(a) { (b, a) } else { (a, b) };
        taken.extend([a.uid, b.uid]);
        let words =
            format!("\"{}\" stands there twice, as from a file that was taken again after it was put right: {how}", called(keep));
        found.push(of_finds(Twice::TakenAgain, keep, goes, words));
    }
}

/// One find by a receiver, to the second, and from a table that has its time to the minute. Of more than two no pair can be
/// told.
fn to_the_minute(finds: &[&Find], taken: &mut BTreeSet<Uid>, found: &mut Vec<Proposal>) {
    let mut by_minute: BTreeMap<(String, i64), Vec<&Find>> = BTreeMap::new();
    for find in finds.iter().filter(|f| !taken.contains(&f.uid)) {
        let Some(time) = find.time else { continue };
        by_minute.entry((called(find).to_lowercase(), time.as_second().div_euclid(60))).or_default().push(find);
    }
    let is_whole = |find: &Find| find.time.is_some_and(|t| t.as_millisecond().rem_euclid(60_000) == 0);
    for group in by_minute.into_values() {
        let (whole, fine): (Vec<&Find>, Vec<&Find>) = group.into_iter().partition(|find| is_whole(find));
        for a in &whole {
            let mut others = fine.iter().filter(|b| are_near(a, b));
            let (Some(b), None) = (others.next(), others.next()) else { continue };
            if whole.iter().filter(|other| are_near(other, b)).count() != 1 {
                continue;
            }
            let (keep, goes) = if fields(b) >= fields(a) { (*b, *a) } else { (*a, *b) };
            taken.extend([a.uid, b.uid]);
            let words = format!(
                "\"{}\" stands there twice, {:.1} m apart: one has its time to the second, the other to the minute, as from a receiver and \
                 a table",
                called(keep),
                distance_m(a.at, b.at)
            );
            found.push(of_finds(Twice::TakenAgain, keep, goes, words));
        }
    }
}

/// Whether two finds lie as near as one does in two files, and give no different values of the same sort.
fn are_near(a: &Find, b: &Find) -> bool {
    let contradict = [(a.depth_m, b.depth_m), (a.target_id, b.target_id), (a.mass_g, b.mass_g), (a.size_mm, b.size_mm)]
        .into_iter()
        .any(|(a, b)| a.zip(b).is_some_and(|(a, b)| !merged::same(a, b)));
    distance_m(a.at, b.at) <= MINUTE_M && !contradict
}

/// In what two finds differ, if in one thing only that a correction changes.
fn put_right(a: &Find, b: &Find, zone: &TimeZone) -> Option<String> {
    let values = [
        ("depth, m", a.depth_m, b.depth_m),
        ("target ID", a.target_id, b.target_id),
        ("mass, g", a.mass_g, b.mass_g),
        ("size, mm", a.size_mm, b.size_mm),
    ];
    let said = |v: Option<f64>| v.map_or_else(|| "nothing".to_owned(), |v| v.to_string());
    let differing: Vec<String> = values
        .iter()
        .filter(|(_, a, b)| match (a, b) {
            (Some(a), Some(b)) => !merged::same(*a, *b),
            (a, b) => a.is_some() != b.is_some(),
        })
        .map(|(name, a, b)| format!("{name}: {} and {}", said(*a), said(*b)))
        .collect();
    let apart_m = distance_m(a.at, b.at);
    let exchanged = a.time.zip(b.time).is_some_and(|(a, b)| are_exchanged(a, b, zone));
    if called(a).to_lowercase() != called(b).to_lowercase() {
        let shared = values.iter().any(|(_, a, b)| a.is_some() && b.is_some());
        // Two things of one hole are alike in nothing else.
        let renamed = apart_m <= SAME_M && a.time == b.time && differing.is_empty() && (shared || is_said_more_fully(a, b));
        return renamed.then(|| format!("one is called \"{}\", the other \"{}\"", called(a), called(b)));
    }
    match (apart_m <= SAME_M, a.time == b.time, differing.as_slice()) {
        (true, true, [one]) => Some(one.clone()),
        (false, true, []) => Some(format!("the places lie {apart_m:.0} m apart")),
        (true, false, []) if exchanged => Some("day and month are exchanged".to_owned()),
        _ => None,
    }
}

/// Whether the name of one holds every word of the other's: "ring" and "gold ring".
fn is_said_more_fully(a: &Find, b: &Find) -> bool {
    let words = |find| -> BTreeSet<String> {
        called(find).to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let (a, b) = (words(a), words(b));
    !a.is_empty() && !b.is_empty() && (a.is_subset(&b) || b.is_subset(&a))
}

fn are_exchanged(a: Timestamp, b: Timestamp, zone: &TimeZone) -> bool {
    [zone, &TimeZone::UTC].into_iter().any(|zone| {
        let (a, b) = (zone.to_datetime(a), zone.to_datetime(b));
        (a.year(), a.month(), a.day(), a.time()) == (b.year(), b.day(), b.month(), b.time()) && a.day() != a.month()
    })
}

/// A find with a photo beside one without, near in place and time, of which nothing contradicts the other.
fn by_photo(finds: &[&Find], taken: &mut BTreeSet<Uid>, found: &mut Vec<Proposal>) {
    let mut timed: Vec<(i64, &Find)> = finds.iter().filter_map(|f| Some((f.time?.as_second(), *f))).collect();
    timed.sort_by_key(|(s, f)| (*s, f.uid));
    let mut pairs: Vec<(i64, f64, &Find, &Find)> = Vec::new();
    for (n, (from_s, a)) in timed.iter().enumerate() {
        for (to_s, b) in timed.iter().skip(n + 1).take_while(|(s, _)| s - from_s <= PHOTO_S) {
            if a.photo.is_empty() == b.photo.is_empty() || !may_be_one(a, b) {
                continue;
            }
            let apart_m = distance_m(a.at, b.at);
            if apart_m <= PHOTO_M {
                let (plain, pictured) = if a.photo.is_empty() { (*a, *b) } else { (*b, *a) };
                pairs.push((to_s - from_s, apart_m, plain, pictured));
            }
        }
    }
    // The nearest first, so that each find goes to its own photo.
    pairs.sort_by(|a, b| (a.0, a.2.uid, a.3.uid).cmp(&(b.0, b.2.uid, b.3.uid)).then(a.1.total_cmp(&b.1)));
    for (apart_s, apart_m, plain, pictured) in pairs {
        if taken.contains(&plain.uid) || taken.contains(&pictured.uid) {
            continue;
        }
        taken.extend([plain.uid, pictured.uid]);
        let words = format!(
            "\"{}\" by the receiver and \"{}\" by its photo {} lie {apart_m:.0} m and {apart_s} s apart",
            called(plain),
            called(pictured),
            pictured.photo
        );
        found.push(of_finds(Twice::PhotoAndReceiver, plain, pictured, words));
    }
}

/// Whether nothing of two finds says that they are different things.
fn may_be_one(a: &Find, b: &Find) -> bool {
    let kinds = Kinds::shipped();
    let general = |f: &Find| kinds.within(&f.kind).unwrap_or(&f.kind).clone();
    let same_kind = a.kind.key() == "other" || b.kind.key() == "other" || general(a) == general(b);
    let numbers = [(a.depth_m, b.depth_m), (a.target_id, b.target_id), (a.mass_g, b.mass_g), (a.size_mm, b.size_mm)];
    same_kind && numbers.into_iter().all(|(a, b)| a.zip(b).is_none_or(|(a, b)| merged::same(a, b)))
}

/// Share of the shorter of two spans that both have in common.
fn common(a: (Timestamp, Timestamp), b: (Timestamp, Timestamp)) -> f64 {
    let s = |t: Timestamp| t.as_millisecond() as f64 / 1000.0;
    let both = s(a.1.min(b.1)) - s(a.0.max(b.0));
    let shorter = (s(a.1) - s(a.0)).min(s(b.1) - s(b.0));
    if shorter <= 0.0 { 0.0 } else { both / shorter }
}

/// Tracks that are one walk; gives the outings they touch.
fn walks(book: &Book, beach: Uid, found: &mut Vec<Proposal>) -> BTreeSet<Uid> {
    let mut tracks: Vec<((Timestamp, Timestamp), &Track)> =
        book.tracks().values().filter(|t| t.beach == beach).filter_map(|t| Some((t.span()?, t))).collect();
    tracks.sort_by_key(|(span, t)| (*span, t.uid));
    let (mut taken, mut touched) = (BTreeSet::new(), BTreeSet::new());
    for (n, (span, a)) in tracks.iter().enumerate() {
        for (other, b) in tracks.iter().skip(n + 1).take_while(|(other, _)| other.0 < span.1) {
            if taken.contains(&a.uid) || taken.contains(&b.uid) || common(*span, *other) < COMMON {
                continue;
            }
            let Some(apart_m) = one_walk(a, b) else { continue };
            let length = |(from, to): &(Timestamp, Timestamp)| to.as_second() - from.as_second();
            // The longer one says more; of two that are as long the denser.
            let first = (length(span) * 10).cmp(&(length(other) * 9)).is_ge()
                && ((length(other) * 10) < length(span) * 9 || a.len() >= b.len());
            let (keep, goes) = if first { (*a, *b) } else { (*b, *a) };
            taken.extend([a.uid, b.uid]);
            touched.extend([a.outing, b.outing].into_iter().flatten());
            let words = format!(
                "the tracks \"{}\" ({} fixes) and \"{}\" ({} fixes) are one walk, {apart_m:.0} m apart in the middle: ground they cover \
                 counts as searched twice",
                keep.name,
                keep.len(),
                goes.name,
                goes.len()
            );
            found.push(Proposal {
                name: name(Twice::TwoReceivers, a.uid, b.uid),
                twice: Twice::TwoReceivers,
                beach,
                pair: [keep.uid, goes.uid],
                words,
                edit: one_track(book, keep, goes),
                other: one_track(book, goes, keep),
            });
        }
    }
    touched
}

/// Those of some new tracks that are a walk of the book's, as a second receiver saw it, each with the track the book has.
pub fn walked_already<'b, 'n>(book: &'b Book, new: impl IntoIterator<Item = &'n Track>) -> Vec<(&'n Track, &'b Track)> {
    let new: Vec<_> = new.into_iter().filter_map(|t| Some((t.span()?, t))).collect();
    if new.is_empty() {
        return Vec::new();
    }
    let known: Vec<_> = book.tracks().values().filter_map(|t| Some((t.span()?, t))).collect();
    let same = |span: (Timestamp, Timestamp), track: &Track| {
        let others = known.iter().filter(|(_, other)| other.beach == track.beach && other.uid != track.uid);
        let mut one = others.filter(|(other, known)| common(span, *other) >= COMMON && one_walk(track, known).is_some());
        one.next().map(|(_, known)| *known)
    };
    new.into_iter().filter_map(|(span, track)| Some((track, same(span, track)?))).collect()
}

/// The track that stays, with what the other walked before and after it; both outings become one.
fn one_track(book: &Book, keep: &Track, goes: &Track) -> Edit {
    let mut track = keep.clone();
    if let Some((from, to)) = keep.span() {
        for segment in &goes.segments {
            let outside = |p: &TrackPoint| p.time().is_some_and(|t| t < from || t > to);
            let runs =
                segment.chunk_by(|a, b| outside(a) == outside(b)).filter(|run| run.len() > 1 && run.first().is_some_and(outside));
            track.segments.extend(runs.map(Arc::<[TrackPoint]>::from));
        }
        track.segments.sort_by_key(|s| s.first().and_then(TrackPoint::time));
    }
    track.outing = keep.outing.or(goes.outing);
    let mut edits = vec![Edit::put(track), Edit::Remove(RecordKind::Track, goes.uid)];
    let pair = keep.outing.zip(goes.outing).filter(|(a, b)| a != b);
    let outings = pair.and_then(|(a, b)| Some((book.outings().get(&a)?, book.outings().get(&b)?)));
    if let Some((keep, gone)) = outings {
        edits.extend(one_outing(book, keep, gone, Some(goes.uid)));
    }
    Edit::Batch(edits)
}

/// What makes one outing of two: everything of the one belongs to the other. The track `but` is seen to elsewhere.
fn one_outing(book: &Book, keep: &Outing, goes: &Outing, but: Option<Uid>) -> Vec<Edit> {
    let mut edits = vec![Edit::put(merged::outing(keep, goes))];
    let home = Some(keep.uid);
    let tracks = book.tracks().values().filter(|t| t.outing == Some(goes.uid) && Some(t.uid) != but);
    edits.extend(tracks.map(|t| Edit::put(Track { outing: home, ..t.clone() })));
    let finds = book.finds().values().filter(|f| f.outing == Some(goes.uid));
    edits.extend(finds.map(|f| Edit::put(Find { outing: home, ..f.clone() })));
    let signals = book.signals().values().filter(|s| s.outing == Some(goes.uid));
    edits.extend(signals.map(|s| Edit::put(Signal { outing: home, ..s.clone() })));
    edits.push(Edit::Remove(RecordKind::Outing, goes.uid));
    edits
}

/// Visits of one time of which one has no track: one was written down, the other came with the receiver's file.
fn outings(book: &Book, beach: Uid, but: &BTreeSet<Uid>, found: &mut Vec<Proposal>) {
    let tracked: BTreeSet<Uid> = book.tracks().values().filter_map(|t| t.outing).collect();
    let all: Vec<&Outing> = book.outings_of(beach).into_iter().filter(|o| !but.contains(&o.uid)).collect();
    let mut taken = BTreeSet::new();
    for (n, a) in all.iter().enumerate() {
        for b in all.iter().skip(n + 1).take_while(|b| b.start < a.end) {
            let one_tracked = tracked.contains(&a.uid) != tracked.contains(&b.uid);
            let setups = a.setup.zip(b.setup).is_none_or(|(a, b)| a == b);
            if taken.contains(&a.uid)
                || taken.contains(&b.uid)
                || !one_tracked
                || !setups
                || common((a.start, a.end), (b.start, b.end)) < COMMON
            {
                continue;
            }
            let (keep, goes) = if tracked.contains(&a.uid) { (*a, *b) } else { (*b, *a) };
            taken.extend([a.uid, b.uid]);
            found.push(Proposal {
                name: name(Twice::TwoOutings, a.uid, b.uid),
                twice: Twice::TwoOutings,
                beach,
                pair: [keep.uid, goes.uid],
                words: format!(
                    "the outing from {} and the one from {}, which has no track, are of one time",
                    keep.start.strftime("%Y-%m-%d %H:%M UTC"),
                    goes.start.strftime("%H:%M UTC")
                ),
                edit: Edit::Batch(one_outing(book, keep, goes, None)),
                other: Edit::Batch(one_outing(book, goes, keep, None)),
            });
        }
    }
}
