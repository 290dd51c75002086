use std::collections::BTreeMap;
use std::sync::Arc;

use super::table_access::access_to;
use super::{
    Access, Barrier, Beach, BenchReading, Find, GaugeRecord, LevelPoint, Outing, OwnKind, Permission, Plan, Receipt, Remembered,
    SeaRecord, Setup, Signal, Storm, TideTable, Track, Uid, Zone,
};

/// Everything one person keeps, in memory.
///
/// Cloning is cheap (the tables are shared until one changes), so a clone is the snapshot that
/// background work reads.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    pub(crate) beaches: Arc<BTreeMap<Uid, Beach>>,
    pub(crate) setups: Arc<BTreeMap<Uid, Setup>>,
    pub(crate) outings: Arc<BTreeMap<Uid, Outing>>,
    pub(crate) tracks: Arc<BTreeMap<Uid, Track>>,
    pub(crate) finds: Arc<BTreeMap<Uid, Find>>,
    pub(crate) signals: Arc<BTreeMap<Uid, Signal>>,
    pub(crate) zones: Arc<BTreeMap<Uid, Zone>>,
    pub(crate) accesses: Arc<BTreeMap<Uid, Access>>,
    pub(crate) barriers: Arc<BTreeMap<Uid, Barrier>>,
    pub(crate) levels: Arc<BTreeMap<Uid, LevelPoint>>,
    pub(crate) permissions: Arc<BTreeMap<Uid, Permission>>,
    pub(crate) storms: Arc<BTreeMap<Uid, Storm>>,
    pub(crate) seas: Arc<BTreeMap<Uid, SeaRecord>>,
    pub(crate) tide_tables: Arc<BTreeMap<Uid, TideTable>>,
    pub(crate) gauges: Arc<BTreeMap<Uid, GaugeRecord>>,
    pub(crate) plans: Arc<BTreeMap<Uid, Plan>>,
    pub(crate) bench: Arc<BTreeMap<Uid, BenchReading>>,
    pub(crate) own_kinds: Arc<BTreeMap<Uid, OwnKind>>,
    pub(crate) receipts: Arc<BTreeMap<Uid, Receipt>>,
    pub(crate) remembered: Arc<BTreeMap<Uid, Remembered>>,
}

/// Names every table once: reading access to it, and whether two books share it.
macro_rules! tables {
    ($($table:ident),+ $(,)?) => {
        impl Book {
            $( access_to!($table); )+

            /// Whether every table is one and the same in memory: no edit lies between the two.
            pub(super) fn shares_all_with(&self, other: &Self) -> bool {
                true $( && Arc::ptr_eq(&self.$table, &other.$table) )+
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
