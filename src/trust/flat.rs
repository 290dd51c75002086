//! Sand that is no sand: a plane at the foot of a survey, and levels whose minus signs are lost.
//!
//! A height model in which the sea is set to one value, and a flight that measured the water instead of the sand, put a plane
//! where the beach goes on falling; levels without their signs turn back at nought. Metres of water can stand over either at the low
//! water at which it is planned on. What lies above high water may be as flat as it likes: berms, lawns and promenades are.

use super::offset::OffsetFacts;
use super::{Doubt, Weight};
use crate::book::Beach;

/// What of a survey is no sand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FlatSand {
    /// A good part of the levels is one figure, and none lies below.
    Cut {
        /// That figure, metres above land datum.
        level_m: f64,
        /// So wide it lies across on most of the length, metres.
        wide_m: f64,
    },
    /// The seaward end is level within noise, at one height.
    Level {
        /// That height, metres above land datum.
        level_m: f64,
        /// So wide it lies across on most of the length, metres.
        wide_m: f64,
    },
    /// The levels turn back at nought and rise seaward.
    Folded {
        /// By so much on most of the length, metres.
        rise_m: f64,
    },
}

/// A plane that stands no higher above the lowest tide, metres, is never planned on: waves alone take more.
const NEVER_DRY_M: f64 = 0.2;
/// One that stands nearer to mean high water than this part of the way from mean low water only asks: berms reach down so far.
const NEAR_HIGH_PART: f64 = 0.2;

impl FlatSand {
    /// Metres above land datum.
    fn level_m(&self) -> f64 {
        match self {
            Self::Cut { level_m, .. } | Self::Level { level_m, .. } => *level_m,
            Self::Folded { .. } => 0.0,
        }
    }

    /// How much hangs on it where it stands so far above the tide's datum; `None` where nothing does.
    fn weight(&self, facts: &OffsetFacts, stands_m: f64) -> Option<Weight> {
        let under = |m: Option<f64>| m.is_some_and(|m| stands_m < m);
        let is_dry = facts.springs_m.or(facts.mhw_m).is_some_and(|m| stands_m >= m);
        let is_never_dry = under(facts.lowest_m.map(|m| m + NEVER_DRY_M)) && !matches!(self, Self::Folded { .. });
        let near_high =
            facts.mhw_m.zip(facts.mlw_m).is_some_and(|(high_m, low_m)| stands_m >= high_m - NEAR_HIGH_PART * (high_m - low_m));
        let weight = if near_high { Weight::Question } else { Weight::Blocks };
        (!is_dry && !is_never_dry).then_some(weight)
    }

    fn key(&self) -> String {
        match self {
            Self::Cut { level_m, wide_m } => format!("levels-flat:{level_m:.2},{wide_m:.0}"),
            Self::Level { level_m, wide_m } => format!("levels-water:{level_m:.2},{wide_m:.0}"),
            Self::Folded { rise_m } => format!("levels-folded:{rise_m:.2}"),
        }
    }

    fn said(&self) -> String {
        match self {
            Self::Cut { level_m, wide_m } => format!(
                "At its seaward end, {wide_m:.0} m wide on most of the length, the sand is {level_m:+.2} m above land datum throughout, and lower nowhere: a height model was cut off there, or the sea in it set to one value. The true sand lies lower, and by how much the levels do not say."
            ),
            Self::Level { level_m, wide_m } => format!(
                "At its seaward end, {wide_m:.0} m wide on most of the length, the sand is level within centimetres at {level_m:+.2} m above land datum, at the foot of sand that falls: so looks the water when it was surveyed from the air instead of the sand. The true sand lies lower, and by how much the levels do not say."
            ),
            Self::Folded { rise_m } => format!(
                "On most of the length the levels fall to nought, rise from there by {rise_m:.1} m towards the sea, and none is negative: their minus signs are lost, and what rises lies under the water."
            ),
        }
    }

    fn settled(&self) -> Vec<String> {
        match self {
            Self::Folded { .. } => vec![
                "Take the levels out and import them again with their signs.".to_owned(),
                "If no level is below your land datum and a bar lies there, confirm it.".to_owned(),
            ],
            _ => vec![
                "Take the levels at that height and below out, and import some that were taken on foot at low water.".to_owned(),
                "If a flat of sand, rock or stone really lies there, and you walked on it, confirm it.".to_owned(),
            ],
        }
    }
}

/// What is to be said of sand that is no sand; an invented beach's is what it is.
pub fn of_flat(beach: &Beach, facts: &OffsetFacts, flat: &FlatSand) -> Option<Doubt> {
    let offset_m = beach.datum_offset_m.filter(|_| !beach.invented)?;
    Some(Doubt {
        weight: flat.weight(facts, flat.level_m() + offset_m)?,
        key: format!("{}:{offset_m:.3}@{}", flat.key(), facts.key),
        sentence: flat.said(),
        settle: flat.settled(),
        spans: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    /// A tide from 0.2 to 6.2 m, mean low 1.4, mean high 5.0, springs 5.6 m, as at Newlyn in round figures; the land datum
    /// 3 m above its datum.
    fn told(flat: FlatSand) -> Option<(String, Weight)> {
        let bare = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let beach = Beach { datum_offset_m: Some(3.0), ..bare };
        let facts = OffsetFacts {
            key: "station:a".into(),
            lowest_m: Some(0.2),
            mlw_m: Some(1.4),
            mhw_m: Some(5.0),
            springs_m: Some(5.6),
            ..OffsetFacts::default()
        };
        assert_eq!(of_flat(&Beach { invented: true, ..beach.clone() }, &facts, &flat), None);
        assert_eq!(of_flat(&Beach { datum_offset_m: None, ..beach.clone() }, &facts, &flat), None);
        of_flat(&beach, &facts, &flat).map(|d| (d.key, d.weight))
    }

    #[test]
    fn a_plane_between_the_tides_blocks_and_one_above_or_below_them_does_not() {
        for (level_m, weight) in
            [(0.0, Some(Weight::Blocks)), (-1.4, Some(Weight::Blocks)), (1.5, Some(Weight::Question)), (2.7, None), (-2.7, None)]
        {
            assert_eq!(told(FlatSand::Cut { level_m, wide_m: 80.0 }).map(|d| d.1), weight, "{level_m}");
            assert_eq!(told(FlatSand::Level { level_m, wide_m: 80.0 }).map(|d| d.1), weight, "{level_m}");
        }
        let cut = told(FlatSand::Cut { level_m: -0.4, wide_m: 80.0 }).unwrap();
        assert_eq!(cut.0, "levels-flat:-0.40,80:3.000@station:a");
        let folded = told(FlatSand::Folded { rise_m: 1.2 }).unwrap();
        assert_eq!(folded, ("levels-folded:1.20:3.000@station:a".to_owned(), Weight::Blocks));
    }

    #[test]
    fn where_the_tide_says_nothing_a_plane_blocks() {
        let bare = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let beach = Beach { datum_offset_m: Some(3.0), ..bare };
        let told = of_flat(&beach, &OffsetFacts::default(), &FlatSand::Level { level_m: -0.8, wide_m: 60.0 }).unwrap();
        assert!(told.weight == Weight::Blocks && told.sentence.contains("-0.80 m above land datum"), "{told:?}");
    }
}
