//! The path of a book typed by hand, beside the system's own dialog.

use egui::{Id, Ui};

use crate::app::state::State;
use crate::app::state::command::{Command, PickFor};
use crate::app::state::dialog::{PathForm, book_path_typed, path_typed};
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::soft;

impl PathForm {
    /// Shows it; whether it is done with.
    pub(super) fn show(&mut self, ui: &mut Ui, state: &mut State) -> bool {
        let (title, button) = match self.purpose {
            PickFor::Open => ("Open a book", "Open"),
            PickFor::New => ("New book", "Make it"),
            PickFor::SaveAs => ("Save the book as", "Save"),
            PickFor::HandOver | PickFor::Route | PickFor::Import | PickFor::ImportFolder => ("Hand over", "Write"),
        };
        ui.heading(title);
        ui.label("A book is one file, an OGC GeoPackage (.gpkg), which any program for maps can open.");
        ui.add_space(6.0);
        let label = ui.label("File");
        let width = ui.available_width().min(520.0);
        let edit = egui::TextEdit::singleline(&mut self.text)
            .id(Id::unique("path of a book"))
            .desired_width(width)
            .hint_text("~/my-beaches.gpkg");
        let mut field = edit.show(ui);
        field.response.response = field.response.response.labelled_by(label.id);
        if std::mem::take(&mut self.focus) {
            field.response.request_focus();
            // What is proposed is typed over at once.
            let all =
                egui::text::CCursorRange::two(egui::text::CCursor::new(0), egui::text::CCursor::new(self.text.chars().count()));
            field.state.cursor.set_char_range(Some(all));
            field.state.clone().store(ui.ctx(), field.response.id);
        }
        let enter = field.response.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        if let Some(why) = &self.refusal {
            warning(ui, why);
        } else if self.purpose == PickFor::New {
            ui.label(soft(ui, "Folders that are missing on the way are made.").size(13.0));
        }
        ui.add_space(8.0);
        let mut done = false;
        ui.horizontal(|ui| {
            let typed = !self.text.trim().is_empty() && !self.sent;
            if ui.add_enabled(typed, egui::Button::new(button)).clicked() || (enter && typed) {
                let path = if self.purpose == PickFor::Open { path_typed(&self.text) } else { book_path_typed(&self.text) };
                self.sent = true;
                self.refusal = None;
                state.use_paths(self.purpose, vec![path]);
            }
            if ui.button("Choose ...").on_hover_text("From the folders of this machine").clicked() {
                state.commands.push(Command::Pick(self.purpose));
            }
            done |= ui.button("Leave").clicked();
        });
        if self.refusal.is_some() && !self.sent && ui.memory(|m| m.focused().is_none()) {
            field.response.request_focus();
        }
        done
    }
}
