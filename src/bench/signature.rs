use serde::Serialize;

use crate::book::Kind;

/// How one kind reads with one set-up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Signature {
    /// The kind.
    pub kind: Kind,
    /// How the screen says it.
    pub label: String,
    /// Its centre on the ID scale.
    pub centre: f64,
    /// Ends of the 95 % interval of the centre.
    pub centre_interval: (f64, f64),
    /// Standard deviation of one pass about its specimen, at the set-up's usual depth.
    pub pass_spread: f64,
    /// Standard deviation of specimens about the centre.
    pub specimen_spread: f64,
    /// Growth of the passes' spread, per metre of depth: as exp(growth × depth).
    pub growth_per_m: f64,
    /// How many times wider the passes spread for each 10 cm of depth.
    pub wider_per_10cm: f64,
    /// Where 90 % of single passes at the usual depth are expected.
    pub expected: (f64, f64),
    /// Bench readings.
    pub readings: usize,
    /// Bench readings at which nothing was heard.
    pub unheard: usize,
    /// Bench targets and finds read.
    pub specimens: usize,
    /// Finds among them.
    pub finds: usize,
    /// Numbers in all.
    pub passes: usize,
    /// Share of steady, jumpy and broken readings, drawn towards the set-up's own; they add up to 1.
    pub steadiness: [f64; 3],
    /// The share of the specimens' spread that is lent by the other kinds, 0 to 1.
    pub lent: f64,
    /// Why the figures need care, if they do.
    pub care: Option<String>,
    /// Degrees of freedom behind the spread.
    #[serde(skip)]
    pub(super) df: f64,
    /// Variance of the centre.
    #[serde(skip)]
    pub(super) centre_variance: f64,
    /// Degrees of freedom behind the passes' spread.
    #[serde(skip)]
    pub(super) pass_df: f64,
}

impl Signature {
    /// Standard deviation of one pass about its specimen at a depth, metres, when the set-up's usual depth is `usual_m`.
    pub fn pass_spread_at(&self, depth_m: f64, usual_m: f64) -> f64 {
        self.pass_spread * (self.growth_per_m * (depth_m - usual_m)).clamp(-4.0, 4.0).exp()
    }
}
