//! Daylight: where the sun stands, when it rises and sets, and civil twilight.
//!
//! Low-precision solar position after Meeus, *Astronomical Algorithms*, 2nd ed., chapter 25, as NOAA's
//! solar calculator uses it (from memory; compared with PyPI `astral` and Meeus's worked example in the
//! tests). Good to about 0.01° of position and, below 65° of latitude, well under a minute of time.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::earth::LonLat;

/// Altitude of the sun's centre at sunrise and sunset: refraction and half its disc, degrees.
pub const RISE_DEG: f64 = -0.833;
/// Altitude at the beginning and end of civil twilight, degrees.
pub const CIVIL_DEG: f64 = -6.0;

/// What the sun does on one civil day with respect to one altitude.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crossing {
    /// It comes above and goes below. Either may be missing on a day when it only does one of the two.
    Crosses {
        /// When it comes above.
        up: Option<Timestamp>,
        /// When it goes below.
        down: Option<Timestamp>,
    },
    /// It stays above all day.
    AlwaysAbove,
    /// It stays below all day.
    AlwaysBelow,
}

/// The daylight of one civil day at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Daylight {
    /// Sunrise and sunset.
    pub sun: Crossing,
    /// Beginning and end of civil twilight.
    pub civil: Crossing,
}

impl Daylight {
    /// The daylight of a civil day of the given zone.
    ///
    /// # Errors
    /// [`jiff::Error`] when the date is at the very end of what the calendar can hold.
    pub fn on_day(at: LonLat, date: Date, zone: &TimeZone) -> Result<Self, jiff::Error> {
        let from = date.to_zoned_datetime(zone.clone())?.timestamp();
        let to = date.tomorrow()?.to_zoned_datetime(zone.clone())?.timestamp();
        Ok(Self { sun: crossing(at, from, to, RISE_DEG), civil: crossing(at, from, to, CIVIL_DEG) })
    }
}

/// True altitude of the sun's centre above the horizon, without refraction, degrees.
pub fn altitude_deg(at: LonLat, time: Timestamp) -> f64 {
    let sun = Sun::at(time);
    let (lat, dec) = (at.lat_deg().to_radians(), sun.declination_rad);
    let hour_angle = (sun.sidereal_deg + at.lon_deg() - sun.ascension_deg).to_radians();
    (lat.sin() * dec.sin() + lat.cos() * dec.cos() * hour_angle.cos()).clamp(-1.0, 1.0).asin().to_degrees()
}

/// Whether the sun is up at a moment, refraction and disc allowed for.
pub fn is_up(at: LonLat, time: Timestamp) -> bool {
    altitude_deg(at, time) > RISE_DEG
}

/// Spans of `from..to` in which the sun stands above `above_deg`, to the second.
///
/// # Units
/// Degrees of altitude; [`RISE_DEG`] gives daylight, [`CIVIL_DEG`] daylight with civil twilight.
pub fn lit(at: LonLat, from: Timestamp, to: Timestamp, above_deg: f64) -> Vec<(Timestamp, Timestamp)> {
    let mut spans = Vec::new();
    let mut open = (altitude_deg(at, from) > above_deg).then_some(from);
    for (time, up) in changes(at, from, to, above_deg) {
        if up {
            open = Some(time);
        } else if let Some(start) = open.take() {
            spans.push((start, time));
        }
    }
    if let Some(start) = open
        && start < to
    {
        spans.push((start, to));
    }
    spans
}

fn crossing(at: LonLat, from: Timestamp, to: Timestamp, altitude: f64) -> Crossing {
    let found = changes(at, from, to, altitude);
    if found.is_empty() {
        return if altitude_deg(at, from) > altitude { Crossing::AlwaysAbove } else { Crossing::AlwaysBelow };
    }
    let first = |want: bool| found.iter().find(|&&(_, up)| up == want).map(|&(time, _)| time);
    Crossing::Crosses { up: first(true), down: first(false) }
}

/// Every crossing of an altitude: when, and whether upwards. Looks every ten minutes, and between
/// neighbours at the culmination, so that a sun that only just shows itself is seen.
fn changes(at: LonLat, from: Timestamp, to: Timestamp, altitude: f64) -> Vec<(Timestamp, bool)> {
    const STEP_S: i64 = 600;
    let height = |s: i64| altitude_deg(at, Timestamp::from_second(s).unwrap_or(from)) - altitude;
    let (first, last) = (from.as_second(), to.as_second());
    let mut out = Vec::new();
    let mut grid: Vec<(i64, f64)> = Vec::new();
    let mut s = first;
    while s < last {
        grid.push((s, height(s)));
        s += STEP_S;
    }
    grid.push((last, height(last)));
    // A top or bottom between three neighbours on one side of the altitude: put its true place in.
    let mut points = grid.clone();
    for three in grid.windows(3) {
        let [(a, ha), (_, hb), (c, hc)] = [three[0], three[1], three[2]];
        let peak = hb >= ha && hb >= hc && hb < 0.0;
        let trough = hb <= ha && hb <= hc && hb > 0.0;
        if peak || trough {
            let (mut lo, mut hi) = (a, c);
            while hi - lo > 2 {
                let (m1, m2) = (lo + (hi - lo) / 3, hi - (hi - lo) / 3);
                if (height(m1) < height(m2)) == peak { lo = m1 } else { hi = m2 }
            }
            let mid = lo + (hi - lo) / 2;
            points.push((mid, height(mid)));
        }
    }
    points.sort_by_key(|&(s, _)| s);
    for pair in points.windows(2) {
        let ((mut lo, before), (mut hi, after)) = (pair[0], pair[1]);
        if (before > 0.0) == (after > 0.0) {
            continue;
        }
        while hi - lo > 1 {
            let mid = lo + (hi - lo) / 2;
            if (height(mid) > 0.0) == (before > 0.0) { lo = mid } else { hi = mid }
        }
        if let Ok(time) = Timestamp::from_second(hi)
            && hi < last
        {
            out.push((time, after > 0.0));
        }
    }
    out
}

/// The sun's apparent place.
struct Sun {
    ascension_deg: f64,
    declination_rad: f64,
    sidereal_deg: f64,
}

impl Sun {
    fn at(time: Timestamp) -> Self {
        let days = (time.as_second() - 946_728_000) as f64 / 86_400.0 + f64::from(time.subsec_nanosecond()) * 1e-9 / 86_400.0;
        // The sun's own place wants dynamical time, about 69 s ahead of UT in these decades.
        let t = (days + 69.0 / 86_400.0) / 36_525.0;
        let mean_lon = 280.466_46 + t * (36_000.769_83 + t * 0.000_303_2);
        let anomaly = (357.529_11 + t * (35_999.050_29 - t * 0.000_153_7)).to_radians();
        let centre = (1.914_602 - t * (0.004_817 + t * 0.000_014)) * anomaly.sin()
            + (0.019_993 - t * 0.000_101) * (2.0 * anomaly).sin()
            + 0.000_289 * (3.0 * anomaly).sin();
        let node = (125.04 - 1_934.136 * t).to_radians();
        let apparent = (mean_lon + centre - 0.005_69 - 0.004_78 * node.sin()).to_radians();
        let obliquity = (23.439_291_1 - t * 0.013_004_2 + 0.002_56 * node.cos()).to_radians();
        let ascension = (obliquity.cos() * apparent.sin()).atan2(apparent.cos());
        let ut = days / 36_525.0;
        Self {
            ascension_deg: ascension.to_degrees(),
            declination_rad: (obliquity.sin() * apparent.sin()).asin(),
            sidereal_deg: (280.460_618_37 + 360.985_647_366_29 * days + ut * ut * 0.000_387_933).rem_euclid(360.0),
        }
    }
}
