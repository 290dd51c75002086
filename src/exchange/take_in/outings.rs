//! Which outing a track, a find or a signal belongs to: the one place where that rule stands.
//!
//! A timed track joins the outing whose time, widened by half an hour, it touches; else the outing
//! of the same local day that it follows or precedes by less than three hours; else it makes a new
//! one. An outing grows to hold its tracks. A timed find or signal joins the outing that covers
//! its time within half an hour; else, and where only its day is known, the only outing of that local day; else none. What has no
//! time joins none. Finds and signals that came into the book before their tracks did are joined by
//! the same rule once an outing is there. Common practice, no published source.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::book::{Book, Find, Outing, Record, Signal, Uid, is_day_alone};

/// How far outside an outing a time still belongs to it, seconds.
const SLACK_S: i64 = 30 * 60;
/// How far apart tracks of one day still make one outing, seconds.
const GAP_S: i64 = 3 * 3600;
/// A track longer than this holds a stray time and makes no outing, seconds.
const LONGEST_S: i64 = 36 * 3600;

/// What the rule did.
#[derive(Debug, Default)]
pub(in crate::exchange) struct Assigned {
    /// Outings to be added.
    pub(in crate::exchange) made: Vec<Outing>,
    /// Outings of the book that grew.
    pub(in crate::exchange) grown: Vec<Outing>,
    /// Finds and signals of the book that had no outing and now have one.
    pub(in crate::exchange) adopted: Vec<Record>,
    /// Tracks whose times cannot all be right.
    pub(in crate::exchange) strays: usize,
}

/// An outing of the book, of the file or made here, as this intake leaves it.
struct OutingDraft {
    outing: Outing,
    made: bool,
    grown: bool,
}

/// Gives the records of one beach their outings.
pub(in crate::exchange) fn assign(book: &Book, beach: Uid, zone: &TimeZone, records: &mut [Record]) -> Assigned {
    let in_file = records.iter().filter_map(|r| if let Record::Outing(o) = r { Some(&**o) } else { None });
    let mut drafts: Vec<OutingDraft> = book
        .outings_of(beach)
        .into_iter()
        .chain(in_file)
        .map(|o| OutingDraft { outing: o.clone(), made: false, grown: false })
        .collect();
    let mut assigned = Assigned::default();

    let mut tracks: Vec<_> = records
        .iter_mut()
        .filter_map(|r| if let Record::Track(t) = r { t.span().map(|span| (span, t)) } else { None })
        .filter(|(_, t)| t.outing.is_none())
        .collect();
    tracks.sort_by_key(|(span, t)| (*span, t.uid));
    for ((from, to), track) in tracks {
        if to.as_second() - from.as_second() > LONGEST_S {
            assigned.strays += 1;
            continue;
        }
        Arc::make_mut(track).outing = Some(join_track(&mut drafts, beach, zone, from, to));
    }
    for record in records.iter_mut() {
        let time = match record {
            Record::Find(f) if f.outing.is_none() && !f.is_of_another() => f.time,
            Record::Signal(s) if s.outing.is_none() => s.time,
            _ => continue,
        };
        let Some(outing) = time.and_then(|time| covering(&drafts, zone, time)) else { continue };
        match record {
            Record::Find(f) => Arc::make_mut(f).outing = Some(outing),
            Record::Signal(s) => Arc::make_mut(s).outing = Some(outing),
            _ => {}
        }
    }
    if drafts.iter().any(|s| s.made || s.grown || book.outings().get(&s.outing.uid).is_none()) {
        assigned.adopted = adopted(book, beach, &drafts, zone);
    }
    for draft in drafts {
        if draft.made {
            assigned.made.push(draft.outing);
        } else if draft.grown {
            assigned.grown.push(draft.outing);
        }
    }
    assigned
}

/// The finds and signals of the book that only lacked an outing. None is taken from the outing it has.
fn adopted(book: &Book, beach: Uid, drafts: &[OutingDraft], zone: &TimeZone) -> Vec<Record> {
    let home = |time: Option<Timestamp>| covering(drafts, zone, time?);
    let finds = book.finds_of(beach).filter(|f| f.outing.is_none() && !f.is_of_another());
    let finds = finds.filter_map(|f| Some(Record::from(Find { outing: Some(home(f.time)?), ..f.clone() })));
    let signals = book.signals_of(beach).filter(|s| s.outing.is_none());
    let signals = signals.filter_map(|s| Some(Record::from(Signal { outing: Some(home(s.time)?), ..s.clone() })));
    finds.chain(signals).collect()
}

fn join_track(drafts: &mut Vec<OutingDraft>, beach: Uid, zone: &TimeZone, from: Timestamp, to: Timestamp) -> Uid {
    let gap_s = |o: &Outing| (from.as_second() - o.end.as_second()).max(o.start.as_second() - to.as_second()).max(0);
    let joins = |o: &Outing| gap_s(o) <= SLACK_S || (gap_s(o) < GAP_S && day(zone, o.start) == day(zone, from));
    let nearest = drafts.iter_mut().filter(|s| joins(&s.outing)).min_by_key(|s| (gap_s(&s.outing), s.outing.start, s.outing.uid));
    match nearest {
        Some(draft) => {
            draft.grown |= from < draft.outing.start || to > draft.outing.end;
            draft.outing.start = draft.outing.start.min(from);
            draft.outing.end = draft.outing.end.max(to);
            draft.outing.uid
        }
        None => {
            let outing = Outing::new(beach, from, to);
            let uid = outing.uid;
            drafts.push(OutingDraft { outing, made: true, grown: false });
            uid
        }
    }
}

fn covering(drafts: &[OutingDraft], zone: &TimeZone, time: Timestamp) -> Option<Uid> {
    let off_s = |o: &Outing| (time.as_second() - o.end.as_second()).max(o.start.as_second() - time.as_second()).max(0);
    let near = drafts.iter().map(|s| &s.outing).filter(|o| o.covers(time, SLACK_S)).min_by_key(|o| (off_s(o), o.start, o.uid));
    // The noon of a day without an hour tells no outing from another of that day.
    if let Some(outing) = near.filter(|_| !is_day_alone(zone.to_datetime(time))) {
        return Some(outing.uid);
    }
    let today = day(zone, time);
    let mut of_day = drafts.iter().map(|s| &s.outing).filter(|o| day(zone, o.start) <= today && today <= day(zone, o.end));
    match (of_day.next(), of_day.next()) {
        (Some(only), None) => Some(only.uid),
        _ => None,
    }
}

fn day(zone: &TimeZone, time: Timestamp) -> jiff::civil::Date {
    zone.to_datetime(time).date()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Edit, Kind, Track, TrackPoint};
    use crate::earth::LonLat;

    const DAY: i64 = 86_400;

    fn at() -> LonLat {
        LonLat::new(-20.0, 45.0).unwrap()
    }

    fn time(hours: f64) -> Timestamp {
        Timestamp::from_second(20_000 * DAY + (hours * 3600.0) as i64).unwrap()
    }

    fn track(beach: Uid, from: f64, to: f64) -> Record {
        let segment: std::sync::Arc<[_]> = [from, to].map(|t| TrackPoint::new(at()).with_time(Some(time(t)))).into();
        let uid = Track::content_uid(beach, std::slice::from_ref(&segment));
        Track { uid, beach, outing: None, name: String::new(), segments: vec![segment] }.into()
    }

    fn find(beach: Uid, hours: Option<f64>) -> Record {
        Find { time: hours.map(time), ..Find::new(beach, at(), "x", Kind::keyed("coin")) }.into()
    }

    fn outing_of(record: &Record) -> Option<Uid> {
        match record {
            Record::Track(t) => t.outing,
            Record::Find(f) => f.outing,
            _ => None,
        }
    }

    fn book(outings: &[(f64, f64)]) -> (Book, Uid, Vec<Uid>) {
        let beach = Beach::new("Invented Bay", at());
        let outings: Vec<_> = outings.iter().map(|(a, b)| Outing::new(beach.uid, time(*a), time(*b))).collect();
        let mut book = Book::new();
        book.apply(&Edit::put(beach.clone())).unwrap();
        outings.iter().for_each(|o| drop(book.apply(&Edit::put(o.clone())).unwrap()));
        (book, beach.uid, outings.iter().map(|o| o.uid).collect())
    }

    #[test]
    fn tracks_near_each_other_on_a_day_share_an_outing() {
        let (book, beach, _) = book(&[]);
        let mut records =
            vec![track(beach, 9.0, 10.0), track(beach, 12.5, 13.0), track(beach, 16.5, 17.0), track(beach, 34.0, 35.0)];
        let assigned = assign(&book, beach, &TimeZone::UTC, &mut records);
        let uids: Vec<_> = records.iter().map(outing_of).collect();
        assert_eq!(uids[0], uids[1]);
        assert!(uids[2] != uids[1] && uids[3] != uids[2]);
        assert_eq!(assigned.made.len(), 3);
        assert_eq!((assigned.made[0].start, assigned.made[0].end), (time(9.0), time(13.0)));
    }

    #[test]
    fn midnight_in_the_beach_s_zone_parts_outings() {
        let (book, beach, _) = book(&[]);
        let mut records = vec![track(beach, 22.0, 23.0), track(beach, 25.0, 26.0)];
        assert_eq!(assign(&book, beach, &TimeZone::UTC, &mut records).made.len(), 2);
        let mut records = vec![track(beach, 22.0, 23.0), track(beach, 25.0, 26.0)];
        let west = TimeZone::get("America/New_York").unwrap();
        assert_eq!(assign(&book, beach, &west, &mut records).made.len(), 1);
    }

    #[test]
    fn a_track_joins_and_stretches_an_outing_of_the_book() {
        let (book, beach, uids) = book(&[(9.0, 11.0)]);
        let mut records = vec![track(beach, 11.2, 12.0)];
        let assigned = assign(&book, beach, &TimeZone::UTC, &mut records);
        assert_eq!(outing_of(&records[0]), Some(uids[0]));
        assert!(assigned.made.is_empty());
        assert_eq!(assigned.grown[0].end, time(12.0));
    }

    #[test]
    fn a_find_takes_the_covering_outing_else_the_day_s_only_one_else_none() {
        let (book, beach, uids) = book(&[(9.0, 11.0), (15.0, 16.0), (33.0, 34.0)]);
        let mut records: Vec<_> =
            [Some(11.4), Some(14.6), Some(13.0), Some(40.0), Some(100.0), None].into_iter().map(|h| find(beach, h)).collect();
        assign(&book, beach, &TimeZone::UTC, &mut records);
        let got: Vec<_> = records.iter().map(outing_of).collect();
        assert_eq!(got, [Some(uids[0]), Some(uids[1]), None, Some(uids[2]), None, None]);
    }

    #[test]
    fn a_find_of_a_day_alone_takes_the_only_outing_of_that_day() {
        let (of_one, beach, uids) = book(&[(9.0, 11.8)]);
        let mut records = vec![find(beach, Some(12.0))];
        assign(&of_one, beach, &TimeZone::UTC, &mut records);
        assert_eq!(outing_of(&records[0]), Some(uids[0]));
        let (of_two, beach, _) = book(&[(9.0, 11.8), (15.0, 16.0)]);
        let mut records = vec![find(beach, Some(12.0))];
        assign(&of_two, beach, &TimeZone::UTC, &mut records);
        assert_eq!(outing_of(&records[0]), None, "noon is nobody's word");
    }

    #[test]
    fn a_find_that_came_before_its_track_is_joined_to_the_outing_the_track_makes() {
        let (mut book, beach, uids) = book(&[(33.0, 34.0)]);
        let early = [find(beach, Some(9.5)), find(beach, None), find(beach, Some(100.0))];
        early.iter().for_each(|r| drop(book.apply(&Edit::put(r.clone())).unwrap()));
        let Record::Find(kept) = find(beach, Some(9.6)) else { unreachable!() };
        book.apply(&Edit::put(Find { outing: Some(uids[0]), ..(*kept).clone() })).unwrap();
        let nothing_new = assign(&book, beach, &TimeZone::UTC, &mut []);
        assert!(nothing_new.adopted.is_empty());
        let assigned = assign(&book, beach, &TimeZone::UTC, &mut [track(beach, 9.0, 10.0)]);
        let [Record::Find(adopted)] = &assigned.adopted[..] else { panic!("{:?}", assigned.adopted) };
        assert_eq!((adopted.time, adopted.outing), (Some(time(9.5)), Some(assigned.made[0].uid)));
    }

    #[test]
    fn a_stray_time_makes_no_outing_of_years() {
        let (book, beach, _) = book(&[]);
        let mut records = vec![track(beach, -9000.0, 10.0)];
        let assigned = assign(&book, beach, &TimeZone::UTC, &mut records);
        assert_eq!((assigned.made.len(), assigned.strays, outing_of(&records[0])), (0, 1, None));
    }
}
