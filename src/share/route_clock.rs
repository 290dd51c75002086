use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::shore::Setting;

/// The clock of the beach; seconds are dropped, so that no time is printed later than it is.
pub(super) struct RouteClock(TimeZone);

impl RouteClock {
    pub(super) fn on_beach(setting: &Setting) -> Self {
        Self(setting.beach.zone().unwrap_or(TimeZone::UTC))
    }

    pub(super) fn hour(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%H:%M").to_string()
    }

    pub(super) fn day(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%A %-d %B %Y").to_string()
    }

    pub(super) fn zone(&self, time: Timestamp) -> String {
        time.to_zoned_datetime(self.0.clone()).strftime("%Z, UTC%:z").to_string()
    }
}
