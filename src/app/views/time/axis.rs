use egui::Rect;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

use crate::app::state::FrameContext;
use crate::query::drawing::Span;

pub(super) use crate::app::state::time::TimeAxis as Axis;

impl Axis {
    /// The axis over a rectangle, high enough for every tide.
    pub(super) fn over(rect: Rect, span: Span, shown: &FrameContext<'_>) -> Self {
        let levels = shown.water().map(|w| *w.levels());
        let (mut low_m, mut high_m) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut take = |m: f64| {
            low_m = low_m.min(m);
            high_m = high_m.max(m);
        };
        if let Some(levels) = levels {
            [levels.hat, levels.lat, levels.mhws, levels.mlws, levels.msl].into_iter().flatten().for_each(|l| take(l.m));
        }
        if let Some(curve) = shown.tide_curve() {
            let (least, most) = super::weather::surge(shown).map_or((0.0, 0.0), super::weather::bounds);
            for turn in &curve.turns {
                take(turn.level_m + least.min(0.0));
                take(turn.level_m + most.max(0.0));
            }
        }
        if !low_m.is_finite() {
            (low_m, high_m) = (0.0, 1.0);
        }
        // Room for the names of high waters above and of low waters and outings below.
        let per_point = (high_m - low_m).max(0.4) / f64::from((rect.height() - 58.0).max(24.0));
        Self { rect, span, low_m: low_m - 30.0 * per_point, high_m: high_m + 28.0 * per_point }
    }

    pub(super) fn x(&self, time_s: f64) -> f32 {
        let share = (time_s - self.span.from_s) / self.span.length_s();
        // Far outside the view is as good as anywhere outside it, and keeps shapes finite.
        self.rect.left() + (share.clamp(-2.0, 3.0) as f32) * self.rect.width()
    }

    pub(super) fn y(&self, level_m: f64) -> f32 {
        let share = (self.high_m - level_m) / (self.high_m - self.low_m);
        self.rect.top() + share as f32 * self.rect.height()
    }

    pub(super) fn time_s(&self, x: f32) -> f64 {
        self.span.from_s + f64::from((x - self.rect.left()) / self.rect.width()) * self.span.length_s()
    }

    pub(super) fn seconds_per_point(&self) -> f64 {
        self.span.length_s() / f64::from(self.rect.width().max(1.0))
    }
}

/// A line on the time axis and what stands under it.
pub(super) struct Tick {
    pub(super) time_s: f64,
    pub(super) label: String,
    /// Beginning of a day, month or year: drawn stronger.
    pub(super) major: bool,
}

/// Steps of the beach's calendar that leave room for their names.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Pace {
    Hours(i64),
    Days(i64),
    Months(i64),
}

fn pace(points_per_day: f64) -> Pace {
    match points_per_day {
        p if p > 1400.0 => Pace::Hours(1),
        p if p > 420.0 => Pace::Hours(3),
        p if p > 210.0 => Pace::Hours(6),
        p if p > 100.0 => Pace::Hours(12),
        p if p > 46.0 => Pace::Days(1),
        p if p > 24.0 => Pace::Days(2),
        p if p > 7.0 => Pace::Days(7),
        p if p > 1.6 => Pace::Months(1),
        _ => Pace::Months(3),
    }
}

/// The ticks of a span in the beach's time, daylight saving included.
pub(super) fn ticks(span: Span, width: f32, zone: &TimeZone) -> Vec<Tick> {
    let pace = pace(f64::from(width) / (span.length_s() / 86_400.0));
    let Ok(start) = Timestamp::from_second(span.from_s as i64) else { return Vec::new() };
    let begin = start.to_zoned_datetime(zone.clone()).datetime();
    let day = begin.date().to_datetime(jiff::civil::Time::midnight());
    let mut at = match pace {
        Pace::Months(n) => {
            let month = day.date().first_of_month();
            let back = (i64::from(month.month()) - 1) % n;
            month.checked_sub(back.months()).unwrap_or(month).to_datetime(jiff::civil::Time::midnight())
        }
        Pace::Days(7) => {
            // Weeks begin on Monday.
            let back = i64::from(day.date().weekday().to_monday_zero_offset());
            day.checked_sub(back.days()).unwrap_or(day)
        }
        _ => day,
    };
    let mut ticks = Vec::new();
    for _ in 0..500 {
        let Ok(zoned) = at.to_zoned_datetime(zone.clone()) else { break };
        let time_s = zoned.timestamp().as_second() as f64;
        if time_s > span.to_s {
            break;
        }
        if time_s >= span.from_s {
            ticks.push(tick(at, time_s, pace));
        }
        let next = match pace {
            Pace::Hours(n) => at.checked_add(n.hours()),
            Pace::Days(n) => at.checked_add(n.days()),
            Pace::Months(n) => at.checked_add(n.months()),
        };
        let Ok(next) = next else { break };
        at = next;
    }
    ticks
}

fn tick(at: DateTime, time_s: f64, pace: Pace) -> Tick {
    let midnight = at.hour() == 0;
    let (label, major) = match pace {
        Pace::Hours(_) if midnight => (at.strftime("%a %-d %b").to_string(), true),
        Pace::Hours(_) => (at.strftime("%H:%M").to_string(), false),
        Pace::Days(_) => (at.strftime("%-d %b").to_string(), at.day() == 1),
        Pace::Months(_) if at.month() == 1 => (at.strftime("%Y").to_string(), true),
        Pace::Months(_) => (at.strftime("%b").to_string(), false),
    };
    Tick { time_s, label, major }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_follow_the_beach_s_clock_over_the_change_of_hour() {
        // 2026-03-29 has 23 hours in Europe/London; the span holds four of its midnights.
        let zone = TimeZone::get("Europe/London").unwrap();
        let from: Timestamp = "2026-03-28T00:00:00Z".parse().unwrap();
        let span = Span { from_s: from.as_second() as f64, to_s: from.as_second() as f64 + 3.0 * 86_400.0 };
        let ticks = ticks(span, 900.0, &zone);
        let days: Vec<f64> = ticks.iter().filter(|t| t.major).map(|t| t.time_s).collect();
        assert_eq!(days.windows(2).map(|w| (w[1] - w[0]) / 3600.0).collect::<Vec<_>>(), [24.0, 23.0, 24.0]);
        assert!(ticks.iter().any(|t| t.label == "12:00"));
    }

    #[test]
    fn every_length_has_some_ticks_but_not_a_crowd() {
        for days in [0.25, 1.0, 3.0, 15.0, 92.0, 548.0] {
            for width in [300.0, 900.0, 3000.0] {
                let n = ticks(Span { from_s: 1e9, to_s: 1e9 + days * 86_400.0 }, width, &TimeZone::UTC).len();
                assert!((1..=60).contains(&n), "{n} ticks for {days} days over {width} points");
            }
        }
    }
}
