//! The sea that margins are planned with: how high waves run up, what sea is expected, and the records of it.

use egui::{DragValue, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::switch;
use crate::app::widgets::theme::soft;
use crate::book::{Beach, Edit, RecordKind, Weather};
use crate::sea::{USUAL_RUN_UP_M, USUAL_WAVES};

/// How high waves run up the sand: part of every margin, kept with the beach once it is let go.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let kept_m = beach.weather.run_up_m.unwrap_or(USUAL_RUN_UP_M);
    let mut run_up_m = state.next_low.run_up_m.unwrap_or(kept_m);
    let response = ui
        .horizontal_wrapped(|ui| {
            let label = ui.label("waves run up, m");
            let drag = DragValue::new(&mut run_up_m).range(0.0..=5.0).speed(0.02).fixed_decimals(2);
            let response = ui.add(drag).labelled_by(label.id);
            if beach.weather.run_up_m.is_none() {
                ui.label(soft(ui, "at least; more where the sea asks for it").size(13.0));
            }
            response
        })
        .inner;
    if response.changed() {
        state.next_low.run_up_m = Some(run_up_m);
    }
    let let_go = response.drag_stopped() || response.lost_focus() || !(response.dragged() || response.has_focus());
    if let (Some(run_up_m), true) = (state.next_low.run_up_m, let_go) {
        state.next_low.run_up_m = None;
        if run_up_m != kept_m {
            let weather = Weather { run_up_m: Some(run_up_m), ..beach.weather };
            state.apply(Edit::put(Beach { weather, ..beach.clone() }), "change run-up");
        }
    }
    expected_sea(ui, state);
    sea_records(ui, shown, state);
}

/// The records and forecasts of the sea that the book has of the beach, each of which can be removed.
fn sea_records(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    for record in shown.book.seas().values().filter(|s| s.beach == beach.uid) {
        let (Some(first), Some(last)) = (record.states.first(), record.states.last()) else { continue };
        ui.horizontal_wrapped(|ui| {
            let day = |t| shown.time(t, "%-d %b %Y");
            let said = format!("Sea record \"{}\": {} to {}", record.name, day(first.time), day(last.time));
            ui.label(soft(ui, said).size(13.0));
            if ui.small_button(format!("Remove {}", record.name)).on_hover_text("Can be undone").clicked() {
                state.apply(Edit::Remove(RecordKind::SeaRecord, record.uid), "remove a sea record");
            }
        });
    }
}

/// The sea that the person expects, from which the run-up is worked out where no record or forecast covers the hours.
fn expected_sea(ui: &mut Ui, state: &mut State) {
    ui.horizontal_wrapped(|ui| {
        let mut known = state.next_low.sea.is_some();
        let hint = "Height and period of the waves offshore. Counts where no record or forecast of the sea covers the hours; else the higher";
        if switch(ui, &mut known, "I know the sea").on_hover_text(hint).changed() {
            state.next_low.sea = known.then_some(USUAL_WAVES);
        }
        let Some(sea) = &mut state.next_low.sea else { return };
        let label = ui.label("waves, m");
        ui.add(DragValue::new(&mut sea.height_m).range(0.0..=15.0).speed(0.02).fixed_decimals(1)).labelled_by(label.id);
        let label = ui.label("period, s");
        ui.add(DragValue::new(&mut sea.period_s).range(2.0..=25.0).speed(0.1).fixed_decimals(0)).labelled_by(label.id);
    });
}
