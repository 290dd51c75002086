//! The coming low waters, with what a person weighs them by.

use jiff::{SignedDuration, Timestamp};

use super::{TurnKind, Water, Window};

/// Where a tide stands between springs and neaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Moon {
    /// Range in the upper third of its fortnight.
    Spring,
    /// Neither.
    Between,
    /// Range in the lower third of its fortnight.
    Neap,
}

/// One coming low water.
#[derive(Debug, Clone, PartialEq)]
pub struct Low {
    /// When.
    pub time: Timestamp,
    /// Level, metres above the source's datum.
    pub level_m: f64,
    /// Part of the lows of the year around the span, as far as the source reaches, that stand higher than this
    /// one, 0 to 1.
    pub lower_than: f64,
    /// Range to the neighbouring high waters (their mean), metres.
    pub range_m: f64,
    /// Springs or neaps.
    pub moon: Moon,
    /// For each place asked about, the dry window around this low, if it uncovers at all.
    pub dry: Vec<Option<Window>>,
    /// Part of the longest dry window that lies in daylight, civil twilight included; of the hour around
    /// low water where nothing uncovers. 0 to 1.
    pub daylight: f64,
    /// Minutes of the longest dry window that are both lit and free.
    pub usable_min: f64,
}

/// What is asked about the coming lows.
#[derive(Debug, Clone)]
pub struct LowsAsked<'a> {
    /// When there is daylight, civil twilight included, in order, from [`LOWS_REACH`] before `from` to as long after
    /// `to`.
    pub daylight: &'a [Window],
    /// From when.
    pub from: Timestamp,
    /// Up to when.
    pub to: Timestamp,
    /// When each place or band is dry, with every margin, from [`LOWS_REACH`] before `from` to as long after `to`.
    /// Daylight and usable minutes go by the one that lies dry longest, so leave out what every low water leaves dry.
    pub dry: &'a [Vec<Window>],
    /// The person's free hours; `None` means always.
    pub free: Option<&'a [Window]>,
}

/// How far beyond the span asked about a dry window of one of its lows may reach.
pub const LOWS_REACH: SignedDuration = SignedDuration::from_hours(14);

/// An order to show lows in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LowsOrder {
    /// Soonest first.
    Soonest,
    /// Lowest first.
    Lowest,
    /// Most usable minutes first.
    MostUsable,
}

/// Every low water of a span, soonest first.
///
/// For a double low water each of the two is its own entry.
pub fn next_lows(water: &Water, asked: &LowsAsked<'_>) -> Vec<Low> {
    let day = SignedDuration::from_hours(24);
    // A year of lows to compare with, and a fortnight on each side to tell springs from neaps.
    let (before, after) = (asked.from - day * 10, (asked.to + day * 10).max(asked.from + day * 365));
    let turns = water.turns(before, after);
    let mut levels: Vec<f64> = turns.iter().filter(|t| t.kind == TurnKind::Low).map(|t| t.level_m).collect();
    levels.sort_by(f64::total_cmp);
    let ranges: Vec<(Timestamp, f64)> = turns
        .iter()
        .enumerate()
        .filter(|(_, turn)| turn.kind == TurnKind::Low)
        .map(|(i, turn)| {
            let beside = [i.checked_sub(1), Some(i + 1)].into_iter().flatten().filter_map(|j| turns.get(j));
            let (n, sum) = beside.fold((0.0, 0.0), |(n, sum), high| (n + 1.0, sum + high.level_m - turn.level_m));
            (turn.time, if n > 0.0 { sum / n } else { 0.0 })
        })
        .collect();
    let free = asked.free.map(merged);
    turns
        .iter()
        .filter(|turn| turn.kind == TurnKind::Low && turn.time >= asked.from && turn.time < asked.to)
        .map(|turn| {
            let range_m = ranges.iter().find(|(time, _)| *time == turn.time).map_or(0.0, |(_, range)| *range);
            let windows: Vec<Option<Window>> = asked.dry.iter().map(|list| window_at(list, turn.time)).collect();
            let longest = windows.iter().flatten().copied().max_by(|a, b| a.length_s().total_cmp(&b.length_s()));
            let half_hour = SignedDuration::from_mins(30);
            let span = longest.unwrap_or(Window { from: turn.time - half_hour, to: turn.time + half_hour });
            let lit_parts: Vec<Window> = asked.daylight.iter().filter_map(|day| day.shared(&span)).collect();
            let usable_s = match (longest, &free) {
                (None, _) => 0.0,
                (Some(_), None) => total_s(lit_parts.iter().copied()),
                (Some(_), Some(free)) => {
                    total_s(free.iter().flat_map(|free| lit_parts.iter().filter_map(|part| part.shared(free))))
                }
            };
            Low {
                time: turn.time,
                level_m: turn.level_m,
                lower_than: 1.0 - levels.partition_point(|&l| l <= turn.level_m) as f64 / levels.len().max(1) as f64,
                range_m,
                moon: moon(&ranges, turn.time, range_m),
                dry: windows,
                daylight: total_s(lit_parts.into_iter()) / span.length_s(),
                usable_min: usable_s / 60.0,
            }
        })
        .collect()
}

/// Which lows [`Low::lower_than`] counts, in words: a tide table may hold less than a year of them.
pub fn lows_compared(water: &Water) -> &'static str {
    let year = SignedDuration::from_hours(24 * 360);
    match water.covers() {
        Some((first, last)) if last.duration_since(first) < year => "the lows that the table holds",
        _ => "the year's lows",
    }
}

/// Puts lows in an order; those that are equal stay soonest first.
pub fn order_lows(lows: &mut [Low], order: LowsOrder) {
    lows.sort_by(|a, b| {
        let first = match order {
            LowsOrder::Soonest => std::cmp::Ordering::Equal,
            LowsOrder::Lowest => a.level_m.total_cmp(&b.level_m),
            LowsOrder::MostUsable => b.usable_min.total_cmp(&a.usable_min),
        };
        first.then(a.time.cmp(&b.time))
    });
}

/// The window that holds a moment; windows are in order.
fn window_at(windows: &[Window], time: Timestamp) -> Option<Window> {
    let after = windows.partition_point(|w| w.from <= time);
    windows.get(after.checked_sub(1)?).filter(|w| w.holds(time)).copied()
}

/// Length of windows together, seconds. Begun at plain zero: an empty `sum` would be minus zero and be shown so.
fn total_s(windows: impl Iterator<Item = Window>) -> f64 {
    windows.fold(0.0, |total, window| total + window.length_s())
}

/// The same hours without overlaps, so that none is counted twice.
fn merged(windows: &[Window]) -> Vec<Window> {
    let mut sorted = windows.to_vec();
    sorted.sort();
    let mut out: Vec<Window> = Vec::new();
    for window in sorted {
        match out.last_mut() {
            Some(last) if window.from <= last.to => last.to = last.to.max(window.to),
            _ => out.push(window),
        }
    }
    out
}

/// Place of a range among those within a week on either side.
fn moon(ranges: &[(Timestamp, f64)], time: Timestamp, range_m: f64) -> Moon {
    let week = SignedDuration::from_secs(637_891); // half of 14.765 days, from springs to springs
    let near = || ranges.iter().filter(|(t, _)| t.duration_since(time).abs() <= week).map(|(_, r)| *r);
    let (least, most) = near().fold((f64::MAX, f64::MIN), |(lo, hi), r| (lo.min(r), hi.max(r)));
    let part = if most > least { (range_m - least) / (most - least) } else { 0.5 };
    if part >= 2.0 / 3.0 {
        Moon::Spring
    } else if part <= 1.0 / 3.0 {
        Moon::Neap
    } else {
        Moon::Between
    }
}
