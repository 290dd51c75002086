use jiff::Timestamp;

use std::collections::BTreeMap;

use crate::book::Uid;
use crate::earth::LonLat;

/// What to plant on the invented beach and how it is searched. The same planting always makes the same beach.
#[derive(Debug, Clone, PartialEq)]
pub struct Planting {
    /// Seed of everything random.
    pub seed: u64,
    /// Whether anything but chance decides where things lie; without, drop zones and scour lines are not planted.
    pub with_patterns: bool,
    /// How many drop zones, 0 to 6.
    pub drop_zones: usize,
    /// How many scour lines, 0 to 3.
    pub scour_lines: usize,
    /// How many outings, 1 to 60, spread over the eighteen months.
    pub outings: usize,
    /// Things lying at random within reach of the coil, per 100 m² of sand, at any time.
    pub scattered_per_100m2: f64,
    /// Where a biased walker spends every outing; `None` for one who goes all over the beach.
    pub bias: Option<Bias>,
}

/// The corner that a biased walker keeps to: metres along the baseline and seaward of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bias {
    /// Nearest and farthest metres along.
    pub along_m: (f64, f64),
    /// Nearest and farthest metres across.
    pub across_m: (f64, f64),
}

impl Planting {
    /// The beach that ships with the program.
    pub fn shipped() -> Self {
        Self::patterned(20_260_925)
    }

    /// A beach with drop zones and scour lines.
    pub fn patterned(seed: u64) -> Self {
        Self { seed, with_patterns: true, drop_zones: 4, scour_lines: 3, outings: 30, scattered_per_100m2: 1.0, bias: None }
    }

    /// A beach where chance alone decides, with about as many finds.
    pub fn plain(seed: u64) -> Self {
        Self { with_patterns: false, drop_zones: 0, scour_lines: 0, scattered_per_100m2: 1.4, ..Self::patterned(seed) }
    }

    /// A beach where chance alone decides, all of it searched in one corner.
    pub fn biased(seed: u64) -> Self {
        Self { bias: Some(Bias { along_m: (560.0, 760.0), across_m: (15.0, 110.0) }), ..Self::plain(seed) }
    }
}

/// What was planted, to compare a reading with.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Where people lose things.
    pub drop_zones: Vec<DropZone>,
    /// Where the sea sorts heavy things.
    pub scour_lines: Vec<ScourLine>,
    /// The storms, in order of time.
    pub storms: Vec<StormTruth>,
    /// Chance that a thing is heard in one pass over it, the mean over all scattered things.
    pub heard_per_pass: f64,
    /// Width of the ground that one walk past covers, metres: the whole swing, not the coil.
    pub swing_m: f64,
    /// Things lying at random within reach of the coil, per 100 m² of sand, at any time.
    pub scattered_per_100m2: f64,
    /// Why each find lay where it did.
    pub cause_of: BTreeMap<Uid, Cause>,
    /// Where each find truly lay, before the receiver's error.
    pub place_of: BTreeMap<Uid, LonLat>,
}

/// Why a thing lay where it did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Chance.
    Scattered,
    /// The drop zone of this number.
    DropZone(usize),
    /// The scour line of this number.
    ScourLine(usize),
}

/// A planted drop zone: an ellipse with its axes along and across the shore that holds 86 % of its things.
#[derive(Debug, Clone, PartialEq)]
pub struct DropZone {
    /// Its middle.
    pub centre: LonLat,
    /// Metres along the baseline.
    pub along_m: f64,
    /// Metres seaward of it.
    pub across_m: f64,
    /// Half its length along the shore, metres (two standard deviations).
    pub half_along_m: f64,
    /// Half its width across the shore, metres (two standard deviations).
    pub half_across_m: f64,
}

/// A planted scour line, with each state it took.
#[derive(Debug, Clone, PartialEq)]
pub struct ScourLine {
    /// Level about which it moves, metres above the land datum.
    pub level_m: f64,
    /// Width that holds 95 % of its things, metres.
    pub width_m: f64,
    /// Where it begins and ends, metres along the baseline.
    pub along_m: (f64, f64),
    /// Its middle line at `level_m`.
    pub line: Vec<LonLat>,
    /// Heavy things that lay at `level_m` before the first storm.
    pub laid_before: usize,
    /// What each storm made of it, in order of time.
    pub renewals: Vec<Renewal>,
}

/// A scour line as one storm left it.
#[derive(Debug, Clone, PartialEq)]
pub struct Renewal {
    /// Number of the storm in [`Truth::storms`].
    pub storm: usize,
    /// Level it then held, metres above the land datum.
    pub level_m: f64,
    /// Heavy things it laid within reach of the coil.
    pub things: usize,
}

/// One storm as it was made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StormTruth {
    /// When the waves were highest.
    pub peak: Timestamp,
    /// Significant wave height then, metres.
    pub hs_m: f64,
}
