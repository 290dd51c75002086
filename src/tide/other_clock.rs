//! Stations whose constants are of another clock than UTC.
//!
//! Some agencies gave records on local standard time that were analysed as if they were of UTC: the tide then comes hours
//! early. `data/tides/other-clock.tsv` lists them with what their neighbours say; `other-clock.py` beside it says how they
//! were found. They are left out and not put right, as not every one of them has a neighbour that tells its clock.

use super::Station;

/// What is known of the clock of a station that is not predicted by.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OtherClock {
    /// The station.
    pub(super) id: String,
    /// Its constants are of a clock so far ahead of UTC, hours.
    pub(super) hours: f64,
    /// What says so: its own neighbours, or those of the other stations of its agency.
    by: By,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum By {
    Neighbours,
    Agency,
}

impl OtherClock {
    /// Why the station is not predicted by, one sentence, and what to do.
    pub(super) fn said(&self, station: &Station) -> String {
        let whose = match self.by {
            By::Neighbours => "its neighbours",
            By::Agency => "the neighbours of its agency's other stations",
        };
        format!(
            "{} keeps another clock: by {whose} its constants are of local standard time (UTC{:+.0} h) and would bring the tide {:.0} hours {}. Choose another station (`scourline tides --near LON,LAT` names the nearest), or import a tide table.",
            station.name,
            self.hours,
            self.hours.abs(),
            if self.hours < 0.0 { "early" } else { "late" }
        )
    }
}

/// Reads the shipped list: a heading line, then one station a line, tab separated.
///
/// # Errors
/// The number of the line that cannot be read, with what is wrong.
pub(super) fn from_tsv(text: &str) -> Result<Vec<OtherClock>, (usize, String)> {
    let one = |line: &str| {
        let fields: Vec<&str> = line.split('\t').collect();
        let [id, hours, by, _, _, _, beside] = fields[..] else {
            return Err(format!("7 columns are wanted, {} found", fields.len()));
        };
        let by = match by {
            "neighbours" => By::Neighbours,
            "agency" => By::Agency,
            other => return Err(format!("unknown witness \"{other}\"")),
        };
        if beside.is_empty() {
            return Err("no station is named that it was held against".to_owned());
        }
        let hours = hours.parse::<f64>().map_err(|_| format!("\"{hours}\" is not a number"))?;
        Ok(OtherClock { id: id.to_owned(), hours, by })
    };
    let lines = text.lines().enumerate().skip(1);
    lines.map(|(i, line)| one(line).map_err(|what| (i + 1, what))).collect()
}

#[cfg(test)]
mod tests {
    use super::super::Catalogue;
    use super::*;
    use jiff::Timestamp;

    /// Speeds in degrees an hour (IHO list of harmonic constituents).
    const MAIN: [(&str, f64); 5] = [("M2", 28.984_104), ("S2", 30.0), ("N2", 28.439_73), ("K1", 15.041_069), ("O1", 13.943_036)];
    const NEAR_KM: f64 = 30.0;
    const TIDE_M: f64 = 0.3;

    /// A station as it is held against others.
    struct Known {
        station: &'static Station,
        /// Amplitude in metres and phase in radians of each of [`MAIN`].
        main: [(f64, f64); 5],
        range_m: f64,
        on_sphere: [f64; 3],
        hours: f64,
    }

    fn known(station: &'static Station) -> Known {
        let main = MAIN.map(|(name, _)| {
            let of = station.constants.iter().find(|c| *c.name == *name);
            of.map_or((0.0, 0.0), |c| (c.amplitude_m, c.phase_deg.to_radians()))
        });
        let (lon, lat) = (station.at.lon_deg().to_radians(), station.at.lat_deg().to_radians());
        let zone = jiff::tz::TimeZone::get(&station.time_zone).unwrap();
        let hours = ["2020-01-15T00:00:00Z", "2020-07-15T00:00:00Z"].map(|t| {
            let t: Timestamp = t.parse().unwrap();
            f64::from(zone.to_offset(t).seconds()) / 3600.0
        });
        Known {
            station,
            main,
            range_m: 2.0 * (main[0].0 + main[1].0 + main[3].0 + main[4].0),
            on_sphere: [lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin()],
            hours: hours[0].min(hours[1]),
        }
    }

    /// How far two stations part, moved by so many hours: 0 for the same tide at the same time, 2 for one upside down.
    fn part(a: &Known, b: &Known, moved_h: f64) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (n, (_, speed)) in MAIN.iter().enumerate() {
            let weight = a.main[n].0.min(b.main[n].0);
            sum += weight * (1.0 - (a.main[n].1 - b.main[n].1 - (speed * moved_h).to_radians()).cos());
            weights += weight;
        }
        sum / weights
    }

    /// How many of the neighbours a station goes with when moved by its place's offset alone, and with how many as it stands.
    fn told(own: &Known, all: &[Known]) -> (usize, usize) {
        let km = |other: &Known| {
            let chord2 = (0..3).map(|i| (own.on_sphere[i] - other.on_sphere[i]).powi(2)).sum::<f64>();
            6371.0 * chord2.sqrt()
        };
        let mut near: Vec<(f64, &Known)> =
            all.iter().filter(|o| o.station.id != own.station.id).map(|o| (km(o), o)).filter(|(km, _)| *km <= NEAR_KM).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        near.truncate(8);
        let (mut moved, mut stands) = (0, 0);
        for (_, other) in near {
            let as_it_is = part(own, other, 0.0);
            // Up a river the tide comes late and small: who is early and small is not explained by the way in.
            let (inner, outer) = if own.hours < 0.0 { (own, other) } else { (other, own) };
            let explained = inner.range_m > 1.15 * outer.range_m;
            if as_it_is > 0.3 && part(own, other, own.hours) < 0.05 && !explained {
                moved += 1;
            } else if as_it_is < 0.1 {
                stands += 1;
            }
        }
        (moved, stands)
    }

    #[test]
    fn no_station_that_is_predicted_by_goes_with_its_neighbours_only_when_moved_to_its_local_standard_time() {
        let all = Catalogue::shipped();
        let is_left_out = |s: &Station| all.refused(&s.id).is_some();
        let stations: Vec<Known> = all.stations().iter().map(known).collect();
        let (left_out, kept): (Vec<Known>, Vec<Known>) = stations.into_iter().partition(|k| is_left_out(k.station));
        let kept: Vec<Known> = kept.into_iter().filter(|k| k.range_m >= TIDE_M).collect();
        // Offsets of an hour are not looked for: rivers delay the tide by as much.
        let wrong: Vec<&str> = kept
            .iter()
            .filter(|k| k.hours.abs() >= 2.0 && matches!(told(k, &kept), (3.., 0)))
            .map(|k| k.station.id.as_str())
            .collect();
        assert_eq!(wrong, Vec::<&str>::new());
        // None that is left out goes with a neighbour as it stands, and most go with several when moved.
        let said: Vec<(usize, usize)> = left_out.iter().map(|k| told(k, &kept)).collect();
        assert!(said.iter().all(|(_, stands)| *stands == 0), "{said:?}");
        let (of, moved) = (said.len(), said.iter().filter(|(moved, _)| *moved > 0).count());
        println!("{of} stations left out, {moved} by their own neighbours");
        assert!(of == 54 && moved >= 38, "{moved} of {of}");
    }

    #[test]
    fn biscayne_bay_comes_five_hours_early_as_it_stands() {
        let of = |id: &str| known(Catalogue::shipped().get(id).unwrap());
        // Two gauges 0.6 km apart, of two agencies.
        let (own, other) = (of("ticon/biscaynebay_s123_t-s123-usa-sfwmd"), of("noaa/8723289"));
        assert!(part(&own, &other, 0.0) > 1.5 && part(&own, &other, -5.0) < 0.01);
        let said = Catalogue::shipped().refused(&own.station.id).unwrap();
        assert!(said.contains("keeps another clock") && said.contains("5 hours early"), "{said}");
        // Two of the agency whose other ten are left out are right.
        for id in ["ticon/morro_bay_coast_guard_pier-mor-usa-cm", "ticon/los_osos_creek_bridge-los-usa-cm"] {
            assert_eq!(Catalogue::shipped().refused(id), None);
            assert!(part(&of(id), &of("ticon/port_san_luis_ca-565a-usa-uhslc_rq"), 0.0) < 0.1, "{id}");
        }
    }

    #[test]
    fn every_line_of_the_list_is_of_a_station_that_ships_and_a_damaged_one_is_named() {
        for other in from_tsv(include_str!("../../data/tides/other-clock.tsv")).unwrap() {
            assert!(Catalogue::shipped().refused(&other.id).is_some(), "{}", other.id);
        }
        for (line, part) in [
            ("a\t-5", "7 columns"),
            ("a\tx\tagency\t0\t0\t0\tb", "not a number"),
            ("a\t1\tb\t0\t0\t0\tb", "witness"),
            ("a\t1\tagency\t0\t0\t0\t", "held against"),
        ] {
            let (n, what) = from_tsv(&format!("heading\n{line}\n")).unwrap_err();
            assert!(n == 2 && what.contains(part), "{n} {what}");
        }
    }
}
