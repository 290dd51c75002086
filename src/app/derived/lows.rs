use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::Progress;
use crate::shore::{Setting, low_marks};
use crate::tide::{FreeHours, Low, LowsAsked, next_lows};

/// What the list of lows is asked for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LowsAsk {
    /// Midnight of the day it begins with, on the beach's clock.
    pub(crate) from: Timestamp,
    /// Days looked ahead.
    pub(crate) days: i64,
    /// The person's free hours.
    pub(crate) free: FreeHours,
}

/// The coming low waters and what they lay dry.
pub(crate) struct Lows {
    /// Tide levels from mean sea level down, with their names: the lower edges of bands.
    pub(crate) marks: Vec<(String, f64)>,
    /// Height kept above the predicted water, metres.
    pub(crate) margin_m: f64,
    /// Every low from [`LowsAsk::from`] on, soonest first; its windows follow `marks`.
    pub(crate) lows: Vec<Low>,
}

impl Lows {
    /// The lows of a beach.
    ///
    /// # Errors
    /// A sentence when the beach has no water, the days leave the calendar or the work was called off.
    pub(crate) fn of(setting: &Setting, zone: &TimeZone, ask: &LowsAsk, progress: &Progress) -> Result<Self, String> {
        let water = setting.water.as_ref().ok_or("there is no tide source for this beach")?;
        let marks: Vec<(String, f64)> = low_marks(&setting.marks).into_iter().map(|m| (m.name, m.level_m)).collect();
        let to = ask
            .from
            .checked_add(SignedDuration::from_hours(24 * ask.days))
            .map_err(|_| "this is beyond the calendar".to_owned())?;
        progress.check().map_err(|e| e.to_string())?;
        let levels_m: Vec<f64> = marks.iter().map(|(_, m)| *m).collect();
        let free = ask.free.windows(zone, ask.from, to + SignedDuration::from_hours(24));
        let margin_m = setting.surge.margin_m();
        let asked =
            LowsAsked { at: setting.beach.origin, from: ask.from, to, levels_m: &levels_m, margin_m, free: free.as_deref() };
        Ok(Self { lows: next_lows(water, &asked), marks, margin_m })
    }
}
