//! Next low: the coming low waters and how long each band lies dry.

use egui::Ui;
use jiff::{SignedDuration, Timestamp};

use crate::app::State;
use crate::app::controls::{card, heading, warning};
use crate::app::shown::Shown;
use crate::app::theme::{palette, soft, strong};
use crate::tide::{CAUTION, Turn, TurnKind, Water};

/// Days looked ahead.
const DAYS: i64 = 5;
/// Minutes kept clear on both sides of a dry spell.
const MARGIN_S: i64 = 20 * 60;

pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    ui.label(
        "A route for the next low water needs the ground covered and the rates that come of it; this version does not plan one yet. \
         What is known already: when the water is low, and how long each band lies dry.",
    );
    warning(ui, "Times are predictions. Turn back well before the water does, and mind what closes behind you.");
    ui.label(soft(ui, CAUTION).size(13.0));
    let Some(water) = shown.water() else {
        ui.add_space(6.0);
        ui.label("There is no tide source for this beach: choose a station or a tide table under Beach.");
        return;
    };
    let from = state.clock.at;
    let Ok(to) = from.checked_add(SignedDuration::from_hours(24 * DAYS)) else { return };
    let turns = water.turns(from, to);
    heading(ui, &format!("Low waters from {}", shown.time(from, "%a %-d %b %H:%M")));
    let p = palette(ui.ctx());
    for low in turns.iter().filter(|t| t.kind == TurnKind::Low) {
        let name = shown.time(low.time, "%a %-d %b, %H:%M");
        let here = (low.time.as_second() - from.as_second()).abs() < 60;
        let response = card(ui, if lit(shown, low) { p.water_edge } else { p.soft }, here, &format!("Low water {name}"), |ui| {
            ui.label(strong(format!("{name}   {:.1} m", low.level_m)));
            ui.label(soft(ui, if lit(shown, low) { "in daylight" } else { "in the dark" }).size(13.0));
            dry_lines(ui, shown, water, low);
        });
        if response.on_hover_text("Show this moment").clicked() {
            state.go_to(low.time);
        }
        ui.add_space(2.0);
    }
    ui.label(
        soft(
            ui,
            format!("Dry spells are cut by {} minutes at both ends. They hold for flat water: swell runs higher.", MARGIN_S / 60),
        )
        .size(13.0),
    );
}

fn lit(shown: &Shown<'_>, low: &Turn) -> bool {
    shown.beach.is_some_and(|b| crate::sun::is_up(b.origin, low.time))
}

/// From when to when the ground above each tide level lies dry around a low water.
fn dry_lines(ui: &mut Ui, shown: &Shown<'_>, water: &Water, low: &Turn) {
    let Some(land) = shown.land() else { return };
    let mut any = false;
    let mut marks: Vec<(String, f64)> = Vec::new();
    for mark in &land.setting.marks {
        match marks.last_mut() {
            // Two names for one level are one line, as they are one edge of a band.
            Some((name, level)) if (*level - mark.level_m).abs() < 1e-3 => *name = format!("{name}/{}", mark.name),
            _ => marks.push((mark.name.clone(), mark.level_m)),
        }
    }
    for (name, level_m) in marks {
        if let Some((from, to)) = dry_spell(water, level_m, low.time) {
            any = true;
            let minutes = (to.as_second() - from.as_second()) / 60;
            ui.label(format!(
                "down to {name}: {} to {}, {} h {:02}",
                shown.time(from, "%H:%M"),
                shown.time(to, "%H:%M"),
                minutes / 60,
                minutes % 60
            ));
        }
    }
    if !any {
        ui.label(soft(ui, "no tide level lies dry long enough"));
    }
}

/// When the water stays below a level around a low water, margins taken off; `None` when nothing is left.
fn dry_spell(water: &Water, level_m: f64, low: Timestamp) -> Option<(Timestamp, Timestamp)> {
    let below = |t: i64| Timestamp::from_second(t).ok().and_then(|t| water.height_m(t)).is_some_and(|h| h < level_m);
    let middle = low.as_second();
    if !below(middle) {
        return None;
    }
    let reach = |sign: i64| -> Option<i64> {
        // Ten-minute steps out to the turn of the tide, then halved to the second.
        let step = 600 * sign;
        let mut inside = middle;
        for _ in 0..60 {
            let next = inside + step;
            if !below(next) {
                let (mut a, mut b) = (inside, next);
                while (b - a).abs() > 1 {
                    let m = a + (b - a) / 2;
                    if below(m) { a = m } else { b = m }
                }
                return Some(a);
            }
            inside = next;
        }
        None
    };
    let (from, to) = (reach(-1)? + MARGIN_S, reach(1)? - MARGIN_S);
    if to <= from {
        return None;
    }
    Some((Timestamp::from_second(from).ok()?, Timestamp::from_second(to).ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::{Datum, TableEntry, TideTable};

    #[test]
    fn a_dry_spell_is_the_time_below_the_level_less_its_margins() {
        let at = |h: i64| Timestamp::from_second(h * 3600).unwrap();
        let turn = |h, level_m, kind| TableEntry { time: at(h), level_m, kind: Some(kind) };
        let table = [turn(0, 5.0, TurnKind::High), turn(6, 1.0, TurnKind::Low), turn(12, 5.0, TurnKind::High)];
        let water = Water::of_table(TideTable::new("invented", Datum::ChartDatum, &table).unwrap());
        // A half-cosine passes its middle, 3.0 m, half way between the turns: at 3 h and 9 h.
        let (from, to) = dry_spell(&water, 3.0, at(6)).unwrap();
        assert!((from.as_second() - (3 * 3600 + MARGIN_S)).abs() <= 2, "{from}");
        assert!((to.as_second() - (9 * 3600 - MARGIN_S)).abs() <= 2, "{to}");
        assert_eq!(dry_spell(&water, 0.9, at(6)), None);
        assert_eq!(dry_spell(&water, 1.001, at(6)), None, "too short once margins are off");
    }
}
