use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{BookError, SeaState, Uid};

/// The sea off a beach as a buoy or a model tells it, whole and at its own step: recorded, or forecast.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeaRecord {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it lies off.
    pub beach: Uid,
    /// What the person calls it; what is imported under the same name carries it on.
    pub name: String,
    /// The sea at each of its instants, in order of time; at least one.
    pub states: Vec<SeaState>,
}

impl SeaRecord {
    /// The uid of the record of this name.
    pub fn uid_of(beach: Uid, name: &str) -> Uid {
        Uid::of_content("sea_record", [beach.to_string().as_bytes(), name.trim().to_lowercase().as_bytes()])
    }

    /// First and last instant.
    pub fn span(&self) -> Option<(Timestamp, Timestamp)> {
        Some((self.states.first()?.time, self.states.last()?.time))
    }

    /// Carries the record on with newer states: over their span they replace what was there, as a later forecast
    /// replaces an earlier one.
    #[must_use]
    pub fn carried_on(mut self, newer: &[SeaState]) -> Self {
        if let (Some(first), Some(last)) = (newer.first(), newer.last()) {
            self.states.retain(|s| s.time < first.time || s.time > last.time);
            self.states.extend_from_slice(newer);
            self.states.sort_by_key(|s| s.time);
        }
        self
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.states.is_empty() {
            return Err(BookError::field("sea record", "is empty"));
        }
        if self.states.windows(2).any(|w| w[0].time >= w[1].time) {
            return Err(BookError::field("sea record", "is not in order of time"));
        }
        self.states.iter().try_for_each(SeaState::validate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn state(time: &str, hs_m: f64) -> SeaState {
        SeaState { time: time.parse().unwrap(), hs_m, tp_s: Some(8.0), dir_deg: None, surge_m: None }
    }

    #[test]
    fn a_later_forecast_replaces_an_earlier_one_over_its_span_and_keeps_the_rest() {
        let beach = Uid::fresh();
        let hours = |from: i64, to: i64, hs_m: f64| -> Vec<SeaState> {
            (from..to).map(|h| state(&format!("2026-03-0{}T{:02}:00:00Z", 1 + h / 24, h % 24), hs_m)).collect()
        };
        let old = SeaRecord { uid: SeaRecord::uid_of(beach, "f"), beach, name: "f".into(), states: hours(0, 48, 1.0) };
        let new = old.clone().carried_on(&hours(24, 72, 2.0));
        assert_eq!(new.states.len(), 72);
        assert!(new.validate().is_ok());
        assert!(new.states[..24].iter().all(|s| s.hs_m == 1.0) && new.states[24..].iter().all(|s| s.hs_m == 2.0));
        assert_eq!(new.clone().carried_on(&hours(24, 72, 2.0)), new, "the same again changes nothing");
        assert!(SeaRecord { states: vec![], ..old.clone() }.validate().is_err());
        assert!(SeaRecord { states: vec![state("2026-03-01T00:00:00Z", 50.0)], ..old }.validate().is_err());
    }
}
