//! Putting the book right: what stands in it twice, and tracks to be cleaned. Proposed, never done in silence.

use egui::Ui;

use super::scrolled;
use crate::app::state::{FrameContext, State};
use crate::app::tidying::{Proposals, TidyQuestion};
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::soft;
use crate::book::Edit;
use crate::tidy::Thresholds;

/// Shows it; whether it is done with.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(700.0));
    ui.heading("Doubles, and spikes of tracks");
    scrolled(ui, 44.0, |ui| {
        ui.label(soft(ui, "Nothing here is done before you press it, and all of it can be undone."));
        let answer = shown.answers.answer::<TidyQuestion>();
        match (answer.fresh(), answer.failure()) {
            (Some(found), _) => {
                doubles(ui, found, state);
                tracks(ui, found, state);
            }
            (None, Some(why)) => warning(ui, &format!("{why}.")),
            (None, None) => drop(ui.label(soft(ui, "looking through the book ..."))),
        }
    });
    ui.button("Close").clicked()
}

fn doubles(ui: &mut Ui, found: &Proposals, state: &mut State) {
    heading(ui, "What may stand twice");
    if found.doubles.is_empty() {
        ui.label(soft(ui, "Nothing seems to stand in the book twice."));
    }
    for p in &found.doubles {
        ui.label(&p.words);
        ui.horizontal_wrapped(|ui| {
            let first = ui
                .small_button("Keep the first")
                .on_hover_text(format!("Merge {}: the first stays, with what only the second says", p.name));
            if first.clicked() {
                state.apply(p.edit.clone(), format!("merge {}", p.name));
            }
            let second = ui
                .small_button("Keep the second")
                .on_hover_text(format!("Merge {}: the second stays, with what only the first says", p.name));
            if second.clicked() {
                state.apply(p.other.clone(), format!("merge {}", p.name));
            }
        });
        ui.add_space(3.0);
    }
}

fn tracks(ui: &mut Ui, found: &Proposals, state: &mut State) {
    heading(ui, "Tracks");
    if found.tracks.is_empty() {
        ui.label(soft(ui, "No track has spikes, drift while standing or pauses to be parted at."));
        return;
    }
    let by = Thresholds::default();
    let said = format!(
        "A spike is faster than {} m/s by more than {} m and comes back within {} fixes; standing keeps within {} m for {} s; a pause \
         lasts {} s.",
        by.spike_m_per_s, by.spike_m, by.spike_fixes, by.rest_radius_m, by.rest_s, by.pause_s
    );
    ui.label(soft(ui, said).size(13.0));
    if found.tracks.len() > 1 && ui.button(format!("Clean all {} tracks", found.tracks.len())).clicked() {
        let edits = found.tracks.iter().map(|(_, c)| c.edit()).collect();
        state.apply(Edit::Batch(edits), format!("clean {} tracks", found.tracks.len()));
    }
    for (name, cleaned) in &found.tracks {
        ui.horizontal_wrapped(|ui| {
            let name = if name.is_empty() { "a track without a name" } else { name };
            if ui.small_button("clean").on_hover_text(format!("Clean {name}")).clicked() {
                state.apply(cleaned.edit(), format!("clean {name}"));
            }
            ui.label(format!("{name}: {}", cleaned.words()));
        });
    }
}
