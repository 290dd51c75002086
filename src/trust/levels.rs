//! The levels of the sand: whether they can be metres, and heights.
//!
//! Levels in feet taken for metres put the lower beach metres under water, and the back of the beach metres above where
//! any is; depths taken for heights turn the beach over, so that it rises into the sea. Either drowns people or bars all
//! ground, and each has one plain remedy, which is told by its name.

use super::offset::OffsetFacts;
use super::place::is_turned;
use super::{Doubt, Weight};
use crate::book::Beach;

/// Sand that rises seaward by more than this in all is turned over, metres, ...
const RISES_M: f64 = 0.5;
/// ... if that is so much of all that it spans.
const RISES_PART: f64 = 0.3;

/// What settles levels in feet. A heading that states metres is believed before the option is.
const IN_FEET: &str = "If they are in feet, take them out and import them again so: with `import --feet` under a heading that states no unit, such as \"level\", or under one that says feet, such as \"level (ft)\".";

/// What is to be said of the levels of a beach: nothing where its offset is not known.
pub fn of_levels(beach: &Beach, facts: &OffsetFacts) -> Vec<Doubt> {
    let (Some(offset_m), Some(sand)) = (beach.datum_offset_m, facts.sand) else { return Vec::new() };
    let mut doubts = Vec::new();
    let key = |kind: &str| format!("{kind}:{:.2},{:.2}:{offset_m:.3}@{}", sand.low_m, sand.high_m, facts.key);
    // The tide of the open sea says nothing of a beach whose position has a slip.
    let in_feet = facts.levels_in_feet(offset_m).is_some() || facts.front_in_feet(offset_m).is_some();
    // What an offset too many explains is told with the offset.
    let turned = in_feet && (is_turned(beach) || facts.counted_twice(offset_m).is_some());
    if let Some((low_m, high_m)) = facts.levels_in_feet(offset_m).filter(|_| !turned) {
        doubts.push(Doubt {
            key: key("levels-feet"),
            sentence: format!(
                "The levels of the sand reach from {:+.1} to {:+.1} m above land datum, from under the lowest tide to far above any beach; read as feet they reach from {low_m:+.1} to {high_m:+.1} m, which fits this tide.",
                sand.low_m, sand.high_m
            ),
            weight: Weight::Blocks,
            settle: vec![IN_FEET.to_owned()],
            spans: Vec::new(),
        });
    } else if let Some((as_is_m, in_feet_m)) = facts.front_in_feet(offset_m).filter(|_| !turned) {
        let side = |m: f64| if m < 0.0 { "below" } else { "above" };
        doubts.push(Doubt {
            key: key("levels-feet"),
            sentence: format!(
                "The sand seaward of the baseline stands up to {as_is_m:.1} m above high water of springs, where few beaches reach; read as feet its top lies {:.1} m {} it and it falls as a beach does.",
                in_feet_m.abs(),
                side(in_feet_m)
            ),
            weight: Weight::Blocks,
            settle: vec![IN_FEET.to_owned()],
            spans: Vec::new(),
        });
    }
    let parts = facts.levels_in_parts(offset_m);
    if let Some((unit_m, low_m, high_m)) = parts {
        let unit = if unit_m > 0.05 { "decimetres" } else { "centimetres" };
        doubts.push(Doubt {
            key: key("levels-unit"),
            sentence: format!(
                "The levels of the sand reach from {:+.1} to {:+.1} m above land datum, which no beach does; read as {unit} they reach from {low_m:+.2} to {high_m:+.2} m, which fits this tide.",
                sand.low_m, sand.high_m
            ),
            weight: Weight::Blocks,
            settle: vec![format!("If they are in {unit}, divide them by {:.0} and import them again.", 1.0 / unit_m)],
            spans: Vec::new(),
        });
    } else if let Some(deep_m) = facts.too_deep_m(offset_m) {
        doubts.push(Doubt {
            key: key("levels-deep"),
            sentence: format!(
                "The lowest sand lies {deep_m:.0} m under the lowest tide, deeper than any levels of a beach: they are in another unit, of another place, or depths.",
            ),
            weight: Weight::Blocks,
            settle: vec!["Look in which unit the levels are, and leave out what is not of the beach.".to_owned()],
            spans: Vec::new(),
        });
    }
    let span_m = sand.high_m - sand.low_m;
    if let Some(rise_m) = sand.fall_m.map(|m| -m).filter(|m| *m > RISES_M && *m > RISES_PART * span_m) {
        doubts.push(Doubt {
            key: key("levels-turned"),
            sentence: format!(
                "The levels of the sand rise by {rise_m:.1} m towards the sea: they are depths, counted downwards, or the sea lies on the other side of the baseline."
            ),
            weight: Weight::Blocks,
            settle: vec![
                "If they are depths, import them again with the other sign.".to_owned(),
                "If they are heights, tell that the sea lies on the other side of the baseline (under Beach in the window), or import the baseline drawn from its other end.".to_owned(),
            ],
            spans: Vec::new(),
        });
    }
    doubts
}

#[cfg(test)]
mod tests {
    use super::super::{SandFront, SandSpan};
    use super::*;
    use crate::book::TideChoice;
    use crate::earth::LonLat;
    use crate::tide::{Catalogue, Water};
    use crate::trust::of_offset;

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    /// Newlyn's tide on a beach whose sand is told to lie between these levels; ordnance datum stands 3.05 m above chart
    /// datum there (National Tidal and Sea Level Facility).
    fn told(low_m: f64, high_m: f64, fall_m: f64) -> Vec<(String, Weight)> {
        told_of(SandSpan { low_m, high_m, fall_m: Some(fall_m), front: None })
    }

    fn told_of(sand: SandSpan) -> Vec<(String, Weight)> {
        let bare = Beach::new("Invented Bay", LonLat::new(-5.55, 50.08).unwrap());
        let beach = Beach { tide: TideChoice::Station(NEWLYN.into()), datum_offset_m: Some(3.05), ..bare };
        let station = Catalogue::shipped().get(NEWLYN).unwrap();
        let water = Water::of_station(station, station.chart_datum.clone()).unwrap();
        let facts = OffsetFacts::of_water(&beach, &water, Some(sand));
        let all = of_offset(&beach, &facts).into_iter().chain(of_levels(&beach, &facts));
        all.map(|d| (d.key.split(':').next().unwrap().to_owned(), d.weight)).collect()
    }

    #[test]
    fn levels_in_feet_and_upside_down_block_by_their_name() {
        // A foot is 0.3048 m (international yard and pound agreement of 1959).
        let blocks = |kind: &str| vec![(kind.to_owned(), Weight::Blocks)];
        assert_eq!(told(-2.6, 5.0, 7.0), []);
        assert_eq!(told(-2.6 / 0.3048, 5.0 / 0.3048, 7.0 / 0.3048), blocks("levels-feet"));
        assert_eq!(told(-5.0, 2.6, -7.0).last(), blocks("levels-turned").last());
        // A lidar survey with the sea bed in it is deep and not high: asked about, as before.
        assert_eq!(told(-9.0, 6.0, 12.0), vec![("offset-deep".to_owned(), Weight::Question)]);
        // The same beach in centimetres and decimetres under a heading of metres, and one that is neither.
        assert!(told(-260.0, 500.0, 700.0).contains(&("levels-unit".to_owned(), Weight::Blocks)));
        assert!(told(-26.0, 50.0, 70.0).contains(&("levels-unit".to_owned(), Weight::Blocks)));
        assert!(told(-900.0, 40.0, 900.0).contains(&("levels-deep".to_owned(), Weight::Blocks)));
        // A bar at the foot of a flat beach rises by less than it is wide.
        assert_eq!(told(-1.0, 1.5, -0.3), []);
    }

    #[test]
    fn feet_are_known_by_the_top_of_the_sand_too_where_the_survey_does_not_reach_down() {
        let told = |top_m: f64, low_m: f64, high_m: f64, falls: f64| {
            told_of(SandSpan { low_m, high_m, fall_m: Some(top_m - low_m), front: Some(SandFront { top_m, falls }) })
        };
        let feet = vec![("levels-feet".to_owned(), Weight::Blocks)];
        // From 5 m down to 0.3 m above ordnance datum over 200 m, in metres and in feet.
        assert_eq!(told(5.0, 0.3, 5.0, 0.0235), []);
        assert_eq!(told(5.0 / 0.3048, 0.3 / 0.3048, 5.0 / 0.3048, 0.0235 / 0.3048), feet);
        // A cliff of 40 m behind the baseline is not of the beach before it.
        assert_eq!(told(5.0, 0.3, 40.0, 0.0235), []);
        // A cliff face is too steep to be a beach in feet, and a dune of 30 m is none in either.
        assert_eq!(told(16.0, 0.3, 16.0, 1.0), []);
        assert_eq!(told(30.0, 0.3, 30.0, 0.15), []);
    }
}
