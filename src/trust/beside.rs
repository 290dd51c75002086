//! A tide table or a gauge record of the person's own held against the curve of a station next to the beach: whether it
//! rises when that rises, at the same time, and as far.

use jiff::Timestamp;

use super::coast::{INLAND_M, inland_m};
use super::divided::{MOST_M, differ_gravely};
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::earth::distance_words;
use crate::tide::{Catalogue, Datum, Predictor, Station, Water};

//
// The figures are set on the stations that ship, each pair of them held against each other as a source of a person's own
// would be: 6,000 pairs within 10 km and 23,000 up to 50 km with no land between, estuaries and lagoons among them. A rule
// that blocks accuses less than 2 in 100 of them. Beside a figure stands about what share it accuses of the tides that it
// is for. Of every fourth station together (the ignored test below): within 10 km 7.7 in 100 told, 1.6 of them blocked;
// farther off 1.6 asked.

/// A station this near is held against in all, metres, ...
pub(super) const NEAR_M: f64 = 10_000.0;
/// ... and one this near in its range, which only asks.
pub(super) const RANGE_M: f64 = 50_000.0;
/// Between the two no clock is told of but one that is wrong by hours, from so many minutes on ...
const HOURS_MIN: f64 = 120.0;
/// ... up to so far off, metres, ...
const HOURS_M: f64 = 30_000.0;
/// ... and from so many minutes on beyond that.
const HOURS_FARTHER_MIN: f64 = 180.0;
/// The curves are held against each other at steps of so many seconds, ...
const STEP_S: i32 = 900;
/// ... over so many days at most, ...
const DAYS: usize = 30;
/// ... of which so many hours must be known, a tide from low to low or high to high, ...
const LEAST_H: usize = 12;
/// ... and so many days before other dates are tried, as the curve of a day or two goes with many, ...
const LEAST_DAYS: usize = 2;
/// ... and with one moved by up to so many steps: half of the time between two high waters.
const MOST_STEPS: usize = 25;
/// A move of so many minutes is asked about, ...
const ASKED_MIN: f64 = 25.0;
/// ... and one of so many blocks: 45 minutes, less the three by which half-cosines beside a real curve are misread, ...
pub(super) const BLOCKS_MIN: f64 = 42.0;
/// ... where the curves then agree so well, ...
pub(super) const AGREE: f64 = 0.97;
/// ... and range as far but for this factor: up a river or in a lagoon the tide comes late and small.
const SAME_SEA: f64 = 1.25;
/// Over fewer days than this springs of one may lie beside neaps of the other: they range as far but for this factor.
const FEW_DAYS: usize = 10;
const SAME_SEA_FEW: f64 = 2.5;
/// Where the ranges differ by more than this factor, less than [`FAR_MIN`] only asks.
const ALIKE: f64 = 1.1;
/// Curves that agree less well are moved by more before it is said: so many minutes block, where they agree so well.
const FAR_MIN: f64 = 75.0;
const AGREE_LESS: f64 = 0.9;
/// Tides below so much tell of a clock no more that blocks, standard deviation, metres: there M2 may vanish nearby, ...
const TIDAL_M: f64 = 0.4;
/// ... but down to so much a move that blocks a greater tide is asked about next to the beach, and curves out of step are. Of a
/// range of 0.85 m that is, where an hour still makes 0.2 m; no curve that is held here has weather in it, as a table is
/// predicted and a logger's record is held by its constituents.
const ASKED_M: f64 = 0.3;
/// Curves that rise while the other falls, as closely as this, are upside down, or half a tide late (0.3 in 100).
const TURNED: f64 = -0.8;
/// Curves that agree by less than this however they are moved are of two places (0.1 in 100).
const ODD: f64 = 0.5;
/// Another station stands by a source where the curves agree so well as they stand: half of what 45 minutes leave.
const STANDS_BY: f64 = 0.96;
/// Curves of like range that agree by less than this as they stand are out of step: of another year, month or place. Of 788
/// such pairs of stations 1.7 in 100 are, of stations' own tables under the dates of another year all. Farther off less than
/// the other figure is asked about (5 in 100).
const OUT_OF_STEP: f64 = 0.75;
const OUT_OF_STEP_FAR: f64 = 0.3;
/// Taken so many days later or earlier they are of another year, or of another month, if they then agree so well, and by so
/// much better than moved by hours, where as they stand they agree by no more than this.
const OTHER_DATES: [i64; 11] = [365, 366, 730, 731, 1_095, 1_096, 1_461, 28, 29, 30, 31];
const DATED: f64 = 0.9;
const DATED_BETTER: f64 = 0.01;
const UNDATED: f64 = 0.9;
/// A small tide's dates are told so, too, over [`FEW_DAYS`] and more, and block where on the others it agrees so well, by so
/// much better than moved by hours, and is out of step as it stands: how two places differ does not change with the year.
/// By a sum of their constituents, at Tonga and Cape Town (0.37 m) a year off agrees by 0.93 at best once it is moved, and on its
/// own dates by all but the shape of half-cosines; a month's 0.97 is only asked about.
const DATED_SURE: f64 = 0.95;
const DATED_SURE_BETTER: f64 = 0.04;
/// Tides below so much say neither, standard deviation, metres.
const SMALL_M: f64 = 0.2;
/// Where the stations near are of two waters, a source goes with the one that it agrees with so well as it stands, ...
const OF_WATER: f64 = 0.9;
/// ... ranging as far but for this factor.
const OF_WATER_TIMES: f64 = 1.6;
/// So many stations are looked at for another water.
const OF_WATERS: usize = 9;
/// Ranges so near that differ by more than this factor are asked about (2 in 100), ...
const MOST_TIMES: f64 = 3.0;
/// ... and farther off by more than this one (2 in 100).
const MOST_TIMES_FAR: f64 = 5.0;
/// A range so many times too large fits when the heights are read as feet (3.28), ...
const FEET: std::ops::Range<f64> = 2.7..4.0;
/// ... if the curves agree so well and come within so many minutes of one another (none in 6,000 near by; farther off
/// 0.1 in 100).
const FEET_AGREE: f64 = 0.95;
const FEET_MIN: f64 = 30.0;

/// How two curves go together: their correlation, and how many times as far as the other the first one goes.
#[derive(Clone, Copy)]
pub(super) struct Together {
    pub(super) agree: f64,
    pub(super) times: f64,
    /// Standard deviation of the smaller of the two, metres.
    pub(super) least_m: f64,
}

pub(super) fn together(pairs: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Together> {
    let n = pairs.clone().count() as f64;
    let (a, b) = pairs.clone().fold((0.0, 0.0), |(a, b), (x, y)| (a + x / n, b + y / n));
    let (xx, yy, xy) = pairs.fold((0.0, 0.0, 0.0), |(xx, yy, xy), (x, y)| {
        let (x, y) = (x - a, y - b);
        (xx + x * x, yy + y * y, xy + x * y)
    });
    (xx > 0.0 && yy > 0.0).then(|| Together {
        agree: xy / (xx * yy).sqrt(),
        times: (xx / yy).sqrt(),
        least_m: (xx.min(yy) / n).sqrt(),
    })
}

/// The station that a gauge of the person's own on this beach may take its ratios from: within ten kilometres, with no
/// land between. An invented beach has none.
pub fn station_beside(beach: &Beach) -> Option<&'static Station> {
    let (station, away_m) = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next()?;
    (!beach.invented && away_m <= NEAR_M && inland_m(beach.origin, station.at) < INLAND_M).then_some(station)
}

/// What is to be said of a source of the person's own, from `from` on; `key` is that of the choice. Nothing where no
/// station lies near the beach, and of an invented beach.
pub fn beside_station(beach: &Beach, key: &str, water: &Water, from: Timestamp) -> Vec<Doubt> {
    let Some(held_to) = HeldTo::new(beach, water, from) else { return Vec::new() };
    let near = Catalogue::shipped().nearest(beach.origin, 4).into_iter();
    let others: Vec<(&Station, f64)> = near.filter(|(s, m)| *m <= NEAR_M && held_to.is_beside(s)).collect();
    let mut doubts = held_against_all((held_to.station, held_to.away_m), &others, key, water, from);
    held_to.unadvised(&mut doubts);
    doubts.extend(held_to.doubt(key, water.name()));
    doubts
}

/// The station that a source of the person's own is held against: the nearest, or where the stations near are of two waters
/// the nearest of that which the source goes with.
pub(super) struct HeldTo {
    pub(super) station: &'static Station,
    pub(super) away_m: f64,
    /// The nearest, where it is of the other water.
    instead_of: Option<(&'static Station, f64)>,
    /// Whether the stations near are of two waters, and the source does not go with that of the nearest.
    are_two: bool,
}

impl HeldTo {
    /// `None` where no station lies near the beach, and of an invented beach.
    pub(super) fn new(beach: &Beach, water: &Water, from: Timestamp) -> Option<Self> {
        if beach.invented {
            return None;
        }
        let mut near = Catalogue::shipped().nearest(beach.origin, OF_WATERS).into_iter();
        let next = near.next().filter(|(s, m)| *m <= RANGE_M && inland_m(beach.origin, s.at) < INLAND_M);
        let (station, away_m) = next?;
        let others: Vec<_> = near.filter(|(other, m)| *m <= MOST_M && differ_gravely(other, station)).collect();
        let plain = Self { station, away_m, instead_of: None, are_two: false };
        if others.is_empty() || is_of_water(station, water, from) {
            return Some(plain);
        }
        let plain = Self { are_two: true, ..plain };
        let own = others.into_iter().find(|(other, _)| is_of_water(other, water, from));
        Some(own.map_or(plain, |(other, m)| Self {
            station: other,
            away_m: m,
            instead_of: Some((station, away_m)),
            are_two: true,
        }))
    }

    /// Whether another station has a word beside the one that is held to: not that one, nor, where it is held to instead of a
    /// nearer one, any of the other water.
    pub(super) fn is_beside(&self, other: &Station) -> bool {
        other.id != self.station.id && !(self.instead_of.is_some() && differ_gravely(other, self.station))
    }

    pub(super) fn is_instead(&self) -> bool {
        self.instead_of.is_some()
    }

    /// Where the stations near are of two waters nobody is told to take another clock for granted.
    pub(super) fn unadvised(&self, doubts: &mut [Doubt]) {
        let of_clock = |d: &&mut Doubt| ["source-late", "table-clock", "table-late"].iter().any(|kind| d.key.starts_with(kind));
        for doubt in doubts.iter_mut().filter(of_clock).filter(|_| self.are_two) {
            doubt.settle = vec![
                "The stations near this beach differ gravely among themselves: look on a chart on which water it lies before you take the clock for wrong."
                    .to_owned(),
            ];
        }
    }

    /// What is to be said where a source is held to another station than the nearest.
    fn doubt(&self, key: &str, name: &str) -> Option<Doubt> {
        let (nearest, away_m) = self.instead_of?;
        Some(Doubt {
            key: format!("source-divided:{}~{}@{key}", nearest.id, self.station.id),
            sentence: format!(
                "The stations near this beach differ gravely: the water of \"{name}\" goes with that of {}, {} away, and not with that of {}, which is the nearest, {} away. It is right only if the beach lies on the water of {}.",
                self.station.name,
                distance_words(self.away_m),
                nearest.name,
                distance_words(away_m),
                self.station.name
            ),
            weight: Weight::Question,
            settle: vec!["Look on a chart on which of the two waters the beach lies.".to_owned()],
            spans: Vec::new(),
        })
    }
}

/// Whether a source is of the water of a station, where its clock and its range are taken as they stand.
fn is_of_water(station: &Station, water: &Water, from: Timestamp) -> bool {
    let range = (1.0 / OF_WATER_TIMES)..=OF_WATER_TIMES;
    Held::new(station, water, from)
        .is_some_and(|Held { as_it_is: t, .. }| t.agree >= OF_WATER && t.least_m >= SMALL_M && range.contains(&t.times))
}

/// As [`held_against`] the nearest one. Where it would block and another station next to the beach stands by the source, the
/// two differ among themselves: it is asked about.
pub(super) fn held_against_all(
    (station, away_m): (&Station, f64),
    others: &[(&Station, f64)],
    key: &str,
    water: &Water,
    from: Timestamp,
) -> Vec<Doubt> {
    let doubts = held_against(station, away_m, key, water, from);
    if doubts.iter().all(|d| d.weight < Weight::Blocks) {
        return doubts;
    }
    let Some((other, _)) = others.iter().find(|(other, _)| stands_by(other, water, from)) else { return doubts };
    let asked = |d: Doubt| Doubt {
        sentence: format!("{} That of {} goes with it.", d.sentence, other.name),
        weight: d.weight.min(Weight::Question),
        ..d
    };
    doubts.into_iter().map(asked).collect()
}

/// Whether the water of a station goes with a source as it stands: at its times, and as far.
fn stands_by(station: &Station, water: &Water, from: Timestamp) -> bool {
    let range = (1.0 / SAME_SEA)..=SAME_SEA;
    let goes =
        |held: Held| held.as_it_is.agree >= STANDS_BY && held.as_it_is.least_m >= SMALL_M && range.contains(&held.as_it_is.times);
    Held::new(station, water, from).is_some_and(goes)
}

/// The curve of a source held against that of a station so far away.
fn held_against(station: &Station, away_m: f64, source: &str, water: &Water, from: Timestamp) -> Vec<Doubt> {
    let Some(Held { as_it_is, best, late_min, dated, few }) = Held::new(station, water, from) else { return Vec::new() };
    let (name, there, away) = (water.name(), &station.name, distance_words(away_m));
    let mut doubts = Vec::new();
    let near = away_m <= NEAR_M;
    let mut tell = |weight: Weight, key: String, sentence: String, settle: &str| {
        doubts.push(Doubt {
            key: format!("{key}@{source}"),
            sentence,
            weight,
            settle: vec![settle.to_owned()],
            spans: Vec::new(),
        });
    };
    let feet = FEET.contains(&best.times) && best.agree >= FEET_AGREE && late_min.abs() <= FEET_MIN;
    let as_far = (1.0 / SAME_SEA..=SAME_SEA).contains(&best.times);
    let same_sea = as_far && best.least_m >= TIDAL_M;
    // A tide too small to block for its clock, of which enough is known to ask.
    let small = near && as_far && !same_sea && !few;
    let asks = small && best.least_m >= ASKED_M;
    let turned = as_it_is.agree <= TURNED && best.least_m >= SMALL_M;
    let moved_min = |most_min: f64| late_min.abs() >= most_min && best.agree >= AGREE;
    let far_off = late_min.abs() >= FAR_MIN && best.agree >= AGREE_LESS;
    let late = same_sea && (moved_min(ASKED_MIN) || far_off);
    let alike = (1.0 / ALIKE..=ALIKE).contains(&best.times);
    let most = if few { SAME_SEA_FEW } else { SAME_SEA };
    let like = (1.0 / most..=most).contains(&best.times) && best.least_m >= TIDAL_M;
    let out_of_step = |least: f64| like && as_it_is.agree < least;
    let hours_min = if away_m <= HOURS_M { HOURS_MIN } else { HOURS_FARTHER_MIN };
    let hours_off = same_sea && (turned || (late_min.abs() >= hours_min && best.agree >= AGREE));
    let late_small = asks && moved_min(BLOCKS_MIN);
    let odd =
        (near && best.agree < ODD && best.least_m >= SMALL_M) || out_of_step(if near { OUT_OF_STEP } else { OUT_OF_STEP_FAR });
    let blocks = hours_off || turned || (moved_min(BLOCKS_MIN) && alike) || far_off || out_of_step(OUT_OF_STEP);
    let sure =
        dated.is_some_and(|(_, agree)| agree >= DATED_SURE.max(best.agree + DATED_SURE_BETTER)) && as_it_is.agree < OUT_OF_STEP;
    let of_dates = like || (small && best.least_m >= SMALL_M);
    if let Some((days, _)) = dated.filter(|_| of_dates) {
        let way = if days > 0 { "later" } else { "earlier" };
        tell(
            if like || sure { Weight::Blocks } else { Weight::Question },
            format!("source-dated:{days:+}"),
            format!(
                "The water of \"{name}\" does not go with that of {there}, {away} away, on these days, and does {} days {way}: it is under the dates of another {}.",
                days.abs(),
                if days.abs() < 100 { "month" } else { "year" }
            ),
            "Look at its head for its year and month, and import it again under the right dates.",
        );
    } else if hours_off || (near && (turned || late || late_small)) {
        let way = if late_min > 0.0 { "later" } else { "earlier" };
        let over = if turned { ", and rises while the water falls there: it may be upside down, too" } else { "" };
        tell(
            if blocks && (turned || !late_small) { Weight::Blocks } else { Weight::Question },
            format!("source-late:{late_min:+.0}"),
            format!(
                "The water of \"{name}\" comes about {:.0} minutes {way} than that of {there}, {away} away{over}: it may be on another clock than it was read on.",
                late_min.abs()
            ),
            "Look at its head for its clock, or at the clock of the logger, and import it again on that one.",
        );
    } else if odd || (asks && as_it_is.agree < OUT_OF_STEP) {
        tell(
            if near && odd { Weight::Blocks } else { Weight::Question },
            format!("source-odd:{:.1}", as_it_is.agree),
            format!(
                "The water of \"{name}\" does not go with that of {there}, {away} away: it is of another year, month or place, or misread."
            ),
            "Look whether it is of this place and under the right dates, and how its times and heights are to be read.",
        );
    }
    let most = if near { MOST_TIMES } else { MOST_TIMES_FAR };
    if feet || !(1.0 / most..=most).contains(&best.times) {
        let fits = if feet { " Read as feet it fits." } else { "" };
        let settle = if feet {
            "Import it again with its heights in feet (`import --feet`)."
        } else {
            "Look whether it is of this place, and in which unit its heights are."
        };
        tell(
            if near && feet { Weight::Blocks } else { Weight::Question },
            format!("source-range:{:.2}", best.times),
            format!(
                "The water of \"{name}\" rises and falls {:.2} times as far as that of {there}, {away} away.{fits}",
                best.times
            ),
            settle,
        );
    }
    doubts
}

/// How a source goes with a station: as it is, and moved in time to where it does so best.
pub(super) struct Held {
    as_it_is: Together,
    pub(super) best: Together,
    /// Later than the station's by so much there, minutes.
    pub(super) late_min: f64,
    /// So many days on the station's water goes as this one does, and how well, where it does not on the same days.
    dated: Option<(i64, f64)>,
    /// Whether they were held against each other over a few days only.
    few: bool,
}

impl Held {
    /// `None` where either says too little.
    pub(super) fn new(station: &Station, water: &Water, from: Timestamp) -> Option<Self> {
        let predictor = Predictor::new(station, &Datum::Msl).ok()?;
        let steps = DAYS * 86_400 / STEP_S as usize;
        let own = water.heights(from, f64::from(STEP_S), steps);
        let days = |n: usize| n * 86_400 / STEP_S as usize;
        let known = own.iter().flatten().count();
        if known < LEAST_H * 3_600 / STEP_S as usize {
            return None;
        }
        let before = jiff::SignedDuration::from_secs(i64::from(STEP_S) * MOST_STEPS as i64);
        let there = predictor.heights(from - before, f64::from(STEP_S), steps + 2 * MOST_STEPS);
        // Moved earlier by `k - MOST_STEPS` steps.
        let moved = |k: usize| {
            let pair = move |(n, own): (usize, &Option<f64>)| Some((n, (*own)?));
            together(own.iter().enumerate().filter_map(pair).map(|(n, own)| (own, there[n + 2 * MOST_STEPS - k])))
        };
        let all: Vec<(usize, Together)> = (0..=2 * MOST_STEPS).filter_map(|k| Some((k, moved(k)?))).collect();
        let (k, best) = all.iter().max_by(|a, b| a.1.agree.total_cmp(&b.1.agree)).copied()?;
        let as_it_is = all.iter().find(|(k, _)| *k == MOST_STEPS)?.1;
        // Between the steps: where a parabola through the best and both beside it is highest.
        let beside = |n: usize| all.iter().find(|(k, _)| *k == n).map(|(_, t)| t.agree);
        let between = match (k.checked_sub(1).and_then(beside), beside(k + 1)) {
            (Some(a), Some(b)) if a + b < 2.0 * best.agree => 0.5 * (a - b) / (a + b - 2.0 * best.agree),
            _ => 0.0,
        };
        let late_min = (k as f64 + between - MOST_STEPS as f64) * f64::from(STEP_S) / 60.0;
        let on = |days: i64| {
            let there = predictor.heights(from + jiff::SignedDuration::from_hours(24 * days), f64::from(STEP_S), steps);
            together(own.iter().zip(there).filter_map(|(own, there)| Some(((*own)?, there))).collect::<Vec<_>>().into_iter())
        };
        let least = DATED.max(best.agree + DATED_BETTER);
        let dated = (as_it_is.agree < UNDATED && known >= days(LEAST_DAYS)).then(|| {
            let all = OTHER_DATES.into_iter().flat_map(|days| [days, -days]).filter_map(|days| Some((days, on(days)?.agree)));
            all.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, agree)| *agree >= least)
        });
        Some(Self { as_it_is, best, late_min, dated: dated.flatten(), few: known < days(FEW_DAYS) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::{TableEntry, TideTable};
    use jiff::SignedDuration;

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    /// Manukau Harbour, 9.6 km from Auckland over the isthmus and 27 km from its own station.
    fn onehunga() -> Beach {
        Beach::new("Invented Bay", crate::earth::LonLat::new(174.785, -36.935).unwrap())
    }

    fn own(id: &str, late_min: i64) -> Vec<Doubt> {
        let station: &Station = Catalogue::shipped().get(id).unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 40));
        let entry = |t: &crate::tide::Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(late_min),
            level_m: t.level_m,
            kind: Some(t.kind),
        };
        let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
        let beach = onehunga();
        let mut found = super::super::of_table(&beach, "table:x", &table);
        found.add_untold(beside_station(&beach, "table:x", &Water::of_table(table), from));
        found.doubts
    }

    #[test]
    fn where_the_stations_near_are_of_two_waters_a_source_is_held_to_the_one_it_goes_with() {
        for late_min in [0, 20] {
            let right = own("ticon/manukau-mnkt-nzl-ttw", late_min);
            assert!(right.iter().all(|d| d.weight <= Weight::Question), "{right:?}");
            let divided: Vec<&Doubt> = right.iter().filter(|d| d.key.starts_with("source-divided:")).collect();
            assert!(divided.len() == 1 && divided[0].sentence.contains("Manukau") && divided[0].sentence.contains("Auckland"));
            assert!(right.iter().all(|d| !d.settle.iter().any(|s| s.contains("import it again on that one"))), "{right:?}");
        }
        // That of the nearest is held to it, and one that goes with neither still blocks, without the advice.
        let nearest = own("ticon/auckland-070a-nzl-uhslc_rq", 0);
        assert!(nearest.iter().all(|d| d.weight < Weight::Blocks && !d.key.starts_with("source-divided:")), "{nearest:?}");
        let neither = own("ticon/auckland-070a-nzl-uhslc_rq", 330);
        assert!(neither.iter().any(|d| d.weight == Weight::Blocks), "{neither:?}");
        assert!(neither.iter().all(|d| !d.settle.iter().any(|s| s.contains("import it again on that one"))), "{neither:?}");
    }

    fn told(late_min: i64, times: f64) -> Vec<(String, Weight, String)> {
        let station: &Station = Catalogue::shipped().get(NEWLYN).unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 40));
        // Upside down a high water becomes a low one.
        let entry = |t: &crate::tide::Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(late_min),
            level_m: times * t.level_m,
            kind: (times > 0.0).then_some(t.kind),
        };
        let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
        let beach = Beach::new("Invented Bay", station.at);
        let doubts = beside_station(&beach, "table:x", &Water::of_table(table), from);
        doubts.into_iter().map(|d| (d.key.split(':').next().unwrap().to_owned(), d.weight, d.sentence)).collect()
    }

    #[test]
    fn a_source_of_the_place_itself_draws_no_word() {
        for (late_min, times) in [(0, 1.0), (20, 0.9), (-20, 1.2)] {
            assert_eq!(told(late_min, times), [], "{late_min} {times}");
        }
    }

    #[test]
    fn half_an_hour_is_asked_about_and_more_half_a_tide_and_heights_upside_down_block() {
        for (late_min, weight) in [30, -36, 46, -50, 60, -60, 120, 372, -300]
            .into_iter()
            .zip([Weight::Question; 2].into_iter().chain([Weight::Blocks; 7]))
        {
            let said = told(late_min, 1.0);
            assert!(said.len() == 1 && said[0].0 == "source-late" && said[0].1 == weight, "{late_min}: {said:?}");
        }
        let turned = told(0, -1.0);
        assert!(turned.len() == 1 && turned[0].1 == Weight::Blocks && turned[0].2.contains("upside down"), "{turned:?}");
    }

    #[test]
    fn heights_in_feet_block_and_a_crushed_range_is_asked_about() {
        let feet = told(0, 3.28);
        assert!(feet.len() == 1 && feet[0].0 == "source-range" && feet[0].1 == Weight::Blocks, "{feet:?}");
        assert!(feet[0].2.contains("Read as feet"), "{feet:?}");
        let crushed = told(0, 0.3);
        assert!(crushed.len() == 1 && crushed[0].0 == "source-range" && crushed[0].1 == Weight::Question, "{crushed:?}");
    }

    /// A station's own turns, under dates so many days later than they are of, on a beach so far from another station.
    fn dated(id: &str, days: i64, away_m: f64, len: i64) -> Vec<(String, Weight)> {
        let station: &Station = Catalogue::shipped().get(id).unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2027-02-01T00:00:00Z".parse().unwrap();
        let moved = SignedDuration::from_hours(24 * days);
        let turns = predictor.turns(from - moved, from - moved + SignedDuration::from_hours(24 * len));
        let entry = |t: &crate::tide::Turn| TableEntry { time: t.time + moved, level_m: t.level_m, kind: Some(t.kind) };
        let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
        let doubts = held_against(station, away_m, "table:x", &Water::of_table(table), from);
        doubts.into_iter().map(|d| (d.key.split('@').next().unwrap().to_owned(), d.weight)).collect()
    }

    #[test]
    fn a_table_of_another_year_or_month_blocks_and_is_named_so_near_and_far() {
        for id in [NEWLYN, "ticon/llandudno-lla-gbr-bodc", "ticon/liverpool_gladstone_dock-liv-gbr-bodc"] {
            for away_m in [600.0, 25_000.0] {
                assert_eq!(dated(id, 0, away_m, 40), [], "{id}");
                for days in [365, 730, -365] {
                    let said = dated(id, days, away_m, 40);
                    assert!(said.len() == 1 && said[0].1 == Weight::Blocks, "{id} {days}: {said:?}");
                    assert_eq!(said[0].0, format!("source-dated:{:+}", -days), "{id}");
                }
            }
            // January read as February comes more than an hour off.
            assert!(dated(id, 31, 600.0, 40).iter().any(|(_, w)| *w == Weight::Blocks), "{id}");
            // A weekend's worth is out of step, too.
            assert!(dated(id, 365, 600.0, 3).iter().any(|(_, w)| *w == Weight::Blocks), "{id}");
            assert_eq!(dated(id, 0, 600.0, 3), [], "{id}");
        }
    }

    /// Tides that range about a metre, where a table of another year puts the low water hours wrong.
    #[test]
    fn a_small_tide_of_another_year_blocks_and_one_of_its_own_dates_draws_no_word() {
        for id in ["ticon/nukualofa-038-ton-uhslc_fd", "ticon/cape_town-704-zaf-uhslc_fd"] {
            assert_eq!(dated(id, 0, 600.0, 40), [], "{id}");
            assert_eq!(dated(id, 0, 600.0, 5), [], "{id}");
            for days in [365, -365, 730] {
                let said = dated(id, days, 600.0, 40);
                assert_eq!(said, [(format!("source-dated:{:+}", -days), Weight::Blocks)], "{id} {days}");
            }
            // A month comes an hour and a quarter off.
            let said = dated(id, 31, 600.0, 40);
            assert!(said.len() == 1 && said[0].1 >= Weight::Question, "{id}: {said:?}");
        }
    }

    /// At Tonga an hour makes a quarter of a metre at most.
    #[test]
    fn a_clock_an_hour_off_is_asked_about_in_a_small_tide() {
        let station: &Station = Catalogue::shipped().get("ticon/nukualofa-038-ton-uhslc_fd").unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2026-09-10T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 40));
        let told = |late_min: i64, away_m: f64| {
            let late = SignedDuration::from_mins(late_min);
            let entry = |t: &crate::tide::Turn| TableEntry { time: t.time + late, level_m: t.level_m, kind: Some(t.kind) };
            let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
            let doubts = held_against(station, away_m, "table:x", &Water::of_table(table), from);
            doubts.into_iter().map(|d| (d.key.split(':').next().unwrap().to_owned(), d.weight)).collect::<Vec<_>>()
        };
        for late_min in [0, 20, -20] {
            assert_eq!(told(late_min, 1_100.0), [], "{late_min}");
        }
        for late_min in [60, -60] {
            assert_eq!(told(late_min, 1_100.0), [("source-late".to_owned(), Weight::Question)], "{late_min}");
            assert_eq!(told(late_min, 25_000.0), [], "{late_min}");
        }
    }

    #[test]
    fn farther_off_only_the_range_and_a_clock_hours_off_are_held() {
        let station: &Station = Catalogue::shipped().get(NEWLYN).unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 40));
        let told = |times: f64, late_min: i64| {
            let entry = |t: &crate::tide::Turn| TableEntry {
                time: t.time + SignedDuration::from_mins(late_min),
                level_m: times * t.level_m,
                kind: Some(t.kind),
            };
            let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
            let doubts = held_against(station, 25_000.0, "table:x", &Water::of_table(table), from);
            doubts.into_iter().map(|d| (d.weight, d.sentence.contains("Read as feet"))).collect::<Vec<_>>()
        };
        assert_eq!(told(3.28, 15), [(Weight::Question, true)]);
        assert_eq!(told(0.15, 0), [(Weight::Question, false)]);
        assert_eq!(told(1.6, 60), []);
        assert_eq!(told(1.0, 60), []);
        // But for a clock that is hours off, or heights upside down.
        for late_min in [330, -150, 180, 372] {
            assert_eq!(told(1.0, late_min), [(Weight::Blocks, false)], "{late_min}");
        }
    }
}
