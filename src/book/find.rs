use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::{DateTime, Time};
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, Kind, KindGroup, Material, Uid, Weight, check_range};
use crate::earth::LonLat;

words! {
    /// How the numbers of a signal behaved over repeated passes.
    Steadiness, "steadiness" {
        /// The same number each pass.
        Steady = "steady", "steady";
        /// The number moves about.
        Jumpy = "jumpy", "jumpy";
        /// The sound breaks up.
        Broken = "broken", "broken";
    }
}

/// Something dug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Find {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// The outing it was made on, if known.
    pub outing: Option<Uid>,
    /// Where.
    pub at: LonLat,
    /// When.
    pub time: Option<Timestamp>,
    /// What the person wrote.
    pub what: String,
    /// Which kind that is.
    pub kind: Kind,
    /// Heavy or light, if the person knows better than the kind's usual.
    pub weight: Option<Weight>,
    /// Made of.
    pub material: Option<Material>,
    /// Depth at which it lay, metres.
    pub depth_m: Option<f64>,
    /// The detector's number for it; scales differ by machine.
    pub target_id: Option<f64>,
    /// Mass, grams.
    pub mass_g: Option<f64>,
    /// Largest dimension, millimetres.
    pub size_mm: Option<f64>,
    /// State of preservation, in the person's words.
    pub state: String,
    /// File name of a photo.
    pub photo: String,
    /// Anything else.
    pub notes: String,
    /// Who found it, where that was not the book's own person.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub finder: String,
    /// The permission it was found under: the name of one of the book's, or as it was written.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub permission: String,
    /// What it is worth, as written, with its currency.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub value: String,
    /// How old it is or of what period, as written.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub age: String,
    /// What became of it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub disposal: String,
    /// To whom and when it was reported.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reported: String,
    /// What else a file said of it, by the heading it stood under there.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub more: BTreeMap<String, String>,
}

/// Whether a time on the beach's clock is how a day without an hour comes back.
pub fn is_day_alone(time: DateTime) -> bool {
    time.time() == Time::MIN || time.time() == Time::constant(12, 0, 0, 0)
}

impl Find {
    /// A find of which only the place and the words are known.
    pub fn new(beach: Uid, at: LonLat, what: impl Into<String>, kind: Kind) -> Self {
        Self {
            uid: Uid::fresh(),
            beach,
            outing: None,
            at,
            time: None,
            what: what.into(),
            kind,
            weight: None,
            material: None,
            depth_m: None,
            target_id: None,
            mass_g: None,
            size_mm: None,
            state: String::new(),
            photo: String::new(),
            notes: String::new(),
            finder: String::new(),
            permission: String::new(),
            value: String::new(),
            age: String::new(),
            disposal: String::new(),
            reported: String::new(),
            more: BTreeMap::new(),
        }
    }

    /// Under which heading of `more` stands whose find it is that was taken in as another person's.
    pub const OF_ANOTHER: &str = "taken in as the find of";

    /// Under which heading of `more` stands that the place is the middle of an area in which it was told to lie.
    pub const ROUGHLY: &str = "place told";

    /// When it was made, on the beach's clock `zone`, if its minute is known: a day without an hour comes back as noon sharp,
    /// which an import takes for it, or as midnight, which other programs write.
    pub fn minute(&self, zone: &TimeZone) -> Option<Timestamp> {
        self.time.filter(|t| !is_day_alone(zone.to_datetime(*t)))
    }

    /// Whether it was taken in as another person's: it belongs to no outing of one's own and to no account of one's own.
    pub fn is_of_another(&self) -> bool {
        self.more.contains_key(Self::OF_ANOTHER)
    }

    /// Heavy or light: as the person said, else as its kind usually is.
    pub fn weight_class(&self) -> Weight {
        self.weight.unwrap_or_else(|| self.kind.weight())
    }

    /// Whether it is iron or plain steel, by its kind or by what it is made of.
    pub fn is_iron(&self) -> bool {
        self.material.map_or(self.kind.group() == KindGroup::Iron, |m| m == Material::Iron)
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_range("depth", self.depth_m, 0.0, 5.0, "m")?;
        check_range("target ID", self.target_id, -1000.0, 10_000.0, "")?;
        check_range("mass", self.mass_g, 0.0, 1_000_000.0, "g")?;
        check_range("size", self.size_mm, 0.0, 100_000.0, "mm")
    }
}

/// Something heard and not dug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Signal {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// The outing it was heard on, if known.
    pub outing: Option<Uid>,
    /// Where.
    pub at: LonLat,
    /// When.
    pub time: Option<Timestamp>,
    /// The target IDs as they came, pass by pass.
    pub target_ids: Vec<i32>,
    /// How steady they were.
    pub steadiness: Option<Steadiness>,
    /// The detector's depth step.
    pub gauge_step: Option<i32>,
    /// Anything else.
    pub notes: String,
}

impl Signal {
    /// A signal of which only the place is known.
    pub fn new(beach: Uid, at: LonLat) -> Self {
        Self {
            uid: Uid::fresh(),
            beach,
            outing: None,
            at,
            time: None,
            target_ids: Vec::new(),
            steadiness: None,
            gauge_step: None,
            notes: String::new(),
        }
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        for id in &self.target_ids {
            check_range("target ID", Some(f64::from(*id)), -1000.0, 10_000.0, "")?;
        }
        check_range("gauge step", self.gauge_step.map(f64::from), 0.0, 100.0, "")
    }
}
