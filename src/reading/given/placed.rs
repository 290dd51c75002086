//! Finds and signals laid in the plane of their beach.

use jiff::Timestamp;

use crate::book::{Kind, Uid, Weight};
use crate::earth::{Frame, Local};

/// A find with everything a reading asks of its place.
#[derive(Debug, Clone)]
pub(in crate::reading) struct Placed {
    pub(in crate::reading) uid: Uid,
    pub(in crate::reading) kind: Kind,
    /// Heavy or light if it is not of iron; iron is a class of its own, as it swells with rust and
    /// is left in the sand by many who search.
    pub(in crate::reading) weight: Weight,
    pub(in crate::reading) iron: bool,
    pub(in crate::reading) time: Option<Timestamp>,
    /// The same where it is known to the minute, not by the day alone.
    pub(in crate::reading) minute: Option<Timestamp>,
    pub(in crate::reading) outing: Option<Uid>,
    pub(in crate::reading) at: Local,
    /// Level of the sand above the land datum, metres.
    pub(in crate::reading) land_m: Option<f64>,
    /// Which of the setting's bands.
    pub(in crate::reading) band: Option<usize>,
    /// Whether it shares its position with many others.
    pub(in crate::reading) pinned: bool,
}

/// A signal left undug, laid in the beach's plane.
#[derive(Debug, Clone, Copy)]
pub(in crate::reading) struct Heard {
    pub(in crate::reading) at: Local,
    /// Which of the setting's bands.
    pub(in crate::reading) band: Option<usize>,
}

/// The finds of a beach laid in its plane, in order of uid, with what was left out and why.
pub(in crate::reading) struct PlacedFinds {
    pub(in crate::reading) frame: Frame,
    pub(in crate::reading) finds: Vec<Placed>,
    /// Signals left undug, in order of uid; never among the finds.
    pub(in crate::reading) signals: Vec<Heard>,
    /// Positions that many finds share, most finds first.
    pub(in crate::reading) heaps: Vec<(Local, usize)>,
    pub(in crate::reading) too_far: usize,
    pub(in crate::reading) repeated: usize,
}
