use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, Uid, check_range};

words! {
    /// The ground a set-up was used on.
    Ground, "ground" {
        /// Dry sand.
        Dry = "dry", "dry sand";
        /// Damp sand.
        Damp = "damp", "damp sand";
        /// Wet salt sand.
        WetSalt = "wet_salt", "wet salt sand";
        /// Sand with much heavy mineral.
        BlackSand = "black_sand", "black sand";
    }
}

impl Ground {
    /// The ground in the words that people write for it.
    pub fn from_words(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().as_str() {
            "wet" | "wet sand" | "salt" | "salt wet" | "w" | "soaked" | "in the wash" => Some(Self::WetSalt),
            "nass" | "naß" | "nat" | "mouillé" | "mojado" | "våd" | "vådt" | "bagnato" => Some(Self::WetSalt),
            "moist" | "feucht" | "humide" | "vochtig" | "húmedo" | "fugtig" | "umido" => Some(Self::Damp),
            "d" | "trocken" | "sec" | "droog" | "seco" | "tør" | "tørt" | "asciutto" => Some(Self::Dry),
            other => other.parse().ok(),
        }
    }
}

/// Detector settings held constant, in the person's own words: machines differ too much for more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Setup {
    /// Its lasting name.
    pub uid: Uid,
    /// What the person calls it.
    pub name: String,
    /// The machine, in the person's words.
    pub machine: String,
    /// Search mode.
    pub mode: String,
    /// Sensitivity.
    pub sensitivity: String,
    /// Ground balance: its value and how it was set.
    pub ground_balance: String,
    /// Discrimination, or the accepted range of target ID.
    pub discrimination: String,
    /// Iron audio.
    pub iron_audio: String,
    /// Tones.
    pub tones: String,
    /// Volume.
    pub volume: String,
    /// The coil, in the person's words.
    pub coil: String,
    /// Width of the coil across the sweep's advance, metres.
    pub coil_width_m: Option<f64>,
    /// The ground it was used on.
    pub ground: Option<Ground>,
    /// Anything else.
    pub notes: String,
}

/// A set-up's name as it is compared: case does not count, nor how many spaces stand where.
pub fn setup_name(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl Setup {
    /// A set-up of which only the name is known.
    pub fn new(name: impl Into<String>) -> Self {
        let name = name.into();
        Self {
            uid: Uid::of_content("setup", [setup_name(&name).as_bytes()]),
            name,
            machine: String::new(),
            mode: String::new(),
            sensitivity: String::new(),
            ground_balance: String::new(),
            discrimination: String::new(),
            iron_audio: String::new(),
            tones: String::new(),
            volume: String::new(),
            coil: String::new(),
            coil_width_m: None,
            ground: None,
            notes: String::new(),
        }
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.name.trim().is_empty() {
            return Err(BookError::field("set-up name", "is empty; give it one"));
        }
        check_range("coil width", self.coil_width_m, 0.05, 3.0, "m")
    }
}
