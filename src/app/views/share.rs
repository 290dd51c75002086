//! Share: what is handed over to a permission's holder, or kept for oneself, as open files.

mod permission;

use std::path::PathBuf;

use egui::{TextEdit, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::command::Command;
use crate::app::state::command::PickFor;
use crate::app::widgets::controls::{choice, heading, warning};
use crate::app::widgets::theme::{soft, strong};
use crate::book::Permission;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else {
        ui.label("There is no beach to hand over yet.");
        return;
    };
    ui.label("Writes finds and what goes with them as GeoJSON (RFC 7946), a plan as SVG and a report as one HTML page; for a permission tables (CSV), outings and a list with checksums too.");
    heading(ui, "For whom");
    let view = &mut state.share;
    // A permission may have been deleted, or belong to another beach.
    view.permission = view.permission.filter(|p| shown.book.permissions().get(p).is_some_and(|p| p.beach == beach.uid));
    if choice(ui, view.permission.is_none(), "for myself: everything, positions exact").clicked() {
        view.permission = None;
    }
    for permission in shown.book.permissions().values().filter(|p| p.beach == beach.uid) {
        if choice(ui, view.permission == Some(permission.uid), &format!("{}, for {}", permission.name, holder(permission)))
            .clicked()
        {
            view.permission = Some(permission.uid);
        }
    }
    match view.permission.and_then(|p| shown.book.permissions().get(&p)) {
        None => warning(ui, "Exact positions of finds invite others. Hand this over to no one whose business it is not."),
        Some(p) => self::permission::show(ui, p, shown, state),
    }
    heading(ui, "Where to");
    let view = &mut state.share;
    let label = ui.label("Folder");
    // A name as the ask has it: nothing with exact places is to be called anybody else's.
    let hint = if view.permission.is_some() { "/home/me/for-its-holder" } else { "/home/me/for-myself" };
    ui.add(TextEdit::singleline(&mut view.folder).desired_width(ui.available_width() - 20.0).hint_text(hint))
        .labelled_by(label.id);
    ui.horizontal(|ui| {
        // A day that cannot be read is said beside its field.
        let can = state.share.asked().is_ok();
        let typed = can && !state.share.folder.trim().is_empty();
        let why = if can { "It needs a folder" } else { "The first or the last day told is not a day" };
        if ui.add_enabled(typed, egui::Button::new(strong("Write"))).on_disabled_hover_text(why).clicked() {
            state.commands.push(Command::HandOver(PathBuf::from(state.share.folder.trim())));
        }
        if ui
            .add_enabled(can, egui::Button::new("Choose ..."))
            .on_hover_text("With the system's own dialog; writes at once")
            .clicked()
        {
            state.commands.push(Command::Pick(PickFor::HandOver));
        }
    });
    ui.add_space(6.0);
    ui.label(
        soft(ui, "Files that this program wrote there before are replaced; of others you are asked. What was written is said at the foot of the window.")
            .size(13.0),
    );
    ui.label(soft(ui, "Route files for a low water are written from the sheet Next low.").size(13.0));
    self::permission::checked(ui, shown);
}

fn holder(permission: &Permission) -> &str {
    if permission.holder.is_empty() { "its holder" } else { &permission.holder }
}
