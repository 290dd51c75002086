//! The form of a set-up: the settings held constant.
//!
//! Readings belong to the settings they were made with. A set-up that has readings or outings may be put right
//! where it was noted wrongly; where the settings themselves are other ones it becomes a set-up of its own.

use egui::{Grid, TextEdit, Ui};

use super::ground;
use crate::app::state::State;
use crate::app::state::bench_forms::{Refused, SetupForm};
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::form::{chord, entered, stay};
use crate::app::widgets::theme::soft;
use crate::app::widgets::typed::number;
use crate::book::{Book, Edit, Setup, Uid};

impl SetupForm {
    /// The set-up as typed; `anew` makes one of its own of it.
    fn finish(&self, book: &Book, anew: bool) -> Result<Setup, Refused> {
        let coil_width_m = number("coil width", &self.width_cm).map_err(|why| ("Coil width, cm", why))?.map(|cm| cm / 100.0);
        let mut setup = Setup { coil_width_m, name: self.setup.name.trim().to_owned(), ..self.setup.clone() };
        if anew || self.was.is_none() {
            setup.uid = Setup::new(setup.name.as_str()).uid;
            if book.setups().contains_key(&setup.uid) {
                setup.uid = Uid::fresh();
            }
        }
        let same = |s: &&Setup| s.uid != setup.uid && s.name.trim().to_lowercase() == setup.name.to_lowercase();
        if book.setups().values().any(|s| same(&s)) {
            let why = format!(
                "there is a set-up \"{}\" already; give this one another name{}",
                setup.name,
                if anew { ", or press \"Put it right\" where it was noted wrongly" } else { "" }
            );
            return Err(("Name", why));
        }
        book.clone().apply(&Edit::put(setup.clone())).map_err(|e| {
            let why = e.to_string();
            (if why.contains("name") { "Name" } else { "" }, why)
        })?;
        Ok(setup)
    }
}

/// What came of the form.
pub(super) enum Outcome {
    Open,
    Left,
    Kept(Uid),
}

pub(super) fn show(ui: &mut Ui, form: &mut SetupForm, book: &Book, state: &mut State) -> Outcome {
    heading(ui, if form.was.is_some() { "Settings" } else { "New set-up" });
    let focus = std::mem::take(&mut form.focus);
    // A reason goes with the values that it was of.
    let stands = |refusal: &Refused| [false, true].iter().any(|anew| form.finish(book, *anew).err().as_ref() == Some(refusal));
    if form.refusal.as_ref().is_some_and(|refusal| !stands(refusal)) {
        form.refusal = None;
    }
    let refusal = form.refusal.clone();
    let mut enter = chord(ui);
    Grid::new("set-up").num_columns(2).spacing([10.0, 5.0]).show(ui, |ui| {
        let s = &mut form.setup;
        let lines: [(&str, &mut String, &str); 12] = [
            ("Name", &mut s.name, ""),
            ("Machine", &mut s.machine, ""),
            ("Search mode", &mut s.mode, ""),
            ("Sensitivity", &mut s.sensitivity, ""),
            ("Ground balance", &mut s.ground_balance, "value, how set"),
            ("Discrimination", &mut s.discrimination, "or accepted IDs"),
            ("Iron audio", &mut s.iron_audio, ""),
            ("Tones", &mut s.tones, ""),
            ("Volume", &mut s.volume, ""),
            ("Coil", &mut s.coil, ""),
            ("Coil width, cm", &mut form.width_cm, ""),
            ("Set-up note", &mut s.notes, ""),
        ];
        for (n, (label, text, hint)) in lines.into_iter().enumerate() {
            let name = ui.label(label);
            let field = ui
                .add(TextEdit::singleline(text).id_salt(("set-up", label)).desired_width(190.0).hint_text(hint))
                .labelled_by(name.id);
            if n == 0 && focus {
                field.request_focus();
            }
            enter |= entered(ui, &field);
            ui.end_row();
            if let Some((_, why)) = refusal.as_ref().filter(|(field, _)| *field == label) {
                ui.label("");
                ui.vertical(|ui| {
                    ui.set_max_width(210.0);
                    warning(ui, why);
                });
                ui.end_row();
            }
        }
        ground::choose(ui, "set-up ground", &mut s.ground, "not noted", 190.0);
        ui.end_row();
    });
    if let Some((_, why)) = refusal.as_ref().filter(|(field, _)| field.is_empty()) {
        warning(ui, why);
    }
    let used = form.was.map_or((0, 0), |uid| {
        let readings = book.bench().values().filter(|b| b.setup == uid).count();
        (readings, book.outings().values().filter(|o| o.setup == Some(uid)).count())
    });
    let stands = used != (0, 0);
    if stands {
        let (readings, outings) = used;
        ui.label(
            soft(
                ui,
                format!(
                    "{readings} readings and {outings} outings stand under this set-up. Numbers of other settings do not compare: put it \
                     right only where it was noted wrongly, and keep other settings as a new set-up."
                ),
            )
            .size(13.0),
        );
    }
    let (mut kept, mut left) = (None, false);
    ui.horizontal_wrapped(|ui| {
        if stands {
            if ui.button("Put it right").on_hover_text("The readings stay with it").clicked() {
                kept = Some(false);
            }
            if ui.button("Keep as a new set-up").on_hover_text("Enter").clicked() || enter {
                kept = Some(true);
            }
        } else if ui.button("Keep set-up").on_hover_text("Enter").clicked() || enter {
            kept = Some(false);
        }
        left = ui.button("Leave set-up").on_hover_text("Change nothing (Escape)").clicked();
    });
    match kept.map(|anew| form.finish(book, anew)) {
        Some(Ok(setup)) => {
            let (uid, new) = (setup.uid, !book.setups().contains_key(&setup.uid));
            state.apply(Edit::put(setup), if new { "add set-up" } else { "change set-up" });
            Outcome::Kept(uid)
        }
        Some(Err(why)) => {
            form.refusal = Some(why);
            stay(ui);
            Outcome::Open
        }
        None if left => Outcome::Left,
        None => Outcome::Open,
    }
}
