//! Asks before what was typed is thrown away.

use egui::{Context, Id};

use super::over;
use crate::app::state::State;
use crate::app::state::dialog::Leaving;
use crate::app::widgets::theme::strong;

/// Asks, while a form with something typed in it is about to be left.
pub(super) fn show(ctx: &Context, state: &mut State) {
    let Some(leaving) = state.leaving else { return };
    let mut leave = false;
    let back = over(ctx, Id::unique("leaving a form"), |ui| {
        ui.label(strong("Leave what you typed?"));
        ui.label("It was not kept.");
        ui.add_space(6.0);
        let mut back = false;
        ui.horizontal(|ui| {
            let keep = ui.button(strong("Keep on editing")).on_hover_text("Escape");
            if ui.memory(|m| m.focused().is_none()) {
                keep.request_focus();
            }
            back = keep.clicked();
            leave = ui.button("Leave it").clicked();
        });
        back
    });
    if leave {
        match leaving {
            Leaving::Dialog => state.dialog = None,
            Leaving::Draft => state.draft = None,
            Leaving::SetUp => state.bench.form = None,
        }
    } else if back.is_open() {
        return;
    } else if let (Leaving::Draft, Some(form)) = (leaving, &mut state.draft) {
        // The keyboard is in the form again, and not on the window, where what is typed are commands.
        form.focus = true;
    } else if let (Leaving::SetUp, Some(form)) = (leaving, &mut state.bench.form) {
        form.focus = true;
    }
    state.leaving = None;
}
