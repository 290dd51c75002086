//! Several records at once are about to be taken out of the book: whether they are meant.

use egui::Ui;

use crate::app::state::State;
use crate::app::state::dialog::Deletion;

/// Shows the question; whether it is done with.
pub(super) fn show(ui: &mut Ui, deletion: &Deletion, state: &mut State) -> bool {
    ui.heading(format!("Take {} records out of the book?", deletion.count));
    ui.add_space(4.0);
    ui.label("All that is picked goes. Undo brings it back, and so does Book > Changes and backups.");
    ui.add_space(8.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Take them out").clicked() {
            state.draft = None;
            state.apply(deletion.edit.clone(), deletion.label.clone());
            done = true;
        }
        done |= ui.button("Keep them").clicked();
    });
    done
}
