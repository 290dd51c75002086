use crate::book::{Beach, TideChoice};
use crate::earth::{distance_m, distance_words};
use crate::tide::Catalogue;

/// Beyond this a station says nothing about a beach, metres.
const FAR_M: f64 = 1_000_000.0;
/// Within this a station's clock is the beach's, metres.
const SAME_CLOCK_M: f64 = 200_000.0;

/// Fills in what can be guessed of a new beach, its tide station and time zone, and says what was guessed.
///
/// The datum offset is never guessed: where the station ties a land datum to its tide levels, the
/// sentence names the figure, for the person to take or leave.
pub fn settle(beach: Beach) -> (Beach, Vec<String>) {
    let mut beach = beach;
    let mut said = Vec::new();
    let Some((station, away_m)) = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next() else {
        return (beach, said);
    };
    let away = distance_words(away_m);
    if beach.tide == TideChoice::None {
        if away_m > FAR_M {
            said.push(format!("No tide station lies within 1000 km ({} is {away} away); import a tide table.", station.name));
        } else {
            beach.tide = TideChoice::Station(station.id.clone());
            said.push(format!("The tide station is guessed: {}, the nearest, {away} away.", station.name));
        }
    }
    if beach.time_zone == "UTC" && away_m <= SAME_CLOCK_M {
        beach.time_zone.clone_from(&station.time_zone);
        said.push(format!("The time zone is guessed: {}, the station's.", station.time_zone));
    }
    if beach.datum_offset_m.is_none()
        && let TideChoice::Station(id) = &beach.tide
        && let Some(station) = Catalogue::shipped().get(id)
    {
        let ties: Vec<String> = station
            .land_datums()
            .filter_map(|land| Some(format!("{land} {:+.3} m", station.above_m(land, &station.chart_datum)?)))
            .collect();
        if !ties.is_empty() && distance_m(beach.origin, station.at) <= SAME_CLOCK_M {
            said.push(format!(
                "The datum offset is not set. The station ties these land datums to its {}: {}; set the one your levels count from.",
                station.chart_datum.words(),
                ties.join(", ")
            ));
        }
    }
    (beach, said)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;

    #[test]
    fn a_beach_beside_a_station_takes_its_tide_and_clock_but_no_offset() {
        let station = &Catalogue::shipped().stations()[0];
        let (beach, said) = settle(Beach::new("Invented Bay", station.at));
        assert_eq!(beach.tide, TideChoice::Station(station.id.clone()));
        assert_eq!(beach.time_zone, station.time_zone);
        assert_eq!(beach.datum_offset_m, None);
        assert!(said.len() >= 2, "{said:?}");
    }

    #[test]
    fn what_the_person_chose_stays() {
        let own = Beach {
            tide: TideChoice::Station("own".into()),
            time_zone: "Europe/Paris".into(),
            ..Beach::new("B", LonLat::new(0.0, 50.0).unwrap())
        };
        assert_eq!(settle(own.clone()).0, own);
    }
}
