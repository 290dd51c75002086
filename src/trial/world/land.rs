//! The sand of an invented beach: a curved line along its back, a profile with bars, and cusps.

use std::f64::consts::{PI, TAU};

use super::draw::{Rng, chance, log_uniform, normal, pick, uniform};
use crate::book::Seaward;
use crate::earth::{EarthError, Frame, Local, LonLat};

/// The line along the back is known this far beyond both ends, metres.
const BEYOND_M: f64 = 200.0;

/// A wave in the plan of the shore or the heading of its back.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Wave {
    height: f64,
    length_m: f64,
    phase: f64,
}

impl Wave {
    fn at(self, along_m: f64) -> f64 {
        self.height * (TAU * along_m / self.length_m + self.phase).sin()
    }

    fn slope_at(self, along_m: f64) -> f64 {
        self.height * TAU / self.length_m * (TAU * along_m / self.length_m + self.phase).cos()
    }
}

/// A bar: a rise of the sand along the shore.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bar {
    across_m: f64,
    height_m: f64,
    half_m: f64,
}

/// The ground of one beach. *Along* and *across* are metres along its back and seaward of it.
#[derive(Debug, Clone)]
pub struct Land {
    frame: Frame,
    /// Length, metres.
    pub length_m: f64,
    /// Width of the sand that people go to, metres from the back.
    pub width_m: f64,
    /// Fall of the sand, metres down per metre seaward, from the back to low water of springs.
    pub slope: f64,
    /// Range of the tide at springs, metres.
    pub range_m: f64,
    /// On which hand the sea lies.
    pub seaward: Seaward,
    /// Level of mean water above the land datum, metres.
    pub mean_water_m: f64,
    back_m: f64,
    full_m: f64,
    hollow: f64,
    bars: Vec<Bar>,
    /// How far lines of one level lie seaward of their mean.
    waves: Vec<Wave>,
    heading_rad: f64,
    bend: Wave,
    /// The back, a position each metre, beginning [`BEYOND_M`] before its first end.
    back: Vec<Local>,
}

impl Land {
    pub(super) fn draw(rng: &mut Rng) -> Result<Self, EarthError> {
        let origin = LonLat::new(uniform(rng, -179.0, 179.0), uniform(rng, -60.0, 70.0))?;
        let frame = Frame::centred_on(origin)?;
        let length_m = log_uniform(rng, 150.0, 1500.0);
        // Sand, tide and width hang together; draws that make a beach narrower than 25 m are drawn anew.
        let (range_m, slope, dry_m, full_m) = loop {
            let (range_m, slope) = (log_uniform(rng, 0.5, 9.0), log_uniform(rng, 1.0 / 80.0, 1.0 / 8.0));
            let dry_m = uniform(rng, 0.3, 2.0);
            let full_m = (range_m + dry_m) / slope;
            if full_m >= 25.0 {
                break (range_m, slope, dry_m, full_m);
            }
        };
        let width_m = full_m.min(uniform(rng, 25.0, 150.0).max(25.0));
        let mean_water_m = uniform(rng, -0.4, 0.6);
        let bars = (0..pick(rng, 3))
            .map(|_| Bar {
                across_m: uniform(rng, 0.3, 1.0) * width_m,
                height_m: uniform(rng, 0.1, 0.5).min(6.0 * slope),
                half_m: uniform(rng, 5.0, 15.0),
            })
            .collect();
        let mut wave = |height: f64, from_m: f64, to_m: f64| Wave {
            height,
            length_m: log_uniform(rng, from_m, to_m),
            phase: uniform(rng, 0.0, TAU),
        };
        let (broad, bent) = (wave(1.0, 150.0, 600.0), wave(1.0, 0.8, 2.5));
        let cusps = wave(1.0, 12.0, 45.0);
        let mut waves = vec![Wave { height: uniform(rng, 0.0, 5.0), ..broad }];
        if chance(rng, 0.6) {
            waves.push(Wave { height: uniform(rng, 0.3, 2.5), ..cusps });
        }
        let bend_m = length_m * bent.length_m;
        let least_radius_m = (2.0 * width_m).max(200.0);
        let most = (bend_m / (TAU * least_radius_m)).min(1.2);
        let bend = Wave {
            height: if chance(rng, 0.35) { 0.0 } else { uniform(rng, 0.2, 1.0) * most },
            length_m: bend_m,
            phase: bent.phase,
        };
        let mut land = Self {
            frame,
            length_m,
            width_m,
            slope,
            range_m,
            seaward: if chance(rng, 0.5) { Seaward::Left } else { Seaward::Right },
            mean_water_m,
            back_m: mean_water_m + 0.5 * range_m + dry_m,
            full_m,
            hollow: uniform(rng, 0.0, 0.6),
            bars,
            waves,
            heading_rad: uniform(rng, -PI, PI),
            bend,
            back: Vec::new(),
        };
        land.lay_back();
        Ok(land)
    }

    fn lay_back(&mut self) {
        let (mut east_m, mut north_m) = (0.0, 0.0);
        let steps = (self.length_m + 2.0 * BEYOND_M).ceil() as usize + 1;
        for n in 0..=steps {
            self.back.push(Local::new(east_m, north_m));
            let heading = self.heading(n as f64 - BEYOND_M + 0.5);
            east_m += heading.cos();
            north_m += heading.sin();
        }
        let middle = self.place(0.5 * self.length_m, 0.5 * self.width_m);
        for p in &mut self.back {
            *p = Local::new(p.east_m - middle.east_m, p.north_m - middle.north_m);
        }
    }

    fn heading(&self, along_m: f64) -> f64 {
        self.heading_rad + self.bend.at(along_m)
    }

    fn side(&self) -> f64 {
        if self.seaward == Seaward::Right { 1.0 } else { -1.0 }
    }

    /// Unit vectors along the back and seaward.
    fn axes(&self, along_m: f64) -> (Local, Local) {
        let (sin, cos) = self.heading(along_m).sin_cos();
        (Local::new(cos, sin), Local::new(self.side() * sin, -self.side() * cos))
    }

    fn back_at(&self, along_m: f64) -> Local {
        let at = (along_m + BEYOND_M).clamp(0.0, (self.back.len() - 1) as f64 - 1e-9);
        let (n, part) = (at.floor() as usize, at.fract());
        let (a, b) = (self.back[n], self.back[(n + 1).min(self.back.len() - 1)]);
        Local::new(a.east_m + (b.east_m - a.east_m) * part, a.north_m + (b.north_m - a.north_m) * part)
    }

    /// The place in the beach's plane at metres along and across.
    pub fn place(&self, along_m: f64, across_m: f64) -> Local {
        let (at, (_, sea)) = (self.back_at(along_m), self.axes(along_m));
        Local::new(at.east_m + sea.east_m * across_m, at.north_m + sea.north_m * across_m)
    }

    /// Metres on the ground that a metre of along is at a place: more outside a bend, less inside.
    pub fn stretch(&self, along_m: f64, across_m: f64) -> f64 {
        1.0 + self.side() * self.bend.slope_at(along_m) * across_m
    }

    /// Metres along and across of a place in the plane.
    pub fn shore(&self, p: Local) -> (f64, f64) {
        // Squared, and each but once: this is asked of some hundred thousand places of a beach.
        let mut nearest = (0, f64::INFINITY);
        for (n, back) in self.back.iter().enumerate().step_by(20) {
            let (east_m, north_m) = (p.east_m - back.east_m, p.north_m - back.north_m);
            let far2_m2 = east_m * east_m + north_m * north_m;
            if far2_m2 < nearest.1 {
                nearest = (n, far2_m2);
            }
        }
        let mut along_m = nearest.0 as f64 - BEYOND_M;
        let mut across_m = 0.0;
        for _ in 0..8 {
            let (at, (ahead, sea)) = (self.back_at(along_m), self.axes(along_m));
            let (de, dn) = (p.east_m - at.east_m, p.north_m - at.north_m);
            across_m = de * sea.east_m + dn * sea.north_m;
            let stretch = self.stretch(along_m, across_m).max(0.2);
            along_m += (de * ahead.east_m + dn * ahead.north_m) / stretch;
            along_m = along_m.clamp(-BEYOND_M, self.length_m + BEYOND_M);
        }
        (along_m, across_m)
    }

    /// Metres along and across of a position.
    ///
    /// # Errors
    /// [`EarthError`] when it is nowhere near the beach.
    pub fn shore_of(&self, at: LonLat) -> Result<(f64, f64), EarthError> {
        Ok(self.shore(self.frame.to_local(at)?))
    }

    /// The position of a place in the plane, as files hold it: seven decimals.
    ///
    /// # Errors
    /// [`EarthError`] when it leads off the map.
    pub fn lonlat(&self, p: Local) -> Result<LonLat, EarthError> {
        let at = self.frame.to_lonlat(p)?;
        let rounded = |deg: f64| (deg * 1e7).round() / 1e7;
        LonLat::new(rounded(at.lon_deg()), rounded(at.lat_deg()))
    }

    /// The middle of the beach.
    pub fn origin(&self) -> LonLat {
        self.frame.origin()
    }

    /// How far seaward of their mean the lines of one level lie there, metres.
    pub fn swerve_m(&self, along_m: f64) -> f64 {
        self.waves.iter().map(|w| w.at(along_m)).sum()
    }

    /// Level of the sand so far seaward where lines of one level do not swerve, metres above the land datum.
    pub fn profile_m(&self, across_m: f64) -> f64 {
        let even = self.slope * across_m * (1.0 + self.hollow * (1.0 - across_m / self.full_m));
        let bars = self.bars.iter().map(|b| b.height_m * (-0.5 * ((across_m - b.across_m) / b.half_m).powi(2)).exp());
        self.back_m - even + bars.sum::<f64>()
    }

    /// Level of the sand, metres above the land datum.
    pub fn level_m(&self, along_m: f64, across_m: f64) -> f64 {
        self.profile_m(across_m - self.swerve_m(along_m))
    }

    /// Level of the sand at the back, where lines of one level do not swerve, metres.
    pub fn back_level_m(&self) -> f64 {
        self.back_m
    }

    /// How far seaward the sand first falls below a level, metres; no further than people go.
    pub fn reach_m(&self, level_m: f64) -> f64 {
        let steps = (self.width_m * 2.0) as usize;
        let wet = (0..=steps).map(|n| n as f64 * 0.5).find(|x| self.profile_m(*x) < level_m);
        wet.unwrap_or(self.width_m).min(self.width_m)
    }

    /// The back as a person draws it: from end to end, a little off.
    pub(super) fn drawn_back(&self, rng: &mut Rng) -> Result<Vec<LonLat>, EarthError> {
        let steps = (self.length_m / uniform(rng, 15.0, 50.0)).ceil().max(2.0);
        let off_m = uniform(rng, 0.0, 0.6);
        (0..=steps as usize).map(|n| self.lonlat(self.place(self.length_m * n as f64 / steps, normal(rng, off_m)))).collect()
    }

    /// Whether the back is a straight line.
    pub fn is_straight(&self) -> bool {
        self.bend.height == 0.0
    }

    /// A straight even beach about a position, for tests of what stands on it.
    #[cfg(test)]
    pub(crate) fn even(length_m: f64, width_m: f64) -> Self {
        let still = Wave { height: 0.0, length_m: 1.0, phase: 0.0 };
        #[allow(clippy::unwrap_used, reason = "a position on earth")]
        let frame = Frame::centred_on(LonLat::new(-20.0, 45.0).unwrap()).unwrap();
        let mut land = Self {
            frame,
            length_m,
            width_m,
            slope: 0.05,
            range_m: 3.0,
            seaward: Seaward::Right,
            mean_water_m: 0.0,
            back_m: 2.5,
            full_m: 80.0,
            hollow: 0.0,
            bars: Vec::new(),
            waves: Vec::new(),
            heading_rad: 0.0,
            bend: still,
            back: Vec::new(),
        };
        land.lay_back();
        land
    }
}
