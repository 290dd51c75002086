//! What the beach gave by state of the tide and on ground swept again, what was left undug, how a scour line
//! moved from storm to storm, and whether a drop zone has its months and days.

use egui::{Grid, Ui};

use super::cards::{figures, quiet};
use super::figures::{chance, rate, set, whole};
use crate::app::state::FrameContext;
use crate::app::widgets::theme::{soft, strong};
use crate::query::drawing::ReadDrawing;
use crate::reading::{Habit, LineState, Mean, Rate, TideReading};

/// Rates by state of the tide: the whole beach, then band by band.
pub(super) fn tides(ui: &mut Ui, read: &ReadDrawing) {
    let params = &read.reading().params;
    ui.label(soft(ui, "Finds per 100 m² of rested ground with 95 % intervals, finds, hours searched.").size(13.0));
    Grid::new("tides").num_columns(4).spacing([12.0, 2.0]).show(ui, |ui| {
        for part in read.reading().tides.chunk_by(|a, b| a.band == b.band) {
            let Some(first) = part.first() else { continue };
            ui.label(strong(first.band.as_deref().unwrap_or("whole beach")).size(13.0));
            ui.end_row();
            part.iter().filter(|t| t.hours > 0.0).for_each(|t| state_row(ui, t));
        }
    });
    let never = |t: &&TideReading| t.band.is_none() && t.hours <= 0.0;
    let never: Vec<&str> = read.reading().tides.iter().filter(never).map(|t| t.state.words()).collect();
    let never = if never.is_empty() { String::new() } else { format!(" Never searched {}.", never.join(" or ")) };
    let said = format!(
        "Ground that outings swept in several states counts in each; with less than {} m² no rate is told. Low and high water reach {:.0} \
         minutes to either side.{never}",
        whole(params.least_swept_m2),
        params.slack_minutes
    );
    ui.label(soft(ui, said).size(13.0));
}

fn state_row(ui: &mut Ui, t: &TideReading) {
    let text = |said: String| egui::RichText::new(said).size(13.0);
    ui.label(soft(ui, t.state.words()).size(13.0));
    match t.gave.rate.filter(|_| !t.gave.too_little) {
        Some(r) => ui.label(text(format!("{:.2} ({:.2} to {:.2})", r.per_100m2, r.low, r.high))),
        None => {
            let why = t.gave.surer.as_deref().unwrap_or("");
            let swept = whole(t.gave.swept_m2.unwrap_or(0.0));
            ui.label(soft(ui, format!("only {swept}\u{a0}m² swept")).size(13.0)).on_hover_text(set(why))
        }
    };
    ui.label(text(finds(t.gave.counts.finds)));
    ui.label(text(format!("{:.1}\u{a0}h", t.hours)));
    ui.end_row();
}

/// What fresh ground gave against ground that an earlier outing had swept.
pub(super) fn fresh(ui: &mut Ui, read: &ReadDrawing) {
    let (known, thin): (Vec<_>, Vec<_>) = read.reading().fresh.iter().partition(|f| f.ratio.is_some() && !f.too_little);
    let mut per_pass = None;
    if !known.is_empty() {
        ui.label(soft(ui, "Finds per 100 m² of rested ground, with 95 % intervals.").size(13.0));
    }
    for (n, part) in known.iter().enumerate() {
        let Some(ratio) = part.ratio else { continue };
        ui.label(strong(part.band.as_deref().unwrap_or("whole beach")).size(13.5));
        let plain = |r: Rate| format!("{:.2} ({:.2} to {:.2})", r.per_100m2, r.low, r.high);
        let side = |r: Option<Rate>| r.map_or_else(|| "no ground".to_owned(), plain);
        let high = ratio.high.map_or_else(|| "no bound".to_owned(), |h| format!("{h:.2}"));
        let mut rows = vec![("fresh ground", side(part.fresh)), ("swept again", side(part.again))];
        if let Some(r) = ratio.ratio {
            rows.push(("again over fresh", format!("{r:.2} ({:.2} to {high}), {}", ratio.low, chance(ratio.p))));
        }
        if let Some(r) = part.ratio_if_nothing_came_back {
            rows.push(("by passes alone", format!("{r:.2}")));
            per_pass = Some(part.detection_per_pass);
        }
        figures(ui, ("fresh", n), &rows);
        ui.label(soft(ui, format!("Surer: {}.", set(&part.surer))).size(13.0));
        ui.add_space(3.0);
    }
    if let Some(d) = per_pass {
        let said = format!(
            "By passes alone: what again over fresh would be if nothing came back between outings, at {:.0} % found per pass. More than that \
             tells that the ground fills up again, or that less is found per pass.",
            100.0 * d
        );
        ui.label(soft(ui, said).size(13.0));
    }
    if !thin.is_empty() {
        let each: Vec<String> =
            thin.iter().map(|f| format!("{}: {}.", f.band.as_deref().unwrap_or("whole beach"), f.surer)).collect();
        quiet(ui, "Not enough ground covered yet", &each.join("\n"));
    }
}

/// Signals heard and not dug, by band, for the ground swept.
pub(super) fn signals(ui: &mut Ui, read: &ReadDrawing) {
    let rows: Vec<(&str, String)> = read
        .reading()
        .bands
        .iter()
        .filter(|b| b.gave.signals > 0)
        .map(|b| {
            let said = b.gave.rate_signals.filter(|_| !b.gave.too_little).map_or_else(String::new, |r| format!(", {}", rate(r)));
            let heard = if b.gave.signals == 1 { "1 signal".to_owned() } else { format!("{} signals", b.gave.signals) };
            (b.name.as_str(), format!("{heard}{said}"))
        })
        .collect();
    figures(ui, ("signals", 0), &rows);
}

/// How a scour line lay before, between and after storms, and how it moved.
pub(super) fn moved(ui: &mut Ui, shown: &FrameContext<'_>, number: usize, states: &[LineState]) {
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
            let at = format!("{:.2} m ({:.2} to {:.2})", level.mean + shift_m, level.low + shift_m, level.high + shift_m);
            let moved = moves(s.rose_m, s.seaward_m).map_or_else(String::new, |m| format!("\n{m}"));
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

/// How a line moved against the state before, and whether that is more than the spread of its finds explains.
fn moves(rose_m: Option<Mean>, seaward_m: Option<Mean>) -> Option<String> {
    let by = |m: Mean, more: &str, less: &str| {
        let (way, low, high) = if m.mean < 0.0 { (less, -m.high, -m.low) } else { (more, m.low, m.high) };
        format!("{:.2} m {way} ({low:.2} to {high:.2})", m.mean.abs())
    };
    let each = [rose_m.map(|m| (m, by(m, "higher", "lower"))), seaward_m.map(|m| (m, by(m, "seaward", "landward")))];
    let (sure, unsure): (Vec<_>, Vec<_>) = each.into_iter().flatten().partition(|(m, _)| m.low > 0.0 || m.high < 0.0);
    let list = |moves: Vec<(Mean, String)>| moves.into_iter().map(|(_, said)| said).collect::<Vec<_>>().join(", ");
    match (sure.is_empty(), unsure.is_empty()) {
        (true, true) => None,
        (true, false) => Some(format!("no move told: {}", list(unsure))),
        (false, true) => Some(format!("moved {}", list(sure))),
        (false, false) => Some(format!("moved {}; not told: {}", list(sure), list(unsure))),
    }
}

fn finds(n: usize) -> String {
    if n == 1 { "1 find".to_owned() } else { format!("{n} finds") }
}

/// Whether the finds of a drop zone favour months or days of the week beyond when one searched.
pub(super) fn habit(habit: &Habit) -> [(&'static str, String); 2] {
    let favoured = |by: &[usize], expected: &[f64], names: &[&str]| {
        let most = by.iter().zip(expected).zip(names).max_by(|a, b| {
            let over = |((n, e), _): &((&usize, &f64), &&str)| **n as f64 - **e;
            over(a).total_cmp(&over(b))
        });
        most.map_or_else(String::new, |((n, e), name)| format!("{name} ({n} finds where the searching alone gives {e:.1})"))
    };
    let one = |p: Option<f64>, by: &[usize], expected: &[f64], names: &[&str]| match p {
        None => "not enough to tell".to_owned(),
        Some(p) if p < 0.05 => format!("{}, by luck {}", favoured(by, expected, names), chance(p)),
        Some(p) => format!("no more than the searching explains, by luck {}", chance(p)),
    };
    [
        ("months", one(habit.month_q.or(habit.month_p), &habit.by_month, &habit.expected_by_month, &MONTHS)),
        ("days", one(habit.weekday_q.or(habit.weekday_p), &habit.by_weekday, &habit.expected_by_weekday, &DAYS)),
    ]
}

const MONTHS: [&str; 12] =
    ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const DAYS: [&str; 7] = ["Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_move_is_told_apart_from_none_by_its_interval() {
        let mean = |mean, low, high| Some(Mean { mean, low, high });
        assert_eq!(moves(None, None), None);
        let said = moves(mean(0.07, -0.03, 0.17), mean(-1.5, -3.0, 0.1)).unwrap();
        assert_eq!(said, "no move told: 0.07 m higher (-0.03 to 0.17), 1.50 m landward (-0.10 to 3.00)");
        let said = moves(mean(-0.2, -0.3, -0.1), mean(1.0, -0.5, 2.5)).unwrap();
        assert_eq!(said, "moved 0.20 m lower (0.10 to 0.30); not told: 1.00 m seaward (-0.50 to 2.50)");
        assert_eq!(moves(mean(0.2, 0.1, 0.3), None).unwrap(), "moved 0.20 m higher (0.10 to 0.30)");
    }

    #[test]
    fn a_habit_is_told_only_where_the_searching_does_not_explain_it() {
        let even = Habit {
            month_q: None,
            weekday_q: None,
            finds: 30,
            outings: 9,
            by_month: vec![0, 0, 0, 0, 0, 4, 20, 6, 0, 0, 0, 0],
            expected_by_month: vec![0.0, 0.0, 0.0, 0.0, 0.0, 10.0, 10.0, 10.0, 0.0, 0.0, 0.0, 0.0],
            month_p: Some(0.0005),
            by_weekday: vec![15, 15, 0, 0, 0, 0, 0],
            expected_by_weekday: vec![14.0, 16.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            weekday_p: Some(0.7),
        };
        let [(_, months), (_, days)] = habit(&even);
        assert_eq!(months, "July (20 finds where the searching alone gives 10.0), by luck fewer than 1 in 1000");
        assert_eq!(days, "no more than the searching explains, by luck 70 in 100");
        let [(_, months), _] = habit(&Habit { month_p: None, ..even });
        assert_eq!(months, "not enough to tell");
    }
}
