//! Import: the dry run of some files, then the choice to take them in or leave them.

use std::path::PathBuf;

use egui::{RichText, ScrollArea, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::command::Command;
use crate::app::state::command::PickFor;
use crate::app::state::intake::IntakeForm;
use crate::app::widgets::controls::{choice, heading, warning};
use crate::app::widgets::theme::{self, palette, soft, strong};
use crate::book::{Edit, RecordKind};
use crate::exchange::{About, Intake, What};
use crate::query::{Home, IntakeQuestion, Item};

/// Shows the form; whether it is done with.
pub(crate) fn show(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    if let Home::New(name) = &mut form.home {
        name.clone_from(&form.name);
    }
    let question = form.question(shown.book);
    let looked = shown.answers.answer::<IntakeQuestion>();
    // What the form says now, not what it said a frame ago.
    let asked = shown.answers.asked::<IntakeQuestion>() == Some(&question);
    ui.set_width(ui.max_rect().width().min(780.0));
    ui.heading("Import");
    ui.label("First a dry run: nothing is written until you choose Import.");
    ui.add_space(4.0);
    files(ui, form, state);
    ui.add_space(4.0);
    home(ui, form, shown);
    clock_and_unit(ui, form, shown);
    unsettled(ui, form, shown);
    ui.separator();
    let height = (ui.ctx().content_rect().height() - 400.0).clamp(120.0, 520.0);
    ScrollArea::vertical().max_height(height).min_scrolled_height(height).auto_shrink([false, true]).show(ui, |ui| {
        ui.set_width(ui.available_width() - 10.0);
        if let Some(looked) = looked.fresh().filter(|_| asked) {
            if let Some(made) = &looked.made {
                ui.label(made);
            }
            looked.intakes.intakes.iter().for_each(|i| intake(ui, i));
            looked.intakes.failed.iter().for_each(|e| warning(ui, &format!("{e}. Nothing of it is taken.")));
            for passed in &looked.passed_over {
                ui.label(soft(ui, format!("Passed over {}: it {}", passed.path.display(), passed.why)).size(13.0));
            }
        } else if let Some(why) = looked.failure().filter(|_| asked) {
            warning(ui, why);
        } else if !form.paths.is_empty() {
            reading(ui, form, looked.share());
        } else {
            ui.label(soft(ui, "Choose files, type a path, or drop files on the window."));
        }
    });
    ui.separator();
    let open = looked.fresh().is_some_and(|l| l.intakes.must_be_answered().next().is_some());
    let ready = looked.fresh().filter(|l| asked && !open && l.intakes.taken_count() > 0).cloned();
    let mut done = false;
    ui.horizontal(|ui| {
        let count = ready.as_ref().map_or(0, |l| l.intakes.taken_count());
        let label = if count > 0 { format!("Import {count} records") } else { "Import".to_owned() };
        let button = ui.add_enabled(ready.is_some(), egui::Button::new(strong(label)));
        if button
            .on_disabled_hover_text(if open { "Answer what is asked above first" } else { "There is nothing to take" })
            .clicked()
            && let Some(looked) = &ready
        {
            let names: Vec<&str> = looked.intakes.intakes.iter().map(|i| file_name(&i.file)).collect();
            state.apply(looked.edit.clone(), format!("import {}", names.join(", ")));
            let finds = looked.edit.singles().into_iter().filter_map(|e| match e {
                Edit::Put(r) if r.kind() == RecordKind::Find => Some(Item::Find(r.uid())),
                _ => None,
            });
            state.selection.these(finds);
            state.plan.fit();
            done = true;
        }
        done |= ui.button("Leave").on_hover_text("Write nothing").clicked();
    });
    done
}

fn reading(ui: &mut Ui, form: &mut IntakeForm, share: Option<f64>) {
    ui.horizontal(|ui| {
        let share = share.unwrap_or(0.0) as f32;
        ui.add(egui::ProgressBar::new(share).desired_width(260.0).text("reading"));
        if ui.button("Stop").clicked() {
            // What is no longer asked is called off.
            form.paths.clear();
        }
    });
}

fn files(ui: &mut Ui, form: &mut IntakeForm, state: &mut State) {
    let mut gone = None;
    for (n, path) in form.paths.iter().enumerate() {
        ui.horizontal(|ui| {
            let name = path.file_name().map_or_else(|| path.display().to_string(), |f| f.to_string_lossy().into_owned());
            ui.label(strong(&name)).on_hover_text(path.display().to_string());
            if ui.small_button("leave out").on_hover_text(format!("Leave out {name}")).clicked() {
                gone = Some(n);
            }
        });
    }
    if let Some(n) = gone {
        form.paths.remove(n);
    }
    ui.horizontal(|ui| {
        if ui.button("Choose files ...").on_hover_text("With the system's own dialog").clicked() {
            state.commands.push(Command::Pick(PickFor::Import));
        }
        let label = ui.label("or a path");
        let field = ui.add(egui::TextEdit::singleline(&mut form.typed).desired_width(330.0)).labelled_by(label.id);
        let enter = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        if (ui.button("Look").clicked() || enter) && !form.typed.trim().is_empty() {
            let path = PathBuf::from(form.typed.trim());
            form.typed.clear();
            form.add(vec![path]);
        }
    });
}

fn home(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>) {
    ui.horizontal_wrapped(|ui| {
        ui.label("Beach:");
        for beach in shown.book.beaches().values() {
            if choice(ui, form.home == Home::Known(beach.uid), &beach.name).clicked() {
                form.home = Home::Known(beach.uid);
            }
        }
        if choice(ui, matches!(form.home, Home::New(_)), "a new one").clicked() {
            form.home = Home::New(form.name.clone());
        }
        if matches!(form.home, Home::New(_)) {
            ui.add(egui::TextEdit::singleline(&mut form.name).desired_width(140.0)).accessible_name("Name of the new beach");
        }
        ui.add_space(12.0);
        let label = ui.label("The files hold");
        let said = form.what.map_or("what they seem to", What::word);
        egui::ComboBox::from_id_salt("what")
            .selected_text(said)
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut form.what, None, "what they seem to");
                for (what, word) in What::ALL {
                    ui.selectable_value(&mut form.what, Some(*what), *word);
                }
            })
            .response
            .labelled_by(label.id);
    });
}

/// The clock of times and the unit of heights of the tide, asked for where the files leave them open.
fn clock_and_unit(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>) {
    let answer = shown.answers.answer::<IntakeQuestion>();
    let intakes = answer.newest().map_or(&[][..], |(l, _)| l.intakes.intakes.as_slice());
    let timed = intakes.iter().any(|i| i.understood.iter().any(|u| u.what == "times"));
    let tidal = intakes.iter().any(|i| i.guess.ends_with("tide-table") || i.guess.ends_with("gauge"));
    if !timed {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Times without an offset are on the clock of");
        let usual = shown.beach.map_or("UTC", |b| b.time_zone.as_str());
        let edit = egui::TextEdit::singleline(&mut form.clock).desired_width(140.0).hint_text(usual);
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

/// What the files leave open, each with its answers; what was answered stays to be answered otherwise.
fn unsettled(ui: &mut Ui, form: &mut IntakeForm, shown: &FrameContext<'_>) {
    let answer = shown.answers.answer::<IntakeQuestion>();
    let intakes = answer.newest().map_or(&[][..], |(l, _)| l.intakes.intakes.as_slice());
    let mut asked: Vec<(About, Option<&str>, Option<&'static str>)> = Vec::new();
    for u in intakes.iter().flat_map(|i| &i.unsettled) {
        if !asked.iter().any(|(about, ..)| *about == u.about) {
            asked.push((u.about, Some(&u.question), u.taken));
        }
    }
    for (about, given) in &form.answers {
        if !asked.iter().any(|(a, ..)| a == about) {
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

/// One file's dry run: what would be taken, what is there already, what is refused and why.
fn intake(ui: &mut Ui, intake: &Intake) {
    let p = palette(ui.ctx());
    heading(ui, file_name(&intake.file));
    ui.label(format!("{}: {}", intake.format, intake.guess));
    let list = |counts: &std::collections::BTreeMap<RecordKind, usize>| {
        counts
            .iter()
            .map(|(kind, n)| if *n == 1 { format!("1 {kind}") } else { format!("{n} {kind}s") })
            .collect::<Vec<_>>()
            .join(", ")
    };
    ui.horizontal_wrapped(|ui| {
        ui.label(strong("taken:"));
        ui.label(if intake.taken.is_empty() { "nothing new".to_owned() } else { list(&intake.taken) });
        if !intake.already_there.is_empty() {
            ui.label(strong("already there:"));
            ui.label(list(&intake.already_there));
        }
        if intake.refused_count > 0 {
            ui.label(strong("refused:").color(p.danger));
            ui.label(RichText::new(intake.refused_count.to_string()).color(p.danger));
        }
    });
    for w in &intake.warnings {
        warning(ui, w);
    }
    const SHOWN: usize = 20;
    for r in intake.refused.iter().take(SHOWN) {
        ui.label(RichText::new(format!("{}: {}", r.place(), r.why)).color(p.danger).size(13.0));
    }
    if intake.refused_count > SHOWN {
        ui.label(soft(ui, format!("and {} more refused", intake.refused_count - SHOWN)));
    }
    if !intake.understood.is_empty() {
        egui::CollapsingHeader::new(theme::soft(ui, "how it was read")).id_salt(&intake.file).show(ui, |ui| {
            for u in &intake.understood {
                ui.label(soft(ui, format!("{}: {}", u.what, u.how)).size(13.0));
            }
        });
    }
    if intake.ignored_extensions > 0 {
        ui.label(soft(ui, format!("{} extension elements passed over", intake.ignored_extensions)).size(13.0));
    }
}

fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}
