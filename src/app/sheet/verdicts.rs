//! Verdicts of a reading as cards: scour lines, drop zones, hot spots, each with its figures.

use egui::Ui;

use super::read::pick_on;
use crate::app::State;
use crate::app::controls::{card, heading};
use crate::app::derived::{Read, ReadOutline};
use crate::app::shown::Shown;
use crate::app::theme::{palette, soft, strong};
use crate::reading::{DropZone, HotSpot, LevelRange, Of, Rate, ScourLine};

/// Shows the verdicts, the strongest evidence first.
pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State, read: &Read) {
    let reading = &read.reading;
    let p = palette(ui.ctx());
    if reading.scan_runs.is_empty() {
        return;
    }
    heading(ui, "Verdicts");
    if reading.scour_lines.is_empty() && reading.hot_spots.is_empty() {
        card(ui, p.soft, false, "Nothing here is more than luck", |ui| {
            ui.label(strong("Nothing here is more than luck"));
            ui.label("No strip and no spot holds more finds than the ground covered explains. That is an answer too.");
        });
    }
    for (line, outline) in reading.scour_lines.iter().zip(&read.scour_lines) {
        verdict(ui, state, p.accent, outline, strength(line.q), |ui| scour_lines(ui, shown, line));
    }
    for (spot, outline) in reading.hot_spots.iter().zip(&read.spots) {
        let zone = reading.drop_zones.iter().find(|z| spot.of == Of::All && z.hot_spot == spot.number);
        verdict(ui, state, p.cluster, outline, strength(spot.q), |ui| spot_lines(ui, shown, spot, zone));
    }
}

fn verdict(
    ui: &mut Ui,
    state: &mut State,
    edge: egui::Color32,
    outline: &ReadOutline,
    strength: &str,
    lines: impl FnOnce(&mut Ui),
) {
    let response = card(ui, edge, state.selection.holds(outline.item), &outline.label, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(strong(super::read::capital(&outline.label)).color(edge));
            ui.label(strong(strength));
        });
        lines(ui);
    });
    pick_on(state, &response, outline.item);
    ui.add_space(1.0);
}

/// The strength of the evidence in a word, from the chance left once all scans are allowed for.
fn strength(q: f64) -> &'static str {
    match q {
        q if q <= 0.002 => "strong",
        q if q <= 0.01 => "fair",
        _ => "weak",
    }
}

fn chance(p: f64) -> String {
    if p < 0.001 { "p < 0.001".to_owned() } else { format!("p = {p:.3}") }
}

fn level(shown: &Shown<'_>, l: LevelRange) -> String {
    let (shift, datum) = shown.beach.and_then(|b| b.datum_offset_m).map_or((0.0, "land datum"), |o| (o, "tide datum"));
    format!("sand {:.1} to {:.1} m above {datum}", l.low_m + shift, l.high_m + shift)
}

fn band(name: Option<&String>) -> String {
    name.map_or_else(String::new, |b| {
        b.split_once(" to ").map_or_else(|| format!(", {b}"), |(high, low)| format!(", between {high} and {low}"))
    })
}

fn rate(what: &str, rate: Option<Rate>) -> Option<String> {
    rate.map(|r| format!("{what}{:.2} per 100 m² swept ({:.2} to {:.2})", r.rate_per_100m2, r.low, r.high))
}

fn share(here: f64, elsewhere: Option<f64>, p: f64) -> String {
    let rest = elsewhere.map_or_else(String::new, |e| format!(" against {:.0} % elsewhere", e * 100.0));
    format!("{:.0} % heavy{rest} (Fisher {})", here * 100.0, chance(p))
}

fn outings(n: usize) -> String {
    if n == 1 { "one outing".to_owned() } else { format!("{n} outings") }
}

fn scour_lines(ui: &mut Ui, shown: &Shown<'_>, s: &ScourLine) {
    ui.label(format!(
        "from {:.0} to {:.0} m along; {}{}",
        s.from_along_m,
        s.to_along_m,
        level(shown, s.level),
        band(s.band.as_ref())
    ));
    let times =
        if s.expected_heavy > 0.0 { format!(", {:.1} times", s.counts.heavy as f64 / s.expected_heavy) } else { String::new() };
    ui.label(format!(
        "{} heavy finds where the ground covered would give {:.0}{times}; {}",
        s.counts.heavy,
        s.expected_heavy,
        chance(s.q)
    ));
    if let Some(said) = rate("heavy ", s.rate_heavy) {
        ui.label(said);
    }
    ui.label(share(s.heavy_share, s.heavy_share_elsewhere, s.shares_test.two_sided));
    let storms = if s.storms.is_empty() { String::new() } else { format!("; storms before: {}", s.storms.join(", ")) };
    ui.label(soft(ui, format!("on {}{storms}", outings(s.outings))).size(13.0));
    surer(ui, &s.surer);
}

fn spot_lines(ui: &mut Ui, shown: &Shown<'_>, s: &HotSpot, zone: Option<&DropZone>) {
    ui.label(format!(
        "{:.0} × {:.0} m at {:.0} m along, {:.0} m across{}",
        2.0 * s.half_along_m,
        2.0 * s.half_across_m,
        s.shore.along_m,
        s.shore.across_m,
        band(s.band.as_ref())
    ));
    if let Some(l) = s.level {
        ui.label(level(shown, l));
    }
    ui.label(format!(
        "{} finds where the ground covered would give {:.0}, {:.1} times; {}",
        s.seen,
        s.expected,
        s.ratio,
        chance(s.q)
    ));
    if let Some(said) = rate("", s.rate) {
        ui.label(said);
    }
    let kinds: Vec<String> = s.kinds.iter().take(4).map(|k| format!("{} {}", k.kind, k.finds)).collect();
    ui.label(kinds.join(", "));
    if let Some(z) = zone {
        if let Some(here) = z.heavy_share {
            ui.label(share(here, z.heavy_share_elsewhere, z.shares_test.two_sided));
        }
        let near: Vec<String> = z.near.iter().take(2).map(|n| format!("{:.0} m from {}", n.distance_m, n.name)).collect();
        let lasted = (z.storms > 0).then(|| format!("outlasted {} of {} storms", z.storms_outlasted, z.storms));
        let said: Vec<String> = near.into_iter().chain(lasted).collect();
        ui.label(said.join("; "));
    }
    ui.label(soft(ui, format!("on {}; Gi* {:.1}", outings(s.outings), s.gi_star)).size(13.0));
    surer(ui, &s.surer);
}

fn surer(ui: &mut Ui, text: &str) {
    if !text.is_empty() {
        ui.label(soft(ui, format!("surer with: {text}")).size(13.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_and_strength_are_said_in_the_usual_way() {
        assert_eq!(chance(0.0004), "p < 0.001");
        assert_eq!(chance(0.0314), "p = 0.031");
        assert_eq!((strength(0.001), strength(0.008), strength(0.04)), ("strong", "fair", "weak"));
    }
}
