use egui::Ui;

use crate::app::widgets::theme::strong;

/// Everything the keyboard does.
const LIST: &[(&str, &str)] = &[
    ("Tab, Shift+Tab", "from one thing to the next"),
    ("1 2 3 4", "Log, Read, Next low, Share"),
    ("N, P", "next find, previous find (in the order of the Log)"),
    ("E", "edit the picked find, signal or outing"),
    ("D", "dig the picked signal: make it a find"),
    ("B", "the bench"),
    ("G", "what Plan shows of the ground: none, covered, rate, certainty"),
    ("Delete", "delete what is picked"),
    ("Escape", "close, or let go of what is picked"),
    (", and .", "ten minutes back, ten minutes on"),
    ("< and >", "to the low water before, to the next one"),
    ("Space", "let time run, or stop it"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, do again"),
    ("Ctrl+O, Ctrl+I", "open a book, import files"),
    ("Ctrl and + - 0", "everything larger, smaller, as it was"),
    ("in Plan: arrows, + -, Home", "move, zoom, show the whole beach"),
    ("in Plan: Shift and drag", "pick everything in a box"),
    ("in Plan, on Next low: K, X", "keep in, or leave out, the block picked"),
    ("on the bench: Ctrl+N, D, T, L", "nothing heard, next depth, next target, next of the list"),
    ("in Time: left, right, + -", "move the instant, zoom"),
    ("F1", "this list"),
];

/// The list of keys.
pub(super) fn show(ui: &mut Ui) {
    egui::Grid::new("keys").num_columns(2).spacing([24.0, 5.0]).show(ui, |ui| {
        for (keys, what) in LIST {
            ui.label(strong(*keys));
            ui.label(*what);
            ui.end_row();
        }
    });
}
