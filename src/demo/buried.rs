//! What lies in the sand and when it can be heard: scattered things, drop zones and scour lines.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Exp, Poisson};

use super::ground::{self, Ground, Spot, across_at_level_m};
use super::planting::{Cause, DropZone, Planting, Renewal, ScourLine, StormTruth};
use super::things::{self, Source, Thing, spread};
use super::weather;
use crate::earth::EarthError;

/// A thing in the sand with its place and the time through which it lies within reach.
#[derive(Debug, Clone)]
pub(super) struct Buried {
    pub(super) thing: Thing,
    pub(super) at: Spot,
    pub(super) cause: Cause,
    /// Seconds since 1970 from which and until which it can be heard.
    pub(super) from_s: i64,
    pub(super) until_s: i64,
}

/// Everything buried, and the patterns behind it.
pub(super) struct Sand {
    pub(super) buried: Vec<Buried>,
    pub(super) drop_zones: Vec<DropZone>,
    pub(super) scour_lines: Vec<ScourLine>,
}

/// How long a thing between the tides lies within reach of the coil before the sand covers it again, days on average.
const REACH_DAYS: f64 = 75.0;

/// Places where people stop: by the accesses, the seats, and along the high-water line.
const STOPS: [(f64, f64); 6] = [(605.0, 31.0), (1118.0, 37.0), (395.0, 57.0), (215.0, 33.0), (690.0, 38.0), (945.0, 58.0)];
/// Stretches along which a scour line can run unbroken, metres along.
const STRETCHES: [(f64, f64); 3] = [(190.0, 500.0), (520.0, 865.0), (1020.0, 1262.0)];

pub(super) fn bury(
    planting: &Planting,
    ground: &Ground,
    storms: &[StormTruth],
    rng: &mut ChaCha8Rng,
) -> Result<Sand, EarthError> {
    let mut sand = Sand { buried: Vec::new(), drop_zones: Vec::new(), scour_lines: Vec::new() };
    scatter(planting.scattered_per_100m2, &mut sand, rng);
    if planting.with_patterns {
        for number in 0..planting.drop_zones.min(STOPS.len()) {
            drop_zone(number, ground, &mut sand, rng)?;
        }
        for number in 0..planting.scour_lines.min(STRETCHES.len()) {
            scour_line(number, ground, storms, &mut sand, rng)?;
        }
    }
    Ok(sand)
}

fn scatter(per_100m2: f64, sand: &mut Sand, rng: &mut ChaCha8Rng) {
    let (near_m, far_m) = (8.0, 300.0);
    let area_m2 = ground::LENGTH_M * (far_m - near_m);
    let (start, end) = weather::span();
    let days = (end.as_second() - start.as_second()) as f64 / 86_400.0;
    let at_once = area_m2 * per_100m2 / 100.0;
    // As many lie within reach at any time: what the sea buries is made good by what it uncovers.
    let (first, later) = (poisson(at_once, rng), poisson(at_once * days / REACH_DAYS, rng));
    for n in 0..first + later {
        let at = Spot::new(rng.random_range(0.0..ground::LENGTH_M), rng.random_range(near_m..far_m));
        let thing = things::draw(Source::Scattered, rng);
        let from_s = if n < first { start.as_second() } else { rng.random_range(start.as_second()..end.as_second()) };
        let until_s = from_s + (exponential(REACH_DAYS, rng) * 86_400.0) as i64;
        sand.buried.push(Buried { thing, at, cause: Cause::Scattered, from_s, until_s });
    }
}

fn drop_zone(number: usize, ground: &Ground, sand: &mut Sand, rng: &mut ChaCha8Rng) -> Result<(), EarthError> {
    let (along_m, across_m) = STOPS[number];
    let centre = Spot::new(along_m, across_m).moved(rng.random_range(-10.0..10.0), rng.random_range(-3.0..3.0));
    let (sigma_along_m, sigma_across_m) = (rng.random_range(5.5..8.0), rng.random_range(3.5..4.5));
    let days = loss_days(rng);
    let (first, lost) = (poisson(40.0, rng), poisson(80.0, rng));
    for n in 0..first + lost {
        let at = centre.moved(spread(rng, sigma_along_m), spread(rng, sigma_across_m));
        let from_s = if n < first { i64::MIN } else { days[rng.random_range(0..days.len())] + 3600 * rng.random_range(9..18) };
        let thing = things::draw(Source::Dropped, rng);
        sand.buried.push(Buried { thing, at, cause: Cause::DropZone(number), from_s, until_s: i64::MAX });
    }
    sand.drop_zones.push(DropZone {
        centre: ground.place(centre, 7)?,
        along_m: centre.along_m,
        across_m: centre.across_m,
        half_along_m: 2.0 * sigma_along_m,
        half_across_m: 2.0 * sigma_across_m,
    });
    Ok(())
}

/// Midnights of the days on which things are lost, the busy days many times: summer and weekends.
fn loss_days(rng: &mut ChaCha8Rng) -> Vec<i64> {
    let (start, end) = weather::span();
    let mut days = Vec::new();
    for day in 0..(end.as_second() - start.as_second()) / 86_400 {
        let midnight = start.as_second() + day * 86_400;
        let Ok(time) = Timestamp::from_second(midnight) else { continue };
        let date = time.to_zoned_datetime(TimeZone::UTC).date();
        let busy = match date.month() {
            6..=8 => 6.0,
            5 | 9 => 3.0,
            _ => 1.0,
        };
        let weekend = if date.weekday().to_monday_zero_offset() >= 5 { 2.0 } else { 1.0 };
        days.extend(std::iter::repeat_n(midnight, poisson(busy * weekend, rng)));
    }
    if days.is_empty() { vec![start.as_second()] } else { days }
}

fn scour_line(
    number: usize,
    ground: &Ground,
    storms: &[StormTruth],
    sand: &mut Sand,
    rng: &mut ChaCha8Rng,
) -> Result<(), EarthError> {
    let (near_m, far_m) = STRETCHES[number];
    let length_m = rng.random_range(170.0..(far_m - near_m));
    let from_m = near_m + rng.random_range(0.0..=(far_m - near_m - length_m));
    let along_m = (from_m, from_m + length_m);
    // On the lower face and the foot of it, where the sand is gently sloped and often stripped.
    let level_m = rng.random_range(-0.25..0.95);
    let sigma_m = rng.random_range(0.9..1.4);
    let mut lay = |level_m: f64, things: usize, from_s: i64, days: Option<f64>, rng: &mut ChaCha8Rng| {
        for _ in 0..things {
            let along = rng.random_range(along_m.0..along_m.1);
            let at = Spot::new(along, across_at_level_m(along, level_m) + spread(rng, sigma_m));
            let until_s = days.map_or(i64::MAX, |d| from_s + (exponential(d, rng) * 86_400.0) as i64);
            let thing = things::draw(Source::Sorted, rng);
            sand.buried.push(Buried { thing, at, cause: Cause::ScourLine(number), from_s, until_s });
        }
    };
    let laid_before = poisson(0.06 * length_m, rng);
    lay(level_m, laid_before, i64::MIN, None, rng);
    let mut renewals = Vec::new();
    for (storm, s) in storms.iter().enumerate() {
        // Higher waves strip more and lay the line a little differently each time.
        let renewed_m = level_m + spread(rng, 0.05).clamp(-0.1, 0.1);
        let things = poisson(length_m * 0.11 * (s.hs_m - 1.0), rng);
        lay(renewed_m, things, s.peak.as_second() + 86_400, Some(REACH_DAYS), rng);
        renewals.push(Renewal { storm, level_m: renewed_m, things });
    }
    let steps = (length_m / 10.0).ceil();
    let line = (0..=steps as usize).map(|i| {
        let along = along_m.0 + length_m * i as f64 / steps;
        ground.place(Spot::new(along, across_at_level_m(along, level_m)), 7)
    });
    let line = line.collect::<Result<Vec<_>, _>>()?;
    sand.scour_lines.push(ScourLine { level_m, width_m: 3.92 * sigma_m, along_m, line, laid_before, renewals });
    Ok(())
}

/// A Poisson count of the given mean.
pub(super) fn poisson(mean: f64, rng: &mut ChaCha8Rng) -> usize {
    Poisson::new(mean).map_or(0, |p| p.sample(rng) as usize)
}

fn exponential(mean: f64, rng: &mut ChaCha8Rng) -> f64 {
    Exp::new(1.0 / mean).map_or(mean, |e| e.sample(rng))
}
