//! The beach itself: its name, tide, datum offset, time zone and slope.

use egui::Ui;

use super::{offset_form, scrolled, tide_form};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::beach_form::BeachForm;
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::{chord, entered, stay};
use crate::app::widgets::theme::soft;
use crate::app::widgets::typed::number;
use crate::book::{Beach, Edit, Seaward, TideChoice};
use crate::tide::Catalogue;
use crate::trust::{station_given, zone_given};

impl BeachForm {
    /// The beach as typed, or what is wrong with it.
    fn finish(&self) -> Result<Beach, String> {
        let (tide, weather) = self.tide.finish(&self.draft.tide)?;
        Ok(Beach {
            tide,
            weather,
            datum_offset_m: number("datum offset", &self.offset)?,
            slope: number("slope", &self.slope)?.map(|one_in| 1.0 / one_in),
            back_level_m: number("level at the baseline", &self.back)?,
            ..self.draft.clone()
        })
    }
}

/// The fields of the form, with the word by which a refusal names them.
const NAMED: [(&str, &str); 5] = [
    ("Name", "beach name"),
    ("Time zone", "time zone"),
    ("Datum offset, m", "datum offset"),
    ("Slope, 1 in", "slope"),
    ("Level at the baseline, m", "level at the baseline"),
];

/// Shows the form; whether it is done with.
pub(crate) fn show(ui: &mut Ui, form: &mut BeachForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    ui.set_width(ui.max_rect().width().min(640.0));
    ui.heading("Beach");
    let mut enter = chord(ui);
    // A reason goes with the values that it was of.
    if form.refused_here && tried(form, shown).err() != form.refusal {
        (form.refusal, form.refused_here) = (None, false);
    }
    let refusal = form.refusal.clone();
    // Said beside the field it is of, where it is of one.
    let of = |name: &str| refusal.as_deref().filter(|why| NAMED.iter().any(|(n, word)| *n == name && why.starts_with(word)));
    scrolled(ui, 84.0, |ui| {
        let mut field = |ui: &mut Ui, name: &str, text: &mut String, hint: &str| {
            let field = field(ui, name, text, hint, of(name));
            enter |= entered(ui, &field);
            field
        };
        egui::Grid::new("beach").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
            field(ui, "Name", &mut form.draft.name, "");
            field(ui, "Time zone", &mut form.draft.time_zone, "a name such as Europe/London");
            let offset = field(ui, "Datum offset, m", &mut form.offset, "tide level = land level + this");
            if std::mem::take(&mut form.to_offset) {
                offset.request_focus();
            }
        });
        if form.offset.trim().is_empty() {
            warning(
                ui,
                "Without the offset between land datum and tide datum, tide lines and water cannot be drawn. It is never taken as zero.",
            );
        }
        offset_form::show(ui, form, shown);
        offset_offers(ui, form);
        let mut field = |ui: &mut Ui, name: &str, text: &mut String, hint: &str| {
            let field = self::field(ui, name, text, hint, of(name));
            enter |= entered(ui, &field);
        };
        egui::Grid::new("beach without levels").num_columns(2).spacing([14.0, 6.0]).show(ui, |ui| {
            field(ui, "Slope, 1 in", &mut form.slope, "used only without surveyed levels");
            field(ui, "Level at the baseline, m", &mut form.back, "above land datum, used with the slope");
        });
        let line = form.draft.baseline.len();
        let said = if line >= 2 {
            format!("Baseline of {line} positions, {}. Import a line with role baseline to change it.", form.draft.seaward)
        } else {
            "No baseline: import a line along the back of the beach (GeoJSON, role baseline). Until then it is guessed."
                .to_owned()
        };
        ui.label(soft(ui, said));
        if line >= 2 && ui.button("The sea lies on the other side of it").clicked() {
            form.draft.seaward = match form.draft.seaward {
                Seaward::Left => Seaward::Right,
                Seaward::Right => Seaward::Left,
            };
        }
        enter |= tide_form::show(ui, &mut form.draft, &mut form.tide, shown);
        offset_form::follow_source(form, shown.book);
        let label = ui.label("Notes");
        ui.add(egui::TextEdit::multiline(&mut form.draft.notes).desired_rows(2).desired_width(f32::INFINITY))
            .labelled_by(label.id);
    });
    if let Some(why) = refusal.as_deref().filter(|_| NAMED.iter().all(|(name, _)| of(name).is_none())) {
        warning(ui, why);
    }
    ui.add_space(6.0);
    let mut done = false;
    ui.horizontal(|ui| {
        if (ui.button("Keep").on_hover_text("Enter").clicked() || enter) && !form.sent {
            keep(form, shown, state);
            if !form.sent {
                stay(ui);
            }
        }
        done |= ui.button("Leave").on_hover_text("Change nothing (Escape)").clicked();
    });
    done
}

/// Sends what was typed to the book, which closes the form once it has it. The keeper would refuse a bad field too; here
/// the form stays open to mend it.
fn keep(form: &mut BeachForm, shown: &FrameContext<'_>, state: &mut State) {
    match tried(form, shown) {
        Ok(edit) => {
            form.sent = true;
            (form.refusal, form.refused_here) = (None, false);
            state.apply(edit, "change beach");
        }
        Err(why) => (form.refusal, form.refused_here) = (Some(why), true),
    }
}

/// The change that was typed, or what is wrong with it.
fn tried(form: &BeachForm, shown: &FrameContext<'_>) -> Result<Edit, String> {
    form.finish().and_then(|beach| {
        let beach = match shown.beach {
            // Typed since the source was changed, it was given for the new one, even if it is the same.
            Some(before) if form.offset_anew.is_some() => {
                let offset_m = beach.datum_offset_m;
                beach.changed_from(before).with_offset(offset_m)
            }
            Some(before) => beach.changed_from(before),
            None => beach,
        };
        // Typed here, it is no guess any more.
        let typed = shown.beach.is_none_or(|before| before.time_zone != beach.time_zone);
        let zone = beach.time_zone.clone();
        let beach = if typed { zone_given(beach, &zone, shown.now) } else { beach };
        // What was guessed and left alone stays a guess.
        let chosen = shown.beach.is_some_and(|before| before.tide != beach.tide);
        let edit = Edit::put(if chosen { station_given(beach, shown.now) } else { beach });
        shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
        Ok(edit)
    })
}

fn field(ui: &mut Ui, label: &str, text: &mut String, hint: &str, refused: Option<&str>) -> egui::Response {
    let label = ui.label(label);
    let field = ui.vertical(|ui| {
        let field = ui.horizontal_wrapped(|ui| {
            let field = ui.add(egui::TextEdit::singleline(text).desired_width(200.0)).labelled_by(label.id);
            ui.label(soft(ui, hint));
            field
        });
        if let Some(why) = refused {
            warning(ui, why);
        }
        field.inner
    });
    ui.end_row();
    field.inner
}

/// Offsets that the chosen station itself states between its land datums and chart datum.
fn offset_offers(ui: &mut Ui, form: &mut BeachForm) {
    let TideChoice::Station(id) = &form.draft.tide else { return };
    let Some(station) = Catalogue::shipped().get(id) else { return };
    for datum in station.land_datums() {
        if let Some(offset) = station.above_m(datum, &station.chart_datum) {
            ui.horizontal(|ui| {
                ui.label(soft(
                    ui,
                    format!("{} puts {} {offset:+.2} m from {}.", station.name, datum.words(), station.chart_datum.words()),
                ));
                if ui.small_button(format!("use {offset:+.2} m")).clicked() {
                    form.offset = format!("{offset:.3}");
                }
            });
        }
    }
}
