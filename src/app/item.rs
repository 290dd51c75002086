//! Anything a person can point at, in any view or list, and which weights of it are looked at.

use crate::book::{RecordKind, Uid, Weight};
use crate::reading::Of;

/// Anything a person can point at, in any view or list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// Something dug.
    Find(Uid),
    /// Something heard and not dug.
    Signal(Uid),
    /// A visit.
    Outing(Uid),
    /// A named part of the beach.
    Zone(Uid),
    /// Ground covered by a permission.
    Permission(Uid),
    /// A way on and off.
    Access(Uid),
    /// What bars the way.
    Barrier(Uid),
    /// A spell of heavy sea.
    Storm(Uid),
    /// A cluster of the present reading, by its number.
    Cluster(usize),
    /// A hot spot of the present reading, by its place in it; a drop zone is one too.
    HotSpot(usize),
    /// A scour line of the present reading, by its place in it.
    ScourLine(usize),
    /// A band of the present reading, by its number.
    Band(usize),
}

impl Item {
    /// The record behind it, if it is one of the book's.
    pub fn record(self) -> Option<(RecordKind, Uid)> {
        match self {
            Self::Find(uid) => Some((RecordKind::Find, uid)),
            Self::Signal(uid) => Some((RecordKind::Signal, uid)),
            Self::Outing(uid) => Some((RecordKind::Outing, uid)),
            Self::Zone(uid) => Some((RecordKind::Zone, uid)),
            Self::Permission(uid) => Some((RecordKind::Permission, uid)),
            Self::Access(uid) => Some((RecordKind::Access, uid)),
            Self::Barrier(uid) => Some((RecordKind::Barrier, uid)),
            Self::Storm(uid) => Some((RecordKind::Storm, uid)),
            Self::Cluster(_) | Self::HotSpot(_) | Self::ScourLine(_) | Self::Band(_) => None,
        }
    }
}

/// Which finds a reading takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum WeightChoice {
    /// Every find.
    #[default]
    All,
    /// Heavy ones.
    Heavy,
    /// Light ones.
    Light,
}

impl WeightChoice {
    /// Every choice in the order they stand.
    pub const ALL: [Self; 3] = [Self::All, Self::Heavy, Self::Light];

    /// Its name on screen.
    pub fn label(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Heavy => "heavy",
            Self::Light => "light",
        }
    }

    /// Whether a find of this weight is taken.
    pub fn takes(self, weight: Weight) -> bool {
        match self {
            Self::All => true,
            Self::Heavy => weight == Weight::Heavy,
            Self::Light => weight == Weight::Light,
        }
    }

    /// The reading's word for it.
    pub(crate) fn in_reading(self) -> Of {
        match self {
            Self::All => Of::All,
            Self::Heavy => Of::Heavy,
            Self::Light => Of::Light,
        }
    }
}
