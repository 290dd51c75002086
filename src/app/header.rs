//! The lines above the drawings: where and when we are, the sheets, what is done with the book.

use egui::{Align, Layout, RichText, Ui, vec2};
use jiff::SignedDuration;

use super::state::State;
use super::state::beach_form::BeachForm;
use super::state::clock::seconds;
use super::state::command::{Ask, Command, PickFor};
use super::state::dialog::{Dialog, PathForm};
use super::state::{FrameContext, SheetChoice};
use super::widgets::controls::{choice_sized, warning};
use super::widgets::theme::{self, palette, soft};
use crate::query::SettingQuestion;
use crate::sun::{Crossing, Daylight};
use crate::tide::{Turn, TurnKind, rounded};

type Steps = (Option<String>, Option<String>);

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, steps: &Steps) {
    ui.horizontal(|ui| {
        ui.set_min_height(30.0);
        beach_name(ui, shown, state);
        ui.add_space(10.0);
        let sheets = 270.0;
        let room = (ui.available_width() - sheets).max(60.0);
        ui.allocate_ui_with_layout(vec2(room, 30.0), Layout::left_to_right(Align::Center), |ui| {
            facts(ui, shown, state, room);
        });
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 18.0;
            for sheet in SheetChoice::ALL.into_iter().rev() {
                if choice_sized(ui, state.sheet == sheet && !state.sheet_folded, sheet.label(), Some(16.0)).clicked() {
                    state.sheet_folded = false;
                    state.sheet = sheet;
                }
            }
        });
    });
    ui.horizontal(|ui| {
        quiet(ui);
        actions(ui, shown, state, steps);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| looks(ui, state));
    });
    let layout = shown.answers.answer::<SettingQuestion>();
    if let Some(setting) = layout.fresh() {
        let warnings = &setting.warnings;
        if let Some(first) = warnings.first() {
            let more = warnings.len() - 1;
            let said = if more > 0 { format!("{first} (and {more} more)") } else { first.clone() };
            ui.scope(|ui| warning(ui, &said)).response.on_hover_text(warnings.join("\n"));
        }
    } else if let Some(why) = layout.failure() {
        warning(ui, why);
    }
}

fn beach_name(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let beaches: Vec<_> = shown.book.beaches().values().map(|b| (b.uid, b.name.clone())).collect();
    let title = RichText::new(shown.beach.map_or("Scourline", |b| b.name.as_str())).font(egui::FontId::new(22.0, theme::serif()));
    if beaches.len() < 2 {
        ui.label(title);
        return;
    }
    let combo = egui::ComboBox::from_id_salt("beach").selected_text(title).width(60.0).show_ui(ui, |ui| {
        for (uid, name) in &beaches {
            if ui.selectable_label(shown.beach.is_some_and(|b| b.uid == *uid), name).clicked() {
                state.commands.push(Command::Beach(*uid));
            }
        }
    });
    combo.response.accessible_name("Beach shown");
}

/// Where and when we are, as much of it as there is room for, the most needed first.
fn facts(ui: &mut Ui, shown: &FrameContext<'_>, state: &State, room: f32) {
    let Some(beach) = shown.beach else {
        ui.label(soft(ui, "no beach in this book yet"));
        return;
    };
    let p = palette(ui.ctx());
    let at = state.clock.at;
    let mut facts = vec![shown.time(at, "%a %-d %b %Y %H:%M")];
    if let Some(water) = shown.water() {
        if let Some(level) = water.height_m(at) {
            facts.push(format!("water {:.1} m above {}, {}", rounded(level, 1), water.datum().words(), shown.trend(at)));
        }
        // The curve knows the turns of what Time shows; only beside it are they worked out.
        let next = |turns: &[Turn]| turns.iter().find(|t| t.kind == TurnKind::Low && t.time >= at).copied();
        let curve = shown.tide_curve().filter(|c| c.span.from_s <= seconds(at));
        let beside = || next(&water.turns(at, at.checked_add(SignedDuration::from_hours(40)).ok()?));
        if let Some(low) = curve.and_then(|c| next(&c.turns)).or_else(beside) {
            let same_day = shown.time(low.time, "%j") == shown.time(at, "%j");
            let when = shown.time(low.time, if same_day { "%H:%M" } else { "%a %H:%M" });
            facts.push(format!("low {:.1} m at {when}", rounded(low.level_m, 1)));
        }
    }
    let day = at.to_zoned_datetime(shown.zone.clone()).date();
    if let Ok(light) = Daylight::on_day(beach.origin, day, shown.zone) {
        let said = match light.sun {
            Crossing::Crosses { up, down } => [up.map(|t| ("sunrise", t)), down.map(|t| ("sunset", t))]
                .into_iter()
                .flatten()
                .map(|(what, t)| format!("{what} {}", shown.time(t, "%H:%M")))
                .collect::<Vec<_>>()
                .join(", "),
            Crossing::AlwaysAbove => "sun up all day".to_owned(),
            Crossing::AlwaysBelow => "sun down all day".to_owned(),
        };
        facts.push(said);
    }
    let mut line = String::new();
    for fact in facts {
        let longer = if line.is_empty() { fact } else { format!("{line}   ·   {fact}") };
        let width = ui.painter().layout_no_wrap(longer.clone(), theme::label_font(14.5), p.ink).size().x;
        if width > room && !line.is_empty() {
            break;
        }
        line = longer;
    }
    ui.label(line);
}

/// Words instead of boxes: what can be pressed shows itself when it is pointed at.
fn quiet(ui: &mut Ui) {
    let soft = palette(ui.ctx()).soft;
    let v = ui.visuals_mut();
    v.widgets.inactive.bg_stroke = egui::Stroke::NONE;
    v.widgets.inactive.fg_stroke.color = soft;
    ui.spacing_mut().button_padding = vec2(5.0, 1.0);
    ui.spacing_mut().item_spacing.x = 4.0;
}

fn actions(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, (undo, redo): &Steps) {
    ui.menu_button("Book", |ui| {
        for (label, purpose) in [("Open ...", PickFor::Open), ("New ...", PickFor::New), ("Save as ...", PickFor::SaveAs)] {
            if ui.button(label).clicked() {
                let proposed = if purpose == PickFor::Open { String::new() } else { shown.proposed.to_owned() };
                state.dialog = Some(Dialog::Book(PathForm::new(purpose, proposed)));
                ui.close();
            }
        }
        let kept = shown.folder.is_some();
        if ui
            .add_enabled(kept, egui::Button::new("Changes and backups ..."))
            .on_hover_text("What was changed and when, what was taken out, and the copies kept beside the book")
            .on_disabled_hover_text("A book without a file keeps none")
            .clicked()
        {
            state.dialog = Some(Dialog::Keeping(Box::default()));
            state.commands.push(Command::Ask(Ask::Keeping));
            ui.close();
        }
        if ui.button("Demo beach").clicked() {
            state.commands.push(Command::Ask(Ask::Demo));
            ui.close();
        }
    });
    if ui
        .button("Import ...")
        .on_hover_text("Take in files: GPX, GeoJSON, CSV. They can also be dropped on the window.")
        .clicked()
    {
        state.commands.push(Command::Intake(Vec::new()));
    }
    if ui
        .add_enabled(shown.has_beach(), egui::Button::new("Beach ..."))
        .on_hover_text("Its name, tide, datum offset, time zone")
        .clicked()
    {
        state.dialog = shown.beach.map(|b| Dialog::Beach(Box::new(BeachForm::from_beach(b.clone()))));
    }
    ui.add_space(6.0);
    let undo_label = undo.as_ref().map_or_else(|| "nothing to undo".to_owned(), |what| format!("undo: {what} (Ctrl+Z)"));
    if ui
        .add_enabled(undo.is_some(), egui::Button::new("Undo"))
        .on_hover_text(&undo_label)
        .on_disabled_hover_text(undo_label)
        .clicked()
    {
        state.commands.push(Command::Ask(Ask::Undo));
    }
    let redo_label =
        redo.as_ref().map_or_else(|| "nothing to do again".to_owned(), |what| format!("do again: {what} (Ctrl+Shift+Z)"));
    if ui
        .add_enabled(redo.is_some(), egui::Button::new("Redo"))
        .on_hover_text(&redo_label)
        .on_disabled_hover_text(redo_label)
        .clicked()
    {
        state.commands.push(Command::Ask(Ask::Redo));
    }
}

/// What changes only how things look, from the right edge inwards.
fn looks(ui: &mut Ui, state: &mut State) {
    let dark = ui.ctx().theme() == egui::Theme::Dark;
    if ui.button(if dark { "Light" } else { "Dark" }).on_hover_text("Ink on paper, or chalk on slate").clicked() {
        ui.ctx().set_theme(if dark { egui::Theme::Light } else { egui::Theme::Dark });
    }
    if ui.button("Keys").on_hover_text("Everything the keyboard does (F1)").clicked() {
        state.dialog = Some(Dialog::Keys);
    }
    let sheet = if state.sheet_folded { "Show sheet" } else { "Hide sheet" };
    if ui.button(sheet).clicked() {
        state.sheet_folded = !state.sheet_folded;
    }
    let section = if state.section_folded { "Show section" } else { "Hide section" };
    if ui.button(section).clicked() {
        state.section_folded = !state.section_folded;
    }
}
