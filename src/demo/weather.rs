//! The sea off the invented beach: a record every three hours, calm but for the storms.

use jiff::{SignedDuration, Timestamp, civil::date, tz::TimeZone};
use rand::{RngExt as _, seq::SliceRandom as _};
use rand_chacha::ChaCha8Rng;

use super::planting::StormTruth;
use super::things::spread;
use crate::book::SeaState;

/// Waves above this are a storm's, metres; calm weather stays well below.
pub(super) const STORM_HS_M: f64 = 2.0;
/// Hours between two entries of the record.
const EVERY_H: i64 = 3;

/// First and last day of the eighteen months.
pub(super) fn span() -> (Timestamp, Timestamp) {
    let at = |y, m, d| date(y, m, d).to_zoned_datetime(TimeZone::UTC).map_or(Timestamp::UNIX_EPOCH, |z| z.timestamp());
    (at(2025, 5, 1), at(2026, 11, 1))
}

/// Five storms: three of the first winter, one of the early autumn before it and one of the autumn after.
pub(super) fn storms(rng: &mut ChaCha8Rng) -> Vec<StormTruth> {
    let mut peaks_m = [2.7, 3.1, 3.5, 4.1, 4.8];
    peaks_m.shuffle(rng);
    let (start, _) = span();
    let middle_days = [142, 207, 258, 300, 499];
    middle_days
        .into_iter()
        .zip(peaks_m)
        .map(|(day, hs_m)| {
            let hours = (day + rng.random_range(-6..=6)) * 24 + EVERY_H * rng.random_range(0..8);
            StormTruth { peak: start + SignedDuration::from_hours(hours), hs_m: hundredth(hs_m + rng.random_range(-0.15..0.15)) }
        })
        .collect()
}

/// The record of the sea that holds these storms.
pub(super) fn record(storms: &[StormTruth], rng: &mut ChaCha8Rng) -> Vec<SeaState> {
    let (start, end) = span();
    let mut swell = 0.0;
    let mut series = Vec::new();
    let mut time = start;
    while time < end {
        swell = 0.9 * swell + spread(rng, 0.09);
        let day = (time.as_second() - start.as_second()) as f64 / 86_400.0;
        // Rougher in winter: the year turns about mid-January, day 260.
        let season = 0.5 + 0.5 * (std::f64::consts::TAU * (day - 260.0) / 365.25).cos();
        let calm_m = (0.55 + 0.35 * season + swell).clamp(0.2, 1.25);
        let storm_m = storms.iter().map(|s| swell_of(s, time)).fold(0.0, f64::max);
        let hs_m = calm_m.max(storm_m);
        let blown = (storm_m / 5.0).clamp(0.0, 1.0);
        series.push(SeaState {
            time,
            hs_m: hundredth(hs_m),
            tp_s: Some(tenth(4.2 + 3.6 * hs_m.sqrt() + spread(rng, 0.3))),
            dir_deg: Some((222.0 + 12.0 * blown + spread(rng, 7.0)).round()),
            surge_m: Some(hundredth(0.75 * blown * blown + spread(rng, 0.04))),
        });
        time += SignedDuration::from_hours(EVERY_H);
    }
    series
}

/// Wave height that a storm raises at an instant, metres: a quick rise and a slower fall.
fn swell_of(storm: &StormTruth, time: Timestamp) -> f64 {
    let hours = (time.as_second() - storm.peak.as_second()) as f64 / 3600.0;
    let width_h = if hours < 0.0 { 15.0 } else { 24.0 };
    storm.hs_m * (-(hours / width_h).powi(2)).exp()
}

fn hundredth(v: f64) -> f64 {
    (v * 100.0).round() / 100.0
}

fn tenth(v: f64) -> f64 {
    (v * 10.0).round() / 10.0
}
