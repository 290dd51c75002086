use geo_types::MultiPolygon;
use jiff::civil::{Date, Time};
use serde::{Deserialize, Serialize};

use super::place::check_area;
use super::{BookError, Uid, check_range};

/// Who allows searching where and when, and on what terms.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Permission {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it is for.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// Who gave it.
    pub holder: String,
    /// The ground it covers, longitude and latitude in degrees.
    pub area: MultiPolygon<f64>,
    /// First day it holds, in the beach's calendar.
    pub from: Option<Date>,
    /// Last day it holds.
    pub to: Option<Date>,
    /// Hours of the day within which searching is allowed, in the beach's time.
    pub hours: Option<(Time, Time)>,
    /// The terms, in words.
    pub terms: String,
    /// What the holder wants reported, in words.
    pub report: String,
    /// Whether exact positions may be handed over.
    pub exact_positions: bool,
    /// Grid to which positions are coarsened when they may not, metres.
    pub coarsen_m: Option<f64>,
    /// From which the ids of what its holder is handed are made; it never leaves the book.
    #[serde(default = "Uid::fresh")]
    pub key: Uid,
}

impl Permission {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_area("permission area", &self.area)?;
        check_range("coarsening grid", self.coarsen_m, 1.0, 100_000.0, "m")?;
        if let (Some(from), Some(to)) = (self.from, self.to)
            && to < from
        {
            return Err(BookError::field("permission", format!("ends on {to} before it begins on {from}")));
        }
        Ok(())
    }
}
