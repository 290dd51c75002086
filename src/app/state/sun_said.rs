//! The day's sunrise and sunset in words: worked out once a day and place, as the sun's course is looked at every ten
//! minutes of it.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::earth::LonLat;
use crate::sun::{Crossing, Daylight};

/// What is said of the sun, and of which place, day and clock.
#[derive(Debug, Default)]
pub(crate) struct SunSaid {
    of: Option<(LonLat, Date, TimeZone)>,
    said: Option<String>,
}

impl SunSaid {
    /// What is said of a day at a place, by a clock; nothing beyond the calendar.
    pub(crate) fn on_day(&mut self, at: LonLat, day: Date, zone: &TimeZone) -> Option<&str> {
        if self.of.as_ref().is_none_or(|(a, d, z)| (*a, *d, z) != (at, day, zone)) {
            self.said = Daylight::on_day(at, day, zone).ok().map(|light| words(&light, zone));
            self.of = Some((at, day, zone.clone()));
        }
        self.said.as_deref()
    }
}

fn words(light: &Daylight, zone: &TimeZone) -> String {
    match light.sun {
        Crossing::Crosses { up, down } => [up.map(|t| ("sunrise", t)), down.map(|t| ("sunset", t))]
            .into_iter()
            .flatten()
            .map(|(what, t)| format!("{what} {}", t.to_zoned_datetime(zone.clone()).strftime("%H:%M")))
            .collect::<Vec<_>>()
            .join(", "),
        Crossing::AlwaysAbove => "sun up all day".to_owned(),
        Crossing::AlwaysBelow => "sun down all day".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_place_day_or_clock_is_said_anew() {
        let (mut said, london) = (SunSaid::default(), TimeZone::get("Europe/London").unwrap());
        let place = |lon, lat| LonLat::new(lon, lat).unwrap();
        let day = |text: &str| text.parse::<Date>().unwrap();
        let mut on = |at, day, zone: &TimeZone| {
            let now = said.on_day(at, day, zone).unwrap().to_owned();
            assert_eq!(now, SunSaid::default().on_day(at, day, zone).unwrap());
            now
        };
        let first = on(place(-5.0, 50.0), day("2027-01-10"), &london);
        assert!(first.starts_with("sunrise 08:") && first.contains(", sunset 16:"), "{first}");
        for other in [
            on(place(1.0, 50.0), day("2027-01-10"), &london),
            on(place(-5.0, 50.0), day("2027-06-10"), &london),
            on(place(-5.0, 50.0), day("2027-01-10"), &TimeZone::get("Europe/Paris").unwrap()),
            on(place(20.0, 78.0), day("2027-01-10"), &london),
        ] {
            assert_ne!(other, first);
        }
        assert_eq!(on(place(-5.0, 50.0), day("2027-01-10"), &london), first);
    }
}
