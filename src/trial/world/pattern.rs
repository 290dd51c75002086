//! What is planted: scour lines and drop zones.

use std::f64::consts::PI;

use super::draw::{Rng, chance, log_uniform, pick, uniform};
use super::land::Land;

/// A planted scour line: heavy things that are no iron lie this many times as dense in a strip at one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScourLine {
    /// Where it begins and ends, metres along.
    pub along_m: (f64, f64),
    /// Its middle where lines of one level do not swerve, metres across.
    pub across_m: f64,
    /// Metres seaward that it slants for each metre along.
    pub slant: f64,
    /// Its width, metres.
    pub width_m: f64,
    /// Its mean level, metres above the land datum.
    pub level_m: f64,
    /// How many times as rich in heavy things.
    pub times: f64,
    /// When a storm laid it, seconds since 1970; `None` when it lay there from the start.
    pub from_s: Option<i64>,
}

impl ScourLine {
    /// Its middle at a place along, metres across.
    pub fn middle_m(&self, land: &Land, along_m: f64) -> f64 {
        let mid = 0.5 * (self.along_m.0 + self.along_m.1);
        self.across_m + self.slant * (along_m - mid) + land.swerve_m(along_m)
    }

    /// Whether a place lies in it, each edge moved out by `grown_m`.
    pub fn holds(&self, land: &Land, along_m: f64, across_m: f64, grown_m: f64) -> bool {
        (self.along_m.0 - grown_m..=self.along_m.1 + grown_m).contains(&along_m)
            && (across_m - self.middle_m(land, along_m)).abs() <= 0.5 * self.width_m + grown_m
    }
}

/// A planted drop zone: things of the beach's own mix lie this many times as dense in an ellipse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropZone {
    /// Its middle, metres along.
    pub along_m: f64,
    /// Its middle, metres across.
    pub across_m: f64,
    /// Half its longer axis, metres.
    pub half_long_m: f64,
    /// Half its shorter axis, metres.
    pub half_short_m: f64,
    /// Angle of the longer axis from along the shore, radians.
    pub turn_rad: f64,
    /// How many times as rich.
    pub times: f64,
    /// Since when, seconds since 1970; `None` when from the start.
    pub from_s: Option<i64>,
}

impl DropZone {
    /// Whether a place lies in it, its half axes longer by `grown_m`.
    pub fn holds(&self, along_m: f64, across_m: f64, grown_m: f64) -> bool {
        let (sin, cos) = self.turn_rad.sin_cos();
        let (da, dc) = (along_m - self.along_m, across_m - self.across_m);
        let (long, short) = (da * cos + dc * sin, dc * cos - da * sin);
        (long / (self.half_long_m + grown_m)).hypot(short / (self.half_short_m + grown_m)) <= 1.0
    }

    /// A place in it by its share of the way round and out: `round` 0 to 1, `out` 0 at the middle to 1 at the rim.
    pub fn spot(&self, round: f64, out: f64) -> (f64, f64) {
        let (s, c) = (2.0 * PI * round).sin_cos();
        let (long, short) = (self.half_long_m * out * c, self.half_short_m * out * s);
        let (sin, cos) = self.turn_rad.sin_cos();
        (self.along_m + long * cos - short * sin, self.across_m + long * sin + short * cos)
    }
}

/// None to three of each, anywhere above low water.
pub(super) fn plant(land: &Land, storms_s: &[i64], span_s: (i64, i64), rng: &mut Rng) -> (Vec<ScourLine>, Vec<DropZone>) {
    let (lines, zones) = loop {
        let counts = (pick(rng, 4), pick(rng, 4));
        if counts != (0, 0) {
            break counts;
        }
    };
    let lines = (0..lines).map(|_| line(land, storms_s, rng)).collect();
    let mut planted: Vec<DropZone> = Vec::new();
    for _ in 0..zones {
        let touched = planted.last().copied().filter(|_| chance(rng, 0.25));
        planted.push(zone(land, touched, span_s, rng));
    }
    (lines, planted)
}

fn line(land: &Land, storms_s: &[i64], rng: &mut Rng) -> ScourLine {
    let length_m = log_uniform(rng, 40.0, 400.0).min(land.length_m);
    let from_m = uniform(rng, 0.0, land.length_m - length_m);
    let width_m = uniform(rng, 2.0, 8.0);
    let across_m = uniform(rng, 2.0 + 0.5 * width_m, (land.width_m - 0.5 * width_m).max(3.0 + 0.5 * width_m));
    // A slanting line changes its level by 0.3 m at most from end to end.
    let most = (0.3 / (land.slope * length_m)).min(0.03);
    let slant = if chance(rng, 0.5) { 0.0 } else { uniform(rng, -most, most) };
    let from_s = if chance(rng, 0.5) || storms_s.is_empty() { None } else { Some(storms_s[pick(rng, storms_s.len())] + 43_200) };
    let along_m = (from_m, from_m + length_m);
    let mid = 0.5 * (along_m.0 + along_m.1);
    let levels = (0..=20).map(|n| land.profile_m(across_m + slant * (from_m + length_m * f64::from(n) / 20.0 - mid)));
    ScourLine {
        along_m,
        across_m,
        slant,
        width_m,
        level_m: levels.sum::<f64>() / 21.0,
        times: log_uniform(rng, 1.5, 10.0),
        from_s,
    }
}

/// A zone, beside another that it is to touch where there is one.
fn zone(land: &Land, touched: Option<DropZone>, span_s: (i64, i64), rng: &mut Rng) -> DropZone {
    let (half_long_m, part) = (log_uniform(rng, 4.0, 20.0), uniform(rng, 0.4, 1.0));
    let half_short_m = half_long_m * part;
    let turn_rad = uniform(rng, 0.0, PI);
    let (mut along_m, mut across_m) = (uniform(rng, 5.0, land.length_m - 5.0), uniform(rng, 3.0, land.width_m - 3.0));
    if let Some(other) = touched {
        // From the other's middle to its rim along the shore, and from there to the middle of this one.
        let (sin, cos) = other.turn_rad.sin_cos();
        let to_rim = 1.0 / (cos / other.half_long_m).hypot(sin / other.half_short_m) + half_long_m;
        let side = if other.along_m + to_rim < land.length_m { 1.0 } else { -1.0 };
        along_m = other.along_m + side * to_rim;
        across_m = other.across_m;
    }
    let late =
        chance(rng, 0.3).then(|| uniform(rng, span_s.0 as f64, span_s.0 as f64 + 0.7 * (span_s.1 - span_s.0) as f64) as i64);
    let turn_rad = if touched.is_some() { 0.0 } else { turn_rad };
    DropZone { along_m, across_m, half_long_m, half_short_m, turn_rad, times: log_uniform(rng, 1.5, 10.0), from_s: late }
}
