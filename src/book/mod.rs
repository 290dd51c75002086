//! The nouns: what a person records, as plain data that is valid from the moment it exists.
//!
//! A [`Book`] holds every record by its [`Uid`]; the only way to change it is an [`Edit`], which
//! yields its own inverse. Nothing here reads files or knows a screen.

mod agreed;
mod aside;
mod beach;
mod bench;
mod closure;
mod confirmation;
mod danger;
mod dating;
mod edit;
mod find;
mod free;
mod kinds;
mod known_kinds;
mod matter;
mod outing;
mod own_kind;
pub(crate) mod part;
mod permission;
mod permission_text;
mod place;
mod port;
mod receipt;
mod record;
mod remembered;
mod sea;
mod settings;
mod setup;
mod storm;
mod table;
pub(crate) mod table_access;
mod tables;
mod track;
mod uid;
mod water;
mod words;

pub use agreed::{Agreed, PlaceRule, ReportDue, Telling};
pub use aside::{Aside, AsideWhy};
pub use beach::{Beach, Seaward, TideChoice, Weather};
pub use bench::{BenchReading, Lie};
pub use closure::{Closure, ClosureWhy, YearlySpan};
pub use confirmation::Confirmation;
pub use danger::ORDNANCE_CAUTION;
pub use dating::latest_year;
pub use edit::Edit;
pub use find::{Find, Signal, Steadiness, is_day_alone};
pub use free::{FreeHours, FreeHoursError};
pub use kinds::{Kind, KindGroup, Kinds, Typical};
pub use known_kinds::KindTables;
pub use matter::{Material, Weight};
pub use outing::{Outing, SandNote};
pub use own_kind::OwnKind;
pub use part::{FindTables, Part};
pub use permission::Permission;
pub use permission_text::{PermissionText, hours_between};
pub use place::{Access, Barrier, BarrierKind, BarrierShape, LevelPoint, Plan, Zone, ZoneUse};
pub use port::{PortDifferences, SecondaryChoice, StandardPort};
pub use receipt::Receipt;
pub use record::{Record, RecordKind};
pub use remembered::Remembered;
pub use sea::SeaRecord;
pub use settings::{ClusterMethod, ReadingSettings, SearchSettings};
pub use setup::{Ground, Setup, setup_name};
pub use storm::{SeaState, Storm};
pub use table::Table;
pub use tables::Book;
pub use track::{Track, TrackPoint};
pub use uid::Uid;
pub use water::{GaugeRecord, TideTable, TideTurn};

/// What can be wrong with a record or an edit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BookError {
    /// A field holds a value that cannot be.
    #[error("{what} {why}")]
    Field {
        /// The field, in the words of the screen.
        what: &'static str,
        /// What is wrong with it and what would be right.
        why: String,
    },
    /// A record names another one that the book does not hold.
    #[error("this {record} names a {missing} that is not in the book ({uid}); import or make that {missing} first")]
    Dangling {
        /// The record that was to be written.
        record: RecordKind,
        /// The kind of the record it names.
        missing: RecordKind,
        /// The uid it names.
        uid: Uid,
    },
    /// A record cannot go while others still name it.
    #[error("this {record} is still used by {users} other records; remove or reassign those first")]
    InUse {
        /// The record that was to be removed.
        record: RecordKind,
        /// How many records name it.
        users: usize,
    },
    /// There is no such record.
    #[error("there is no {record} {uid} in the book")]
    Missing {
        /// The kind looked for.
        record: RecordKind,
        /// The uid looked for.
        uid: Uid,
    },
    /// Text that names no known thing.
    #[error("\"{text}\" is no {what}; use one of {choices}")]
    Word {
        /// What was expected.
        what: &'static str,
        /// What stood there.
        text: String,
        /// What is allowed.
        choices: String,
    },
}

impl BookError {
    pub(crate) fn field(what: &'static str, why: impl Into<String>) -> Self {
        Self::Field { what, why: why.into() }
    }
}

/// Checks a measured quantity: finite and within `low..=high`, or the sentence that says so.
pub(crate) fn check_range(what: &'static str, value: Option<f64>, low: f64, high: f64, unit: &str) -> Result<(), BookError> {
    match value {
        Some(v) if !(low..=high).contains(&v) => {
            Err(BookError::field(what, format!("{v} {unit} is not between {low} and {high} {unit}")))
        }
        _ => Ok(()),
    }
}
