use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Convention;
use crate::earth::{LonLat, distance_words};

/// A surface that levels are counted from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum Datum {
    /// Highest astronomical tide.
    Hat,
    /// Mean high water springs.
    Mhws,
    /// Mean higher high water.
    Mhhw,
    /// Mean high water.
    Mhw,
    /// Mean high water neaps.
    Mhwn,
    /// Mean sea level.
    Msl,
    /// Mean tide level, half-way between mean high and mean low water.
    Mtl,
    /// Mean low water neaps.
    Mlwn,
    /// Mean low water.
    Mlw,
    /// Mean lower low water, chart datum of the United States.
    Mllw,
    /// Mean low water springs.
    Mlws,
    /// Lowest astronomical tide, chart datum of most countries.
    Lat,
    /// A chart datum that the publisher gives no other name.
    ChartDatum,
    /// Any other surface, by its code: `NAVD88`, `NN2000`, `STND` (the gauge's own zero) and so on.
    Other(String),
}

impl Datum {
    /// The code as hydrographic offices write it, such as `LAT`.
    pub fn code(&self) -> &str {
        match self {
            Self::Hat => "HAT",
            Self::Mhws => "MHWS",
            Self::Mhhw => "MHHW",
            Self::Mhw => "MHW",
            Self::Mhwn => "MHWN",
            Self::Msl => "MSL",
            Self::Mtl => "MTL",
            Self::Mlwn => "MLWN",
            Self::Mlw => "MLW",
            Self::Mllw => "MLLW",
            Self::Mlws => "MLWS",
            Self::Lat => "LAT",
            Self::ChartDatum => "CD",
            Self::Other(code) => code,
        }
    }

    /// The name in words.
    pub fn words(&self) -> &str {
        match self {
            Self::Hat => "highest astronomical tide",
            Self::Mhws => "mean high water springs",
            Self::Mhhw => "mean higher high water",
            Self::Mhw => "mean high water",
            Self::Mhwn => "mean high water neaps",
            Self::Msl => "mean sea level",
            Self::Mtl => "mean tide level",
            Self::Mlwn => "mean low water neaps",
            Self::Mlw => "mean low water",
            Self::Mllw => "mean lower low water",
            Self::Mlws => "mean low water springs",
            Self::Lat => "lowest astronomical tide",
            Self::ChartDatum => "chart datum",
            Self::Other(code) => match code.as_str() {
                "STND" => "the gauge's own zero",
                "LLWLT" => "lower low water, large tide",
                "NLLW" => "nearly lowest low water",
                "TLT" => "theoretical lowest tide",
                other => other,
            },
        }
    }

    /// Whether this is a surface that land heights are counted from, not one of the tide.
    pub fn is_of_the_land(&self) -> bool {
        matches!(self, Self::Other(code) if !matches!(code.as_str(), "STND" | "LLWLT" | "NLLW" | "TLT" | "DTL"))
    }
}

impl From<&str> for Datum {
    fn from(code: &str) -> Self {
        match code {
            "HAT" => Self::Hat,
            "MHWS" => Self::Mhws,
            "MHHW" => Self::Mhhw,
            "MHW" => Self::Mhw,
            "MHWN" => Self::Mhwn,
            "MSL" => Self::Msl,
            "MTL" => Self::Mtl,
            "MLWN" => Self::Mlwn,
            "MLW" => Self::Mlw,
            "MLLW" => Self::Mllw,
            "MLWS" => Self::Mlws,
            "LAT" => Self::Lat,
            "CD" => Self::ChartDatum,
            other => Self::Other(other.to_owned()),
        }
    }
}

impl From<String> for Datum {
    fn from(code: String) -> Self {
        Self::from(code.as_str())
    }
}

impl From<Datum> for String {
    fn from(datum: Datum) -> Self {
        datum.code().to_owned()
    }
}

impl fmt::Display for Datum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// Where a station is, in words. Any part may be empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Place {
    /// Nearest town.
    pub locality: String,
    /// County, state or province.
    pub region: String,
    /// Country.
    pub country: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts: Vec<&str> =
            [&*self.locality, &*self.region, &*self.country].into_iter().filter(|part| !part.is_empty()).collect();
        f.write_str(&parts.join(", "))
    }
}

/// Who published a station's constituents; it decides what a constituent's name means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Publisher {
    /// US National Oceanic and Atmospheric Administration.
    Noaa,
    /// TICON-4, constants fitted to the GESLA-4 gauge records.
    Ticon,
    /// The Norwegian Mapping Authority.
    Kartverket,
    /// The person's own constants, or an analysis made here.
    Own,
}

impl Publisher {
    /// The publisher's name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Noaa => "NOAA CO-OPS",
            Self::Ticon => "TICON-4 (GESLA-4 gauge records)",
            Self::Kartverket => "Kartverket, Hydrographic Service",
            Self::Own => "own constants",
        }
    }

    /// Which meaning constituent names have in this publisher's lists.
    pub fn convention(self) -> Convention {
        match self {
            Self::Noaa => Convention::Noaa,
            Self::Ticon => Convention::Ticon,
            Self::Kartverket => Convention::Kartverket,
            Self::Own => Convention::Iho,
        }
    }
}

/// The terms a station may be used under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Licence {
    /// Public domain.
    PublicDomain,
    /// Creative Commons Attribution 4.0.
    CcBy4,
    /// The person's own data.
    Own,
}

impl Licence {
    /// The licence as one writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::PublicDomain => "public domain",
            Self::CcBy4 => "CC BY 4.0",
            Self::Own => "own data",
        }
    }
}

/// How a station's levels came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DatumsFrom {
    /// Published by the hydrographic office itself.
    Published,
    /// Reduced from the gauge record by the compilers of the station database; the astronomical ones
    /// (HAT, LAT, springs) from the station's constituents.
    Observed,
    /// Derived from the station's constituents alone, the record being too short.
    Constituents,
}

/// One harmonic constituent's constants at a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Constant {
    /// The constituent's name, as the publisher writes it.
    pub name: Arc<str>,
    /// Amplitude H, metres.
    pub amplitude_m: f64,
    /// Greenwich phase lag g, degrees.
    pub phase_deg: f64,
}

/// A tide station with its own harmonic constituents.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Stable id, `publisher/...`.
    pub id: String,
    /// Name of the gauge.
    pub name: String,
    /// Where it is, in words.
    pub place: Place,
    /// Position of the gauge.
    pub at: LonLat,
    /// IANA time zone of the place.
    pub time_zone: String,
    /// Who published it.
    pub publisher: Publisher,
    /// Terms of use.
    pub licence: Licence,
    /// The surface that its country's charts and tide tables count from.
    pub chart_datum: Datum,
    /// Published levels, metres above the gauge's own zero.
    pub datums: Vec<(Datum, f64)>,
    /// How those levels came about.
    pub datums_from: DatumsFrom,
    /// First and last day of the observations behind the datums, as `yyyy-mm-dd/yyyy-mm-dd`, or empty.
    pub epoch: String,
    /// What the publisher says about the data's quality, or empty.
    pub remark: String,
    /// The constituents.
    pub constants: Vec<Constant>,
}

impl Station {
    /// Height of a published level above the gauge's own zero, metres.
    pub fn datum_m(&self, datum: &Datum) -> Option<f64> {
        self.datums.iter().find(|(known, _)| known == datum).map(|(_, m)| *m)
    }

    /// Height of `level` above `datum`, metres, where the station states both.
    ///
    /// With a land datum this is the offset that turns land heights into tide levels:
    /// `station.above_m(&Datum::Other("NAVD88".into()), &station.chart_datum)`.
    pub fn above_m(&self, level: &Datum, datum: &Datum) -> Option<f64> {
        Some(self.datum_m(level)? - self.datum_m(datum)?)
    }

    /// Mean sea level above `datum`, metres: the Z0 of a prediction.
    pub fn mean_level_m(&self, datum: &Datum) -> Option<f64> {
        if *datum == Datum::Msl { Some(0.0) } else { self.above_m(&Datum::Msl, datum) }
    }

    /// Land datums that the station ties to its tide levels.
    pub fn land_datums(&self) -> impl Iterator<Item = &Datum> {
        self.datums.iter().map(|(datum, _)| datum).filter(|datum| datum.is_of_the_land())
    }

    /// Twice the sum of the four main amplitudes: the range at springs, of a daily tide at its fullest, metres.
    pub fn springs_range_m(&self) -> f64 {
        let main = |c: &&Constant| matches!(&*c.name, "M2" | "S2" | "K1" | "O1");
        2.0 * self.constants.iter().filter(main).map(|c| c.amplitude_m).sum::<f64>()
    }

    /// What the publisher says about the data's quality, as a sentence; `None` where nothing is said.
    pub fn remark_said(&self) -> Option<String> {
        let remark = self.remark.trim().trim_end_matches('.');
        (!remark.is_empty()).then(|| format!("Of {} its publisher says: {remark}.", self.name))
    }

    /// A web page about the station's source.
    pub fn url(&self) -> String {
        let own = self.id.rsplit('/').next().unwrap_or_default();
        match self.publisher {
            Publisher::Noaa => format!("https://tidesandcurrents.noaa.gov/stationhome.html?id={own}"),
            Publisher::Ticon => "https://www.seanoe.org/data/00980/109129/".to_owned(),
            Publisher::Kartverket => "https://www.kartverket.no/en/api-and-data/tides-and-water-level-data".to_owned(),
            Publisher::Own => String::new(),
        }
    }

    /// What to say when a station this far away stands in for a beach; `None` when it is next to it.
    ///
    /// The distances are common practice, no published source.
    pub fn distance_caution(&self, distance_m: f64) -> Option<String> {
        let km = distance_m / 1000.0;
        if km < 5.0 {
            return None;
        }
        let how = if km < 25.0 {
            "times and heights can differ by minutes and decimetres, more across a headland or up an estuary"
        } else if km < 100.0 {
            "times and heights can differ much, above all across a headland, in a bay or up an estuary; compare with a \
             local tide table before you rely on it"
        } else {
            "it says little about this beach; use a local tide table"
        };
        Some(format!("{} is {} away: {how}.", self.name, distance_words(distance_m)))
    }
}
