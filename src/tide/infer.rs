//! Constituents that a record is too short for, inferred from a larger one beside them.
//!
//! An inferred constituent is so many times as large as its reference and lags so much behind it; both are fitted as one
//! (Foreman 1977, *Manual for Tidal Heights Analysis and Prediction*, section 2.3.3; Codiga 2011, *Unified Tidal
//! Analysis and Prediction Using the UTide Matlab Functions*, section III.C; both from memory). The ratios are those of a
//! station next to the gauge, or else those of the equilibrium tide with no lag.

use super::constituent::{Constituent, Convention};
use super::station::Station;

/// Inferred, its reference, how many times as large, and by how much of itself that is wrong in nine cases of ten, by
/// the ratio written here and by that of a station within ten kilometres.
///
/// The ratios are those that T.I.R.A. of the National Oceanography Centre prints for its related constituents (Schureman
/// 1958, *Manual of Harmonic Analysis and Prediction of Tides*, has the same for K2, T2, NU2, 2N2 and P1, from memory);
/// RHO1 has to Q1 what NU2 has to N2 (from memory). The errors are measured on the stations that ship with a reference
/// above 5 cm, 2,300 for K2, as the distance of both complex ratios.
const RATIOS: [(&str, &str, f64, f64, f64); 6] = [
    ("K2", "S2", 0.272, 0.33, 0.42),
    ("NU2", "N2", 0.194, 0.62, 0.37),
    ("T2", "S2", 0.059, 0.99, 1.14),
    ("2N2", "N2", 0.133, 0.62, 0.45),
    ("P1", "K1", 0.331, 0.28, 0.26),
    ("RHO1", "Q1", 0.19, 0.28, 0.56),
];
/// A station's own ratio is not believed beyond this factor of that of the equilibrium tide, ...
const MOST_TIMES: f64 = 2.0;
/// ... nor a lag beyond this, degrees (judgements: beyond them the small constituent is mostly noise).
const MOST_LAG_DEG: f64 = 45.0;
/// A reference smaller than this at the station says nothing of ratios, metres.
const LEAST_M: f64 = 0.02;

/// One constituent found in a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Name, as [`Constituent::name`].
    pub name: &'static str,
    /// Amplitude, metres.
    pub amplitude_m: f64,
    /// Greenwich phase lag, degrees.
    pub phase_deg: f64,
    /// Standard error of the amplitude, metres.
    pub amplitude_sd_m: f64,
    /// Standard error of the phase lag, degrees.
    pub phase_sd_deg: f64,
}

/// What was inferred of one constituent.
#[derive(Debug, Clone, PartialEq)]
pub struct Inferred {
    /// The constituent that it was inferred from.
    pub reference: &'static str,
    /// How large it is taken to be.
    pub fitted: Fitted,
    /// By how much the tide may be off for it, metres: what nine ratios of ten are wrong by, and as much again that the
    /// fit has then put into the reference.
    pub unsure_m: f64,
    /// Whether the ratio is that of a station near by, not that of the equilibrium tide.
    pub by_station: bool,
}

/// How one constituent follows another.
#[derive(Debug, Clone)]
pub(super) struct Ratio {
    pub(super) constituent: &'static Constituent,
    /// Number of the reference among those that are fitted.
    pub(super) reference: usize,
    pub(super) times: f64,
    pub(super) later_deg: f64,
    /// In nine cases of ten it is wrong by no more than this part of itself.
    unsure: f64,
    by_station: bool,
}

impl Ratio {
    /// Those of the table that were not resolved while their reference was.
    pub(super) fn wanted(chosen: &[&'static Constituent], unresolved: &[&'static str], station: Option<&Station>) -> Vec<Self> {
        let ratio = |&(name, reference, times, unsure, unsure_beside): &(&'static str, &str, f64, f64, f64)| {
            let constituent = Constituent::named(name, Convention::Iho).filter(|c| unresolved.contains(&c.name()))?;
            let at = chosen.iter().position(|c| c.name() == reference)?;
            let plain = Self { constituent, reference: at, times, later_deg: 0.0, unsure, by_station: false };
            // Where a ratio of the equilibrium tide is no worse than that of a station near by, it is steadier.
            let near = station.filter(|_| unsure_beside < unsure).and_then(|s| at_station(s, name, reference));
            Some(match near.filter(|(t, deg)| believed(t / times, *deg)) {
                Some((times, later_deg)) => Self { times, later_deg, unsure: unsure_beside, by_station: true, ..plain },
                None => plain,
            })
        };
        RATIOS.iter().filter_map(ratio).collect()
    }

    /// The constituent inferred, of what was found of its reference.
    pub(super) fn of(&self, reference: &Fitted) -> Inferred {
        let amplitude_m = self.times * reference.amplitude_m;
        let fitted = Fitted {
            name: self.constituent.name(),
            amplitude_m,
            phase_deg: (reference.phase_deg + self.later_deg).rem_euclid(360.0),
            amplitude_sd_m: self.times * reference.amplitude_sd_m,
            phase_sd_deg: reference.phase_sd_deg,
        };
        Inferred { reference: reference.name, fitted, unsure_m: 2.0 * self.unsure * amplitude_m, by_station: self.by_station }
    }
}

/// How many times as large as the other, and by how many degrees later, one constituent is at a station.
fn at_station(station: &Station, name: &str, reference: &str) -> Option<(f64, f64)> {
    let constant = |name: &str| {
        let known =
            |c: &&super::Constant| Constituent::named(&c.name, station.publisher.convention()).is_some_and(|c| c.name() == name);
        station.constants.iter().find(known)
    };
    let (own, other) = (constant(name)?, constant(reference)?);
    let later_deg = (own.phase_deg - other.phase_deg + 180.0).rem_euclid(360.0) - 180.0;
    (other.amplitude_m >= LEAST_M).then(|| (own.amplitude_m / other.amplitude_m, later_deg))
}

fn believed(times: f64, later_deg: f64) -> bool {
    (1.0 / MOST_TIMES..=MOST_TIMES).contains(&times) && later_deg.abs() <= MOST_LAG_DEG
}
