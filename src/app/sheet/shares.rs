//! What the beach gave by state of the tide and on ground swept again, what was left undug, how a scour line
//! moved from storm to storm, and whether a drop zone has its months and days.

use egui::Ui;

use super::figures::{chance, rate, whole};
use super::verdicts::{figures, quiet};
use crate::app::derived::Read;
use crate::app::shown::Shown;
use crate::app::theme::{soft, strong};
use crate::reading::{Habit, LineState, Mean};

/// Rates by state of the tide, in one table.
pub(super) fn tides(ui: &mut Ui, read: &Read) {
    let least = read.reading.params.least_swept_m2;
    let rows: Vec<(&str, String)> = read
        .reading
        .tides
        .iter()
        .filter(|t| t.band.is_none())
        .map(|t| {
            let said = match t.gave.rate.filter(|_| !t.gave.too_little) {
                Some(r) => format!("{}; {} finds in {:.1} h", rate(r), t.gave.counts.finds, t.hours),
                None => format!("not enough ground covered yet: {:.1} h, {} m²", t.hours, whole(t.gave.swept_m2.unwrap_or(0.0))),
            };
            (t.state.words(), said)
        })
        .collect();
    figures(ui, ("tides", 0), &rows);
    ui.label(
        soft(ui, format!("Ground that outings swept in several states counts in each; a rate needs {} m².", whole(least)))
            .size(13.0),
    );
}

/// What fresh ground gave against ground that an earlier outing had swept.
pub(super) fn fresh(ui: &mut Ui, read: &Read) {
    let (known, thin): (Vec<_>, Vec<_>) = read.reading.fresh.iter().partition(|f| f.ratio.is_some() && !f.too_little);
    for (n, part) in known.iter().enumerate() {
        let Some(ratio) = part.ratio else { continue };
        ui.label(strong(part.band.as_deref().unwrap_or("whole beach")).size(13.5));
        let side = |r: Option<crate::reading::Rate>| r.map_or_else(|| "no ground".to_owned(), rate);
        let high = ratio.high.map_or_else(|| "no bound".to_owned(), |h| format!("{h:.2}"));
        let mut rows = vec![("fresh ground", side(part.fresh)), ("swept again", side(part.again))];
        if let Some(r) = ratio.ratio {
            rows.push(("again over fresh", format!("{r:.2} ({:.2} to {high}), {}", ratio.low, chance(ratio.p))));
        }
        if let Some(r) = part.ratio_if_nothing_came_back {
            rows.push((
                "by passes alone",
                format!("{r:.2} if nothing came back, at {:.0} % found per pass", part.detection_per_pass * 100.0),
            ));
        }
        figures(ui, ("fresh", n), &rows);
    }
    if !thin.is_empty() {
        let names: Vec<&str> = thin.iter().map(|f| f.band.as_deref().unwrap_or("whole beach")).collect();
        quiet(ui, "Not enough ground covered yet", &format!("{}.", names.join(", ")));
    }
}

/// Signals heard and not dug, by band, for the ground swept.
pub(super) fn signals(ui: &mut Ui, read: &Read) {
    let rows: Vec<(&str, String)> = read
        .reading
        .bands
        .iter()
        .filter(|b| b.gave.signals > 0)
        .map(|b| {
            let said = b.gave.rate_signals.filter(|_| !b.gave.too_little).map_or_else(String::new, |r| format!(", {}", rate(r)));
            (b.name.as_str(), format!("{}{said}", b.gave.signals))
        })
        .collect();
    figures(ui, ("signals", 0), &rows);
}

/// How a scour line lay before, between and after storms, and how it moved.
pub(super) fn moved(ui: &mut Ui, shown: &Shown<'_>, number: usize, states: &[LineState]) {
    if states.len() < 2 {
        return;
    }
    let shift_m = shown.beach.and_then(|b| b.datum_offset_m).unwrap_or(0.0);
    let datum = if shown.beach.is_some_and(|b| b.datum_offset_m.is_some()) { "tide datum" } else { "land datum" };
    let rows: Vec<(String, String)> = states
        .iter()
        .map(|s| {
            let when = s.after.as_ref().map_or_else(|| "before storms".to_owned(), |storm| format!("after {storm}"));
            let Some(level) = s.level_m else { return (when, format!("{}: too few to tell its level", finds(s.finds))) };
            let by = |m: Option<Mean>, more: &str, less: &str| {
                m.map_or_else(String::new, |m| {
                    let way = if m.mean < 0.0 { less } else { more };
                    let (low, high) = if m.mean < 0.0 { (-m.high, -m.low) } else { (m.low, m.high) };
                    format!("; {:.2} m {way} ({low:.2} to {high:.2})", m.mean.abs())
                })
            };
            let at = format!("{:.2} m ({:.2} to {:.2})", level.mean + shift_m, level.low + shift_m, level.high + shift_m);
            let moved = by(s.rose_m, "higher", "lower") + &by(s.seaward_m, "seaward", "landward");
            (when, format!("{at}, {}{moved}", finds(s.finds)))
        })
        .collect();
    let rows: Vec<(&str, String)> = rows.iter().map(|(when, said)| (when.as_str(), said.clone())).collect();
    ui.add_space(2.0);
    ui.label(strong("How it moved").size(13.0));
    figures(ui, ("moved", number), &rows);
    ui.label(
        soft(ui, format!("Level of its heavy finds above {datum}, with 95 % intervals; moves are against the state before."))
            .size(13.0),
    );
}

fn finds(n: usize) -> String {
    if n == 1 { "1 find".to_owned() } else { format!("{n} finds") }
}

/// Whether the finds of a drop zone favour months or days of the week beyond when one searched.
pub(super) fn habit(habit: &Habit) -> String {
    let favoured = |by: &[usize], expected: &[f64], names: &[&str]| {
        let most = by.iter().zip(expected).zip(names).max_by(|a, b| {
            let over = |((n, e), _): &((&usize, &f64), &&str)| **n as f64 - **e;
            over(a).total_cmp(&over(b))
        });
        most.map_or_else(String::new, |((n, e), name)| format!("{name} ({n} finds where the searching alone gives {e:.1})"))
    };
    let one = |p: Option<f64>, by: &[usize], expected: &[f64], names: &[&str], what: &str| match p {
        None => format!("{what}: not enough to tell"),
        Some(p) if p < 0.05 => format!("{what}: {}, {}", favoured(by, expected, names), chance(p)),
        Some(p) => format!("{what}: no more than the searching explains, {}", chance(p)),
    };
    let months = one(habit.month_p, &habit.by_month, &habit.expected_by_month, &MONTHS, "months");
    let days = one(habit.weekday_p, &habit.by_weekday, &habit.expected_by_weekday, &DAYS, "days of the week");
    format!("{months}; {days}")
}

const MONTHS: [&str; 12] =
    ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const DAYS: [&str; 7] = ["Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_habit_is_told_only_where_the_searching_does_not_explain_it() {
        let even = Habit {
            finds: 30,
            outings: 9,
            by_month: vec![0, 0, 0, 0, 0, 4, 20, 6, 0, 0, 0, 0],
            expected_by_month: vec![0.0, 0.0, 0.0, 0.0, 0.0, 10.0, 10.0, 10.0, 0.0, 0.0, 0.0, 0.0],
            month_p: Some(0.0005),
            by_weekday: vec![15, 15, 0, 0, 0, 0, 0],
            expected_by_weekday: vec![14.0, 16.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            weekday_p: Some(0.7),
        };
        let said = habit(&even);
        assert!(said.contains("July (20 finds where the searching alone gives 10.0), p < 0.001"), "{said}");
        assert!(said.contains("days of the week: no more than the searching explains, p = 0.700"), "{said}");
        let few = Habit { month_p: None, ..even };
        assert!(habit(&few).starts_with("months: not enough to tell"));
    }
}
