//! The form of one bench reading: quick to repeat, as a target is passed over from one direction after another.

use egui::{ComboBox, Grid, Key, TextEdit, Ui};

use crate::app::State;
use crate::app::controls::{choice, heading, warning};
use crate::app::shown::Shown;
use crate::app::theme::soft;
use crate::bench::{DepthUnit, read_depth_m, read_ids};
use crate::book::{BenchReading, Edit, Kind, Kinds, Lie, Setup, Steadiness, Uid};

/// A reading as it is typed.
pub(super) struct EntryForm {
    /// `None` for the bare hole.
    kind: Option<Kind>,
    target: String,
    depth: String,
    unit: DepthUnit,
    lie: Option<Lie>,
    ids: String,
    steadiness: Option<Steadiness>,
    tone: String,
    step: String,
    dig: Option<bool>,
    notes: String,
    refusal: Option<String>,
    /// Said after a reading was kept.
    kept: Option<String>,
    /// Back to the numbers, for the next direction.
    to_ids: bool,
}

impl Default for EntryForm {
    fn default() -> Self {
        Self {
            kind: Some(Kind::keyed("coin")),
            target: String::new(),
            depth: String::new(),
            unit: DepthUnit::default(),
            lie: None,
            ids: String::new(),
            steadiness: None,
            tone: String::new(),
            step: String::new(),
            dig: None,
            notes: String::new(),
            refusal: None,
            kept: None,
            to_ids: false,
        }
    }
}

impl EntryForm {
    /// The reading as typed, or the sentence about the first field that cannot be.
    fn finish(&self, setup: Uid, shown: &Shown<'_>) -> Result<BenchReading, String> {
        let step = self.step.trim();
        let gauge_step = match step {
            "" => None,
            text => Some(text.parse().map_err(|_| format!("gauge step: \"{text}\" is not a whole number"))?),
        };
        Ok(BenchReading {
            uid: Uid::fresh(),
            setup,
            kind: self.kind.clone(),
            target: match &self.kind {
                Some(kind) if self.target.trim().is_empty() => kind.label().to_owned(),
                Some(_) => self.target.trim().to_owned(),
                None => "bare hole".to_owned(),
            },
            depth_m: read_depth_m(&self.depth, self.unit).map_err(|e| e.to_string())?,
            lie: self.lie,
            target_ids: read_ids(&self.ids).map_err(|e| e.to_string())?,
            steadiness: self.steadiness,
            tone: self.tone.trim().to_owned(),
            gauge_step,
            dig: self.dig,
            time: Some(shown.now),
            notes: self.notes.trim().to_owned(),
        })
    }

    fn keep(&mut self, setup: Uid, shown: &Shown<'_>, state: &mut State) {
        let tried = self.finish(setup, shown).and_then(|reading| {
            let edit = Edit::put(reading.clone());
            shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
            Ok((reading, edit))
        });
        match tried {
            Ok((reading, edit)) => {
                let heard = if reading.target_ids.is_empty() { "nothing heard" } else { self.ids.trim() };
                self.kept = Some(format!("Kept: {}, {heard}. Now from another direction, or the next.", reading.target));
                state.apply(edit, "add bench reading");
                self.ids.clear();
                (self.refusal, self.to_ids) = (None, true);
            }
            Err(why) => self.refusal = Some(why),
        }
    }
}

pub(super) fn show(ui: &mut Ui, form: &mut EntryForm, setup: &Setup, shown: &Shown<'_>, state: &mut State) {
    heading(ui, "New reading");
    let mut enter = false;
    Grid::new("bench reading").num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| {
        kind(ui, form);
        if form.kind.is_some() {
            line(ui, "Target", &mut form.target, 190.0, "this very one");
        }
        let label = ui.label("Depth to it");
        ui.horizontal(|ui| {
            ui.add(TextEdit::singleline(&mut form.depth).desired_width(60.0)).labelled_by(label.id);
            for unit in DepthUnit::ALL {
                if choice(ui, form.unit == unit, unit.label()).clicked() {
                    form.unit = unit;
                }
            }
        });
        ui.end_row();
        if form.kind.is_some() {
            words(ui, "Lay", &mut form.lie, Lie::ALL, |l| l.label());
        }
        let ids = line(ui, "Target IDs", &mut form.ids, 150.0, "as they come: 60 61 60");
        if std::mem::take(&mut form.to_ids) {
            ids.request_focus();
        }
        enter = ids.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        words(ui, "Steadiness", &mut form.steadiness, Steadiness::ALL, |s| s.label());
        let step = ui.label("Gauge step");
        ui.horizontal(|ui| {
            ui.add(TextEdit::singleline(&mut form.step).desired_width(60.0)).labelled_by(step.id);
            let tone = ui.label("Tone");
            ui.add(TextEdit::singleline(&mut form.tone).desired_width(90.0)).labelled_by(tone.id);
        });
        ui.end_row();
        words(ui, "Would you dig?", &mut form.dig, &[true, false], |d| if *d { "dig" } else { "leave" });
        line(ui, "Reading note", &mut form.notes, 150.0, "such as top scraped off");
    });
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    let command = ui.input(|i| i.modifiers.command && i.key_pressed(Key::Enter));
    ui.horizontal_wrapped(|ui| {
        if ui.button("Keep reading").on_hover_text("Enter in the target IDs, or Ctrl+Enter").clicked() || enter || command {
            form.keep(setup.uid, shown, state);
        }
        if let Some(kept) = &form.kept {
            ui.label(soft(ui, kept).size(13.0));
        }
    });
}

fn kind(ui: &mut Ui, form: &mut EntryForm) {
    let name = ui.label("Buried");
    let said = form.kind.as_ref().map_or("bare hole, the control", |k| k.label());
    let combo = ComboBox::from_id_salt("bench kind").selected_text(said).width(210.0).show_ui(ui, |ui| {
        ui.selectable_value(&mut form.kind, None, "bare hole, the control");
        for kind in Kinds::shipped().all() {
            ui.selectable_value(&mut form.kind, Some(kind.clone()), kind.label());
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}

fn line(ui: &mut Ui, label: &str, text: &mut String, width: f32, hint: &str) -> egui::Response {
    let name = ui.label(label);
    let field = ui.horizontal(|ui| {
        let field = ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(name.id);
        if !hint.is_empty() {
            ui.label(soft(ui, hint).size(12.5));
        }
        field
    });
    ui.end_row();
    field.inner
}

/// One of a few words, or none: the chosen one is let go by choosing it again.
pub(super) fn words<T: PartialEq + Copy>(
    ui: &mut Ui,
    label: &str,
    value: &mut Option<T>,
    all: &[T],
    said: impl Fn(&T) -> &'static str,
) {
    ui.label(label);
    ui.horizontal_wrapped(|ui| {
        for one in all {
            if choice(ui, *value == Some(*one), said(one)).clicked() {
                *value = if *value == Some(*one) { None } else { Some(*one) };
            }
        }
    });
    ui.end_row();
}
