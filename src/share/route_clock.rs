use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::shore::Setting;

/// The clock of the beach; seconds are dropped, so that no time is printed later than it is.
pub(super) struct RouteClock(TimeZone);

impl RouteClock {
    pub(super) fn on_beach(setting: &Setting) -> Self {
        Self(setting.beach.zone().unwrap_or(TimeZone::UTC))
    }

    fn said(&self, time: Timestamp, pattern: &str) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime(pattern).to_string()
    }

    pub(super) fn hour(&self, time: Timestamp) -> String {
        self.said(time, "%H:%M")
    }

    pub(super) fn day(&self, time: Timestamp) -> String {
        self.said(time, "%A %-d %B %Y")
    }

    /// Day and hour with the clock's name.
    pub(super) fn whole(&self, time: Timestamp) -> String {
        self.said(time, "%a %-d %b %Y %H:%M %Z")
    }

    /// The clock's name then, such as GMT or BST.
    pub(super) fn name(&self, time: Timestamp) -> String {
        self.said(time, "%Z")
    }

    /// How far it is ahead of UTC then, such as +01:00.
    pub(super) fn offset(&self, time: Timestamp) -> String {
        self.said(time, "%:z")
    }

    pub(super) fn zone(&self, time: Timestamp) -> String {
        format!("{}, UTC{}", self.name(time), self.offset(time))
    }
}
