//! The program's own chooser of files and folders, for a system that has none.

use egui::{Role, ScrollArea, TextEdit, Ui, WidgetInfo};

use super::below;
use crate::app::folder::{FolderQuestion, InFolder};
use crate::app::state::command::PickFor;
use crate::app::state::dialog::{Chooser, book_path_typed};
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::entered;
use crate::app::widgets::theme::{soft, strong};

/// Shows it; whether it is done with.
pub(super) fn show(ui: &mut Ui, chooser: &mut Chooser, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(560.0));
    let (title, verb) = match chooser.purpose {
        PickFor::Import => ("Files to import", "Take these"),
        PickFor::ImportFolder => ("A folder to import", "Take this folder"),
        PickFor::Open => ("A book to open", "Open"),
        PickFor::New => ("Where the new book goes", "Here"),
        PickFor::SaveAs => ("Where the book goes on", "Here"),
        PickFor::Route | PickFor::HandOver => ("The folder to write into", "Write into this folder"),
    };
    ui.heading(title);
    ui.label(strong(chooser.folder.display().to_string()));
    let answer = shown.answers.answer::<FolderQuestion>();
    let asked = answer.question().is_some_and(|q| q.folder == chooser.folder);
    let foot = if matches!(chooser.purpose, PickFor::New | PickFor::SaveAs) { 76.0 } else { 48.0 };
    let mut into = None;
    ScrollArea::vertical().max_height(below(ui, foot)).auto_shrink([false, true]).show(ui, |ui| {
        ui.set_width(ui.available_width() - 12.0);
        if let Some(up) = chooser.folder.parent()
            && ui.selectable_label(false, "↑ the folder above").clicked()
        {
            into = Some(up.to_owned());
        }
        match answer.fresh().filter(|_| asked) {
            Some(all) => {
                for entry in all.iter() {
                    if let Some(folder) = one(ui, chooser, entry) {
                        into = Some(folder);
                    }
                }
                if all.is_empty() {
                    ui.label(soft(ui, "nothing in it"));
                }
            }
            None if answer.failure().is_some() => warning(ui, answer.failure().unwrap_or_default()),
            None => drop(ui.label(soft(ui, "reading ..."))),
        }
    });
    if let Some(folder) = into {
        chooser.folder = folder;
        chooser.picked.clear();
    }
    let mut enter = false;
    if matches!(chooser.purpose, PickFor::New | PickFor::SaveAs) {
        ui.horizontal(|ui| {
            let label = ui.label("Name");
            let field = ui.add(TextEdit::singleline(&mut chooser.name).desired_width(300.0)).labelled_by(label.id);
            enter = entered(ui, &field);
        });
    }
    let paths = match chooser.purpose {
        PickFor::Import | PickFor::Open => chooser.picked.iter().cloned().collect(),
        PickFor::ImportFolder | PickFor::Route | PickFor::HandOver => vec![chooser.folder.clone()],
        PickFor::New | PickFor::SaveAs if chooser.name.trim().is_empty() => Vec::new(),
        PickFor::New | PickFor::SaveAs => vec![book_path_typed(&chooser.folder.join(chooser.name.trim()).display().to_string())],
    };
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.add_enabled(!paths.is_empty(), egui::Button::new(strong(verb))).clicked() || (enter && !paths.is_empty()) {
            state.use_paths(chooser.purpose, paths);
            done = true;
        }
        done |= ui.button("Leave the chooser").clicked();
    });
    done
}

/// One thing in the folder; the folder to go into, if it is one and was pressed.
fn one(ui: &mut Ui, chooser: &mut Chooser, entry: &InFolder) -> Option<std::path::PathBuf> {
    if entry.is_folder {
        let pressed = ui.selectable_label(false, format!("{}/", entry.name)).clicked();
        return pressed.then(|| entry.path.clone());
    }
    let pickable = match chooser.purpose {
        PickFor::Import => true,
        PickFor::Open => entry.path.extension().is_some_and(|e| e.eq_ignore_ascii_case("gpkg")),
        _ => false,
    };
    let picked = chooser.picked.contains(&entry.path);
    let response = ui.add_enabled(pickable, egui::Button::selectable(picked, &entry.name));
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, pickable, picked, &entry.name));
    if response.clicked() {
        if chooser.purpose == PickFor::Open {
            chooser.picked.clear();
        }
        if !picked {
            chooser.picked.insert(entry.path.clone());
        } else {
            chooser.picked.remove(&entry.path);
        }
    }
    None
}
