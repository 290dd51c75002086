//! The views, each of one thing; none knows another.

pub(crate) mod bench;
pub(crate) mod log;
pub(crate) mod next_low;
pub(crate) mod plan;
pub(crate) mod read;
pub(crate) mod section;
pub(crate) mod share;
pub(crate) mod time;
