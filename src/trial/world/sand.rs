//! What lies in the sand: things of three classes, strewn by a smooth rate and what was planted into it.

use super::draw::{Rng, chance, exponential, log_uniform, poisson, uniform};
use super::land::Land;
use super::passes::Touched;
use super::pattern::{DropZone, ScourLine};
use crate::earth::Local;

/// What sort of thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Heavy and no iron.
    Heavy,
    /// Light and no iron.
    Light,
    /// Iron.
    Iron,
}

/// Why a thing lies where it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Chance.
    Strewn,
    /// The scour line of this number.
    Line(usize),
    /// The drop zone of this number.
    Zone(usize),
    /// A storm, everywhere alike.
    Storm,
}

/// How richly things lie in reach of the coil where nothing is planted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Richness {
    /// Things per 100 m² half-way between the back and the lower edge, all classes.
    pub per_100m2: f64,
    /// Natural logarithm of the rate at the back over that at the lower edge.
    pub gradient: f64,
    /// Share of heavy ones among those that are no iron.
    pub heavy_share: f64,
    /// Share of iron among all.
    pub iron_share: f64,
    /// How long a thing lies in reach on average before it is gone and another has come, days; `None` for ever.
    pub renewal_days: Option<f64>,
    /// What a storm adds everywhere, as a share of what lies there.
    pub storm_gain: f64,
    /// How long on average what a storm added lies in reach, days.
    pub storm_days: f64,
}

impl Richness {
    pub(super) fn draw(rng: &mut Rng) -> Self {
        Self {
            per_100m2: log_uniform(rng, 0.2, 6.0),
            gradient: uniform(rng, -0.7, 0.7),
            heavy_share: uniform(rng, 0.1, 0.7),
            iron_share: uniform(rng, 0.0, 0.4),
            renewal_days: if chance(rng, 0.3) { None } else { Some(log_uniform(rng, 14.0, 700.0)) },
            storm_gain: if chance(rng, 0.7) { 0.0 } else { uniform(rng, 0.2, 1.0) },
            storm_days: log_uniform(rng, 7.0, 40.0),
        }
    }

    /// Things per m² at a place, all classes, nothing planted.
    pub fn per_m2(&self, land: &Land, across_m: f64) -> f64 {
        0.01 * self.per_100m2 * (self.gradient * (0.5 - (across_m / land.width_m).clamp(-0.2, 1.2))).exp()
    }

    /// Share of a class among all.
    pub fn share(&self, class: Class) -> f64 {
        match class {
            Class::Heavy => (1.0 - self.iron_share) * self.heavy_share,
            Class::Light => (1.0 - self.iron_share) * (1.0 - self.heavy_share),
            Class::Iron => self.iron_share,
        }
    }

    fn class(&self, rng: &mut Rng) -> Class {
        if chance(rng, self.iron_share) {
            Class::Iron
        } else if chance(rng, self.heavy_share) {
            Class::Heavy
        } else {
            Class::Light
        }
    }
}

/// A thing with its place and the time through which it lies in reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Thing {
    pub(super) at: Local,
    pub(super) along_m: f64,
    pub(super) across_m: f64,
    pub(super) class: Class,
    pub(super) cause: Cause,
    pub(super) from_s: i64,
    pub(super) until_s: i64,
}

/// All that is strewn where a coil will come; what lies elsewhere is never found and is left out.
pub(super) struct Strewing<'a> {
    pub(super) land: &'a Land,
    pub(super) richness: &'a Richness,
    pub(super) touched: &'a Touched,
    /// First and last instant, seconds since 1970.
    pub(super) span_s: (i64, i64),
    pub(super) things: Vec<Thing>,
}

/// A spot for a thing and the part of the greatest density there, 0 to 1.
type Spot = ((f64, f64), f64);

impl Strewing<'_> {
    /// Strews what lies everywhere, and what storms add.
    pub(super) fn everywhere(&mut self, storms_s: &[i64], rng: &mut Rng) {
        let (land, richness) = (self.land, self.richness);
        let (along, across) = ((-5.0, land.length_m + 5.0), (-4.0, land.width_m + 10.0));
        let densest = richness.per_m2(land, across.0).max(richness.per_m2(land, across.1));
        let widest = 2.0;
        let mean = densest * widest * (along.1 - along.0) * (across.1 - across.0);
        let spot = |rng: &mut Rng| -> Spot {
            let (a, c) = (uniform(rng, along.0, along.1), uniform(rng, across.0, across.1));
            ((a, c), richness.per_m2(land, c) / densest * land.stretch(a, c) / widest)
        };
        let days = self.richness.renewal_days;
        self.lay(mean, self.span_s.0, days, Cause::Strewn, None, spot, rng);
        for storm_s in storms_s.iter().filter(|_| richness.storm_gain > 0.0) {
            self.once(mean * richness.storm_gain, *storm_s, Some(richness.storm_days), Cause::Storm, None, spot, rng);
        }
    }

    /// Strews what a scour line holds more than the sand about it.
    pub(super) fn line(&mut self, number: usize, line: &ScourLine, rng: &mut Rng) {
        let (land, richness) = (self.land, self.richness);
        let (from_m, to_m) = line.along_m;
        let densest = richness.per_m2(land, -4.0).max(richness.per_m2(land, land.width_m + 10.0));
        let widest = 2.0;
        let mean = (line.times - 1.0) * richness.share(Class::Heavy) * densest * widest * (to_m - from_m) * line.width_m;
        let spot = |rng: &mut Rng| -> Spot {
            let a = uniform(rng, from_m, to_m);
            let c = line.middle_m(land, a) + uniform(rng, -0.5, 0.5) * line.width_m;
            ((a, c), richness.per_m2(land, c) / densest * land.stretch(a, c) / widest)
        };
        let from_s = line.from_s.unwrap_or(self.span_s.0);
        self.lay(mean, from_s, richness.renewal_days, Cause::Line(number), Some(Class::Heavy), spot, rng);
    }

    /// Strews what a drop zone holds more than the sand about it.
    pub(super) fn zone(&mut self, number: usize, zone: &DropZone, rng: &mut Rng) {
        let (land, richness) = (self.land, self.richness);
        let densest = richness.per_m2(land, -4.0).max(richness.per_m2(land, land.width_m + 10.0));
        let widest = 2.0;
        let area_m2 = std::f64::consts::PI * zone.half_long_m * zone.half_short_m;
        let mean = (zone.times - 1.0) * densest * widest * area_m2;
        let spot = |rng: &mut Rng| -> Spot {
            let (a, c) = zone.spot(uniform(rng, 0.0, 1.0), uniform(rng, 0.0, 1.0).sqrt());
            ((a, c), richness.per_m2(land, c) / densest * land.stretch(a, c) / widest)
        };
        let from_s = zone.from_s.unwrap_or(self.span_s.0);
        self.lay(mean, from_s, richness.renewal_days, Cause::Zone(number), None, spot, rng);
    }

    /// A stock at one instant and what comes later to make good what goes.
    #[allow(clippy::too_many_arguments, reason = "one strewing, and each argument is a different thing")]
    fn lay(
        &mut self,
        mean: f64,
        from_s: i64,
        days: Option<f64>,
        cause: Cause,
        only: Option<Class>,
        spot: impl Fn(&mut Rng) -> Spot,
        rng: &mut Rng,
    ) {
        self.once(mean, from_s, days, cause, only, &spot, rng);
        let Some(days) = days else { return };
        let span_days = (self.span_s.1 - from_s).max(0) as f64 / 86_400.0;
        for _ in 0..poisson(rng, mean * span_days / days) {
            let at_s = from_s + (uniform(rng, 0.0, span_days) * 86_400.0) as i64;
            self.thing(at_s, Some(days), cause, only, &spot, rng);
        }
    }

    #[allow(clippy::too_many_arguments, reason = "one strewing, and each argument is a different thing")]
    fn once(
        &mut self,
        mean: f64,
        from_s: i64,
        days: Option<f64>,
        cause: Cause,
        only: Option<Class>,
        spot: impl Fn(&mut Rng) -> Spot,
        rng: &mut Rng,
    ) {
        for _ in 0..poisson(rng, mean) {
            self.thing(from_s, days, cause, only, &spot, rng);
        }
    }

    fn thing(
        &mut self,
        from_s: i64,
        days: Option<f64>,
        cause: Cause,
        only: Option<Class>,
        spot: impl Fn(&mut Rng) -> Spot,
        rng: &mut Rng,
    ) {
        let ((along_m, across_m), part) = spot(rng);
        if !chance(rng, part) {
            return;
        }
        let at = self.land.place(along_m, across_m);
        if !self.touched.holds(at) {
            return;
        }
        let until_s = days.map_or(i64::MAX, |d| from_s + (exponential(rng, d) * 86_400.0) as i64);
        let class = only.unwrap_or_else(|| self.richness.class(rng));
        self.things.push(Thing { at, along_m, across_m, class, cause, from_s, until_s });
    }
}
