//! A set-up as it answers on one ground.

use std::borrow::Cow;

use super::learned::Learned;
use crate::book::Ground;

impl Learned {
    /// The set-up as it answers signals heard on this ground, or on that which it notes itself: what was read on other
    /// ground is moved to it. It is itself where no ground is known or all was read on one.
    pub(super) fn on(&self, heard_on: Option<Ground>) -> Cow<'_, Self> {
        let Some(here) = heard_on.or(self.evidence.ground) else { return Cow::Borrowed(self) };
        // Who names a ground is told what was made of it; whose set-up names it, where there is anything to make.
        if heard_on.is_none() && !self.evidence.holds_other_ground(here) {
            return Cow::Borrowed(self);
        }
        let (read_on, moved) = self.evidence.read_on(here);
        let anew = moved.and_then(|evidence| Self::to_answer(evidence, self.name.clone(), self.gauge.clone()).ok());
        let learned = anew.map_or_else(|| self.clone(), |anew| Self { setup: self.setup, ..anew });
        Cow::Owned(Self { read_on: Some(read_on), ..learned })
    }
}
