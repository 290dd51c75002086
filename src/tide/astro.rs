//! Mean longitudes of moon and sun, and the angles of the moon's orbit that the nodal terms need.

use jiff::{SignedDuration, Timestamp};

/// Seconds since 2000-01-01 12:00 UTC (J2000 without the leap seconds since; UT is what tidal
/// constants are referred to, and the difference moves no argument by more than 0.01 degree).
pub(super) fn seconds_j2000(time: Timestamp) -> f64 {
    // Split so that nanoseconds survive beside ten figures of seconds.
    (time.as_second() - 946_728_000) as f64 + f64::from(time.subsec_nanosecond()) * 1e-9
}

/// The moment at a number of seconds since J2000, to the millisecond.
pub(super) fn timestamp(seconds: f64) -> Timestamp {
    let base = Timestamp::from_second(946_728_000).expect("noon of 2000-01-01 is in range");
    let ms = (seconds * 1000.0).round();
    base.saturating_add(SignedDuration::from_millis(ms as i64)).unwrap_or(base)
}

/// The six slow angles of the tide and their rates.
///
/// Polynomials: Meeus, *Astronomical Algorithms*, 2nd ed., chapters 25 and 47 (from memory; the tests
/// compare them with two other libraries).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Angles {
    /// Mean lunar time τ = 15° t + h − s with t from midnight, degrees.
    pub(super) tau_deg: f64,
    /// Mean longitude of the moon, degrees.
    pub(super) s_deg: f64,
    /// Mean longitude of the sun, degrees.
    pub(super) h_deg: f64,
    /// Longitude of the lunar perigee, degrees.
    pub(super) p_deg: f64,
    /// Longitude of the moon's ascending node, degrees (it runs backwards).
    pub(super) n_deg: f64,
    /// Longitude of the solar perigee, degrees.
    pub(super) p1_deg: f64,
}

impl Angles {
    /// The angles at a number of seconds since J2000.
    pub(super) fn at(seconds: f64) -> Self {
        let t = seconds / (36_525.0 * 86_400.0);
        // Hours since midnight as a whole-day remainder first, so that no figure is lost to 15° × 2e5 h.
        let day_part = (seconds / 86_400.0 + 0.5).rem_euclid(1.0);
        let s = 218.316_447_7 + t * (481_267.881_234_21 + t * (-0.001_578_6 + t / 538_841.0));
        let h = 280.466_46 + t * (36_000.769_83 + t * 0.000_303_2);
        let p = 83.353_246_5 + t * (4_069.013_728_7 + t * (-0.010_32 - t / 80_053.0));
        let n = 125.044_547_9 + t * (-1_934.136_289_1 + t * (0.002_075_4 + t / 467_441.0));
        let p1 = 282.937_35 + t * (1.719_46 + t * 0.000_46);
        Self {
            tau_deg: (360.0 * day_part + (h - s).rem_euclid(360.0)).rem_euclid(360.0),
            s_deg: s.rem_euclid(360.0),
            h_deg: h.rem_euclid(360.0),
            p_deg: p.rem_euclid(360.0),
            n_deg: n.rem_euclid(360.0),
            p1_deg: p1.rem_euclid(360.0),
        }
    }

    /// Rates of the same angles, degrees per hour.
    pub(super) fn speeds(seconds: f64) -> [f64; 6] {
        let t = seconds / (36_525.0 * 86_400.0);
        let per_hour = 1.0 / (36_525.0 * 24.0);
        let s = (481_267.881_234_21 + t * (-0.003_157_2 + t * 3.0 / 538_841.0)) * per_hour;
        let h = (36_000.769_83 + t * 0.000_606_4) * per_hour;
        let p = (4_069.013_728_7 + t * (-0.020_64 - t * 3.0 / 80_053.0)) * per_hour;
        let n = (-1_934.136_289_1 + t * (0.004_150_8 + t * 3.0 / 467_441.0)) * per_hour;
        let p1 = (1.719_46 + t * 0.000_92) * per_hour;
        [15.0 + h - s, s, h, p, -n, p1]
    }

    /// In the order of Doodson numbers: τ, s, h, p, N′ = −N, p₁.
    pub(super) fn doodson(&self) -> [f64; 6] {
        [self.tau_deg, self.s_deg, self.h_deg, self.p_deg, -self.n_deg, self.p1_deg]
    }
}

/// The angles between the moon's orbit and the equator: Schureman (1958), *Manual of Harmonic Analysis
/// and Prediction of Tides*, US Coast and Geodetic Survey Special Publication 98, paragraphs 20-25
/// (formulas from memory; the tests compare the results with two libraries). All in radians.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Orbit {
    /// Obliquity of the lunar orbit to the equator.
    pub(super) i: f64,
    /// Longitude in the moon's orbit of its intersection with the equator.
    pub(super) xi: f64,
    /// Right ascension of that intersection.
    pub(super) nu: f64,
    /// Mean longitude of the lunar perigee reckoned from the intersection, P = p − ξ.
    pub(super) p: f64,
}

/// Obliquity of the ecliptic (1900, as Schureman's mean coefficients use it), radians.
const OMEGA: f64 = 23.452 * std::f64::consts::PI / 180.0;
/// Inclination of the moon's orbit to the ecliptic, radians.
const INCLINATION: f64 = 5.145 * std::f64::consts::PI / 180.0;

impl Orbit {
    /// From the longitude of the node and of the lunar perigee, degrees.
    pub(super) fn at(n_deg: f64, p_deg: f64) -> Self {
        // Half angles of N must lie within ±90° for the arctangents below.
        let n = ((n_deg + 180.0).rem_euclid(360.0) - 180.0).to_radians();
        let i = (INCLINATION.cos() * OMEGA.cos() - INCLINATION.sin() * OMEGA.sin() * n.cos()).acos();
        let half = (n / 2.0).tan();
        let (sum, difference) = (0.5 * (OMEGA + INCLINATION), 0.5 * (OMEGA - INCLINATION));
        let e1 = (difference.cos() / sum.cos() * half).atan() - 0.5 * n;
        let e2 = (difference.sin() / sum.sin() * half).atan() - 0.5 * n;
        let xi = -(e1 + e2);
        Self { i, xi, nu: e1 - e2, p: p_deg.to_radians() - xi }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn obliquity_runs_between_its_two_bounds() {
        // Schureman, Table 6: I is 28.597° at N = 0 and 18.307° at N = 180 (from memory).
        assert!((Orbit::at(0.0, 0.0).i.to_degrees() - 28.597).abs() < 1e-3);
        assert!((Orbit::at(180.0, 0.0).i.to_degrees() - 18.307).abs() < 1e-3);
        // No jump where N wraps.
        let (a, b) = (Orbit::at(179.999_999, 40.0), Orbit::at(180.000_001, 40.0));
        assert!((a.xi - b.xi).abs() < 1e-6 && (a.nu - b.nu).abs() < 1e-6 && (a.i - b.i).abs() < 1e-6);
    }

    #[test]
    fn lunar_time_is_continuous_over_midnight_and_moves_at_its_speed() {
        for day in [-3.0, 0.0, 9_000.0] {
            let midnight = 86_400.0 * (day + 0.5);
            let (a, b) = (Angles::at(midnight - 1800.0), Angles::at(midnight + 1800.0));
            let moved = (b.tau_deg - a.tau_deg).rem_euclid(360.0);
            assert!((moved - Angles::speeds(midnight)[0]).abs() < 1e-9, "{moved}");
        }
    }
}
