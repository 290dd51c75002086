//! A beach whose point lies apart from its sand.
//!
//! The book of another beach that was copied and filled anew, or the position of a home, leaves the point of a beach far
//! from its baseline: station, clock, daylight and emergency number are then looked up for a place that nobody walks on.

use super::{Doubt, Weight};
use crate::book::Beach;
use crate::earth::{LonLat, distance_m, distance_words};

/// So far from its sand the point of a beach is of another place, metres (a judgement: beaches are shorter than twice that,
/// and the tide changes little over it).
pub const APART_M: f64 = 5_000.0;
/// Keys of this doubt begin so.
pub const APART: &str = "position:";

/// What is to be said of the point of a beach whose sand has its middle elsewhere; `of` names what that is the middle of:
/// "baseline".
pub fn of_point(beach: &Beach, middle: LonLat, of: &str) -> Option<Doubt> {
    let away_m = distance_m(beach.origin, middle);
    // The point at one end of a long beach is on it.
    let on_it = |at: &LonLat| distance_m(beach.origin, *at) <= APART_M;
    if away_m <= APART_M || beach.baseline.iter().any(on_it) {
        return None;
    }
    let told = |at: LonLat| format!("{:.4},{:.4}", at.lon_deg(), at.lat_deg());
    let (point, sand) = (told(beach.origin), told(middle));
    Some(Doubt {
        spans: Vec::new(),
        key: format!("{APART}{point}~{sand}"),
        sentence: format!(
            "The point given for this beach ({point}) lies {} from the middle of its {of} ({sand}): it is of another place, a home perhaps, or of the beach that this book was copied from. The tide station and the clock may have been chosen for it; daylight and the emergency number are looked up there.",
            distance_words(away_m)
        ),
        weight: Weight::Blocks,
        settle: vec![
            format!(
                "If the {of} is right, move the point there (`scourline beach --near={sand}`), and look at tide station and time zone again."
            ),
            format!("If the point is right, the {of} is of another beach: import that of this one."),
        ],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_in_another_town_blocks_and_one_at_the_end_of_a_long_beach_does_not() {
        let at = |lon: f64, lat: f64| LonLat::new(lon, lat).unwrap();
        let beach = Beach::new("Invented Bay", at(-3.83, 53.327));
        // A degree of latitude is 111.2 km (WGS 84, from memory): 0.044 of it 4.9 km, 0.046 of it 5.1 km.
        assert_eq!(of_point(&beach, at(-3.83, 53.371), "baseline"), None);
        let long = Beach { baseline: vec![at(-3.83, 53.33), at(-3.83, 53.46)], ..beach.clone() };
        assert_eq!(of_point(&long, at(-3.83, 53.395), "baseline"), None);
        let told = of_point(&beach, at(-3.83, 53.373), "baseline").unwrap();
        assert!(told.weight == Weight::Blocks && told.settle[0].contains("--near=-3.8300,53.3730"), "{told:?}");
    }
}
