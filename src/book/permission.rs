use geo_types::MultiPolygon;
use jiff::civil::{Date, Time};
use serde::{Deserialize, Serialize};

use super::place::check_area;
use super::{Agreed, BookError, Kind, Telling, Uid, check_range};

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
    /// What else is agreed with its holder.
    #[serde(default)]
    pub agreed: Agreed,
    /// From which the ids of what its holder is handed are made; it never leaves the book.
    #[serde(default = "Uid::fresh")]
    pub key: Uid,
}

impl Permission {
    /// A permission for some ground of which nothing else is known.
    pub fn new(beach: Uid, name: impl Into<String>, area: MultiPolygon<f64>) -> Self {
        Self {
            uid: Uid::fresh(),
            beach,
            name: name.into(),
            holder: String::new(),
            area,
            from: None,
            to: None,
            hours: None,
            terms: String::new(),
            report: String::new(),
            exact_positions: false,
            coarsen_m: None,
            agreed: Agreed::default(),
            key: Uid::fresh(),
        }
    }

    /// How places of a kind are told where that differs from the permission's own precision.
    pub fn rule_for(&self, kind: &Kind) -> Option<Telling> {
        let group = kind.group();
        self.agreed.places.iter().find(|r| r.group == group).map(|r| r.told)
    }

    /// Whether it holds on a day of the beach's calendar.
    pub fn holds_on(&self, day: Date) -> bool {
        self.from.is_none_or(|f| day >= f) && self.to.is_none_or(|t| day <= t)
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_area("permission area", &self.area)?;
        check_range("coarsening grid", self.coarsen_m, 1.0, 100_000.0, "m")?;
        self.agreed.validate()?;
        if let (Some(from), Some(to)) = (self.from, self.to)
            && to < from
        {
            return Err(BookError::field("permission", format!("ends on {to} before it begins on {from}")));
        }
        Ok(())
    }
}
