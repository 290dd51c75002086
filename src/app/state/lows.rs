//! How the list of low waters stands.

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::book::{Beach, FreeHours};
use crate::query::drawing::LowsAsk;
use crate::sea::Waves;
use crate::tide::LowsOrder;

/// Days of the month of lows.
pub(crate) const DAYS: i64 = 30;

/// How far the list looks ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Ahead {
    Day,
    #[default]
    Fortnight,
    HalfYear,
    Year,
}

impl Ahead {
    pub(crate) const ALL: [Self; 4] = [Self::Day, Self::Fortnight, Self::HalfYear, Self::Year];

    pub(crate) fn label(self) -> &'static str {
        match self {
            Self::Day => "coming day",
            Self::Fortnight => "coming fortnight",
            Self::HalfYear => "ten of 180 days",
            Self::Year => "ten of the year",
        }
    }

    /// The least lunar span that holds both lows of a day, and so on.
    pub(crate) fn hours(self) -> i64 {
        match self {
            Self::Day => 25,
            Self::Fortnight => 24 * 15,
            Self::HalfYear => 24 * 180,
            Self::Year => 24 * 365,
        }
    }

    /// The most lows that are listed.
    pub(crate) fn most(self) -> usize {
        match self {
            Self::Day | Self::Fortnight => usize::MAX,
            Self::HalfYear | Self::Year => 10,
        }
    }
}

/// How the list stands.
pub(crate) struct LowsView {
    pub(crate) ahead: Ahead,
    pub(crate) order: LowsOrder,
    pub(crate) daylight_only: bool,
    /// The free hours while they are being typed; the beach keeps them.
    pub(crate) typed: Option<String>,
    /// How high the next low, the strip and the list last were, points: their room is kept while they are worked out anew.
    pub(crate) highs: [f32; 3],
    /// Midnight that the month begins with: it stays while the instant moves within the month.
    pub(crate) month: Option<Timestamp>,
}

impl Default for LowsView {
    fn default() -> Self {
        Self {
            ahead: Ahead::default(),
            order: LowsOrder::Soonest,
            daylight_only: false,
            typed: None,
            highs: [0.0; 3],
            month: None,
        }
    }
}

impl LowsView {
    /// What is wanted of the worker: from the month's first midnight to as far as the list looks ahead, so
    /// that moving within the month asks nothing new.
    pub(crate) fn ask(
        &mut self,
        at: Timestamp,
        beach: &Beach,
        zone: &TimeZone,
        (run_up_m, sea): (Option<f64>, Option<Waves>),
    ) -> Option<LowsAsk> {
        let month = SignedDuration::from_hours(24 * DAYS);
        let held = |from: &Timestamp| at >= *from && at.duration_since(*from) < month;
        let from = match self.month.filter(held) {
            Some(from) => from,
            None => at.to_zoned_datetime(zone.clone()).start_of_day().ok()?.timestamp(),
        };
        self.month = Some(from);
        let free = self.typed_hours().and_then(Result::ok).unwrap_or_else(|| beach.free.clone());
        Some(LowsAsk { from, days: DAYS + self.ahead.hours() / 24 + 2, free, run_up_m, sea })
    }

    /// The hours as typed, if they are being typed.
    pub(crate) fn typed_hours(&self) -> Option<Result<FreeHours, String>> {
        self.typed.as_deref().map(|text| text.parse().map_err(|why| format!("{why}.")))
    }
}
