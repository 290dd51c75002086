use super::table_access::access_to;
use super::{
    Access, Barrier, Beach, BenchReading, Find, GaugeRecord, LevelPoint, Outing, OwnKind, Permission, Plan, Receipt, Remembered,
    SeaRecord, Setup, Signal, Storm, Table, TideTable, Track, Zone,
};

/// Everything one person keeps, in memory.
///
/// Cloning is cheap (the tables are shared until one changes), so a clone is the snapshot that
/// background work reads.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    pub(crate) beaches: Table<Beach>,
    pub(crate) setups: Table<Setup>,
    pub(crate) outings: Table<Outing>,
    pub(crate) tracks: Table<Track>,
    pub(crate) finds: Table<Find>,
    pub(crate) signals: Table<Signal>,
    pub(crate) zones: Table<Zone>,
    pub(crate) accesses: Table<Access>,
    pub(crate) barriers: Table<Barrier>,
    pub(crate) levels: Table<LevelPoint>,
    pub(crate) permissions: Table<Permission>,
    pub(crate) storms: Table<Storm>,
    pub(crate) seas: Table<SeaRecord>,
    pub(crate) tide_tables: Table<TideTable>,
    pub(crate) gauges: Table<GaugeRecord>,
    pub(crate) plans: Table<Plan>,
    pub(crate) bench: Table<BenchReading>,
    pub(crate) own_kinds: Table<OwnKind>,
    pub(crate) receipts: Table<Receipt>,
    pub(crate) remembered: Table<Remembered>,
}

/// Names every table once: reading access to it, and whether two books share it.
macro_rules! tables {
    ($($table:ident),+ $(,)?) => {
        impl Book {
            $( access_to!($table); )+

            /// Whether every table is one and the same in memory: no edit lies between the two.
            pub(super) fn shares_all_with(&self, other: &Self) -> bool {
                true $( && self.$table.is_same(&other.$table) )+
            }
        }
    };
}

tables! {
    beaches, setups, outings, tracks, finds, signals, zones, accesses, barriers, levels, permissions, storms, seas, tide_tables,
    gauges, plans, bench, own_kinds, receipts, remembered,
}

impl Book {
    /// The beach a person means: by name whatever the case, or by uid.
    pub fn beach_named(&self, name: &str) -> Option<&Beach> {
        let wanted = name.trim().to_lowercase();
        self.beaches.values().find(|b| b.name.trim().to_lowercase() == wanted || b.uid.to_string() == wanted)
    }
}
