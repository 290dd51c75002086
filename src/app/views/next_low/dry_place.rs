//! When the picked place or band is dry.

use egui::Ui;
use jiff::{SignedDuration, Timestamp};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::widgets::controls::{heading, warning};
use crate::app::widgets::theme::{soft, strong};
use crate::book::Book;
use crate::earth::LonLat;
use crate::query::{DryBandQuestion, DryPlaceQuestion, Item};
use crate::shore::DryPlace;
use crate::tide::{Window, rounded};

/// How far ahead is looked, hours: the lows of three days.
pub(crate) const AHEAD_H: i64 = 74;

/// From when to when what is picked lies dry: a find, signal or access with every part of the margin, or a band.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(item) = state.selection.lead else { return };
    let from = state.clock.at;
    let Ok(to) = from.checked_add(SignedDuration::from_hours(AHEAD_H)) else { return };
    if let Item::Band(n) = item {
        return band(ui, shown, n, from, to);
    }
    let Some(at) = place(shown.book, item) else { return };
    heading(ui, &format!("When it is dry: {}", shown.name_of(item)));
    let answer = shown.answers.answer::<DryPlaceQuestion>();
    let asked = |q: &DryPlaceQuestion| q.at == at;
    let Some(dry) = answer.fresh().filter(|_| answer.question().is_some_and(asked)) else {
        return waiting(ui, answer.failure());
    };
    if dry.is_guess() {
        warning(ui, DryPlace::GUESS);
    }
    windows(ui, shown, &dry.windows, (from, to));
    if let Some(calm) = dry.run_up.caution() {
        warning(ui, &calm);
    }
    ui.label(
        soft(
            ui,
            format!(
                "Its sand lies {:.1} m above {}. Kept above the predicted water: {:.2} m, of which {:.2} m for waves running up, \
                 {:.2} m for the weather with twice its uncertainty,{} {:.2} m for twice the error of the sand's level. The way there \
                 can close sooner.",
                rounded(dry.tide_m, 1),
                shown.water().map_or("tide datum", |w| w.datum().words()),
                dry.margin_m(),
                dry.run_up.m,
                dry.surge_m,
                if dry.source_m > 0.0 { format!(" {:.2} m for what the tide source may be off,", dry.source_m) } else { String::new() },
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
    let edges = [("Its upper edge", band.high_m), ("All of it, down to its lower edge", band.low_m)];
    let levels = edges.into_iter().filter_map(|(edge, level_m)| Some((edge, level_m?)));
    let answer = shown.answers.answer::<DryBandQuestion>();
    let asked = |q: &DryBandQuestion| q.levels_m.iter().copied().eq(levels.clone().map(|(_, level_m)| level_m));
    let dry = answer.fresh().filter(|_| answer.question().is_some_and(asked));
    for (n, (edge, level_m)) in levels.clone().enumerate() {
        ui.label(strong(format!("{edge}, {:.1} m above {datum}", rounded(level_m, 1))));
        match dry.and_then(|dry| dry.windows.get(n)) {
            Some(dry) => windows(ui, shown, dry, (from, to)),
            None => return waiting(ui, answer.failure()),
        }
    }
    let Some(dry) = dry else { return };
    let (run_up_m, surge_m, source_m) = (dry.run_up.m, setting.surge.margin_m(), setting.source_margin_m());
    let source = if source_m > 0.0 { format!(", {source_m:.2} m for what the tide source may be off") } else { String::new() };
    let said = format!(
        "Kept above the predicted water: {:.2} m, of which {run_up_m:.2} m for waves running up and {surge_m:.2} m for the weather with \
         twice its uncertainty{source}; of hours that a record or forecast of the sea covers, their own run-up. The way there can close \
         sooner.",
        dry.margin_m
    );
    ui.label(soft(ui, said).size(13.0));
}

/// What stands there until it is known, or why it is not.
fn waiting(ui: &mut Ui, why: Option<&str>) {
    match why {
        Some(why) => warning(ui, &format!("Not known: {why}.")),
        None => drop(ui.label(soft(ui, "working it out ..."))),
    }
}

/// Those of some windows that lie between two moments, by the beach's clock, a line each.
fn windows(ui: &mut Ui, shown: &FrameContext<'_>, windows: &[Window], (now, to): (Timestamp, Timestamp)) {
    let day = |t| shown.time(t, "%j");
    let within = windows.iter().filter(|w| w.to > now && w.from < to);
    let windows: Vec<Window> = within.map(|w| Window { from: w.from.max(now), to: w.to.min(to) }).collect();
    for w in &windows {
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
pub(crate) fn place(book: &Book, item: Item) -> Option<LonLat> {
    match item {
        Item::Find(uid) => book.finds().get(&uid).map(|f| f.at),
        Item::Signal(uid) => book.signals().get(&uid).map(|s| s.at),
        Item::Access(uid) => book.accesses().get(&uid).map(|a| a.at),
        _ => None,
    }
}
