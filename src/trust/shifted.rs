//! A column of heights that stands some tides too far up or down beside its times.
//!
//! Whoever drops or doubles a line of one column moves all heights after it: each is then the height of another tide, at the
//! right time. A station's heights tell of it, once those of each kind are fitted to its own by level and range: where they
//! fit far better some tides earlier or later than on their own dates, they belong there. Beyond some tides no column has slipped: the
//! heights are of other dates, or of another place.

use super::pairs::{Pair, median};
use super::{Doubt, Weight};
use crate::tide::TurnKind;

//
// Of the 5,269 pairs of stations within 10 km 16 are told so, 12 of them beside stations whose clock is itself wrong by hours;
// of tables whose heights are shifted by one to twelve tides and whose lows are then 0.4 m or more too low, beside another
// station within 10 km, 95 in 100 are told.

/// Heights are tried so many tides up and down: a week.
const MOST_TIDES: i32 = 14;
/// So many are lines left out or doubled: two tides are a row of a day, and who leaves out three rows sees it. Beyond them the
/// heights are of another month, year or place, whose springs happen to come so many tides from these.
const MOST_SLIPPED: i32 = 4;
/// So many of each kind must be left to compare, moved as they are.
const LEAST_TURNS: usize = 10;
/// Moved they are off by less than this part of what they are off by as they stand, root mean square, ...
const FITS_PART: f64 = 0.6;
/// ... which is so much at least, metres: less no shift makes that matters.
const LEAST_M: f64 = 0.08;
/// A station ranges as far as the table but for this factor.
const SAME_SEA: f64 = 2.0;
/// The times of each kind lie this near to the station's in the middle case, minutes: where they do not, the table is of
/// other dates or of another place, and that is told elsewhere.
const TIMES_GO_MIN: f64 = 30.0;
/// Heights that stand some tides off beside times that are all so much early or late, minutes, are those of a clock where both
/// together come this near to whole hours, minutes, and to no more than so many: half of the time between two high waters is as
/// far as times alone can tell.
const CLOCK_LEAST_MIN: f64 = 40.0;
const CLOCK_FITS_MIN: f64 = 10.0;
const CLOCK_MOST_H: f64 = 26.0;

/// How heights stand beside a station's.
pub(super) struct Shifted {
    /// The heights stand so many tides too late beside their times, or too early.
    tides: i32,
    days: f64,
    /// What is left of them, root mean square, metres: as they stand, and moved.
    rest_m: f64,
    moved_m: f64,
    /// Whole hours by which times and heights are late together, where they are.
    clock_h: Option<f64>,
}

impl Shifted {
    /// `None` where they stand as they should, or too few tell.
    pub(super) fn new(pairs: &[Pair]) -> Option<Self> {
        if !times_go(pairs) {
            return None;
        }
        let rest_m = rest_m(pairs, 0).filter(|m| *m >= LEAST_M)?;
        let moves = (-MOST_TIDES..=MOST_TIDES).filter(|tides| *tides != 0);
        let all = moves.filter_map(|tides| Some((tides, self::rest_m(pairs, tides)?)));
        let (tides, moved_m) = all.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, m)| *m < FITS_PART * rest_m)?;
        let highs: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == TurnKind::High).collect();
        let span_s = highs.last()?.own.time.duration_since(highs.first()?.own.time).as_secs_f64();
        let days = f64::from(tides.abs()) * span_s / 86_400.0 / (highs.len() - 1) as f64;
        let are_late = median(pairs.iter().map(|p| p.late_min)).is_some_and(|m| m.abs() >= CLOCK_LEAST_MIN);
        let clock_h = late_h(pairs, tides).filter(|_| are_late);
        let fits = |h: &f64| 60.0 * (h - h.round()).abs() <= CLOCK_FITS_MIN && h.abs() <= CLOCK_MOST_H;
        Some(Self { tides, days, rest_m, moved_m, clock_h: clock_h.filter(fits).map(f64::round) })
    }

    /// Whether another station's heights go with the table's on their own dates.
    pub(super) fn goes_with(&self, other: &[Pair]) -> bool {
        times_go(other) && rest_m(other, 0).is_some_and(|m| m < FITS_PART * self.rest_m)
    }

    /// What is said of it; `other` is a station next to the beach with which the heights go as they stand.
    pub(super) fn doubt(&self, (key, table): (&str, &str), there: &str, other: Option<&str>) -> Doubt {
        let (n, late) = (self.tides.abs(), self.tides > 0);
        let tides = if n == 1 { "one tide".to_owned() } else { format!("{n} tides") };
        let but = other.map_or_else(String::new, |name| format!(" Those of {name} go with it as it stands."));
        let weight = if other.is_some() { Weight::Question } else { Weight::Blocks };
        if let Some(hours) = self.clock_h {
            return Doubt {
                key: format!("table-clock:{hours:+.0}h:heights@{key}"),
                sentence: format!(
                    "The times and the heights of the tide table \"{table}\" go with those of {there} when it is moved by {:.0} h {}: was it printed for another clock, or another date?{but}",
                    hours.abs(),
                    if hours > 0.0 { "back" } else { "on" }
                ),
                weight,
                settle: vec!["Look at the head of the table for its clock, and import it again on that one.".to_owned()],
                spans: Vec::new(),
            };
        }
        if n > MOST_SLIPPED {
            return Doubt {
                key: format!("table-odd:{:+}@{key}", self.tides),
                sentence: format!(
                    "The heights of the tide table \"{table}\" do not go with those of {there} on their own dates ({:.2} m off), and far better with those of {:.1} days {} ({:.2} m off): it seems to be of another month, year or place, or its heights stand beside the times of other days.{but}",
                    self.rest_m,
                    self.days,
                    if late { "before" } else { "after" },
                    self.moved_m
                ),
                weight,
                settle: vec![
                    "Look at its head for its place, year and month, compare heights and times with the printed table, and import it again under the right dates."
                        .to_owned(),
                ],
                spans: Vec::new(),
            };
        }
        Doubt {
            key: format!("table-shifted:{:+}@{key}", self.tides),
            sentence: format!(
                "The heights of the tide table \"{table}\" go with those of {there} {tides} ({:.1} days) {} far better than on their own dates ({:.2} m off in place of {:.2} m): its column of heights seems to stand {tides} too {} beside its times.{but}",
                self.days,
                if late { "earlier" } else { "later" },
                self.moved_m,
                self.rest_m,
                if late { "late" } else { "early" }
            ),
            weight,
            settle: vec![
                "Compare heights and times with the printed table, line by line, for a line left out of one column, and import it again."
                    .to_owned(),
            ],
            spans: Vec::new(),
        }
    }
}

/// Whether the times of both kinds keep to the station's, however late they all are.
fn times_go(pairs: &[Pair]) -> bool {
    [TurnKind::High, TurnKind::Low].into_iter().all(|kind| {
        let late = || pairs.iter().filter(|p| p.own.kind == kind).map(|p| p.late_min);
        let off = median(late()).and_then(|middle| median(late().map(|m| (m - middle).abs())));
        off.is_some_and(|m| m <= TIMES_GO_MIN)
    })
}

/// How much later than the station's turns of so many tides earlier those of the table come in the middle, hours.
fn late_h(pairs: &[Pair], tides: i32) -> Option<f64> {
    let (own_from, there_from) = (usize::try_from(tides).unwrap_or(0), usize::try_from(-tides).unwrap_or(0));
    let of_kind = |kind: TurnKind| {
        let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
        let late =
            |(own, there): (&&Pair, &&Pair)| own.own.time.duration_since(there.own.time).as_secs_f64() / 60.0 + there.late_min;
        of.iter().skip(own_from).zip(of.iter().skip(there_from)).map(late).collect::<Vec<f64>>()
    };
    median([TurnKind::High, TurnKind::Low].into_iter().flat_map(of_kind)).map(|min| min / 60.0)
}

/// Root mean square of what is left of the heights once those of each kind are fitted to the station's of so many tides
/// earlier, metres.
fn rest_m(pairs: &[Pair], tides: i32) -> Option<f64> {
    let (own_from, there_from) = (usize::try_from(tides).unwrap_or(0), usize::try_from(-tides).unwrap_or(0));
    let (mut squares, mut n) = (0.0, 0.0);
    for kind in [TurnKind::High, TurnKind::Low] {
        let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
        let both = of.iter().skip(own_from).zip(of.iter().skip(there_from));
        let both: Vec<(f64, f64)> = both.map(|(own, there)| (own.own.level_m, there.there_m)).collect();
        if both.len() < LEAST_TURNS {
            return None;
        }
        let many = both.len() as f64;
        let (own_m, there_m) = both.iter().fold((0.0, 0.0), |(a, b), (own, there)| (a + own / many, b + there / many));
        let (xx, xy) = both.iter().fold((0.0, 0.0), |(xx, xy), (own, there)| {
            let (x, y) = (there - there_m, own - own_m);
            (xx + x * x, xy + x * y)
        });
        let times = if xx > 0.0 { (xy / xx).clamp(1.0 / SAME_SEA, SAME_SEA) } else { 1.0 };
        squares += both.iter().map(|(own, there)| (own - own_m - times * (there - there_m)).powi(2)).sum::<f64>();
        n += many;
    }
    Some((squares / n).sqrt())
}

#[cfg(test)]
mod tests {
    use jiff::{SignedDuration, Timestamp};

    use super::*;
    use crate::tide::{Catalogue, Datum, Predictor, Turn};
    use crate::trust::pairs::paired;

    const ST_MALO: &str = "ticon/saint_malo-410-fra-refmar";
    const BROOME: &str = "ticon/broome-166-aus-uhslc_fd";
    const LLANDUDNO: &str = "ticon/llandudno-lla-gbr-bodc";
    const LIVERPOOL: &str = "ticon/liverpool_gladstone_dock-liv-gbr-bodc";

    fn predictor(id: &str) -> Predictor {
        Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap()
    }

    /// A month of a station's turns, the column of their heights so many tides too late, beside a station.
    fn told(id: &str, tides: i32, beside: &str, days: i64) -> Option<Shifted> {
        let from: Timestamp = "2026-11-15T00:00:00Z".parse().unwrap();
        let turns = predictor(id).turns(from, from + SignedDuration::from_hours(24 * days));
        let (times, heights) = (usize::try_from(2 * tides).unwrap_or(0), usize::try_from(-2 * tides).unwrap_or(0));
        let both = turns.iter().skip(times).zip(turns.iter().skip(heights));
        let own: Vec<Turn> = both.map(|(at, of)| Turn { level_m: of.level_m, ..*at }).collect();
        Shifted::new(&paired(&own, &predictor(beside)))
    }

    #[test]
    fn a_column_of_heights_shifted_by_whole_tides_is_told_by_how_many() {
        for (id, beside) in [(ST_MALO, ST_MALO), (LLANDUDNO, LLANDUDNO), (LLANDUDNO, LIVERPOOL)] {
            assert!(told(id, 0, beside, 30).is_none(), "{id}");
            for tides in [2, -2, 4, -4, 6, -6] {
                let said = told(id, tides, beside, 30).unwrap_or_else(|| panic!("{id} {tides} is not told"));
                assert_eq!(said.tides, tides, "{id} beside {beside}");
                let doubt = said.doubt(("table:x", "printed"), "there, 1 km away", None);
                assert!(doubt.weight == Weight::Blocks && doubt.spans.is_empty(), "{doubt:?}");
                if tides.abs() <= MOST_SLIPPED {
                    assert!(doubt.sentence.contains(if tides > 0 { "too late" } else { "too early" }), "{doubt:?}");
                    // Four tides of 12.42 h are 2.1 days.
                    assert!(tides.abs() != 4 || doubt.sentence.contains("4 tides (2.1 days)"), "{doubt:?}");
                } else {
                    // Six are 3.1 days, which no column slips by.
                    let way = if tides > 0 { "3.1 days before" } else { "3.1 days after" };
                    assert!(doubt.key.starts_with("table-odd:") && doubt.sentence.contains(way), "{doubt:?}");
                    assert!(doubt.sentence.contains("another month, year or place"), "{doubt:?}");
                    assert!(!doubt.sentence.contains("tides too"), "{doubt:?}");
                }
            }
        }
    }

    /// Off by more than half of the time between two high waters, each turn lies nearer to another one.
    #[test]
    fn a_clock_off_by_more_than_half_a_tide_is_told_as_a_clock_and_not_as_a_column() {
        let from: Timestamp = "2026-11-15T00:00:00Z".parse().unwrap();
        let turns = predictor(BROOME).turns(from, from + SignedDuration::from_hours(24 * 30));
        let off_by = |minutes: i64| {
            let own = turns.iter().map(|t| Turn { time: t.time + SignedDuration::from_mins(minutes), ..*t });
            let said = Shifted::new(&paired(&own.collect::<Vec<_>>(), &predictor(BROOME)));
            said.map(|s| s.doubt(("table:x", "printed"), "there, 1 km away,", None))
        };
        for hours in [8, -8, 9, 16, -16] {
            let said = off_by(60 * hours).unwrap_or_else(|| panic!("{hours} h is not told"));
            assert!(said.weight == Weight::Blocks && said.key.starts_with(&format!("table-clock:{hours:+}h")), "{said:?}");
            let way = format!("moved by {} h {}", hours.abs(), if hours > 0 { "back" } else { "on" });
            assert!(said.sentence.contains(&way) && !said.sentence.contains("column"), "{said:?}");
        }
        assert_eq!(off_by(0), None);
    }

    /// Too few turns tell nothing, and a station next to the beach that goes with the table makes it a question.
    #[test]
    fn a_table_of_a_weekend_says_nothing_and_another_station_may_stand_by_it() {
        assert!(told(ST_MALO, 2, ST_MALO, 4).is_none());
        let said = told(ST_MALO, 4, ST_MALO, 30).expect("it is told");
        let from: Timestamp = "2026-11-15T00:00:00Z".parse().unwrap();
        let sound = predictor(ST_MALO).turns(from, from + SignedDuration::from_hours(24 * 30));
        assert!(said.goes_with(&paired(&sound, &predictor(ST_MALO))));
        let doubt = said.doubt(("table:x", "printed"), "there, 1 km away", Some("Other"));
        assert!(doubt.weight == Weight::Question && doubt.sentence.contains("Those of Other go with it"), "{doubt:?}");
    }

    /// Springs and neaps, and the daily inequality, of sound neighbours come on the same tide: each sixth station of the catalogue
    /// beside the nearest within 10 km.
    #[test]
    fn sound_neighbours_are_hardly_ever_told() {
        let (mut all, mut accused) = (0, 0);
        for own in Catalogue::shipped().stations().iter().step_by(6) {
            let near = Catalogue::shipped().nearest(own.at, 3).into_iter();
            let Some((other, _)) = near.into_iter().find(|(s, m)| s.id != own.id && (1.0..10_000.0).contains(m)) else {
                continue;
            };
            if [own, other].iter().any(|s| Predictor::new(s, &Datum::Msl).is_err()) {
                continue;
            }
            all += 1;
            if let Some(said) = told(&own.id, 0, &other.id, 30) {
                println!("{} beside {}: {} tides, {:.2} and {:.2} m", own.id, other.id, said.tides, said.rest_m, said.moved_m);
                accused += 1;
            }
        }
        println!("{accused} of {all} sound neighbours told as shifted");
        assert!(all > 200 && 100 * accused <= all, "{accused} of {all}");
    }

    #[test]
    fn shifted_heights_where_the_tide_ranges_nine_metres_are_told_too() {
        assert!(told(BROOME, 0, BROOME, 30).is_none());
        assert!(told(BROOME, 6, BROOME, 30).is_some() && told(BROOME, -2, BROOME, 30).is_some());
    }
}
