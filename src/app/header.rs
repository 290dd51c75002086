//! The lines above the drawings: where and when we are, the sheets, what is done with the book.

use egui::{Align, Layout, RichText, Ui, vec2};
use jiff::SignedDuration;

use super::state::State;
use super::state::beach_form::BeachForm;
use super::state::clock::seconds;
use super::state::command::{Ask, Command, PickFor};
use super::state::dialog::{Dialog, PathForm};
use super::state::place_form::PlaceForm;
use super::state::{FrameContext, SheetChoice};
use super::widgets::controls::{choice_sized, warning};
use super::widgets::lacking::{self, Lacking};
use super::widgets::lists::Offer;
use super::widgets::terms::explained;
use super::widgets::theme::{self, palette, soft};
use crate::query::{DoubtsQuestion, SettingQuestion};
use crate::tide::{Turn, TurnKind, rounded};

type Steps = (Option<String>, Option<String>);

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, steps: &Steps, errors: &mut Vec<String>) {
    let mut rest = String::new();
    ui.horizontal(|ui| {
        ui.set_min_height(30.0);
        beach_name(ui, shown, state);
        ui.add_space(10.0);
        let sheets = 270.0_f32.min(ui.available_width());
        let room = (ui.available_width() - sheets).max(0.0);
        ui.allocate_ui_with_layout(vec2(room, 30.0), Layout::left_to_right(Align::Center), |ui| {
            rest = facts(ui, shown, state, room);
        });
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = if sheets < 260.0 { 8.0 } else { 18.0 };
            for sheet in SheetChoice::ALL.into_iter().rev() {
                if choice_sized(ui, state.sheet == sheet && !state.sheet_folded, sheet.label(), Some(16.0)).clicked() {
                    state.sheet_folded = false;
                    state.sheet = sheet;
                }
            }
        });
    });
    // Where there is no room beside the name, the time and the next low get a line of their own.
    if !rest.is_empty() {
        ui.add(egui::Label::new(rest).wrap());
    }
    ui.horizontal_wrapped(|ui| {
        quiet(ui);
        actions(ui, shown, state, steps);
        let room = ui.available_width();
        if room > 320.0 {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| looks(ui, state));
        } else {
            looks(ui, state);
        }
    });
    told(ui, shown, state);
    banner(ui, errors);
}

/// What went wrong, until it was read.
fn banner(ui: &mut Ui, errors: &mut Vec<String>) {
    let p = palette(ui.ctx());
    let mut read = None;
    for (n, error) in errors.iter().enumerate() {
        let frame = egui::Frame::new().fill(p.card).stroke(egui::Stroke::new(1.5, p.danger)).inner_margin(6);
        frame.show(ui, |ui| {
            ui.horizontal_top(|ui| {
                if ui.button("Close the message").clicked() {
                    read = Some(n);
                }
                ui.vertical(|ui| warning(ui, error));
            });
        });
    }
    if let Some(n) = read {
        errors.remove(n);
    }
}

/// That something must be settled before any route, with a way to it; the sheet Next low says what.
fn unsettled(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let count = shown.newest::<DoubtsQuestion>().map_or(0, |(told, _)| told.iter().filter(|t| t.bars()).count());
    if count == 0 || state.sheet == SheetChoice::NextLow {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let what = if count == 1 { "One thing is".to_owned() } else { format!("{count} things are") };
        ui.scope(|ui| warning(ui, &format!("{what} to be settled before any route.")));
        if ui.small_button("See what").clicked() {
            (state.sheet, state.sheet_folded, state.sheet_to_top) = (SheetChoice::NextLow, false, true);
        }
    });
}

/// What the land lacks, in one line; what nobody surveyed is said beside Plan's hatching.
fn told(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    unsettled(ui, shown, state);
    let layout = shown.answers.answer::<SettingQuestion>();
    if let Some(setting) = layout.fresh() {
        let warnings: Vec<&str> =
            setting.warnings.iter().filter(|w| !setting.unsurveyed.contains(w)).map(String::as_str).collect();
        if let Some(first) = warnings.first() {
            let lacks = shown.beach.and_then(|b| Some((b, lacking::of_beach(b)?))).filter(|(_, l)| *l == Lacking::Offset);
            // What can be mended by one press is said first.
            let first = if lacks.is_some() { lacking::OFFSET } else { first };
            ui.horizontal_wrapped(|ui| {
                ui.scope(|ui| warning(ui, first));
                if let Some((beach, lacks)) = lacks
                    && ui.small_button("Datum offset ...").on_hover_text("Say how land heights tie to the tide").clicked()
                {
                    lacking::go(state, beach, lacks);
                }
            });
            // One line that unfolds, so that none of them is passed over.
            let rest: Vec<&str> = warnings
                .iter()
                .copied()
                .filter(|w| *w != first && !(lacks.is_some() && w.starts_with("The datum offset is not set")))
                .collect();
            if !rest.is_empty() {
                let name = if rest.len() == 1 {
                    "1 more to know of this beach".to_owned()
                } else {
                    format!("{} more to know of this beach", rest.len())
                };
                let name = RichText::new(name).color(palette(ui.ctx()).danger);
                egui::CollapsingHeader::new(name)
                    .id_salt("what the land lacks")
                    .show(ui, |ui| rest.iter().for_each(|w| warning(ui, w)));
            }
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
    let combo = egui::ComboBox::from_id_salt("beach").selected_text(title).width(60.0).offer(ui, |ui| {
        for (uid, name) in &beaches {
            if ui.selectable_label(shown.beach.is_some_and(|b| b.uid == *uid), name).clicked() {
                state.commands.push(Command::Beach(*uid));
            }
        }
    });
    combo.response.accessible_name("Beach shown");
}

/// Where and when we are, as much of it as there is room for, the most needed first: the time, the next low, the water,
/// the sun. Returns the first two where there is not even room for them.
fn facts(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, room: f32) -> String {
    let Some(beach) = shown.beach else {
        ui.label(soft(ui, "no beach in this book yet"));
        return String::new();
    };
    let p = palette(ui.ctx());
    let at = state.clock.at;
    // Beside the present moment it is said that another one is shown: "next low" then counts from that.
    let other = at.duration_since(shown.now).as_secs().abs() > 120;
    let said = |pattern: &str| format!("{}{}", if other { "shown: " } else { "" }, shown.time(at, pattern));
    let (mut facts, mut short) = (vec![said("%a %-d %b %Y %H:%M")], vec![said("%-d %b %H:%M")]);
    if let Some(water) = shown.water() {
        // The curve knows the turns of what Time shows; only beside it are they worked out.
        let next = |turns: &[Turn]| turns.iter().find(|t| t.kind == TurnKind::Low && t.time >= at).copied();
        let curve = shown.tide_curve().filter(|c| c.span.from_s <= seconds(at));
        let beside = || next(&water.turns(at, at.checked_add(SignedDuration::from_hours(40)).ok()?));
        if let Some(low) = curve.and_then(|c| next(&c.turns)).or_else(beside) {
            let same_day = shown.time(low.time, "%j") == shown.time(at, "%j");
            let when = shown.time(low.time, if same_day { "%H:%M" } else { "%a %H:%M" });
            let level = rounded(low.level_m, 1);
            facts.push(format!("next low {when}, {level:.1} m"));
            short.push(format!("low {when} {level:.1} m"));
        }
        if let Some(level) = water.height_m(at) {
            facts.push(format!("water {:.1} m above {}, {}", rounded(level, 1), water.datum().words(), shown.trend(at)));
        }
    }
    let day = at.to_zoned_datetime(shown.zone.clone()).date();
    facts.extend(state.sun_said.on_day(beach.origin, day, shown.zone).map(str::to_owned));
    let wide = |line: &str| ui.painter().layout_no_wrap(line.to_owned(), theme::label_font(14.5), p.ink).size().x;
    let needed = short.len();
    let mut line = String::new();
    for (n, fact) in facts.into_iter().enumerate() {
        let longer = if line.is_empty() { fact } else { format!("{line}   ·   {fact}") };
        if wide(&longer) > room {
            if n < needed {
                line = short.join("   ·   ");
            }
            break;
        }
        line = longer;
    }
    if wide(&line) > room {
        return short.join("   ·   ");
    }
    let meant = shown.water().and_then(|w| explained(w.datum().words()));
    let label = ui.label(line);
    if let Some(meant) = meant {
        label.on_hover_text(meant);
    }
    String::new()
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
        if ui
            .button("Doubles and spikes ...")
            .on_hover_text("What stands in the book twice, and tracks to be cleaned: proposed, never done by itself")
            .clicked()
        {
            state.dialog = Some(Dialog::Tidy);
            ui.close();
        }
        if ui.button("A beach at a place ...").on_hover_text("Without a file: a name and where it lies").clicked() {
            state.dialog = Some(Dialog::Place(PlaceForm::default()));
            ui.close();
        }
        if ui.button("Demo beach").clicked() {
            state.commands.push(Command::Ask(Ask::Demo));
            ui.close();
        }
    });
    if ui
        .button("Import ...")
        .on_hover_text("Take in files or a whole folder; they can also be dropped on the window (Ctrl+I)")
        .clicked()
    {
        state.commands.push(Command::Intake(Vec::new()));
    }
    if ui
        .button("Beach ...")
        .on_hover_text("Its name, tide, datum offset, time zone; without one, a place to make it at")
        .clicked()
    {
        state.dialog = Some(match shown.beach {
            Some(b) => Dialog::Beach(Box::new(BeachForm::from_beach(b.clone()))),
            None => Dialog::Place(PlaceForm::default()),
        });
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
    let sheet = match (state.sheet_folded, state.turns) {
        (true, _) => "Show sheet",
        (false, false) => "Hide sheet",
        (false, true) => "Show drawings",
    };
    if ui.button(sheet).clicked() {
        state.sheet_folded = !state.sheet_folded;
    }
    let Some(section) = state.section_there else { return };
    if ui.button(if section { "Hide section" } else { "Show section" }).clicked() {
        state.section_wanted = Some(!section);
    }
}
