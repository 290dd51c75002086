//! A tide so small that the weather rules the water.

use super::{Doubt, Weight};
use crate::book::Beach;

/// Below this range at springs the wind and the air pressure move the water more than the tide does, metres (common
/// practice, no published source).
const SMALL_M: f64 = 0.5;
/// Keys of this doubt begin so.
pub const SMALL_TIDE: &str = "tide-small:";

/// What is to be said of a beach whose tide ranges so far at springs, metres, until a surge or an air pressure is given.
pub fn of_small_tide(beach: &Beach, springs_m: f64) -> Option<Doubt> {
    let is_told = beach.weather.surge_m.is_some() || beach.weather.pressure_hpa.is_some();
    (springs_m < SMALL_M && !is_told && !beach.invented).then(|| Doubt {
        spans: Vec::new(),
        key: format!("{SMALL_TIDE}{springs_m:.2}"),
        sentence: format!(
            "The tide ranges only {springs_m:.2} m here at springs: the water is the wind's and the air pressure's, and the low water predicted means little."
        ),
        weight: Weight::Question,
        settle: vec![
            "Give the level above the prediction, or the air pressure, that is forecast for the day (`scourline beach --surge` or `--pressure`, `scourline route --surge`)."
                .to_owned(),
        ],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Weather;
    use crate::earth::LonLat;

    #[test]
    fn a_tide_of_a_decimetre_asks_for_the_weather_and_one_of_a_metre_does_not() {
        let bare = Beach::new("Invented Bay", LonLat::new(12.5, 54.4).unwrap());
        let with = |weather: Weather| of_small_tide(&Beach { weather, ..bare.clone() }, 0.1);
        assert!(with(Weather::default()).is_some_and(|d| d.weight == Weight::Question && d.sentence.contains("0.10 m")));
        assert_eq!(with(Weather { surge_m: Some(0.0), ..Weather::default() }), None);
        assert_eq!(with(Weather { pressure_hpa: Some(990.0), ..Weather::default() }), None);
        assert_eq!(of_small_tide(&bare, 1.0), None);
    }
}
