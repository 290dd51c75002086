use std::collections::{BTreeMap, HashSet};
use std::io::Read as _;
use std::sync::{Arc, LazyLock};

use super::other_clock::{self, OtherClock};
use super::{Constant, Datum, DatumsFrom, Licence, Place, Publisher, Station, TideError};
use crate::earth::{LonLat, distance_m};

/// Tide stations that can be found by id, by place and by name.
#[derive(Debug, Default)]
pub struct Catalogue {
    stations: Vec<Station>,
    by_id: BTreeMap<String, usize>,
    /// By number, those that are not predicted by.
    left_out: BTreeMap<usize, OtherClock>,
}

static SHIPPED: LazyLock<Catalogue> = LazyLock::new(|| {
    let packed = include_bytes!("../../data/tides/catalogue.tsv.gz");
    let mut text = String::new();
    let read = flate2::read::GzDecoder::new(&packed[..]).read_to_string(&mut text);
    read.expect("the embedded catalogue is the gzip file that the tests unpacked");
    let all = Catalogue::from_tsv(&text).expect("the embedded catalogue is the one that the tests read");
    let others = other_clock::from_tsv(include_str!("../../data/tides/other-clock.tsv"));
    all.leaving_out(others.expect("the embedded list is the one that the tests read"))
});

impl Catalogue {
    /// The stations that ship with the program, decoded at first use (some tens of milliseconds).
    pub fn shipped() -> &'static Self {
        &SHIPPED
    }

    /// A catalogue of the given stations; of two with one id the later stays.
    pub fn new(stations: Vec<Station>) -> Self {
        let by_id = stations.iter().enumerate().map(|(i, station)| (station.id.clone(), i)).collect();
        Self { stations, by_id, left_out: BTreeMap::new() }
    }

    /// The same with these stations neither near anything nor found by name.
    fn leaving_out(mut self, others: Vec<OtherClock>) -> Self {
        self.left_out = others.into_iter().filter_map(|o| Some((*self.by_id.get(&o.id)?, o))).collect();
        self
    }

    /// Why a station must not be planned by, and what to do, in a sentence or two; `None` where nothing speaks against it.
    pub fn refused(&self, id: &str) -> Option<String> {
        let i = *self.by_id.get(id)?;
        Some(self.left_out.get(&i)?.said(self.stations.get(i)?))
    }

    /// The stations that may be planned by.
    fn kept(&self) -> impl Iterator<Item = &Station> {
        self.stations.iter().enumerate().filter(move |(i, _)| !self.left_out.contains_key(i)).map(|(_, station)| station)
    }

    /// Every station, ordered by id, those that are [`refused`](Self::refused) too.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// The station with this id, be it [`refused`](Self::refused) or not.
    pub fn get(&self, id: &str) -> Option<&Station> {
        self.by_id.get(id).and_then(|&i| self.stations.get(i))
    }

    /// The `n` stations nearest to a place with their geodesic distance in metres, nearest first; none that is
    /// [`refused`](Self::refused).
    pub fn nearest(&self, to: LonLat, n: usize) -> Vec<(&Station, f64)> {
        // The chord through a sphere orders almost as the geodesic does; the geodesic is then measured
        // for a few more than are asked for, since it differs from the chord's order by under 1 %.
        let target = unit(to);
        let mut by_chord: Vec<(f64, &Station)> = self
            .kept()
            .map(|station| {
                let p = unit(station.at);
                let chord2 = (0..3).map(|i| (p[i] - target[i]).powi(2)).sum::<f64>();
                (chord2, station)
            })
            .collect();
        by_chord.sort_by(|a, b| a.0.total_cmp(&b.0));
        let cut = match by_chord.get(n.saturating_sub(1)) {
            Some((chord2, _)) if n > 0 => chord2 * 1.03,
            _ if n == 0 => return Vec::new(),
            _ => f64::INFINITY,
        };
        let mut found: Vec<(&Station, f64)> = by_chord
            .into_iter()
            .take_while(|(chord2, _)| *chord2 <= cut)
            .map(|(_, station)| (station, distance_m(to, station.at)))
            .collect();
        found.sort_by(|a, b| a.1.total_cmp(&b.1).then_with(|| a.0.id.cmp(&b.0.id)));
        found.truncate(n);
        found
    }

    /// Stations whose name, place or id has every word of `text`, names that begin with it first; none that is
    /// [`refused`](Self::refused).
    pub fn search(&self, text: &str) -> Vec<&Station> {
        let words: Vec<String> = text.split_whitespace().map(plain).collect();
        if words.is_empty() {
            return Vec::new();
        }
        let mut found: Vec<(u8, &Station)> = self
            .kept()
            .filter_map(|station| {
                let name = plain(&station.name);
                let all = format!("{name} {} {}", plain(&station.place.to_string()), plain(&station.id));
                words.iter().all(|word| all.contains(word.as_str())).then(|| {
                    let rank = if name == words.join(" ") {
                        0
                    } else if name.starts_with(&words[0]) {
                        1
                    } else {
                        2 + u8::from(!name.contains(&words[0]))
                    };
                    (rank, station)
                })
            })
            .collect();
        found.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.name.cmp(&b.1.name)).then_with(|| a.1.id.cmp(&b.1.id)));
        found.into_iter().map(|(_, station)| station).collect()
    }

    /// Reads the shipped form: a heading line, then one station a line, tab separated. The README beside
    /// the file says what each column holds.
    ///
    /// # Errors
    /// [`TideError::Catalogue`] with the line that cannot be read.
    pub fn from_tsv(text: &str) -> Result<Self, TideError> {
        let mut names = HashSet::new();
        let stations: Result<Vec<Station>, TideError> = text
            .lines()
            .enumerate()
            .skip(1)
            .map(|(i, line)| station(line, &mut names).map_err(|what| TideError::Catalogue { line: i + 1, what }))
            .collect();
        Ok(Self::new(stations?))
    }
}

/// Position on the unit sphere.
fn unit(p: LonLat) -> [f64; 3] {
    let (lon, lat) = (p.lon_deg().to_radians(), p.lat_deg().to_radians());
    [lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin()]
}

/// Lower case with the accents of western European names taken off, for searching.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'à'..='å' => out.push('a'),
            'æ' => out.push_str("ae"),
            'ç' => out.push('c'),
            'è'..='ë' => out.push('e'),
            'ì'..='ï' => out.push('i'),
            'ñ' => out.push('n'),
            'ò'..='ö' | 'ø' => out.push('o'),
            'ù'..='ü' => out.push('u'),
            'ý' | 'ÿ' => out.push('y'),
            'ß' => out.push_str("ss"),
            other => out.push(other),
        }
    }
    out
}

fn station(line: &str, names: &mut HashSet<Arc<str>>) -> Result<Station, String> {
    let fields: Vec<&str> = line.split('\t').collect();
    let [id, name, locality, region, country, lon, lat, zone, licence, chart_datum, datums, from, epoch, remark, constants] =
        fields[..]
    else {
        return Err(format!("15 columns are wanted, {} found", fields.len()));
    };
    let number = |text: &str| text.parse::<f64>().map_err(|_| format!("\"{text}\" is not a number"));
    let publisher = match id.split('/').next() {
        Some("noaa") => Publisher::Noaa,
        Some("ticon") => Publisher::Ticon,
        Some("kartverket") => Publisher::Kartverket,
        _ => return Err(format!("unknown publisher in \"{id}\"")),
    };
    Ok(Station {
        id: id.to_owned(),
        name: name.to_owned(),
        place: Place { locality: locality.to_owned(), region: region.to_owned(), country: country.to_owned() },
        at: LonLat::new(number(lon)?, number(lat)?).map_err(|e| e.to_string())?,
        time_zone: zone.to_owned(),
        publisher,
        licence: match licence {
            "public-domain" => Licence::PublicDomain,
            "cc-by-4.0" => Licence::CcBy4,
            other => return Err(format!("unknown licence \"{other}\"")),
        },
        chart_datum: Datum::from(chart_datum),
        datums: datums
            .split_whitespace()
            .map(|pair| {
                let (name, mm) = pair.split_once('=').ok_or_else(|| format!("\"{pair}\" is not name=value"))?;
                Ok((Datum::from(name), number(mm)? / 1000.0))
            })
            .collect::<Result<_, String>>()?,
        datums_from: match from {
            "published" => DatumsFrom::Published,
            "observed" => DatumsFrom::Observed,
            "harmonic" => DatumsFrom::Constituents,
            other => return Err(format!("unknown origin of datums \"{other}\"")),
        },
        epoch: epoch.to_owned(),
        remark: remark.to_owned(),
        constants: constants.split_whitespace().map(|pair| constant(pair, names)).collect::<Result<_, String>>()?,
    })
}

/// `M2=171162,13371`: hundredths of a millimetre and of a degree.
fn constant(pair: &str, names: &mut HashSet<Arc<str>>) -> Result<Constant, String> {
    let wrong = || format!("\"{pair}\" is not name=amplitude,phase");
    let (name, values) = pair.split_once('=').ok_or_else(wrong)?;
    let (amplitude, phase) = values.split_once(',').ok_or_else(wrong)?;
    let name = match names.get(name) {
        Some(known) => known.clone(),
        None => {
            let new: Arc<str> = Arc::from(name);
            names.insert(new.clone());
            new
        }
    };
    let number = |text: &str| text.parse::<u32>().map_err(|_| wrong());
    Ok(Constant { name, amplitude_m: f64::from(number(amplitude)?) / 1e5, phase_deg: f64::from(number(phase)?) / 100.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ships_every_station_with_its_licence() {
        let all = Catalogue::shipped();
        assert_eq!(all.stations().len(), 3602);
        assert_eq!(all.stations().iter().filter(|s| s.publisher == Publisher::Noaa).count(), 1246);
        assert_eq!(all.stations().iter().filter(|s| s.publisher == Publisher::Ticon).count(), 2323);
        assert_eq!(all.stations().iter().filter(|s| s.publisher == Publisher::Kartverket).count(), 33);
        for station in all.stations() {
            assert_eq!(station.licence == Licence::PublicDomain, station.publisher == Publisher::Noaa, "{}", station.id);
            assert!(jiff::tz::TimeZone::get(&station.time_zone).is_ok(), "{} {}", station.id, station.time_zone);
        }
    }

    #[test]
    fn nearest_agrees_with_measuring_them_all() {
        let all = Catalogue::shipped();
        for (lon, lat) in [(-5.5, 50.1), (-122.3, 47.6), (179.9, -17.0), (-179.9, 51.9), (18.9, 69.6), (0.0, 90.0), (0.0, -90.0)]
        {
            let to = LonLat::new(lon, lat).unwrap();
            let mut brute: Vec<(&str, f64)> = all.kept().map(|s| (s.id.as_str(), distance_m(to, s.at))).collect();
            brute.sort_by(|a, b| a.1.total_cmp(&b.1).then_with(|| a.0.cmp(b.0)));
            let found: Vec<(&str, f64)> = all.nearest(to, 5).into_iter().map(|(s, d)| (s.id.as_str(), d)).collect();
            assert_eq!(found, brute[..5], "{to}");
        }
        assert!(all.nearest(LonLat::new(0.0, 0.0).unwrap(), 0).is_empty());
        assert_eq!(Catalogue::default().nearest(LonLat::new(0.0, 0.0).unwrap(), 3).len(), 0);
    }

    #[test]
    fn a_station_of_another_clock_is_neither_near_nor_found_by_its_name_and_still_known_by_its_id() {
        let all = Catalogue::shipped();
        let other = all.get("ticon/coyote_creek_tam_valley-coy-usa-cm").unwrap();
        assert!(all.refused(&other.id).is_some_and(|said| said.contains("8 hours early")));
        assert!(all.nearest(other.at, 20).iter().all(|(s, _)| all.refused(&s.id).is_none()));
        assert!(!all.search("coyote creek tam").iter().any(|s| s.id == other.id));
        assert_eq!(all.refused("ticon/newlyn-new-gbr-bodc"), None);
        assert_eq!(all.refused("no such station"), None);
    }

    #[test]
    fn finds_by_words_in_any_order_and_without_accents() {
        let all = Catalogue::shipped();
        assert_eq!(all.search("newlyn")[0].id, "ticon/newlyn-new-gbr-bodc");
        assert!(all.search("united kingdom southampton").iter().any(|s| s.id == "ticon/southampton-sou-gbr-da_idh"));
        assert_eq!(all.search("alesund")[0].id, "kartverket/AES");
        assert!(all.search("  ").is_empty());
    }

    #[test]
    fn says_which_line_is_damaged() {
        let heading = "heading\n";
        for (line, part) in [
            ("noaa/1\tA", "15 columns"),
            ("x/1\tA\t\t\t\t0\t0\tUTC\tpublic-domain\tMSL\t\tpublished\t\t\tM2=1,1", "unknown publisher"),
            ("noaa/1\tA\t\t\t\t0\t95\tUTC\tpublic-domain\tMSL\t\tpublished\t\t\tM2=1,1", "latitude"),
            ("noaa/1\tA\t\t\t\t0\t0\tUTC\tpublic-domain\tMSL\t\tpublished\t\t\tM2=1", "name=amplitude,phase"),
            ("noaa/1\tA\t\t\t\t0\t0\tUTC\tpublic-domain\tMSL\tLAT\tpublished\t\t\tM2=1,1", "name=value"),
        ] {
            let said = Catalogue::from_tsv(&format!("{heading}{line}\n")).unwrap_err().to_string();
            assert!(said.contains("line 2") && said.contains(part), "{said}");
        }
    }
}
