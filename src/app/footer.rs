//! The line below the drawings: the caution, the book, and what was done last.

use std::path::Path;

use egui::{Align, Layout, RichText, Ui};

use super::state::State;
use super::state::dialog::Dialog;
use super::widgets::canvas::is_low;
use super::widgets::theme::{palette, soft};
use crate::tide::CAUTION;

pub(super) fn show(ui: &mut Ui, state: &mut State, kept: Option<(Option<&Path>, bool, bool)>, message: Option<&str>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(soft(ui, CAUTION).size(12.5));
        if ui.small_button("Cautions").on_hover_text("Tide cut-off, mud, ordnance, sharps, lightning").clicked() {
            state.dialog = Some(Dialog::Cautions);
        }
        let (book, whole) = match kept {
            None => ("opening the book ...".to_owned(), String::new()),
            Some((_, true, _)) => (
                "Invented beach, invented finds; nothing here is kept".to_owned(),
                "Tarrow Sands is invented, and so is everything found there. Nothing here is kept: import files, or make a new book, to keep your own.".to_owned(),
            ),
            Some((Some(path), false, read_only)) => {
                let name = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
                let cannot = if read_only { " (cannot be written to)" } else { "" };
                (format!("Book: {name}{cannot}"), path.display().to_string())
            }
            Some((None, false, _)) => ("a book without a file: Book, Save as, to keep it".to_owned(), String::new()),
        };
        let right = |ui: &mut Ui| {
            let label = ui.add(egui::Label::new(soft(ui, &book).size(12.5)).truncate());
            if !whole.is_empty() {
                label.on_hover_text(&whole);
            }
            if let Some(text) = message.filter(|m| !m.is_empty()) {
                let ink = palette(ui.ctx()).ink;
                ui.add(egui::Label::new(RichText::new(text).size(12.5).color(ink)).truncate()).on_hover_text(text);
            }
        };
        // In a low window one line must do.
        let least = if is_low(ui.ctx()) { 90.0 } else { 240.0 };
        if ui.available_width() > least {
            ui.with_layout(Layout::right_to_left(Align::Center), right);
        } else {
            ui.end_row();
            right(ui);
        }
    });
}
