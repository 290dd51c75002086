//! What a part of the beach gave, as counts and rates, and the words in which it is told.

use serde::{Deserialize, Serialize};

use super::rate::Rate;
use crate::reading::given::Counts;
use crate::reading::params::Params;

/// What a part of the beach gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Yield {
    /// Finds in it, by weight.
    #[serde(flatten)]
    pub counts: Counts,
    /// Finds per 100 m² of ground, searched or not. Says where one walked as much as where things lie.
    pub density_per_100m2: Option<f64>,
    /// Ground swept in it, m²; `None` when no tracks show it.
    pub swept_m2: Option<f64>,
    /// All finds per 100 m² swept.
    pub rate: Option<Rate>,
    /// Heavy finds per 100 m² swept.
    pub rate_heavy: Option<Rate>,
    /// Light finds per 100 m² swept.
    pub rate_light: Option<Rate>,
    /// Signals left undug in it; not among the finds.
    #[serde(default)]
    pub signals: usize,
    /// Signals left undug per 100 m² swept.
    #[serde(default)]
    pub rate_signals: Option<Rate>,
    /// Whether so little ground was covered that its rates say nothing yet.
    pub too_little: bool,
    /// What would make the rate surer, as a sentence.
    pub surer: Option<String>,
}

impl Yield {
    pub(in crate::reading) fn new(
        place: &str,
        counts: Counts,
        area_m2: Option<f64>,
        swept_m2: Option<f64>,
        params: &Params,
    ) -> Self {
        let rate = |n: usize| swept_m2.and_then(|swept| Rate::new(n as f64, swept));
        let all = rate(counts.finds);
        let too_little = swept_m2.is_none_or(|swept| swept < params.least_swept_m2);
        let surer = match (all, swept_m2) {
            (_, None) => None,
            (Some(rate), Some(swept)) if !too_little => {
                debug_assert!(swept > 0.0);
                Some(format!("another {} m² {place} would halve this interval", round_up(rate.to_halve_m2)))
            }
            (_, Some(swept)) => Some(format!(
                "not enough ground covered yet: another {:.0} m² {place} until the {:.0} m² that a rate needs; {swept:.0} m² are swept",
                (params.least_swept_m2 - swept).ceil(),
                params.least_swept_m2
            )),
        };
        Self {
            density_per_100m2: area_m2.filter(|a| *a > 0.0).map(|a| counts.finds as f64 / a * 100.0),
            swept_m2,
            rate: all,
            rate_heavy: rate(counts.heavy),
            rate_light: rate(counts.light),
            signals: 0,
            rate_signals: None,
            too_little,
            counts,
            surer,
        }
    }

    /// The same with the signals left undug.
    pub(in crate::reading) fn with_signals(self, signals: usize) -> Self {
        let rate_signals = self.swept_m2.and_then(|m2| Rate::new(signals as f64, m2));
        Self { signals, rate_signals, ..self }
    }
}

/// Rounded up to two figures: nobody paces out 613.2 m².
pub(in crate::reading) fn round_up(area_m2: f64) -> f64 {
    let step = 10_f64.powf((area_m2.max(10.0).log10().floor() - 1.0).max(1.0));
    (area_m2 / step).ceil() * step
}

/// A band's name as the end of a sentence: "between MHWN and MSL", "above MHWS".
pub(in crate::reading) fn in_band(name: &str) -> String {
    name.split_once(" to ").map_or_else(|| name.to_owned(), |(high, low)| format!("between {high} and {low}"))
}
