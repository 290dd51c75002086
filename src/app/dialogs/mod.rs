//! What stands over the window until it is answered.

mod beach_form;
mod book_path;
mod cautions;
mod intake;
mod keeping;
mod keys_list;
mod offset_form;
mod permission_form;
mod replace;
mod tide_form;

use egui::{Context, Id, Modal};

use crate::app::state::dialog::Dialog;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::theme;

/// Shows whichever dialog is open.
pub(crate) fn show(ctx: &Context, shown: &FrameContext<'_>, state: &mut State) {
    let Some(mut dialog) = state.dialog.take() else { return };
    let paper = theme::palette(ctx);
    let frame = egui::Frame::window(&ctx.global_style()).inner_margin(egui::Margin::same(18));
    let modal = Modal::new(Id::unique("dialog")).frame(frame).backdrop_color(paper.ink.gamma_multiply(0.25)).show(ctx, |ui| {
        ui.set_max_width((ctx.content_rect().width() - 80.0).min(820.0));
        match &mut dialog {
            Dialog::Intake(form) => intake::show(ui, form, shown, state),
            Dialog::Beach(form) => beach_form::show(ui, form, shown, state),
            Dialog::Permission(form) => permission_form::show(ui, form, shown, state),
            Dialog::Book(form) => form.show(ui, state),
            Dialog::Replace(standing) => replace::show(ui, standing, state),
            Dialog::Keeping(view) => keeping::show(ui, view, shown, state),
            Dialog::Cautions => {
                cautions::show(ui, shown);
                ui.button("Close").clicked()
            }
            Dialog::Keys => {
                ui.heading("Keys, all of them");
                ui.add_space(6.0);
                keys_list::show(ui);
                ui.add_space(8.0);
                ui.button("Close").clicked()
            }
        }
    });
    let done = modal.inner || modal.should_close();
    // A view may have opened another one meanwhile; that one stays.
    if !done && state.dialog.is_none() {
        state.dialog = Some(dialog);
    }
}
