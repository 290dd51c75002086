//! Everything the keyboard does, and what the words mean.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::widgets::controls::heading;
use crate::app::widgets::terms::{Strength, TERMS};
use crate::app::widgets::theme::{soft, strong};

/// Everything the keyboard does.
const LIST: &[(&str, &str)] = &[
    ("Tab, Shift+Tab", "from one thing to the next"),
    ("1 2 3 4", "Log, Read, Next low, Share"),
    ("A", "add a find"),
    ("N, P", "next find, previous find (in the order of the Log)"),
    ("E", "edit the picked find, signal, outing or way down"),
    ("D", "dig the picked signal: make it a find"),
    ("B", "the bench"),
    ("G", "what Plan shows of the ground: none, covered, rate, certainty"),
    ("Delete", "delete what is picked"),
    ("Escape", "close, or let go of what is picked"),
    (", and .", "ten minutes back, ten minutes on"),
    ("< and >", "to the low water before, to the next one"),
    ("Space", "let time run, or stop it, wherever the keyboard is but in text"),
    ("Enter", "press what has the keyboard; in a form, keep it"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, do again; in a form, what was done there"),
    ("Ctrl+O, Ctrl+I", "open a book, import files"),
    ("Ctrl and + - 0", "everything larger, smaller, as it was"),
    ("in Plan: arrows, + -, Home", "move, zoom, show the whole beach"),
    ("in Plan, with a form open", "click or drag places it; arrows move it a metre, with Shift ten"),
    ("in Plan, Section, Time: Page down, Page up", "the next mark in view, the one before"),
    ("in Plan: Shift and drag", "pick everything in a box"),
    ("in Plan, on Next low: K, X", "keep in, or leave out, the block picked"),
    ("on Next low: R", "plan a route for the next low water"),
    ("in Section: left, right", "cut ten metres further along"),
    ("on the bench: Ctrl+N, D, T, L", "nothing heard, next depth, next target, next of the list"),
    ("in Time: left, right, + -", "move the instant, zoom"),
    ("F1", "this list"),
];

/// The list of keys, and of words.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>) {
    ui.set_max_width(ui.available_width().min(700.0));
    ui.heading("Keys, all of them");
    ui.add_space(6.0);
    table(ui, "keys", LIST.iter().map(|(keys, what)| ((*keys).to_owned(), (*what).to_owned())));
    heading(ui, "Words");
    if let Some(water) = shown.water() {
        ui.label(soft(ui, format!("Heights of the water are above {} here.", water.datum().words())));
    }
    table(ui, "words", TERMS.iter().map(|(term, said)| ((*term).to_owned(), format!("{said}."))));
    heading(ui, "How sure a verdict is");
    table(ui, "strengths", Strength::ALL.iter().map(|s| (s.words().to_owned(), s.sentence())));
    ui.add_space(8.0);
}

fn table(ui: &mut Ui, name: &str, rows: impl Iterator<Item = (String, String)>) {
    let wide = ui.available_width();
    let names = (0.36 * wide).clamp(80.0, 210.0);
    ui.push_id(name, |ui| {
        for (what, said) in rows {
            ui.horizontal_top(|ui| {
                ui.allocate_ui(egui::vec2(names, 0.0), |ui| {
                    ui.set_width(names);
                    ui.add(egui::Label::new(strong(what)).wrap());
                });
                ui.vertical(|ui| {
                    ui.set_width((wide - names - 10.0).max(60.0));
                    ui.add(egui::Label::new(said).wrap());
                });
            });
        }
    });
}
