use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::Progress;
use crate::book::FreeHours;
use crate::sea::{RunUp, Sea, Waves};
use crate::shore::{Setting, low_marks};
use crate::sun;
use crate::tide::{LOWS_REACH, Low, LowsAsked, Missed, Window, lows_compared, next_lows};

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
    /// What one of the lows does not lay bare, in a sentence without its end.
    pub(crate) fn missed(&self, low: &Low) -> Option<String> {
        Missed::all_said(&Missed::at_low(&self.marks, low.level_m + self.margin_m))
    }

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
        let sea = Sea { asked: ask.sea, typed_m: ask.run_up_m.or(setting.sea.typed_m), ..setting.sea.clone() };
        let span = (ask.from - LOWS_REACH, to + LOWS_REACH);
        let (mut dry, mut run_up): (Vec<Vec<Window>>, Option<RunUp>) = (Vec::new(), None);
        for (_, level_m) in &marks {
            let foreshore = setting.foreshore_below(*level_m);
            dry.push(sea.dry_windows(water, (*level_m, setting.surge.margin_m() + setting.source_margin_m()), foreshore, span));
            let highest = sea.highest(foreshore, ask.from, to);
            run_up = Some(run_up.filter(|r| r.m >= highest.m).unwrap_or(highest));
        }
        let run_up = run_up.unwrap_or(setting.run_up);
        progress.check().map_err(|e| e.to_string())?;
        let lit = sun::lit(setting.beach.origin, ask.from - LOWS_REACH, to + LOWS_REACH, sun::CIVIL_DEG);
        let daylight: Vec<Window> = lit.into_iter().map(Window::from).collect();
        let asked = LowsAsked { daylight: &daylight, from: ask.from, to, dry: &dry, free: free.as_deref() };
        Ok(Self {
            lows: next_lows(water, &asked),
            marks,
            margin_m: setting.surge.margin_m() + setting.source_margin_m() + run_up.m,
            run_up,
            compared: lows_compared(water),
            free: ask.free.clone(),
        })
    }
}
