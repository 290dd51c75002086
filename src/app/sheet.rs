//! The sheet beside the drawings: one job at a time, each figure explained.

use egui::{CornerRadius, Frame, Margin, Role, ScrollArea, Stroke, Ui, WidgetInfo};

pub(crate) use super::views::bench::BenchView;
use super::views::{log, next_low, read, share};
pub(crate) use log::{DraftForm, LogView};
pub(crate) use next_low::{LowsView, NextLowView, Stage, current as current_route, write_route};
pub(crate) use read::ReadView;
pub(crate) use share::{ShareView, hand_over};

use super::State;
use super::item::Item;
use super::state::SheetChoice;
use super::state::Shown;
use super::widgets::theme::palette;

pub(crate) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
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
        match state.sheet {
            SheetChoice::Log => log::show(ui, shown, state),
            sheet => {
                ui.heading(sheet.label());
                ScrollArea::vertical().id_salt(sheet.label()).auto_shrink([false, false]).show(ui, |ui| {
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

/// Picks the find after or before the one picked, in the order of the Log.
pub(crate) fn step_find(shown: &Shown<'_>, state: &mut State, forward: bool) {
    let rows = state.log.rows(shown);
    let finds: Vec<Item> = rows.iter().copied().filter(|i| matches!(i, Item::Find(_))).collect();
    if finds.is_empty() {
        return;
    }
    let here = state.selection.lead.and_then(|l| finds.iter().position(|f| *f == l));
    let next = match here {
        None => 0,
        Some(n) if forward => (n + 1) % finds.len(),
        Some(n) => (n + finds.len() - 1) % finds.len(),
    };
    state.selection.only(finds[next]);
    state.log.scroll_to_lead = true;
}

/// Opens the bench.
pub(crate) fn to_bench(state: &mut State) {
    state.sheet = SheetChoice::Log;
    state.sheet_folded = false;
    state.log.filter.listed = super::state::log_rows::Listed::Bench;
}

/// Opens the form of the find that a signal proves to be.
pub(crate) fn dig(shown: &Shown<'_>, state: &mut State, signal: crate::book::Uid) {
    if let Some(signal) = shown.book.signals().get(&signal) {
        to_log(state);
        state.draft = Some(DraftForm::dig(shown, signal));
    }
}

fn to_log(state: &mut State) {
    state.sheet = SheetChoice::Log;
    state.sheet_folded = false;
    if state.log.filter.listed == super::state::log_rows::Listed::Bench {
        state.log.filter.listed = super::state::log_rows::Listed::Finds;
    }
}

/// Opens the form of a find, signal or outing.
pub(crate) fn edit(shown: &Shown<'_>, state: &mut State, item: Item) {
    let form = match item {
        Item::Find(uid) => shown.book.finds().get(&uid).map(|f| DraftForm::of_find(shown, f.clone(), false)),
        Item::Signal(uid) => shown.book.signals().get(&uid).map(|s| DraftForm::of_signal(shown, s.clone(), false)),
        Item::Outing(uid) => shown.book.outings().get(&uid).map(|o| DraftForm::of_outing(shown, o.clone(), false)),
        _ => None,
    };
    if let Some(form) = form {
        to_log(state);
        state.draft = Some(form);
    }
}
