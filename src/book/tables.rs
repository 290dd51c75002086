use std::collections::BTreeMap;
use std::sync::Arc;

use super::{
    Access, Barrier, Beach, BenchReading, Find, GaugeRecord, LevelPoint, Outing, OwnKind, Permission, Plan, Setup, Signal, Storm,
    TideTable, Track, Uid, Zone,
};

/// Everything one person keeps, in memory.
///
/// Cloning is cheap (the tables are shared until one changes), so a clone is the snapshot that
/// background work reads.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Book {
    pub(super) beaches: Arc<BTreeMap<Uid, Beach>>,
    pub(super) setups: Arc<BTreeMap<Uid, Setup>>,
    pub(super) outings: Arc<BTreeMap<Uid, Outing>>,
    pub(super) tracks: Arc<BTreeMap<Uid, Track>>,
    pub(super) finds: Arc<BTreeMap<Uid, Find>>,
    pub(super) signals: Arc<BTreeMap<Uid, Signal>>,
    pub(super) zones: Arc<BTreeMap<Uid, Zone>>,
    pub(super) accesses: Arc<BTreeMap<Uid, Access>>,
    pub(super) barriers: Arc<BTreeMap<Uid, Barrier>>,
    pub(super) levels: Arc<BTreeMap<Uid, LevelPoint>>,
    pub(super) permissions: Arc<BTreeMap<Uid, Permission>>,
    pub(super) storms: Arc<BTreeMap<Uid, Storm>>,
    pub(super) tide_tables: Arc<BTreeMap<Uid, TideTable>>,
    pub(super) gauges: Arc<BTreeMap<Uid, GaugeRecord>>,
    pub(super) plans: Arc<BTreeMap<Uid, Plan>>,
    pub(super) bench: Arc<BTreeMap<Uid, BenchReading>>,
    pub(super) own_kinds: Arc<BTreeMap<Uid, OwnKind>>,
}

/// Declares the reading access to each table.
macro_rules! tables {
    ($( $(#[$meta:meta])* $table:ident: $ty:ty; )+) => {
        impl Book { $(
            $(#[$meta])*
            pub fn $table(&self) -> &BTreeMap<Uid, $ty> { &self.$table }
        )+ }
    };
}

tables! {
    /// The beaches.
    beaches: Beach;
    /// The set-ups.
    setups: Setup;
    /// The outings of every beach.
    outings: Outing;
    /// The tracks of every beach.
    tracks: Track;
    /// The finds of every beach.
    finds: Find;
    /// The signals of every beach.
    signals: Signal;
    /// The zones of every beach.
    zones: Zone;
    /// The ways on and off every beach.
    accesses: Access;
    /// What bars the way, on every beach.
    barriers: Barrier;
    /// The surveyed levels of every beach.
    levels: LevelPoint;
    /// The permissions.
    permissions: Permission;
    /// The storms.
    storms: Storm;
    /// The person's own tide tables.
    tide_tables: TideTable;
    /// The gauge records.
    gauges: GaugeRecord;
    /// The plans.
    plans: Plan;
    /// The bench readings.
    bench: BenchReading;
    /// The rows the person added to the list of kinds.
    own_kinds: OwnKind;
}

impl Book {
    /// The beach a person means: by name whatever the case, or by uid.
    pub fn beach_named(&self, name: &str) -> Option<&Beach> {
        let wanted = name.trim().to_lowercase();
        self.beaches.values().find(|b| b.name.trim().to_lowercase() == wanted || b.uid.to_string() == wanted)
    }

    /// The outings of one beach, earliest first.
    pub fn outings_of(&self, beach: Uid) -> Vec<&Outing> {
        let mut outings: Vec<_> = self.outings.values().filter(|o| o.beach == beach).collect();
        outings.sort_by_key(|o| (o.start, o.uid));
        outings
    }

    /// The finds of one beach, in order of uid.
    pub fn finds_of(&self, beach: Uid) -> impl Iterator<Item = &Find> {
        self.finds.values().filter(move |f| f.beach == beach)
    }

    /// The tracks of one beach, in order of uid.
    pub fn tracks_of(&self, beach: Uid) -> impl Iterator<Item = &Track> {
        self.tracks.values().filter(move |t| t.beach == beach)
    }

    /// The signals of one beach, in order of uid.
    pub fn signals_of(&self, beach: Uid) -> impl Iterator<Item = &Signal> {
        self.signals.values().filter(move |s| s.beach == beach)
    }

    /// The same book with only those finds, signals and tracks: what a question about some of them
    /// is asked of. Not to be saved.
    #[must_use]
    pub fn narrowed(
        &self,
        find: impl Fn(&Find) -> bool,
        signal: impl Fn(&Signal) -> bool,
        track: impl Fn(&Track) -> bool,
    ) -> Self {
        fn some<T: Clone>(all: &BTreeMap<Uid, T>, takes: impl Fn(&T) -> bool) -> Arc<BTreeMap<Uid, T>> {
            Arc::new(all.iter().filter(|(_, r)| takes(r)).map(|(u, r)| (*u, r.clone())).collect())
        }
        Self {
            finds: some(&self.finds, find),
            signals: some(&self.signals, signal),
            tracks: some(&self.tracks, track),
            ..self.clone()
        }
    }

    /// The zones of one beach, in order of uid.
    pub fn zones_of(&self, beach: Uid) -> impl Iterator<Item = &Zone> {
        self.zones.values().filter(move |z| z.beach == beach)
    }

    /// The surveyed levels of one beach, in order of uid.
    pub fn levels_of(&self, beach: Uid) -> impl Iterator<Item = &LevelPoint> {
        self.levels.values().filter(move |l| l.beach == beach)
    }

    /// The storms of one beach, earliest first.
    pub fn storms_of(&self, beach: Uid) -> Vec<&Storm> {
        let mut storms: Vec<_> = self.storms.values().filter(|s| s.beach == beach).collect();
        storms.sort_by_key(|s| (s.span().map(|(from, _)| from), s.uid));
        storms
    }
}
