//! What a part of the beach gave, as counts and rates, and the words in which it is told.

use serde::{Deserialize, Serialize};

use super::rate::Rate;
use crate::chance::Group;
use crate::reading::exposure::Exposure;
use crate::reading::given::{Counts, Placed, PlacedFinds, WeightChoice};
use crate::reading::params::Params;

/// What a part of the beach gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Yield {
    /// Finds in it, by weight; those set apart are among them, though in no rate.
    #[serde(flatten)]
    pub counts: Counts,
    /// Finds per 100 m² of ground, searched or not. Says where one walked as much as where things lie.
    pub density_per_100m2: Option<f64>,
    /// Ground swept in it at least once, m²; `None` when no tracks show it.
    pub swept_m2: Option<f64>,
    /// All finds per 100 m² of a visit to rested ground.
    pub rate: Option<Rate>,
    /// The same of the heavy ones.
    pub rate_heavy: Option<Rate>,
    /// The same of the light ones.
    pub rate_light: Option<Rate>,
    /// Signals left undug in it; not among the finds.
    #[serde(default)]
    pub signals: usize,
    /// Signals left undug per 100 m² of a visit to rested ground, as if luck alone made them vary.
    #[serde(default)]
    pub rate_signals: Option<Rate>,
    /// Whether so little ground was covered that its rates say nothing yet.
    pub too_little: bool,
    /// What would make the rate surer, as a sentence.
    pub surer: Option<String>,
}

/// The finds and the exposure of one part of the beach, outing by outing.
pub(in crate::reading) struct Part<'a> {
    exposure: &'a Exposure<'a>,
    /// For each choice of finds, in order of [`WeightChoice::ALL`].
    groups: Vec<Vec<Group>>,
}

impl<'a> Part<'a> {
    /// A part with so much exposure by outing, and the finds that were made in it.
    pub(in crate::reading) fn new(
        exposure: &'a Exposure<'a>,
        by_outing: &[f64],
        laid: &PlacedFinds,
        holds: impl Fn(usize, &Placed) -> bool,
    ) -> Self {
        Self::of_finds(exposure, by_outing, laid.finds.iter().enumerate().filter(|(n, find)| holds(*n, find)))
    }

    /// As [`Part::new`], of finds with their numbers.
    pub(in crate::reading) fn of_finds<'f>(
        exposure: &'a Exposure<'a>,
        by_outing: &[f64],
        finds: impl Iterator<Item = (usize, &'f Placed)>,
    ) -> Self {
        let mut groups = vec![by_outing.iter().map(|e| Group::new(0.0, *e)).collect::<Vec<_>>(); WeightChoice::ALL.len()];
        for (find, at) in finds.filter_map(|(n, find)| Some((find, exposure.of_find[n]?))) {
            for of in WeightChoice::ALL.into_iter().filter(|of| of.takes(find.weight)) {
                groups[of.place()][at.outing as usize].count += 1.0;
            }
        }
        // A find that a receiver's error put across the edge of a part has no exposure there to be divided by.
        for groups in &mut groups {
            groups.iter_mut().filter(|g| g.exposure <= 0.0).for_each(|g| g.count = 0.0);
        }
        Self { exposure, groups }
    }

    /// All finds, by outing of the visits.
    pub(in crate::reading) fn into_groups(mut self) -> Vec<Group> {
        self.groups.swap_remove(WeightChoice::All.place())
    }

    pub(in crate::reading) fn rate(&self, of: WeightChoice) -> Option<Rate> {
        Rate::by_outing(&self.groups[of.place()], self.exposure.shapes(of))
    }
}

impl Yield {
    pub(in crate::reading) fn new(
        place: &str,
        counts: Counts,
        area_m2: Option<f64>,
        swept_m2: Option<f64>,
        part: Option<&Part>,
        params: &Params,
    ) -> Self {
        let rate = |of: WeightChoice| part.and_then(|p| p.rate(of));
        let all = rate(WeightChoice::All);
        let too_little = swept_m2.is_none_or(|swept| swept < params.least_swept_m2);
        let surer = match (all, swept_m2) {
            (_, None) => None,
            (Some(rate), Some(_)) if !too_little => Some(surer(place, &rate)),
            (_, Some(swept)) => Some(format!(
                "not enough ground covered yet: another {:.0} m² {place} until the {:.0} m² that a rate needs; {swept:.0} m² are swept",
                (params.least_swept_m2 - swept).max(0.0).ceil(),
                params.least_swept_m2
            )),
        };
        Self {
            density_per_100m2: area_m2.filter(|a| *a > 0.0).map(|a| counts.finds as f64 / a * 100.0),
            swept_m2,
            rate: all,
            rate_heavy: rate(WeightChoice::Heavy),
            rate_light: rate(WeightChoice::Light),
            signals: 0,
            rate_signals: None,
            too_little,
            counts,
            surer,
        }
    }

    /// The same with the signals left undug.
    pub(in crate::reading) fn with_signals(self, signals: usize) -> Self {
        let rate_signals = self.rate.and_then(|r| Rate::counted(signals as f64, r.exposure_m2));
        Self { signals, rate_signals, ..self }
    }
}

/// What would halve the interval of a rate.
pub(in crate::reading) fn surer(place: &str, rate: &Rate) -> String {
    let outings = rate.outings.max(1);
    let times = (rate.to_halve_m2 / rate.exposure_m2).max(1.0);
    let more = (times * outings as f64).ceil();
    let few = if outings < super::FEW_OUTINGS {
        format!("; with {outings} outing{} nobody knows how much days differ, so it is wide", if outings == 1 { "" } else { "s" })
    } else {
        String::new()
    };
    format!("another {} m² {place} on {more:.0} more outings would halve this interval{few}", round_up(rate.to_halve_m2))
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
