use rstar::{RTree, primitives::GeomWithData};

use crate::book::LevelPoint;
use crate::earth::Frame;

/// Levels of different surveys this near to each other are of one place, metres.
const SAME_PLACE_M: f64 = 3.0;
/// Levels of one survey this near to each other are of one place, metres.
const SAME_SPOT_M: f64 = 0.5;
/// They contradict each other from this difference on, metres: more than a slope of one in ten gives over the three metres.
const CONTRARY_M: f64 = 0.4;

/// The levels that a beach is built of.
#[derive(Debug, Clone, Default)]
pub struct NewestLevels<'a> {
    /// Those that still hold, in the order of the input.
    pub levels: Vec<&'a LevelPoint>,
    /// How many places have two levels that differ and no dates that tell which is newer.
    pub contrary: usize,
    /// By how much they differ at most, metres.
    pub contrary_m: f64,
}

impl NewestLevels<'_> {
    /// What is to be said of levels that contradict each other.
    pub fn said(&self) -> Option<String> {
        (self.contrary > 0).then(|| {
            format!(
                "At {} place(s) two levels differ by up to {:.1} m and no date says which is newer: the lower one is taken. Give each survey its date.",
                self.contrary, self.contrary_m
            )
        })
    }
}

type Placed<'a> = (usize, [f64; 2], &'a LevelPoint);

/// The levels that still hold: those of older surveys go where a newer one was taken nearby.
///
/// Surveys are taken day by day, newest first; a level is dropped when a level of a later day lies
/// within `within_m` metres. Levels without a date are older than any with one, but where one contradicts
/// another level of the same place nobody knows which is newer: the lower holds then, as sand believed too high drowns people.
/// The order of the input is kept. Positions that cannot belong to the beach are left out.
pub fn newest_levels<'a>(frame: &Frame, levels: impl IntoIterator<Item = &'a LevelPoint>, within_m: f64) -> NewestLevels<'a> {
    let mut placed: Vec<Placed<'a>> = levels
        .into_iter()
        .enumerate()
        .filter_map(|(n, level)| frame.to_local(level.at).ok().map(|p| (n, [p.east_m, p.north_m], level)))
        .collect();
    let mut told = NewestLevels::default();
    let lower = lower_of_contrary(&placed, &mut told);
    placed.retain(|(n, ..)| lower.get(n) != Some(&false));
    // `None` sorts before any day, so the reversed order ends with it.
    placed.sort_by_key(|(n, _, level)| (std::cmp::Reverse(level.date), *n));
    let mut tree: RTree<GeomWithData<[f64; 2], ()>> = RTree::new();
    let mut kept = Vec::with_capacity(placed.len());
    for day in placed.chunk_by(|a, b| a.2.date == b.2.date) {
        let holds = |(n, p, _): &&Placed<'a>| {
            lower.get(n) == Some(&true) || tree.locate_within_distance(*p, within_m * within_m).next().is_none()
        };
        let fresh: Vec<_> = day.iter().filter(holds).collect();
        for (_, p, _) in &fresh {
            tree.insert(GeomWithData::new(*p, ()));
        }
        kept.extend(fresh.iter().map(|(n, _, level)| (*n, *level)));
    }
    kept.sort_by_key(|(n, _)| *n);
    told.levels = kept.into_iter().map(|(_, level)| level).collect();
    told
}

/// Of levels that contradict each other and whose dates do not tell which is newer, by their number: whether it is the lower.
fn lower_of_contrary(placed: &[Placed<'_>], told: &mut NewestLevels<'_>) -> std::collections::BTreeMap<usize, bool> {
    let mut lower = std::collections::BTreeMap::new();
    if placed.iter().all(|(_, _, level)| level.date.is_some()) {
        return lower;
    }
    let tree = RTree::bulk_load(placed.iter().enumerate().map(|(i, (_, p, _))| GeomWithData::new(*p, i)).collect());
    for (n, at, level) in placed.iter().filter(|(_, _, level)| level.date.is_none()) {
        let beside = tree.locate_within_distance(*at, SAME_PLACE_M * SAME_PLACE_M).map(|g| (&placed[g.data], g.geom()));
        for ((m, _, other), there) in beside.filter(|((m, ..), _)| m != n) {
            let near_m = (there[0] - at[0]).hypot(there[1] - at[1]);
            let same_survey = other.date.is_none() && other.survey == level.survey;
            let by_m = (other.level_m - level.level_m).abs();
            if by_m < CONTRARY_M || (same_survey && near_m > SAME_SPOT_M) {
                continue;
            }
            let (low, high) = if level.level_m < other.level_m { (n, m) } else { (m, n) };
            if lower.insert(*high, false).is_none() {
                told.contrary += 1;
            }
            lower.entry(*low).or_insert(true);
            told.contrary_m = told.contrary_m.max(by_m);
        }
    }
    lower
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
        // An older one without a date that agrees is dropped as before, or stands beside another.
        assert!(!lowest([survey(&frame, "a", dated, 0.0), survey(&frame, "b", undated, 0.1)]).2);
    }
}
