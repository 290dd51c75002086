//! The photo of the find that is picked.

use egui::{TextureOptions, Ui};

use crate::app::photo::{PhotoQuestion, path_of};
use crate::app::state::{FrameContext, PhotoView};
use crate::app::widgets::controls::warning;
use crate::app::widgets::theme::soft;
use crate::book::Find;

/// Height at which it is shown, points.
const HIGH: f32 = 170.0;

/// Shows the photo of a find, or why there is none to see.
pub(super) fn show(ui: &mut Ui, view: &mut PhotoView, find: &Find, shown: &FrameContext<'_>) {
    if find.photo.trim().is_empty() {
        return;
    }
    let path = match path_of(shown.folder, &find.photo) {
        Ok(path) => path,
        Err(why) => return warning(ui, &format!("Photo: {why}.")),
    };
    let answer = shown.answers.answer::<PhotoQuestion>();
    if let Some(photo) = answer.fresh().filter(|_| answer.question().is_some_and(|q| q.path == path)) {
        if view.0.as_ref().is_none_or(|(there, _)| *there != path) {
            let texture = ui.ctx().load_texture("photo of a find", photo.image.clone(), TextureOptions::LINEAR);
            view.0 = Some((path, texture));
        }
        if let Some((_, texture)) = &view.0 {
            let name = if find.what.is_empty() { find.kind.label() } else { &find.what };
            let image = egui::Image::from_texture(texture)
                .max_height(HIGH)
                .max_width(ui.available_width())
                .alt_text(format!("Photo of {name}"));
            ui.add(image).on_hover_text(&find.photo);
        }
    } else if let Some(why) = answer.failure() {
        warning(ui, &format!("Photo: {why}."));
    } else {
        ui.label(soft(ui, format!("opening {} ...", find.photo)).size(13.0));
    }
}
