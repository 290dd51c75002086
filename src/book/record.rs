use std::fmt;
use std::sync::Arc;

use super::{
    Access, Barrier, Beach, BenchReading, Book, BookError, Find, GaugeRecord, LevelPoint, Outing, OwnKind, Permission, Plan,
    Receipt, Remembered, SeaRecord, Setup, Signal, StandardPort, Storm, TideChoice, TideTable, Track, Uid, Zone,
};

/// Declares [`Record`], [`RecordKind`] and the tables of [`Book`] from one list, so that none is forgotten.
macro_rules! records {
    ($( $kind:ident($ty:ty) in $table:ident, $word:literal, $label:literal; )+) => {
        /// The kinds of record a book holds, in the order in which they are best written: none names a later one, but for a beach its tide table or gauge record.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum RecordKind { $(
            #[doc = concat!("A record of [`", stringify!($ty), "`].")]
            $kind,
        )+ }

        impl RecordKind {
            /// Every kind.
            pub const ALL: &'static [RecordKind] = &[ $( RecordKind::$kind, )+ ];

            /// The word files hold.
            pub fn word(self) -> &'static str {
                match self { $( RecordKind::$kind => $word, )+ }
            }

            /// What several are called: `accesses`.
            pub fn plural(self) -> String {
                match self {
                    RecordKind::OwnKind => "kinds of one's own".to_owned(),
                    other if other.to_string().ends_with(['s', 'h']) => format!("{other}es"),
                    other => format!("{other}s"),
                }
            }

            /// "1 access", "2 accesses".
            pub fn counted(self, n: usize) -> String {
                if n == 1 { format!("1 {self}") } else { format!("{n} {}", self.plural()) }
            }
        }

        impl fmt::Display for RecordKind {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(match self { $( RecordKind::$kind => $label, )+ })
            }
        }

        /// Any one record. It is shared: a copy of it costs nothing, and whoever changes one has a copy of its own (`Arc::make_mut`).
        #[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Record { $(
            #[doc = concat!("See [`", stringify!($ty), "`].")]
            $kind(Arc<$ty>),
        )+ }

        impl Record {
            /// Its kind.
            pub fn kind(&self) -> RecordKind {
                match self { $( Record::$kind(_) => RecordKind::$kind, )+ }
            }

            /// Its uid.
            pub fn uid(&self) -> Uid {
                match self { $( Record::$kind(r) => r.uid, )+ }
            }

            pub(crate) fn validate(&self) -> Result<(), BookError> {
                match self { $( Record::$kind(r) => r.validate(), )+ }
            }
        }

        $( impl From<$ty> for Record {
            fn from(r: $ty) -> Self { Record::$kind(Arc::new(r)) }
        } )+

        impl Book {
            /// The record with this uid, if the book holds it.
            pub fn record(&self, kind: RecordKind, uid: Uid) -> Option<Record> {
                match kind { $( RecordKind::$kind => self.$table.shared(&uid).cloned().map(Record::$kind), )+ }
            }

            /// Whether the book holds a record with this uid.
            pub fn holds(&self, kind: RecordKind, uid: Uid) -> bool {
                match kind { $( RecordKind::$kind => self.$table.contains_key(&uid), )+ }
            }

            /// How many records of a kind there are.
            pub fn count(&self, kind: RecordKind) -> usize {
                match kind { $( RecordKind::$kind => self.$table.len(), )+ }
            }

            /// Every record of a kind, in order of uid.
            pub fn records(&self, kind: RecordKind) -> Box<dyn Iterator<Item = Record> + '_> {
                match kind { $( RecordKind::$kind => Box::new(self.$table.shares().cloned().map(Record::$kind)), )+ }
            }

            pub(super) fn put_unchecked(&mut self, record: Record) -> Option<Record> {
                match record { $( Record::$kind(r) => self.$table.insert(r.uid, r).map(Record::$kind), )+ }
            }

            pub(super) fn remove_unchecked(&mut self, kind: RecordKind, uid: Uid) -> Option<Record> {
                match kind { $( RecordKind::$kind => self.$table.remove(&uid).map(Record::$kind), )+ }
            }
        }
    };
}

records! {
    Beach(Beach) in beaches, "beach", "beach";
    Setup(Setup) in setups, "setup", "set-up";
    Outing(Outing) in outings, "outing", "outing";
    Track(Track) in tracks, "track", "track";
    Find(Find) in finds, "find", "find";
    Signal(Signal) in signals, "signal", "signal";
    Zone(Zone) in zones, "zone", "zone";
    Access(Access) in accesses, "access", "access";
    Barrier(Barrier) in barriers, "barrier", "barrier";
    Level(LevelPoint) in levels, "level", "level point";
    Permission(Permission) in permissions, "permission", "permission";
    Storm(Storm) in storms, "storm", "storm";
    SeaRecord(SeaRecord) in seas, "sea_record", "sea record";
    TideTable(TideTable) in tide_tables, "tide_table", "tide table";
    Gauge(GaugeRecord) in gauges, "gauge", "gauge record";
    Plan(Plan) in plans, "plan", "plan";
    Bench(BenchReading) in bench, "bench", "bench reading";
    OwnKind(OwnKind) in own_kinds, "own_kind", "kind of one's own";
    Receipt(Receipt) in receipts, "receipt", "receipt";
    Remembered(Remembered) in remembered, "remembered", "remembered answer";
}

// Records that need no more than their types to be sound.
impl Access {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        Ok(())
    }
}

impl Record {
    /// The records this one names: they must be in the book before it.
    pub fn names(&self) -> Vec<(RecordKind, Uid)> {
        let beach = |uid: Uid| (RecordKind::Beach, uid);
        let outing = |uid: Option<Uid>| uid.map(|u| (RecordKind::Outing, u));
        match self {
            Record::Beach(r) => r.tide.record().into_iter().collect(),
            Record::Setup(_) | Record::OwnKind(_) | Record::Remembered(_) => Vec::new(),
            Record::Outing(r) => [Some(beach(r.beach)), r.setup.map(|s| (RecordKind::Setup, s))].into_iter().flatten().collect(),
            Record::Track(r) => [Some(beach(r.beach)), outing(r.outing)].into_iter().flatten().collect(),
            Record::Find(r) => [Some(beach(r.beach)), outing(r.outing)].into_iter().flatten().collect(),
            Record::Signal(r) => [Some(beach(r.beach)), outing(r.outing)].into_iter().flatten().collect(),
            Record::Zone(r) => vec![beach(r.beach)],
            Record::Access(r) => vec![beach(r.beach)],
            Record::Barrier(r) => vec![beach(r.beach)],
            Record::Level(r) => vec![beach(r.beach)],
            Record::Permission(r) => vec![beach(r.beach)],
            Record::Storm(r) => vec![beach(r.beach)],
            Record::SeaRecord(r) => vec![beach(r.beach)],
            Record::TideTable(r) => vec![beach(r.beach)],
            Record::Gauge(r) => vec![beach(r.beach)],
            Record::Plan(r) => vec![beach(r.beach)],
            Record::Receipt(r) => vec![beach(r.beach)],
            Record::Bench(r) => vec![(RecordKind::Setup, r.setup)],
        }
    }
}

impl TideChoice {
    /// The record of the book that the source stands on, if it stands on one.
    pub fn record(&self) -> Option<(RecordKind, Uid)> {
        match self {
            Self::None | Self::Station(_) => None,
            Self::Table(uid) => Some((RecordKind::TideTable, *uid)),
            Self::Gauge(uid) => Some((RecordKind::Gauge, *uid)),
            Self::Secondary(port) => match port.standard {
                StandardPort::Station(_) => None,
                StandardPort::Table(uid) => Some((RecordKind::TideTable, uid)),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RecordKind;

    #[test]
    fn several_are_called_as_people_call_them() {
        for (kind, one, many) in [
            (RecordKind::Access, "1 access", "2 accesses"),
            (RecordKind::Find, "1 find", "2 finds"),
            (RecordKind::Beach, "1 beach", "2 beaches"),
            (RecordKind::OwnKind, "1 kind of one's own", "2 kinds of one's own"),
            (RecordKind::Gauge, "1 gauge record", "2 gauge records"),
        ] {
            assert_eq!((kind.counted(1).as_str(), kind.counted(2).as_str()), (one, many));
        }
    }
}
