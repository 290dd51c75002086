//! What stands over the window until it is answered.

mod beach_form;
mod book_path;
mod cautions;
mod chooser;
mod delete;
mod intake;
mod keeping;
mod keys_list;
mod leaving;
mod offset_form;
mod permission_form;
mod place;
mod replace;
mod tide_form;
mod tidy;

use egui::{Context, Id, Modal, ScrollArea, Ui};

use crate::app::state::dialog::{Dialog, Leaving};
use crate::app::state::{FrameContext, State};
use crate::app::widgets::theme;

/// Room that a dialog leaves free around itself, its own edge among it, points.
const AROUND: f32 = 70.0;

/// How high a part of a dialog may be so that what stands below it, `foot` points, stays in the window.
pub(super) fn below(ui: &Ui, foot: f32) -> f32 {
    let above = ui.cursor().top() - ui.max_rect().top();
    (ui.ctx().content_rect().height() - AROUND - above.max(0.0) - foot).max(40.0)
}

/// The middle of a dialog: as high as it needs, and scrolled where the window is too low for it, so that what stands
/// below it, `foot` points, is always there to be pressed.
pub(super) fn scrolled<R>(ui: &mut Ui, foot: f32, contents: impl FnOnce(&mut Ui) -> R) -> R {
    let most = below(ui, foot);
    let area = ScrollArea::vertical().max_height(most).min_scrolled_height(most).auto_shrink([false, true]);
    let inside = area.show(ui, |ui| {
        // Room for the bar that floats over the right edge.
        ui.set_width((ui.available_width() - 12.0).max(80.0));
        contents(ui)
    });
    inside.inner
}

/// Shows whichever dialog is open, and the chooser of files over it.
pub(crate) fn show(ctx: &Context, shown: &FrameContext<'_>, state: &mut State) {
    if let Some(mut dialog) = state.dialog.take() {
        // Each has an id of its own, so that none opens scrolled as another was left.
        let id = Id::unique(("dialog", std::mem::discriminant(&dialog)));
        let mut done = over(ctx, id, |ui| one(ui, &mut dialog, shown, state));
        if done == Done::Put && state.chooser.is_none() && dialog.is_changed() {
            (done, state.leaving) = (Done::Open, Some(Leaving::Dialog));
        }
        // A view may have opened another one meanwhile; that one stays.
        if (done.is_open() || state.chooser.is_some()) && state.dialog.is_none() {
            state.dialog = Some(dialog);
        }
    }
    if let Some(mut chooser) = state.chooser.take()
        && over(ctx, Id::unique("chooser"), |ui| chooser::show(ui, &mut chooser, shown, state)).is_open()
    {
        state.chooser = Some(chooser);
    }
    leaving::show(ctx, state);
}

/// What became of something over the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Done {
    Open,
    /// It says itself that it is done with.
    Said,
    /// It is put aside by Escape or a press beside it.
    Put,
}

impl Done {
    fn is_open(self) -> bool {
        self == Self::Open
    }
}

/// Something over the window.
fn over(ctx: &Context, id: Id, contents: impl FnOnce(&mut Ui) -> bool) -> Done {
    let paper = theme::palette(ctx);
    let frame = egui::Frame::window(&ctx.global_style()).inner_margin(egui::Margin::same(18));
    let modal = Modal::new(id).frame(frame).backdrop_color(paper.ink.gamma_multiply(0.25)).show(ctx, |ui| {
        ui.set_max_width((ctx.content_rect().width() - 60.0).clamp(200.0, 820.0));
        contents(ui)
    });
    match modal.inner {
        true => Done::Said,
        false if modal.should_close() => Done::Put,
        false => Done::Open,
    }
}

fn one(ui: &mut Ui, dialog: &mut Dialog, shown: &FrameContext<'_>, state: &mut State) -> bool {
    match dialog {
        Dialog::Intake(form) => intake::show(ui, form, shown, state),
        Dialog::Beach(form) => beach_form::show(ui, form, shown, state),
        Dialog::Permission(form) => permission_form::show(ui, form, shown, state),
        Dialog::Book(form) => form.show(ui, state),
        Dialog::Replace(standing) => replace::show(ui, standing, state),
        Dialog::Delete(deletion) => delete::show(ui, deletion, state),
        Dialog::Keeping(view) => keeping::show(ui, view, shown, state),
        Dialog::Place(form) => place::show(ui, form, shown, state),
        Dialog::Tidy => tidy::show(ui, shown, state),
        Dialog::Cautions => {
            scrolled(ui, 44.0, |ui| cautions::show(ui, shown));
            ui.button("Close").clicked()
        }
        Dialog::Keys => {
            scrolled(ui, 44.0, |ui| keys_list::show(ui, shown));
            ui.button("Close").clicked()
        }
    }
}
