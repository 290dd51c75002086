//! The clocks of cameras: how far each is ahead of UTC, found where a photograph has both its own time and a satellite's.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::shot::Shot;
use crate::Progress;
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::take_in::taking::weeks::weeks_later;
use crate::exchange::tools::sniff::{Sniffed, sniff};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::when::When;

/// The time of a satellite in a photograph may be that of its last position; farther off than this it is not believed, seconds.
const STALE_S: i64 = 10 * 60;
/// Clocks are at most this far from UTC, seconds.
const FARTHEST_S: i64 = 15 * 3600;

/// How far the clock of each camera is ahead of UTC, seconds.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::exchange) struct Clocks(BTreeMap<String, i64>);

impl Clocks {
    /// The clocks of the cameras whose photographs are among these files; what cannot be read is passed over here.
    pub(in crate::exchange) fn of_all(sources: &[Source], progress: &Progress) -> Self {
        let mut found: BTreeMap<String, Vec<i64>> = BTreeMap::new();
        let photographs: Vec<&Source> = sources.iter().filter(|s| is_photograph(s)).collect();
        // A lone photograph says of itself what it says.
        if photographs.len() < 2 {
            return Self::default();
        }
        for source in photographs {
            let Ok(shot) = Shot::read(source, progress) else { continue };
            // One that states its zone is believed as it is.
            if let Some(ahead_s) = ahead_s(&shot).filter(|_| !shot.camera.is_empty() && shot.offset_s.is_none()) {
                found.entry(shot.camera).or_default().push(ahead_s);
            }
        }
        Self(found.into_iter().filter_map(|(camera, ahead)| Some((camera, settled(ahead)?))).collect())
    }

    fn of_camera(&self, camera: &str) -> Option<i64> {
        self.0.get(camera).copied()
    }
}

fn is_photograph(source: &Source) -> bool {
    source.head().is_ok_and(|head| sniff(&head) == Ok(Sniffed::Photograph))
}

/// What several photographs say together. A satellite's time may be old but never early, so the least is nearest the
/// truth; where they differ by more than that explains, the clock was set meanwhile, and the middle one is taken.
fn settled(mut ahead: Vec<i64>) -> Option<i64> {
    ahead.sort_unstable();
    let (least, most) = (*ahead.first()?, *ahead.last()?);
    if most - least <= STALE_S { Some(least) } else { ahead.get((ahead.len() - 1) / 2).copied() }
}

/// How far a camera's clock was ahead of UTC by one of its photographs, seconds.
fn ahead_s(shot: &Shot) -> Option<i64> {
    let (camera, satellite) = (shot.by_camera?, shot.by_satellite?);
    let ahead_s = TimeZone::UTC.to_timestamp(camera).ok()?.as_second() - satellite.as_second();
    (ahead_s.abs() <= FARTHEST_S).then_some(ahead_s)
}

/// When a photograph was taken, and how that is known.
pub(super) fn moment(shot: &Shot, clocks: &Clocks, taking: &mut Taking<'_>) -> Option<(Timestamp, &'static str)> {
    let by_offset = |ahead_s: i64| {
        let local = TimeZone::UTC.to_timestamp(shot.by_camera?).ok()?;
        local.checked_sub(SignedDuration::from_secs(ahead_s)).ok()
    };
    let stated = shot.offset_s.and_then(by_offset);
    if let (Some(satellite), Some(Ok(_))) = (shot.by_satellite, &shot.at) {
        return match stated {
            Some(stated) if (stated.as_second() - satellite.as_second()).abs() <= STALE_S => {
                Some((stated, "the camera's clock and zone"))
            }
            _ => {
                // The camera's own clock, if it has one, says when the photograph was made.
                let made = stated.or_else(|| TimeZone::UTC.to_timestamp(shot.by_camera?).ok());
                let later = if taking.is_weeks_early(satellite, 0, made) { weeks_later(satellite) } else { None };
                Some((later.unwrap_or(satellite), "the satellites' time in it"))
            }
        };
    }
    shot.by_camera?;
    if let Some(ahead_s) = taking.options.camera_clock_s {
        return Some((by_offset(ahead_s)?, "the camera's clock, set right as asked"));
    }
    if let Some(stated) = stated {
        return Some((stated, "the camera's clock and zone"));
    }
    if let Some(ahead_s) = clocks.of_camera(&shot.camera) {
        let how = format!("{} ahead of UTC, by the satellites' time in its photographs", words(ahead_s));
        taking.understand_once("camera's clock", &how);
        return Some((by_offset(ahead_s)?, "the camera's clock, set right by its photographs with the satellites' time"));
    }
    let local = shot.by_camera?;
    let clock = taking.options.zone.clone().unwrap_or_else(|| taking.beach.time_zone.clone());
    taking.understand_once("times", &format!("the camera's clock, on the zone of {clock} where nothing else is said"));
    let zone = if taking.options.zone.is_some() {
        taking.zone.clone()
    } else {
        let question = || {
            format!(
                "nothing says which zone the camera's clock was on when it showed {}: that of {}, or UTC? If it was neither, or was wrong, say \
                 how far it was ahead of UTC (on the command line --camera-clock).",
                local.strftime("%Y-%m-%d %H:%M"),
                taking.beach.time_zone.clone()
            )
        };
        let question = question();
        match taking.settle(About::Camera, || question, None)? {
            "utc" => TimeZone::UTC,
            _ => taking.zone.clone(),
        }
    };
    let (time, _) = When::Local(local).instant(&zone)?;
    Some((time, "the camera's clock"))
}

/// `01:00:30`, with a sign.
fn words(seconds: i64) -> String {
    let s = seconds.abs();
    format!("{}{:02}:{:02}:{:02}", if seconds < 0 { '-' } else { '+' }, s / 3600, s / 60 % 60, s % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn several_photographs_settle_a_clock_together() {
        assert_eq!(settled(vec![]), None);
        assert_eq!(settled(vec![3750, 3761, 3752]), Some(3750), "an old time of the satellites makes it seem further ahead");
        assert_eq!(settled(vec![3600, 3605, 7200]), Some(3605), "it was set by an hour meanwhile");
        assert_eq!((words(3750), words(-5430)), ("+01:02:30".to_owned(), "-01:30:30".to_owned()));
    }
}
