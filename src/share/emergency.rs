//! Emergency numbers by country, from a public list (data/emergency), for the card.

/// What the list says for one country.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Emergency {
    /// The country's name.
    pub country: &'static str,
    /// Its numbers; one that answers for every service stands first.
    pub numbers: Vec<&'static str>,
}

/// Where the list comes from, for the card.
pub const EMERGENCY_SOURCE: &str = "libphonenumber short number metadata, phonenumbers 9.0.43";

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
        let (_, name) = rest.split_once(',')?;
        Some(Emergency { country: name.trim_matches('"'), numbers: numbers.split(' ').collect() })
    })
}

/// The same for a line of text: "999 (also 112)", or what to do where the list does not know.
pub fn emergency_numbers(time_zone: &str) -> String {
    match emergency(time_zone).map(|e| e.numbers) {
        Some(numbers) => match numbers.split_first() {
            Some((first, rest)) if !rest.is_empty() => format!("{first} (also {}), ask for sea rescue", rest.join(", ")),
            Some((first, _)) => format!("{first}, ask for sea rescue"),
            None => "number: look it up before you go".to_owned(),
        },
        None => "number: look it up before you go".to_owned(),
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
