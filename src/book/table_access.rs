//! Each table of the book by its name: what it holds, and reading access for whatever holds it, be it the book or
//! a part of it.

/// The record that a table of the book holds, by the table's name.
macro_rules! record_of {
    (beaches) => {
        $crate::book::Beach
    };
    (setups) => {
        $crate::book::Setup
    };
    (outings) => {
        $crate::book::Outing
    };
    (tracks) => {
        $crate::book::Track
    };
    (finds) => {
        $crate::book::Find
    };
    (signals) => {
        $crate::book::Signal
    };
    (zones) => {
        $crate::book::Zone
    };
    (accesses) => {
        $crate::book::Access
    };
    (barriers) => {
        $crate::book::Barrier
    };
    (levels) => {
        $crate::book::LevelPoint
    };
    (permissions) => {
        $crate::book::Permission
    };
    (storms) => {
        $crate::book::Storm
    };
    (seas) => {
        $crate::book::SeaRecord
    };
    (tide_tables) => {
        $crate::book::TideTable
    };
    (gauges) => {
        $crate::book::GaugeRecord
    };
    (plans) => {
        $crate::book::Plan
    };
    (bench) => {
        $crate::book::BenchReading
    };
    (own_kinds) => {
        $crate::book::OwnKind
    };
    (receipts) => {
        $crate::book::Receipt
    };
    (remembered) => {
        $crate::book::Remembered
    };
}

/// A table of the book, shared.
macro_rules! table_of {
    ($table:ident) => { $crate::book::Table<$crate::book::table_access::record_of!($table)> };
}

/// Reading access to a table for a type that holds it in a field of its name.
macro_rules! access_to {
    (beaches) => {
        /// The beaches.
        pub fn beaches(&self) -> &$crate::book::Table<$crate::book::Beach> {
            &self.beaches
        }
    };
    (setups) => {
        /// The set-ups.
        pub fn setups(&self) -> &$crate::book::Table<$crate::book::Setup> {
            &self.setups
        }
    };
    (outings) => {
        /// The outings of every beach.
        pub fn outings(&self) -> &$crate::book::Table<$crate::book::Outing> {
            &self.outings
        }

        /// The outings of one beach, earliest first.
        pub fn outings_of(&self, beach: $crate::book::Uid) -> Vec<&$crate::book::Outing> {
            let mut outings: Vec<_> = self.outings.values().filter(|o| o.beach == beach).collect();
            outings.sort_by_key(|o| (o.start, o.uid));
            outings
        }
    };
    (tracks) => {
        /// The tracks of every beach.
        pub fn tracks(&self) -> &$crate::book::Table<$crate::book::Track> {
            &self.tracks
        }

        /// The tracks of one beach, in order of uid.
        pub fn tracks_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Track> {
            self.tracks.values().filter(move |t| t.beach == beach)
        }
    };
    (finds) => {
        /// The finds of every beach.
        pub fn finds(&self) -> &$crate::book::Table<$crate::book::Find> {
            &self.finds
        }

        /// The finds of one beach, in order of uid.
        pub fn finds_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Find> {
            self.finds.values().filter(move |f| f.beach == beach)
        }
    };
    (signals) => {
        /// The signals of every beach.
        pub fn signals(&self) -> &$crate::book::Table<$crate::book::Signal> {
            &self.signals
        }

        /// The signals of one beach, in order of uid.
        pub fn signals_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Signal> {
            self.signals.values().filter(move |s| s.beach == beach)
        }
    };
    (zones) => {
        /// The zones of every beach.
        pub fn zones(&self) -> &$crate::book::Table<$crate::book::Zone> {
            &self.zones
        }

        /// The zones of one beach, in order of uid.
        pub fn zones_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Zone> {
            self.zones.values().filter(move |z| z.beach == beach)
        }
    };
    (accesses) => {
        /// The ways on and off every beach.
        pub fn accesses(&self) -> &$crate::book::Table<$crate::book::Access> {
            &self.accesses
        }
    };
    (barriers) => {
        /// What bars the way, on every beach.
        pub fn barriers(&self) -> &$crate::book::Table<$crate::book::Barrier> {
            &self.barriers
        }
    };
    (levels) => {
        /// The surveyed levels of every beach.
        pub fn levels(&self) -> &$crate::book::Table<$crate::book::LevelPoint> {
            &self.levels
        }

        /// The surveyed levels of one beach, in order of uid.
        pub fn levels_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::LevelPoint> {
            self.levels.values().filter(move |l| l.beach == beach)
        }
    };
    (permissions) => {
        /// The permissions.
        pub fn permissions(&self) -> &$crate::book::Table<$crate::book::Permission> {
            &self.permissions
        }
    };
    (storms) => {
        /// The storms.
        pub fn storms(&self) -> &$crate::book::Table<$crate::book::Storm> {
            &self.storms
        }

        /// The storms of one beach, earliest first.
        pub fn storms_of(&self, beach: $crate::book::Uid) -> Vec<&$crate::book::Storm> {
            let mut storms: Vec<_> = self.storms.values().filter(|s| s.beach == beach).collect();
            storms.sort_by_key(|s| (s.span().map(|(from, _)| from), s.uid));
            storms
        }
    };
    (seas) => {
        /// The records and forecasts of the sea.
        pub fn seas(&self) -> &$crate::book::Table<$crate::book::SeaRecord> {
            &self.seas
        }

        /// The records and forecasts of the sea off one beach, in order of uid.
        pub fn seas_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::SeaRecord> {
            self.seas.values().filter(move |s| s.beach == beach)
        }
    };
    (tide_tables) => {
        /// The person's own tide tables.
        pub fn tide_tables(&self) -> &$crate::book::Table<$crate::book::TideTable> {
            &self.tide_tables
        }
    };
    (gauges) => {
        /// The gauge records.
        pub fn gauges(&self) -> &$crate::book::Table<$crate::book::GaugeRecord> {
            &self.gauges
        }
    };
    (plans) => {
        /// The plans.
        pub fn plans(&self) -> &$crate::book::Table<$crate::book::Plan> {
            &self.plans
        }
    };
    (bench) => {
        /// The bench readings.
        pub fn bench(&self) -> &$crate::book::Table<$crate::book::BenchReading> {
            &self.bench
        }
    };
    (own_kinds) => {
        /// The rows the person added to the list of kinds.
        pub fn own_kinds(&self) -> &$crate::book::Table<$crate::book::OwnKind> {
            &self.own_kinds
        }
    };
    (receipts) => {
        /// What was handed over.
        pub fn receipts(&self) -> &$crate::book::Table<$crate::book::Receipt> {
            &self.receipts
        }
    };
    (remembered) => {
        /// What was answered about files, by their headings.
        pub fn remembered(&self) -> &$crate::book::Table<$crate::book::Remembered> {
            &self.remembered
        }
    };
}

pub(crate) use {access_to, record_of, table_of};
