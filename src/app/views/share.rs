//! Share: what is handed over to a permission's holder, or kept for oneself, as open files.

use std::path::{Path, PathBuf};

use egui::{TextEdit, Ui};
use jiff::Timestamp;

use crate::Progress;
use crate::app::dialogs::PickFor;
use crate::app::state::Shown;
use crate::app::widgets::controls::{choice, heading, warning};
use crate::app::widgets::theme::{soft, strong};
use crate::app::{Command, State};
use crate::book::{Book, Permission, Uid};
use crate::effort;
use crate::reading::{self, Covered, Ground, Params};
use crate::share;
use crate::shore::Setting;

/// For whom a hand-over is and where it goes.
#[derive(Debug, Clone, Default)]
pub(crate) struct ShareView {
    /// The permission whose terms decide; everything, exactly as it is, without one.
    pub(crate) permission: Option<Uid>,
    folder: String,
}

pub(crate) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    let Some(beach) = shown.beach else {
        ui.label("There is no beach to hand over yet.");
        return;
    };
    ui.label("Writes finds, zones, clusters and bands as GeoJSON (RFC 7946), a plan as SVG and a report as one HTML page.");
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
        Some(p) => terms(ui, p),
    }
    heading(ui, "Where to");
    let label = ui.label("Folder");
    ui.add(
        TextEdit::singleline(&mut view.folder).desired_width(ui.available_width() - 20.0).hint_text("/home/me/for-the-council"),
    )
    .labelled_by(label.id);
    ui.horizontal(|ui| {
        let typed = !state.share.folder.trim().is_empty();
        if ui.add_enabled(typed, egui::Button::new(strong("Write"))).clicked() {
            state.commands.push(Command::HandOver(PathBuf::from(state.share.folder.trim())));
        }
        if ui.button("Choose ...").on_hover_text("With the system's own dialog; writes at once").clicked() {
            state.commands.push(Command::Pick(PickFor::HandOver));
        }
    });
    ui.add_space(6.0);
    ui.label(
        soft(ui, "Files of the same names in that folder are replaced. What was written is said at the foot of the window.")
            .size(13.0),
    );
    ui.label(soft(ui, "Route files for a low water are written from the sheet Next low.").size(13.0));
}

fn holder(permission: &Permission) -> &str {
    if permission.holder.is_empty() { "its holder" } else { &permission.holder }
}

fn terms(ui: &mut Ui, p: &Permission) {
    let said = if p.exact_positions {
        "Finds on its ground only, positions exact as the permission says.".to_owned()
    } else {
        format!("Finds on its ground only, positions moved onto a grid of {:.0} m.", p.coarsen_m.unwrap_or(share::USUAL_GRID_M))
    };
    ui.label(said);
    for (what, text) in [("terms", &p.terms), ("wants reported", &p.report)] {
        if !text.is_empty() {
            ui.label(soft(ui, format!("{what}: {text}")));
        }
    }
}

/// Writes the files of a hand-over into a folder, read by the same settings as Read but of every find, and says what was written.
///
/// # Errors
/// A sentence when something cannot be read, cut down or written; files written before it stay.
pub(crate) fn hand_over(
    book: &Book,
    beach: Uid,
    permission: Option<Uid>,
    folder: &Path,
    (effort, params): (&effort::Params, &Params),
    now: Timestamp,
    progress: &Progress,
) -> Result<String, String> {
    let write_error = |e: std::io::Error| format!("{} could not be written to: {e}", folder.display());
    // The folder first: no long work for a place that cannot be written to.
    std::fs::create_dir_all(folder).map_err(write_error)?;
    let (book, said) = match permission {
        None => (book.clone(), Vec::new()),
        Some(uid) => {
            let permission = book.permissions().get(&uid).ok_or("the permission is no longer in the book")?;
            let cut = share::cut_to(book, permission).map_err(|e| e.to_string())?;
            (cut.book, cut.said)
        }
    };
    let setting = Setting::of(&book, beach).ok_or("the beach is no longer in the book")?;
    let covered = Covered::of(&book, &setting, effort, progress).map_err(|e| e.to_string())?;
    let ground = Ground { book: &book, setting: &setting, covered: covered.as_ref().map(|(c, _)| c), now: Some(now) };
    let reading = reading::read(&ground, params, progress).map_err(|e| e.to_string())?;
    let files = share::open_files(&book, &setting, &reading).map_err(|e| e.to_string())?;
    let mut report = share::report(&book, &setting, &reading, now);
    report.opening.extend(said);
    let pages = [("plan.svg", share::plan_picture(&book, &setting, &reading).svg()), ("report.html", report.html())];
    let mut names: Vec<String> = Vec::new();
    let all = files.into_iter().map(|(name, bytes)| (name.to_owned(), bytes));
    for (name, bytes) in all.chain(pages.into_iter().map(|(name, text)| (name.to_owned(), text.into_bytes()))) {
        progress.check().map_err(|e| e.to_string())?;
        std::fs::write(folder.join(&name), bytes).map_err(write_error)?;
        names.push(name);
    }
    Ok(format!("wrote {} into {}", names.join(", "), folder.display()))
}
