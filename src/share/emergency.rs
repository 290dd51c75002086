//! Emergency numbers by country, from a public list (data/emergency), for the card.
//!
//! Which country a beach lies in is told by the tide stations about it, each of which names the time zone of its place:
//! a beach on the wrong clock must not lead to another continent's number. The beach's own zone decides between
//! neighbours, and where no station is near, if it can be that of the place at all.

use crate::book::Beach;
use crate::tide::Catalogue;
use crate::trust::zone_fits;

/// What the list says for one country.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Emergency {
    /// The country by the two letters of ISO 3166-1.
    pub code: &'static str,
    /// The country's name.
    pub country: &'static str,
    /// Its numbers; one that answers for every service stands first.
    pub numbers: Vec<&'static str>,
    /// Whether its country is known by the place, and not only by the beach's time zone.
    pub by_place: bool,
}

/// Stations so near tell the country, metres; so many of them are looked at.
const TELLS_M: f64 = 100_000.0;
const STATIONS: usize = 12;

/// Where the list comes from, for the card.
pub const EMERGENCY_SOURCE: &str = "libphonenumber short number metadata, phonenumbers 9.0.43";

/// What is said where neither place nor zone tells.
const LOOK_UP: &str = "number: look up the local one before you go, and write it down";

const LIST: &str = include_str!("../../data/emergency/numbers.csv");

/// The numbers of the country in which a time zone lies (IANA name, such as `Europe/Lisbon`); `None` where the
/// list does not know it.
pub fn emergency(time_zone: &str) -> Option<Emergency> {
    LIST.lines().skip(1).find_map(|line| {
        // Names may be quoted, as they may hold commas; numbers and zones never are.
        let (rest, zones) = line.rsplit_once(',')?;
        if !zones.split(' ').any(|z| z == time_zone) {
            return None;
        }
        let (rest, numbers) = rest.rsplit_once(',')?;
        let (code, name) = rest.split_once(',')?;
        Some(Emergency { code, country: name.trim_matches('"'), numbers: numbers.split(' ').collect(), by_place: false })
    })
}

/// Every country of the list: its two letters and its name.
pub(super) fn countries() -> impl Iterator<Item = (&'static str, &'static str)> {
    LIST.lines().skip(1).filter_map(|line| {
        let (rest, _) = line.rsplit_once(',')?;
        let (rest, _) = rest.rsplit_once(',')?;
        let (code, name) = rest.split_once(',')?;
        Some((code, name.trim_matches('"')))
    })
}

/// The numbers of the country that a beach lies in; `None` where neither its place nor its time zone tells, or where the
/// two contradict each other near a border.
pub fn emergency_at(beach: &Beach) -> Option<Emergency> {
    let own = emergency(&beach.time_zone);
    let near = Catalogue::shipped().nearest(beach.origin, STATIONS).into_iter().filter(|(_, m)| *m <= TELLS_M);
    let about: Vec<Emergency> = near.filter_map(|(s, _)| emergency(&s.time_zone)).collect();
    let (first, others) = match about.split_first() {
        Some(found) => found,
        // An invented beach borrows its tide, and lies where it lies.
        None => return own.filter(|_| beach.invented || zone_fits(&beach.time_zone, beach.origin)),
    };
    let chosen = match own {
        Some(own) if about.iter().any(|e| e.country == own.country) => Some(own),
        _ if others.iter().all(|e| e.country == first.country) => Some(first.clone()),
        _ => None,
    };
    chosen.map(|e| Emergency { by_place: true, ..e })
}

/// The same for a line of text: "999 (also 112)", or what to do where the list does not know.
pub fn emergency_numbers(beach: &Beach) -> String {
    match emergency_at(beach).map(|e| e.numbers) {
        Some(numbers) => match numbers.split_first() {
            Some((first, rest)) if !rest.is_empty() => format!("{first} (also {}), ask for sea rescue", rest.join(", ")),
            Some((first, _)) => format!("{first}, ask for sea rescue"),
            None => LOOK_UP.to_owned(),
        },
        None => LOOK_UP.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // 112 in the European Union: Directive (EU) 2018/1972, article 109. 999 in the United Kingdom, 911 in the
    // United States and 000 in Australia: from memory.
    #[test]
    fn the_number_of_a_country_is_found_by_its_time_zone() {
        for (zone, number) in [
            ("Europe/Lisbon", "112"),
            ("Europe/Dublin", "112"),
            ("Europe/London", "999"),
            ("America/New_York", "911"),
            ("Australia/Sydney", "000"),
        ] {
            let found = emergency(zone).unwrap();
            assert!(found.numbers.contains(&number), "{zone}: {found:?}");
        }
        assert_eq!(emergency("America/Los_Angeles").unwrap().numbers[0], "911");
        assert_eq!(emergency("UTC"), None);
    }

    /// A beach by the published coordinates of a town (GeoNames, rounded), on some clock.
    fn at(lon: f64, lat: f64, zone: &str) -> Beach {
        let bare = Beach::new("Invented Bay", crate::earth::LonLat::new(lon, lat).unwrap());
        Beach { time_zone: zone.to_owned(), ..bare }
    }

    #[test]
    fn the_place_decides_and_a_zone_of_another_continent_does_not() {
        let first = |beach: &Beach| emergency_at(beach).map(|e| (e.numbers[0], e.by_place));
        // Newlyn, Boston, Sydney: their own clocks and others'.
        for zone in ["Europe/London", "UTC", "America/New_York", "Australia/Sydney"] {
            assert!(emergency_at(&at(-5.5, 50.1, zone)).unwrap().numbers.contains(&"999"), "{zone}");
            assert_eq!(first(&at(-70.9, 42.4, zone)), Some(("911", true)), "{zone}");
            assert_eq!(first(&at(151.3, -33.9, zone)), Some(("000", true)), "{zone}");
        }
        // Mid-ocean with no station about: the zone counts where the sun allows it.
        assert_eq!(emergency_at(&at(-25.0, 20.0, "Australia/Sydney")), None);
        assert!(emergency_numbers(&at(-25.0, 20.0, "Australia/Sydney")).contains("look up the local one"));
    }

    #[test]
    fn every_line_of_the_list_is_whole() {
        let lines: Vec<&str> = LIST.lines().skip(1).collect();
        assert!(lines.len() > 200, "{}", lines.len());
        for line in lines {
            let zone = line.rsplit([',', ' ']).next().unwrap();
            let found = emergency(zone).unwrap();
            assert!(!found.country.is_empty() && !found.country.contains('"'), "{line}");
            assert!(found.numbers.iter().all(|n| n.len() >= 2 && n.bytes().all(|b| b.is_ascii_digit())), "{line}");
        }
    }
}
