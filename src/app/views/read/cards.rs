//! What every card and part of Read is made of.

use egui::{Align, Color32, Grid, Layout, Ui};

use super::figures::set;
use crate::app::state::State;
use crate::app::widgets::theme::{bold, soft, strong};
use crate::query::Item;

/// The quiet form: an answer, but nothing to act upon.
pub(super) fn quiet(ui: &mut Ui, what: &str, why: &str) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        ui.label(soft(ui, what).family(bold()));
    });
    ui.label(soft(ui, set(why)).size(13.5));
}

/// The head of a card that opens to its figures.
pub(super) fn title(ui: &mut Ui, edge: Color32, text: &str, open: bool) {
    ui.horizontal(|ui| {
        let said = soft(ui, if open { "close" } else { "figures" }).size(12.5);
        ui.with_layout(Layout::right_to_left(Align::Min), |ui| {
            ui.label(said);
            ui.with_layout(Layout::left_to_right(Align::Min), |ui| {
                ui.add(egui::Label::new(strong(text).color(edge)).wrap());
            });
        });
    });
}

/// A table of figures: what, and how much.
pub(super) fn figures(ui: &mut Ui, salt: (&str, usize), rows: &[(&str, String)]) {
    ui.add_space(3.0);
    Grid::new(salt).num_columns(2).spacing([10.0, 2.0]).show(ui, |ui| {
        for (what, figure) in rows.iter().filter(|(_, f)| !f.is_empty()) {
            ui.with_layout(Layout::left_to_right(Align::Min), |ui| {
                ui.set_width(96.0);
                ui.add(egui::Label::new(soft(ui, *what).size(13.0)).wrap());
            });
            ui.vertical(|ui| {
                ui.set_max_width((ui.available_width() - 4.0).max(80.0));
                ui.add(egui::Label::new(egui::RichText::new(set(figure)).size(13.0)).wrap());
            });
            ui.end_row();
        }
    });
}

/// What would make it surer, if that can be said.
pub(super) fn surer(ui: &mut Ui, text: &str) {
    if !text.is_empty() {
        ui.add_space(2.0);
        ui.label(strong("What would make it surer").size(13.0));
        ui.label(egui::RichText::new(format!("{}.", capital(&set(text)))).size(13.5));
    }
}

/// Whether a part or verdict is the one to open.
pub(super) fn is_asked(part: Option<&str>, name: &str) -> bool {
    part.map(str::to_lowercase).is_some_and(|part| !part.is_empty() && name.to_lowercase().starts_with(&part))
}

/// Brings what was asked for to the top of the sheet, at once.
pub(super) fn to_top(response: &egui::Response) {
    response.scroll_to_me_animation(Some(egui::Align::TOP), egui::style::ScrollAnimation::none());
}

/// A name at the beginning of a line.
pub(super) fn capital(name: &str) -> String {
    let mut chars = name.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// Points at what a card tells of while it is pointed at, picks it when it is pressed.
pub(super) fn pick_on(state: &mut State, response: &egui::Response, item: Item) {
    if response.hovered() {
        state.selection.hovered = Some(item);
    }
    if response.clicked() {
        if state.selection.holds(item) { state.selection.clear() } else { state.selection.only(item) }
    }
}
