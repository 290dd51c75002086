use serde::{Deserialize, Serialize};

use super::words::words;
use super::{
    BookError, Confirmation, FreeHours, ReadingSettings, SearchSettings, SecondaryChoice, StandardPort, Uid, check_range,
};
use crate::earth::LonLat;

words! {
    /// On which hand the sea lies when one walks the baseline from its first point to its last.
    Seaward, "side" {
        /// The sea is on the left.
        Left = "left", "sea on the left";
        /// The sea is on the right.
        Right = "right", "sea on the right";
    }
}

/// Where the beach's water level comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(rename_all = "snake_case")]
pub enum TideChoice {
    /// Nothing chosen yet: the beach has no water level.
    #[default]
    None,
    /// A station of the shipped catalogue, by its id.
    Station(String),
    /// A tide table of the person's own, held in the book.
    Table(Uid),
    /// Constants found in a gauge record that the book holds.
    Gauge(Uid),
    /// A port with the differences that tide tables print for it.
    Secondary(SecondaryChoice),
}

impl TideChoice {
    /// What an offset was given for, as text that two choices share only where they are the same water on the same zero.
    pub fn key(&self) -> String {
        match self {
            Self::None => "none".to_owned(),
            Self::Station(id) => format!("station:{id}"),
            Self::Table(uid) => format!("table:{uid}"),
            Self::Gauge(uid) => format!("gauge:{uid}"),
            Self::Secondary(port) => {
                let on = match &port.standard {
                    StandardPort::Station(id) => format!("station:{id}"),
                    StandardPort::Table(uid) => format!("table:{uid}"),
                };
                let levels = port.standard_levels_m.map_or_else(String::new, |l| format!(":{l:?}"));
                format!("port:{}@{on}:{}{levels}", port.name, port.differences)
            }
        }
    }
}

/// What weather and waves add to the tide, as far as it is known: an allowance that stays until it is changed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Weather {
    /// Observed or forecast level above the predicted one, metres; the effect of air pressure is part of it.
    pub surge_m: Option<f64>,
    /// Its standard deviation, metres.
    pub surge_sd_m: Option<f64>,
    /// Air pressure at sea level, hPa; counts where there is no surge.
    pub pressure_hpa: Option<f64>,
    /// Height that waves run up the sand above still water, metres.
    pub run_up_m: Option<f64>,
}

impl Weather {
    /// Lowest and highest water above the prediction that can be meant, metres: the largest that is told of is some
    /// 13 m (Bathurst Bay 1899, disputed; from memory).
    pub const SURGE_M: (f64, f64) = (-10.0, 15.0);

    /// Whether every figure can be.
    ///
    /// # Errors
    /// [`BookError::Field`] naming the figure and its range.
    pub fn validate(&self) -> Result<(), BookError> {
        check_range("surge", self.surge_m, Self::SURGE_M.0, Self::SURGE_M.1, "m")?;
        check_range("uncertainty of the surge", self.surge_sd_m, 0.0, 5.0, "m")?;
        check_range("air pressure", self.pressure_hpa, 850.0, 1100.0, "hPa")?;
        check_range("run-up of the waves", self.run_up_m, 0.0, 10.0, "m")
    }
}

/// A stretch of shore with its frame, baseline, tide source and clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Beach {
    /// Its lasting name.
    pub uid: Uid,
    /// What the person calls it.
    pub name: String,
    /// Centre of the beach's local frame.
    pub origin: LonLat,
    /// The line along the back of the beach, if known: at least two positions.
    pub baseline: Vec<LonLat>,
    /// The side of the baseline on which the sea lies.
    pub seaward: Seaward,
    /// Where the water level comes from.
    pub tide: TideChoice,
    /// Offset from land datum to the tide's datum: tide level = land level + this, metres.
    /// `None` means unknown, which is shown as a warning and never taken as zero.
    pub datum_offset_m: Option<f64>,
    /// The tide source that the offset was given for ([`TideChoice::key`]), where that is another than the present one:
    /// another source counts from another zero, so that the offset has to be given again. `None`: the present one.
    pub offset_from: Option<String>,
    /// What the person looked into and says is so, though the program doubts it.
    pub confirmed: Vec<Confirmation>,
    /// What weather and waves add to the tide.
    pub weather: Weather,
    /// When the person has time for this beach, on its own clock.
    pub free: FreeHours,
    /// No faster than this walks the slowest of those who search it, metres per second, 0.2 to 2; `None`: as is usual.
    pub pace_m_s: Option<f64>,
    /// IANA name of the beach's time zone, e.g. `Europe/London`.
    pub time_zone: String,
    /// Fall of the sand seaward, metres down per metre across, for a beach without level points.
    pub slope: Option<f64>,
    /// Land-datum level of the sand at the baseline, metres, used with `slope`.
    pub back_level_m: Option<f64>,
    /// What counts as searched on it.
    pub search: SearchSettings,
    /// How it is read.
    pub reading: ReadingSettings,
    /// Whether it is made up and only borrows the tide of a real place: the distance to that place then says nothing.
    pub invented: bool,
    /// Anything else.
    pub notes: String,
}

impl Beach {
    /// A beach of which only the name and a position are known.
    pub fn new(name: impl Into<String>, origin: LonLat) -> Self {
        let name = name.into();
        Self {
            uid: Uid::of_content("beach", [name.trim().to_lowercase().as_bytes()]),
            name,
            origin,
            baseline: Vec::new(),
            seaward: Seaward::Right,
            tide: TideChoice::None,
            datum_offset_m: None,
            offset_from: None,
            confirmed: Vec::new(),
            weather: Weather::default(),
            free: FreeHours::default(),
            pace_m_s: None,
            time_zone: "UTC".to_owned(),
            slope: None,
            back_level_m: None,
            search: SearchSettings::default(),
            reading: ReadingSettings::default(),
            invented: false,
            notes: String::new(),
        }
    }

    /// The beach's time zone.
    ///
    /// # Errors
    /// When the stored name is not in the zone table.
    pub fn zone(&self) -> Result<jiff::tz::TimeZone, BookError> {
        jiff::tz::TimeZone::get(&self.time_zone).map_err(|_| {
            BookError::field("time zone", format!("\"{}\" is not a zone name such as Europe/London or UTC", self.time_zone))
        })
    }

    /// The same, but somebody's own where its name, place or tide is no longer that of the invented beach it was; and an
    /// offset that was kept while the tide source changed says which source it was given for.
    #[must_use]
    pub fn changed_from(self, before: &Self) -> Self {
        let same = (&self.name, self.origin, &self.tide) == (&before.name, before.origin, &before.tide);
        let kept = self.datum_offset_m.is_some() && self.datum_offset_m == before.datum_offset_m;
        let offset_from = match kept {
            true if self.tide == before.tide => self.offset_from,
            true => Some(before.offset_from.clone().unwrap_or_else(|| before.tide.key())).filter(|from| *from != self.tide.key()),
            false => None,
        };
        Self { invented: self.invented && same, offset_from, ..self }
    }

    /// The same with an offset that was given for its present tide source, metres.
    #[must_use]
    pub fn with_offset(self, offset_m: Option<f64>) -> Self {
        Self { datum_offset_m: offset_m, offset_from: None, ..self }
    }

    /// The same with a doubt confirmed, or confirmed anew.
    #[must_use]
    pub fn with_confirmed(mut self, confirmation: Confirmation) -> Self {
        self.confirmed.retain(|c| c.key != confirmation.key);
        self.confirmed.push(confirmation);
        self
    }

    /// The same without a confirmation.
    #[must_use]
    pub fn without_confirmed(mut self, key: &str) -> Self {
        self.confirmed.retain(|c| c.key != key);
        self
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.name.trim().is_empty() {
            return Err(BookError::field("beach name", "is empty; give it one"));
        }
        if self.baseline.len() == 1 {
            return Err(BookError::field("baseline", "has only one position; it needs at least two"));
        }
        check_range("datum offset", self.datum_offset_m, -50.0, 50.0, "m")?;
        self.weather.validate()?;
        self.confirmed.iter().try_for_each(Confirmation::validate)?;
        if let TideChoice::Secondary(port) = &self.tide {
            port.validate()?;
        }
        check_range("pace of the slowest", self.pace_m_s, 0.2, 2.0, "m/s")?;
        check_range("slope", self.slope, 0.0005, 1.0, "m per m")?;
        check_range("level at the baseline", self.back_level_m, -50.0, 200.0, "m")?;
        self.search.validate()?;
        self.reading.validate()?;
        self.zone().map(drop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beach(tide: TideChoice, offset_m: Option<f64>) -> Beach {
        Beach { tide, datum_offset_m: offset_m, ..Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap()) }
    }

    #[test]
    fn an_offset_that_is_kept_while_the_source_changes_says_what_it_was_given_for() {
        let station = TideChoice::Station("a".into());
        let (other, gauge) = (TideChoice::Station("b".into()), TideChoice::Gauge(Uid::fresh()));
        let first = beach(station.clone(), Some(3.05));
        let moved = |before: &Beach, tide: &TideChoice| Beach { tide: tide.clone(), ..before.clone() }.changed_from(before);
        let second = moved(&first, &gauge);
        assert_eq!(second.offset_from.as_deref(), Some("station:a"));
        assert_eq!(moved(&second, &other).offset_from.as_deref(), Some("station:a"), "the first source stays what it was for");
        assert_eq!(moved(&second, &station).offset_from, None, "back at its own source it holds again");
        // A change of anything else keeps the doubt, another offset takes it away, and so does the same one given anew.
        assert_eq!(Beach { notes: "x".into(), ..second.clone() }.changed_from(&second).offset_from.as_deref(), Some("station:a"));
        assert_eq!(Beach { datum_offset_m: Some(2.0), ..second.clone() }.changed_from(&second).offset_from, None);
        assert_eq!(second.clone().with_offset(Some(3.05)).offset_from, None);
        assert_eq!(moved(&beach(station, None), &gauge).offset_from, None);
    }
}
