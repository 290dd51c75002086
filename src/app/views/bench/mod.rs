//! Bench: known targets read with one set-up, how kinds lie on the ID scale, and what a signal may be.

mod answer;
mod calibration;
mod entry;
mod gauge;
mod ground;
mod heard;
mod kinds;
mod readings;
mod run;
mod setup_form;
mod strip;

use egui::{ComboBox, ScrollArea, Ui};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::bench::{BenchView, Part};
use crate::app::state::bench_forms::SetupForm;
use crate::app::widgets::controls::{choice, heading, warning};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::bench::{Learned, read_words, setup_label};
use crate::book::Setup;
use crate::query::{BenchQuestion, Item};

use setup_form::Outcome;

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let mut view = std::mem::take(&mut state.bench);
    view.wanted = true;
    ScrollArea::vertical().id_salt("bench").auto_shrink([false, false]).show(ui, |ui| {
        // Room for the bar that floats over the right edge.
        ui.set_width((ui.available_width() - 12.0).max(120.0));
        contents(ui, shown, state, &mut view);
    });
    state.bench = view;
}

fn contents(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, view: &mut BenchView) {
    let setup = choose(ui, shown, state, view);
    if view.form.is_some() {
        // One form at a time: Enter keeps this one and nothing else.
        return;
    }
    let Some(setup) = setup else {
        ui.label("A bench needs a set-up: the settings held constant while known targets are read. Name one to begin.");
        return;
    };
    parts(ui, state, view);
    let answer = shown.answers.answer::<BenchQuestion>();
    if let Some(why) = answer.failure() {
        warning(ui, &format!("{why}."));
    }
    let lessons = shown.lessons().map(|(lessons, _)| lessons);
    let learned = lessons.and_then(|l| l.learned.get(&setup.uid));
    match view.part {
        Part::Readings => {
            entry::show(ui, &mut view.entry, setup, shown, state);
            readings::show(ui, setup, shown, state);
            kinds::show(ui, &mut view.kind, shown, state);
        }
        Part::Signal => {
            view.signal = answer::show(ui, &mut view.asking, setup.uid, shown, state);
            let heard = view.signal.as_ref().and_then(|s| Some((s.setup, s.mean()?)));
            // The numbers of a picked signal belong on the scale of the set-up it was heard with, whichever is in hand.
            let own = heard.and_then(|(setup, _)| lessons?.learned.get(&setup));
            if let Some(learned) = missing(ui, own.or(learned), shown) {
                let other = if learned.setup == setup.uid { String::new() } else { format!(" of {}", learned.name) };
                heading(ui, &format!("On the ID scale{other}"));
                strip::show(ui, learned, heard.filter(|(s, _)| *s == learned.setup).map(|h| h.1));
                if view.signal.as_ref().is_some_and(|s| s.ground.is_some()) {
                    ui.label(soft(ui, "The scale shows readings of every ground as they came.").size(12.5));
                }
            }
        }
        Part::Learned => {
            if let Some(learned) = missing(ui, learned, shown) {
                for line in read_words(learned) {
                    ui.label(line);
                }
                heading(ui, "On the ID scale");
                strip::show(ui, learned, None);
                for note in &learned.notes {
                    ui.label(soft(ui, format!("· {note}")).size(13.0));
                }
                gauge::show(ui, learned, view.entry.unit);
                view.open = true;
                calibration::show(ui, setup.uid, shown);
            }
        }
        Part::Compare => {
            if missing(ui, learned, shown).is_some() {
                view.beside = answer::prices(ui, &mut view.asking, setup, shown).map(|against| (setup.uid, against));
            }
        }
    }
}

/// The parts of the bench, one shown at a time; a signal newly picked asks what it may be.
fn parts(ui: &mut Ui, state: &State, view: &mut BenchView) {
    let signal = state.selection.lead.filter(|l| matches!(l, Item::Signal(_)));
    if signal != view.signal_seen {
        view.signal_seen = signal;
        if signal.is_some() {
            view.part = Part::Signal;
        }
    }
    ui.add_space(2.0);
    ui.horizontal_wrapped(|ui| {
        for (part, label) in Part::ALL {
            if choice(ui, view.part == part, label).clicked() {
                view.part = part;
            }
        }
    });
}

/// What the set-up has taught, or the word that it has not yet.
fn missing<'l>(ui: &mut Ui, learned: Option<&'l Learned>, shown: &FrameContext<'_>) -> Option<&'l Learned> {
    if learned.is_none() {
        let busy = shown.answers.answer::<BenchQuestion>().fresh().is_none();
        ui.label(soft(ui, if busy { "learning ..." } else { "Nothing has been read with this set-up yet." }));
    }
    learned
}

/// The set-up in hand, by a list of all; the first of the book until one is chosen.
fn choose<'b>(ui: &mut Ui, shown: &FrameContext<'b>, state: &mut State, view: &mut BenchView) -> Option<&'b Setup> {
    let setups = shown.book.setups();
    view.setup = view.setup.filter(|s| setups.contains_key(s) || view.awaited == Some(*s)).or_else(|| {
        let by_name = setups.values().min_by(|a, b| a.name.cmp(&b.name).then(a.uid.cmp(&b.uid)));
        by_name.map(|s| s.uid)
    });
    let chosen = view.setup.and_then(|s| setups.get(&s));
    if chosen.is_some() {
        view.awaited = None;
    }
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Set-up");
        // Room for both buttons beside it.
        let wide = (ui.available_width() - 190.0).clamp(110.0, 210.0);
        let said = chosen.map_or_else(|| "none yet".to_owned(), |s| setup_label(shown.book.setups(), s));
        let combo = ComboBox::from_id_salt("bench set-up").selected_text(said).width(wide).offer(ui, |ui| {
            for setup in setups.values() {
                ui.selectable_value(&mut view.setup, Some(setup.uid), setup_label(shown.book.setups(), setup));
            }
        });
        combo.response.labelled_by(label.id);
        if view.form.is_none() {
            if let Some(setup) = chosen
                && ui.button("Settings").on_hover_text("Look at them, put them right, or make another set-up of them").clicked()
            {
                view.form = Some(SetupForm::from_setup(setup));
            }
            if ui.button("New set-up").clicked() {
                view.form = Some(SetupForm::blank());
            }
        }
    });
    if let Some(form) = &mut view.form {
        match setup_form::show(ui, form, shown.book, state) {
            Outcome::Open => {}
            Outcome::Left => view.form = None,
            Outcome::Kept(uid) => {
                (view.setup, view.awaited) = (Some(uid), Some(uid));
                view.form = None;
            }
        }
    }
    if let Some(setup) = chosen.filter(|_| view.form.is_none()) {
        let said = settings(setup);
        ui.add(egui::Label::new(soft(ui, said.as_str()).size(13.0)).truncate()).on_hover_text(said);
    }
    chosen
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
