//! The few controls of our own: words that are chosen, figures with their names, cards.

use egui::{Color32, CornerRadius, Frame, Margin, Response, Role, Sense, Stroke, TextStyle, Ui, WidgetInfo, vec2};

use super::theme::{self, FOCUS, palette};

/// A word that can be chosen: underlined with the accent while it is.
pub(crate) fn choice(ui: &mut Ui, chosen: bool, label: &str) -> Response {
    choice_sized(ui, chosen, label, None)
}

/// As [`choice`], in a type size of its own.
pub(crate) fn choice_sized(ui: &mut Ui, chosen: bool, label: &str, size: Option<f32>) -> Response {
    let p = palette(ui.ctx());
    let size = size.unwrap_or_else(|| TextStyle::Body.resolve(ui.style()).size);
    let font = if chosen { theme::bold_font(size) } else { theme::label_font(size) };
    // Room for the bold form, so that nothing moves when it is chosen.
    let wide = ui.painter().layout_no_wrap(label.to_owned(), theme::bold_font(size), p.ink);
    let galley = ui.painter().layout_no_wrap(label.to_owned(), font, if chosen { p.ink } else { p.soft });
    let (rect, response) = ui.allocate_exact_size(wide.size() + vec2(2.0, 8.0), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, chosen, label));
    let ink = if response.hovered() || chosen { p.ink } else { p.soft };
    ui.painter().galley_with_override_text_color(rect.left_top() + vec2(1.0, 3.0), galley, ink);
    if chosen {
        ui.painter().hline(rect.x_range(), rect.bottom() - 1.5, Stroke::new(2.5, p.accent));
    }
    pointed(ui, &response, rect);
    focus_edge(ui, &response, rect.expand(1.0));
    follow(&response);
    response.on_hover_cursor(egui::CursorIcon::PointingHand)
}

/// A word that can be switched on and off: a tick box drawn in ink before it.
pub(crate) fn switch(ui: &mut Ui, on: &mut bool, label: &str) -> Response {
    let p = palette(ui.ctx());
    let size = TextStyle::Body.resolve(ui.style()).size;
    let galley = ui.painter().layout_no_wrap(label.to_owned(), theme::label_font(size), p.ink);
    let (rect, mut response) = ui.allocate_exact_size(galley.size() + vec2(18.0, 6.0), Sense::click());
    if response.clicked() {
        *on = !*on;
        response.mark_changed();
    }
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, *on, label));
    let ink = p.ink;
    pointed(ui, &response, rect);
    focus_edge(ui, &response, rect.expand(1.0));
    let square = egui::Rect::from_center_size(rect.left_center() + vec2(6.5, 0.0), vec2(9.0, 9.0));
    ui.painter().rect_stroke(square, CornerRadius::ZERO, Stroke::new(1.2, ink), egui::StrokeKind::Inside);
    if *on {
        ui.painter().rect_filled(square.shrink(2.5), CornerRadius::ZERO, p.accent);
    }
    ui.painter().galley_with_override_text_color(rect.left_top() + vec2(17.0, 3.0), galley, if *on { ink } else { p.soft });
    response.on_hover_cursor(egui::CursorIcon::PointingHand)
}

/// A card on the sheet with a coloured edge; the whole card can be pointed at and picked.
pub(crate) fn card(ui: &mut Ui, edge: Color32, marked: bool, name: &str, contents: impl FnOnce(&mut Ui)) -> Response {
    let p = palette(ui.ctx());
    let fill = if marked { edge.gamma_multiply(0.10) } else { p.paper.gamma_multiply(0.55) };
    let shown = Frame::new()
        .fill(fill)
        .stroke(Stroke::new(1.0, if marked { edge } else { p.rule }))
        .inner_margin(Margin { left: 14, right: 10, top: 8, bottom: 9 })
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.spacing_mut().item_spacing.y = 2.0;
            contents(ui);
        });
    let rect = shown.response.rect;
    let strip = egui::Rect::from_min_max(rect.min, egui::pos2(rect.left() + 5.0, rect.bottom()));
    ui.painter().rect_filled(strip, CornerRadius::ZERO, edge);
    let response = ui.interact(rect, ui.scope_id().with(("card", name)), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, marked, name));
    follow(&response);
    focus_edge(ui, &response, rect.expand(1.0));
    response
}

/// The edge of what has the keyboard: nothing else has one as thick.
pub(crate) fn focus_edge(ui: &Ui, response: &Response, rect: egui::Rect) {
    if response.has_focus() {
        let stroke = Stroke::new(FOCUS, palette(ui.ctx()).accent);
        ui.painter().rect_stroke(rect, CornerRadius::ZERO, stroke, egui::StrokeKind::Outside);
    }
}

/// What is pointed at has a thin line under it.
fn pointed(ui: &Ui, response: &Response, rect: egui::Rect) {
    if response.hovered() {
        ui.painter().hline(rect.x_range(), rect.bottom() - 1.0, Stroke::new(1.0, palette(ui.ctx()).soft));
    }
}

/// Keeps what the keyboard comes to in view on a sheet longer than the window.
pub(crate) fn follow(response: &Response) {
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
}

/// A sentence that warns, with a mark that does not rely on colour alone.
pub(crate) fn warning(ui: &mut Ui, text: &str) {
    let p = palette(ui.ctx());
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label(egui::RichText::new("!").family(theme::bold()).color(p.danger));
        ui.label(egui::RichText::new(text).color(p.ink));
    });
}

/// A heading of the second rank on a sheet.
pub(crate) fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(6.0);
    ui.label(theme::strong(text).size(15.5));
}

/// One of a few words, or none: the chosen one is let go by choosing it again.
pub(crate) fn one_of<T: PartialEq + Copy>(
    ui: &mut Ui,
    label: &str,
    value: &mut Option<T>,
    all: &[T],
    said: impl Fn(&T) -> &'static str,
) {
    ui.label(label);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 16.0;
        for one in all {
            if choice_sized(ui, *value == Some(*one), said(one), Some(16.0)).clicked() {
                *value = if *value == Some(*one) { None } else { Some(*one) };
            }
        }
    });
    ui.end_row();
}

/// Contents that are shown only while their answer is fresh. Until it is there again their room is kept, and
/// the numbering of what stands below too, so that neither the sheet nor what is typed on it jumps.
pub(crate) fn while_fresh<T>(ui: &mut Ui, high: f32, answer: Option<T>, contents: impl FnOnce(&mut Ui, T), waiting: &str) -> f32 {
    let inside = ui.scope(|ui| match answer {
        Some(answer) => contents(ui, answer),
        None => {
            ui.set_min_height(high);
            ui.label(theme::soft(ui, waiting));
        }
    });
    inside.response.rect.height()
}
