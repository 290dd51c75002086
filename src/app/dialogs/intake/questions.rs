//! What files leave open: asked, and answered, where the files stand.

use egui::{TextEdit, Ui};

use super::field;
use crate::app::state::FrameContext;
use crate::app::state::intake::{IntakeForm, clock_offset_s};
use crate::app::widgets::controls::{choice, warning};
use crate::exchange::{About, Format, Intake};
use crate::query::Looked;

/// The clock of times, the unit of heights of the tide and the camera's clock, where the files leave them open.
pub(super) fn clocks(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>, looked: Option<&Looked>) {
    let intakes = looked.map_or(&[][..], |l| l.intakes.intakes.as_slice());
    let timed = intakes.iter().any(|i| i.understood.iter().any(|u| u.what == "times"));
    let tidal = intakes.iter().any(|i| i.guess.ends_with("tide-table") || i.guess.ends_with("gauge"));
    if timed {
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Times without an offset are on the clock of");
            let beach = looked.and_then(|l| l.made.as_ref()).map(|(b, _)| b).or(shown.beach);
            let usual = beach.map_or("UTC", |b| b.time_zone.as_str());
            let edit = TextEdit::singleline(&mut form.clock).id(field("clock")).desired_width(140.0).hint_text(usual);
            if ui.add(edit).labelled_by(label.id).lost_focus() {
                form.zone = (!form.clock.trim().is_empty()).then(|| form.clock.trim().to_owned());
            }
            if tidal {
                ui.add_space(12.0);
                ui.label("Heights without a unit:");
                for (feet, unit) in [(false, "metres"), (true, "feet")] {
                    if choice(ui, form.feet == feet, unit).clicked() {
                        form.feet = feet;
                    }
                }
            }
        });
    }
    if intakes.iter().any(|i| i.format == Format::Photograph) || form.camera_clock_s.is_some() {
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("The camera's clock was ahead of UTC by");
            let edit = TextEdit::singleline(&mut form.camera).id(field("camera")).desired_width(90.0).hint_text("1:00");
            if ui
                .add(edit)
                .labelled_by(label.id)
                .on_hover_text("Hours and minutes, or seconds: 1:00, -0:00:45, 90 s")
                .lost_focus()
            {
                form.camera_clock_s = clock_offset_s(&form.camera).ok();
            }
            if let (Err(why), false) = (clock_offset_s(&form.camera), form.camera.trim().is_empty()) {
                warning(ui, &format!("{why}."));
            }
        });
    }
}

/// What these files leave open, each with its answers; what was answered stays to be answered otherwise.
pub(super) fn unsettled(ui: &mut Ui, form: &mut IntakeForm, files: &[&Intake]) {
    let mut asked: Vec<(About, Option<&str>, Option<&'static str>)> = Vec::new();
    for (file, u) in files.iter().flat_map(|i| i.unsettled.iter().map(|u| (&i.file, u))) {
        let here = form.asked.entry(u.about).or_insert_with(|| file.clone());
        if files.iter().any(|f| f.file == *here) && !asked.iter().any(|(about, ..)| *about == u.about) {
            asked.push((u.about, Some(&u.question), u.taken));
        }
    }
    for (about, given) in &form.answers {
        let here = form.asked.get(about).is_some_and(|file| files.iter().any(|f| f.file == *file));
        if here && !asked.iter().any(|(a, ..)| a == about) {
            asked.push((*about, None, Some(given)));
        }
    }
    for (about, question, taken) in asked {
        ui.horizontal_wrapped(|ui| {
            match question {
                Some(question) => warning(ui, question),
                None => drop(ui.label(format!("Answered, about {about}:"))),
            }
            let now = form.answers.get(&about).copied().or(taken);
            for (word, means) in about.answers() {
                if choice(ui, now == Some(*word), means).clicked() {
                    form.answers.insert(about, word);
                }
            }
        });
    }
}
