//! How near the end of an outing lies to sunset and to the end of twilight, and what of it lies in the dark before sunrise.

use jiff::{SignedDuration, Timestamp};

use super::route::Route;
use super::route_clock::RouteClock;
use crate::earth::LonLat;
use crate::sun::{self, CIVIL_DEG, RISE_DEG};

/// So far to either side the sun is followed: beyond a day it stands as it stood.
const REACH: SignedDuration = SignedDuration::from_hours(26);
/// An end that lies no longer than this before sunset lies near it, minutes: half an hour late is soon lost over a full
/// pouch (a judgement).
const NEAR_MIN: i64 = 30;

/// The light at the end of an outing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndLight {
    /// One sentence; one more where a part of the outing is in the dark.
    pub said: String,
    /// Whether the end lies near sunset, after it, or before sunrise.
    pub is_near: bool,
}

impl Route {
    /// The light in which the outing ends on a beach there.
    pub fn end_light(&self, beach: LonLat, clock: &RouteClock) -> EndLight {
        let hour = |t| clock.hour(t);
        let light = at_end(beach, self.off_sand_by(), hour);
        match in_the_dark(beach, self.depart, self.off_sand_by(), hour) {
            Some(dark) => EndLight { said: format!("{} {dark}", light.said), ..light },
            None => light,
        }
    }
}

/// Where a part of an outing is in the dark: from when, and when the next first light and sunrise are.
fn in_the_dark(beach: LonLat, start: Timestamp, end: Timestamp, hour: impl Fn(Timestamp) -> String) -> Option<String> {
    let (from, to) = (start.checked_sub(REACH).ok()?, end.checked_add(REACH).ok()?);
    let civils = sun::lit(beach, from, to, CIVIL_DEG);
    let dark = match civils.iter().find(|(dawn, dark)| *dawn <= start && start < *dark) {
        Some((_, dark)) => Some(*dark).filter(|dark| *dark < end)?,
        None => start,
    };
    let next = |spans: &[(Timestamp, Timestamp)]| spans.iter().map(|(up, _)| *up).find(|up| *up > dark);
    let first = next(&civils).map_or_else(
        || "there is no first light for a day after it".to_owned(),
        |t| format!("first light (civil twilight) is at {}", hour(t)),
    );
    let rise = next(&sun::lit(beach, from, to, RISE_DEG))
        .map_or_else(|| "the sun does not rise for a day after it".to_owned(), |t| format!("sunrise at {}", hour(t)));
    Some(if dark == start {
        format!("It begins in the dark: {first}, {rise}.")
    } else {
        format!("It is dark from {} on: {first}, {rise}.", hour(dark))
    })
}

fn at_end(beach: LonLat, end: Timestamp, hour: impl Fn(Timestamp) -> String) -> EndLight {
    let (from, to) = (end.saturating_sub(REACH), end.saturating_add(REACH));
    let (Ok(from), Ok(to)) = (from, to) else {
        return EndLight { said: "The light at the end is not known.".to_owned(), is_near: true };
    };
    let spans = |above_deg: f64| sun::lit(beach, from, to, above_deg);
    let (suns, civils) = (spans(RISE_DEG), spans(CIVIL_DEG));
    let holding = |all: &[(Timestamp, Timestamp)]| all.iter().copied().find(|(up, down)| *up <= end && end < *down);
    // A span that is cut off by the reach has no end that could be told.
    let told = |time: Timestamp| (time > from && time < to).then_some(time);
    let between = |a: Timestamp, b: Timestamp| long(b.duration_since(a).as_mins());
    match (holding(&suns), holding(&civils)) {
        (Some((_, down)), civil) => {
            let Some(down) = told(down) else {
                return EndLight { said: "Light: the sun does not set before a day after the end.".to_owned(), is_near: false };
            };
            let dark = civil.and_then(|(_, dark)| told(dark));
            let dark =
                dark.map_or_else(|| "it does not get dark after it".to_owned(), |t| format!("twilight ends at {}", hour(t)));
            let said = format!("Light: the end lies {} before sunset at {}; {dark}.", between(end, down), hour(down));
            EndLight { said, is_near: down.duration_since(end).as_mins() < NEAR_MIN }
        }
        (None, Some((dawn, dark))) => {
            let set = suns.iter().map(|(_, down)| *down).filter(|down| *down <= end && *down >= dawn).max();
            let rise = suns.iter().map(|(up, _)| *up).filter(|up| *up > end && *up <= dark).min();
            let said = match (set, rise, told(dark)) {
                (Some(set), _, Some(dark)) => format!(
                    "Dusk: the end lies {} after sunset at {}, {} before twilight ends at {}.",
                    between(set, end),
                    hour(set),
                    between(end, dark),
                    hour(dark)
                ),
                (Some(set), _, None) => {
                    format!(
                        "Dusk: the end lies {} after sunset at {}; it does not get dark after it.",
                        between(set, end),
                        hour(set)
                    )
                }
                (None, Some(rise), _) => {
                    format!("Dawn: the end lies {} before sunrise at {}.", between(end, rise), hour(rise))
                }
                (None, None, Some(dark)) => {
                    format!(
                        "Twilight: the sun does not rise that day; the end lies {} before it is dark at {}.",
                        between(end, dark),
                        hour(dark)
                    )
                }
                (None, None, None) => "Twilight: the sun neither rises nor is it dark for a day around the end.".to_owned(),
            };
            EndLight { said, is_near: true }
        }
        (None, None) => {
            let ended = civils.iter().filter_map(|(_, dark)| told(*dark)).filter(|dark| *dark <= end).max();
            let begins = civils.iter().filter_map(|(dawn, _)| told(*dawn)).filter(|dawn| *dawn > end).min();
            let after = ended.map(|t| format!("{} after twilight ended at {}", between(t, end), hour(t)));
            let before = begins.map(|t| format!("{} before it begins at {}", between(end, t), hour(t)));
            let said = match (after, before) {
                (Some(after), Some(before)) => format!("Dark: the end lies {after}, {before}."),
                (Some(one), None) | (None, Some(one)) => format!("Dark: the end lies {one}."),
                (None, None) => "Dark: there is no twilight for a day around the end.".to_owned(),
            };
            EndLight { said, is_near: true }
        }
    }
}

/// "54 min", "2 h 05 min".
fn long(minutes: i64) -> String {
    if minutes < 60 { format!("{minutes} min") } else { format!("{} h {:02} min", minutes / 60, minutes % 60) }
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;

    use super::*;

    fn at(lat_deg: f64, end: &str) -> EndLight {
        let hour = |t: Timestamp| t.to_zoned_datetime(TimeZone::UTC).strftime("%H:%M").to_string();
        at_end(LonLat::new(0.0, lat_deg).unwrap(), end.parse().unwrap(), hour)
    }

    /// On the equator at the equinox the sun sets at about 18:11 local mean time, and civil twilight lasts some 21 minutes
    /// (from memory); the sun's own times are compared with outside ones where they are worked out.
    #[test]
    fn the_end_is_told_against_the_nearest_end_of_the_light() {
        let day = at(0.0, "2026-03-20T16:00:00Z");
        assert!(day.said.starts_with("Light: the end lies 2 h 1") && day.said.contains("before sunset at 18:1"), "{day:?}");
        assert!(day.said.contains("twilight ends at 18:3") && !day.is_near, "{day:?}");
        assert!(at(0.0, "2026-03-20T17:50:00Z").is_near);
        let dusk = at(0.0, "2026-03-20T18:20:00Z");
        assert!(dusk.said.starts_with("Dusk: the end lies ") && dusk.said.contains("before twilight ends at 18:3"), "{dusk:?}");
        let dark = at(0.0, "2026-03-20T19:30:00Z");
        assert!(dark.said.starts_with("Dark: the end lies ") && dark.said.contains("after twilight ended at 18:3"), "{dark:?}");
        assert!(dusk.is_near && dark.is_near);
    }

    /// The sunset of the same date is no comfort to who is out before sunrise.
    #[test]
    fn before_sunrise_no_sunset_is_told() {
        let night = at(0.0, "2026-03-20T03:00:00Z");
        assert!(
            night.said.starts_with("Dark: ") && night.said.contains("before it begins at 05:4") && night.is_near,
            "{night:?}"
        );
        let dawn = at(0.0, "2026-03-20T06:00:00Z");
        assert!(dawn.said.starts_with("Dawn: ") && dawn.said.contains("before sunrise at 06:0") && dawn.is_near, "{dawn:?}");
    }

    /// The card of an outing from the night into the forenoon told of sunset alone. On the equator at the equinox the sun rises at
    /// about 06:04 local mean time, and civil twilight begins some 21 minutes before (from memory).
    #[test]
    fn what_lies_in_the_dark_is_told_with_first_light_and_sunrise() {
        let hour = |t: Timestamp| t.to_zoned_datetime(TimeZone::UTC).strftime("%H:%M").to_string();
        let of = |lat_deg: f64, start: &str, end: &str| {
            in_the_dark(LonLat::new(0.0, lat_deg).unwrap(), start.parse().unwrap(), end.parse().unwrap(), hour)
        };
        let tells = |said: &str, begins: &str| {
            said.starts_with(begins)
                && said.contains("first light (civil twilight) is at 05:4")
                && said.contains("sunrise at 06:0")
        };
        let begun = of(0.0, "2026-03-20T03:00:00Z", "2026-03-20T08:00:00Z").unwrap();
        assert!(tells(&begun, "It begins in the dark: "), "{begun}");
        let whole = of(0.0, "2026-03-19T22:00:00Z", "2026-03-20T02:00:00Z").unwrap();
        assert!(tells(&whole, "It begins in the dark: "), "{whole}");
        let evening = of(0.0, "2026-03-20T16:00:00Z", "2026-03-20T20:00:00Z").unwrap();
        assert!(tells(&evening, "It is dark from 18:3"), "{evening}");
        assert_eq!(of(0.0, "2026-03-20T08:00:00Z", "2026-03-20T12:00:00Z"), None);
        assert_eq!(of(62.0, "2026-06-21T21:00:00Z", "2026-06-22T01:00:00Z"), None, "it does not get dark");
        let polar = of(80.0, "2026-12-21T10:00:00Z", "2026-12-21T12:00:00Z").unwrap();
        assert!(polar.contains("no first light") && polar.contains("does not rise"), "{polar}");
    }

    #[test]
    fn where_the_sun_does_not_set_or_rise_that_is_said() {
        assert!(at(80.0, "2026-06-21T12:00:00Z").said.contains("does not set"));
        assert!(at(80.0, "2026-12-21T12:00:00Z").said.contains("no twilight"));
        assert!(at(70.0, "2026-12-21T12:00:00Z").said.contains("the sun does not rise that day"));
        assert!(at(62.0, "2026-06-21T22:30:00Z").said.contains("it does not get dark"));
    }

    #[test]
    fn a_time_is_as_long_as_it_reads() {
        assert_eq!((long(0).as_str(), long(59).as_str(), long(125).as_str()), ("0 min", "59 min", "2 h 05 min"));
    }
}
