//! A tide table or a gauge record of the person's own on a beach that no station lies near enough to for its turns to be held
//! against.
//!
//! Two things carry far. The days of the greatest ranges do: springs come about as long after new and full moon along a whole
//! coast, and how they differ from one fortnight to the next is the moon's distance, and everywhere the same. So the ranges of a
//! month are held against those of the stations that there are. Less far the hour of high water does.

use jiff::{SignedDuration, Timestamp};

use super::beside::{Held, HeldTo, RANGE_M, together};
use super::coast::{INLAND_M, inland_m};
use super::pairs::mean_range_m;
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::earth::{LonLat, distance_m, distance_words};
use crate::tide::{Catalogue, Datum, Predictor, Station, Turn, Water, without_small};

// The figures are judged from the catalogue's own constants: every second of the 1,462 stations with an M2 of half a metre, 731, as
// a source of 20 and of 30 days, held against up to three others with such an M2 and none of them within 50 km. Where one lies
// within 400 km 2.0 in 100 of the sound are told so and 0.1 (20 days) and 0.7 (30 days) blocked; under dates 365 days off 86 and 94
// are blocked, 366 days off 78 and 92, and 28 and 31 days off 16 to 49 told. Of the 30 that lie farther from any none sound is
// blocked, and 67 and 83 in 100 of those 365 days off. Beside a figure stands what share of the 701 it accuses. On the other half of
// the stations, 731 that nothing was set on, 3.0 in 100 of the sound are told so and 1.4 and 1.1 blocked; of those 365 days off 86
// and 93, 366 days off 77 and 92, and 28 and 31 days off 20 to 52 told.

/// Ranges are held against up to so many stations, ...
const MOST_STATIONS: usize = 3;
/// ... looked for among so many, ...
const NEAREST: usize = 300;
/// ... that lie so far from one another, metres: two gauges of one harbour say the same, ...
const APART_M: f64 = 10_000.0;
/// ... and whose M2 is so much, metres: where it is less the day is not ruled by its half-daily tide.
const M2_M: f64 = 0.5;
/// Beyond this one alone is held against, and it takes more to block, metres.
const RANGES_M: f64 = 400_000.0;
/// The source's are those of so many days, ...
const DAYS: i64 = 30;
/// ... of which so many ranges must be known: those of nineteen days, and of no tide that comes once a day.
const LEAST_RANGES: usize = 70;
/// Each is the mean of so many in a row, a lunar day's, as one tide of a day may be greater than the other, ...
const OF_A_DAY: usize = 4;
/// ... and none is of turns that lie farther apart, days: there is a gap in the table.
const LONGEST_DAYS: f64 = 1.2;
/// Pairs of turns that differ by less than this part of the mean range are left out: a table does not print them.
const SMALL_PART: f64 = 0.15;
/// Below such a mean range, metres, and where they differ by less than this part of it, standard deviation, ranges say nothing.
const LEAST_M: f64 = 0.7;
const LEAST_SWING: f64 = 0.1;
/// Springs may come so many steps of so many days before or after those there: of the nearest 50 to 400 km off 98 in 100 come
/// within 1.1 days of each other.
const LAG_STEPS: i32 = 6;
const LAG_DAYS: f64 = 0.25;
/// Ranges that agree so well are sound, and no other dates are tried.
const SOUND: f64 = 0.95;
/// Those that agree by less are asked about (1.4 in 100), ...
const ASKED: f64 = 0.7;
/// ... and those that agree by less than this block (none over 20 days, 0.4 in 100 over 30; of those 365 days off 66 and 91), ...
const BLOCKED: f64 = 0.5;
/// ... or by less than this where on other dates they agree so well, and so much better.
const DATED_BELOW: f64 = 0.8;
const DATED: f64 = 0.9;
const DATED_BETTER: f64 = 0.1;
/// Beyond [`RANGES_M`] by less than this and so much better.
const FAR_BELOW: f64 = 0.6;
const FAR_BETTER: f64 = 0.3;
/// Where on other dates they agree so well, and leave less than this part of what they leave as they stand, they are asked about
/// too: what tells the page of another month, if anything does.
const OTHER: f64 = 0.95;
const OTHER_LEAVES: f64 = 0.4;
/// Other dates, days: those of a year or two and of a month before or after, each with the lag either way.
const OTHER_DATES: [f64; 8] = [365.0, -365.0, 730.0, -730.0, 28.0, -28.0, 30.5, -30.5];

/// A clock is asked about where the nearest stations with such an M2, up to so many and so far off, metres, all say that it is
/// wrong by so many minutes, or, where the nearest lies beyond the middle distance, by so many. Of 1,074 stations that have one 50
/// to 75 km off and none is nearer by, the M2 of the three comes 2.4 hours from their own at least in 5 in 100 and 3.2 in 2; of
/// 1,103 at 75 to 100 km 3.5 and 4.0: 1.6 and 1.2 in 100 are asked about.
const CLOCK_M: f64 = 100_000.0;
const CLOCK_MIDDLE_M: f64 = 75_000.0;
const CLOCK_MIN: f64 = 210.0;
const CLOCK_FARTHER_MIN: f64 = 270.0;
/// The curves must then agree so well, and each go so far, standard deviation, metres.
const CLOCK_AGREE: f64 = 0.85;
const CLOCK_TIDAL_M: f64 = 0.4;

/// What is to be said of a source of the person's own, from `from` on, where no station lies near it; `key` is that of the choice.
/// Nothing where one does, and of an invented beach.
pub fn of_afar(beach: &Beach, key: &str, water: &Water, from: Timestamp) -> Vec<Doubt> {
    if beach.invented || HeldTo::new(beach, water, from).is_some() {
        return Vec::new();
    }
    let name = water.name();
    let alone = Doubt {
        key: format!("source-alone@{key}"),
        sentence: format!(
            "No tide station lies within {:.0} km of this beach with no land between: the times and heights of \"{name}\" could be held against none, and one of another place, clock or zero is not told.",
            RANGE_M / 1000.0
        ),
        weight: Weight::Caution,
        settle: vec![
            "Hold it against the official tables of the nearest port, and a high and a low water against the sea.".to_owned(),
        ],
        spans: Vec::new(),
    };
    let doubts = [Some(alone), of_springs(beach, key, water, from), of_hours(beach, key, water, from)];
    doubts.into_iter().flatten().collect()
}

/// The nearest stations of a half-daily tide with their distances, none of them next to another.
fn half_daily(at: LonLat, within_m: f64) -> Vec<(&'static Station, f64)> {
    let mut all: Vec<(&'static Station, f64)> = Vec::new();
    let near = Catalogue::shipped().nearest(at, NEAREST).into_iter();
    for (station, away_m) in near.filter(|(s, _)| s.constants.iter().any(|c| *c.name == *"M2" && c.amplitude_m >= M2_M)) {
        if all.len() == MOST_STATIONS || (away_m > within_m && !all.is_empty()) {
            break;
        }
        if all.iter().all(|(other, _)| distance_m(other.at, station.at) > APART_M) {
            all.push((station, away_m));
        }
    }
    all
}

/// How far a tide ranges, from day to day: days since 1970 and metres, in order.
struct Ranges(Vec<(f64, f64)>);

impl Ranges {
    fn of(turns: &[Turn]) -> Self {
        let main = without_small(turns, SMALL_PART * mean_range_m(turns).unwrap_or_default());
        let day = |t: Timestamp| t.as_millisecond() as f64 / 86_400_000.0;
        let range = |p: &[Turn]| (0.5 * (day(p[0].time) + day(p[1].time)), (p[1].level_m - p[0].level_m).abs());
        let each: Vec<(f64, f64)> = main.windows(2).map(range).collect();
        let n = OF_A_DAY as f64;
        let mean = |w: &[(f64, f64)]| w.iter().fold((0.0, 0.0), |(day, m), r| (day + r.0 / n, m + r.1 / n));
        Self(each.windows(OF_A_DAY).filter(|w| w[OF_A_DAY - 1].0 - w[0].0 <= LONGEST_DAYS).map(mean).collect())
    }

    /// Of a station over a span, some days later, and the lag either way.
    fn there(predictor: &Predictor, (from, to): (Timestamp, Timestamp), days: f64) -> Option<Self> {
        let moved = |t: Timestamp, days: f64| t.checked_add(SignedDuration::from_hours((24.0 * days) as i64)).ok();
        let margin = LAG_DAYS * f64::from(LAG_STEPS) + LONGEST_DAYS;
        Some(Self::of(&predictor.turns(moved(from, days - margin)?, moved(to, days + margin)?)))
    }

    /// Whether the tide ranges far enough, and differs enough from day to day, to tell springs from neaps.
    fn tell(&self) -> bool {
        let n = self.0.len().max(1) as f64;
        let mean_m = self.0.iter().map(|r| r.1).sum::<f64>() / n;
        let sd_m = (self.0.iter().map(|r| (r.1 - mean_m).powi(2)).sum::<f64>() / n).sqrt();
        mean_m >= LEAST_M && sd_m >= LEAST_SWING * mean_m
    }

    fn at_m(&self, day: f64) -> Option<f64> {
        let after = self.0.partition_point(|r| r.0 <= day);
        let (a, b) = (self.0.get(after.checked_sub(1)?)?, self.0.get(after)?);
        Some(a.1 + (b.1 - a.1) * (day - a.0) / (b.0 - a.0))
    }

    /// How well these go with those of a station so many days later, with the lag at which they do so best: their correlation.
    fn agree(&self, there: &Self, days: f64) -> Option<f64> {
        let lagged = |step: i32| {
            let off = days + LAG_DAYS * f64::from(step);
            let pairs: Vec<(f64, f64)> = self.0.iter().filter_map(|(day, m)| Some((*m, there.at_m(day + off)?))).collect();
            together(pairs.iter().copied()).map(|t| t.agree)
        };
        (-LAG_STEPS..=LAG_STEPS).filter_map(lagged).max_by(f64::total_cmp)
    }
}

/// How much hangs on ranges that agree so well as they stand, and so well on other dates.
fn weight_of(agree: f64, other: f64, is_far: bool) -> Option<Weight> {
    let dated = |below: f64, better: f64| agree < below && other >= DATED && other > agree + better;
    let blocks = if is_far { dated(FAR_BELOW, FAR_BETTER) } else { agree < BLOCKED || dated(DATED_BELOW, DATED_BETTER) };
    let asks = agree < ASKED || (other >= OTHER && 1.0 - other < OTHER_LEAVES * (1.0 - agree));
    if blocks { Some(Weight::Blocks) } else { asks.then_some(Weight::Question) }
}

/// Springs and neaps that come on other days than at the stations that there are.
fn of_springs(beach: &Beach, key: &str, water: &Water, from: Timestamp) -> Option<Doubt> {
    let turns = water.turns(from, from.checked_add(SignedDuration::from_hours(24 * DAYS)).ok()?);
    let (own, span) = (Ranges::of(&turns), (turns.first()?.time, turns.last()?.time));
    if own.0.len() < LEAST_RANGES || !own.tell() {
        return None;
    }
    let held = |(station, away_m): (&'static Station, f64)| {
        let predictor = Predictor::new(station, &Datum::Msl).ok()?;
        let there = Ranges::there(&predictor, span, 0.0).filter(Ranges::tell)?;
        Some((station, away_m, own.agree(&there, 0.0)?, predictor))
    };
    let all: Vec<_> = half_daily(beach.origin, RANGES_M).into_iter().filter_map(held).collect();
    // The one that it goes with best has the word for it.
    let (station, away_m, agree, _) = all.iter().max_by(|a, b| a.2.total_cmp(&b.2)).filter(|best| best.2 < SOUND)?;
    let on = |days: f64| {
        let of = |predictor: &Predictor| own.agree(&Ranges::there(predictor, span, days)?, days);
        Some((days, all.iter().filter_map(|(_, _, _, p)| of(p)).max_by(f64::total_cmp)?))
    };
    let other = OTHER_DATES.into_iter().filter_map(on).max_by(|a, b| a.1.total_cmp(&b.1));
    let is_far = all.iter().all(|(_, away_m, _, _)| *away_m > RANGES_M);
    let weight = weight_of(*agree, other.map_or(-1.0, |(_, agree)| agree), is_far)?;
    let dated = other.filter(|(_, other)| *other >= DATED && *other > agree + DATED_BETTER * (1.0 - agree)).map_or_else(
        || "it may be of another year, month or place".to_owned(),
        |(days, other)| {
            format!(
                "they go with those of about {:.0} days {} by {other:.2}: it seems to be of another year or month",
                days.abs(),
                if days < 0.0 { "before" } else { "after" }
            )
        },
    );
    Some(Doubt {
        key: format!("source-springs:{agree:.2}@{key}"),
        sentence: format!(
            "No tide station lies near, but springs come on about the same days along a whole coast, and the ranges of \"{}\" go with those of {}, {} away, from day to day by {agree:.2} only, where 1 is alike: {dated}.",
            water.name(),
            station.name,
            distance_words(*away_m)
        ),
        weight,
        settle: vec![
            "Look at the year and the month that it is of and stands under, and whether its greatest ranges come within some days of new and full moon."
                .to_owned(),
        ],
        spans: Vec::new(),
    })
}

/// A clock wrong by hours beside all of the stations that are not too far to tell.
fn of_hours(beach: &Beach, key: &str, water: &Water, from: Timestamp) -> Option<Doubt> {
    let near = half_daily(beach.origin, CLOCK_M).into_iter().filter(|(_, away_m)| *away_m <= CLOCK_M);
    let by_sea = near.filter(|(s, _)| inland_m(beach.origin, s.at) < INLAND_M);
    let held = |(station, away_m): (&'static Station, f64)| {
        let held = Held::new(station, water, from)?;
        let tells = held.best.agree >= CLOCK_AGREE && held.best.least_m >= CLOCK_TIDAL_M;
        tells.then_some((station, away_m, held.late_min))
    };
    let all: Vec<_> = by_sea.filter_map(held).collect();
    let (station, away_m, late_min) = *all.first()?;
    let least_min = if away_m <= CLOCK_MIDDLE_M { CLOCK_MIN } else { CLOCK_FARTHER_MIN };
    all.iter().all(|(_, _, late_min)| late_min.abs() >= least_min).then(|| Doubt {
        key: format!("source-hours:{:+.1}@{key}", late_min / 60.0),
        sentence: format!(
            "The water of \"{}\" comes {:.1} hours {} than that of {}, {} away; so far along a coast high water hardly ever differs by so much.",
            water.name(),
            late_min.abs() / 60.0,
            if late_min > 0.0 { "later" } else { "earlier" },
            station.name,
            distance_words(away_m)
        ),
        weight: Weight::Question,
        settle: vec![
            "Look at its head for its clock and its place, and whether high and low water are exchanged; then import it again.".to_owned(),
        ],
        spans: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::{Analysis, TableEntry, TideTable};

    const PUERTO_DESEADO: &str = "ticon/puerto_deseado-286-arg-uhslc_fd";
    const DIELETTE: &str = "ticon/dielette-628-fra-refmar";

    fn predictor(id: &str) -> Predictor {
        Predictor::new(Catalogue::shipped().get(id).unwrap(), &Datum::Msl).unwrap()
    }

    fn beach(lon: f64, lat: f64) -> Beach {
        Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap())
    }

    /// Past the mouth of Río Gallegos and off Incheon (positions by the published coordinates of the towns, GeoNames, rounded): the
    /// nearest stations of the catalogue lie 350 km and 400 km away.
    fn gallegos() -> Beach {
        beach(-69.05, -51.70)
    }

    fn incheon() -> Beach {
        beach(126.58, 37.45)
    }

    /// A station's turns of so many days, of so many days before their dates and so many minutes late.
    fn table(id: &str, len: i64, days: i64, late_min: i64, times: f64) -> Water {
        let from: Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
        let moved = SignedDuration::from_hours(24 * days);
        let turns = predictor(id).turns(from - moved, from - moved + SignedDuration::from_hours(24 * len));
        let main = without_small(&turns, SMALL_PART * mean_range_m(&turns).unwrap());
        // Upside down a high water becomes a low one.
        let entry = |t: &Turn| TableEntry {
            time: t.time + moved + SignedDuration::from_mins(late_min),
            level_m: times * t.level_m,
            kind: (times > 0.0).then_some(t.kind),
        };
        let entries: Vec<TableEntry> = main.iter().map(entry).collect();
        Water::of_table(TideTable::new("printed", Datum::ChartDatum, &entries).unwrap())
    }

    fn told(beach: &Beach, water: &Water) -> Vec<(String, Weight)> {
        let from = water.covers().unwrap().0;
        let doubts = of_afar(beach, "table:x", water, from);
        doubts.into_iter().map(|d| (d.key.split([':', '@']).next().unwrap().to_owned(), d.weight)).collect()
    }

    fn alone() -> (String, Weight) {
        ("source-alone".to_owned(), Weight::Caution)
    }

    #[test]
    fn a_table_that_no_station_lies_near_says_so_and_one_beside_a_station_does_not() {
        let sound = table(PUERTO_DESEADO, 10, 0, 0, 1.0);
        assert_eq!(told(&gallegos(), &sound), [alone()]);
        assert_eq!(told(&Beach { invented: true, ..gallegos() }, &sound), []);
        let there = Beach::new("Invented Bay", Catalogue::shipped().get(PUERTO_DESEADO).unwrap().at);
        assert_eq!(told(&there, &sound), []);
    }

    #[test]
    fn a_table_under_the_dates_of_another_year_blocks_far_from_any_station_and_a_sound_one_is_silent() {
        for (beach, id) in [(gallegos(), PUERTO_DESEADO), (incheon(), DIELETTE)] {
            for late_min in [-150, 0, 200] {
                assert_eq!(told(&beach, &table(id, 30, 0, late_min, 1.0)), [alone()], "{id} {late_min}");
                let year = told(&beach, &table(id, 30, 365, late_min, 1.0));
                assert_eq!(year, [alone(), ("source-springs".to_owned(), Weight::Blocks)], "{id} {late_min}");
            }
            // Of less than two springs nothing is said.
            assert_eq!(told(&beach, &table(id, 14, 365, 0, 1.0)), [alone()], "{id}");
        }
    }

    #[test]
    fn the_page_of_the_month_before_is_asked_about() {
        let water = table(DIELETTE, 30, 31, 0, 1.0);
        assert_eq!(told(&incheon(), &water), [alone(), ("source-springs".to_owned(), Weight::Question)]);
        let said = of_afar(&incheon(), "table:x", &water, water.covers().unwrap().0).pop().unwrap();
        assert!(said.sentence.contains("days before") && said.sentence.contains("another year or month"), "{said:?}");
    }

    #[test]
    fn a_logger_whose_year_is_wrong_blocks_far_from_any_station_and_a_sound_one_is_silent() {
        let start: Timestamp = "2026-09-10T00:00:00Z".parse().unwrap();
        for (days, springs) in [(0, None), (365, Some(Weight::Blocks))] {
            let moved = SignedDuration::from_hours(24 * days);
            let heights = predictor(PUERTO_DESEADO).heights(start - moved, 1800.0, 60 * 48);
            let readings: Vec<(Timestamp, f64)> =
                (0..).zip(heights).map(|(n, m)| (start + SignedDuration::from_mins(30 * n), m)).collect();
            let station = Analysis::from_record(&readings).unwrap().station("gauge/x", "logger", gallegos().origin, "UTC");
            let water = Water::of_station(&station, station.chart_datum.clone()).unwrap();
            let doubts = of_afar(&gallegos(), "gauge:x", &water, start);
            let said = doubts.iter().find(|d| d.key.starts_with("source-springs")).map(|d| d.weight);
            assert_eq!(said, springs, "{days}: {doubts:?}");
        }
    }

    /// Sixty kilometres out from Puerto Deseado, and from no other station.
    #[test]
    fn a_clock_four_hours_off_and_heights_upside_down_are_asked_about_up_to_a_hundred_kilometres() {
        let at = Catalogue::shipped().get(PUERTO_DESEADO).unwrap().at;
        let out = |km: f64| beach(at.lon_deg() + km / (111.32 * at.lat_deg().to_radians().cos()), at.lat_deg());
        for late_min in [0, 60, -120, 180] {
            assert_eq!(told(&out(62.0), &table(PUERTO_DESEADO, 30, 0, late_min, 1.0)), [alone()], "{late_min}");
        }
        let asked = [alone(), ("source-hours".to_owned(), Weight::Question)];
        for late_min in [240, -240, 360, 480] {
            assert_eq!(told(&out(62.0), &table(PUERTO_DESEADO, 30, 0, late_min, 1.0)), asked, "{late_min}");
        }
        assert_eq!(told(&out(62.0), &table(PUERTO_DESEADO, 30, 0, 0, -1.0)), asked);
        assert_eq!(told(&out(90.0), &table(PUERTO_DESEADO, 30, 0, 240, 1.0)), [alone()]);
        assert_eq!(told(&out(90.0), &table(PUERTO_DESEADO, 30, 0, 300, 1.0)), asked);
        assert_eq!(told(&out(130.0), &table(PUERTO_DESEADO, 30, 0, 300, 1.0)), [alone()]);
    }
}
