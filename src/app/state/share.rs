//! What is typed and chosen on the sheet Share.

use crate::book::Uid;
use crate::query::{Given, HandOver, WholeBook};
use crate::share::PackAsk;

/// For whom a hand-over is and where it goes.
#[derive(Clone, Default)]
pub(crate) struct ShareView {
    /// The permission whose terms decide; everything, exactly as it is, without one.
    pub(crate) permission: Option<Uid>,
    pub(crate) folder: String,
    /// The first and the last day to tell of, as they are typed.
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) new_only: bool,
    pub(crate) pictures: bool,
    pub(crate) preview: Option<Preview>,
}

/// What would leave, and what of: it is shown only as long as that is so.
#[derive(Clone)]
pub(crate) struct Preview {
    pub(crate) book: WholeBook,
    pub(crate) asked: (Uid, PackAsk),
    pub(crate) made: Given<HandOver>,
}

impl ShareView {
    /// What is asked for under the chosen permission but for its pictures; nothing where none is chosen.
    ///
    /// # Errors
    /// A sentence about a day that cannot be read.
    pub(crate) fn asked(&self) -> Result<Option<(Uid, PackAsk)>, String> {
        let Some(uid) = self.permission else { return Ok(None) };
        let day = |what: &str, text: &str| match text.trim() {
            "" => Ok(None),
            text => text.parse().map(Some).map_err(|_| format!("{what}: \"{text}\" is not a day such as 2027-03-31")),
        };
        let (from, to) = (day("first day", &self.from)?, day("last day", &self.to)?);
        Ok(Some((uid, PackAsk { from, to, new_only: self.new_only, photos: None })))
    }
}
