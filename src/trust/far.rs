//! A tide station that stands in for a beach far from it.

use super::coast::{INLAND_M, inland_m};
use super::divided::of_divided;
use super::doubt::STATION;
use super::{Doubt, Found, SourceError, Weight};
use crate::book::Beach;
use crate::earth::{distance_m, distance_words};
use crate::tide::Station;

/// Beyond this the margin grows, metres (a judgement).
pub const FAR_M: f64 = 30_000.0;
/// Beyond this no route is planned unless the person says that the station serves, metres (a judgement).
pub const TOO_FAR_M: f64 = 100_000.0;
/// What is widened for a station so far away whose springs range so far, metres; nothing up to [`FAR_M`].
///
/// 0.17 of the range at 30 km, 0.26 at 100 km, between them along a line, and no more beyond: there it is the person's word
/// that the station serves. Measured on the stations that ship: of 4,298
/// pairs 30 to 100 km apart with no land between, twice the root mean square by which their predictions differ is 0.18 of
/// that range in the middle pair at 30 to 45 km and 0.26 at 80 to 100 km. In half of all places it is more.
pub fn widened_m(away_m: f64, springs_range_m: f64) -> f64 {
    if away_m <= FAR_M { 0.0 } else { springs_range_m * (0.17 + 0.09 * (away_m.min(TOO_FAR_M) - FAR_M) / (TOO_FAR_M - FAR_M)) }
}

/// What is to be said of a station of the catalogue that a beach takes its tide from. An invented beach is exempt.
pub fn of_station(beach: &Beach, station: &Station) -> Found {
    if beach.invented {
        let sentence = format!(
            "{} is an invented beach: the tide of {} is borrowed, and its distance is not held against it.",
            beach.name, station.name
        );
        let doubt =
            Doubt { key: "invented".to_owned(), sentence, weight: Weight::Caution, settle: Vec::new(), spans: Vec::new() };
        return Found { doubts: vec![doubt], ..Found::default() };
    }
    let away_m = distance_m(beach.origin, station.at);
    let remark = station.remark_said().map(|sentence| Doubt {
        key: format!("remark:{}", station.id),
        sentence,
        weight: Weight::Caution,
        settle: Vec::new(),
        spans: Vec::new(),
    });
    let (away, far_m) = (distance_words(away_m), widened_m(away_m, station.springs_range_m()));
    let mut found = Found { error: SourceError { far_m, ..SourceError::default() }, ..Found::default() };
    let mut tell = |kind: &str, weight: Weight, sentence: String| {
        let key = format!("{STATION}{kind}:{}@{:.0}km", station.id, away_m / 1000.0);
        let settle = vec!["Choose a station nearer by, or import a tide table or a gauge record of this place.".to_owned()];
        found.doubts.push(Doubt { key, sentence, weight, settle, spans: Vec::new() });
    };
    let wider = format!(
        "the margin is {far_m:.2} m wider for it (0.17 of the range at springs at 30 km, 0.26 at 100 km: what stations so far apart differ by in the middle case)"
    );
    if away_m > TOO_FAR_M {
        let sentence = format!("{} is {away} away, which says little about this beach; {wider}.", station.name);
        tell("far", Weight::Blocks, sentence);
    } else {
        let inland_m = inland_m(beach.origin, station.at);
        if inland_m >= INLAND_M {
            let sentence = format!(
                "Land lies between this beach and {}, {away} away: the straight way comes {:.0} km from any coast, so the tide comes round another way and can differ by hours (by a coastline of 1:50 million, coarse by some kilometres).",
                station.name,
                inland_m / 1000.0
            );
            tell("land", Weight::Blocks, sentence);
        }
        if away_m > FAR_M {
            let sentence = format!("{} is {away} away: times and heights can differ much; {wider}.", station.name);
            tell("away", Weight::Caution, sentence);
        }
    }
    if away_m <= FAR_M {
        found.doubts.extend(of_divided(beach, (station, away_m)));
    }
    found.doubts.extend(remark);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;
    use crate::tide::Catalogue;

    fn found(lon: f64, lat: f64, station: &str) -> Found {
        let beach = Beach::new("Invented Bay", LonLat::new(lon, lat).unwrap());
        of_station(&beach, Catalogue::shipped().get(station).unwrap())
    }

    #[test]
    fn a_station_near_by_says_nothing_one_beyond_thirty_kilometres_widens_and_beyond_a_hundred_blocks() {
        let newlyn = "ticon/newlyn-new-gbr-bodc";
        assert_eq!(found(-5.55, 50.08, newlyn), Found::default());
        // The Isles of Scilly, some 50 km over open sea.
        let away = found(-6.25, 49.95, newlyn);
        assert_eq!(away.doubts.iter().map(|d| d.weight).collect::<Vec<_>>(), [Weight::Caution], "{away:?}");
        // Newlyn: M2 1.70, S2 0.57, K1 0.06, O1 0.05 m (from memory), a range at springs of 4.8 m and 0.17 of it at 30 km.
        assert!((0.7..1.2).contains(&away.error.far_m) && away.doubts[0].sentence.contains("wider"), "{away:?}");
        let far = found(-12.0, 48.9, newlyn);
        assert!(far.doubts.len() == 1 && far.doubts[0].weight == Weight::Blocks && far.doubts[0].key.starts_with("station-far:"));
        assert!(far.error.far_m > away.error.far_m && far.doubts[0].is_of_distance());
    }

    #[test]
    fn what_the_publisher_says_of_a_station_is_told_as_a_caution() {
        let id = "ticon/maasmond_stroommeetpaal-maasmsmpl-nld-rws";
        let at = Catalogue::shipped().get(id).unwrap().at;
        let told = found(at.lon_deg(), at.lat_deg(), id);
        let remark = told.doubts.iter().find(|d| d.key.starts_with("remark:")).unwrap();
        assert!(remark.weight == Weight::Caution && remark.sentence.contains("Possible quality control issues"), "{told:?}");
    }

    #[test]
    fn land_between_blocks_however_near_and_an_invented_beach_is_exempt_and_says_so() {
        // Vero Beach on the Atlantic coast of Florida with a station on its Gulf coast, and one on its own coast.
        let gulf =
            Catalogue::shipped().stations().iter().find(|s| s.id.starts_with("noaa/") && s.name.contains("Naples")).unwrap();
        let beach = Beach::new("Invented Bay", LonLat::new(gulf.at.lon_deg() + 0.85, gulf.at.lat_deg()).unwrap());
        let found = of_station(&beach, gulf);
        assert!(found.doubts[0].key.starts_with("station-land:") && found.doubts[0].weight == Weight::Blocks, "{found:?}");
        let told = of_station(&Beach { invented: true, ..beach }, gulf);
        assert!(told.doubts[0].weight == Weight::Caution && told.doubts[0].sentence.contains("borrowed"));
        assert_eq!(told.error, SourceError::default());
    }
}
