//! Parts of a book: some of its tables, shared with it, for work that must see no others.
//!
//! Work that is handed a part cannot read a table that the part does not name: the compiler says so.
//! Two parts are [the same](crate::book::Part::is_same) when their tables are one and the same in
//! memory, which costs nothing to find out and holds exactly until one of those tables is edited.

use super::Book;

/// Some tables of a book.
pub trait Part: Clone + Send + Sync + 'static {
    /// The part of a book, shared with it.
    fn of_book(book: &Book) -> Self;

    /// Whether the tables are one and the same in memory: no edit lies between them.
    fn is_same(&self, other: &Self) -> bool;
}

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
}

/// A table of the book, shared.
macro_rules! table_of {
    ($table:ident) => { std::sync::Arc<std::collections::BTreeMap<$crate::book::Uid, $crate::book::part::record_of!($table)>> };
}

/// Reading access to a table for a type that holds it in a field of its name.
macro_rules! access_to {
    (beaches) => {
        /// The beaches.
        pub fn beaches(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Beach> {
            &self.beaches
        }
    };
    (setups) => {
        /// The set-ups.
        pub fn setups(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Setup> {
            &self.setups
        }
    };
    (outings) => {
        /// The outings of every beach.
        pub fn outings(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Outing> {
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
        pub fn tracks(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Track> {
            &self.tracks
        }

        /// The tracks of one beach, in order of uid.
        pub fn tracks_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Track> {
            self.tracks.values().filter(move |t| t.beach == beach)
        }
    };
    (finds) => {
        /// The finds of every beach.
        pub fn finds(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Find> {
            &self.finds
        }

        /// The finds of one beach, in order of uid.
        pub fn finds_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Find> {
            self.finds.values().filter(move |f| f.beach == beach)
        }
    };
    (signals) => {
        /// The signals of every beach.
        pub fn signals(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Signal> {
            &self.signals
        }

        /// The signals of one beach, in order of uid.
        pub fn signals_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Signal> {
            self.signals.values().filter(move |s| s.beach == beach)
        }
    };
    (zones) => {
        /// The zones of every beach.
        pub fn zones(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Zone> {
            &self.zones
        }

        /// The zones of one beach, in order of uid.
        pub fn zones_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::Zone> {
            self.zones.values().filter(move |z| z.beach == beach)
        }
    };
    (accesses) => {
        /// The ways on and off every beach.
        pub fn accesses(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Access> {
            &self.accesses
        }
    };
    (barriers) => {
        /// What bars the way, on every beach.
        pub fn barriers(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Barrier> {
            &self.barriers
        }
    };
    (levels) => {
        /// The surveyed levels of every beach.
        pub fn levels(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::LevelPoint> {
            &self.levels
        }

        /// The surveyed levels of one beach, in order of uid.
        pub fn levels_of(&self, beach: $crate::book::Uid) -> impl Iterator<Item = &$crate::book::LevelPoint> {
            self.levels.values().filter(move |l| l.beach == beach)
        }
    };
    (permissions) => {
        /// The permissions.
        pub fn permissions(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Permission> {
            &self.permissions
        }
    };
    (storms) => {
        /// The storms.
        pub fn storms(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Storm> {
            &self.storms
        }

        /// The storms of one beach, earliest first.
        pub fn storms_of(&self, beach: $crate::book::Uid) -> Vec<&$crate::book::Storm> {
            let mut storms: Vec<_> = self.storms.values().filter(|s| s.beach == beach).collect();
            storms.sort_by_key(|s| (s.span().map(|(from, _)| from), s.uid));
            storms
        }
    };
    (tide_tables) => {
        /// The person's own tide tables.
        pub fn tide_tables(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::TideTable> {
            &self.tide_tables
        }
    };
    (gauges) => {
        /// The gauge records.
        pub fn gauges(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::GaugeRecord> {
            &self.gauges
        }
    };
    (plans) => {
        /// The plans.
        pub fn plans(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::Plan> {
            &self.plans
        }
    };
    (bench) => {
        /// The bench readings.
        pub fn bench(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::BenchReading> {
            &self.bench
        }
    };
    (own_kinds) => {
        /// The rows the person added to the list of kinds.
        pub fn own_kinds(&self) -> &std::collections::BTreeMap<$crate::book::Uid, $crate::book::OwnKind> {
            &self.own_kinds
        }
    };
}

/// Declares a part of the book, and which smaller parts it holds:
/// `part! { /// docs  pub struct EffortTables: beaches, outings; holds SmallTables: outings; }`.
macro_rules! part {
    ($(#[$meta:meta])* pub struct $name:ident: $($table:ident),+ ; $(holds $other:ident: $($shared:ident),+ ;)*) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Default)]
        #[allow(unreachable_pub, reason = "parts made for a test are seen there alone")]
        pub struct $name { $( $table: $crate::book::part::table_of!($table), )+ }

        // A part offers every table that it names, whether or not someone reads it through this very part.
        #[allow(dead_code, unreachable_pub, reason = "the accessors come with the tables")]
        impl $name {
            /// From the tables themselves.
            #[allow(clippy::too_many_arguments, reason = "one for each table, and each of another type")]
            pub(crate) fn gathered($( $table: $crate::book::part::table_of!($table), )+) -> Self { Self { $( $table, )+ } }

            $( $crate::book::part::access_to!($table); )+
        }

        impl $crate::book::Part for $name {
            fn of_book(book: &$crate::book::Book) -> Self { Self { $( $table: std::sync::Arc::clone(&book.$table), )+ } }

            fn is_same(&self, other: &Self) -> bool { true $( && std::sync::Arc::ptr_eq(&self.$table, &other.$table) )+ }
        }

        /// The same until one of the tables is edited.
        impl PartialEq for $name {
            fn eq(&self, other: &Self) -> bool { $crate::book::Part::is_same(self, other) }
        }

        impl From<&$crate::book::Book> for $name {
            fn from(book: &$crate::book::Book) -> Self { <Self as $crate::book::Part>::of_book(book) }
        }

        impl From<&$name> for $name {
            fn from(part: &$name) -> Self { part.clone() }
        }

        $( impl From<&$name> for $other {
            fn from(part: &$name) -> Self { $other::gathered($( std::sync::Arc::clone(&part.$shared), )+) }
        } )*
    };
}

pub(crate) use {access_to, part, record_of, table_of};

part! {
    /// What was found, and nothing else.
    pub struct FindTables: finds;
}

/// The whole book, where every table matters.
impl Part for Book {
    fn of_book(book: &Book) -> Self {
        book.clone()
    }

    fn is_same(&self, other: &Self) -> bool {
        self.shares_all_with(other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Edit, Find, Kind};
    use crate::earth::LonLat;

    part! {
        /// Places alone.
        pub struct Small: beaches;
    }
    part! {
        /// Two tables.
        pub struct Large: beaches, finds;
        holds Small: beaches;
    }

    #[test]
    fn a_part_is_the_same_until_one_of_its_tables_is_edited() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let mut book = Book::new();
        book.apply(&Edit::put(beach.clone())).unwrap();
        let (small, large, whole) = (Small::of_book(&book), Large::of_book(&book), book.clone());
        assert!(small.is_same(&Small::of_book(&book)) && large.is_same(&Large::from(&book)) && whole.is_same(&book));
        book.apply(&Edit::put(Find::new(beach.uid, beach.origin, "ring", Kind::keyed("ring")))).unwrap();
        assert!(small.is_same(&Small::of_book(&book)), "the find is none of its business");
        assert!(!large.is_same(&Large::of_book(&book)) && !whole.is_same(&book));
        assert!(Small::from(&large).is_same(&small) && large.finds().is_empty() && Large::from(&book).finds().len() == 1);
    }
}
