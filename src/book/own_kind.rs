use serde::{Deserialize, Serialize};

use super::{BookError, Kind, Uid, check_range};

/// What a person knows of a kind of their own: a row they added to the list of kinds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnKind {
    /// Its lasting name.
    pub uid: Uid,
    /// The kind; see [`Kind::own`].
    pub kind: Kind,
    /// Density of its material, kg/m³.
    pub density_kg_m3: Option<f64>,
    /// Usual mass, grams.
    pub mass_g: Option<f64>,
    /// Largest dimension, millimetres.
    pub size_mm: Option<f64>,
    /// Where the figures come from, in the person's words.
    pub source: String,
    /// Anything else.
    pub notes: String,
}

impl OwnKind {
    /// A row of which only the kind is known.
    pub fn new(kind: Kind) -> Self {
        let uid = Uid::of_content("own kind", [kind.key().to_lowercase().as_bytes()]);
        Self { uid, kind, density_kg_m3: None, mass_g: None, size_mm: None, source: String::new(), notes: String::new() }
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if !self.kind.is_own() {
            return Err(BookError::field("kind", "is not one of your own; choose the general kind it belongs to and name it"));
        }
        check_range("density", self.density_kg_m3, 10.0, 25_000.0, "kg/m³")?;
        check_range("mass", self.mass_g, 0.0, 1_000_000.0, "g")?;
        check_range("size", self.size_mm, 0.0, 100_000.0, "mm")
    }
}
