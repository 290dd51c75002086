//! The path of a book typed by hand, beside the system's own dialog.

use std::path::PathBuf;

use egui::Ui;

use crate::app::state::State;
use crate::app::state::command::{Command, PickFor};
use crate::app::state::dialog::PathForm;

impl PathForm {
    /// Shows it; whether it is done with.
    pub(super) fn show(&mut self, ui: &mut Ui, state: &mut State) -> bool {
        let (title, button) = match self.purpose {
            PickFor::Open => ("Open a book", "Open"),
            PickFor::New => ("New book", "Make it"),
            PickFor::SaveAs => ("Save the book as", "Save"),
            PickFor::HandOver | PickFor::Route | PickFor::Import => ("Hand over", "Write"),
        };
        ui.heading(title);
        ui.label("A book is one file, an OGC GeoPackage (.gpkg), which any program for maps can open.");
        ui.add_space(6.0);
        let label = ui.label("File");
        let field = ui
            .add(egui::TextEdit::singleline(&mut self.text).desired_width(430.0).hint_text("/home/me/my-beaches.gpkg"))
            .labelled_by(label.id);
        let enter = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        ui.add_space(8.0);
        let mut done = false;
        ui.horizontal(|ui| {
            let typed = !self.text.trim().is_empty();
            if ui.add_enabled(typed, egui::Button::new(button)).clicked() || (enter && typed) {
                state.use_paths(self.purpose, vec![PathBuf::from(self.text.trim())]);
                done = true;
            }
            if ui.button("Choose ...").on_hover_text("With the system's own dialog").clicked() {
                state.commands.push(Command::Pick(self.purpose));
            }
            done |= ui.button("Leave").clicked();
        });
        done
    }
}
