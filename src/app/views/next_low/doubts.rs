//! What must not be believed, above all planning: what it is, what settles it, and a button that says it is so. What
//! bars or asks stands open; cautions are one line that unfolds, so that they do not push the lows off the sheet.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{card, heading, warning};
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::{Beach, Confirmation, Edit};
use crate::query::DoubtsQuestion;
use crate::trust::{AGED_SAND, APART, CLOCK_GUESSED, Confirmed, Doubt, Told, Weight, zone_given};

/// Cautions whose keys begin so are never folded: how far the tide's station is, weather typed too calm, a clock that nobody
/// gave, and levels grown old.
const OPEN: [&str; 4] = ["station-", "weather-", CLOCK_GUESSED, AGED_SAND];

/// What is doubted now: what stands open, and what is folded.
fn told<'a>(shown: &FrameContext<'a>) -> (Vec<&'a Told>, Vec<&'a Told>) {
    let told = shown.newest::<DoubtsQuestion>().map_or(&[][..], |(told, _)| told.as_slice());
    // That an invented beach borrows its tide is among the notes on its source.
    let told = told.iter().filter(|t| t.doubt.key != "invented");
    let is_open = |t: &&Told| t.doubt.weight > Weight::Caution || OPEN.iter().any(|key| t.doubt.key.starts_with(key));
    told.partition(is_open)
}

/// Whether a doubt bars every plan.
pub(super) fn bar(shown: &FrameContext<'_>) -> bool {
    told(shown).0.iter().any(|t| t.bars())
}

/// What stands open.
pub(super) fn open(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let (open, _) = told(shown);
    if !open.is_empty() {
        heading(ui, if open.iter().any(|t| t.bars()) { "To be settled before any route" } else { "To be known" });
    }
    for doubt in open {
        one(ui, shown, state, doubt);
    }
}

/// The cautions, as one line that unfolds.
pub(super) fn folded(ui: &mut Ui, shown: &FrameContext<'_>) {
    let (_, folded) = told(shown);
    let notes = shown.setting().map_or(&[][..], |s| s.source_notes.as_slice());
    let said = folded.iter().map(|t| t.doubt.sentence.as_str()).chain(notes.iter().map(String::as_str));
    let unsurveyed = shown.setting().map_or(&[][..], |s| s.unsurveyed.as_slice());
    let said: Vec<&str> = said.chain(unsurveyed.iter().map(String::as_str)).collect();
    fold(ui, &said);
}

/// Sentences as one line that unfolds.
fn fold(ui: &mut Ui, said: &[&str]) {
    let name = match said.len() {
        0 => return,
        1 => "1 caution".to_owned(),
        n => format!("{n} cautions"),
    };
    let name = egui::RichText::new(format!("! {name}")).color(palette(ui.ctx()).danger);
    egui::CollapsingHeader::new(name).id_salt("cautions of next low").show(ui, |ui| {
        for line in said {
            warning(ui, line);
        }
    });
}

fn one(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, told: &Told) {
    let doubt = &told.doubt;
    if doubt.weight == Weight::Caution {
        warning(ui, &doubt.sentence);
        return mend(ui, shown, state, doubt);
    }
    let p = palette(ui.ctx());
    let head = match (told.stands(), told.confirmed) {
        (_, Some(Confirmed::Kept(time))) => format!("Checked by you on {}", shown.time(time, "%-d %b %Y")),
        (_, Some(Confirmed::ForThisRoute)) => "Trusted by you for this route".to_owned(),
        (true, None) if told.bars() => "No route until this is settled".to_owned(),
        (true, None) => "No route at the lows it touches until this is settled".to_owned(),
        (false, None) => "Look into this".to_owned(),
    };
    card(ui, if told.confirmed.is_some() { p.rule } else { p.danger }, false, &doubt.key, |ui| {
        ui.label(strong(head));
        ui.label(&doubt.sentence);
        if told.confirmed.is_none() {
            for way in &doubt.settle {
                ui.label(soft(ui, way.as_str()).size(13.0));
            }
        }
    });
    if told.confirmed.is_none() {
        mend(ui, shown, state, doubt);
    }
    let Some(beach) = shown.beach else { return };
    if told.can_be_confirmed() {
        let said = "Kept with the beach, for these values alone, and repeated on every card";
        if ui.button("I checked this: it is so").on_hover_text(said).clicked() {
            let confirmation = Confirmation { key: doubt.key.clone(), time: shown.now };
            state.apply(Edit::put(beach.clone().with_confirmed(confirmation)), "confirm what was doubted");
        }
    } else if matches!(told.confirmed, Some(Confirmed::Kept(_))) && ui.small_button("No longer sure").clicked() {
        state.apply(Edit::put(beach.clone().without_confirmed(&doubt.key)), "take a confirmation back");
    }
}

/// A button that mends what is doubted, where one edit does.
fn mend(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, doubt: &Doubt) {
    let Some(beach) = shown.beach else { return };
    if doubt.key.starts_with(CLOCK_GUESSED) {
        let said = format!("Keeps {} as the beach's time zone; another one is typed under Beach", beach.time_zone);
        let name = format!("It is {} at the beach now", shown.time(shown.now, "%H:%M"));
        if ui.button(name).on_hover_text(said).clicked() {
            let edit = Edit::put(zone_given(beach.clone(), &beach.time_zone, shown.now));
            state.apply(edit, "give the time zone");
        }
    }
    let middle = shown.setting().and_then(|s| s.middle).filter(|_| doubt.key.starts_with(APART));
    if let Some(middle) = middle {
        let said = "Station and time zone stay as they are: look at them again";
        if ui.button(format!("Move the point to the {}", middle.of)).on_hover_text(said).clicked() {
            let moved = Beach { origin: middle.at, ..beach.clone() }.changed_from(beach);
            state.apply(Edit::put(moved), "move the point of the beach");
        }
    }
}
