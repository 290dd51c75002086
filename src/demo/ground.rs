//! The shape of the invented beach: its baseline, its sand, and where nobody walks.

use crate::earth::{EarthError, Frame, Local, LonLat};

/// Where the invented beach lies: open water of the eastern Atlantic, more than 300 km from any land.
const ORIGIN: [f64; 2] = [-10.0, 48.3];
/// Length of the baseline, metres.
pub(super) const LENGTH_M: f64 = 1400.0;
/// Radius of the arc along which the baseline runs, metres; its centre lies out at sea.
const RADIUS_M: f64 = 4000.0;
/// True bearing of the baseline at its middle, walked with the sea on the right.
const BEARING_DEG: f64 = 110.0;
/// How far seaward of the baseline's middle the frame's centre lies, metres.
const CENTRE_ACROSS_M: f64 = 100.0;
/// Rise from the invented land datum to the zero of the borrowed tide, metres.
pub(super) const DATUM_OFFSET_M: f64 = 2.85;

/// A place on the beach: metres along the baseline and metres seaward of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) along_m: f64,
    pub(super) across_m: f64,
}

impl Spot {
    pub(super) fn new(along_m: f64, across_m: f64) -> Self {
        Self { along_m, across_m }
    }

    /// Distance in the plane, metres; the few percent by which the arc draws in are left out.
    pub(super) fn distance_m(self, other: Self) -> f64 {
        (self.along_m - other.along_m).hypot(self.across_m - other.across_m)
    }

    pub(super) fn moved(self, d_along_m: f64, d_across_m: f64) -> Self {
        Self::new(self.along_m + d_along_m, self.across_m + d_across_m)
    }
}

/// The beach's plane with its curved baseline.
pub(super) struct Ground {
    frame: Frame,
    seaward: Local,
    along: Local,
    centre: Local,
}

impl Ground {
    pub(super) fn new() -> Result<Self, EarthError> {
        let [lon, lat] = ORIGIN;
        let (sin, cos) = BEARING_DEG.to_radians().sin_cos();
        let along = Local::new(sin, cos);
        let seaward = Local::new(along.north_m, -along.east_m);
        let out = RADIUS_M - CENTRE_ACROSS_M;
        let centre = Local::new(seaward.east_m * out, seaward.north_m * out);
        Ok(Self { frame: Frame::centred_on(LonLat::new(lon, lat)?)?, seaward, along, centre })
    }

    pub(super) fn origin(&self) -> LonLat {
        self.frame.origin()
    }

    /// Metres east and north of a spot.
    pub(super) fn local(&self, spot: Spot) -> Local {
        let turn = (spot.along_m - LENGTH_M / 2.0) / RADIUS_M;
        let out = RADIUS_M - spot.across_m;
        let (sin, cos) = turn.sin_cos();
        Local::new(
            self.centre.east_m + out * (sin * self.along.east_m - cos * self.seaward.east_m),
            self.centre.north_m + out * (sin * self.along.north_m - cos * self.seaward.north_m),
        )
    }

    /// The spot at metres east and north.
    pub(super) fn spot(&self, p: Local) -> Spot {
        let (east, north) = (p.east_m - self.centre.east_m, p.north_m - self.centre.north_m);
        let on_along = east * self.along.east_m + north * self.along.north_m;
        let on_seaward = east * self.seaward.east_m + north * self.seaward.north_m;
        let turn = on_along.atan2(-on_seaward);
        Spot::new(LENGTH_M / 2.0 + RADIUS_M * turn, RADIUS_M - east.hypot(north))
    }

    /// The position of a spot, rounded as files round it.
    pub(super) fn place(&self, spot: Spot, decimals: i32) -> Result<LonLat, EarthError> {
        let p = self.frame.to_lonlat(self.local(spot))?;
        let unit = 10_f64.powi(decimals);
        let round = |v: f64| (v * unit).round() / unit;
        LonLat::new(round(p.lon_deg()), round(p.lat_deg()))
    }

    /// The spot of a position.
    pub(super) fn spot_of(&self, at: LonLat) -> Result<Spot, EarthError> {
        Ok(self.spot(self.frame.to_local(at)?))
    }

    /// The baseline, a vertex every 25 m: the arc strays from it by 2 cm at most.
    pub(super) fn baseline(&self) -> Result<Vec<LonLat>, EarthError> {
        (0..=56).map(|i| self.place(Spot::new(f64::from(i) * 25.0, 0.0), 7)).collect()
    }
}

/// The sand's profile where no bar, cusp or undulation disturbs it: metres across, metres above land datum.
const PROFILE: [(f64, f64); 13] = [
    (-20.0, 7.2),
    (0.0, 6.5),
    (12.0, 5.0),
    (25.0, 4.1),
    (45.0, 3.5),
    (52.0, 3.15),
    (70.0, 1.65),
    (85.0, 0.65),
    (100.0, 0.05),
    (120.0, -0.45),
    (160.0, -1.1),
    (260.0, -2.65),
    (340.0, -3.8),
];

/// Height of the sand above the land datum, metres. `cut` says how far a storm has stripped the upper
/// face onto the bar: 0 in a calm summer, 1 right after a gale.
pub(super) fn level_m(spot: Spot, cut: f64) -> f64 {
    let bump = |middle: f64, half: f64| (-((spot.across_m - middle) / half).powi(2)).exp();
    let cusps = 0.15 * (std::f64::consts::TAU * spot.along_m / 32.0).cos() * bump(58.0, 9.0);
    let runnel = -0.30 * bump(136.0, 12.0);
    let bar = (0.28 + 0.18 * cut) * bump(166.0, 15.0);
    let stripped = -0.55 * cut * bump(54.0, 11.0);
    smooth_level_m(spot) + cusps + runnel + bar + stripped
}

/// The same without what changes from tide to tide: the contours along which the sea sorts.
pub(super) fn smooth_level_m(spot: Spot) -> f64 {
    let undulation = 0.18 * (std::f64::consts::TAU * spot.along_m / 900.0 + 0.6).sin();
    let from_berm = ((spot.across_m - 35.0) / 30.0).clamp(0.0, 1.0);
    profile_m(spot.across_m) + undulation * from_berm
}

/// Metres across at which the smooth sand of an along-shore position stands at a level.
pub(super) fn across_at_level_m(along_m: f64, level_m: f64) -> f64 {
    let (mut landward, mut seaward) = (0.0, 330.0);
    for _ in 0..40 {
        let middle = (landward + seaward) / 2.0;
        if smooth_level_m(Spot::new(along_m, middle)) > level_m { landward = middle } else { seaward = middle }
    }
    (landward + seaward) / 2.0
}

/// Monotone cubic through [`PROFILE`] (Fritsch & Carlson 1980, with harmonic-mean slopes).
fn profile_m(across_m: f64) -> f64 {
    let last = PROFILE.len() - 1;
    let x = across_m.clamp(PROFILE[0].0, PROFILE[last].0);
    let i = PROFILE.partition_point(|k| k.0 <= x).clamp(1, last) - 1;
    let secant = |j: usize| (PROFILE[j + 1].1 - PROFILE[j].1) / (PROFILE[j + 1].0 - PROFILE[j].0);
    let slope = |j: usize| {
        if j == 0 || j == last {
            return secant(j.min(last - 1));
        }
        let (before, after) = (secant(j - 1), secant(j));
        if before * after <= 0.0 { 0.0 } else { 2.0 * before * after / (before + after) }
    };
    let width = PROFILE[i + 1].0 - PROFILE[i].0;
    let t = (x - PROFILE[i].0) / width;
    let (t2, t3) = (t * t, t * t * t);
    (2.0 * t3 - 3.0 * t2 + 1.0) * PROFILE[i].1
        + (t3 - 2.0 * t2 + t) * width * slope(i)
        + (3.0 * t2 - 2.0 * t3) * PROFILE[i + 1].1
        + (t3 - t2) * width * slope(i + 1)
}

/// A stretch of the beach between two along and two across limits, metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patch {
    pub(super) along_m: (f64, f64),
    pub(super) across_m: (f64, f64),
}

impl Patch {
    pub(super) const fn new(along_m: (f64, f64), across_m: (f64, f64)) -> Self {
        Self { along_m, across_m }
    }

    pub(super) fn holds(&self, spot: Spot) -> bool {
        (self.along_m.0..=self.along_m.1).contains(&spot.along_m) && (self.across_m.0..=self.across_m.1).contains(&spot.across_m)
    }
}

pub(super) const ROCKS: Patch = Patch::new((1275.0, 1400.0), (85.0, 270.0));
pub(super) const MUD: Patch = Patch::new((0.0, 130.0), (185.0, 310.0));
pub(super) const CHANNEL: Patch = Patch::new((150.0, 172.0), (95.0, 310.0));
pub(super) const NO_SEARCH: Patch = Patch::new((1180.0, 1245.0), (8.0, 40.0));
/// Along-shore positions of the two groynes, metres.
pub(super) const GROYNES_M: [f64; 2] = [880.0, 1010.0];
/// Landward and seaward ends of the groynes, metres across.
pub(super) const GROYNE_REACH_M: (f64, f64) = (24.0, 100.0);
/// Where people come onto the sand.
pub(super) const ACCESSES: [(&str, f64, f64); 3] =
    [("Steps by the boat sheds", 212.0, 10.0), ("Middle slip", 640.0, 8.0), ("Dune path", 1120.0, 12.0)];

/// Ground on which nobody searches.
pub(super) fn barred(spot: Spot) -> bool {
    [ROCKS, MUD, CHANNEL, NO_SEARCH].iter().any(|p| p.holds(spot)) || !(4.0..=LENGTH_M - 4.0).contains(&spot.along_m)
}

/// Whether one step would climb a groyne.
pub(super) fn crosses_groyne(from: Spot, to: Spot) -> bool {
    let (near, far) = GROYNE_REACH_M;
    GROYNES_M.iter().any(|g| {
        (from.along_m - g) * (to.along_m - g) <= 0.0
            && (from.across_m.max(to.across_m) > near)
            && from.across_m.min(to.across_m) < far
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spots_and_metres_lead_back_to_each_other() {
        let ground = Ground::new().unwrap();
        for (along, across) in [(0.0, 0.0), (700.0, 100.0), (1400.0, 300.0), (123.4, 56.7)] {
            let spot = Spot::new(along, across);
            assert!(ground.spot(ground.local(spot)).distance_m(spot) < 1e-6, "{spot:?}");
        }
        assert!(ground.local(Spot::new(700.0, CENTRE_ACROSS_M)).distance_m(Local::default()) < 1e-9);
    }

    #[test]
    fn the_smooth_sand_falls_all_the_way_to_the_sea() {
        for along in [0.0, 333.0, 700.0, 1399.0] {
            let levels: Vec<f64> = (0..330).map(|n| smooth_level_m(Spot::new(along, f64::from(n)))).collect();
            assert!(levels.windows(2).all(|w| w[1] < w[0]), "at {along} m");
            let across = across_at_level_m(along, 0.4);
            assert!((smooth_level_m(Spot::new(along, across)) - 0.4).abs() < 1e-6);
        }
    }

    #[test]
    fn the_bar_stands_above_the_runnel() {
        let at = |across| level_m(Spot::new(500.0, across), 0.0);
        assert!(at(162.0) > at(138.0));
    }
}
