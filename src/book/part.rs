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

/// Declares a part of the book, and which smaller parts it holds:
/// `part! { /// docs  pub struct EffortTables: beaches, outings; holds SmallTables: outings; }`.
macro_rules! part {
    ($(#[$meta:meta])* pub struct $name:ident: $($table:ident),+ ; $(holds $other:ident: $($shared:ident),+ ;)*) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Default)]
        #[allow(unreachable_pub, reason = "parts made for a test are seen there alone")]
        pub struct $name { $( $table: $crate::book::table_access::table_of!($table), )+ }

        // A part offers every table that it names, whether or not someone reads it through this very part.
        #[allow(dead_code, unreachable_pub, reason = "the accessors come with the tables")]
        impl $name {
            /// From the tables themselves.
            #[allow(clippy::too_many_arguments, reason = "one for each table, and each of another type")]
            pub(crate) fn gathered($( $table: $crate::book::table_access::table_of!($table), )+) -> Self { Self { $( $table, )+ } }

            $( $crate::book::table_access::access_to!($table); )+
        }

        impl $crate::book::Part for $name {
            fn of_book(book: &$crate::book::Book) -> Self { Self { $( $table: book.$table.clone(), )+ } }

            fn is_same(&self, other: &Self) -> bool { true $( && self.$table.is_same(&other.$table) )+ }
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
            fn from(part: &$name) -> Self { $other::gathered($( part.$shared.clone(), )+) }
        } )*
    };
}

pub(crate) use part;

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
