//! Daylight against PyPI astral and a worked example; values and script in `tests/reference/tide`.

use jiff::tz::TimeZone;
use jiff::{Timestamp, civil::Date};
use scourline::earth::LonLat;
use scourline::sun::{CIVIL_DEG, Crossing, Daylight, RISE_DEG, altitude_deg, is_up, lit};

/// PyPI astral at 160 places below 65 degrees of latitude, on days of 35 years: its own times to one minute
/// below 55 degrees, and everywhere the moments at which its own elevation passes the altitude, to ten seconds.
#[test]
fn rises_and_sets_with_astral() {
    let path = format!("{}/tests/reference/tide/astral_sun.tsv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let (mut compared, mut worst) = (0, [0, 0]);
    for line in text.lines().skip(2) {
        let f: Vec<&str> = line.split('\t').collect();
        let place = LonLat::new(f[0].parse().unwrap(), f[1].parse().unwrap()).unwrap();
        let day = Daylight::on_day(place, f[2].parse::<Date>().unwrap(), &TimeZone::UTC).unwrap();
        let of = |c: Crossing| match c {
            Crossing::Crosses { up, down } => (up, down),
            _ => (None, None),
        };
        let ((dawn, dusk), (rise, set)) = (of(day.civil), of(day.sun));
        for (mine, theirs) in [(dawn, f[3]), (rise, f[4]), (set, f[5]), (dusk, f[6])] {
            let Some((given, refined)) = theirs.split_once('/') else { continue };
            let (given, refined): (i64, Option<i64>) = (given.parse().unwrap(), refined.parse().ok());
            // A crossing near midnight may belong to the day before or after.
            let Some(mine) = mine.map(Timestamp::as_second).filter(|m| (m - given).abs() < 43_200) else { continue };
            compared += 1;
            if place.lat_deg().abs() < 55.0 {
                worst[0] = worst[0].max((mine - given).abs());
            }
            if let Some(refined) = refined {
                worst[1] = worst[1].max((mine - refined).abs());
            }
        }
    }
    println!("{compared} crossings, largest differences {worst:?} s");
    assert!(compared > 600);
    assert!(worst[0] <= 60 && worst[1] <= 10, "{worst:?}");
}

/// Meeus, Astronomical Algorithms, 2nd ed., example 25.a (from memory): 1992 October 13.0 TD, the sun's
/// declination is -7.785069 degrees. Seen where it culminates, altitude = 90 - |lat - declination|.
#[test]
fn stands_where_meeus_puts_it() {
    let noon: Timestamp = "1992-10-12T23:59:01Z".parse().unwrap();
    // The place on the equator where the sun is on the meridian: highest of all longitudes.
    let highest = (-18000..18000)
        .map(|i| altitude_deg(LonLat::new(f64::from(i) / 100.0, -7.785_069).unwrap(), noon))
        .fold(f64::MIN, f64::max);
    assert!((highest - 90.0).abs() < 0.011, "{highest}");
}

#[test]
fn polar_day_and_night_are_said() {
    let tromso = LonLat::new(18.95, 69.65).unwrap();
    let zone = TimeZone::get("Europe/Oslo").unwrap();
    let summer = Daylight::on_day(tromso, "2024-06-21".parse().unwrap(), &zone).unwrap();
    assert_eq!(summer.sun, Crossing::AlwaysAbove);
    let winter = Daylight::on_day(tromso, "2024-12-21".parse().unwrap(), &zone).unwrap();
    assert_eq!(winter.sun, Crossing::AlwaysBelow);
    assert!(matches!(winter.civil, Crossing::Crosses { up: Some(_), down: Some(_) }));
    let pole = LonLat::new(0.0, -90.0).unwrap();
    let south = Daylight::on_day(pole, "2024-06-21".parse().unwrap(), &TimeZone::UTC).unwrap();
    assert_eq!((south.sun, south.civil), (Crossing::AlwaysBelow, Crossing::AlwaysBelow));
}

#[test]
fn lit_spans_are_day_and_twilight() {
    let place = LonLat::new(-5.5, 50.1).unwrap();
    let (from, to): (Timestamp, Timestamp) = ("2024-03-20T00:00:00Z".parse().unwrap(), "2024-03-23T00:00:00Z".parse().unwrap());
    let days = lit(place, from, to, RISE_DEG);
    let with_twilight = lit(place, from, to, CIVIL_DEG);
    assert_eq!((days.len(), with_twilight.len()), (3, 3));
    for ((rise, set), (dawn, dusk)) in days.iter().zip(&with_twilight) {
        assert!(dawn < rise && rise < set && set < dusk);
        assert!(
            is_up(place, *rise + jiff::SignedDuration::from_secs(2)) && !is_up(place, *rise - jiff::SignedDuration::from_secs(2))
        );
    }
}
