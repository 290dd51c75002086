//! Weather that is typed calmer than any forecast is sure of.

use super::{Doubt, Weight};
use crate::book::Beach;
use crate::tide::Surge;

/// A standard deviation of the surge below this is surer than anybody is, metres (common practice, no published source:
/// what the water stands off its prediction on a calm day of an open coast).
const CALM_SD_M: f64 = 0.1;

/// What is to be said of the weather that a person typed for a beach.
pub fn of_weather(beach: &Beach) -> Vec<Doubt> {
    let Some(sd_m) = beach.weather.surge_sd_m.filter(|m| *m < CALM_SD_M) else { return Vec::new() };
    let usual = Surge::UNKNOWN;
    let (kept_m, usual_m) = (Surge { sd_m, ..usual }.margin_m(), usual.margin_m());
    vec![Doubt {
        key: format!("weather-calm:{sd_m:.3}"),
        sentence: format!(
            "The uncertainty of the surge was typed as {sd_m:.2} m: {kept_m:.2} m are kept for it, where {usual_m:.2} m are kept if nobody says. Even on a calm day the water stands some {CALM_SD_M:.1} m off its prediction (common practice, no published source)."
        ),
        weight: Weight::Caution,
        settle: vec!["Leave the uncertainty out (`scourline beach --surge-sd none`), or give that of a forecast.".to_owned()],
        spans: Vec::new(),
    }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Weather;
    use crate::earth::LonLat;

    #[test]
    fn a_surge_that_is_typed_surer_than_anybody_is_is_told() {
        let at = |sd_m: Option<f64>| {
            let weather = Weather { surge_sd_m: sd_m, ..Weather::default() };
            of_weather(&Beach { weather, ..Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap()) })
        };
        for calm in [0.0, 0.02, 0.09] {
            let told = at(Some(calm));
            assert!(told.len() == 1 && told[0].weight == Weight::Caution && told[0].sentence.contains("0.40 m"), "{told:?}");
        }
        assert!([None, Some(0.1), Some(0.2), Some(0.5)].into_iter().all(|sd| at(sd).is_empty()));
    }
}
