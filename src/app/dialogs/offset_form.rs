//! The datum offset as it is typed: what is doubted of it, and that another tide source asks for it again.

use egui::Ui;

use super::tide_form::source_line;
use crate::app::state::FrameContext;
use crate::app::state::beach_form::BeachForm;
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::soft;
use crate::app::widgets::typed::number;
use crate::book::{Beach, Book, TideChoice};
use crate::tide::Catalogue;
use crate::trust::{Doubt, OffsetFacts, of_levels, of_offset, offset_said};

/// Takes the offset out of the form when the source becomes another, and puts it back with the source.
pub(super) fn follow_source(form: &mut BeachForm, book: &Book) {
    if form.draft.tide == form.offset_for {
        return;
    }
    let (source, offset) = form.offset_first.clone();
    if form.draft.tide == source {
        (form.offset, form.offset_anew) = (offset, None);
    } else if !form.offset.trim().is_empty() || form.offset_anew.is_some() {
        let was = if offset.trim().is_empty() { "nothing".to_owned() } else { format!("{} m", offset.trim()) };
        form.offset.clear();
        form.offset_anew =
            Some(format!("It was {was} for the {}; this source counts from another zero.", source_line(book, &source)));
    }
    form.offset_for = form.draft.tide.clone();
}

/// What is to be said of the offset as it stands in the form.
pub(super) fn show(ui: &mut Ui, form: &mut BeachForm, shown: &FrameContext<'_>) {
    if let Some(why) = &form.offset_anew {
        ui.label(soft(ui, format!("Give the offset again. {why}")));
    }
    let Ok(Some(offset_m)) = number("datum offset", &form.offset) else { return };
    let typed = Beach { datum_offset_m: Some(offset_m), ..form.draft.clone() };
    let typed = shown.beach.map_or_else(|| typed.clone(), |before| typed.clone().changed_from(before));
    let typed = if form.offset_anew.is_some() { typed.with_offset(Some(offset_m)) } else { typed };
    if let Some(said) = offset_said(&typed) {
        ui.label(soft(ui, format!("Where {offset_m:+.2} m comes from: {said}.")).size(13.0));
    }
    for doubt in facts(&typed, shown).map(|facts| doubts(&typed, &facts)).unwrap_or_default() {
        warning(ui, &doubt.sentence);
        for way in &doubt.settle {
            ui.label(soft(ui, way.as_str()).size(13.0));
        }
    }
    if typed.offset_from.is_some() && ui.small_button(format!("{offset_m:+.2} m holds for this source too")).clicked() {
        form.draft.offset_from = None;
    }
}

/// What is doubted of the offset, and of the levels that it is held against.
fn doubts(typed: &Beach, facts: &OffsetFacts) -> Vec<Doubt> {
    of_offset(typed, facts).into_iter().chain(of_levels(typed, facts)).collect()
}

/// What is known of the source: predicted for the one that the beach has, published for another station.
fn facts(typed: &Beach, shown: &FrameContext<'_>) -> Option<OffsetFacts> {
    let setting = shown.setting()?;
    let sand = setting.shore.as_ref().ok().and_then(|s| s.sand_span());
    match (&typed.tide, &setting.water) {
        (tide, Some(water)) if *tide == setting.beach.tide => Some(OffsetFacts::of_water(typed, water, sand)),
        (TideChoice::Station(id), _) => Catalogue::shipped().get(id).map(|s| OffsetFacts::of_station(typed, s, sand)),
        _ => None,
    }
}
