//! Finds and outings held against permissions and closed ground.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;

use super::ground::GriddedGround;
use crate::book::part::part;
use crate::book::{Find, Permission, RecordKind, Uid, Zone, ZoneUse, is_day_alone};
use crate::earth::LonLat;

part! {
    /// What is held against permissions, and these.
    pub struct AllowedTables: beaches, outings, tracks, finds, zones, permissions;
}

/// What stands against a find or an outing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// On ground where nobody may search.
    Closed,
    /// Outside the ground of every permission.
    Outside,
    /// On a day on which no permission held, as it had ended.
    Expired,
    /// On a day or at an hour at which no permission held.
    NotThen,
    /// Deeper than agreed.
    TooDeep,
}

/// A find or an outing that no permission covers, or that lies where nobody may search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flag {
    /// A find or an outing.
    pub of: RecordKind,
    /// Which.
    pub uid: Uid,
    /// What stands against it.
    pub why: Why,
    /// The same in a sentence.
    pub sentence: String,
}

struct Given<'a> {
    permission: &'a Permission,
    ground: GriddedGround<'a>,
}

/// What stands against finds and outings of a beach, gravest first. Where the beach has no permission at all only closed
/// ground counts.
pub fn flags(tables: &AllowedTables, beach: Uid) -> Vec<Flag> {
    let zone = tables.beaches().get(&beach).and_then(|b| b.zone().ok()).unwrap_or(TimeZone::UTC);
    let given: Vec<Given<'_>> = tables
        .permissions()
        .values()
        .filter(|p| p.beach == beach)
        .map(|permission| Given { permission, ground: GriddedGround::new(&permission.area) })
        .collect();
    let closed: Vec<(&Zone, GriddedGround<'_>)> =
        tables.zones_of(beach).filter(|z| z.usage == ZoneUse::NoSearch).map(|z| (z, GriddedGround::new(&z.area))).collect();
    let mut all = Vec::new();
    // Another person's finds stand under that person's permissions.
    for find in tables.finds_of(beach).filter(|f| !f.is_of_another()) {
        let then = find.time.map(|t| zone.to_datetime(t));
        let day = then.map(DateTime::date);
        if let Some((why, sentence)) = of_closed(find, day, &closed).or_else(|| of_find(find, then, &given)) {
            all.push(Flag { of: RecordKind::Find, uid: find.uid, why, sentence });
        }
    }
    if !given.is_empty() {
        let places = places_of(tables, beach);
        for outing in tables.outings_of(beach) {
            let ends = (zone.to_datetime(outing.start), zone.to_datetime(outing.end));
            let been = places.get(&outing.uid);
            if let Some((why, sentence)) = of_outing(&outing.name, outing.start, ends, (&given, been)) {
                all.push(Flag { of: RecordKind::Outing, uid: outing.uid, why, sentence });
            }
        }
    }
    all.sort_by_key(|f| (f.why, f.of, f.uid));
    all
}

fn named(find: &Find) -> String {
    if find.what.is_empty() { find.kind.label().to_owned() } else { find.what.clone() }
}

fn of_closed(find: &Find, day: Option<Date>, closed: &[(&Zone, GriddedGround<'_>)]) -> Option<(Why, String)> {
    let (zone, _) = closed.iter().find(|(zone, ground)| {
        // A find without a day may have been made in the season.
        (day.is_none_or(|d| zone.is_closed_on(d))) && ground.holds(find.at)
    })?;
    let why = zone.closure.map_or_else(|| "no search".to_owned(), |c| c.said());
    let unless = if day.is_none() && zone.closure.is_some_and(|c| c.season.is_some()) { "; its day is not known" } else { "" };
    Some((Why::Closed, format!("{} lies in \"{}\" ({why}{unless}).", named(find), zone.name)))
}

fn of_find(find: &Find, time: Option<DateTime>, given: &[Given<'_>]) -> Option<(Why, String)> {
    if given.is_empty() {
        return None;
    }
    let (what, day) = (named(find), time.map(DateTime::date));
    let is_named = |g: &&Given<'_>| find.permission.trim().eq_ignore_ascii_case(g.permission.name.trim());
    if let Some(other) = given.iter().find(is_named).filter(|g| !g.ground.holds(find.at)) {
        let said = format!(
            "{what} is noted under \"{}\", whose ground does not hold its place: it is told to nobody.",
            other.permission.name
        );
        return Some((Why::Outside, said));
    }
    let here: Vec<&Permission> = given.iter().filter(|g| g.ground.holds(find.at)).map(|g| g.permission).collect();
    if here.is_empty() {
        return Some((Why::Outside, format!("{what} lies outside the ground of every permission.")));
    }
    let then: Vec<&Permission> = here.iter().copied().filter(|p| day.is_none_or(|d| p.holds_on(d))).collect();
    if let (true, Some(day)) = (then.is_empty(), day) {
        let (why, said) = not_on(day, &here);
        return Some((why, format!("{what} was found on {day}, {said}.")));
    }
    // A find of an outing stands under that one's hours.
    if let Some(time) = time.filter(|t| find.outing.is_none() && !is_day_alone(*t))
        && !then.iter().any(|p| p.hours.is_none_or(|hours| lies_in(time.time(), hours)))
    {
        let said =
            format!("{what} was found on {} at {}, outside the hours of every permission.", time.date(), time.strftime("%H:%M"));
        return Some((Why::NotThen, said));
    }
    // The permission that allows most decides.
    let deepest = then.iter().try_fold(0.0_f64, |deepest, p| match p.agreed.deepest_m {
        Some(m) => ControlFlow::Continue(deepest.max(m)),
        None => ControlFlow::Break(()),
    });
    match (deepest, find.depth_m) {
        (ControlFlow::Continue(most), Some(depth)) if depth > most + 1e-9 => {
            let (depth, most) = (100.0 * depth, 100.0 * most);
            // Finer where whole centimetres would say the same twice.
            let digits = usize::from(depth.round() == most.round());
            Some((Why::TooDeep, format!("{what} lay {depth:.digits$} cm deep, where {most:.digits$} cm are agreed.")))
        }
        _ => None,
    }
}

fn not_on(day: Date, here: &[&Permission]) -> (Why, String) {
    let ended = here.iter().filter_map(|p| p.to.filter(|to| *to < day).map(|to| (to, &p.name))).max();
    match ended {
        Some((to, name)) => (Why::Expired, format!("after \"{name}\" had ended on {to}")),
        None => (Why::NotThen, "before any permission for that ground began".to_owned()),
    }
}

/// Where an outing was.
#[derive(Default)]
struct Been {
    finds: Vec<LonLat>,
    fixes: Vec<LonLat>,
}

fn places_of(tables: &AllowedTables, beach: Uid) -> BTreeMap<Uid, Been> {
    let mut all = BTreeMap::<Uid, Been>::new();
    for find in tables.finds_of(beach) {
        if let Some(outing) = find.outing {
            all.entry(outing).or_default().finds.push(find.at);
        }
    }
    for track in tables.tracks_of(beach) {
        if let Some(outing) = track.outing {
            all.entry(outing).or_default().fixes.extend(track.points().map(|p| p.at));
        }
    }
    all
}

/// So many fixes on one ground are a visit to it, or one in [`FIXES_IN`] where there are fewer: a fix or two beyond an edge are
/// the receiver's error. A judgement.
const FIXES: usize = 20;
const FIXES_IN: usize = 10;

impl Been {
    /// The grounds, as places in the list, that this was on: each set of those that lie over one another at some place.
    fn on(&self, given: &[Given<'_>]) -> Vec<Vec<usize>> {
        let at = |place: &LonLat| -> Vec<usize> {
            given.iter().enumerate().filter(|(_, g)| g.ground.holds(*place)).map(|(n, _)| n).collect()
        };
        let mut fixes = BTreeMap::<Vec<usize>, usize>::new();
        // One fix after the other lies on the same ground, most often.
        let mut run = (Vec::new(), 0);
        for fix in &self.fixes {
            let is_same = given.iter().enumerate().all(|(n, g)| g.ground.holds(*fix) == run.0.contains(&n));
            if !is_same {
                let (on, count) = std::mem::replace(&mut run, (at(fix), 0));
                *fixes.entry(on).or_default() += count;
            }
            run.1 += 1;
        }
        *fixes.entry(run.0).or_default() += run.1;
        let least = FIXES.min(self.fixes.len().div_ceil(FIXES_IN));
        let mut all: BTreeSet<Vec<usize>> = fixes.into_iter().filter(|(_, n)| *n >= least).map(|(on, _)| on).collect();
        all.extend(self.finds.iter().map(at));
        all.into_iter().filter(|on| !on.is_empty()).collect()
    }
}

/// What stands against an outing, on every ground that it was on; where nothing shows that, as if it had been on all.
fn of_outing(
    name: &str,
    start: Timestamp,
    (from, to): (DateTime, DateTime),
    (given, been): (&[Given<'_>], Option<&Been>),
) -> Option<(Why, String)> {
    let what = if name.is_empty() { format!("The outing of {}", start.strftime("%F")) } else { format!("The outing \"{name}\"") };
    let grounds = match been {
        None => vec![(0..given.len()).collect()],
        Some(been) => been.on(given),
    };
    if grounds.is_empty() {
        return Some((Why::Outside, format!("{what} on {} was outside the ground of every permission.", from.date())));
    }
    let against = grounds.iter().filter_map(|on| {
        let here: Vec<&Permission> = on.iter().filter_map(|n| given.get(*n)).map(|g| g.permission).collect();
        then_against(&what, (from, to), &here)
    });
    against.min()
}

/// What stands against an outing on a ground, by the permissions for that.
fn then_against(what: &str, (from, to): (DateTime, DateTime), here: &[&Permission]) -> Option<(Why, String)> {
    let then: Vec<&Permission> = here.iter().copied().filter(|p| p.holds_on(from.date())).collect();
    if then.is_empty() {
        let (why, said) = not_on(from.date(), here);
        return Some((why, format!("{what} was on {}, {said}.", from.date())));
    }
    // A session may end after midnight of the last day where its hours do.
    let to_the_end = |p: &&&Permission| {
        let is_over_night = p.hours.is_some_and(|(a, b)| a >= b) || p.hours.is_none();
        let next = from.date().tomorrow().unwrap_or(from.date());
        p.holds_on(to.date()) || is_over_night && to.date() == next && to.time() < Time::constant(12, 0, 0, 0)
    };
    let then: Vec<&Permission> = then.iter().filter(to_the_end).copied().collect();
    if then.is_empty() {
        return Some((
            Why::Expired,
            format!("{what} of {} went on to {}, when no permission held any more.", from.date(), to.date()),
        ));
    }
    if then.iter().any(|p| p.hours.is_none_or(|hours| stays_in((from, to), hours))) {
        return None;
    }
    Some((Why::NotThen, format!("{what} on {} was outside the hours of every permission.", from.date())))
}

/// Whether a time of day lies within hours, which may run past midnight; the same hour twice is all day.
fn lies_in(time: Time, (from, to): (Time, Time)) -> bool {
    match from.cmp(&to) {
        std::cmp::Ordering::Less => (from..=to).contains(&time),
        std::cmp::Ordering::Equal => true,
        std::cmp::Ordering::Greater => time >= from || time <= to,
    }
}

/// Whether a span of time stays within hours of the day.
fn stays_in((from, to): (DateTime, DateTime), hours: (Time, Time)) -> bool {
    if !lies_in(from.time(), hours) || !lies_in(to.time(), hours) {
        return false;
    }
    // From its beginning to when the hours next end.
    let end = from.date().to_datetime(hours.1);
    let end = if end < from { end.date().tomorrow().map_or(end, |d| d.to_datetime(hours.1)) } else { end };
    hours.0 == hours.1 || to <= end
}

#[cfg(test)]
mod tests {
    use geo_types::{MultiPolygon, polygon};

    use super::*;
    use crate::book::{Agreed, Beach, Book, Edit, Kind, Outing, Part as _, Track, TrackPoint};

    fn area(west: f64, east: f64) -> MultiPolygon<f64> {
        MultiPolygon(vec![polygon![(x: west, y: 45.0), (x: east, y: 45.0), (x: east, y: 45.01), (x: west, y: 45.01)]])
    }

    #[test]
    fn finds_and_outings_are_held_against_ground_days_hours_depth_and_closures() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let t = |text: &str| text.parse::<Timestamp>().unwrap();
        let find = |what: &str, lon: f64, time: Option<&str>, depth_m: Option<f64>| {
            let at = LonLat::new(lon, 45.005).unwrap();
            Find { time: time.map(t), depth_m, ..Find::new(beach.uid, at, what, Kind::keyed("coin")) }
        };
        let finds = [
            find("good", -20.0, Some("2026-05-01T10:00:00Z"), Some(0.2)),
            find("outside", -19.0, Some("2026-05-01T10:00:00Z"), None),
            find("late", -20.0, Some("2027-05-01T10:00:00Z"), None),
            find("early", -20.0, Some("2025-05-01T10:00:00Z"), None),
            find("deep", -20.0, Some("2026-05-01T10:00:00Z"), Some(0.4)),
            find("among terns", -19.995, Some("2026-05-01T10:00:00Z"), None),
            find("after the terns", -19.995, Some("2026-11-01T10:00:00Z"), None),
            find("terns, perhaps", -19.995, None, None),
            find("at night", -20.0, Some("2026-05-01T00:30:00Z"), None),
            find("a hair too deep", -20.0, Some("2026-05-01T10:00:00Z"), Some(0.304)),
        ];
        let permission = Permission {
            from: Some("2026-01-01".parse().unwrap()),
            to: Some("2026-12-31".parse().unwrap()),
            hours: Some((jiff::civil::time(6, 0, 0, 0), jiff::civil::time(21, 0, 0, 0))),
            agreed: Agreed { deepest_m: Some(0.3), ..Agreed::default() },
            ..Permission::new(beach.uid, "Foreshore", area(-20.01, -19.99))
        };
        let terns = Zone {
            uid: Uid::fresh(),
            beach: beach.uid,
            name: "Tern plot".into(),
            usage: ZoneUse::NoSearch,
            area: area(-19.996, -19.994),
            closure: Some("bird_closure 03-01/08-31".parse().unwrap()),
            notes: String::new(),
        };
        let outing = |name: &str, from: &str, to: &str| Outing { name: name.into(), ..Outing::new(beach.uid, t(from), t(to)) };
        let outings = [
            outing("in time", "2026-05-01T08:00:00Z", "2026-05-01T12:00:00Z"),
            outing("by night", "2026-05-02T20:00:00Z", "2026-05-02T23:00:00Z"),
            outing("expired", "2027-02-01T08:00:00Z", "2027-02-01T12:00:00Z"),
            outing("through the night", "2026-05-03T19:00:00Z", "2026-05-04T09:00:00Z"),
            outing("too long", "2026-12-31T10:00:00Z", "2027-01-02T10:00:00Z"),
        ];
        let mut book = Book::new();
        let edits = finds.iter().cloned().map(Edit::put).chain(outings.iter().cloned().map(Edit::put));
        book.apply(&Edit::put(beach.clone())).unwrap();
        book.apply(&Edit::Batch(edits.collect())).unwrap();
        // Without a permission nothing is outside one, and without closed ground nothing is flagged.
        assert!(flags(&AllowedTables::of_book(&book), beach.uid).is_empty());
        book.apply(&Edit::Batch(vec![Edit::put(permission), Edit::put(terns)])).unwrap();
        let told: Vec<(Why, String)> =
            flags(&AllowedTables::of_book(&book), beach.uid).into_iter().map(|f| (f.why, f.sentence)).collect();
        let of = |why: Why| told.iter().filter(|(w, _)| *w == why).map(|(_, s)| s.as_str()).collect::<Vec<_>>().join("\n");
        assert!(of(Why::Closed).contains("among terns lies in \"Tern plot\" (bird closure, 1 March to 31 August)."));
        assert!(of(Why::Closed).contains("terns, perhaps") && of(Why::Closed).contains("day is not known"));
        assert!(of(Why::Outside).starts_with("outside lies") && of(Why::TooDeep).contains("deep lay 40 cm deep, where 30 cm"));
        assert!(of(Why::Expired).contains("late was found on 2027-05-01, after \"Foreshore\" had ended on 2026-12-31."));
        assert!(
            of(Why::Expired).contains("expired") && of(Why::NotThen).contains("early") && of(Why::NotThen).contains("by night")
        );
        assert!(of(Why::NotThen).contains("at night was found on 2026-05-01 at 00:30, outside the hours"));
        assert!(
            of(Why::NotThen).contains("through the night")
                && of(Why::Expired).contains("too long\" of 2026-12-31 went on to 2027-01-02")
        );
        assert!(of(Why::TooDeep).contains("a hair too deep lay 30.4 cm deep, where 30.0 cm"));
        assert_eq!(told.len(), 12, "{told:?}");
        assert!(told.is_sorted_by_key(|(why, _)| *why));
    }

    #[test]
    fn an_outing_is_judged_by_the_ground_its_track_or_finds_lie_on() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let t = |text: &str| text.parse::<Timestamp>().unwrap();
        let to = |name: &str, ground, to: Option<&str>| Permission {
            to: to.map(|day| day.parse().unwrap()),
            ..Permission::new(beach.uid, name, ground)
        };
        let ended = to("West", area(-20.01, -20.0), Some("2026-03-31"));
        let holding = to("East", area(-19.99, -19.98), None);
        let outing = |name: &str| Outing {
            uid: Uid::fresh(),
            name: name.into(),
            ..Outing::new(beach.uid, t("2026-05-01T08:00:00Z"), t("2026-05-01T09:00:00Z"))
        };
        let outings = ["west by find", "west by track", "east", "nowhere known", "beyond"].map(outing);
        let find = |n: usize, lon: f64| {
            let at = LonLat::new(lon, 45.005).unwrap();
            let find = Find::new(beach.uid, at, "coin", Kind::keyed("coin"));
            Find { time: Some(t("2026-05-01T08:30:00Z")), outing: Some(outings[n].uid), ..find }
        };
        let walk = |n: usize, west: f64, fixes: usize| {
            let at = |k: usize| TrackPoint::new(LonLat::new(west + 1e-6 * k as f64, 45.005).unwrap());
            let segments: Vec<std::sync::Arc<[TrackPoint]>> = vec![(0..fixes).map(at).collect()];
            let uid = Track::content_uid(beach.uid, &segments);
            Track { uid, beach: beach.uid, outing: Some(outings[n].uid), name: String::new(), segments }
        };
        let mut book = Book::new();
        book.apply(&Edit::put(beach.clone())).unwrap();
        book.apply(&Edit::Batch(outings.iter().cloned().map(Edit::put).collect())).unwrap();
        let rest = vec![
            Edit::put(ended),
            Edit::put(holding),
            Edit::put(find(0, -20.005)),
            Edit::put(walk(1, -20.005, 300)),
            Edit::put(find(2, -19.985)),
            Edit::put(walk(2, -19.985, 300)),
            // Two fixes of its three hundred are astray.
            Edit::put(walk(2, -20.005, 2)),
            Edit::put(walk(4, -20.5, 300)),
        ];
        book.apply(&Edit::Batch(rest)).unwrap();
        let told = flags(&AllowedTables::of_book(&book), beach.uid);
        let of = |n: usize| told.iter().find(|f| f.of == RecordKind::Outing && f.uid == outings[n].uid);
        assert_eq!(of(0).map(|f| f.why), Some(Why::Expired));
        assert!(of(1).is_some_and(|f| f.sentence.ends_with("after \"West\" had ended on 2026-03-31.")), "{told:?}");
        assert_eq!((of(2), of(3)), (None, None));
        assert_eq!(of(4).map(|f| f.why), Some(Why::Outside));
    }
}
