//! Kinds of one's own: rows beside the shipped list, kept in the book.

use egui::{CollapsingHeader, ComboBox, Grid, TextEdit, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::bench_forms::KindForm;
use crate::app::widgets::controls::warning;
use crate::app::widgets::form::{entered, stay};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::app::widgets::typed::number;
use crate::book::{Book, Edit, Kind, Kinds, OwnKind, RecordKind, Typical};

impl KindForm {
    fn finish(&self, book: &Book) -> Result<OwnKind, String> {
        let kind = Kind::own(&self.within, &self.name).ok_or("a kind of your own needs a name")?;
        let taken = |k: &&Kind| k.label().to_lowercase() == kind.label().to_lowercase();
        let rows = book.own_kinds().values().map(|k| &k.kind);
        if Kinds::shipped().all().iter().chain(rows).any(|k| taken(&k)) {
            return Err(format!("there is a kind \"{}\" already; give this one another name", kind.label()));
        }
        let row = OwnKind {
            mass_g: number("mass", &self.mass_g)?,
            size_mm: number("largest size", &self.size_mm)?,
            density_kg_m3: number("density", &self.density)?.map(|d| d * 1000.0),
            source: self.source.trim().to_owned(),
            ..OwnKind::new(kind)
        };
        book.clone().apply(&Edit::put(row.clone())).map_err(|e| e.to_string())?;
        Ok(row)
    }
}

/// What is typical of a kind, in one line; `None` where no figure is known.
pub(super) fn typical_words(t: &Typical) -> Option<String> {
    let mut figures: Vec<String> = t.mass_g.map(|g| format!("{g} g")).into_iter().collect();
    figures.extend(t.size_mm.map(|mm| format!("{mm} mm")));
    figures.extend(t.density_kg_m3.map(|d| format!("{} g/cm³", d / 1000.0)));
    let source = if t.source.is_empty() { "source not noted" } else { &t.source };
    (!figures.is_empty()).then(|| format!("usually {} ({source})", figures.join(", ")))
}

pub(super) fn show(ui: &mut Ui, form: &mut KindForm, shown: &FrameContext<'_>, state: &mut State) {
    let rows = shown.book.own_kinds();
    CollapsingHeader::new(format!("Kinds of your own, {}", rows.len())).id_salt("own kinds").show(ui, |ui| {
        let list = Kinds::shipped();
        for row in rows.values() {
            ui.horizontal_wrapped(|ui| {
                let within = list.within(&row.kind).map_or("", |k| k.label());
                ui.label(format!("{} ({within})", row.kind.label()));
                if let Some(said) = shown.book.typical(&row.kind).as_ref().and_then(typical_words) {
                    ui.label(soft(ui, said).size(13.0));
                }
                let name = format!("Delete kind {}", row.kind.label());
                let button = ui.small_button("×").on_hover_text("Finds and readings keep it");
                button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name.clone()));
                if button.clicked() {
                    state.apply(Edit::Remove(RecordKind::OwnKind, row.uid), "delete kind");
                }
            });
        }
        let mut enter = false;
        // A reason goes with the values that it was of.
        if form.refusal.is_some() && form.finish(shown.book).err() != form.refusal {
            form.refusal = None;
        }
        Grid::new("own kind").num_columns(2).spacing([10.0, 5.0]).show(ui, |ui| {
            let name = ui.label("Belongs with");
            let combo =
                ComboBox::from_id_salt("own kind within").selected_text(form.within.label()).width(190.0).offer(ui, |ui| {
                    for kind in list.general() {
                        ui.selectable_value(&mut form.within, kind.clone(), kind.label());
                    }
                });
            combo.response.labelled_by(name.id);
            ui.end_row();
            let lines = [
                ("Kind's name", &mut form.name, 190.0),
                ("Usual mass, g", &mut form.mass_g, 70.0),
                ("Largest size, mm", &mut form.size_mm, 70.0),
                ("Density, g/cm³", &mut form.density, 70.0),
                ("Source", &mut form.source, 190.0),
            ];
            for (label, text, width) in lines {
                let name = ui.label(label);
                let field = ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(name.id);
                enter |= entered(ui, &field);
                ui.end_row();
            }
        });
        if let Some(why) = &form.refusal {
            warning(ui, why);
        }
        if ui.button("Add kind").on_hover_text("Enter").clicked() || enter {
            match form.finish(shown.book) {
                Ok(row) => {
                    state.apply(Edit::put(row), "add kind");
                    *form = KindForm { within: form.within.clone(), ..KindForm::default() };
                }
                Err(why) => {
                    form.refusal = Some(why);
                    stay(ui);
                }
            }
        }
    });
}
