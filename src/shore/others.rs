//! The sand of one beach that another of the book holds too: its levels held against those.

use std::collections::BTreeMap;

use rstar::{RTree, primitives::GeomWithData};

use super::newest::{Above, NEWER_WITHIN_M, above};
use super::{Setting, newest_levels};
use crate::book::part::part;
use crate::book::{Beach, LevelPoint, Uid};
use crate::trust::{Doubt, HigherThanOther, of_other_beach};

part! {
    /// The beaches of a book and their levels.
    pub struct OtherBeachTables: beaches, levels;
}

/// Levels of another beach this far beyond the own ones are none of its sand, metres.
const BEYOND_M: f64 = 10.0;
/// What lies farther off in latitude is not looked at, degrees: no beach is as long.
const FAR_DEG: f64 = 0.5;

/// What is to be said of a beach whose levels lie evenly above those that another of the book has of the same sand, from whatever
/// day either is: one of the two is wrong, and sand believed too high drowns people.
pub fn of_other_beaches(setting: &Setting, tables: &OtherBeachTables) -> Vec<Doubt> {
    let (beach, Ok(shore)) = (&setting.beach, &setting.shore) else { return Vec::new() };
    if beach.invented || !shore.is_surveyed() {
        return Vec::new();
    }
    let own: Vec<GeomWithData<[f64; 2], f64>> =
        shore.surveyed().map(|(p, level_m)| GeomWithData::new([p.east_m, p.north_m], level_m)).collect();
    let span = |n: usize| {
        let all = own.iter().map(|s| s.geom()[n]);
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), m| (low.min(m), high.max(m)))
    };
    let spans = [span(0), span(1)];
    let is_here = |l: &LevelPoint| {
        let p = shore.frame().to_local(l.at).ok();
        p.is_some_and(|p| {
            let within = |m: f64, (low, high): (f64, f64)| (low - BEYOND_M..=high + BEYOND_M).contains(&m);
            within(p.east_m, spans[0]) && within(p.north_m, spans[1])
        })
    };
    let mut others: BTreeMap<Uid, Vec<&LevelPoint>> = BTreeMap::new();
    let near = |l: &&LevelPoint| l.beach != beach.uid && (l.at.lat_deg() - beach.origin.lat_deg()).abs() <= FAR_DEG;
    for level in tables.levels().values().filter(near).filter(|l| is_here(l)) {
        others.entry(level.beach).or_default().push(level);
    }
    let told = |(uid, levels): (Uid, Vec<&LevelPoint>)| {
        let other = tables.beaches().get(&uid).filter(|b| !b.invented)?;
        let held = newest_levels(shore.frame(), levels, NEWER_WITHIN_M).levels;
        let spots = held.into_iter().filter_map(|l| {
            let p = shore.frame().to_local(l.at).ok()?;
            Some(GeomWithData::new([p.east_m, p.north_m], l.level_m))
        });
        let tree = RTree::bulk_load(spots.collect());
        let above = by_datums(beach, other, above(&own, &tree)?);
        let Above { spots, by_m, evenly_m } = above;
        above.tells().then(|| of_other_beach(&HigherThanOther { other: other.name.clone(), spots, by_m, evenly_m }))
    };
    others.into_iter().filter_map(told).collect()
}

/// The same above what both count from: levels above different datums may differ by their offsets.
fn by_datums(beach: &Beach, other: &Beach, above: Above) -> Above {
    let shift_m = beach.datum_offset_m.zip(other.datum_offset_m).map_or(0.0, |(own_m, other_m)| own_m - other_m);
    // Offsets to different tides say little of each other: they excuse, and do not accuse.
    let shift_m = if beach.tide.key() == other.tide.key() { shift_m } else { shift_m.min(0.0) };
    Above { by_m: above.by_m + shift_m, evenly_m: above.evenly_m + shift_m, ..above }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Book, Edit, Record};
    use crate::earth::{Frame, Local, LonLat};
    use crate::trust::Weight;

    /// A beach whose sand lies so much above a plane, its levels so far east of the first one's.
    fn beach(name: &str, up_m: f64, east_m: f64, offset_m: Option<f64>) -> (Uid, Vec<Record>) {
        let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
        let at = |east_m: f64, north_m: f64| frame.to_lonlat(Local::new(east_m, north_m)).unwrap();
        let bare = Beach::new(name, frame.origin());
        let baseline = vec![at(east_m, 0.0), at(east_m + 200.0, 0.0)];
        let beach = Beach { baseline, datum_offset_m: offset_m, ..bare };
        let uid = beach.uid;
        let level = |n: i32| LevelPoint {
            uid: Uid::of_content("level", [name.as_bytes(), &n.to_le_bytes()[..]]),
            beach: uid,
            at: at(east_m + f64::from(n % 10) * 20.0, f64::from(n / 10) * -20.0),
            level_m: 3.0 - 0.5 * f64::from(n / 10) + up_m,
            sigma_m: None,
            date: Some("2026-05-01".parse().unwrap()),
            survey: name.to_owned(),
        };
        let levels = (0..60).map(level).map(Record::from);
        (uid, std::iter::once(Record::from(beach)).chain(levels).collect())
    }

    fn told(first: (f64, Option<f64>), second: (f64, f64, Option<f64>)) -> [Vec<Doubt>; 2] {
        let (own, records) = beach("Invented Bay", first.0, 0.0, first.1);
        let (other, more) = beach("Invented Strand", second.0, second.1, second.2);
        let mut book = Book::new();
        book.apply(&Edit::Batch(records.into_iter().chain(more).map(Edit::put).collect())).unwrap();
        [own, other].map(|uid| of_other_beaches(&Setting::from_book(&book, uid).unwrap(), &OtherBeachTables::from(&book)))
    }

    #[test]
    fn a_second_beach_on_the_same_sand_that_lies_higher_blocks_and_the_lower_one_does_not() {
        let [lower, higher] = told((0.0, None), (1.5, 0.0, None));
        assert_eq!(lower, []);
        assert!(higher.len() == 1 && higher[0].weight == Weight::Blocks, "{higher:?}");
        assert_eq!(higher[0].key, "levels-above:Invented Bay:1.50");
        assert!(higher[0].sentence.contains("\"Invented Bay\"") && higher[0].sentence.contains("1.5 m higher"), "{higher:?}");
        // By less it is asked about, and by little, or elsewhere, nothing is said.
        assert_eq!(told((0.0, None), (0.6, 0.0, None))[1][0].weight, Weight::Question);
        assert_eq!(told((0.0, None), (0.3, 0.0, None)), [[], []]);
        assert_eq!(told((0.0, None), (1.5, 700.0, None)), [[], []]);
    }

    #[test]
    fn levels_above_another_datum_are_no_fault_where_the_offsets_say_as_much() {
        assert_eq!(told((0.0, Some(3.0)), (3.0, 0.0, Some(0.0))), [[], []]);
        // The offsets alone differ: the sand of the one with the larger stands higher above the tide.
        let [larger, smaller] = told((0.0, Some(3.0)), (0.0, 0.0, Some(1.5)));
        assert!(larger.len() == 1 && larger[0].weight == Weight::Blocks && smaller.is_empty(), "{larger:?}");
    }
}
