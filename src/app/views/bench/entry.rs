//! The form of one bench reading: quick to repeat, as a target is passed over from one direction after another.
//!
//! A run goes by the keyboard alone, and its fields and buttons are large enough for cold hands: numbers and
//! Enter for each direction, then the next depth or the next target. A reading at which nothing was heard is
//! kept by its own button, so that Enter pressed once too often keeps nothing.

use egui::{ComboBox, Grid, TextEdit, Ui, vec2};

use super::ground;
use super::kinds::typical_words;
use super::run::{self, Step};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::bench_forms::{EntryForm, Next, Refused};
use crate::app::widgets::controls::{choice, heading, one_of, warning};
use crate::app::widgets::form::{chord, entered, stay};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::{label_font, soft};
use crate::bench::{DepthUnit, read_depth_m, read_ids};
use crate::book::{BenchReading, Edit, Lie, Setup, Steadiness, Uid};

impl EntryForm {
    /// The reading as typed, or the sentence about the first field that cannot be.
    fn finish(&self, setup: Uid, shown: &FrameContext<'_>, silent: bool) -> Result<BenchReading, Refused> {
        let step = self.step.trim();
        let gauge_step = match step {
            "" => None,
            text => Some(text.parse().map_err(|_| ("Gauge step", format!("\"{text}\" is not a whole number")))?),
        };
        let target_ids = read_ids(&self.ids).map_err(|e| (IDS, e.to_string()))?;
        if silent && !target_ids.is_empty() {
            return Err((IDS, "there are target IDs in the field; keep them, or clear it when nothing was heard".to_owned()));
        }
        if !silent && target_ids.is_empty() {
            return Err((IDS, "type the target IDs as they came, or press \"Nothing heard\"".to_owned()));
        }
        let scraped = self.scraped.trim();
        let scraped_m = if scraped.is_empty() {
            None
        } else {
            Some(read_depth_m(scraped, self.unit).map_err(|e| ("Scraped off", e.to_string()))?)
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
            depth_m: read_depth_m(&self.depth, self.unit).map_err(|e| ("Depth to it", e.to_string()))?,
            scraped_m: scraped_m.filter(|m| *m > 0.0),
            ground: self.ground,
            lie: self.lie.filter(|_| self.kind.is_some()),
            target_ids,
            steadiness: self.steadiness.filter(|_| !silent),
            tone: self.tone.trim().to_owned(),
            gauge_step,
            dig: self.dig,
            time: Some(shown.now),
            notes: self.notes.trim().to_owned(),
        })
    }

    /// The reading as typed with the change that keeps it, or what is wrong with it.
    fn tried(&self, setup: &Setup, shown: &FrameContext<'_>, silent: bool) -> Result<(BenchReading, Edit), Refused> {
        let reading = self.finish(setup.uid, shown, silent)?;
        let edit = Edit::put(reading.clone());
        shown.book.clone().apply(&edit).map_err(|e| ("", e.to_string()))?;
        Ok((reading, edit))
    }

    /// A reason goes with the values that it was of.
    fn forget_old_refusal(&mut self, setup: &Setup, shown: &FrameContext<'_>) {
        let stands = |refusal: &Refused| {
            [false, true].iter().any(|silent| self.tried(setup, shown, *silent).err().as_ref() == Some(refusal))
        };
        if self.refusal.as_ref().is_some_and(|refusal| !stands(refusal)) {
            self.refusal = None;
        }
    }

    fn keep(&mut self, setup: &Setup, shown: &FrameContext<'_>, state: &mut State, silent: bool) {
        match self.tried(setup, shown, silent) {
            Ok((reading, edit)) => {
                let heard = if silent { "nothing heard" } else { self.ids.trim() };
                let under = setup.name.trim();
                self.kept =
                    Some(format!("Kept under {under}: {}, {heard}. Now from another direction, or the next.", reading.target));
                state.apply(edit, "add bench reading");
                self.note_depth();
                self.ids.clear();
                (self.refusal, self.next) = (None, Some(Next::Ids));
            }
            Err(why) => self.refusal = Some(why),
        }
    }
}

pub(super) fn show(ui: &mut Ui, form: &mut EntryForm, setup: &Setup, shown: &FrameContext<'_>, state: &mut State) {
    heading(ui, "New reading");
    form.make_list(shown.book, setup.uid);
    form.forget_old_refusal(setup, shown);
    let mut step = run::key(ui);
    ui.scope(|ui| {
        // Large for cold hands, as far as a small laptop has room.
        let roomy = ui.ctx().content_rect().height() > 780.0;
        ui.spacing_mut().interact_size.y = if roomy { 27.0 } else { 23.0 };
        ui.spacing_mut().button_padding = vec2(10.0, if roomy { 6.0 } else { 4.0 });
        let enter = fields(ui, form, setup, shown);
        if let Some((_, why)) = form.refusal.as_ref().filter(|(field, _)| field.is_empty()) {
            warning(ui, why);
        }
        ui.horizontal_wrapped(|ui| {
            if ui.button("Keep reading").on_hover_text("Enter in the target IDs, or Ctrl+Enter").clicked() || enter || chord(ui) {
                form.keep(setup, shown, state, false);
                if form.refusal.is_some() {
                    stay(ui);
                }
            }
            for (label, key, asked) in [
                ("Nothing heard", "Keeps that there was no number; Ctrl+N", Step::Unheard),
                ("Next depth", "The same target at another depth; Ctrl+D", Step::Depth),
                ("Next target", "Another target, or the bare hole; Ctrl+T", Step::Target),
            ] {
                if ui.button(label).on_hover_text(key).clicked() {
                    step = Some(asked);
                }
            }
        });
        if run::offer(ui, form) {
            step = Some(Step::List);
        }
        match step {
            Some(Step::Unheard) => form.keep(setup, shown, state, true),
            Some(Step::Depth) => form.next_depth(),
            Some(Step::Target) => form.next_target(),
            Some(Step::List) => form.next_listed(),
            None => {}
        }
        if step.is_some() {
            ui.ctx().request_repaint();
        }
    });
    let typical = form.kind.as_ref().and_then(|k| Some((k.label(), typical_words(&shown.book.typical(k)?)?)));
    if let Some((kind, said)) = typical {
        ui.label(soft(ui, format!("{kind}: {said}")).size(12.5));
    }
    if let Some(kept) = &form.kept {
        ui.label(soft(ui, kept).size(13.0));
    }
}

/// The name of the field for what was heard.
const IDS: &str = "Target IDs";

/// Why a field was refused, in a row under it.
fn refused(ui: &mut Ui, refusal: Option<&Refused>, room: f32, names: &[&str]) {
    if let Some((_, why)) = refusal.filter(|(field, _)| names.contains(field)) {
        ui.label("");
        ui.vertical(|ui| {
            ui.set_max_width(room);
            warning(ui, why);
        });
        ui.end_row();
    }
}

/// Room that the names of fields take, points.
const NAMES: f32 = 112.0;

/// The fields; whether Enter in the target IDs keeps them. Enter in any other field goes to the target IDs.
fn fields(ui: &mut Ui, form: &mut EntryForm, setup: &Setup, shown: &FrameContext<'_>) -> bool {
    let next = form.next.take();
    let refusal = form.refusal.clone();
    let refused = |ui: &mut Ui, room: f32, names: &[&str]| refused(ui, refusal.as_ref(), room, names);
    let mut keep = false;
    let mut enters = Vec::new();
    let room = (ui.available_width() - NAMES).max(90.0);
    Grid::new("bench reading").num_columns(2).spacing([10.0, 5.0]).show(ui, |ui| {
        kind(ui, form, shown, room);
        run::seek_kind(ui, form, shown);
        if form.kind.is_some() {
            let target = line(ui, "Target", &mut form.target, room, (190.0, "this very one"));
            if next == Some(Next::Target) {
                target.request_focus();
            }
            if target.lost_focus() {
                form.kind_by_name(shown);
            }
            enters.push(target);
        }
        let label = ui.label("Depth to it");
        ui.horizontal(|ui| {
            let depth =
                ui.add(TextEdit::singleline(&mut form.depth).id_salt("bench depth").desired_width(60.0)).labelled_by(label.id);
            if next == Some(Next::Depth) || (next == Some(Next::Target) && form.kind.is_none()) {
                depth.request_focus();
            }
            enters.push(depth);
            for unit in DepthUnit::ALL {
                if choice(ui, form.unit == unit, unit.label()).clicked() {
                    form.unit = unit;
                }
            }
            if let Some(said) = other_unit(&form.depth, form.unit) {
                ui.label(soft(ui, said).size(12.5));
            }
        });
        ui.end_row();
        refused(ui, room, &["Depth to it"]);
        let label = ui.label("Scraped off");
        ui.horizontal(|ui| {
            enters.push(
                ui.add(TextEdit::singleline(&mut form.scraped).id_salt("bench scraped").desired_width(60.0))
                    .labelled_by(label.id),
            );
            ui.label(soft(ui, format!("{} off the top, if any", form.unit.label())).size(12.5))
                .on_hover_text("The depth to it is then what is left");
        });
        ui.end_row();
        refused(ui, room, &["Scraped off"]);
        ground::choose(ui, "reading ground", &mut form.ground, &ground::as_set_up(Some(setup)), room.min(210.0));
        ui.end_row();
        if form.kind.is_some() {
            one_of(ui, "Lay", &mut form.lie, Lie::ALL, |l| l.label());
        }
        let ids = line(ui, IDS, &mut form.ids, room, (150.0, "as they come: 43 44 43"));
        if next == Some(Next::Ids) {
            ids.request_focus();
        }
        keep = entered(ui, &ids);
        refused(ui, room, &[IDS]);
        one_of(ui, "Steadiness", &mut form.steadiness, Steadiness::ALL, |s| s.label());
        let step = ui.label("Gauge step");
        ui.horizontal(|ui| {
            enters.push(
                ui.add(TextEdit::singleline(&mut form.step).id_salt("bench step").desired_width(60.0)).labelled_by(step.id),
            );
            let tone = ui.label("Tone");
            enters.push(
                ui.add(TextEdit::singleline(&mut form.tone).id_salt("bench tone").desired_width(90.0)).labelled_by(tone.id),
            );
        });
        ui.end_row();
        refused(ui, room, &["Gauge step"]);
        one_of(ui, "Would you dig?", &mut form.dig, &[true, false], |d| if *d { "dig" } else { "leave" });
        enters.push(line(ui, "Reading note", &mut form.notes, room, (150.0, "")));
    });
    if enters.iter().any(|field| entered(ui, field)) {
        form.next = Some(Next::Ids);
        ui.ctx().request_repaint();
    }
    keep
}

/// A depth that can be read, in the other unit.
fn other_unit(text: &str, unit: DepthUnit) -> Option<String> {
    let depth_m = read_depth_m(text, unit).ok()?;
    let other = if unit == DepthUnit::Centimetres { DepthUnit::Inches } else { DepthUnit::Centimetres };
    Some(format!("= {:.1} {}", depth_m / other.metres(), other.label()))
}

fn kind(ui: &mut Ui, form: &mut EntryForm, shown: &FrameContext<'_>, room: f32) {
    let name = ui.label("Buried");
    let said = form.kind.as_ref().map_or("bare hole, the control", |k| k.label()).to_owned();
    let before = form.kind.clone();
    let combo = ComboBox::from_id_salt("bench kind").selected_text(said).width(room.min(210.0)).truncate().offer(ui, |ui| {
        ui.selectable_value(&mut form.kind, None, "bare hole, the control");
        for kind in shown.kinds().iter().cloned() {
            let label = kind.label().to_owned();
            ui.selectable_value(&mut form.kind, Some(kind), label);
        }
    });
    combo.response.labelled_by(name.id);
    form.chosen |= form.kind != before;
    ui.end_row();
}

/// A field with its name; what is to be said of it stands beside it, or in it where there is no room.
fn line(ui: &mut Ui, label: &str, text: &mut String, room: f32, (width, hint): (f32, &str)) -> egui::Response {
    let name = ui.label(label);
    let said = soft(ui, hint).size(12.5);
    let wide = ui.painter().layout_no_wrap(hint.to_owned(), label_font(12.5), egui::Color32::BLACK).size().x;
    let beside = !hint.is_empty() && width + wide + 24.0 < room;
    let field = ui.horizontal(|ui| {
        // By its name: a reason that comes or goes above moves no field's place in the order.
        let edit = TextEdit::singleline(text).id_salt(("bench", label)).desired_width(width.min(room - 12.0));
        let edit = if beside { edit } else { edit.hint_text(hint) };
        let field = ui.add(edit).labelled_by(name.id);
        if beside {
            ui.label(said);
        }
        field
    });
    ui.end_row();
    field.inner
}
