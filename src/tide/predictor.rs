use jiff::Timestamp;

use super::astro::{Angles, seconds_j2000};
use super::constituent::Constituent;
use super::envelope::Envelope;
use super::nodal::NodalTerms;
use super::turns::{Turn, find_turns};
use super::wave::Wave;
use super::{Datum, Station, TideError};

/// Predicts the astronomical tide at a station: h(t) = Z0 + Σ f H cos(V + u − g).
///
/// f and u are those of the moment. Weather is not in it.
#[derive(Debug, Clone)]
pub struct Predictor {
    mean_m: f64,
    waves: Vec<Wave>,
    left_out: Vec<(String, f64)>,
}

impl Predictor {
    /// A predictor of metres above `datum`.
    ///
    /// # Errors
    /// [`TideError::NoDatum`] when the station does not tie `datum` to its mean sea level,
    /// [`TideError::NoConstituents`] when nothing is left to predict with, [`TideError::Constant`] for an
    /// amplitude or phase that is not finite, or an amplitude below 0 or above 20 m.
    pub fn new(station: &Station, datum: &Datum) -> Result<Self, TideError> {
        let mean_m = station
            .mean_level_m(datum)
            .ok_or_else(|| TideError::NoDatum { station: station.id.clone(), datum: datum.clone() })?;
        let mut waves = Vec::with_capacity(station.constants.len());
        let mut left_out = Vec::new();
        for constant in &station.constants {
            let wrong =
                |value| TideError::Constant { station: station.id.clone(), constituent: constant.name.to_string(), value };
            if !(0.0..=20.0).contains(&constant.amplitude_m) {
                return Err(wrong(constant.amplitude_m));
            }
            if !constant.phase_deg.is_finite() {
                return Err(wrong(constant.phase_deg));
            }
            if constant.amplitude_m == 0.0 {
                continue;
            }
            match Constituent::named(&constant.name, station.publisher.convention()) {
                Some(constituent) => {
                    waves.push(Wave { constituent, amplitude_m: constant.amplitude_m, phase_deg: constant.phase_deg });
                }
                None => left_out.push((constant.name.to_string(), constant.amplitude_m)),
            }
        }
        if waves.iter().all(|wave| wave.constituent.species() == 0) {
            return Err(TideError::NoConstituents { station: station.id.clone() });
        }
        left_out.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        Ok(Self { mean_m, waves, left_out })
    }

    /// Height of mean sea level above the datum, metres.
    pub fn mean_m(&self) -> f64 {
        self.mean_m
    }

    /// Constituents in use: name and amplitude in metres.
    pub fn used(&self) -> impl Iterator<Item = (&'static str, f64)> {
        self.waves.iter().map(|wave| (wave.constituent.name(), wave.amplitude_m))
    }

    /// Constituents of the station that have no known meaning here, with their amplitude in metres, the
    /// largest first. The prediction can be wrong by up to their sum.
    pub fn left_out(&self) -> &[(String, f64)] {
        &self.left_out
    }

    /// Amplitude of one constituent by its name here, metres; 0 where the station has none.
    pub fn amplitude_m(&self, name: &str) -> f64 {
        self.waves.iter().filter(|wave| wave.constituent.name() == name).map(|wave| wave.amplitude_m).sum()
    }

    /// Height at one moment, metres above the datum.
    pub fn height_m(&self, time: Timestamp) -> f64 {
        let seconds = seconds_j2000(time);
        let (angles, terms) = (Angles::at(seconds), NodalTerms::at(seconds));
        let moving: f64 = self
            .waves
            .iter()
            .map(|wave| {
                let (h, phase) = wave.at(&angles, &terms);
                h * phase.cos()
            })
            .sum();
        self.mean_m + moving
    }

    /// Heights at `n` moments, `step_s` seconds apart from `from` on, metres above the datum.
    ///
    /// Within 0.01 mm of [`height_m`](Self::height_m), and much faster for more than a few.
    pub fn heights(&self, from: Timestamp, step_s: f64, n: usize) -> Vec<f64> {
        let from_s = seconds_j2000(from);
        let to_s = from_s + step_s * n.saturating_sub(1) as f64;
        self.envelope(from_s.min(to_s), from_s.max(to_s)).heights(from_s, step_s, n)
    }

    /// Every high and low water from `from` up to but not including `to`, in order.
    ///
    /// All turning points of the prediction are found, double waters included; times are within 0.01 s of
    /// the model's own.
    pub fn turns(&self, from: Timestamp, to: Timestamp) -> Vec<Turn> {
        if from >= to {
            return Vec::new();
        }
        find_turns(|a, b| self.envelope(a, b), seconds_j2000(from), seconds_j2000(to))
    }

    /// The prediction prepared for fast reading over a span.
    pub(super) fn envelope(&self, from_s: f64, to_s: f64) -> Envelope {
        Envelope::new(&self.waves, self.mean_m, from_s, to_s)
    }
}
