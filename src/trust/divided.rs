//! Whether the stations near a beach are all of one sea.
//!
//! Where an isthmus, a spit, falls or a lock part the water, the nearest station may be of the other side, and no coastline
//! at hand is fine enough to tell. What tells is that the stations near differ among themselves. It is worked out from
//! their main constants, as it is asked of every beach.

use std::sync::LazyLock;

use jiff::Timestamp;

use super::{Doubt, Weight};
use crate::book::{Beach, Confirmation, TideChoice};
use crate::earth::{distance_m, distance_words};
use crate::tide::{Catalogue, Constituent, Convention, Station};

//
// The figures are judgements, held on the stations that ship: each as a beach whose tide is known, the nearest other one up to
// 30 km away as its guess (the test below prints it). Of 2,488 such beaches 231 are off by more than 45 minutes or 0.5 m.
// 121 are blocked, 45 of them rightly so; 299 are asked about, 71 of them rightly. Most of the others lie at an inlet, a
// river or a lagoon, where nothing but a chart tells on which water a beach lies.

/// Stations are looked at up to so far from the beach, metres, ...
const WITHIN_M: f64 = 15_000.0;
/// ... or so many times as far as its own station, ...
const TIMES: f64 = 3.0;
/// ... and not beyond this.
pub(super) const MOST_M: f64 = 30_000.0;
/// Of the stations there so many are looked at, ...
const LOOKED_AT: usize = 3;
/// ... from the nearest so many.
const NEAREST: usize = 9;
/// One that lies so near to another, metres, and goes with it is another gauge of the same place.
const SAME_PLACE_M: f64 = 3_000.0;
/// Waters differ where their turns come so many minutes apart, or their high waters at springs stand so many metres, ...
const DIFFER: (f64, f64) = (45.0, 0.5);
/// ... and gravely from so much on.
const GRAVELY: (f64, f64) = (90.0, 1.0);
/// Turns of tides that come apart by less than this, metres, may come when they will.
const LEVEL_M: f64 = 0.4;
/// A water that ranges so many times as far as that of the beach's station is the outer one.
const OUTER: f64 = 1.15;
/// One that ranges so many times as far is the sea, where that of the beach's station hardly is one.
const OUTER_BY_FAR: f64 = 2.0;
/// A station nearer than this is taken to be of the beach's own water, metres: it is only asked about.
const AT_HAND_M: f64 = 500.0;
/// Waters are moved in time by up to so many steps of so many minutes: half of the time between two high waters.
const MOST_STEPS: i32 = 75;
const STEP_MIN: f64 = 5.0;
/// The main constituents.
const MAIN: [&str; 5] = ["M2", "S2", "N2", "K1", "O1"];

static SPEEDS_DEG_H: LazyLock<[f64; 5]> = LazyLock::new(|| {
    // Those of the sun's and the moon's main constituents are alike in all conventions.
    MAIN.map(|name| Constituent::named(name, Convention::Iho).map_or(0.0, Constituent::speed_deg_h))
});

/// Among what is confirmed: that the person chose the station that follows.
const STATION_GIVEN: &str = "chosen-station:";

/// The same beach with the station that its person chooses, which is no guess from then on. Nothing changes where its tide is
/// not a station's.
#[must_use]
pub fn station_given(beach: Beach, time: Timestamp) -> Beach {
    let TideChoice::Station(id) = &beach.tide else { return beach };
    if station_is_given(&beach) {
        return beach;
    }
    let given = Confirmation { key: format!("{STATION_GIVEN}{id}"), time };
    let mut beach = beach;
    beach.confirmed.retain(|c| !c.key.starts_with(STATION_GIVEN));
    beach.with_confirmed(given)
}

/// Whether the person chose the station that a beach has.
pub fn station_is_given(beach: &Beach) -> bool {
    let TideChoice::Station(id) = &beach.tide else { return false };
    beach.confirmed.iter().any(|c| c.key.strip_prefix(STATION_GIVEN).is_some_and(|given| given == id))
}

/// How one station's water differs from another's.
#[derive(Debug, Clone, Copy)]
struct Differs {
    /// It comes so much later, minutes.
    late_min: f64,
    /// Its high water at springs stands so much higher above mean sea level, metres.
    high_m: f64,
    /// The two come apart by about so much, metres: twice the root mean square.
    level_m: f64,
}

impl Differs {
    fn new(one: &Station, other: &Station) -> Self {
        let (a, b) = (main(one), main(other));
        let apart = |moved_h: f64| -> f64 {
            let each = a.iter().zip(&b).zip(&*SPEEDS_DEG_H);
            each.map(|((a, b), speed)| a.0.min(b.0) * (1.0 - (a.1 - b.1 - (speed * moved_h).to_radians()).cos())).sum()
        };
        let hours = |step: i32| f64::from(step) * STEP_MIN / 60.0;
        let steps = -MOST_STEPS..=MOST_STEPS;
        let best = steps.min_by(|s, t| apart(hours(*s)).total_cmp(&apart(hours(*t))).then(s.abs().cmp(&t.abs())));
        // Of two cosines of one speed the mean square of the difference is half of what the triangle gives.
        let mean_square: f64 =
            a.iter().zip(&b).map(|(a, b)| 0.5 * (a.0 * a.0 + b.0 * b.0 - 2.0 * a.0 * b.0 * (a.1 - b.1).cos())).sum();
        Self {
            late_min: 60.0 * hours(best.unwrap_or_default()),
            high_m: 0.5 * (one.springs_range_m() - other.springs_range_m()),
            level_m: 2.0 * mean_square.max(0.0).sqrt(),
        }
    }

    fn by(&self, (minutes, metres): (f64, f64)) -> bool {
        (self.late_min.abs() > minutes && self.level_m > LEVEL_M) || self.high_m.abs() > metres
    }
}

/// Amplitude in metres and phase in radians of each of [`MAIN`].
fn main(station: &Station) -> [(f64, f64); 5] {
    MAIN.map(|name| {
        let of = station.constants.iter().find(|c| *c.name == *name);
        of.map_or((0.0, 0.0), |c| (c.amplitude_m, c.phase_deg.to_radians()))
    })
}

/// Whether two stations are evidently of different waters.
pub(super) fn differ_gravely(one: &Station, other: &Station) -> bool {
    Differs::new(one, other).by(GRAVELY)
}

/// Whether a beach's station, so far away, is of another sea than those beside it.
struct Divided {
    /// The one that differs most, its distance and how.
    other: (&'static Station, f64, Differs),
    is_grave: bool,
    blocks: bool,
}

/// `near` are the stations near the beach without its own one, nearest first.
fn divided((station, away_m): (&Station, f64), near: &[(&'static Station, f64)]) -> Option<Divided> {
    let reach_m = (TIMES * away_m).clamp(WITHIN_M, MOST_M);
    let mut others: Vec<(&'static Station, f64)> = Vec::new();
    for (other, m) in near.iter().copied().filter(|(_, m)| *m <= reach_m) {
        let same = |known: &Station| distance_m(known.at, other.at) <= SAME_PLACE_M && !Differs::new(other, known).by(DIFFER);
        if !same(station) && !others.iter().any(|&(known, _)| same(known)) {
            others.push((other, m));
        }
    }
    others.truncate(LOOKED_AT);
    let of = others.len();
    let all = others.into_iter().map(|(other, m)| (other, m, Differs::new(other, station)));
    let differ: Vec<_> = all.filter(|(.., d)| d.by(DIFFER)).collect();
    let grave: Vec<_> = differ.iter().copied().filter(|(.., d)| d.by(GRAVELY)).collect();
    let own_m = station.springs_range_m();
    // The outer water, or one that is about as near.
    let tells = grave.iter().any(|(other, m, _)| other.springs_range_m() > OUTER * own_m || *m <= TIMES * away_m);
    let sea = |(other, _, d): &(&Station, f64, Differs)| other.springs_range_m() > OUTER_BY_FAR * own_m && d.high_m > GRAVELY.1;
    let blocks = away_m >= AT_HAND_M && ((tells && 2 * grave.len() >= of) || grave.iter().any(sea));
    if grave.is_empty() && (differ.is_empty() || 2 * differ.len() < of) {
        return None;
    }
    let is_grave = !grave.is_empty();
    let told = if is_grave { grave } else { differ };
    let other = told.into_iter().max_by(|a, b| a.2.level_m.total_cmp(&b.2.level_m))?;
    Some(Divided { other, is_grave, blocks })
}

/// What is to be said of a station of a beach beside the others near it.
pub(super) fn of_divided(beach: &Beach, (station, away_m): (&Station, f64)) -> Option<Doubt> {
    if beach.invented {
        return None;
    }
    let near = Catalogue::shipped().nearest(beach.origin, NEAREST).into_iter();
    let near: Vec<(&'static Station, f64)> = near.filter(|(s, _)| s.id != station.id).collect();
    let Divided { other: (other, other_m, differs), is_grave, blocks } = divided((station, away_m), &near)?;
    let given = station_is_given(beach);
    let when = match differs.late_min {
        m if m >= DIFFER.0 => format!("comes about {m:.0} minutes later"),
        m if m <= -DIFFER.0 => format!("comes about {:.0} minutes earlier", -m),
        _ => "comes at about the same time".to_owned(),
    };
    let sentence = format!(
        "The stations near this beach differ{}: {} is {} away, and the water at {}, {} away, {when} and ranges {:.1} m at springs, not {:.1} m. Land, falls or a lock may lie between them: on which of the two waters is the beach?",
        if is_grave { " gravely" } else { "" },
        station.name,
        distance_words(away_m),
        other.name,
        distance_words(other_m),
        other.springs_range_m(),
        station.springs_range_m(),
    );
    let settle = format!(
        "Look on a chart, and choose the station of the beach's own water (`scourline beach --station {}` or `--station {}`, or Beach in the window).",
        station.id, other.id
    );
    Some(Doubt {
        key: format!("divided:{}~{}@{:.0}km", station.id, other.id, away_m / 1000.0),
        sentence,
        weight: if blocks && !given { Weight::Blocks } else { Weight::Question },
        settle: vec![settle],
        spans: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    const AUCKLAND: &str = "ticon/auckland-070a-nzl-uhslc_rq";
    const MANUKAU: &str = "ticon/manukau-mnkt-nzl-ttw";

    fn beach(lon: f64, lat: f64, station: &str) -> Beach {
        let bare = Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
        Beach { tide: TideChoice::Station(station.to_owned()), ..bare }
    }

    fn told(beach: &Beach) -> Option<Doubt> {
        let TideChoice::Station(id) = &beach.tide else { return None };
        let station = Catalogue::shipped().get(id).unwrap();
        of_divided(beach, (station, distance_m(beach.origin, station.at)))
    }

    #[test]
    fn the_nearest_station_over_an_isthmus_or_above_falls_blocks_until_it_is_chosen() {
        // Places by a map: the north shore of Manukau Harbour, the sea side of Sechelt, and west of Saint John, where the
        // river falls back over its reversing falls at each tide.
        for (lon, lat, guess, other) in [
            (174.785, -36.935, AUCKLAND, MANUKAU),
            (-123.765, 49.468, "ticon/porpoise_bay_bc-7852-can-meds", "ticon/halfmoon_bay_bc-7830-can-meds"),
            (-66.16, 45.222, "ticon/indiantown-75-can-meds", "ticon/saint_john-65-can-meds"),
        ] {
            let guessed = beach(lon, lat, guess);
            let nearest = Catalogue::shipped().nearest(guessed.origin, 1)[0].0;
            assert_eq!(nearest.id, guess);
            let doubt = told(&guessed).unwrap();
            assert_eq!(doubt.weight, Weight::Blocks, "{doubt:?}");
            assert!(doubt.key.starts_with(&format!("divided:{guess}~{other}@")), "{doubt:?}");
            assert!(doubt.settle[0].contains(guess) && doubt.settle[0].contains(other), "{doubt:?}");
            // Chosen by the person it is asked about under the same key, and another station asks anew.
            let chosen = station_given(guessed.clone(), Timestamp::UNIX_EPOCH);
            let asked = told(&chosen).unwrap();
            assert_eq!((asked.weight, asked.key), (Weight::Question, doubt.key));
            let elsewhere = Beach { tide: TideChoice::Station(other.to_owned()), ..chosen };
            assert!(!station_is_given(&elsewhere));
            assert_eq!(told(&Beach { invented: true, ..guessed }), None);
        }
        // From the other side of the isthmus: later by some 160 minutes (Manukau Heads, M2 296 against 216 degrees).
        let said = told(&beach(174.785, -36.935, AUCKLAND)).unwrap().sentence;
        assert!(said.contains("minutes later") && said.contains("Manukau"), "{said}");
    }

    #[test]
    fn stations_of_one_sea_draw_no_word_and_a_river_behind_an_open_coast_only_asks() {
        for (lon, lat, station) in [
            (-5.55, 50.08, "ticon/newlyn-new-gbr-bodc"),
            (-3.83, 53.33, "ticon/llandudno-lla-gbr-bodc"),
            (-122.577, 37.859, "ticon/sausalito-9414806-usa-da_sat"),
        ] {
            assert_eq!(told(&beach(lon, lat, station)), None, "{station}");
        }
        // Seattle, with a gauge up the Duwamish 14 km away.
        let asked = told(&beach(-122.35, 47.6, "noaa/9447130"));
        assert!(asked.as_ref().is_none_or(|d| d.weight == Weight::Question), "{asked:?}");
    }

    #[test]
    fn a_station_is_given_once_and_for_itself_alone() {
        let plain = beach(174.785, -36.935, AUCKLAND);
        assert!(!station_is_given(&plain));
        let given = station_given(plain.clone(), Timestamp::UNIX_EPOCH);
        assert!(station_is_given(&given));
        assert_eq!(station_given(given.clone(), Timestamp::now()), given, "the first time stays");
        let moved = Beach { tide: TideChoice::Station(MANUKAU.to_owned()), ..given };
        let anew = station_given(moved, Timestamp::UNIX_EPOCH);
        assert_eq!(anew.confirmed.iter().filter(|c| c.key.starts_with(STATION_GIVEN)).count(), 1);
        let none = Beach { tide: TideChoice::None, ..plain };
        assert_eq!(station_given(none.clone(), Timestamp::UNIX_EPOCH), none);
    }

    /// Each fifth station as a beach whose tide is known, the nearest other one as its guess: how many are blocked and asked
    /// about, and of those how many rightly.
    #[test]
    fn few_beaches_are_blocked_and_more_of_them_rightly_than_by_chance() {
        let all = Catalogue::shipped();
        let (mut of, mut wrong, mut blocked, mut asked) = (0, 0, [0, 0], [0, 0]);
        for own in all.stations().iter().step_by(5).filter(|s| all.refused(&s.id).is_none() && s.springs_range_m() >= 0.3) {
            let near: Vec<_> = all.nearest(own.at, NEAREST).into_iter().filter(|(s, m)| s.id != own.id && *m > 300.0).collect();
            let Some(guess) = near.first().copied().filter(|(_, m)| *m <= MOST_M) else { continue };
            let truth = Differs::new(own, guess.0);
            let is_wrong = truth.by(DIFFER) || truth.level_m > GRAVELY.1;
            (of, wrong) = (of + 1, wrong + usize::from(is_wrong));
            let count = match divided(guess, &near[1..]) {
                Some(d) if d.blocks => &mut blocked,
                Some(_) => &mut asked,
                None => continue,
            };
            *count = [count[0] + 1, count[1] + usize::from(is_wrong)];
        }
        println!(
            "of {of} beaches {wrong} have a guess that is off; {} blocked, {} rightly; {} asked, {} rightly",
            blocked[0], blocked[1], asked[0], asked[1]
        );
        assert!(of > 400, "{of}");
        assert!(100 * blocked[0] < 8 * of && 100 * asked[0] < 18 * of, "{blocked:?} {asked:?} of {of}");
        // At least twice as often right as by chance.
        assert!(blocked[1] * of > 2 * wrong * blocked[0], "{blocked:?}, {wrong} of {of}");
    }
}
