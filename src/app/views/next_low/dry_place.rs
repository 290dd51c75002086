//! When the picked place or band is dry.

use egui::Ui;
use jiff::{SignedDuration, Timestamp};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::{soft, strong};
use crate::earth::LonLat;
use crate::query::Item;
use crate::tide::{Window, rounded};

/// How far ahead is looked, hours: the lows of three days.
const AHEAD_H: i64 = 74;

/// From when to when what is picked lies dry: a find, signal or access with every part of the margin, or a band.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(item) = state.selection.lead else { return };
    let Some(setting) = shown.setting() else { return };
    let from = state.clock.at;
    let Ok(to) = from.checked_add(SignedDuration::from_hours(AHEAD_H)) else { return };
    if let Item::Band(n) = item {
        return band(ui, shown, n, from, to);
    }
    let Some(at) = place(shown, item) else { return };
    heading(ui, &format!("When it is dry: {}", shown.name_of(item)));
    let dry = match setting.dry_at(at, from, to) {
        Ok(dry) => dry,
        Err(why) => return warning(ui, &format!("Not known: {why}.")),
    };
    windows(ui, shown, &dry.windows, from);
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

/// From when to when a band is dry: its highest sand first and longest, all of it for the shortest time.
fn band(ui: &mut Ui, shown: &FrameContext<'_>, n: usize, from: Timestamp, to: Timestamp) {
    let Some(setting) = shown.setting() else { return };
    let read = shown.read().map(|(read, _)| read);
    let Some(band) = read.and_then(|r| r.reading().bands.get(n)).and_then(|b| setting.bands.iter().find(|s| s.name == b.name))
    else {
        return;
    };
    heading(ui, &format!("When it is dry: {}", band.name));
    let datum = shown.water().map_or("tide datum", |w| w.datum().words());
    for (edge, level_m) in [("Its upper edge", band.high_m), ("All of it, down to its lower edge", band.low_m)] {
        let Some(level_m) = level_m else { continue };
        ui.label(strong(format!("{edge}, {:.1} m above {datum}", rounded(level_m, 1))));
        match setting.dry_down_to(level_m, from, to) {
            Ok(dry) => windows(ui, shown, &dry, from),
            Err(why) => return warning(ui, &format!("Not known: {why}.")),
        }
    }
    let (run_up_m, surge_m) = (setting.run_up_m, setting.surge.margin_m());
    let said = format!(
        "Kept above the predicted water: {:.2} m, of which {run_up_m:.2} m for waves running up and {surge_m:.2} m for the weather with \
         twice its uncertainty. The way there can close sooner.",
        run_up_m + surge_m
    );
    ui.label(soft(ui, said).size(13.0));
}

/// Windows by the beach's clock, a line each.
fn windows(ui: &mut Ui, shown: &FrameContext<'_>, windows: &[Window], now: Timestamp) {
    let day = |t| shown.time(t, "%j");
    for w in windows {
        let minutes = (w.length_s() / 60.0) as i64;
        let until = shown.time(w.to, if day(w.to) == day(w.from) { "%H:%M" } else { "%a %H:%M" });
        let said = if w.from <= now {
            format!("dry now, until {until}")
        } else {
            format!("{} to {until}, {} h {:02}", shown.time(w.from, "%a %-d %b %H:%M"), minutes / 60, minutes % 60)
        };
        ui.label(said);
    }
    if windows.is_empty() {
        ui.label("Not within the coming three days.");
    }
}

/// Where an item is, if it is one place.
fn place(shown: &FrameContext<'_>, item: Item) -> Option<LonLat> {
    match item {
        Item::Find(uid) => shown.book.finds().get(&uid).map(|f| f.at),
        Item::Signal(uid) => shown.book.signals().get(&uid).map(|s| s.at),
        Item::Access(uid) => shown.book.accesses().get(&uid).map(|a| a.at),
        _ => None,
    }
}
