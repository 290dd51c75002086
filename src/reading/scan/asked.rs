//! What a scan is asked, and what it gives.

/// How a scan is run.
pub(in crate::reading) struct Settings {
    /// A window needs as many finds.
    pub(in crate::reading) least_finds: u32,
    pub(in crate::reading) replicates: usize,
    pub(in crate::reading) seed: u64,
    /// Windows with a p-value up to this are sought.
    pub(in crate::reading) worst_p: f64,
    /// How many times as rich as the rest a window may seem because exposure is misjudged; at least 1.
    pub(in crate::reading) margin: f64,
    /// With fewer outings than this how much they differ cannot be known, and only what lies within them counts.
    pub(in crate::reading) least_outings: usize,
}

/// A window with more finds than expected.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::reading) struct Window {
    /// Its cells.
    pub(in crate::reading) cells: Vec<usize>,
    pub(in crate::reading) finds: u32,
    /// By its share of the exposure and the days on which it was searched, without the margin.
    pub(in crate::reading) expected: f64,
    /// Beyond the margin.
    pub(in crate::reading) log_ratio: f64,
    pub(in crate::reading) p: f64,
    /// Of which outings it is: 0 of all, else of those in this place among the ones scanned by themselves as well, from 1.
    pub(in crate::reading) slice: usize,
    /// Which shape and how many of its rings.
    pub(in crate::reading) shape: usize,
    pub(in crate::reading) rings: usize,
    pub(in crate::reading) middle: usize,
}

/// What a scan gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::reading) struct Scanned {
    /// Chance of a window as strong as the strongest; `None` when none exceeded its expectation.
    pub(in crate::reading) p: Option<f64>,
    /// Replicates that were drawn.
    pub(in crate::reading) replicates: usize,
    /// How much outings differ: the shape of their effects.
    pub(in crate::reading) phi: f64,
    /// Windows with a p-value as good as asked for, that were accepted and share no cell; likeliest
    /// first.
    pub(in crate::reading) windows: Vec<Window>,
}
