//! Bench: known targets read with one set-up, how kinds lie on the ID scale, and what a signal may be.

mod answer;
mod entry;
mod readings;
mod strip;

use std::collections::BTreeMap;

use egui::{ComboBox, ScrollArea, TextEdit, Ui};

use crate::app::State;
use crate::app::controls::{heading, warning};
use crate::app::shown::Shown;
use crate::app::theme::soft;
use crate::bench::{Learned, Mix, Pace, depth_words, learn_all, pace, setup_label};
use crate::book::{Book, Edit, Setup, Uid};

use answer::Asking;
use entry::EntryForm;

/// What the bench was taught by a snapshot of the book.
pub(crate) struct BenchDesk {
    learned: BTreeMap<Uid, Learned>,
    mix: Mix,
    pace: Option<Pace>,
}

impl BenchDesk {
    pub(crate) fn of(book: &Book, beach: Uid) -> Self {
        Self { learned: learn_all(book), mix: Mix::on(book, beach), pace: pace(book, beach) }
    }
}

/// What is chosen and typed on the bench.
#[derive(Default)]
pub(crate) struct BenchView {
    /// The bench learns from the first time the sheet is opened.
    pub(crate) wanted: bool,
    setup: Option<Uid>,
    new_setup: Option<String>,
    refusal: Option<String>,
    entry: EntryForm,
    asking: Asking,
}

pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    let mut view = std::mem::take(&mut state.bench);
    view.wanted = true;
    ScrollArea::vertical().id_salt("bench").auto_shrink([false, false]).show(ui, |ui| {
        // Room for the bar that floats over the right edge.
        ui.set_width((ui.available_width() - 12.0).max(120.0));
        contents(ui, shown, state, &mut view);
    });
    state.bench = view;
}

fn contents(ui: &mut Ui, shown: &Shown<'_>, state: &mut State, view: &mut BenchView) {
    let setup = choose(ui, shown, state, view);
    let Some(setup) = setup else {
        ui.label("A bench needs a set-up: the settings held constant while known targets are read. Name one to begin.");
        return;
    };
    entry::show(ui, &mut view.entry, setup, shown, state);
    let desk = shown.derived.bench.value().cloned();
    let learned = desk.as_ref().and_then(|d| d.learned.get(&setup.uid));
    let heard = answer::show(ui, &mut view.asking, setup.uid, learned.zip(desk.as_deref()), shown, state);
    match learned {
        Some(learned) => {
            heading(ui, "On the ID scale");
            strip::show(ui, learned, heard);
            gauge(ui, learned);
            for note in &learned.notes {
                ui.label(soft(ui, format!("· {note}")).size(13.0));
            }
        }
        None if shown.derived.bench.is_busy() || desk.is_none() => {
            ui.label(soft(ui, "learning ..."));
        }
        None => {
            ui.label(soft(ui, "Nothing has been read with this set-up yet."));
        }
    }
    if let Some(desk) = &desk {
        answer::prices(ui, &mut view.asking, setup, desk, shown);
    }
    readings::show(ui, setup, shown, state);
}

/// The set-up in hand, by a list of all; the first of the book until one is chosen.
fn choose<'b>(ui: &mut Ui, shown: &Shown<'b>, state: &mut State, view: &mut BenchView) -> Option<&'b Setup> {
    let setups = shown.book.setups();
    view.setup = view.setup.filter(|s| setups.contains_key(s)).or_else(|| {
        let by_name = setups.values().min_by(|a, b| a.name.cmp(&b.name).then(a.uid.cmp(&b.uid)));
        by_name.map(|s| s.uid)
    });
    let chosen = view.setup.and_then(|s| setups.get(&s));
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Set-up");
        let said = chosen.map_or_else(|| "none yet".to_owned(), |s| setup_label(shown.book, s));
        let combo = ComboBox::from_id_salt("bench set-up").selected_text(said).width(210.0).show_ui(ui, |ui| {
            for setup in setups.values() {
                ui.selectable_value(&mut view.setup, Some(setup.uid), setup_label(shown.book, setup));
            }
        });
        combo.response.labelled_by(label.id);
        if view.new_setup.is_none() && ui.button("New set-up").clicked() {
            view.new_setup = Some(String::new());
        }
    });
    if let Some(name) = &mut view.new_setup {
        let mut done = false;
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Name");
            let field = ui.add(TextEdit::singleline(name).desired_width(150.0)).labelled_by(label.id);
            let enter = field.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
            if ui.button("Keep set-up").clicked() || enter {
                match added(shown.book, name) {
                    Ok(setup) => {
                        view.setup = Some(setup.uid);
                        state.apply(Edit::put(setup), "add set-up");
                        done = true;
                    }
                    Err(why) => view.refusal = Some(why),
                }
            }
            done |= ui.button("Leave set-up").clicked();
        });
        if done {
            (view.new_setup, view.refusal) = (None, None);
        }
    }
    if let Some(why) = &view.refusal {
        warning(ui, why);
    }
    if let Some(setup) = chosen {
        ui.label(soft(ui, settings(setup)).size(13.0));
    }
    chosen
}

/// A new set-up of this name; a name that is taken would mix two in the eye, so it is refused.
fn added(book: &Book, name: &str) -> Result<Setup, String> {
    let setup = Setup::new(name.trim());
    let same = |s: &&Setup| s.name.trim().to_lowercase() == setup.name.to_lowercase();
    if book.setups().values().any(|s| same(&s)) {
        return Err(format!("there is a set-up \"{}\" already; give this one another name", setup.name));
    }
    book.clone().apply(&Edit::put(setup.clone())).map_err(|e| e.to_string())?;
    Ok(setup)
}

/// The settings in one line.
fn settings(s: &Setup) -> String {
    let named = [
        ("", &s.machine),
        ("mode ", &s.mode),
        ("sensitivity ", &s.sensitivity),
        ("ground balance ", &s.ground_balance),
        ("discrimination ", &s.discrimination),
        ("iron audio ", &s.iron_audio),
        ("tones ", &s.tones),
        ("volume ", &s.volume),
        ("coil ", &s.coil),
    ];
    let mut said: Vec<String> =
        named.into_iter().filter(|(_, v)| !v.trim().is_empty()).map(|(name, v)| format!("{name}{v}")).collect();
    said.extend(s.ground.map(|g| g.label().to_owned()));
    if said.is_empty() { "no settings noted".to_owned() } else { said.join(" · ") }
}

fn gauge(ui: &mut Ui, learned: &Learned) {
    heading(ui, "Depth gauge");
    match &learned.gauge {
        Ok(gauge) => {
            for step in gauge.steps() {
                ui.label(format!("step {}: {}", step.step, depth_words(&step)));
            }
            for f in gauge.full_when_shallow() {
                warning(ui, &format!("The gauge read full for {} at {:.0} cm.", f.target, 100.0 * f.depth_m));
            }
        }
        Err(why) => {
            ui.label(soft(ui, format!("No depths yet: {why}.")));
        }
    }
}
