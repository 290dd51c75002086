use crate::book::{RecordKind, Uid};

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
