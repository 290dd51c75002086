//! The sheet beside the drawings: one job at a time, each figure explained.

use egui::{Align, CornerRadius, Frame, Layout, Margin, Role, ScrollArea, Stroke, Ui, UiBuilder, WidgetInfo};

use super::state::{FrameContext, SheetChoice, State};
use super::views::{bench, log, next_low, read, share};
use super::widgets::theme::{palette, strong};
use crate::query::{BenchQuestion, Listed, LogQuestion};

/// Says in the sheet's corner that what it lists is from before the last change. The corner is its own, so that
/// nothing below moves.
fn old(ui: &mut Ui, shown: &FrameContext<'_>, state: &State) {
    let is_old = match (state.sheet, state.log.filter.listed) {
        (SheetChoice::Log, Listed::Bench) => shown.answers.answer::<BenchQuestion>().is_old(),
        (SheetChoice::Log, _) => shown.answers.answer::<LogQuestion>().is_old(),
        _ => false,
    };
    let corner = ui.max_rect().with_max_y(ui.max_rect().top() + 20.0);
    let builder = UiBuilder::new().max_rect(corner).layout(Layout::right_to_left(Align::Center));
    let mut corner = ui.new_child(builder);
    if is_old {
        let accent = palette(ui.ctx()).accent;
        corner.label(strong("before the last change").size(12.5).color(accent));
    }
}

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    // What was pointed at elsewhere is so no longer; what is on the sheet says so itself.
    if ui.rect_contains_pointer(ui.max_rect()) {
        state.selection.hovered = None;
    }
    let p = palette(ui.ctx());
    let frame = Frame::new()
        .fill(p.card)
        .stroke(Stroke::new(1.0, p.ink))
        .corner_radius(CornerRadius::ZERO)
        .inner_margin(Margin { left: 16, right: 8, top: 10, bottom: 8 });
    let inside = frame.show(ui, |ui| {
        ui.set_min_size(ui.available_size());
        old(ui, shown, state);
        match state.sheet {
            SheetChoice::Log => {
                log::head(ui, state);
                // The bench is a sheet of its own under the Log's head.
                match state.log.filter.listed {
                    Listed::Bench => bench::show(ui, shown, state),
                    _ => log::show(ui, shown, state),
                }
            }
            sheet => {
                ui.heading(sheet.label());
                let mut area = ScrollArea::vertical().id_salt(sheet.label()).auto_shrink([false, false]);
                if std::mem::take(&mut state.sheet_to_top) {
                    area = area.vertical_scroll_offset(0.0);
                }
                area.show(ui, |ui| {
                    // Room for the bar that floats over the right edge.
                    ui.set_width((ui.available_width() - 12.0).max(120.0));
                    match sheet {
                        SheetChoice::Read => read::show(ui, shown, state),
                        SheetChoice::NextLow => next_low::show(ui, shown, state),
                        SheetChoice::Share | SheetChoice::Log => share::show(ui, shown, state),
                    }
                });
            }
        }
    });
    inside.response.widget_info(|| WidgetInfo::labeled(Role::Pane, true, format!("Sheet {}", state.sheet.label())));
}
