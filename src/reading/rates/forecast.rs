//! Forecasts that are held to account: what each past outing should have given, as the others have it.
//!
//! For outing j the rates of the cells are worked out without its own finds and without its own exposure, drawn
//! towards the mean of the others. Its mean is the sum of rate times its own exposure. What it gives varies about that
//! by luck, by how little each cell is known, by how much outings differ, and by how little the level of the others
//! is known; the range in which 9 in 10 should fall is that of the negative binomial with that mean and variance.
//! O(stays of all outings).

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::FEW_OUTINGS;
use super::cell_rates::{CellRates, InCell};
use crate::book::Uid;
use crate::chance::{Group, Shapes, Share, group_rate, negative_binomial_quantile};
use crate::reading::exposure::Outings;

/// Outings to be held to account are the last so many.
const LAST: usize = 20;
/// So many forecasts should fall within their range.
const MEANT: f64 = 0.9;

/// How much the parts of a beach and the outings to it differ beyond luck, as coefficients of variation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Differ {
    /// Of the rates of cells.
    pub cells_cv: f64,
    /// Of what outings gave for the same ground.
    pub outings_cv: f64,
}

/// A past outing as the others would have forecast it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Forecast {
    /// The outing.
    pub outing: Uid,
    /// When it began.
    pub start: Timestamp,
    /// What it gave; finds that are set apart are not among them.
    pub found: usize,
    /// What the others make it give.
    pub expected: f64,
    /// 1 in 20 outings like it give fewer than this, ...
    pub low: f64,
    /// ... and 1 in 20 give more than this.
    pub high: f64,
}

/// Finds over those forecast.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RatioToForecast {
    /// The ratio.
    pub ratio: f64,
    /// Lower end of its 95 % interval, by outing.
    pub low: f64,
    /// Upper end of its 95 % interval, by outing.
    pub high: f64,
}

/// Every past outing forecast from the others, and how that went of late.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Forecasts {
    /// The outings, oldest first.
    pub outings: Vec<Forecast>,
    /// How many of the last of them the rest is about.
    pub last: usize,
    /// What those gave over what was forecast.
    pub ratio: RatioToForecast,
    /// How many of those fell within their range.
    pub within: Share,
}

impl Forecast {
    fn is_within(&self) -> bool {
        (self.low..=self.high).contains(&(self.found as f64))
    }
}

impl Forecasts {
    /// Whether forecasts here are too sure: fewer fall within their range than luck would have it.
    pub fn too_sure(&self) -> bool {
        self.within.high < MEANT
    }

    /// How the forecasts went, as a sentence without its full stop.
    pub fn said(&self) -> String {
        let RatioToForecast { ratio, low, high } = self.ratio;
        // Two figures where one would be nought.
        let places = if ratio < 0.095 { 2 } else { 1 };
        let too_sure = if self.too_sure() { ": forecasts here are too sure" } else { "" };
        format!(
            "your last {} outings gave {ratio:.places$} times what was forecast ({low:.places$} to {high:.places$}); {} of {} within the range that 9 in 10 should keep to{too_sure}",
            self.last, self.within.count, self.within.of
        )
    }

    /// The same as a sentence that stands alone.
    pub fn sentence(&self) -> String {
        format!("{}.", self.said().replacen("your", "Your", 1))
    }
}

impl Differ {
    pub(in crate::reading) fn among(rates: &CellRates) -> Self {
        let mean = rates.shrinkage.mean;
        let cells_cv = if mean > 0.0 { rates.shrinkage.variance.sqrt() / mean } else { 0.0 };
        Self { cells_cv, outings_cv: rates.shapes.variance().sqrt() }
    }
}

/// Why there are no forecasts.
pub(in crate::reading) fn few_for_forecasts(outings: &Outings) -> String {
    let why = match outings.all.len() {
        0 => format!("takes {FEW_OUTINGS} outings with tracks, and no outings are told apart"),
        1 => format!("takes {FEW_OUTINGS} outings with tracks, and there is 1"),
        n if n < FEW_OUTINGS => format!("takes {FEW_OUTINGS} outings with tracks, and there are {n}"),
        _ => format!("takes finds on ground that {FEW_OUTINGS} outings with tracks show, and there are too few"),
    };
    format!("No past outing is forecast from the others yet: that {why}.")
}

/// Each outing from the others; `None` with fewer than [`FEW_OUTINGS`] or where nothing was found.
pub(in crate::reading) fn forecasts(rates: &CellRates, outings: &Outings) -> Option<Forecasts> {
    let others = Others::all(rates);
    let forecast = |(n, own): (usize, &Vec<InCell>)| {
        let outing = &outings.all[outings.of_visits(n)?];
        let told = others.without(n, own)?;
        let [low, high] = told.range();
        let found = own.iter().map(|s| s.finds).sum::<f64>() as usize;
        Some(Forecast { outing: outing.uid, start: outing.start, found, expected: told.mean, low, high })
    };
    let mut all: Vec<Forecast> = rates.stays.iter().enumerate().filter_map(forecast).collect();
    if all.len() < FEW_OUTINGS {
        return None;
    }
    all.sort_by_key(|f| (f.start, f.outing));
    let groups: Vec<Group> = all.iter().map(|f| Group::new(f.found as f64, f.expected)).collect();
    let last = all.len().min(LAST);
    let ratio = group_rate(&groups[all.len() - last..], &Shapes::from_groups(&groups))?;
    let within = all[all.len() - last..].iter().filter(|f| f.is_within()).count();
    Some(Forecasts {
        outings: all,
        last,
        ratio: RatioToForecast { ratio: ratio.rate, low: ratio.low, high: ratio.high },
        within: Share::new(within, last),
    })
}

/// What all outings did, to be told without one.
struct Others<'a> {
    rates: &'a CellRates,
    /// By cell.
    finds: Vec<f64>,
    /// By cell, each outing by its effect.
    exposures: Vec<f64>,
    /// By outing.
    groups: Vec<Group>,
}

/// The mean and the variance of what an outing gives.
#[derive(Debug, Clone, Copy)]
struct Told {
    mean: f64,
    variance: f64,
}

impl Told {
    fn range(self) -> [f64; 2] {
        let tail = 0.5 * (1.0 - MEANT);
        [tail, 1.0 - tail].map(|p| negative_binomial_quantile(self.mean, self.variance, p))
    }
}

impl<'a> Others<'a> {
    fn all(rates: &'a CellRates) -> Self {
        let (mut finds, mut exposures) = (vec![0.0; rates.cells.len()], vec![0.0; rates.cells.len()]);
        for (own, effect) in rates.stays.iter().zip(&rates.effects) {
            for s in own {
                finds[s.cell as usize] += s.finds;
                exposures[s.cell as usize] += effect * s.exposure_m2;
            }
        }
        let groups = rates.stays.iter().zip(&rates.effects).map(|(own, effect)| {
            let (n, e) = own.iter().fold((0.0, 0.0), |(n, e), s| (n + s.finds, e + effect * s.exposure_m2));
            Group::new(n, e)
        });
        let groups = groups.collect();
        Self { rates, finds, exposures, groups }
    }

    /// What outing `n` gives, by the others; `None` without exposure of its own or of theirs, or where they found
    /// nothing.
    fn without(&self, n: usize, own: &[InCell]) -> Option<Told> {
        let days = self.rates.shapes.variance();
        let others = || self.groups.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, g)| g);
        let (finds, exposure) = others().fold((0.0, 0.0), |(f, e), g| (f + g.count, e + g.exposure));
        if finds <= 0.0 || exposure <= 0.0 || own.is_empty() {
            return None;
        }
        let level = finds / exposure;
        // Cells differ about the level of the others as they do about that of all.
        let all = self.rates.shrinkage;
        let shape = if all.variance > 0.0 { all.mean * all.mean / all.variance } else { f64::INFINITY };
        let effect = self.rates.effects[n];
        let (mut mean, mut of_cells) = (0.0, 0.0);
        for s in own {
            let k = s.cell as usize;
            let (rate, variance) = if shape.is_finite() {
                let count = (self.finds[k] - s.finds).max(0.0) + shape;
                let over = (self.exposures[k] - effect * s.exposure_m2).max(0.0) + shape / level;
                (count / over, count / (over * over))
            } else {
                (level, 0.0)
            };
            mean += rate * s.exposure_m2;
            of_cells += variance * s.exposure_m2 * s.exposure_m2;
        }
        let shares: f64 = others().map(|g| (g.exposure / exposure).powi(2)).sum();
        let of_level = 1.0 / finds + days * shares;
        Some(Told { mean, variance: mean + of_cells + mean * mean * (days + of_level) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(within: usize, ratio: f64) -> Forecasts {
        let ratio = RatioToForecast { ratio, low: 0.5 * ratio, high: 2.0 * ratio };
        Forecasts { outings: Vec::new(), last: 20, ratio, within: Share::new(within, 20) }
    }

    #[test]
    fn what_is_said_tells_how_forecasts_went_and_when_they_are_too_sure() {
        assert_eq!(
            told(18, 0.9).sentence(),
            "Your last 20 outings gave 0.9 times what was forecast (0.5 to 1.8); 18 of 20 within the range that 9 in 10 should keep to."
        );
        // Clopper & Pearson's upper end for 13 of 20 is 0.846, for 14 of 20 it is 0.881, for 15 of 20 0.913
        // (scipy 1.17.1: beta.ppf(0.975, k + 1, 20 - k)).
        assert!(told(13, 1.0).too_sure() && told(14, 1.0).too_sure() && !told(15, 1.0).too_sure());
        assert!(told(13, 1.0).said().ends_with("should keep to: forecasts here are too sure"));
        assert!(told(18, 0.04).said().contains("0.04 times what was forecast (0.02 to 0.08)"));
    }
}
