//! What of a record can be read but hardly be so: it is told, or refused with what would mend it.

use jiff::Timestamp;

use super::Taking;
use crate::book::{Record, Track, TrackPoint};
use crate::earth::{LonLat, distance_m, distance_words};
use crate::exchange::take_in::spots::Spots;
use crate::exchange::take_in::taking::NEAR_M;

/// Data farther than this from its beach is remarked upon, metres.
pub(in crate::exchange) const FAR_M: f64 = 100_000.0;
/// Levels whose middle lies farther than this from the beach are of another place, metres: what a beach and its levels are may
/// be long, and this is beyond the ends of the baseline too.
const OFF_M: f64 = 5_000.0;
/// So many of a file's levels are looked at for it.
const LEVELS_LOOKED_AT: usize = 256;
/// No find of a log is likely to be older: before about 1960 there were hardly any detectors to be had (common
/// practice, no published source). Seconds from 1970 back to 1960-01-01 UTC: ten years, three of them leap years.
const FIRST_S: i64 = -(10 * 365 + 3) * 86_400;
/// What lies within these many degrees of a place, east and north, lies within 64 km of it: one of latitude is never more
/// than 112 km, nor one of longitude.
const NEAR_DEG: f64 = 0.4;
/// What lies further ahead than this is of the future, seconds: clocks differ, days do not.
pub(super) const FUTURE_S: i64 = 24 * 3600;
/// No fix is older than the time of the satellites, which counts from 1980-01-06 (IS-GPS-200, 3.3.4); seconds since 1970.
const SATELLITES_S: i64 = 315_964_800;
/// A clock that is set right while it runs steps back by seconds, not by more than this.
const STEP_BACK_S: i64 = 5;

impl Taking<'_> {
    /// Tells of times that can hardly be: of long ago, of days to come, and running backwards along a track.
    pub(super) fn doubt_times(&mut self, line: u64, record: &Record) {
        let time = match record {
            Record::Find(find) => find.time,
            Record::Signal(signal) => signal.time,
            Record::Outing(outing) => Some(outing.start),
            Record::Track(track) => {
                if track.segments.iter().any(|s| runs_back(s.iter().filter_map(|p| p.time()))) {
                    self.count(
                        line,
                        "track(s) have times that run backwards, so speeds and the order of searching are wrong there",
                    );
                }
                track.span().map(|(from, _)| from)
            }
            _ => None,
        };
        let Some(time) = time else { return };
        if time.as_second() < FIRST_S {
            self.count(
                line,
                "record(s) are dated before 1960, as a spreadsheet writes an empty date or a clock that was never set",
            );
        } else if time.as_second() - self.now.as_second() > FUTURE_S && !matches!(record, Record::Track(_)) {
            self.count(line, "record(s) are dated in days to come; was a year or a clock wrong?");
        }
    }

    /// Leaves out of a track the few fixes that a receiver wrote before it had a place or a time: one of them would put
    /// the whole walk elsewhere, or into no outing. Where most are such, something else is wrong, and they stay.
    pub(super) fn leave_out_stray_fixes(&mut self, line: u64, track: &mut Track) {
        let nowhere = |p: &TrackPoint| p.at.lon_deg() == 0.0 && p.at.lat_deg() == 0.0;
        let stray = |p: &TrackPoint| nowhere(p) || p.time().is_some_and(|t| t.as_second() < SATELLITES_S);
        let strays = track.points().filter(|p| stray(p)).count();
        if strays == 0 || 2 * strays >= track.len() {
            return;
        }
        let kept = track.segments.iter().map(|s| s.iter().filter(|p| !stray(p)).copied().collect::<Vec<_>>());
        track.segments = kept.filter(|s| !s.is_empty()).map(Into::into).collect();
        for _ in 0..strays {
            self.count(line, "fix(es) at 0, 0 or of a day before there were satellites were left out of their track");
        }
    }

    /// Refuses what lies far from the beach but near it with its coordinates exchanged; counts what is far.
    pub(super) fn check_place(&mut self, line: u64, at: LonLat) -> Result<(), String> {
        let (east_deg, north_deg) = (at.lon_deg() - self.beach.origin.lon_deg(), at.lat_deg() - self.beach.origin.lat_deg());
        if east_deg.abs() < NEAR_DEG && north_deg.abs() < NEAR_DEG {
            return Ok(());
        }
        let away_m = distance_m(self.beach.origin, at);
        if away_m <= FAR_M {
            return Ok(());
        }
        if at.lon_deg() == 0.0 && at.lat_deg() == 0.0 {
            return Err("stands at 0, 0, as programs write where they have no position; give it one, or none".to_owned());
        }
        if at.swapped().is_some_and(|s| distance_m(self.beach.origin, s) <= NEAR_M) {
            return Err(format!(
                "lies {:.0} km from {} as written but on it with longitude and latitude exchanged; exchange the two columns or values. Or, if {} itself lies wrong, at {}, and {at} is right, import what it was placed by anew with the two exchanged, as a new beach",
                away_m / 1000.0,
                self.beach.name,
                self.beach.name,
                self.beach.origin
            ));
        }
        let mirrored = [(-1.0, 1.0, "west for east"), (1.0, -1.0, "south for north"), (-1.0, -1.0, "both sides exchanged")];
        for (x, y, how) in mirrored {
            let there = LonLat::new(at.lon_deg() * x, at.lat_deg() * y);
            if there.is_ok_and(|there| distance_m(self.beach.origin, there) <= NEAR_M) {
                return Err(format!(
                    "lies {:.0} km from {} as written but on it with {how}; give the sides with a minus or in columns N/S and E/W",
                    away_m / 1000.0,
                    self.beach.name
                ));
            }
        }
        let often = std::mem::take(&mut self.far);
        self.far = self.once_more(often, line);
        Ok(())
    }
}

impl Taking<'_> {
    /// Tells of levels that lie off the beach as a whole: which of the two is of another place cannot be known.
    pub(super) fn doubt_place_of_levels(&mut self) {
        let levels = || self.records.iter().filter_map(|r| if let Record::Level(level) = r { Some(level.at) } else { None });
        let stride = levels().count().div_ceil(LEVELS_LOOKED_AT).max(1);
        let mut spots = Spots::default();
        levels().step_by(stride).for_each(|at| spots.add(at));
        let Some(middle) = spots.extent().map(|e| e.middle) else { return };
        let beach = &self.beach;
        let to_beach_m =
            |at: LonLat| beach.baseline.iter().chain([&beach.origin]).map(|p| distance_m(*p, at)).fold(f64::INFINITY, f64::min);
        let away_m = to_beach_m(middle);
        if away_m <= OFF_M {
            return;
        }
        let slip = middle.slips().into_iter().find(|(at, _)| to_beach_m(*at) <= OFF_M);
        let todo = match slip {
            Some((_, how)) => format!("with {how} the levels lie on the beach: look whether they are written so"),
            None => "take out whichever is of another place".to_owned(),
        };
        self.warn(format!(
            "the levels lie near {middle}, {} from {}, which lies at {}: which of the two is off cannot be known; {todo}",
            distance_words(away_m),
            self.beach.name,
            self.beach.origin
        ));
    }
}

/// Whether times step back by more than a clock that is set right.
fn runs_back(times: impl Iterator<Item = Timestamp>) -> bool {
    let mut latest: Option<Timestamp> = None;
    times.into_iter().any(|time| {
        let back = latest.is_some_and(|latest| latest.as_second() - time.as_second() > STEP_BACK_S);
        latest = latest.max(Some(time));
        back
    })
}
