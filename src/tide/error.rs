use jiff::Timestamp;
use jiff::civil::DateTime;

use super::{Datum, TurnKind};

/// What can be wrong with a tide source.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TideError {
    /// The station does not say where the datum lies.
    #[error("station {station} does not say where {datum} lies against its mean sea level; choose another datum")]
    NoDatum {
        /// Station id.
        station: String,
        /// The datum asked for.
        datum: Datum,
    },
    /// A station without a single usable constituent.
    #[error("station {station} has no tidal constituent that can be predicted; choose another station or give a tide table")]
    NoConstituents {
        /// Station id.
        station: String,
    },
    /// A value that is not a finite number or not within reason.
    #[error("station {station}: constituent {constituent} has an amplitude or phase that is not usable ({value})")]
    Constant {
        /// Station id.
        station: String,
        /// Name of the constituent.
        constituent: String,
        /// The offending value.
        value: f64,
    },
    /// A tide table with too few turning points to draw a curve.
    #[error("a tide table needs at least two high or low waters; this one has {0}")]
    TableTooShort(usize),
    /// Two turning points out of order or at one time.
    #[error("tide table, entry {entry}: {time} does not come after the entry before it; sort the table and remove doubles")]
    TableOrder {
        /// Number of the entry, the first being 1.
        entry: usize,
        /// Its time.
        time: Timestamp,
    },
    /// Two highs or two lows in a row.
    #[error("tide table, entry {entry} ({time}): two {kind} waters in a row; an entry between them is missing or misread")]
    TableAlternation {
        /// Number of the entry, the first being 1.
        entry: usize,
        /// Its time.
        time: Timestamp,
        /// The kind that came twice.
        kind: TurnKind,
    },
    /// A high that is not above its neighbouring low.
    #[error("tide table, entry {entry} ({time}): the high water is not above the low water beside it")]
    TableLevels {
        /// Number of the entry, the first being 1.
        entry: usize,
        /// Its time.
        time: Timestamp,
    },
    /// A time that the clocks skip.
    #[error(
        "tide table, entry {entry}: the clocks of {zone} never show {at} (they go forward over it); a table printed in one time all \
         year wants that time's zone, such as UTC"
    )]
    TableMissingHour {
        /// Number of the entry, the first being 1.
        entry: usize,
        /// The time as printed.
        at: DateTime,
        /// Name of the zone.
        zone: String,
    },
    /// A standard port without springs and neaps.
    #[error("{name} cannot be a standard port: its tide has no mean springs and neaps to interpolate between")]
    NoSprings {
        /// Name of the standard port.
        name: String,
    },
    /// A constituent name that is not known.
    #[error("the constituent \"{name}\" is not known")]
    UnknownConstituent {
        /// The name.
        name: String,
    },
    /// A record that cannot bear the analysis asked of it.
    #[error("the record has {samples} levels over {days:.1} days, too few for {unknowns} unknowns; give a longer record")]
    RecordTooShort {
        /// Usable levels.
        samples: usize,
        /// Length, days.
        days: f64,
        /// Unknowns of the analysis.
        unknowns: usize,
    },
    /// Two constituents that the record cannot tell apart.
    #[error(
        "a record of {have_days:.1} days cannot tell {a} from {b}, which takes {need_days:.1} days; ask for one of them or give a longer record"
    )]
    Unresolved {
        /// One of them.
        a: String,
        /// The other.
        b: String,
        /// Length of the record, days.
        have_days: f64,
        /// Length that it takes, days.
        need_days: f64,
    },
    /// The shipped catalogue could not be read, which means a damaged program.
    #[error("the shipped tide stations are damaged at line {line}: {what}")]
    Catalogue {
        /// Line of the catalogue.
        line: usize,
        /// What is wrong there.
        what: String,
    },
}

impl TideError {
    /// Number of the tide table's entry that is at fault, the first being 1, where one is.
    pub fn table_entry(&self) -> Option<usize> {
        match self {
            Self::TableOrder { entry, .. }
            | Self::TableAlternation { entry, .. }
            | Self::TableLevels { entry, .. }
            | Self::TableMissingHour { entry, .. } => Some(*entry),
            _ => None,
        }
    }
}
