//! The rows of a form: a name, a field that is never wider than there is room, and under it why it was refused.

use egui::{Align, Id, Key, Label, Layout, Response, TextEdit, Ui, vec2};

use super::theme::{palette, soft};

/// Width of the names of fields, points.
const NAMES: f32 = 88.0;

/// A form while it is shown.
pub(crate) struct Form<'r> {
    /// The name of the field that was refused, and why.
    refusal: Option<(&'r str, &'r str)>,
    /// Whether Enter was pressed in one of its fields.
    pub(crate) entered: bool,
}

impl<'r> Form<'r> {
    /// With the field that was refused, if one was.
    pub(crate) fn new(refusal: Option<(&'r str, &'r str)>) -> Self {
        Self { refusal, entered: false }
    }

    /// One row: its name, and what stands beside it.
    pub(crate) fn row<R>(&self, ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui, Id) -> R) -> R {
        let wide = ui.available_width();
        let names = NAMES.min(0.34 * wide);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            let label =
                ui.allocate_ui_with_layout(vec2(names, 22.0), Layout::left_to_right(Align::Min).with_main_wrap(true), |ui| {
                    ui.set_width(names);
                    ui.add(Label::new(name).wrap())
                });
            ui.vertical(|ui| {
                ui.set_width((wide - names - 8.0).max(60.0));
                ui.spacing_mut().item_spacing.y = 2.0;
                let inside = contents(ui, label.inner.id);
                if let Some((_, why)) = self.refusal.filter(|(field, _)| *field == name) {
                    super::controls::warning(ui, why);
                }
                inside
            })
            .inner
        })
        .inner
    }

    /// A line of text with its name, and what is to be said beside it.
    pub(crate) fn line(&mut self, ui: &mut Ui, name: &str, text: &mut String, width: f32, hint: &str) -> Response {
        let refused = self.refusal.is_some_and(|(field, _)| field == name);
        let response = self.row(ui, name, |ui, label| {
            ui.horizontal_wrapped(|ui| {
                let edit = TextEdit::singleline(text).desired_width(width.min(ui.available_width() - 8.0));
                let edit = if refused { edit.text_color(palette(ui.ctx()).danger) } else { edit };
                let field = ui.add(edit).labelled_by(label);
                if !hint.is_empty() {
                    ui.label(soft(ui, hint).size(12.5));
                }
                field
            })
            .inner
        });
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        self.entered |= entered(ui, &response);
        response
    }

    /// What was refused of no field in particular.
    pub(crate) fn rest(&self) -> Option<&'r str> {
        self.refusal.filter(|(field, _)| field.is_empty()).map(|(_, why)| why)
    }
}

/// Whether Enter alone was pressed in a field of one line; with Ctrl it is pressed in the whole form.
pub(crate) fn entered(ui: &Ui, field: &Response) -> bool {
    let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter) && !i.modifiers.command);
    if entered {
        let now = ui.ctx().cumulative_frame_nr();
        ui.data_mut(|d| d.insert_temp(entered_last(), (field.id, now)));
    }
    entered
}

/// Where it is noted in which field, and in which frame, Enter was pressed.
fn entered_last() -> Id {
    Id::unique("the field in which Enter was pressed")
}

/// What was typed was refused: the keyboard stays in the field in which Enter was pressed just now. It never falls to the
/// window, where figures and letters are commands.
pub(crate) fn stay(ui: &Ui) {
    let now = ui.ctx().cumulative_frame_nr();
    if let Some((field, _)) = ui.data(|d| d.get_temp::<(Id, u64)>(entered_last())).filter(|(_, frame)| *frame == now) {
        ui.memory_mut(|m| m.request_focus(field));
    }
}

/// Whether Ctrl and Enter were pressed: they keep a form from anywhere in it, a note of several lines among that.
pub(crate) fn chord(ui: &Ui) -> bool {
    ui.input(|i| i.modifiers.command && i.key_pressed(Key::Enter))
}
