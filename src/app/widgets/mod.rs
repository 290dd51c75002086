//! What several views share: paint, type and the few controls of our own.

pub(crate) mod controls;
pub(crate) mod theme;
pub(crate) mod world;
