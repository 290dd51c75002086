//! What each constituent's name means: its astronomical argument and its nodal terms.
//!
//! Arguments are Doodson numbers over (τ, s, h, p, N′, p₁) with τ counted from midnight, plus quarter
//! turns, as in the constituent list of the International Hydrographic Organization's Tides, Water Level
//! and Currents Working Group. Compound constituents are sums of others; their f is the product of the
//! members' f to the power of their counts, their u the signed sum.
//!
//! # Where publishers differ
//! The same gauges appear in several of the shipped lists, so that phases can be compared name by name
//! (`tests/reference/tide/conventions.mjs` does so and prints the table). Decided from it:
//!
//! - `SA`: NOAA and TICON count it from the mean longitude of the sun h (speed 0.0410686 °/h); the two
//!   agree at 500 gauges within 1°, and Newlyn's 223° then peaks in early November, as the sea does in
//!   north-west Europe. Kartverket's `SA_KV` counts from h − p₁: its phases differ by −81° at 28 gauges,
//!   and −p₁ is 77°.
//! - `S1`: NOAA and TICON agree (Schureman's T, zero at noon). Kartverket's `S1_KV` differs by 154°, near
//!   the 167° of 15°t + p₁ + 90° (Foreman 1977).
//! - `M1`: NOAA's is Schureman's, τ + 90° with the perigee in u. Kartverket's `NO1` is the line
//!   τ + p + 90° with satellites. TICON's lags behind the one by 102° and the other by 74°, its amplitude
//!   that of Schureman's form: taken as Schureman's without the quarter turn, uncertain by some 15° (of
//!   typically 4 mm).
//! - TICON leaves the quarter turns out of `R3`, `T3`, `2MK5`, `2MO5` (phases differ from Kartverket's and
//!   NOAA's by 90° with a spread of a few degrees) and turns `SGM` (σ₁) by half a turn.
//! - `MA2`, `MB2` are 2τ − h and 2τ + h; Kartverket's `alpha2`, `M(KS)2` carry the solar perigee, and the
//!   phases differ by just that.
//! - `LAM2` = `LAMBDA2` = λ₂, `RHO` = `RHO1` = ρ₁, `EP2` = ε₂, `NU2` = ν₂, `MU2` = μ₂.
//! - `2MK3` and `MO3` share one argument and differ in f and u only; each keeps its own members.
//! - `OO2` in Anchorage's long list has the speed of O₁ + Q₁ and is taken as that.
//!
//! Left out, their amplitude reported: TICON's `S3`, `3L2`, `3N2` (median 1 to 2 mm), whose phases fit no
//! definition with the same name at neighbouring gauges, and Kartverket's `OQ2_KV` (2 mm).

use std::collections::HashMap;
use std::sync::LazyLock;

use super::astro::Angles;
use super::nodal::{Nodal, NodalTerms};

/// Whose meaning a constituent's name has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Convention {
    /// Schureman's, as NOAA uses it.
    Noaa,
    /// TICON-4's.
    Ticon,
    /// Kartverket's.
    Kartverket,
    /// The International Hydrographic Organization's list, used for analyses made here.
    Iho,
}

/// One constituent: an argument and its nodal terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Constituent {
    name: &'static str,
    doodson: [i8; 6],
    quarters: i8,
    nodal: Vec<(Nodal, i8)>,
}

impl Constituent {
    /// The constituent that `name` stands for under a convention; `None` for one that is not known.
    /// Upper and lower case are alike.
    pub fn named(name: &str, convention: Convention) -> Option<&'static Self> {
        let key = name.to_ascii_uppercase();
        let key = match (convention, key.as_str()) {
            (Convention::Ticon, "M1") => "M1_TICON",
            (Convention::Ticon, "R3") => "R3_TICON",
            (Convention::Ticon, "T3") => "T3_TICON",
            (Convention::Ticon, "2MK5") => "2MK5_TICON",
            (Convention::Ticon, "2MO5") => "2MO5_TICON",
            (Convention::Ticon, "SGM") => "SGM_TICON",
            (Convention::Ticon, "S3" | "3L2" | "3N2") => return None,
            (_, "SA_KV") => "SA_P1",
            (_, "S1_KV") => "S1_P1",
            (_, "RHO") => "RHO1",
            (_, "LAM2") => "LAMBDA2",
            (_, "EP2") => "EPS2",
            (_, "SGM") => "SIGMA1",
            (_, "MFM") => "MTM",
            (_, "ALP1") => "ALPHA1",
            (_, "BET1") => "BETA1",
            (_, other) => other,
        };
        TABLE.get(key)
    }

    /// The name used here.
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// Multiples of τ, s, h, p, N′, p₁.
    pub fn doodson(&self) -> [i8; 6] {
        self.doodson
    }

    /// Cycles per lunar day, 0 for the long-period ones.
    pub fn species(&self) -> i8 {
        self.doodson[0]
    }

    /// Speed at J2000, degrees per hour.
    pub fn speed_deg_h(&self) -> f64 {
        self.speed_at(0.0)
    }

    /// Speed at a number of seconds since J2000, degrees per hour.
    pub(super) fn speed_at(&self, seconds: f64) -> f64 {
        dot(&self.doodson, &Angles::speeds(seconds))
    }

    /// Astronomical argument V, degrees (not reduced).
    pub(super) fn argument_deg(&self, angles: &Angles) -> f64 {
        dot(&self.doodson, &angles.doodson()) + 90.0 * f64::from(self.quarters)
    }

    /// Nodal factor and angle in radians.
    pub(super) fn nodal(&self, terms: &NodalTerms) -> (f64, f64) {
        self.nodal.iter().fold((1.0, 0.0), |(f, u), &(which, times)| {
            let (f1, u1) = terms.factors(which);
            (f * f1.powi(i32::from(times).abs()), u + f64::from(times) * u1)
        })
    }
}

fn dot(numbers: &[i8; 6], angles: &[f64; 6]) -> f64 {
    numbers.iter().zip(angles).map(|(&k, a)| f64::from(k) * a).sum()
}

type Row = (&'static str, [i8; 6], i8, Nodal);

#[rustfmt::skip]
const ELEMENTARY: &[Row] = &[
    // Long period.
    ("SA",      [0, 0, 1, 0, 0, 0],   0, Nodal::None),
    ("SA_P1",   [0, 0, 1, 0, 0, -1],  0, Nodal::None),
    ("SSA",     [0, 0, 2, 0, 0, 0],   0, Nodal::None),
    ("MM",      [0, 1, 0, -1, 0, 0],  0, Nodal::Mm),
    ("MF",      [0, 2, 0, 0, 0, 0],   0, Nodal::Mf),
    ("MTM",     [0, 3, 0, -1, 0, 0],  0, Nodal::Mf),
    ("MSQM",    [0, 4, -2, 0, 0, 0],  0, Nodal::Mf),
    // Diurnal.
    ("ALPHA1",  [1, -4, 2, 1, 0, 0], -1, Nodal::O1),
    ("2Q1",     [1, -3, 0, 2, 0, 0], -1, Nodal::O1),
    ("SIGMA1",  [1, -3, 2, 0, 0, 0], -1, Nodal::O1),
    ("SGM_TICON", [1, -3, 2, 0, 0, 0], 1, Nodal::O1),
    ("Q1",      [1, -2, 0, 1, 0, 0], -1, Nodal::O1),
    ("RHO1",    [1, -2, 2, -1, 0, 0], -1, Nodal::O1),
    ("O1",      [1, -1, 0, 0, 0, 0], -1, Nodal::O1),
    ("TAU1",    [1, -1, 2, 0, 0, 0],  1, Nodal::K1),
    ("BETA1",   [1, 0, -2, 1, 0, 0],  1, Nodal::O1),
    ("M1",      [1, 0, 0, 0, 0, 0],   1, Nodal::M1),
    ("M1_TICON", [1, 0, 0, 0, 0, 0],  0, Nodal::M1),
    ("NO1",     [1, 0, 0, 1, 0, 0],   1, Nodal::No1),
    ("CHI1",    [1, 0, 2, -1, 0, 0],  1, Nodal::J1),
    ("PI1",     [1, 1, -3, 0, 0, 1], -1, Nodal::None),
    ("P1",      [1, 1, -2, 0, 0, 0], -1, Nodal::None),
    ("S1",      [1, 1, -1, 0, 0, 0],  2, Nodal::None),
    ("S1_P1",   [1, 1, -1, 0, 0, 1],  1, Nodal::None),
    ("K1",      [1, 1, 0, 0, 0, 0],   1, Nodal::K1),
    ("PSI1",    [1, 1, 1, 0, 0, -1],  1, Nodal::None),
    ("PHI1",    [1, 1, 2, 0, 0, 0],   1, Nodal::None),
    ("THETA1",  [1, 2, -2, 1, 0, 0],  1, Nodal::J1),
    ("J1",      [1, 2, 0, -1, 0, 0],  1, Nodal::J1),
    ("OO1",     [1, 3, 0, 0, 0, 0],   1, Nodal::Oo1),
    // Semidiurnal.
    ("EPS2",    [2, -3, 2, 1, 0, 0],  0, Nodal::M2),
    ("2N2",     [2, -2, 0, 2, 0, 0],  0, Nodal::M2),
    ("MU2",     [2, -2, 2, 0, 0, 0],  0, Nodal::M2),
    ("N2",      [2, -1, 0, 1, 0, 0],  0, Nodal::M2),
    ("NU2",     [2, -1, 2, -1, 0, 0], 0, Nodal::M2),
    ("GAMMA2",  [2, 0, -2, 2, 0, 0],  2, Nodal::Gamma2),
    ("ALPHA2",  [2, 0, -1, 0, 0, 1],  2, Nodal::Alpha2),
    ("MA2",     [2, 0, -1, 0, 0, 0],  0, Nodal::M2),
    ("M2",      [2, 0, 0, 0, 0, 0],   0, Nodal::M2),
    ("MB2",     [2, 0, 1, 0, 0, 0],   0, Nodal::M2),
    ("M(KS)2",  [2, 0, 1, 0, 0, -1],  0, Nodal::M2),
    ("LAMBDA2", [2, 1, -2, 1, 0, 0],  2, Nodal::M2),
    ("L2",      [2, 1, 0, -1, 0, 0],  2, Nodal::L2),
    ("T2",      [2, 2, -3, 0, 0, 1],  0, Nodal::None),
    ("S2",      [2, 2, -2, 0, 0, 0],  0, Nodal::None),
    ("R2",      [2, 2, -1, 0, 0, -1], 2, Nodal::None),
    ("K2",      [2, 2, 0, 0, 0, 0],   0, Nodal::K2),
    ("ETA2",    [2, 3, 0, -1, 0, 0],  0, Nodal::Eta2),
    // Terdiurnal.
    ("M3",      [3, 0, 0, 0, 0, 0],   2, Nodal::M3),
    ("T3_TICON", [3, 3, -4, 0, 0, 0], 0, Nodal::None),
    ("R3_TICON", [3, 3, -2, 0, 0, 0], 0, Nodal::K1),
];

/// Sums of the elementary ones: name and members.
#[rustfmt::skip]
const COMPOUND: &[(&str, &[(i8, &str)])] = &[
    ("MSF", &[(1, "S2"), (-1, "M2")]),
    ("TK1", &[(1, "T2"), (-1, "K1")]), ("RP1", &[(1, "R2"), (-1, "P1")]), ("KP1", &[(1, "K2"), (-1, "P1")]),
    ("MP1", &[(1, "M2"), (-1, "P1")]), ("2PO1", &[(2, "P1"), (-1, "O1")]), ("SO1", &[(1, "S2"), (-1, "O1")]),
    ("2NS2", &[(2, "N2"), (-1, "S2")]), ("MLN2S2", &[(1, "M2"), (1, "L2"), (1, "N2"), (-2, "S2")]),
    ("OO2", &[(1, "O1"), (1, "Q1")]), ("MNS2", &[(1, "M2"), (1, "N2"), (-1, "S2")]),
    ("2ML2S2", &[(2, "M2"), (1, "L2"), (-2, "S2")]), ("2MS2K2", &[(2, "M2"), (1, "S2"), (-2, "K2")]),
    ("MKL2S2", &[(1, "M2"), (1, "K2"), (1, "L2"), (-2, "S2")]), ("OP2", &[(1, "O1"), (1, "P1")]),
    ("MKS2", &[(1, "M2"), (1, "K2"), (-1, "S2")]), ("M2KS2", &[(1, "M2"), (2, "K2"), (-2, "S2")]),
    ("2SNMK2", &[(2, "S2"), (1, "N2"), (-1, "M2"), (-1, "K2")]), ("MSN2", &[(1, "M2"), (1, "S2"), (-1, "N2")]),
    ("KJ2", &[(1, "K1"), (1, "J1")]), ("2KMSN2", &[(2, "K2"), (1, "M2"), (-1, "S2"), (-1, "N2")]),
    ("2SM2", &[(2, "S2"), (-1, "M2")]), ("SKM2", &[(1, "S2"), (1, "K2"), (-1, "M2")]),
    ("NO3", &[(1, "N2"), (1, "O1")]), ("MO3", &[(1, "M2"), (1, "O1")]), ("2MK3", &[(2, "M2"), (-1, "K1")]),
    ("SO3", &[(1, "S2"), (1, "O1")]), ("MK3", &[(1, "M2"), (1, "K1")]), ("SP3", &[(1, "S2"), (1, "P1")]),
    ("SK3", &[(1, "S2"), (1, "K1")]),
    ("N4", &[(2, "N2")]), ("MN4", &[(1, "M2"), (1, "N2")]), ("M4", &[(2, "M2")]), ("ML4", &[(1, "M2"), (1, "L2")]),
    ("3MS4", &[(3, "M2"), (-1, "S2")]), ("2MLS4", &[(2, "M2"), (1, "L2"), (-1, "S2")]),
    ("SN4", &[(1, "S2"), (1, "N2")]), ("MS4", &[(1, "M2"), (1, "S2")]), ("MK4", &[(1, "M2"), (1, "K2")]),
    ("SL4", &[(1, "S2"), (1, "L2")]), ("S4", &[(2, "S2")]), ("SK4", &[(1, "S2"), (1, "K2")]),
    ("MNO5", &[(1, "M2"), (1, "N2"), (1, "O1")]), ("2MO5", &[(2, "M2"), (1, "O1")]), ("3MP5", &[(3, "M2"), (-1, "P1")]),
    ("2MP5", &[(2, "M2"), (1, "P1")]), ("MNK5", &[(1, "M2"), (1, "N2"), (1, "K1")]), ("2MK5", &[(2, "M2"), (1, "K1")]),
    ("MSK5", &[(1, "M2"), (1, "S2"), (1, "K1")]), ("3KM5", &[(3, "K1"), (1, "M2")]), ("2SK5", &[(2, "S2"), (1, "K1")]),
    ("2NM6", &[(2, "N2"), (1, "M2")]), ("2NMLS6", &[(2, "N2"), (1, "M2"), (1, "L2"), (-1, "S2")]),
    ("2MN6", &[(2, "M2"), (1, "N2")]), ("2MLNS6", &[(2, "M2"), (1, "L2"), (1, "N2"), (-1, "S2")]), ("M6", &[(3, "M2")]),
    ("3MLS6", &[(3, "M2"), (1, "L2"), (-1, "S2")]), ("2ML6", &[(2, "M2"), (1, "L2")]),
    ("MSN6", &[(1, "M2"), (1, "S2"), (1, "N2")]), ("2MS6", &[(2, "M2"), (1, "S2")]), ("2MK6", &[(2, "M2"), (1, "K2")]),
    ("MSL6", &[(1, "M2"), (1, "S2"), (1, "L2")]), ("2SM6", &[(2, "S2"), (1, "M2")]),
    ("MSK6", &[(1, "M2"), (1, "S2"), (1, "K2")]), ("S6", &[(3, "S2")]),
    ("2MNO7", &[(2, "M2"), (1, "N2"), (1, "O1")]), ("2MSO7", &[(2, "M2"), (1, "S2"), (1, "O1")]),
    ("2NMK7", &[(2, "N2"), (1, "M2"), (1, "K1")]), ("3MK7", &[(3, "M2"), (1, "K1")]),
    ("MSKO7", &[(1, "M2"), (1, "S2"), (1, "K2"), (1, "O1")]),
    ("2MN8", &[(2, "M2"), (2, "N2")]), ("3MN8", &[(3, "M2"), (1, "N2")]), ("M8", &[(4, "M2")]),
    ("4MLS8", &[(4, "M2"), (1, "L2"), (-1, "S2")]), ("3ML8", &[(3, "M2"), (1, "L2")]),
    ("2MSN8", &[(2, "M2"), (1, "S2"), (1, "N2")]), ("3MS8", &[(3, "M2"), (1, "S2")]), ("3MK8", &[(3, "M2"), (1, "K2")]),
    ("2MSL8", &[(2, "M2"), (1, "S2"), (1, "L2")]), ("2MS8", &[(2, "M2"), (2, "S2")]),
    ("2MSK8", &[(2, "M2"), (1, "S2"), (1, "K2")]),
    ("2M2NK9", &[(2, "M2"), (2, "N2"), (1, "K1")]), ("3MNK9", &[(3, "M2"), (1, "N2"), (1, "K1")]),
    ("4MK9", &[(4, "M2"), (1, "K1")]), ("3MSK9", &[(3, "M2"), (1, "S2"), (1, "K1")]),
    ("4MN10", &[(4, "M2"), (1, "N2")]), ("M10", &[(5, "M2")]), ("3MNS10", &[(3, "M2"), (1, "N2"), (1, "S2")]),
    ("4MS10", &[(4, "M2"), (1, "S2")]), ("3MSL10", &[(3, "M2"), (1, "S2"), (1, "L2")]), ("3M2S10", &[(3, "M2"), (2, "S2")]),
    ("4MSK11", &[(4, "M2"), (1, "S2"), (1, "K1")]), ("4MNS12", &[(4, "M2"), (1, "N2"), (1, "S2")]),
    ("5MS12", &[(5, "M2"), (1, "S2")]), ("4MSL12", &[(4, "M2"), (1, "S2"), (1, "L2")]), ("4M2S12", &[(4, "M2"), (2, "S2")]),
];

static TABLE: LazyLock<HashMap<&'static str, Constituent>> = LazyLock::new(|| {
    let mut table: HashMap<&'static str, Constituent> = ELEMENTARY
        .iter()
        .map(|&(name, doodson, quarters, nodal)| {
            let nodal = if nodal == Nodal::None { Vec::new() } else { vec![(nodal, 1)] };
            (name, Constituent { name, doodson, quarters, nodal })
        })
        .collect();
    for &(name, members) in COMPOUND {
        let mut sum = Constituent { name, doodson: [0; 6], quarters: 0, nodal: Vec::new() };
        for (times, member) in members {
            let part = &table[member];
            for (total, k) in sum.doodson.iter_mut().zip(part.doodson) {
                *total += times * k;
            }
            sum.quarters += times * part.quarters;
            sum.nodal.extend(part.nodal.iter().map(|&(nodal, n)| (nodal, n * times)));
        }
        // One entry a kind, so that f is raised to a power once.
        sum.nodal.sort_unstable();
        sum.nodal.dedup_by(|later, first| {
            later.0 == first.0 && later.1.signum() == first.1.signum() && {
                first.1 += later.1;
                true
            }
        });
        table.insert(name, sum);
    }
    // TICON's lists leave the quarter turn of the diurnal member out.
    for (name, like) in [("2MK5_TICON", "2MK5"), ("2MO5_TICON", "2MO5")] {
        let plain = Constituent { name, quarters: 0, ..table[like].clone() };
        table.insert(name, plain);
    }
    table
});
