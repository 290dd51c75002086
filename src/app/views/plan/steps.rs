//! The first steps with an empty book: files or a place, the tide, the baseline. Each can be pressed.

use egui::{Frame, Margin, Rect, Stroke, Ui, UiBuilder, vec2};

use crate::app::state::beach_form::BeachForm;
use crate::app::state::command::Command;
use crate::app::state::dialog::Dialog;
use crate::app::state::place_form::PlaceForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::{Beach, Edit, Seaward, TideChoice};
use crate::query::drawing::Land;

/// The steps in the middle of an empty Plan.
pub(super) fn show(ui: &mut Ui, canvas: Rect, shown: &FrameContext<'_>, state: &mut State) {
    let size = vec2(420.0_f32.min(canvas.width() - 16.0), 300.0_f32.min(canvas.height() - 12.0));
    let rect = Rect::from_center_size(canvas.center(), size);
    ui.scope_builder(UiBuilder::new().max_rect(rect), |ui| {
        let area = egui::ScrollArea::vertical().id_salt("steps").auto_shrink([false, true]).min_scrolled_height(size.y);
        // Where there is little room what can be pressed comes before what is said of it.
        area.show(ui, |ui| if canvas.height() < CLOSE { close(ui, shown, state) } else { steps(ui, shown, state) });
    });
}

/// The steps over a beach of which nothing is known yet, and what is said while its baseline is drawn.
pub(super) fn over(ui: &mut Ui, canvas: Rect, shown: &FrameContext<'_>, state: &mut State, land: &Land) {
    if state.plan.drawing.is_some() {
        return drawing(ui, canvas, shown, state);
    }
    let Some(beach) = shown.beach else { return };
    let bare = land.relief.is_empty() && shown.marks().is_none_or(|(m, _)| m.all.is_empty()) && beach.baseline.len() < 2;
    if bare && state.draft.is_none() {
        show(ui, canvas, shown, state);
    }
}

/// On a Plan lower than this the steps stand close, points.
const CLOSE: f32 = 230.0;

/// The steps as what can be pressed alone.
fn close(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let p = palette(ui.ctx());
    Frame::new().fill(p.card).stroke(Stroke::new(1.0, p.ink)).inner_margin(Margin::same(4)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(5.0, 2.0);
            ui.spacing_mut().button_padding = vec2(4.0, 0.0);
            ui.spacing_mut().interact_size.y = 18.0;
            ui.label(strong("1"));
            files(ui, state);
            ui.label(strong("2"));
            tide(ui, shown, state);
            ui.label(strong("3"));
            baseline(ui, shown, state);
        });
    });
}

/// Files, or a place.
fn files(ui: &mut Ui, state: &mut State) {
    let said = "Tracks, finds, levels: a whole folder at once, or drop it here";
    if ui.button("Import files ...").on_hover_text(said).clicked() {
        state.commands.push(Command::Intake(Vec::new()));
    }
    if ui.button("Make a beach at a place ...").clicked() {
        state.dialog = Some(Dialog::Place(PlaceForm::default()));
    }
}

/// The beach whose tide is chosen.
fn with_tide<'a>(shown: &FrameContext<'a>) -> Option<&'a Beach> {
    shown.beach.filter(|b| b.tide != TideChoice::None)
}

fn tide(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let choose = ui.button("Choose the tide ...").on_hover_text("A station or a table of your own, and the datum offset");
    if choose.clicked() {
        state.dialog = Some(match shown.beach {
            // Where a source is chosen it is the offset that is lacking.
            Some(b) if with_tide(shown).is_some_and(|b| b.datum_offset_m.is_none()) => {
                Dialog::Beach(Box::new(BeachForm::at_offset(b.clone())))
            }
            Some(b) => Dialog::Beach(Box::new(BeachForm::from_beach(b.clone()))),
            None => Dialog::Place(PlaceForm::default()),
        });
    }
}

fn baseline(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let line = ui.button("Draw the baseline ...").on_hover_text("A line along the back of the beach, clicked on Plan");
    if line.clicked() {
        match shown.beach {
            Some(_) => begin(state),
            None => state.dialog = Some(Dialog::Place(PlaceForm::default())),
        }
    }
}

fn steps(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let p = palette(ui.ctx());
    Frame::new().fill(p.card).stroke(Stroke::new(1.0, p.ink)).inner_margin(Margin::same(14)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(strong("Three steps to a reading").size(16.0));
        let beach = shown.beach;
        step(ui, "1  Files or a place", beach.map(|b| b.name.as_str()));
        ui.horizontal_wrapped(|ui| files(ui, state));
        let said = match with_tide(shown) {
            Some(b) if b.datum_offset_m.is_none() => Some("a source is chosen; how land heights tie to it is still unknown"),
            Some(_) => Some("known"),
            None => None,
        };
        step(ui, "2  Tide", said);
        tide(ui, shown, state);
        step(ui, "3  Baseline", beach.filter(|b| b.baseline.len() > 1).map(|_| "drawn"));
        baseline(ui, shown, state);
        if beach.is_none() {
            ui.label(soft(ui, "The tide and the baseline belong to a beach, so they ask for its place first.").size(13.0));
        }
    });
}

fn step(ui: &mut Ui, name: &str, done: Option<&str>) {
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(name));
        if let Some(done) = done {
            ui.label(soft(ui, done));
        }
    });
}

/// Begins to draw the baseline.
fn begin(state: &mut State) {
    state.plan.drawing = Some(Vec::new());
    state.plan.lay = crate::app::state::PlanShape::AsItLies;
}

/// What is said and pressed while the baseline is drawn.
fn drawing(ui: &mut Ui, canvas: Rect, shown: &FrameContext<'_>, state: &mut State) {
    let p = palette(ui.ctx());
    let count = state.plan.drawing.as_ref().map_or(0, Vec::len);
    let rect = Rect::from_min_size(canvas.min + vec2(8.0, 8.0), vec2(canvas.width() - 16.0, 30.0));
    ui.scope_builder(UiBuilder::new().max_rect(rect), |ui| {
        Frame::new().fill(p.card).stroke(Stroke::new(1.0, p.ink)).inner_margin(Margin::same(8)).show(ui, |ui| {
            ui.label(strong("Click along the back of the beach, from one end to the other."));
            ui.horizontal_wrapped(|ui| {
                for (side, said) in [(Seaward::Right, "the sea is on the right"), (Seaward::Left, "the sea is on the left")] {
                    let button = ui.add_enabled(count > 1, egui::Button::new(format!("Keep it: {said}")));
                    if button.on_hover_text("As one walks the line from its first end").clicked()
                        && let (Some(beach), Some(baseline)) = (shown.beach, state.plan.drawing.take())
                    {
                        let drawn = Beach { baseline, seaward: side, ..beach.clone() };
                        state.apply(Edit::put(drawn.changed_from(beach)), "draw the baseline");
                        state.plan.fit();
                    }
                }
                if ui.button("Leave the line").on_hover_text("Escape").clicked() {
                    state.plan.drawing = None;
                }
                ui.label(soft(ui, format!("{count} points; Backspace takes the last one away")).size(13.0));
            });
        });
    });
}
