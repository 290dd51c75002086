//! The tables of a book: each is declared once, and from that come its columns and how a row is
//! written and read.

use rusqlite::Row;
use rusqlite::types::{Value, ValueRef};

use super::blob::{self, Bounds};
use super::cell::Cell;
use super::geom::{Geom, GeomType};

/// Column of the geometry, in every table that has one.
pub(super) const GEOM: &str = "geom";

/// A table as it stands in the file.
#[derive(Debug, Clone)]
pub(super) struct Table {
    pub(super) name: &'static str,
    /// What it holds, for whoever opens the file elsewhere.
    pub(super) about: &'static str,
    pub(super) geom: Option<GeomType>,
    /// The column with the uid of the record a row belongs to.
    pub(super) owner: &'static str,
    /// The column that numbers the rows of one record, where one record has several.
    pub(super) number: Option<&'static str>,
    /// Names and types, in order, without row number and geometry; the owner comes first.
    pub(super) columns: Vec<(&'static str, &'static str)>,
}

impl Table {
    /// Geometry and columns by name, quoted, in the order in which rows are written and read.
    fn names(&self) -> Vec<String> {
        self.geom.map(|_| GEOM).into_iter().chain(self.columns.iter().map(|c| c.0)).map(|n| format!("\"{n}\"")).collect()
    }

    /// The statement that makes it.
    pub(super) fn create(&self) -> String {
        let mut parts = vec!["fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL".to_owned()];
        parts.extend(self.geom.map(|g| format!("\"{GEOM}\" {}", g.name)));
        for (name, sql) in &self.columns {
            // Rows that other programs add may lack a uid; they are given one when the book is opened. A
            // default that makes one would be neater, but GDAL stores the text of such a default.
            let rule = match (*name == self.owner, self.number) {
                (true, None) => " UNIQUE",
                (false, Some(number)) if number == *name => " NOT NULL DEFAULT 0",
                _ => "",
            };
            parts.push(format!("\"{name}\" {sql}{rule}"));
        }
        parts.extend(self.number.map(|n| format!("UNIQUE (\"{}\", \"{n}\")", self.owner)));
        format!("CREATE TABLE IF NOT EXISTS \"{}\" (\n  {}\n)", self.name, parts.join(",\n  "))
    }

    /// The statement that adds a row.
    pub(super) fn insert(&self) -> String {
        let names = self.names();
        let marks = vec!["?"; names.len()].join(", ");
        format!("INSERT INTO \"{}\" ({}) VALUES ({marks})", self.name, names.join(", "))
    }

    /// The statement that adds the row of a record unless the record has one, for a table with one row a record.
    pub(super) fn insert_new(&self) -> Option<String> {
        self.number.is_none().then(|| format!("{} ON CONFLICT (\"{}\") DO NOTHING", self.insert(), self.owner))
    }

    /// The statement that changes a row, whose number comes last.
    pub(super) fn update(&self) -> String {
        let sets: Vec<_> = self.names().iter().map(|n| format!("{n} = ?")).collect();
        format!("UPDATE \"{}\" SET {} WHERE rowid = ?", self.name, sets.join(", "))
    }

    /// The statement that lists the rows of a record: row, number, head of the geometry.
    pub(super) fn find(&self) -> String {
        let number = self.number.map_or_else(|| "0".to_owned(), |n| format!("\"{n}\""));
        let head = self.geom.map_or_else(|| "NULL".to_owned(), |_| format!("substr(\"{GEOM}\", 1, {})", blob::HEADER));
        format!("SELECT rowid, {number}, {head} FROM \"{}\" WHERE \"{}\" = ? ORDER BY rowid", self.name, self.owner)
    }

    /// The statement that reads every row.
    pub(super) fn select(&self) -> String {
        format!("SELECT rowid, {} FROM \"{}\" ORDER BY rowid", self.names().join(", "), self.name)
    }
}

/// A row to be written.
#[derive(Debug)]
pub(super) struct RowOut {
    pub(super) number: u32,
    pub(super) geom: Option<(Vec<u8>, Option<Bounds>)>,
    pub(super) cells: Vec<Value>,
}

/// What is wrong with a row, in one clause that follows the row's name.
pub(super) type Fault = String;

/// A type whose values are the rows of one table.
pub(super) trait Layer: Sized {
    /// The table's name.
    const NAME: &'static str;

    /// The table as it stands in the file.
    fn table() -> Table;

    /// The value as a row.
    fn row(&self) -> RowOut;

    /// The value of a row.
    fn read(row: &RowIn<'_>) -> Result<Self, Fault>;
}

/// A row as it was read: its number, its geometry if the table has one, its columns in order.
///
/// Fields are taken in that order, so that a row is read without looking up names.
pub(super) struct RowIn<'a> {
    row: &'a Row<'a>,
    next: std::cell::Cell<usize>,
}

impl<'a> RowIn<'a> {
    pub(super) fn new(row: &'a Row<'a>) -> Self {
        Self { row, next: std::cell::Cell::new(1) }
    }

    fn value(&self) -> Result<ValueRef<'a>, String> {
        self.row.get_ref(self.next.replace(self.next.get() + 1)).map_err(|e| format!("cannot be read ({e})"))
    }

    pub(super) fn cell<T: Cell>(&self, column: &str) -> Result<T, Fault> {
        self.value().and_then(T::take).map_err(|why| format!("column {column} {why}"))
    }

    pub(super) fn geom<T: Geom>(&self) -> Result<T, Fault> {
        let blob = match self.value().map_err(|why| format!("the geometry {why}"))? {
            ValueRef::Blob(blob) => blob,
            ValueRef::Null => return Err("has no geometry".to_owned()),
            _ => return Err("the geometry is not binary data".to_owned()),
        };
        blob::decode(blob).and_then(T::from_shape).map_err(|why| format!("the geometry {why}"))
    }
}

/// The type that a field's column is declared as.
pub(super) fn sql_of<R, T: Cell>(_: fn(&R) -> &T) -> &'static str {
    T::SQL
}

/// The type that a field's geometry is declared as.
pub(super) fn geom_of<R, T: Geom>(_: fn(&R) -> &T) -> GeomType {
    T::TYPE
}

/// A geometry as it is written.
pub(super) fn encode<T: Geom>(geometry: &T) -> (Vec<u8>, Option<Bounds>) {
    let shape = geometry.shape();
    (blob::encode(&shape, T::TYPE.dims), shape.bounds())
}

/// Name of a field's column: the field's own unless another is given.
macro_rules! column {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident, $name:literal) => {
        $name
    };
}
pub(super) use column;

/// Declares the table of a type: its name, what it holds, its geometry field if it has one, the
/// owner's column, the numbering field if a record has several rows, and the fields that are columns.
macro_rules! layer {
    (
        $name:literal, $about:literal, $ty:ident $(at $geom:ident)? , owner $owner:ident $(, number $number:ident)? ;
        $( $field:ident $(= $column:literal)? ),+ $(,)?
    ) => {
        impl $crate::store::layer::Layer for $ty {
            const NAME: &'static str = $name;

            fn table() -> $crate::store::layer::Table {
                use $crate::store::layer::{column, sql_of};
                #[allow(unused_mut, unused_assignments, reason = "not every table has a geometry")]
                let mut geom = None;
                $( geom = Some($crate::store::layer::geom_of(|r: &$ty| &r.$geom)); )?
                #[allow(unused_mut, unused_assignments, reason = "not every table numbers its rows")]
                let mut number = None;
                $( number = Some(stringify!($number)); )?
                let columns = vec![ $( (column!($field $(, $column)?), sql_of(|r: &$ty| &r.$field)) ),+ ];
                $crate::store::layer::Table { name: $name, about: $about, geom, owner: stringify!($owner), number, columns }
            }

            fn row(&self) -> $crate::store::layer::RowOut {
                #[allow(unused_mut, unused_assignments, reason = "not every table has a geometry")]
                let mut geom = None;
                $( geom = Some($crate::store::layer::encode(&self.$geom)); )?
                #[allow(unused_mut, unused_assignments, reason = "not every table numbers its rows")]
                let mut number = 0;
                $( number = self.$number; )?
                let cells = vec![ $( $crate::store::cell::Cell::put(&self.$field) ),+ ];
                $crate::store::layer::RowOut { number, geom, cells }
            }

            fn read(row: &$crate::store::layer::RowIn<'_>) -> Result<Self, $crate::store::layer::Fault> {
                use $crate::store::layer::column;
                Ok(Self { $( $geom: row.geom()?, )? $( $field: row.cell(column!($field $(, $column)?))? ),+ })
            }
        }
    };
}
pub(super) use layer;
