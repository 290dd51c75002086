use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rstar::{RTree, primitives::GeomWithData};

use crate::book::LevelPoint;
use crate::earth::Frame;
use crate::trust::Higher;

/// Levels of an older survey go where a newer one lies this near, metres.
pub(super) const NEWER_WITHIN_M: f64 = 15.0;
/// Levels of different surveys this near to each other are of one place, metres.
const SAME_PLACE_M: f64 = 3.0;
/// Levels of one survey this near to each other are of one place, metres.
const SAME_SPOT_M: f64 = 0.5;
/// They contradict each other beyond this difference, metres: more than a slope of one in ten gives over the three metres.
const CONTRARY_M: f64 = 0.3;
/// A level of a later survey is held against the nearest of an earlier one this near, metres.
const SAME_SAND_M: f64 = 5.0;
/// The later one is told to lie higher at so many spots at least, ...
const LEAST_SPOTS: usize = 5;
/// ... by so much in the middle, metres (a judgement: a beach builds up by decimetres, its berm alone by more), ...
const HIGHER_M: f64 = 0.5;
/// ... and by half of that at three spots of four.
const EVENLY_M: f64 = 0.25;
/// Of a later survey no more than about so many spots are looked at for it.
const MOST_SPOTS: usize = 2_000;

/// The levels that a beach is built of.
#[derive(Debug, Clone, Default)]
pub struct NewestLevels<'a> {
    /// Those that still hold, in the order of the input.
    pub levels: Vec<&'a LevelPoint>,
    /// How many places have two levels that differ and no dates that tell which is newer.
    pub contrary: usize,
    /// By how much they differ at most, metres.
    pub contrary_m: f64,
    /// How many places have two levels of one day that differ.
    pub one_day: usize,
    /// By how much those differ at most, metres.
    pub one_day_m: f64,
    /// Later surveys that lie evenly higher than an earlier one, with the one that they lie highest above.
    pub higher: Vec<Higher>,
}

impl NewestLevels<'_> {
    /// What is to be said of levels that contradict each other.
    pub fn said(&self) -> Option<String> {
        let undated = (self.contrary > 0).then(|| {
            format!(
                "At {} place(s) two levels differ by up to {:.1} m and no date says which is newer: the lower one is taken. Give each survey its date.",
                self.contrary, self.contrary_m
            )
        });
        let one_day = (self.one_day > 0).then(|| {
            format!(
                "At {} place(s) two levels of one day differ by up to {:.1} m: the lower one is taken. Look which of them is wrong, and take it out.",
                self.one_day, self.one_day_m
            )
        });
        let said: Vec<String> = undated.into_iter().chain(one_day).collect();
        (!said.is_empty()).then(|| said.join(" "))
    }
}

type Placed<'a> = (usize, [f64; 2], &'a LevelPoint);

/// The levels that still hold: those of older surveys go where a newer one was taken nearby.
///
/// Surveys are taken day by day, newest first; a level is dropped when a level of a later day lies
/// within `within_m` metres. Levels without a date are older than any with one, but where one contradicts
/// another level of the same place nobody knows which is newer: the lower holds then, as sand believed too high drowns people.
/// So it does of two levels of one day.
/// The order of the input is kept. Positions that cannot belong to the beach are left out.
pub fn newest_levels<'a>(frame: &Frame, levels: impl IntoIterator<Item = &'a LevelPoint>, within_m: f64) -> NewestLevels<'a> {
    let mut placed: Vec<Placed<'a>> = levels
        .into_iter()
        .enumerate()
        .filter_map(|(n, level)| frame.to_local(level.at).ok().map(|p| (n, [p.east_m, p.north_m], level)))
        .collect();
    let mut told = NewestLevels::default();
    let Contrary { dropped, holding } = Contrary::of(&placed, &mut told);
    placed.retain(|(n, ..)| !dropped.contains(n));
    // `None` sorts before any day, so the reversed order ends with it.
    placed.sort_by_key(|(n, _, level)| (std::cmp::Reverse(level.date), *n));
    let mut tree: RTree<GeomWithData<[f64; 2], ()>> = RTree::new();
    let mut kept = Vec::with_capacity(placed.len());
    for day in placed.chunk_by(|a, b| a.2.date == b.2.date) {
        let holds = |(n, p, _): &&Placed<'a>| {
            holding.contains(n) || tree.locate_within_distance(*p, within_m * within_m).next().is_none()
        };
        let fresh: Vec<_> = day.iter().filter(holds).collect();
        for (_, p, _) in &fresh {
            tree.insert(GeomWithData::new(*p, ()));
        }
        kept.extend(fresh.into_iter().copied());
    }
    told.higher = higher_than_older(&kept, &placed);
    kept.sort_by_key(|(n, ..)| *n);
    told.levels = kept.into_iter().map(|(.., level)| level).collect();
    told
}

/// Levels that contradict each other and whose dates do not tell which is newer, by their number.
#[derive(Default)]
struct Contrary {
    /// The higher ones.
    dropped: BTreeSet<usize>,
    /// The lower ones that may be as new as any.
    holding: BTreeSet<usize>,
}

impl Contrary {
    fn of(placed: &[Placed<'_>], told: &mut NewestLevels<'_>) -> Self {
        let mut contrary = Self::default();
        let survey = |(_, _, level): &Placed<'_>| (level.date, level.survey.clone());
        let one_survey = placed.first().is_none_or(|first| {
            let first = survey(first);
            placed.iter().all(|(_, _, l)| l.date == first.0 && l.survey == first.1)
        });
        let reach_m = if one_survey { SAME_SPOT_M } else { SAME_PLACE_M };
        let tree = RTree::bulk_load(placed.iter().enumerate().map(|(i, (_, p, _))| GeomWithData::new(*p, i)).collect());
        for (n, at, level) in placed {
            let beside = tree.locate_within_distance(*at, reach_m * reach_m).map(|g| (&placed[g.data], g.geom()));
            // Each two are met once from the lower one.
            for ((m, _, other), there) in beside.filter(|((m, _, other), _)| m != n && other.level_m > level.level_m) {
                let undated = level.date.is_none() || other.date.is_none();
                let near_m = (there[0] - at[0]).hypot(there[1] - at[1]);
                let same_survey = other.date == level.date && other.survey == level.survey;
                let by_m = other.level_m - level.level_m;
                let dates_tell = !undated && other.date != level.date;
                if dates_tell || by_m <= CONTRARY_M || (same_survey && near_m > SAME_SPOT_M) {
                    continue;
                }
                let fresh = usize::from(contrary.dropped.insert(*m));
                if undated {
                    contrary.holding.insert(*n);
                    (told.contrary, told.contrary_m) = (told.contrary + fresh, told.contrary_m.max(by_m));
                } else {
                    (told.one_day, told.one_day_m) = (told.one_day + fresh, told.one_day_m.max(by_m));
                }
            }
        }
        contrary
    }
}

/// A level by where it lies east and north, metres.
type Spot = GeomWithData<[f64; 2], f64>;

/// How levels lie above others of the same spots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Above {
    /// At how many spots.
    pub(super) spots: usize,
    /// By so much in the middle, metres; negative where below.
    pub(super) by_m: f64,
    /// Three in four of them by so much or more, metres.
    pub(super) evenly_m: f64,
}

impl Above {
    /// Whether that is worth a word.
    pub(super) fn tells(&self) -> bool {
        self.spots >= LEAST_SPOTS && self.by_m >= HIGHER_M && self.evenly_m >= EVENLY_M
    }
}

/// Levels held against the nearest of others; `None` where none are of one spot.
pub(super) fn above(levels: &[Spot], others: &RTree<Spot>) -> Option<Above> {
    let square_m = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2);
    let up_m = |spot: &Spot| {
        let beside = others.locate_within_distance(*spot.geom(), SAME_SAND_M * SAME_SAND_M);
        let nearest = beside.min_by(|a, b| square_m(a.geom(), spot.geom()).total_cmp(&square_m(b.geom(), spot.geom())));
        nearest.map(|n| spot.data - n.data)
    };
    let mut up: Vec<f64> = levels.iter().step_by(levels.len() / MOST_SPOTS + 1).filter_map(up_m).collect();
    up.sort_by(f64::total_cmp);
    Some(Above { spots: up.len(), by_m: *up.get(up.len() / 2)?, evenly_m: *up.get(up.len() / 4)? })
}

/// The later surveys of which what still holds lies evenly higher than an earlier one did over the same spots.
fn higher_than_older(kept: &[Placed<'_>], placed: &[Placed<'_>]) -> Vec<Higher> {
    let by_day = |levels: &[Placed<'_>]| {
        let mut days: BTreeMap<Date, Vec<Spot>> = BTreeMap::new();
        for (_, p, level) in levels {
            if let Some(day) = level.date {
                days.entry(day).or_default().push(GeomWithData::new(*p, level.level_m));
            }
        }
        days
    };
    let all = by_day(placed);
    if all.len() < 2 {
        return Vec::new();
    }
    let trees: BTreeMap<Date, RTree<_>> = all.into_iter().map(|(day, levels)| (day, RTree::bulk_load(levels))).collect();
    let mut found = Vec::new();
    for (newer, levels) in by_day(kept) {
        let over = |(older, tree): (&Date, &RTree<Spot>)| {
            let Above { spots, by_m, evenly_m } = above(&levels, tree).filter(Above::tells)?;
            Some(Higher { newer, older: *older, spots, by_m, evenly_m })
        };
        found.extend(trees.range(..newer).filter_map(over).max_by(|a, b| a.by_m.total_cmp(&b.by_m)));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Uid;
    use crate::earth::{Local, LonLat};

    /// Levels of a survey each 20 m, so much above a plane.
    fn survey(frame: &Frame, name: &str, date: Option<&str>, up_m: f64) -> Vec<LevelPoint> {
        let one = |n: i32| LevelPoint {
            uid: Uid::of_content("level", [name.as_bytes(), &n.to_le_bytes()[..]]),
            beach: Uid::of_content("beach", [&b"invented"[..]]),
            at: frame.to_lonlat(Local::new(f64::from(n % 10) * 20.0, f64::from(n / 10) * -20.0)).unwrap(),
            level_m: 3.0 - 0.5 * f64::from(n / 10) + up_m,
            sigma_m: None,
            date: date.map(|d| d.parse().unwrap()),
            survey: name.to_owned(),
        };
        (0..60).map(one).collect()
    }

    #[test]
    fn where_no_date_tells_which_is_newer_the_lower_level_holds_and_it_is_said() {
        let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
        let lowest = |surveys: [Vec<LevelPoint>; 2]| {
            let all: Vec<LevelPoint> = surveys.into_iter().flatten().collect();
            let told = newest_levels(&frame, &all, 15.0);
            let up: Vec<f64> = told.levels.iter().map(|l| l.level_m).collect();
            (up.len(), (up.iter().sum::<f64>() * 10.0).round() / 10.0, told.said().is_some())
        };
        let plane = lowest([survey(&frame, "a", Some("2026-05-01"), 0.0), Vec::new()]);
        let [undated, dated] = [None, Some("2024-05-01")];
        // 1.2 m apart, in either order and with one of them dated or none: the lower one alone.
        for (first, second) in [(undated, undated), (dated, undated), (undated, dated)] {
            for up in [[0.0, 1.2], [1.2, 0.0]] {
                let told = lowest([survey(&frame, "a", first, up[0]), survey(&frame, "b", second, up[1])]);
                assert_eq!((told.0, told.1, told.2), (plane.0, plane.1, true), "{first:?} {second:?} {up:?}");
            }
        }
        // Dates tell: the newer one, and nothing is said.
        let newer = lowest([survey(&frame, "a", dated, 0.0), survey(&frame, "b", Some("2026-05-01"), 1.2)]);
        assert_eq!((newer.0, newer.2), (60, false));
        assert!((newer.1 - plane.1 - 72.0).abs() < 0.2, "{newer:?}");
        // Of one day the lower holds, and it is said.
        let day = Some("2026-05-01");
        for up in [[0.0, 1.2], [1.2, 0.0]] {
            let told = lowest([survey(&frame, "a", day, up[0]), survey(&frame, "b", day, up[1])]);
            assert_eq!((told.0, told.1, told.2), (plane.0, plane.1, true), "{up:?}");
        }
        // Within one survey levels of one spot alone: those 20 m apart stand beside each other on a slope of one in forty.
        assert!(!lowest([survey(&frame, "a", day, 0.0), Vec::new()]).2);
        // An older one without a date that agrees is dropped as before, or stands beside another.
        assert!(!lowest([survey(&frame, "a", dated, 0.0), survey(&frame, "b", undated, 0.1)]).2);
    }

    #[test]
    fn a_later_survey_that_lies_evenly_higher_than_an_earlier_one_is_told() {
        let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
        let [first, second, third] = ["2026-05-01", "2026-06-01", "2026-07-01"].map(Some);
        let higher = |surveys: &[Vec<LevelPoint>]| {
            let all: Vec<LevelPoint> = surveys.iter().flatten().cloned().collect();
            let told = newest_levels(&frame, &all, 15.0).higher;
            told.iter().map(|h| (h.newer.to_string(), h.older.to_string(), h.spots, (h.by_m * 100.0).round())).collect::<Vec<_>>()
        };
        let old = survey(&frame, "a", first, 0.0);
        let told = ("2026-06-01".to_owned(), "2026-05-01".to_owned(), 60, 200.0);
        assert_eq!(higher(&[old.clone(), survey(&frame, "b", second, 2.0)]), [told]);
        // Lower, a little higher, or too few spots: no word; an earlier one that lay lower is told.
        for (day, up_m, spots) in [(second, -2.0, 60), (second, 0.4, 60), (Some("2026-04-01"), -2.0, 60), (second, 2.0, 4)] {
            let other: Vec<LevelPoint> = survey(&frame, "b", day, up_m).into_iter().take(spots).collect();
            let all = [old.clone(), other];
            let expected = usize::from(day == Some("2026-04-01"));
            assert_eq!(higher(&all).len(), expected, "{day:?} {up_m} {spots}");
        }
        // A berm that grew on a sixth of the beach is none either.
        let mut berm = survey(&frame, "b", second, 0.05);
        berm.iter_mut().take(10).for_each(|l| l.level_m += 1.5);
        assert_eq!(higher(&[old.clone(), berm]), []);
        // A third that goes with the wrong one does not speak for it; one that goes with the first does away with it.
        let wrong = survey(&frame, "b", second, 2.0);
        let third_of = |up_m: f64| higher(&[old.clone(), wrong.clone(), survey(&frame, "c", third, up_m)]);
        assert_eq!(third_of(2.1).len(), 1);
        assert_eq!(third_of(0.0), []);
    }
}
