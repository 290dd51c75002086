//! What several views share: paint, type and the few controls of our own.

pub(crate) mod canvas;
pub(crate) mod controls;
pub(crate) mod crowd;
pub(crate) mod form;
pub(crate) mod hatch;
pub(crate) mod item_card;
pub(crate) mod kept;
pub(crate) mod labels;
pub(crate) mod lacking;
pub(crate) mod lines;
pub(crate) mod lists;
pub(crate) mod marks;
pub(crate) mod named_marks;
pub(crate) mod shades;
pub(crate) mod terms;
pub(crate) mod theme;
pub(crate) mod typed;
pub(crate) mod world;
