//! The few functions of geometry that the triggers of a spatial index call.
//!
//! Another program may have added the standard's R-tree index (`gpkg_rtree_index`) to a layer of
//! the book; its triggers run on every write and need `ST_IsEmpty`, `ST_MinX` and their kin.

use rusqlite::Connection;
use rusqlite::functions::{Context, FunctionFlags};
use rusqlite::types::ValueRef;

use super::blob::{self, Bounds};

fn bounds(context: &Context<'_>) -> Option<Bounds> {
    match context.get_raw(0) {
        ValueRef::Blob(blob) => blob::bounds_of(blob),
        _ => None,
    }
}

/// Makes the functions known to a connection.
pub(super) fn register(conn: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_UTF8 | FunctionFlags::SQLITE_DETERMINISTIC | FunctionFlags::SQLITE_INNOCUOUS;
    let side =
        |name, side: fn(Bounds) -> f64| conn.create_scalar_function(name, 1, flags, move |context| Ok(bounds(context).map(side)));
    side("ST_MinX", |b| b.min_x)?;
    side("ST_MaxX", |b| b.max_x)?;
    side("ST_MinY", |b| b.min_y)?;
    side("ST_MaxY", |b| b.max_y)?;
    conn.create_scalar_function("ST_IsEmpty", 1, flags, |context| match context.get_raw(0) {
        ValueRef::Null => Ok(None),
        _ => Ok(Some(bounds(context).is_none())),
    })
}
