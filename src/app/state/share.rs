//! What is typed and chosen on the sheet Share.

use crate::book::Uid;

/// For whom a hand-over is and where it goes.
#[derive(Debug, Clone, Default)]
pub(crate) struct ShareView {
    /// The permission whose terms decide; everything, exactly as it is, without one.
    pub(crate) permission: Option<Uid>,
    pub(crate) folder: String,
}
