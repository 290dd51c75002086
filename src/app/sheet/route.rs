//! The route on the sheet: when to turn back, block by block, what if, and its files.

use std::path::{Path, PathBuf};

use egui::{DragValue, TextEdit, Ui};

use crate::app::controls::{card, heading, switch, warning};
use crate::app::derived::{RouteAsk, Routed};
use crate::app::notices::PickFor;
use crate::app::sheet::next_low::Planned;
use crate::app::shown::Shown;
use crate::app::theme::{self, palette, soft, strong};
use crate::app::{Command, State};
use crate::book::Book;
use crate::shore::Setting;

/// The settings a route is planned with, the work under way, and the route.
pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    let Some(low) = state.next_low.low else { return };
    heading(ui, &format!("Route for the low of {}", shown.time(low, "%a %-d %b, %H:%M")));
    settings(ui, shown, state);
    let slot = &shown.derived.route;
    if slot.is_busy() || (shown.derived.read.is_busy() && slot.value().is_none()) {
        ui.horizontal(|ui| {
            let share = slot.share().unwrap_or(0.0);
            ui.label(soft(ui, format!("looking for the best way, {:.0} % ...", share * 100.0)));
            if ui.button("Stop").clicked() {
                state.commands.push(Command::StopRoute);
            }
        });
    }
    if let Some(why) = slot.failure() {
        let why = why.to_owned();
        card(ui, palette(ui.ctx()).danger, false, "No route", |ui| {
            ui.label(strong("No route"));
            ui.label(sentence(&why));
        });
        if ui.button("Plan again").clicked() {
            state.commands.push(Command::PlanAgain);
        }
        return;
    }
    let Some(routed) = slot.value().filter(|r| r.ask.low == low) else { return };
    let routed = std::sync::Arc::clone(routed);
    state
        .next_low
        .planned
        .insert(low, Planned { turn_back: routed.route.turn_back, finds: routed.route.finds, back: routed.route.back });
    if Some(&routed.ask) != state.next_low.ask().as_ref() {
        ui.label(soft(ui, "stale: the settings have changed since").size(13.0));
    }
    told(ui, shown, state, &routed);
    files(ui, state);
}

fn settings(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    super::lows::run_up(ui, shown, state);
    let view = &mut state.next_low;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("set out at the earliest, minutes before low");
        ui.add(DragValue::new(&mut view.before_min).range(-180..=360).speed(5)).labelled_by(label.id);
    });
    ui.horizontal(|ui| {
        switch(ui, &mut view.head_torch, "head-torch");
        let blocks = match view.excluded.len() {
            1 => "1 block".to_owned(),
            n => format!("{n} blocks"),
        };
        if !view.excluded.is_empty() && ui.button(format!("Take back {blocks} left out")).clicked() {
            view.excluded.clear();
        }
    });
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), chars.as_str().trim_end_matches('.')))
}

fn told(ui: &mut Ui, shown: &Shown<'_>, state: &mut State, routed: &Routed) {
    let route = &routed.route;
    let p = palette(ui.ctx());
    let hour = |t| shown.time(t, "%H:%M");
    let first = route.visits.iter().position(|v| v.leave_by == route.turn_back).map_or(1, |n| n + 1);
    let name = format!("Turn back by {}", hour(route.turn_back));
    let response = card(ui, p.danger, false, &name, |ui| {
        ui.label(egui::RichText::new(&name).font(theme::bold_font(30.0)).color(p.ink));
        ui.label(format!("from block {first}; every other block has its own time below"));
        ui.label(format!(
            "Set out {} from {}; out by {} at {}.",
            hour(route.depart),
            route.from.name,
            hour(route.back),
            route.to.name
        ));
        let (least, most) = route.margins.sum_m();
        ui.label(
            soft(
                ui,
                format!(
                    "{:.0} ± {:.0} finds expected on {:.0} m². Kept between sand and water: {least:.2} to {most:.2} m; on every way out: {} min. \
                     Checked apart at {} moments; the longest way out takes {:.0} min.",
                    route.finds,
                    route.finds_sd,
                    route.swept_m2,
                    route.margins.time_min,
                    route.checked.moments,
                    (route.checked.longest_out_s / 60.0).ceil()
                ),
            )
            .size(13.0),
        );
    });
    if response.on_hover_text("Show this moment").clicked() {
        state.go_to(route.turn_back);
    }
    heading(ui, "What if");
    for w in &route.what_if {
        let turn = w.turn_back.map_or("no block is safe".to_owned(), |t| format!("turn back by {}", hour(t)));
        let lost = match w.visits_lost {
            0 => "the plan holds".to_owned(),
            1 => "1 block lost".to_owned(),
            n => format!("{n} blocks lost"),
        };
        ui.label(format!("{}: {turn}; {lost}", w.said));
    }
    heading(ui, "Blocks");
    for (n, v) in route.visits.iter().enumerate() {
        let name = format!("Block {}, {} to {}", n + 1, hour(v.begin), hour(v.leave));
        let here = state.clock.at >= v.begin && state.clock.at < v.leave;
        let response = card(ui, p.accent, here, &name, |ui| {
            ui.label(strong(format!("{name}   gone by {}", hour(v.leave_by))));
            ui.label(
                soft(
                    ui,
                    format!(
                        "{:.0} m along, {:.0} m across; {} lanes; {:.1} ± {:.1} finds",
                        v.along_m,
                        v.across_m,
                        v.lanes.len(),
                        v.finds,
                        v.finds_sd
                    ),
                )
                .size(13.0),
            );
        });
        if response.on_hover_text("Show this moment").clicked() {
            state.go_to(v.begin);
        }
        if ui.small_button(format!("Leave out block {}", n + 1)).clicked() {
            state.next_low.excluded.insert(v.block);
        }
    }
    heading(ui, "Cautions");
    for caution in &route.cautions {
        warning(ui, caution);
    }
    heading(ui, "Taken for granted");
    for line in &route.assumptions {
        ui.label(soft(ui, line.as_str()).size(13.0));
    }
}

fn files(ui: &mut Ui, state: &mut State) {
    heading(ui, "Take it along");
    ui.label("The card as one HTML page to print, the route as GPX and GeoJSON.");
    let label = ui.label("Folder for the route");
    ui.add(TextEdit::singleline(&mut state.next_low.folder).desired_width(ui.available_width() - 20.0)).labelled_by(label.id);
    ui.horizontal(|ui| {
        let typed = !state.next_low.folder.trim().is_empty();
        if ui.add_enabled(typed, egui::Button::new(strong("Write the route"))).clicked() {
            state.commands.push(Command::WriteRoute(PathBuf::from(state.next_low.folder.trim())));
        }
        if ui.button("Choose a folder ...").on_hover_text("With the system's own dialog; writes at once").clicked() {
            state.commands.push(Command::Pick(PickFor::Route));
        }
    });
}

/// Writes the card and the files of a route into a folder and says what was written.
///
/// # Errors
/// A sentence when something could not be written; files written before it stay.
pub(crate) fn write_route(book: &Book, setting: &Setting, routed: &Routed, folder: &Path) -> Result<String, String> {
    let wrong = |e: std::io::Error| format!("{} could not be written to: {e}", folder.display());
    std::fs::create_dir_all(folder).map_err(wrong)?;
    let route = &routed.route;
    let files = [
        ("route.gpx", route.gpx(setting).map_err(|e| e.to_string())?),
        ("route.geojson", route.geojson(setting).map_err(|e| e.to_string())?),
        ("card.html", route.card(book, setting).into_bytes()),
    ];
    for (name, bytes) in &files {
        std::fs::write(folder.join(name), bytes).map_err(wrong)?;
    }
    Ok(format!("wrote route.gpx, route.geojson, card.html into {}", folder.display()))
}

impl super::NextLowView {
    /// Plans for another low; what was left out for the last one is forgotten.
    pub(super) fn choose(&mut self, low: jiff::Timestamp) {
        self.low = Some(low);
        self.excluded.clear();
    }

    /// What is asked for now, if a low is chosen.
    pub(crate) fn ask(&self) -> Option<RouteAsk> {
        let low = self.low?;
        let after = low.checked_sub(jiff::SignedDuration::from_mins(self.before_min)).ok()?;
        Some(RouteAsk { low, after, head_torch: self.head_torch, run_up_m: self.run_up_m, excluded: self.excluded.clone() })
    }
}
