//! Nodal factors f and angles u: how the 18.6-year turn of the moon's node, and the turn of its
//! perigee, swell and shift each lunar constituent. Evaluated at the moment, not once a year.
//!
//! Formulas: Schureman (1958), SP 98, equations 65-79 and 197-215, with its mean coefficients for the
//! fundamental ones (from memory; compared with two libraries in the tests); the International
//! Hydrographic Organization's constituent list, annex A (Tides, Water Level and Currents Working Group),
//! for γ₂, α₂, η₂ and the two-line form of M₁.

use super::astro::{Angles, Orbit};

/// Which nodal term a constituent takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Nodal {
    /// Solar or meteorological: none.
    None,
    /// Lunar monthly.
    Mm,
    /// Lunar fortnightly.
    Mf,
    /// Principal lunar diurnal.
    O1,
    /// Luni-solar diurnal.
    K1,
    /// Elliptic diurnal J₁.
    J1,
    /// Second-order diurnal OO₁.
    Oo1,
    /// M₁ as Schureman defines it: argument τ + 90°, the perigee inside u.
    M1,
    /// The line τ + p of M₁, its neighbours as satellites.
    No1,
    /// Principal lunar.
    M2,
    /// Luni-solar semidiurnal.
    K2,
    /// Smaller elliptic, with the part that runs with the perigee.
    L2,
    /// γ₂.
    Gamma2,
    /// α₂.
    Alpha2,
    /// η₂.
    Eta2,
    /// M₃, the power 3/2 of M₂'s.
    M3,
}

impl Nodal {
    /// Every one, in the order in which they are declared.
    const ALL: [Self; 16] = [
        Self::None,
        Self::Mm,
        Self::Mf,
        Self::O1,
        Self::K1,
        Self::J1,
        Self::Oo1,
        Self::M1,
        Self::No1,
        Self::M2,
        Self::K2,
        Self::L2,
        Self::Gamma2,
        Self::Alpha2,
        Self::Eta2,
        Self::M3,
    ];
}

/// All nodal terms at one moment, each worked out once however many constituents take it.
#[derive(Debug, Clone, Copy)]
pub(super) struct NodalTerms {
    all: [(f64, f64); Nodal::ALL.len()],
}

impl NodalTerms {
    /// At a number of seconds since J2000.
    pub(super) fn at(seconds: f64) -> Self {
        let angles = Angles::at(seconds);
        let moment = Moment { orbit: Orbit::at(angles.n_deg, angles.p_deg), angles };
        Self { all: Nodal::ALL.map(|which| moment.factors(which)) }
    }

    /// Factor f and angle u in radians.
    pub(super) fn factors(&self, which: Nodal) -> (f64, f64) {
        self.all[which as usize]
    }
}

/// What the terms are computed from.
struct Moment {
    orbit: Orbit,
    angles: Angles,
}

impl Moment {
    fn factors(&self, which: Nodal) -> (f64, f64) {
        let Orbit { i, xi, nu, p } = self.orbit;
        let (n, perigee) = (self.angles.n_deg.to_radians(), self.angles.p_deg.to_radians());
        let half2 = (i / 2.0).cos().powi(2);
        let m2 = || (half2 * half2 / 0.9154, 2.0 * xi - 2.0 * nu);
        let o1 = || (i.sin() * half2 / 0.3800, 2.0 * xi - nu);
        match which {
            Nodal::None => (1.0, 0.0),
            Nodal::Mm => ((2.0 / 3.0 - i.sin().powi(2)) / 0.5021, 0.0),
            Nodal::Mf => (i.sin().powi(2) / 0.1578, -2.0 * xi),
            Nodal::O1 => o1(),
            Nodal::J1 => ((2.0 * i).sin() / 0.7214, -nu),
            Nodal::Oo1 => (i.sin() * (i / 2.0).sin().powi(2) / 0.0164, -2.0 * xi - nu),
            Nodal::K1 => {
                let a = (2.0 * i).sin();
                let f = (0.8965 * a * a + 0.6001 * a * nu.cos() + 0.1006).sqrt();
                (f, -(a * nu.sin()).atan2(a * nu.cos() + 0.3347))
            }
            Nodal::K2 => {
                let a = i.sin().powi(2);
                let f = (19.0444 * a * a + 2.7702 * a * (2.0 * nu).cos() + 0.0981).sqrt();
                (f, -(a * (2.0 * nu).sin()).atan2(a * (2.0 * nu).cos() + 0.0727))
            }
            Nodal::M2 => m2(),
            Nodal::M3 => {
                let (f, u) = m2();
                (f.powf(1.5), 1.5 * u)
            }
            Nodal::M1 => {
                let c = i.cos();
                let q = ((5.0 * c - 1.0) * p.sin()).atan2((7.0 * c + 1.0) * p.cos());
                let k = c / half2;
                let inverse = (0.25 + 1.5 * k * (2.0 * p).cos() + 2.25 * k * k).sqrt();
                (o1().0 * inverse, xi - nu + q)
            }
            Nodal::L2 => {
                let tan2 = (i / 2.0).tan().powi(2);
                let r = (2.0 * p).sin().atan2(1.0 / (6.0 * tan2) - (2.0 * p).cos());
                let inverse = (1.0 - 12.0 * tan2 * (2.0 * p).cos() + 36.0 * tan2 * tan2).sqrt();
                let (f, u) = m2();
                (f * inverse, u - r)
            }
            Nodal::No1 => polar(
                1.0 + 0.3593 * (2.0 * perigee).cos() + 0.2 * n.cos() + 0.066 * (2.0 * perigee - n).cos(),
                -0.3593 * (2.0 * perigee).sin() - 0.2 * n.sin() - 0.066 * (2.0 * perigee - n).sin(),
            ),
            Nodal::Gamma2 => polar(1.0 + 0.147 * (2.0 * (n - perigee)).cos(), 0.147 * (2.0 * (n - perigee)).sin()),
            Nodal::Alpha2 => {
                let d = perigee - self.angles.p1_deg.to_radians();
                polar(1.0 - 0.0446 * d.cos(), -0.0446 * d.sin())
            }
            Nodal::Eta2 => polar(1.0 + 0.439 * n.cos(), -0.439 * n.sin()),
        }
    }
}

/// f and u from f cos u and f sin u.
fn polar(cosine: f64, sine: f64) -> (f64, f64) {
    (cosine.hypot(sine), sine.atan2(cosine))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_follows_the_declaration() {
        assert!(Nodal::ALL.iter().enumerate().all(|(n, which)| *which as usize == n));
    }

    /// As complex amplitudes f e^{iu} the terms never jump, whatever angle wraps.
    #[test]
    fn no_term_jumps() {
        let day = 86_400.0;
        for which in Nodal::ALL {
            let mut before: Option<(f64, f64)> = None;
            for d in 0..(20 * 365) {
                let (f, u) = NodalTerms::at(f64::from(d) * day).factors(which);
                let now = (f * u.cos(), f * u.sin());
                if let Some(b) = before {
                    let step = (now.0 - b.0).hypot(now.1 - b.1);
                    assert!(step < 0.02, "{which:?} jumps by {step} on day {d}");
                }
                before = Some(now);
            }
        }
    }

    /// Over one turn of the node the mean of f is near 1: Schureman's coefficients are so normalised,
    /// except for M1, whose mean he leaves near 1.5, and OO1 near 1.1 (Doodson has 1.103; both from memory).
    #[test]
    fn means_over_a_turn_of_the_node() {
        for which in Nodal::ALL {
            let n = 6798;
            let mean = (0..n).map(|d| NodalTerms::at(f64::from(d) * 86_400.0).factors(which).0).sum::<f64>() / f64::from(n);
            let expected = match which {
                Nodal::M1 => 1.5,
                Nodal::Oo1 => 1.1,
                _ => 1.0,
            };
            assert!((mean - expected).abs() < 0.1, "{which:?}: mean f {mean}");
        }
    }
}
