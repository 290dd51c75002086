//! The line below the drawings: the caution, the book, and what was done last.

use std::path::Path;

use egui::{Align, Layout, RichText, Ui};

use super::state::State;
use super::state::dialog::Dialog;
use super::widgets::theme::{palette, soft};
use crate::tide::CAUTION;

pub(super) fn show(ui: &mut Ui, state: &mut State, kept: Option<(Option<&Path>, bool, bool)>, message: Option<(&str, bool)>) {
    let p = palette(ui.ctx());
    ui.horizontal(|ui| {
        ui.label(soft(ui, CAUTION).size(12.5));
        if ui.small_button("Cautions").on_hover_text("Tide cut-off, mud, ordnance, sharps, lightning").clicked() {
            state.dialog = Some(Dialog::Cautions);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let book = match kept {
                None => "opening the book ...".to_owned(),
                Some((_, true, _)) => "Tarrow Sands is invented, and so is everything found there. Nothing here is saved: Book, New to keep your own.".to_owned(),
                Some((Some(path), false, read_only)) => {
                    let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
                    if read_only { format!("{name} (cannot be written to)") } else { name }
                }
                Some((None, false, _)) => "a book without a file: Book, Save as, to keep it".to_owned(),
            };
            ui.add(egui::Label::new(soft(ui, book).size(12.5)).truncate());
            if let Some((text, bad)) = message.filter(|m| !m.0.is_empty()) {
                let colour = if bad { p.danger } else { p.ink };
                ui.add(egui::Label::new(RichText::new(text).size(12.5).color(colour)).truncate()).on_hover_text(text);
            }
        });
    });
}
