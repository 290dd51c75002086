//! In which country a beach lies, for the duties: by what its person states, else by its clock and the tide station nearest to
//! it where both say the same.
//!
//! The catalogue has no station of some coasts, so the nearest may lie beyond a border, and a clock that was taken from it
//! says nothing of its own: either alone settles no law.

use jiff::Timestamp;

use super::emergency::{countries, emergency};
use crate::book::{Beach, Confirmation};
use crate::duties::{Country, LiesIn, Supposed};
use crate::earth::LonLat;
use crate::tide::{Catalogue, Station};
use crate::trust::{zone_fits, zone_is_given};

/// A station farther than this says nothing of the country, metres; so many are looked at.
const TELLS_M: f64 = 100_000.0;
const STATIONS: usize = 12;
/// Among what is confirmed: that the person stated the country whose letters follow.
const STATED: &str = "country:";

/// Other names of zones that the list of countries has under their present ones (IANA time zone database, file `backward`,
/// public domain), of the countries whose duties are listed.
const OTHER_NAMES: [(&str, &str); 32] = [
    ("GB", "Europe/London"),
    ("GB-Eire", "Europe/London"),
    ("Europe/Belfast", "Europe/London"),
    ("Eire", "Europe/Dublin"),
    ("Navajo", "America/Denver"),
    ("US/Alaska", "America/Anchorage"),
    ("US/Aleutian", "America/Adak"),
    ("US/Arizona", "America/Phoenix"),
    ("US/Central", "America/Chicago"),
    ("US/East-Indiana", "America/Indiana/Indianapolis"),
    ("US/Eastern", "America/New_York"),
    ("US/Hawaii", "Pacific/Honolulu"),
    ("US/Indiana-Starke", "America/Indiana/Knox"),
    ("US/Michigan", "America/Detroit"),
    ("US/Mountain", "America/Denver"),
    ("US/Pacific", "America/Los_Angeles"),
    ("America/Atka", "America/Adak"),
    ("America/Indianapolis", "America/Indiana/Indianapolis"),
    ("America/Louisville", "America/Kentucky/Louisville"),
    ("America/Shiprock", "America/Denver"),
    ("Australia/ACT", "Australia/Sydney"),
    ("Australia/Canberra", "Australia/Sydney"),
    ("Australia/Currie", "Australia/Hobart"),
    ("Australia/LHI", "Australia/Lord_Howe"),
    ("Australia/NSW", "Australia/Sydney"),
    ("Australia/North", "Australia/Darwin"),
    ("Australia/Queensland", "Australia/Brisbane"),
    ("Australia/South", "Australia/Adelaide"),
    ("Australia/Tasmania", "Australia/Hobart"),
    ("Australia/Victoria", "Australia/Melbourne"),
    ("Australia/West", "Australia/Perth"),
    ("Australia/Yancowinna", "Australia/Broken_Hill"),
];

/// The country of a zone by its name (IANA time zone database, `zone.tab`).
fn of_zone(zone: &str) -> Option<Country> {
    let present = OTHER_NAMES.iter().find(|(other, _)| *other == zone).map_or(zone, |(_, present)| present);
    emergency(present).map(|e| Country { code: e.code, name: e.country })
}

/// The country of two letters of ISO 3166-1, or of its name as the list has it.
pub fn country_named(word: &str) -> Option<Country> {
    let word = word.trim().to_lowercase();
    let mut all = countries().map(|(code, name)| Country { code, name });
    all.find(|c| c.code.to_lowercase() == word || c.name.to_lowercase() == word)
}

/// The same beach with the country that its person states; `None` forgets it.
#[must_use]
pub fn country_stated(beach: Beach, country: Option<Country>, time: Timestamp) -> Beach {
    let key = country.map(|c| format!("{STATED}{}", c.code));
    if key.as_ref().is_some_and(|key| beach.confirmed.iter().any(|c| c.key == *key)) {
        return beach;
    }
    let mut beach = beach;
    beach.confirmed.retain(|c| !c.key.starts_with(STATED));
    match key {
        Some(key) => beach.with_confirmed(Confirmation { key, time }),
        None => beach,
    }
}

fn stated(beach: &Beach) -> Option<Country> {
    beach.confirmed.iter().find_map(|c| country_named(c.key.strip_prefix(STATED)?))
}

/// In which country a beach lies; an invented one lies in none, whatever clock it keeps.
pub fn country_at(beach: &Beach) -> LiesIn {
    if beach.invented {
        return LiesIn::Unknown;
    }
    if let Some(country) = stated(beach) {
        return LiesIn::In(Supposed { country, by: "as is stated with the beach".to_owned() });
    }
    let near = Catalogue::shipped().nearest(beach.origin, STATIONS);
    let clock = of_clock(beach, near.first().map(|(station, _)| *station));
    let about: Vec<(Country, &Station, f64)> =
        near.iter().filter(|(_, m)| *m <= TELLS_M).filter_map(|(s, m)| Some((of_zone(&s.time_zone)?, *s, *m))).collect();
    let station = about.first();
    match (clock, station) {
        (Some(country), Some((there, ..))) if country == *there => {
            LiesIn::In(Supposed { country, by: "by its clock and the tide station nearest to it".to_owned() })
        }
        (Some(country), Some(_)) if is_parted_by_clock(beach.origin, country, &about) => {
            LiesIn::In(Supposed { country, by: format!("by its clock, {}", beach.time_zone) })
        }
        _ => {
            let by_clock = clock.map(|country| Supposed { country, by: format!("by its clock, {},", beach.time_zone) });
            // Not how far: this goes to holders, and the middle of a beach may be that of its finds.
            let by_station = station.map(|(country, station, _)| Supposed {
                country: *country,
                by: format!("by the tide station nearest to it, {},", station.name),
            });
            let told: Vec<Supposed> = by_clock.into_iter().chain(by_station).collect();
            if told.is_empty() { LiesIn::Unknown } else { LiesIn::OneOf(told) }
        }
    }
}

/// The country of a beach's own clock. One that is the nearest station's, and that nobody gave, was taken from it; one of
/// another continent is a slip.
fn of_clock(beach: &Beach, nearest: Option<&Station>) -> Option<Country> {
    let is_taken = nearest.is_some_and(|station| station.time_zone == beach.time_zone) && !zone_is_given(beach);
    if is_taken || !zone_fits(&beach.time_zone, beach.origin) { None } else { of_zone(&beach.time_zone) }
}

/// The island of Ireland, degrees: west, south, east and north.
const IRELAND: [f64; 4] = [-10.7, 51.3, -5.4, 55.5];
/// A station of the clock's country lies at most so many times as far as the nearest.
const TIMES: f64 = 3.0;

/// Whether the clock parts two countries where stations cannot: on the island of Ireland, with stations of both about as near.
fn is_parted_by_clock(at: LonLat, clock: Country, about: &[(Country, &Station, f64)]) -> bool {
    let [west, south, east, north] = IRELAND;
    let on_it = (west..=east).contains(&at.lon_deg()) && (south..=north).contains(&at.lat_deg());
    let Some(nearest_m) = about.first().map(|(_, _, m)| *m) else { return false };
    let is_about = |code: &str| about.iter().any(|(c, _, m)| c.code == code && *m <= TIMES * nearest_m);
    on_it && ["GB", "IE"].contains(&clock.code) && is_about("GB") && is_about("IE")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trust::zone_given;

    fn bare(lon: f64, lat: f64, zone: &str) -> Beach {
        Beach { time_zone: zone.to_owned(), ..Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap()) }
    }

    /// A beach on the clock that its person gave.
    fn given(lon: f64, lat: f64, zone: &str) -> Beach {
        zone_given(bare(lon, lat, "UTC"), zone, Timestamp::UNIX_EPOCH)
    }

    fn settled(beach: &Beach) -> Option<&'static str> {
        country_at(beach).settled().map(|c| c.code)
    }

    /// Places by GeoNames, rounded; their countries are those of its list. None is told another country's law.
    #[test]
    fn a_station_beyond_the_border_does_not_make_a_beach_another_countrys() {
        for (place, lon, lat, zone, own) in [
            ("Rømø", 8.50, 55.10, "Europe/Copenhagen", "DK"),
            ("Skagen", 10.62, 57.735, "Europe/Copenhagen", "DK"),
            ("Bornholm", 14.90, 55.20, "Europe/Copenhagen", "DK"),
            ("Blokhus", 9.58, 57.25, "Europe/Copenhagen", "DK"),
            ("Samsø", 10.60, 55.85, "Europe/Copenhagen", "DK"),
            ("De Panne", 2.58, 51.10, "Europe/Brussels", "BE"),
            ("Hondarribia", -1.80, 43.385, "Europe/Madrid", "ES"),
            ("Tijuana", -117.126, 32.52, "America/Tijuana", "MX"),
            ("White Rock", -122.80, 49.02, "America/Vancouver", "CA"),
            ("Świnoujście", 14.25, 53.92, "Europe/Warsaw", "PL"),
        ] {
            let lies_in = country_at(&given(lon, lat, zone));
            assert!(lies_in.settled().is_none_or(|c| c.code == own), "{place}: {lies_in:?}");
            assert!(lies_in.codes().contains(&own), "{place}: {lies_in:?}");
            // A clock that was taken from the nearest station stands for nothing of its own.
            let nearest = Catalogue::shipped().nearest(LonLat::new(lon, lat).unwrap(), 1)[0].0;
            assert_eq!(settled(&bare(lon, lat, &nearest.time_zone)), None, "{place}");
        }
        let LiesIn::OneOf(told) = country_at(&given(8.50, 55.10, "Europe/Copenhagen")) else { panic!() };
        assert_eq!(told.iter().map(|s| s.country.code).collect::<Vec<_>>(), ["DK", "DE"]);
        assert!(told[0].by.contains("Europe/Copenhagen") && told[1].by.contains("tide station nearest"), "{told:?}");
    }

    /// Places by GeoNames, rounded: Newlyn, Calais, Dover, San Diego, Sydney and Portrush.
    #[test]
    fn where_clock_and_station_agree_the_country_is_told() {
        for (lon, lat, zone, own) in [
            (-5.53, 50.1, "Europe/London", "GB"),
            (1.85, 50.97, "Europe/Paris", "FR"),
            (1.32, 51.12, "Europe/London", "GB"),
            (-117.2, 32.75, "America/Los_Angeles", "US"),
            (151.3, -33.9, "Australia/Sydney", "AU"),
            (-6.65, 55.2, "Europe/London", "GB"),
        ] {
            assert_eq!(settled(&given(lon, lat, zone)), Some(own), "{lon} {lat}");
        }
        for zone in ["Europe/London", "UTC", "America/New_York"] {
            assert_eq!(settled(&given(1.85, 50.97, zone)), None, "{zone}");
        }
        // Far from every station the clock is all there is, and a clock of another continent is nothing.
        assert_eq!(country_at(&given(-25.0, 30.0, "Europe/London")).codes(), ["GB"]);
        assert_eq!(settled(&given(-25.0, 30.0, "Europe/London")), None);
        assert_eq!(country_at(&given(-25.0, 30.0, "Australia/Sydney")), LiesIn::Unknown);
        assert_eq!(country_at(&Beach { invented: true, ..given(-5.53, 50.1, "Europe/London") }), LiesIn::Unknown);
    }

    /// Newcastle (County Down), Magilligan and Rossnowlagh by GeoNames, rounded.
    #[test]
    fn the_clock_parts_northern_ireland_from_the_republic() {
        assert_eq!(settled(&given(-5.88, 54.20, "Europe/London")), Some("GB"));
        assert_eq!(settled(&given(-5.88, 54.20, "Europe/Dublin")), Some("IE"));
        assert_eq!(settled(&given(-6.96, 55.19, "Europe/London")), Some("GB"));
        assert_eq!(settled(&given(-8.21, 54.56, "Europe/Dublin")), Some("IE"));
        // With a station at hand and the other country's far off, a clock against it is a question.
        assert_eq!(settled(&given(-6.65, 55.2, "Europe/Dublin")), None);
    }

    #[test]
    fn what_is_stated_with_the_beach_holds_until_it_is_taken_back() {
        let beach = given(8.50, 55.10, "Europe/Berlin");
        let dane = country_stated(beach.clone(), country_named("dk"), Timestamp::UNIX_EPOCH);
        assert_eq!(settled(&dane), Some("DK"));
        assert_eq!(country_stated(dane.clone(), country_named("Denmark"), Timestamp::MAX), dane, "stated already");
        let other = country_stated(dane, country_named("DE"), Timestamp::UNIX_EPOCH);
        assert_eq!((settled(&other), other.confirmed.len()), (Some("DE"), 2));
        assert_eq!(country_stated(other, None, Timestamp::UNIX_EPOCH), beach);
        assert_eq!(country_named("Atlantis"), None);
    }

    #[test]
    fn every_other_name_of_a_zone_leads_to_a_country() {
        for (other, present) in OTHER_NAMES {
            assert!(emergency(present).is_some() && emergency(other).is_none(), "{other}");
            assert_eq!(of_zone(other), of_zone(present), "{other}");
        }
        assert_eq!(of_zone("Europe/Belfast").map(|c| c.code), Some("GB"));
    }
}
