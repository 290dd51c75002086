//! Where a beach is said to lie, and on which clock.
//!
//! A position with longitude and latitude swapped, or a time zone of another continent, gives times that are hours
//! wrong and sends people to another country's emergency number.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::coast::{is_land, to_coast_m};
use super::{Doubt, Weight};
use crate::book::{Beach, Confirmation};
use crate::earth::{LonLat, distance_words};
use crate::tide::Catalogue;

/// Farther than this from every coast no beach lies but on a small island, which a coastline of 1:50 million does not
/// know, metres. So it is asked about on land, and at sea where the swapped position lies by a coast.
const INLAND_M: f64 = 25_000.0;
/// So near to a coast a swapped position is taken for the one that was meant, metres.
const BY_A_COAST_M: f64 = 10_000.0;
/// Farther than this from every coast a place lies at sea, metres: the coarse coastline is some kilometres out.
const AT_SEA_M: f64 = 5_000.0;
/// With any other change than the sign of the longitude, which is lost most easily, farther than this, metres.
const WELL_AT_SEA_M: f64 = 10_000.0;
/// So near to a coast a place with its sign turned lies on the shore, metres, ...
const ON_THE_SHORE_M: f64 = 5_000.0;
/// ... if a tide station stands within this of it, metres: no coast is known by itself.
const STATION_WITHIN_M: f64 = 30_000.0;
/// A place at sea with a tide station so near may be a small island's beach, metres.
const ISLAND_M: f64 = 15_000.0;
/// So far out in the ocean nothing but a small island can be meant, where no change brings it to a shore, metres.
const OCEAN_M: f64 = 150_000.0;
/// Clocks kept by law lie this near to the sun's, hours: the west of China lies three hours behind Beijing's, and no
/// coast lies so far from its own (common practice, no published source; the stations that ship are held to it in a test).
const FROM_THE_SUN_H: f64 = 3.25;
/// So far from the sun no clock is: it is another continent's, hours.
const ANOTHER_CONTINENT_H: f64 = 4.0;
/// A station this near keeps the beach's clock, but for borders, metres.
const SAME_CLOCK_M: f64 = 50_000.0;

/// Another clock may be the beach's where a station keeps it within so many times the way to the nearest station, ...
const ANOTHER_TIMES: f64 = 8.5;
/// ... and wherever one does within this, metres, ...
const ANOTHER_WITHIN_M: f64 = 50_000.0;
/// ... but not beyond this, metres. Judgements: the nearest station that keeps the clock of a beach beyond a border is up
/// to eight times as far as that on the other side.
const ANOTHER_MOST_M: f64 = 400_000.0;
/// Stations that are looked at for their clocks.
const CLOCKS: usize = 200;

/// The doubt that nobody gave the clock has a key that begins so.
pub const CLOCK_GUESSED: &str = "clock-guessed:";
/// The doubt that a beach lies at sea has a key that begins so.
pub const AT_SEA: &str = "place-sea:";
/// Among what is confirmed: that the person gave the zone that follows.
const ZONE_GIVEN: &str = "zone-given:";

/// The same beach on the clock that its person gives, which is no guess from then on, whatever station is near.
#[must_use]
pub fn zone_given(beach: Beach, zone: &str, time: Timestamp) -> Beach {
    let mut beach = Beach { time_zone: zone.to_owned(), ..beach };
    if zone_is_given(&beach) {
        return beach;
    }
    beach.confirmed.retain(|c| !c.key.starts_with(ZONE_GIVEN));
    let given = Confirmation { key: format!("{ZONE_GIVEN}{zone}"), time };
    beach.with_confirmed(given)
}

/// Whether the person gave the zone that a beach keeps.
pub fn zone_is_given(beach: &Beach) -> bool {
    let given = |key: &str| key.strip_prefix(ZONE_GIVEN).is_some_and(|zone| zone == beach.time_zone);
    beach.confirmed.iter().any(|c| given(&c.key))
}

/// What is to be said of where a beach lies and of its clock.
pub fn of_place(beach: &Beach) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = off_the_coast(beach).into_iter().collect();
    let by_the_sun = off_the_sun(beach);
    doubts.extend(if by_the_sun.is_some() { by_the_sun } else { clock(beach) });
    doubts
}

/// By how many hours a zone's standard time is ahead of the sun at a place, from -12 to 12; `None` for a name that is no
/// zone.
pub fn ahead_of_the_sun_h(zone: &str, at: LonLat) -> Option<f64> {
    let [winter, summer] = offsets_h(zone)?;
    let off_h = winter.min(summer) - at.lon_deg() / 15.0;
    Some((off_h + 12.0).rem_euclid(24.0) - 12.0)
}

/// Whether a zone can be that of a place at all.
pub fn zone_fits(zone: &str, at: LonLat) -> bool {
    ahead_of_the_sun_h(zone, at).is_some_and(|h| h.abs() <= FROM_THE_SUN_H)
}

/// Hours ahead of UTC in January and in July.
fn offsets_h(zone: &str) -> Option<[f64; 2]> {
    let zone = TimeZone::get(zone).ok()?;
    // The first of January and of July 2026.
    let at = |s: i64| Timestamp::from_second(s).ok().map(|t| f64::from(zone.to_offset(t).seconds()) / 3600.0);
    Some([at(1_767_225_600)?, at(1_782_864_000)?])
}

/// A change of a position that is easily made by mistake.
struct Turned {
    /// Where it lies then.
    at: LonLat,
    /// "is the sign of its longitude lost (W for E)".
    asked: &'static str,
    /// Tide station next to it, and how far that is, metres.
    station: &'static str,
    station_m: f64,
}

/// What of a position would bring it from the open sea to a shore with a tide station.
fn turned_ashore(at: LonLat, away_m: f64) -> Option<Turned> {
    let (lon, lat) = (at.lon_deg(), at.lat_deg());
    let all = [
        (-lon, lat, AT_SEA_M, "is the sign of its longitude lost (west for east, or east for west)"),
        (lat, lon, WELL_AT_SEA_M, "are its longitude and latitude exchanged"),
        (lon, -lat, WELL_AT_SEA_M, "is the sign of its latitude lost (south for north, or north for south)"),
        (-lon, -lat, WELL_AT_SEA_M, "are the signs of its longitude and latitude lost"),
    ];
    all.into_iter().filter(|turned| away_m > turned.2).find_map(|(lon, lat, _, asked)| {
        let there = LonLat::new(lon, lat).ok().filter(|p| to_coast_m(*p) <= ON_THE_SHORE_M)?;
        let (station, station_m) = Catalogue::shipped().nearest(there, 1).into_iter().next()?;
        (station_m <= STATION_WITHIN_M).then(|| Turned { at: there, asked, station: &station.name, station_m })
    })
}

/// Whether a beach lies in the open sea and a slip in its position would explain it: then nothing is to be advised by the tide
/// of that sea.
pub(super) fn is_turned(beach: &Beach) -> bool {
    at_sea(beach).is_some_and(|d| d.weight == Weight::Blocks)
}

/// The doubt of a beach in the open sea.
fn at_sea(beach: &Beach) -> Option<Doubt> {
    let (at, away_m) = (beach.origin, to_coast_m(beach.origin));
    if beach.invented || away_m <= AT_SEA_M || is_land(at) {
        return None;
    }
    let turned = turned_ashore(at, away_m);
    let station_m = Catalogue::shipped().nearest(at, 1).into_iter().next().map_or(f64::INFINITY, |(_, m)| m);
    let is_island = station_m <= ISLAND_M;
    if turned.is_none() && (is_island || !(INLAND_M..OCEAN_M).contains(&away_m)) {
        return None;
    }
    let asked = match &turned {
        Some(Turned { at, asked, station, station_m }) => format!(
            ": {asked}? So changed, to {:.4},{:.4}, it lies on the shore, {} from {station}.",
            at.lon_deg(),
            at.lat_deg(),
            distance_words(*station_m)
        ),
        None => ". Are its signs right, and is longitude the first of the two?".to_owned(),
    };
    Some(Doubt {
        key: format!("{AT_SEA}{:.3},{:.3}", at.lon_deg(), at.lat_deg()),
        sentence: format!(
            "The place of this beach, longitude {:.4} and latitude {:.4}, lies at sea, {} from the nearest land (by a coastline of 1:50 million, which is some kilometres out and leaves out small islands){asked}",
            at.lon_deg(),
            at.lat_deg(),
            distance_words(away_m)
        ),
        weight: if turned.is_some() && !is_island { Weight::Blocks } else { Weight::Question },
        settle: vec![
            "If so, what was imported lies there too: import it anew with the positions mended, as a new beach.".to_owned(),
            "Look at this before anything else: tide station, offset and clock were taken for that place.".to_owned(),
        ],
        spans: Vec::new(),
    })
}

fn off_the_coast(beach: &Beach) -> Option<Doubt> {
    if let Some(doubt) = at_sea(beach) {
        return Some(doubt);
    }
    let (at, away_m) = (beach.origin, to_coast_m(beach.origin));
    if beach.invented || away_m <= INLAND_M {
        return None;
    }
    let turned = LonLat::new(at.lat_deg(), at.lon_deg()).ok().filter(|p| to_coast_m(*p) <= BY_A_COAST_M);
    if turned.is_none() && !is_land(at) {
        return None;
    }
    let swapped = if turned.is_some() { ", and with longitude and latitude swapped it would lie by one" } else { "" };
    Some(Doubt {
        key: format!("place:{:.3},{:.3}", at.lon_deg(), at.lat_deg()),
        sentence: format!(
            "The position of the beach, longitude {:.3} and latitude {:.3}, lies {} from any coast (by a coastline of 1:50 million, which leaves out small islands){swapped}.",
            at.lon_deg(),
            at.lat_deg(),
            distance_words(away_m)
        ),
        weight: Weight::Question,
        settle: vec!["Give the position anew, longitude first (`scourline beach --near LON,LAT`).".to_owned()],
        spans: Vec::new(),
    })
}

fn off_the_sun(beach: &Beach) -> Option<Doubt> {
    let (zone, ahead_h) = (&beach.time_zone, ahead_of_the_sun_h(&beach.time_zone, beach.origin)?);
    let sentence = format!(
        "The clock of {zone} is {:.1} hours {} of the sun at longitude {:.1}: no country keeps a clock more than about three hours from its sun, so every time told here may be that of another continent, and the emergency number with it.",
        ahead_h.abs(),
        if ahead_h > 0.0 { "ahead" } else { "behind" },
        beach.origin.lon_deg()
    );
    (ahead_h.abs() > FROM_THE_SUN_H).then(|| Doubt {
        key: format!("zone:{zone}@{:.1}", beach.origin.lon_deg()),
        sentence,
        weight: if ahead_h.abs() >= ANOTHER_CONTINENT_H { Weight::Blocks } else { Weight::Question },
        settle: vec!["Give the time zone of the place (`scourline beach --zone`, or Beach in the window).".to_owned()],
        spans: Vec::new(),
    })
}

/// What is to be said of a clock that the sun allows.
///
/// One that its person gave is believed where any station about keeps it: by a border the nearest may lie on the other
/// side. One that is the nearest station's was taken from it, and nobody looked.
fn clock(beach: &Beach) -> Option<Doubt> {
    let near = Catalogue::shipped().nearest(beach.origin, CLOCKS);
    let (nearest, away_m) = *near.first()?;
    if beach.invented || !zone_fits(&nearest.time_zone, nearest.at) {
        return None;
    }
    let reach_m = (ANOTHER_TIMES * away_m).clamp(ANOTHER_WITHIN_M, ANOTHER_MOST_M);
    let about = || near.iter().filter(|(s, m)| *m <= reach_m && zone_fits(&s.time_zone, s.at));
    if zone_is_given(beach) {
        let kept = about().any(|(s, _)| s.time_zone == beach.time_zone);
        return if kept { None } else { another_clock(beach) };
    }
    if beach.time_zone != nearest.time_zone {
        return another_clock(beach);
    }
    let other = about().filter_map(|(s, m)| Some((*s, *m, ahead_of_h(&beach.time_zone, &s.time_zone)?))).find(|o| o.2 != 0.0);
    let (zone, station, away) = (&beach.time_zone, &nearest.name, distance_words(away_m));
    let guessed = format!(
        "The clock of this beach is guessed: {zone}, that of the tide station {station}, {away} away. Every time here is on it."
    );
    let settle = vec![format!(
        "Hold a watch on the beach's time against it, and give the time zone of the place, be it this one (`scourline beach --zone {zone}`, or Beach in the window)."
    )];
    let (key, sentence, weight) = match other {
        None => (format!("{CLOCK_GUESSED}{zone}"), guessed, Weight::Caution),
        Some((s, m, ahead_h)) => (
            format!("{CLOCK_GUESSED}{zone}|{}", s.time_zone),
            format!(
                "{guessed} But {}, {} away, keeps {}: if the beach does too, every time here comes up to {:.1} h too {}.",
                s.name,
                distance_words(m),
                s.time_zone,
                ahead_h.abs(),
                if ahead_h > 0.0 { "LATE" } else { "early" }
            ),
            Weight::Question,
        ),
    };
    Some(Doubt { key, sentence, weight, settle, spans: Vec::new() })
}

/// By how many hours a clock is ahead of another in January or July, whichever is more; `None` for a name that is no zone.
fn ahead_of_h(zone: &str, other: &str) -> Option<f64> {
    let (own, there) = (offsets_h(zone)?, offsets_h(other)?);
    [0, 1].map(|n| own[n] - there[n]).into_iter().max_by(|a, b| a.abs().total_cmp(&b.abs()))
}

/// A station next to the beach keeps another clock.
fn another_clock(beach: &Beach) -> Option<Doubt> {
    let (station, away_m) = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next()?;
    if beach.invented || away_m > SAME_CLOCK_M || !zone_fits(&station.time_zone, station.at) {
        return None;
    }
    let (own, there) = (offsets_h(&beach.time_zone)?, offsets_h(&station.time_zone)?);
    let off_h = [0, 1].map(|n| (own[n] - there[n]).abs()).into_iter().fold(0.0, f64::max);
    (off_h > 0.0).then(|| Doubt {
        key: format!("zone-beside:{}@{}", beach.time_zone, station.id),
        sentence: format!(
            "The beach is on the clock of {}; {}, {} away, is on that of {}, which differs by up to {off_h} h in the course of the year.",
            beach.time_zone,
            station.name,
            distance_words(away_m),
            station.time_zone
        ),
        weight: if off_h > 1.0 { Weight::Question } else { Weight::Caution },
        settle: vec!["Give the time zone of the place (`scourline beach --zone`, or Beach in the window).".to_owned()],
        spans: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(lon: f64, lat: f64, zone: &str) -> Vec<(String, Weight)> {
        let bare = Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
        let beach = Beach { time_zone: zone.to_owned(), ..bare };
        of_place(&beach).into_iter().map(|d| (d.key.split(':').next().unwrap().to_owned(), d.weight)).collect()
    }

    #[test]
    fn a_zone_of_another_continent_is_asked_about_and_the_own_one_is_not() {
        // Positions of towns by their published coordinates (GeoNames, rounded).
        for (lon, lat, zone) in [
            (-5.5, 50.1, "Europe/London"),
            // Vigo and Urumqi's clock: the farthest from the sun of Europe and of a coast of China.
            (-8.7, 42.2, "Europe/Madrid"),
            (108.6, 21.5, "Asia/Shanghai"),
            (-157.4, 1.9, "Pacific/Kiritimati"),
            (174.8, -36.8, "Pacific/Auckland"),
        ] {
            let said: Vec<_> = told(lon, lat, zone).into_iter().filter(|d| d.0 != "clock-guessed").collect();
            assert_eq!(said, [], "{zone}");
        }
        let blocks = |kind: &str| vec![(kind.to_owned(), Weight::Blocks)];
        assert_eq!(told(-70.9, 42.4, "Europe/London"), blocks("zone"));
        assert_eq!(told(-56.0, 46.8, "Europe/London"), vec![("zone".to_owned(), Weight::Question)]);
        assert_eq!(told(174.8, -36.8, "UTC"), blocks("zone"));
        assert_eq!(told(-5.5, 50.1, "Australia/Sydney"), blocks("zone"));
        // A neighbour's clock: told by the station next to the beach, and asked about from more than an hour on.
        assert_eq!(told(-5.5, 50.1, "Europe/Paris"), vec![("zone-beside".to_owned(), Weight::Caution)]);
        assert_eq!(told(-5.5, 50.1, "Europe/Athens"), vec![("zone-beside".to_owned(), Weight::Question)]);
    }

    fn of_clock(lon: f64, lat: f64, zone: &str, given: bool) -> Option<(Weight, String)> {
        let bare = Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
        let beach = Beach { time_zone: zone.to_owned(), ..bare };
        let beach = if given { zone_given(beach, zone, Timestamp::UNIX_EPOCH) } else { beach };
        of_place(&beach).into_iter().next().map(|d| (d.weight, d.sentence))
    }

    #[test]
    fn a_clock_guessed_from_over_a_border_is_asked_about_and_the_right_one_given_draws_no_word() {
        // Towns by their published coordinates (GeoNames, rounded), the clock of the nearest station, and their own by the
        // IANA zone table, with how late the former's times come there.
        for (lon, lat, stations, own, late) in [
            (-85.42, 29.945, "America/New_York", "America/Chicago", "1.0 h too LATE"),
            (-70.6, -18.3, "America/Santiago", "America/Lima", "2.0 h too LATE"),
            (-8.87, 41.85, "Europe/Madrid", "Europe/Lisbon", "1.0 h too LATE"),
        ] {
            let (weight, said) = of_clock(lon, lat, stations, false).unwrap();
            assert!(weight == Weight::Question && said.contains(late) && said.contains(own), "{said}");
            assert_eq!(of_clock(lon, lat, own, true), None, "{own}");
            assert_eq!(of_clock(lon, lat, stations, true), None, "the person says so");
        }
        // Far from any border: told until it is given, and no more. A zone of nowhere near is doubted though given.
        assert_eq!(of_clock(-5.5, 50.1, "Europe/London", false).map(|d| d.0), Some(Weight::Caution));
        assert_eq!(of_clock(-5.5, 50.1, "Europe/London", true), None);
        assert_eq!(of_clock(-5.5, 50.1, "Europe/Paris", true).map(|d| d.0), Some(Weight::Caution));
        // Given for another zone than the beach is on now.
        let beach =
            zone_given(Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap()), "Europe/Paris", Timestamp::UNIX_EPOCH);
        let now = Beach { time_zone: "Europe/London".to_owned(), ..beach };
        assert!(of_place(&now)[0].key.starts_with(CLOCK_GUESSED));
    }

    #[test]
    fn few_places_are_asked_about_their_clock() {
        let all = Catalogue::shipped().stations();
        let of_one = |s: &&crate::tide::Station| of_clock(s.at.lon_deg(), s.at.lat_deg(), &s.time_zone, false);
        let asked = |s: &&crate::tide::Station| of_one(s).is_some_and(|d| d.0 == Weight::Question);
        let (of, asked) = (all.len().div_ceil(7), all.iter().step_by(7).filter(asked).count());
        println!("asked at {asked} of {of} places of stations");
        assert!(asked * 10 < of, "{asked} of {of}");
    }

    #[test]
    fn the_stations_that_ship_keep_clocks_that_their_sun_allows() {
        let all = Catalogue::shipped().stations();
        let off: Vec<&str> = all.iter().filter(|s| !zone_fits(&s.time_zone, s.at)).map(|s| s.id.as_str()).collect();
        println!("{} of {} stations: {off:?}", off.len(), all.len());
        assert!(off.len() * 1000 < all.len() * 5, "{off:?}");
    }

    #[test]
    fn a_lost_sign_of_the_longitude_is_told_by_the_shore_that_it_lies_on_with_it() {
        // Towns of the west coast of Britain by their published coordinates (GeoNames, rounded), with their sign lost.
        for (lon, lat, station) in [(2.906, 54.048, "Heysham"), (3.83, 53.32, "Llandudno"), (3.18, 53.40, "")] {
            let beach = |lon: f64| Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
            let told = of_place(&beach(lon)).into_iter().next().unwrap();
            assert!(told.key.starts_with(AT_SEA) && told.weight == Weight::Blocks, "{told:?}");
            assert!(
                told.sentence.contains("lies at sea, ") && told.sentence.contains("is the sign of its longitude lost"),
                "{told:?}"
            );
            assert!(told.sentence.contains(&format!("to -{lon:.4},{lat:.4}, it lies on the shore")), "{told:?}");
            assert!(told.sentence.contains(station) && told.sentence.contains("1:50 million"), "{told:?}");
            assert!(is_turned(&beach(lon)) && !is_turned(&beach(-lon)));
            assert!(of_place(&beach(-lon)).iter().all(|d| !d.key.starts_with(AT_SEA)));
        }
    }

    #[test]
    fn a_position_that_is_swapped_lies_off_every_coast_and_says_so() {
        let beach = |lon: f64, lat: f64| Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
        assert_eq!(off_the_coast(&beach(-5.5, 50.1)), None);
        // Newlyn, latitude first: the Indian Ocean.
        let told = off_the_coast(&beach(50.1, -5.5)).unwrap();
        assert!(told.weight == Weight::Blocks && told.sentence.contains("are its longitude and latitude exchanged?"), "{told:?}");
        assert!(
            told.sentence.contains("to -5.5000,50.1000, it lies on the shore") && told.sentence.contains("Newlyn"),
            "{told:?}"
        );
        // In the midst of a continent; and in mid-ocean, where a small island may lie.
        assert!(off_the_coast(&beach(15.0, 50.0)).is_some());
        assert_eq!(off_the_coast(&beach(-20.0, 45.0)), None);
        assert_eq!(off_the_coast(&Beach { invented: true, ..beach(-12.0, 48.9) }), None);
    }
}
