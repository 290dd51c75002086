use jiff::Timestamp;

use crate::shore::Setting;

/// A moment on the beach's clock, to the minute.
pub(crate) fn beach_clock(setting: &Setting, time: Timestamp) -> String {
    match setting.beach.zone() {
        Ok(zone) => time.to_zoned_datetime(zone).strftime("%a %-d %b %Y %H:%M").to_string(),
        Err(_) => time.to_string(),
    }
}
