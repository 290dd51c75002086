use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::Progress;
use crate::book::FreeHours;
use crate::shore::{Setting, low_marks};
use crate::sun;
use crate::tide::{LOWS_REACH, Low, LowsAsked, Window, lows_compared, next_lows};

/// What the list of lows is asked for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LowsAsk {
    /// Midnight of the day it begins with, on the beach's clock.
    pub(crate) from: Timestamp,
    /// Days looked ahead.
    pub(crate) days: i64,
    /// The person's free hours.
    pub(crate) free: FreeHours,
    /// Another run-up than the beach's own, metres.
    pub(crate) run_up_m: Option<f64>,
}

/// The coming low waters and what they lay dry.
pub(crate) struct Lows {
    /// Tide levels from mean sea level down, with their names: the lower edges of bands.
    pub(crate) marks: Vec<(String, f64)>,
    /// Height kept above the predicted water, metres.
    pub(crate) margin_m: f64,
    /// Part of it for waves running up, metres.
    pub(crate) run_up_m: f64,
    /// Which lows each is compared with, in words.
    pub(crate) compared: &'static str,
    /// The free hours that were counted.
    pub(crate) free: FreeHours,
    /// Every low from [`LowsAsk::from`] on, soonest first; its windows follow `marks`.
    pub(crate) lows: Vec<Low>,
}

impl Lows {
    /// The lows of a beach.
    ///
    /// # Errors
    /// A sentence when the beach has no water, the days leave the calendar or the work was called off.
    pub(crate) fn coming(setting: &Setting, zone: &TimeZone, ask: &LowsAsk, progress: &Progress) -> Result<Self, String> {
        let water = setting.water.as_ref().ok_or("there is no tide source for this beach")?;
        let marks: Vec<(String, f64)> = low_marks(&setting.marks).into_iter().map(|m| (m.name, m.level_m)).collect();
        let to = ask
            .from
            .checked_add(SignedDuration::from_hours(24 * ask.days))
            .map_err(|_| "this is beyond the calendar".to_owned())?;
        progress.check().map_err(|e| e.to_string())?;
        let levels_m: Vec<f64> = marks.iter().map(|(_, m)| *m).collect();
        let free = ask.free.within(zone, ask.from, to + SignedDuration::from_hours(24));
        let free: Option<Vec<Window>> = free.map(|hours| hours.into_iter().map(Window::from).collect());
        let run_up_m = ask.run_up_m.unwrap_or(setting.run_up_m);
        let margin_m = setting.surge.margin_m() + setting.source_margin_m() + run_up_m;
        let lit = sun::lit(setting.beach.origin, ask.from - LOWS_REACH, to + LOWS_REACH, sun::CIVIL_DEG);
        let daylight: Vec<Window> = lit.into_iter().map(Window::from).collect();
        let asked = LowsAsked { daylight: &daylight, from: ask.from, to, levels_m: &levels_m, margin_m, free: free.as_deref() };
        Ok(Self {
            lows: next_lows(water, &asked),
            marks,
            margin_m,
            run_up_m,
            compared: lows_compared(water),
            free: ask.free.clone(),
        })
    }
}
