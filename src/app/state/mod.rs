//! What is selected, shown and being edited, and what every view reads in one frame.

mod frame_context;
pub(crate) mod log_rows;
mod photo;
mod selection;

pub(crate) use frame_context::*;
pub(crate) use photo::PhotoView;
pub use selection::*;
