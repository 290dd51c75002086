//! The heights and times of a tide table held against a station next to the beach, turn by turn.
//!
//! Where the table says nothing of what its heights count from, a table that stands too low as a whole cannot be told from
//! one above another surface. What can be told is whether the offset belongs to the one or the other: where it fits the
//! other surface alone nothing is said; where it fits chart datum, or both, the table is taken to be too low, as that is
//! what drowns people. What the table ranges otherwise no datum explains.

use super::pairs::{Pair, means_m, median};
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::earth::distance_words;
use crate::tide::{Datum, Station, TideTable, TurnKind};

//
// Set on the stations that ship, the turns of every fourth as a table beside each other one within 10 km: estuaries and lagoons
// among them (the ignored trial prints it). Where a third station within 10 km goes with the table in what the nearest has
// against it, the neighbours differ among themselves and it is only asked about. What only asks
// widens the margin by what it asks about, up to the figure that blocks.

/// What the keys of the doubts begin with.
const RANGE: &str = "table-range";
const GREAT_RANGE: &str = "table-great-range";
const LEVEL: &str = "table-level";
const LATE: &str = "table-late";
/// A station this near is held against in all, metres; farther off, a range only asks.
pub(super) const NEAR_M: f64 = 10_000.0;
/// Beyond this a smaller range only asks, metres: 4.1 in 100 pairs 5 to 10 km apart are as different. Heights and times
/// are then held less narrowly too.
pub(super) const NEXT_DOOR_M: f64 = 5_000.0;
/// Lateness blocks where the ranges are alike to this factor: up a river the tide comes late and small.
const SAME_SEA: f64 = 1.25;
/// A table lower than the station by this is asked about, metres, ...
const ASKED_M: f64 = 0.3;
/// ... and by this it blocks, ...
const BLOCKS_M: f64 = 0.5;
/// ... or this part of the station's range, where that is more: chart datums of neighbours differ with their tides.
const BLOCKS_OF_RANGE: f64 = 0.1;
/// So many times as much beyond [`NEXT_DOOR_M`].
const FARTHER_TIMES: f64 = 2.0;
/// A range smaller than this part of the station's is asked about, or larger than this many times, ...
const ASKED_PART: f64 = 0.9;
/// ... and smaller than this blocks, ...
pub(super) const BLOCKS_PART: f64 = 0.85;
/// ... where it makes at least so much at a high or a low water, metres.
pub(super) const RANGE_M: f64 = 0.2;
/// A range that differs by so much is asked about whatever part of it that is, metres: where it ranges 10 m a metre at high
/// water is not a tenth.
pub(super) const GREAT_RANGE_M: f64 = 0.8;
/// Heights that differ by less are told as level, metres.
const LEVEL_WITH_M: f64 = 0.05;
/// Farther off a range is asked about beyond this factor.
const ASKED_FAR: f64 = 2.0;
/// Turns are asked about that come so many minutes early or late in the middle, ...
const ASKED_MIN: f64 = 20.0;
/// ... and block from so many on, ...
const BLOCKS_MIN: f64 = 45.0;
/// ... or from so many beyond [`NEXT_DOOR_M`], ...
const BLOCKS_FARTHER_MIN: f64 = 90.0;
/// ... where half of them lie this near to one another, minutes.
const SPREAD_MIN: f64 = 30.0;
/// Less than this is not told nor carried, minutes and metres.
const TOLD_MIN: f64 = 10.0;
const TOLD_M: f64 = 0.1;
/// Tides below so much tell of a clock no more, mean range, metres.
const TIDAL_M: f64 = 1.0;
/// An offset belongs to a surface within this of what a publisher says of it, metres, and where nobody does within this
/// of mean sea level (as the offset itself is judged).
const TIED_M: f64 = 0.3;
const NEAR_MEAN_M: f64 = 1.0;
/// Hours from one high water to the next but for the daily kind (a lunar day of 24.84 h holds two).
const TIDE_H: f64 = 12.42;

/// What a table falls short of a station by.
#[derive(Debug, Default)]
pub(super) struct Beside {
    pub(super) doubts: Vec<Doubt>,
    /// In height, metres.
    pub(super) short_m: f64,
    /// For its times, metres.
    pub(super) late_m: f64,
    /// The kinds of doubt that the station could tell of; that of the level where the table stands as it does.
    pub(super) compared: Vec<&'static str>,
}

/// The mean turns of a table against those of a station.
struct Means {
    range_m: f64,
    there_m: f64,
    /// How far half-way between high and low water stands above where the station has it, each above its own datum;
    /// `None` where the station's chart datum is not known.
    up_m: Option<f64>,
    high_m: f64,
    low_m: f64,
}

impl Means {
    fn new(pairs: &[Pair], zero_m: Option<f64>) -> Option<Self> {
        let (high, low) = (means_m(pairs, TurnKind::High)?, means_m(pairs, TurnKind::Low)?);
        let up_m = zero_m.map(|zero_m| 0.5 * (high.0 + low.0) - 0.5 * (high.1 + low.1) - zero_m);
        let (range_m, there_m) = (high.0 - low.0, high.1 - low.1);
        (there_m > 0.0 && range_m > 0.0).then_some(Self { range_m, there_m, up_m, high_m: high.0, low_m: low.0 })
    }

    /// How its high and its low waters stand beside the station's, where both count from chart datum, half-way between them so
    /// far above the station's; and what it means if they are wrong.
    fn turns_said(&self, up_m: Option<f64>) -> String {
        let half_m = 0.5 * (self.range_m - self.there_m);
        let stand = |m: f64| match m {
            m if m <= -LEVEL_WITH_M => format!("{:.2} m below", -m),
            m if m >= LEVEL_WITH_M => format!("{m:.2} m above"),
            _ => "level with".to_owned(),
        };
        let beside = up_m.map_or_else(String::new, |up_m| {
            let (high, low) = (stand(up_m + half_m), stand(up_m - half_m));
            format!(" Above chart datum its high waters stand {high} those there, its low waters {low} them.")
        });
        let means = if half_m < 0.0 {
            "If its high waters are too low, the flood stands higher at every minute before them than by this table: that is the danger, more than the height of high water itself."
        } else {
            "If its low waters are too low, sand counts as dry that lies under water."
        };
        format!("{beside} {means}")
    }
}

/// Whether a table that stands `up_m` above the station counts from another surface that the offset belongs to alone.
fn counts_from_another(beach: &Beach, station: &Station, mean_m: f64, up_m: f64) -> bool {
    let Some(offset_m) = beach.datum_offset_m else { return false };
    let ties: Vec<f64> = station.land_datums().filter_map(|land| station.above_m(land, &station.chart_datum)).collect();
    let fits = |offset_m: f64| {
        let tied = ties.iter().map(|m| (offset_m - m).abs()).reduce(f64::min);
        tied.map_or((offset_m - mean_m).abs() <= NEAR_MEAN_M, |m| m <= TIED_M)
    };
    fits(offset_m - up_m) && !fits(offset_m)
}

/// What is to be said of a table beside a station so far away. `pairs` are above mean sea level at the station;
/// `clock_told` says that an hour by which it is off was told, `datum_told` that its datum was.
pub(super) fn beside(
    (beach, key, table): (&Beach, &str, &TideTable),
    (station, away_m): (&Station, f64),
    pairs: &[Pair],
    (clock_told, datum_told): (bool, bool),
) -> Beside {
    let mut told = Beside::default();
    let zero_m = station.mean_level_m(&station.chart_datum).filter(|_| *table.datum() != Datum::Msl);
    let Some(means) = Means::new(pairs, zero_m) else { return told };
    let place = Place { key, name: table.name(), there: format!("{}, {} away", station.name, distance_words(away_m)) };
    let part = means.range_m / means.there_m;
    if away_m > NEAR_M {
        let asked = !(1.0 / ASKED_FAR..=ASKED_FAR).contains(&part) && means.there_m.max(means.range_m) >= TIDAL_M;
        told.doubts.extend(asked.then(|| place.range(RANGE, &means, Weight::Question, (0.0, None))));
        return told;
    }
    told.compared.push(RANGE);
    let range_m = 0.5 * (means.range_m - means.there_m).abs();
    told.short_m = if range_m >= TOLD_M { range_m } else { 0.0 };
    let explained = |up_m: f64| datum_told || counts_from_another(beach, station, zero_m.unwrap_or_default(), up_m);
    let up_m = means.up_m.filter(|m| !explained(*m));
    if range_m >= RANGE_M && !(ASKED_PART..=1.0 / ASKED_PART).contains(&part) {
        let blocks = part <= BLOCKS_PART && away_m <= NEXT_DOOR_M;
        let weight = if blocks { Weight::Blocks } else { Weight::Question };
        told.doubts.push(place.range(RANGE, &means, weight, (range_m, up_m)));
    } else if 2.0 * range_m >= GREAT_RANGE_M {
        // No other surface makes a range smaller. It only asks, and takes the word of another station from nothing that blocks.
        told.doubts.push(place.range(GREAT_RANGE, &means, Weight::Question, (range_m, up_m)));
    }
    told.compared.extend(means.up_m.filter(|m| m.abs() < ASKED_M).map(|_| LEVEL));
    if let Some(up_m) = up_m.filter(|m| m.abs() >= TOLD_M) {
        let times = if away_m <= NEXT_DOOR_M { 1.0 } else { FARTHER_TIMES };
        let blocks_m = times * BLOCKS_M.max(BLOCKS_OF_RANGE * means.there_m);
        // Beyond what blocks, whoever says that it is so says that it counts from another surface.
        let carried_m = (-up_m).clamp(0.0, blocks_m);
        told.short_m += carried_m;
        let weight = match -up_m {
            short_m if short_m >= blocks_m => Weight::Blocks,
            short_m if short_m.abs() >= ASKED_M => Weight::Question,
            _ => Weight::Caution,
        };
        told.doubts.extend((weight > Weight::Caution || carried_m > 0.0).then(|| place.level(&means, up_m, weight, carried_m)));
    }
    if means.there_m >= TIDAL_M {
        let blocks_min = if away_m <= NEXT_DOOR_M { BLOCKS_MIN } else { BLOCKS_FARTHER_MIN };
        told.late(&place, pairs, &means, (clock_told, blocks_min));
    }
    told
}

/// What the sentences name.
struct Place<'a> {
    key: &'a str,
    name: &'a str,
    there: String,
}

impl Place<'_> {
    /// `up_m` is how far half-way between high and low water stands above the station's, where that says anything.
    fn range(&self, kind: &str, means: &Means, weight: Weight, (wider_m, up_m): (f64, Option<f64>)) -> Doubt {
        let part = means.range_m / means.there_m;
        let margin = if wider_m > 0.0 { format!("; the margin is {wider_m:.2} m wider for it") } else { String::new() };
        Doubt {
            key: format!("{kind}:{part:.2}@{}", self.key),
            sentence: format!(
                "The turns of the tide table \"{}\" range {:.2} m in the mean, those of {} on the same days {:.2} m ({part:.2} times){margin}.{}",
                self.name,
                means.range_m,
                self.there,
                means.there_m,
                means.turns_said(up_m)
            ),
            weight,
            settle: vec!["Look whether the table is of this place, and in which unit its heights are.".to_owned()],
            spans: Vec::new(),
        }
    }

    fn level(&self, means: &Means, up_m: f64, weight: Weight, wider_m: f64) -> Doubt {
        let margin = if wider_m > 0.0 { format!("; the margin is {wider_m:.2} m wider for it") } else { String::new() };
        let way = if up_m < 0.0 { "below" } else { "above" };
        Doubt {
            key: format!("{LEVEL}:{up_m:+.2}@{}", self.key),
            sentence: format!(
                "The tide table \"{}\" (mean high water {:.2} m, mean low water {:.2} m) stands {:.2} m {way} {} on the same days, above its chart datum: either its heights are wrong, or they count from another surface than chart datum{margin}.",
                self.name,
                means.high_m,
                means.low_m,
                up_m.abs(),
                self.there
            ),
            weight,
            settle: vec![
                "Look at the head of the table for what its heights count from, and give the offset to that surface; confirm this only if your offset is given to it."
                    .to_owned(),
            ],
            spans: Vec::new(),
        }
    }
}

impl Beside {
    /// Where it would block, and another station next to the beach, so named, has nothing to ask in this, the two differ among
    /// themselves and the table goes with one of them: it is asked about, and the margin stays as wide.
    pub(super) fn unless_another(&mut self, name: &str, other: &Self) {
        let kind_of = |d: &Doubt| d.key.split(':').next().unwrap_or_default().to_owned();
        for doubt in self.doubts.iter_mut().filter(|d| d.weight == Weight::Blocks) {
            let kind = kind_of(doubt);
            let asks = other.doubts.iter().any(|d| kind_of(d) == kind && d.weight > Weight::Caution);
            if !asks && other.compared.contains(&kind.as_str()) {
                doubt.weight = Weight::Question;
                doubt.sentence = format!("{} {name} has nothing against it in this.", doubt.sentence);
            }
        }
    }

    /// The lateness in the middle, told and carried as the height that the water makes in that time at its fastest.
    /// From `blocks_min` minutes on it blocks.
    fn late(&mut self, place: &Place, pairs: &[Pair], means: &Means, (clock_told, blocks_min): (bool, f64)) {
        let mut late: Vec<f64> = pairs.iter().map(|p| p.late_min).collect();
        late.sort_by(f64::total_cmp);
        let spread_min = late[late.len() * 3 / 4] - late[late.len() / 4];
        let Some(late_min) = median(late.into_iter()).filter(|_| spread_min <= SPREAD_MIN) else { return };
        self.compared.push(LATE);
        if late_min.abs() < TOLD_MIN {
            return;
        }
        // Half a cosine of this range is steepest at its middle.
        let rate_m_min = 0.5 * means.range_m * std::f64::consts::TAU / (TIDE_H * 60.0);
        let same_sea = (1.0 / SAME_SEA..=SAME_SEA).contains(&(means.range_m / means.there_m));
        self.late_m = rate_m_min * late_min.abs().min(blocks_min);
        let weight = match late_min.abs() {
            // The clock asks, or blocks, already.
            _ if clock_told => Weight::Caution,
            m if m >= blocks_min && same_sea => Weight::Blocks,
            m if m >= ASKED_MIN => Weight::Question,
            _ => Weight::Caution,
        };
        self.doubts.push(Doubt {
            key: format!("{LATE}:{late_min:+.0}@{}", place.key),
            sentence: format!(
                "The turns of the tide table \"{}\" come {:.0} minutes {} than those of {} in the middle; the margin is {:.2} m wider for it, which is what the water makes in that time at its fastest.",
                place.name,
                late_min.abs(),
                if late_min > 0.0 { "later" } else { "earlier" },
                place.there,
                self.late_m
            ),
            weight,
            settle: vec!["Look whether the table is of this place, and at its head for its clock.".to_owned()],
            spans: Vec::new(),
        });
    }
}
