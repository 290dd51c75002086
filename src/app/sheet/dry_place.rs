//! When the picked place is dry.

use egui::Ui;
use jiff::SignedDuration;

use crate::app::State;
use crate::app::controls::{heading, warning};
use crate::app::shown::Shown;
use crate::app::state::Item;
use crate::app::theme::soft;
use crate::earth::LonLat;
use crate::tide::rounded;

/// How far ahead is looked, hours: the lows of three days.
const AHEAD_H: i64 = 74;

/// From when to when the find, signal or access that is picked lies dry, with every part of the margin.
pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    let Some((item, at)) = state.selection.lead.and_then(|item| Some((item, place(shown, item)?))) else { return };
    let Some(land) = shown.land() else { return };
    let from = state.clock.at;
    let Ok(to) = from.checked_add(SignedDuration::from_hours(AHEAD_H)) else { return };
    heading(ui, &format!("When it is dry: {}", shown.name_of(item)));
    let dry = match land.setting.dry_at(at, from, to) {
        Ok(dry) => dry,
        Err(why) => return warning(ui, &format!("Not known: {why}.")),
    };
    let day = |t| shown.time(t, "%j");
    for w in &dry.windows {
        let minutes = (w.length_s() / 60.0) as i64;
        let begun = w.from <= from;
        let until = shown.time(w.to, if day(w.to) == day(w.from) { "%H:%M" } else { "%a %H:%M" });
        let said = if begun {
            format!("dry now, until {until}")
        } else {
            format!("{} to {until}, {} h {:02}", shown.time(w.from, "%a %-d %b %H:%M"), minutes / 60, minutes % 60)
        };
        ui.label(said);
    }
    if dry.windows.is_empty() {
        ui.label("Not within the coming three days.");
    }
    ui.label(
        soft(
            ui,
            format!(
                "Its sand lies {:.1} m above {}. Kept above the predicted water: {:.2} m, of which {:.2} m for waves running up, \
                 {:.2} m for the weather with twice its uncertainty, {:.2} m for twice the error of the sand's level. The way there \
                 can close sooner.",
                rounded(dry.tide_m, 1),
                shown.water().map_or("tide datum", |w| w.datum().words()),
                dry.margin_m(),
                dry.run_up_m,
                dry.surge_m,
                dry.sand_m
            ),
        )
        .size(13.0),
    );
}

/// Where an item is, if it is one place.
fn place(shown: &Shown<'_>, item: Item) -> Option<LonLat> {
    match item {
        Item::Find(uid) => shown.book.finds().get(&uid).map(|f| f.at),
        Item::Signal(uid) => shown.book.signals().get(&uid).map(|s| s.at),
        Item::Access(uid) => shown.book.accesses().get(&uid).map(|a| a.at),
        _ => None,
    }
}
