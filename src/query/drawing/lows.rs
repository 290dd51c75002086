use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::Progress;
use crate::book::{FreeHours, Weather};
use crate::sea::{RunUp, Waves};
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
    /// The waves that the person expects.
    pub(crate) sea: Option<Waves>,
}

/// The coming low waters and what they lay dry.
pub(crate) struct Lows {
    /// Tide levels from mean sea level down, with their names: the lower edges of bands.
    pub(crate) marks: Vec<(String, f64)>,
    /// Height kept above the predicted water at most, metres.
    pub(crate) margin_m: f64,
    /// Part of it for waves running up, and the sea that it was worked out for: the roughest of the time listed.
    pub(crate) run_up: RunUp,
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
        let free = ask.free.within(zone, ask.from, to + SignedDuration::from_hours(24));
        let free: Option<Vec<Window>> = free.map(|hours| hours.into_iter().map(Window::from).collect());
        let weather = Weather { run_up_m: ask.run_up_m.or(setting.beach.weather.run_up_m), ..setting.beach.weather };
        let setting = setting.clone().with_weather(weather).with_waves(ask.sea);
        let (first, last) = (ask.from - LOWS_REACH, to + LOWS_REACH);
        let dry: Vec<Vec<Window>> = marks.iter().map(|(_, m)| setting.dry_windows(*m, 0.0, (first, last))).collect();
        let highest = |(_, m): &(String, f64)| setting.sea.highest(setting.foreshore_below(*m), ask.from, to);
        let run_up = marks.iter().map(highest).max_by(|a, b| a.m.total_cmp(&b.m)).unwrap_or(setting.run_up);
        progress.check().map_err(|e| e.to_string())?;
        let lit = sun::lit(setting.beach.origin, ask.from - LOWS_REACH, to + LOWS_REACH, sun::CIVIL_DEG);
        let daylight: Vec<Window> = lit.into_iter().map(Window::from).collect();
        let asked = LowsAsked { daylight: &daylight, from: ask.from, to, dry: &dry, free: free.as_deref() };
        Ok(Self {
            lows: next_lows(water, &asked),
            marks,
            margin_m: setting.surge.margin_m() + run_up.m,
            run_up,
            compared: lows_compared(water),
            free: ask.free.clone(),
        })
    }
}
