//! The files of the world, in and out.
//!
//! Reading is a dry run: [`look()`] tells what a file would change in a book, record by record, with
//! the line of whatever it refuses, and leaves the change itself as an [`Edit`](crate::book::Edit) to be applied
//! elsewhere in one go. The format is told by content, never by the file's name. A record's uid
//! comes from its content, so the same file, a copy of it or the same record in another format
//! adds nothing the second time.
//!
//! Writing is pure: [`gpx::write`], [`geojson::write`] and [`export()`] give bytes.

mod error;
mod export;
mod folder;
mod formats;
mod look;
mod options;
mod records;
mod take_in;
mod tools;
mod what;

pub use error::{ExchangeError, Fault};
pub use export::{Chosen, Written, export};
pub use folder::{Named, PassedOver, files_of};
pub use formats::photo::{Along, along};
pub use formats::{geojson, gpx};
pub use look::{extent, look, look_all};
pub use options::Options;
pub use take_in::{About, ColumnRead, Extent, Format, Intake, Intakes, Refusal, Understood, Unsettled};
pub use tools::{Source, place_typed};
pub use what::What;
