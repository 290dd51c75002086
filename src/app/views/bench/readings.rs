//! The list of readings, raw as they were kept.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::heading;
use crate::app::widgets::theme::soft;
use crate::book::{BenchReading, RecordKind, Setup};

/// Readings shown at once, newest first.
const MOST: usize = 200;

pub(super) fn show(ui: &mut Ui, setup: &Setup, shown: &FrameContext<'_>, state: &mut State) {
    let mut readings: Vec<&BenchReading> = shown.book.bench().values().filter(|r| r.setup == setup.uid).collect();
    readings.sort_by(|a, b| {
        let depth = a.depth_m.total_cmp(&b.depth_m);
        b.time.cmp(&a.time).then_with(|| a.target.cmp(&b.target)).then(depth).then(a.uid.cmp(&b.uid))
    });
    heading(ui, &format!("Readings, {}", readings.len()));
    for reading in readings.iter().take(MOST) {
        ui.horizontal_wrapped(|ui| {
            ui.label(said(reading));
            let name = format!("Delete reading of {} at {:.0} cm", reading.target, 100.0 * reading.depth_m);
            let button = ui.small_button("×").on_hover_text(name.clone());
            button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name.clone()));
            if button.clicked() {
                state.apply(shown.book.removal(RecordKind::Bench, reading.uid), "delete bench reading");
            }
        });
    }
    if readings.len() > MOST {
        ui.label(soft(ui, format!("and {} more", readings.len() - MOST)));
    }
}

/// A reading in one line.
fn said(r: &BenchReading) -> String {
    let ids: Vec<String> = r.target_ids.iter().map(ToString::to_string).collect();
    let mut parts = vec![r.target.clone(), format!("{:.0} cm", 100.0 * r.depth_m)];
    parts.extend(r.scraped_m.map(|m| format!("{:.0} cm scraped off", 100.0 * m)));
    parts.extend(r.ground.map(|g| g.label().to_owned()));
    parts.extend(r.lie.map(|l| l.label().to_owned()));
    parts.push(if ids.is_empty() { "nothing heard".to_owned() } else { ids.join(" ") });
    parts.extend(r.steadiness.map(|s| s.label().to_owned()));
    parts.extend(r.gauge_step.map(|s| format!("step {s}")));
    parts.extend(r.dig.map(|d| if d { "dig" } else { "leave" }.to_owned()));
    parts.extend([r.tone.clone(), r.notes.clone()].into_iter().filter(|t| !t.is_empty()));
    parts.join(" · ")
}
