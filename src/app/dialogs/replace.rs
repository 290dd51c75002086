//! Something stands where a file was to be written: whether it may be replaced.

use egui::Ui;

use crate::app::state::State;
use crate::app::state::command::Command;
use crate::app::state::dialog::Standing;
use crate::app::widgets::controls::warning;

/// Shows the question; whether it is done with.
pub(super) fn show(ui: &mut Ui, standing: &Standing, state: &mut State) -> bool {
    ui.heading("Replace what is there?");
    ui.add_space(4.0);
    warning(ui, &standing.said);
    ui.label("What is replaced cannot be brought back from here.");
    ui.add_space(8.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Replace").clicked() {
            state.commands.push(Command::Replace(standing.again.clone()));
            done = true;
        }
        done |= ui.button("Leave it as it is").clicked();
    });
    done
}
