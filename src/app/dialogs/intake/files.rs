//! The files of an import: what was named, and what the dry run found in each; many alike are one line that unfolds.

use std::collections::BTreeMap;
use std::path::PathBuf;

use egui::{CollapsingHeader, RichText, TextEdit, Ui};

use super::{field, file_name, questions, tables};
use crate::app::state::State;
use crate::app::state::command::{Command, PickFor};
use crate::app::state::dialog::path_typed;
use crate::app::state::intake::IntakeForm;
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::RecordKind;
use crate::exchange::{About, Format, Intake};
use crate::query::Looked;

/// From so many on, files that are alike become one line.
const ALIKE: usize = 3;
/// Refusals of one file that are shown.
const SHOWN: usize = 20;

/// What was named, and how to name more.
pub(super) fn named(ui: &mut Ui, form: &mut IntakeForm, state: &mut State) {
    let mut gone = None;
    let list = |ui: &mut Ui, paths: &[PathBuf], gone: &mut Option<usize>| {
        for (n, path) in paths.iter().enumerate() {
            ui.horizontal_wrapped(|ui| {
                let name = path.file_name().map_or_else(|| path.display().to_string(), |f| f.to_string_lossy().into_owned());
                ui.label(strong(&name)).on_hover_text(path.display().to_string());
                if ui.small_button("leave out").on_hover_text(format!("Leave out {name}")).clicked() {
                    *gone = Some(n);
                }
            });
        }
    };
    if form.paths.len() > ALIKE {
        let said = strong(format!("{} files and folders named", form.paths.len()));
        CollapsingHeader::new(said).id_salt("named").show(ui, |ui| list(ui, &form.paths, &mut gone));
    } else {
        list(ui, &form.paths, &mut gone);
    }
    if let Some(n) = gone {
        form.paths.remove(n);
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Choose files ...").clicked() {
            state.commands.push(Command::Pick(PickFor::Import));
        }
        if ui.button("Choose a folder ...").clicked() {
            state.commands.push(Command::Pick(PickFor::ImportFolder));
        }
        let label = ui.label("or type a path");
        let edit = TextEdit::singleline(&mut form.typed).id(field("path")).desired_width(300.0);
        let hint = "A file, a folder with all in it, or a pattern such as tracks/*.gpx";
        let typed = ui.add(edit.hint_text("folder, file or pattern")).labelled_by(label.id).on_hover_text(hint);
        if std::mem::take(&mut form.focus) {
            typed.request_focus();
        }
        let enter = typed.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        if (ui.button("Look").clicked() || enter) && !form.typed.trim().is_empty() {
            let path = path_typed(&form.typed);
            form.typed.clear();
            form.add(vec![path]);
        }
    });
}

/// What makes files alike.
type Likeness = (String, Vec<RecordKind>, Vec<RecordKind>, Vec<About>);

fn likeness(i: &Intake) -> Likeness {
    let asks = i.unsettled.iter().map(|u| u.about).collect();
    (i.format.to_string(), i.taken.keys().copied().collect(), i.already_there.keys().copied().collect(), asks)
}

/// What the dry run found.
pub(super) fn show(ui: &mut Ui, form: &mut IntakeForm, looked: &Looked) {
    let intakes = &looked.intakes.intakes;
    let mut groups: Vec<(Likeness, Vec<&Intake>)> = Vec::new();
    for intake in intakes {
        let like = likeness(intake);
        match groups.iter_mut().find(|(l, _)| *l == like) {
            Some((_, files)) => files.push(intake),
            None => groups.push((like, vec![intake])),
        }
    }
    // What must be answered stands where it is seen first.
    groups.sort_by_key(|(_, files)| files.iter().all(|i| i.must_be_answered().next().is_none()));
    if intakes.len() > 1 {
        let mut all: BTreeMap<RecordKind, usize> = BTreeMap::new();
        intakes.iter().filter(|i| !i.waits()).flat_map(|i| &i.taken).for_each(|(kind, n)| *all.entry(*kind).or_default() += n);
        let taken = if all.is_empty() { "nothing new".to_owned() } else { counts(&all) };
        ui.label(strong(format!("{} files, all together: {taken}", intakes.len())));
    }
    for (_, files) in &groups {
        match files.as_slice() {
            many if many.len() >= ALIKE => group(ui, form, many),
            few => few.iter().for_each(|i| one(ui, form, i)),
        }
    }
    looked.intakes.failed.iter().for_each(|e| warning(ui, &format!("{e}. Nothing of it is taken.")));
    aside(ui, form, looked);
}

/// What is not read, folded where it is much.
fn aside(ui: &mut Ui, form: &mut IntakeForm, looked: &Looked) {
    let list = |ui: &mut Ui| {
        for passed in &looked.passed_over {
            ui.label(soft(ui, format!("Passed over {}: it {}", passed.path.display(), passed.why)).size(13.0));
        }
    };
    if looked.passed_over.len() > ALIKE {
        let said = soft(ui, format!("{} other files passed over", looked.passed_over.len()));
        CollapsingHeader::new(said).id_salt("passed over").show(ui, list);
    } else {
        list(ui);
    }
    let mut again = None;
    for name in &form.left_out {
        ui.horizontal_wrapped(|ui| {
            ui.label(soft(ui, format!("Left out: {}", file_name(name))).size(13.0));
            if ui.small_button("take it after all").on_hover_text(format!("Take {} after all", file_name(name))).clicked() {
                again = Some(name.clone());
            }
        });
    }
    if let Some(name) = again {
        form.left_out.remove(&name);
    }
}

/// Many files alike: one line, which unfolds.
fn group(ui: &mut Ui, form: &mut IntakeForm, files: &[&Intake]) {
    let mut taken: BTreeMap<RecordKind, usize> = BTreeMap::new();
    let mut there = taken.clone();
    for i in files {
        i.taken.iter().for_each(|(kind, n)| *taken.entry(*kind).or_default() += n);
        i.already_there.iter().for_each(|(kind, n)| *there.entry(*kind).or_default() += n);
    }
    let mut said = format!(
        "{} {} files: {}",
        files.len(),
        files[0].format,
        if taken.is_empty() { "nothing new".to_owned() } else { counts(&taken) }
    );
    if !there.is_empty() {
        said += &format!("; already there {}", counts(&there));
    }
    let refused: usize = files.iter().map(|i| i.refused_count).sum();
    if refused > 0 {
        said += &format!("; {refused} refused");
    }
    let remarked = files.iter().filter(|i| !i.warnings.is_empty()).count();
    if remarked > 0 {
        said += &format!("; remarks on {remarked}");
    }
    ui.add_space(4.0);
    let head = if refused > 0 { strong(said).color(palette(ui.ctx()).danger) } else { strong(said) };
    CollapsingHeader::new(head).id_salt(("alike", &files[0].file)).show(ui, |ui| {
        for i in files {
            ui.horizontal_wrapped(|ui| {
                ui.label(file_name(&i.file)).on_hover_text(format!("{}\n{}", i.file, i.guess));
                ui.label(soft(ui, counts(&i.taken)).size(13.0));
                leave_out(ui, form, i);
            });
            details(ui, i);
        }
    });
    questions::unsettled(ui, form, files);
    // Files with the same headings are read alike, so the columns of the first stand for all.
    tables::show(ui, form, files[0]);
}

fn leave_out(ui: &mut Ui, form: &mut IntakeForm, i: &Intake) {
    if ui.small_button("leave out").on_hover_text(format!("Leave out {}", file_name(&i.file))).clicked() {
        form.left_out.insert(i.file.clone());
    }
}

/// One file's dry run: what would be taken, what is there already, what is refused and why.
fn one(ui: &mut Ui, form: &mut IntakeForm, intake: &Intake) {
    let p = palette(ui.ctx());
    heading(ui, file_name(&intake.file));
    let guess = match intake.format {
        Format::Photograph => intake.format.to_string(),
        _ => format!("{}: {}", intake.format, intake.guess),
    };
    ui.label(soft(ui, guess).size(13.0));
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(if intake.waits() { "waits for an answer; it holds:" } else { "taken:" }));
        ui.label(if intake.taken.is_empty() { "nothing new".to_owned() } else { counts(&intake.taken) });
        if !intake.already_there.is_empty() {
            ui.label(strong("already there:"));
            ui.label(counts(&intake.already_there));
        }
        if intake.refused_count > 0 {
            ui.label(strong("refused:").color(p.danger));
            ui.label(RichText::new(intake.refused_count.to_string()).color(p.danger));
        }
        leave_out(ui, form, intake);
    });
    questions::unsettled(ui, form, &[intake]);
    details(ui, intake);
    tables::show(ui, form, intake);
}

/// What is to be said of a file beyond its counts.
fn details(ui: &mut Ui, intake: &Intake) {
    let p = palette(ui.ctx());
    for w in &intake.warnings {
        warning(ui, w);
    }
    for r in intake.refused.iter().take(SHOWN) {
        ui.label(RichText::new(format!("{}: {}", r.place(), r.why)).color(p.danger).size(13.0));
    }
    if intake.refused_count > SHOWN {
        ui.label(soft(ui, format!("and {} more refused", intake.refused_count - SHOWN)));
    }
    // What columns mean stands with them.
    let told: Vec<_> = intake.understood.iter().filter(|u| !u.what.starts_with("column")).collect();
    if !told.is_empty() {
        CollapsingHeader::new(soft(ui, "how it was read")).id_salt(("read", &intake.file)).show(ui, |ui| {
            for u in told {
                ui.label(soft(ui, format!("{}: {}", u.what, u.how)).size(13.0));
            }
        });
    }
    if intake.ignored_extensions > 0 {
        ui.label(soft(ui, format!("{} extension elements passed over", intake.ignored_extensions)).size(13.0));
    }
}

fn counts(counts: &BTreeMap<RecordKind, usize>) -> String {
    let each = counts.iter().map(|(kind, n)| kind.counted(*n));
    each.collect::<Vec<_>>().join(", ")
}
