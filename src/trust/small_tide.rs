//! A tide so small that the weather rules the water.

use super::{Doubt, Weight};
use crate::book::Beach;
use crate::tide::Water;

/// Below this range the wind and the air pressure move the water more than the tide does, metres (common practice, no
/// published source).
const SMALL_M: f64 = 0.5;
/// Keys of this doubt begin so.
pub const SMALL_TIDE: &str = "tide-small:";

/// How far a tide ranges, by its halves where they are known: a tide of one high water a day can be large where its
/// half-daily part is next to nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ranges {
    /// Of the half-daily part at springs, 2 (M2 + S2), and of the daily part when the moon stands farthest from the equator,
    /// 2 (K1 + O1), metres.
    halves_m: Option<(f64, f64)>,
    /// From the highest to the lowest water of the astronomical tide, or of a table, metres.
    in_all_m: Option<f64>,
}

impl Ranges {
    fn of(water: &Water) -> Self {
        let halves_m = water.predictor().map(|p| {
            let twice_m = |a: &str, b: &str| 2.0 * (p.amplitude_m(a) + p.amplitude_m(b));
            (twice_m("M2", "S2"), twice_m("K1", "O1"))
        });
        let levels = water.levels();
        Self { halves_m, in_all_m: levels.hat.zip(levels.lat).map(|(high, low)| high.m - low.m) }
    }

    /// The larger half. What lies between highest and lowest holds the seasons too, which no low water of a day is made by,
    /// so it counts only where the halves are not known.
    fn largest_m(&self) -> Option<f64> {
        self.halves_m.map(|(half_daily_m, daily_m)| half_daily_m.max(daily_m)).or(self.in_all_m)
    }

    fn said(&self) -> String {
        let in_all = self.in_all_m.map(|m| format!("{m:.2} m from its highest to its lowest water"));
        match (self.halves_m, in_all) {
            (Some((half_daily_m, daily_m)), in_all) => format!(
                "The tide is small here: its half-daily part ranges {half_daily_m:.2} m at springs, its daily part {daily_m:.2} m at most{}",
                in_all.map_or_else(String::new, |m| format!(", and all of it {m}"))
            ),
            (None, Some(in_all)) => format!("The tide is small here: {in_all}"),
            (None, None) => "The tide is small here".to_owned(),
        }
    }
}

/// What is to be said of a beach whose tide is so small, until a surge or an air pressure is given.
pub fn of_small_tide(beach: &Beach, water: &Water) -> Option<Doubt> {
    let is_told = beach.weather.surge_m.is_some() || beach.weather.pressure_hpa.is_some();
    if is_told || beach.invented {
        return None;
    }
    of_ranges(Ranges::of(water))
}

fn of_ranges(ranges: Ranges) -> Option<Doubt> {
    let largest_m = ranges.largest_m().filter(|m| *m < SMALL_M)?;
    Some(Doubt {
        spans: Vec::new(),
        key: format!("{SMALL_TIDE}{largest_m:.2}"),
        sentence: format!(
            "{}. The water is the wind's and the air pressure's as much as the tide's, and the low water predicted means little.",
            ranges.said()
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
    use crate::tide::{Catalogue, Station};

    fn asked_at(station: &Station, weather: Weather) -> Option<Doubt> {
        let beach = Beach { weather, ..Beach::new("Invented Bay", station.at) };
        of_small_tide(&beach, &Water::of_station(station, station.chart_datum.clone()).unwrap())
    }

    /// Amplitudes of the shipped catalogue, metres.
    fn halves_m(station: &Station) -> (f64, f64) {
        let of = |name: &str| station.constants.iter().filter(|c| &*c.name == name).map(|c| c.amplitude_m).sum::<f64>();
        (2.0 * (of("M2") + of("S2")), 2.0 * (of("K1") + of("O1")))
    }

    #[test]
    fn a_tide_of_a_decimetre_asks_for_the_weather_until_it_is_given() {
        let all = Catalogue::shipped().stations();
        let can_be_told = |s: &Station| Water::of_station(s, s.chart_datum.clone()).is_ok();
        let small = all.iter().find(|s| halves_m(s).0 < 0.2 && halves_m(s).1 < 0.2 && can_be_told(s)).unwrap();
        let told = asked_at(small, Weather::default()).unwrap();
        assert!(told.weight == Weight::Question && told.sentence.contains("half-daily part ranges 0."), "{told:?}");
        assert_eq!(asked_at(small, Weather { surge_m: Some(0.0), ..Weather::default() }), None);
        assert_eq!(asked_at(small, Weather { pressure_hpa: Some(990.0), ..Weather::default() }), None);
        assert_eq!(asked_at(Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap(), Weather::default()), None);
    }

    #[test]
    fn a_large_tide_of_one_high_water_a_day_is_not_called_small() {
        // The coasts of northern Vietnam and of the Gulf of Carpentaria have such tides (common practice).
        let all = Catalogue::shipped().stations();
        let daily: Vec<&Station> = all.iter().filter(|s| halves_m(s).0 < 0.5 && halves_m(s).1 > 1.5).collect();
        assert!(!daily.is_empty());
        for station in daily.into_iter().take(3) {
            assert_eq!(asked_at(station, Weather::default()), None, "{}", station.id);
        }
    }

    #[test]
    fn a_table_is_judged_by_its_highest_and_lowest_water() {
        let of = |in_all_m: f64| of_ranges(Ranges { halves_m: None, in_all_m: Some(in_all_m) });
        assert!(of(0.3).unwrap().sentence.contains("0.30 m from its highest to its lowest water"));
        assert_eq!(of(0.6), None);
        assert_eq!(of_ranges(Ranges { halves_m: None, in_all_m: None }), None);
    }
}
