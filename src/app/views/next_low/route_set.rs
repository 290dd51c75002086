//! How a route is planned: when and where it sets out, its paces and margins, what is closed or kept in.

use egui::{ComboBox, DragValue, Ui};

use super::sea_set;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::next_low::When;
use crate::app::widgets::controls::{choice, switch};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::soft;
use crate::book::{Beach, Edit, Uid, ZoneUse};
use crate::earth::LonLat;
use crate::query::PacesQuestion;
use crate::route::{Params, Start};
use crate::shore::ShorePoint;

pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    set_out(ui, shown, state);
    ends(ui, shown, state);
    switch(ui, &mut state.next_low.params.head_torch, "head-torch");
    ui.horizontal(|ui| {
        number(ui, "look for unknown ground", &mut state.next_low.params.explore, 0.0..=3.0, 0.05, 1)
            .on_hover_text("0 works the ground that is known to give; each 1 adds one standard deviation of what is not known");
    });
    egui::CollapsingHeader::new("Paces, margins and closed ground").id_salt("route settings").show(ui, |ui| {
        paces(ui, shown, state);
        sea_set::show(ui, shown, state);
        margins(ui, state);
        closed(ui, shown, state);
    });
}

/// What is pressed on the way and about single blocks: it is never folded.
pub(super) fn under_way(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    on_from_here(ui, shown, state);
    taken_back(ui, state);
}

/// A figure with its name; dragging or typing changes it.
fn number(
    ui: &mut Ui,
    name: &str,
    value: &mut f64,
    range: std::ops::RangeInclusive<f64>,
    speed: f64,
    decimals: usize,
) -> egui::Response {
    let label = ui.label(name);
    ui.add(DragValue::new(value).range(range).speed(speed).fixed_decimals(decimals)).labelled_by(label.id)
}

fn set_out(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    ui.horizontal_wrapped(|ui| {
        let view = &mut state.next_low;
        ui.label("Set out");
        if choice(ui, view.when == When::BeforeLow, "before the low").clicked() {
            view.when = When::BeforeLow;
        }
        if choice(ui, view.when == When::Shown, "as Time is dragged").on_hover_text("Every moment shown plans anew").clicked() {
            view.when = When::Shown;
        }
        if let When::At(at) = view.when {
            choice(ui, true, &format!("at {}", shown.time(at, "%H:%M")));
        }
    });
    if state.next_low.when == When::BeforeLow {
        ui.horizontal_wrapped(|ui| {
            let view = &mut state.next_low;
            let label = ui.label("minutes before low, at the earliest");
            ui.add(DragValue::new(&mut view.before_min).range(-180..=360).speed(5)).labelled_by(label.id);
        });
    }
}

/// Under way at the moment shown, the rest can be planned from there.
fn on_from_here(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let (Some((routed, _)), Some((land, _))) = (state.next_low.current_route(shown), shown.land()) else { return };
    let at = state.clock.at;
    if at <= routed.route().depart || at >= routed.route().back {
        return;
    }
    let label = format!("Plan on from where the route is at {}", shown.time(at, "%H:%M"));
    if ui.button(label).on_hover_text("Blocks begun before count as done").clicked()
        && let Some(start) = routed.start_at(land, at)
    {
        state.next_low.params.excluded.extend(routed.done_by(at));
        state.next_low.params.start = start;
        state.next_low.when = When::At(at);
    }
}

fn ends(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let accesses: Vec<(Uid, String)> = shown
        .book
        .accesses()
        .values()
        .filter(|a| shown.beach.is_some_and(|b| b.uid == a.beach))
        .map(|a| (a.uid, a.name.clone()))
        .collect();
    let name = |uid: &Uid| accesses.iter().find(|(u, _)| u == uid).map_or("an access", |(_, n)| n.as_str()).to_owned();
    let width = (ui.available_width() - 90.0).clamp(120.0, 260.0);
    let params = &mut state.next_low.params;
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("From");
        let chosen = match &params.start {
            Start::AnyAccess => "whichever access serves best".to_owned(),
            Start::Access(uid) => name(uid),
            Start::Place(_) => "a spot on the sand".to_owned(),
        };
        ComboBox::from_id_salt("route start")
            .selected_text(chosen)
            .width(width)
            .offer(ui, |ui| {
                ui.selectable_value(&mut params.start, Start::AnyAccess, "whichever access serves best");
                for (uid, name) in &accesses {
                    ui.selectable_value(&mut params.start, Start::Access(*uid), name);
                }
            })
            .response
            .labelled_by(label.id);
    });
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Back to");
        let chosen = params.end.as_ref().map_or("whichever access serves best".to_owned(), name);
        ComboBox::from_id_salt("route end")
            .selected_text(chosen)
            .width(width)
            .offer(ui, |ui| {
                ui.selectable_value(&mut params.end, None, "whichever access serves best");
                for (uid, name) in &accesses {
                    ui.selectable_value(&mut params.end, Some(*uid), name);
                }
            })
            .response
            .labelled_by(label.id);
    });
    spot(ui, shown, state);
}

/// A spot to set out from: clicked or dragged on Plan, or typed as metres along and across.
fn spot(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(shore) = shown.land().and_then(|(l, _)| l.placing.shore()) else { return };
    ui.horizontal_wrapped(|ui| {
        let places = state.next_low.places_start;
        let label = if places { "Click the spot on Plan, or Esc" } else { "Set out from a spot on Plan" };
        if ui.button(label).on_hover_text("The start can also be dragged on Plan, to an access or onto the sand").clicked() {
            state.next_low.places_start = !places;
        }
        if places && ui.input(|i| i.key_pressed(egui::Key::Escape)) {
            state.next_low.places_start = false;
        }
    });
    let Start::Place(at) = state.next_low.params.start else { return };
    let Ok(local) = shore.frame().to_local(at) else { return };
    let mut s = shore.to_shore(local);
    ui.horizontal_wrapped(|ui| {
        let along = number(ui, "start, m along", &mut s.along_m, -100_000.0..=100_000.0, 1.0, 0);
        let across = number(ui, "m across", &mut s.across_m, -10_000.0..=10_000.0, 1.0, 0);
        if along.changed() || across.changed() {
            let moved = shore.frame().to_lonlat(shore.to_local(ShorePoint::new(s.along_m, s.across_m)));
            if let Ok(at) = moved as Result<LonLat, _> {
                state.next_low.params.start = Start::Place(at);
            }
        }
    });
}

fn taken_back(ui: &mut Ui, state: &mut State) {
    let params = &mut state.next_low.params;
    if params.excluded.is_empty() && params.pinned.is_empty() {
        return;
    }
    let blocks = |n: usize| if n == 1 { "1 block".to_owned() } else { format!("{n} blocks") };
    ui.horizontal_wrapped(|ui| {
        if !params.excluded.is_empty() && ui.button(format!("Take back {} left out", blocks(params.excluded.len()))).clicked() {
            params.excluded.clear();
        }
        if !params.pinned.is_empty() && ui.button(format!("Let go {} kept in", blocks(params.pinned.len()))).clicked() {
            params.pinned.clear();
        }
    });
}

fn paces(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let learnt = shown.answers.answer::<PacesQuestion>().fresh().and_then(|paces| **paces);
    if let Some(learnt) = learnt {
        if learnt.is_known() {
            switch(ui, &mut state.next_low.own_paces, "use my own paces");
        }
        ui.label(soft(ui, learnt.said()).size(13.0));
    }
    let asked = state.next_low.asked.clone();
    let settings = asked.zip(shown.setting()).map(|(ask, setting)| ask.settings(&shown.book.into(), setting, learnt.as_ref()));
    let held = learnt.is_some_and(|l| l.is_known()) && state.next_low.own_paces;
    if held && let Some(s) = &settings {
        ui.label(format!(
            "Planned with: walking {:.2} m/s wet, {:.2} m/s dry, {:.2} m/s on the way out; {:.0} m² an hour; {:.1} min a find.",
            s.walk_wet_m_s,
            s.walk_dry_m_s,
            s.walk_out_m_s,
            s.sweep_m2_s() * 3600.0 * (1.0 - s.rest),
            s.dig_min
        ));
    }
    slowest(ui, shown, state);
    let coil = settings.as_ref().map_or(Params::default().coil_width_m, |s| s.coil_width_m);
    let view = &mut state.next_low;
    let params = &mut view.params;
    let mut width = view.coil_m.unwrap_or(coil);
    let mut coil_set = false;
    figures(ui, "route paces", |ui, end| {
        number(ui, "walking, wet m/s", &mut params.walk_wet_m_s, 0.2..=3.0, 0.01, 2);
        end(ui);
        number(ui, "dry m/s", &mut params.walk_dry_m_s, 0.2..=3.0, 0.01, 2);
        end(ui);
        number(ui, "way out m/s", &mut params.walk_out_m_s, 0.2..=2.0, 0.01, 2);
        end(ui);
        number(ui, "sweep m/s", &mut params.sweep_m_s, 0.05..=3.0, 0.01, 2);
        end(ui);
        coil_set = number(ui, "coil m", &mut width, 0.05..=1.5, 0.01, 2).changed();
        end(ui);
        number(ui, "swing m", &mut params.swing_m, width.max(0.05)..=5.0, 0.05, 1);
        end(ui);
        percent(ui, "overlap %", &mut params.overlap, 90.0);
        end(ui);
        percent(ui, "rest %", &mut params.rest, 50.0);
        end(ui);
        number(ui, "min a find", &mut params.dig_min, 0.0..=60.0, 0.1, 1);
        end(ui);
        percent(ui, "one pass finds %", &mut params.detection, 100.0);
        end(ui);
    });
    if coil_set {
        view.coil_m = Some(width);
    }
    params.detection = params.detection.max(0.01);
    if held {
        ui.label(soft(ui, "Where your own paces are known they stand in for walking, sweep, rest and digging.").size(13.0));
    }
}

/// How fast the slowest of those who search the beach walks: kept with it once it is let go.
fn slowest(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let keep = |state: &mut State, pace_m_s: Option<f64>| {
        state.next_low.pace_m_s = None;
        if pace_m_s != beach.pace_m_s {
            state.apply(Edit::put(Beach { pace_m_s, ..beach.clone() }), "change the pace of the slowest");
        }
    };
    ui.horizontal_wrapped(|ui| {
        let mut known = beach.pace_m_s.is_some();
        let hint = "Children, a bad knee, a heavy bag: every route on this beach leaves time for the slowest of you";
        if switch(ui, &mut known, "somebody is slower").on_hover_text(hint).changed() {
            keep(state, known.then_some(SLOW_M_S));
        }
        let Some(kept_m_s) = beach.pace_m_s else { return };
        let mut pace_m_s = state.next_low.pace_m_s.unwrap_or(kept_m_s);
        let response = number(ui, "the slowest walks, m/s", &mut pace_m_s, 0.2..=2.0, 0.01, 2);
        if response.changed() {
            state.next_low.pace_m_s = Some(pace_m_s);
        }
        let let_go = response.drag_stopped() || response.lost_focus() || !(response.dragged() || response.has_focus());
        if let (Some(pace_m_s), true) = (state.next_low.pace_m_s, let_go) {
            keep(state, Some(pace_m_s));
        }
    });
}

/// What somebody slower is first taken to walk, metres a second (a judgement).
const SLOW_M_S: f64 = 0.6;

/// Figures in two columns, or in one where there is no room; the second argument ends each.
fn figures(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui, &mut dyn FnMut(&mut Ui))) {
    let columns = if ui.available_width() < 350.0 { 1 } else { 2 };
    egui::Grid::new(name).num_columns(2 * columns).spacing([10.0, 3.0]).show(ui, |ui| {
        let mut shown = 0;
        contents(ui, &mut |ui| {
            shown += 1;
            if shown % columns == 0 {
                ui.end_row();
            }
        });
    });
}

fn percent(ui: &mut Ui, name: &str, share: &mut f64, most: f64) {
    let mut value = *share * 100.0;
    if number(ui, name, &mut value, 0.0..=most, 0.5, 0).changed() {
        *share = value / 100.0;
    }
}

fn margins(ui: &mut Ui, state: &mut State) {
    let params = &mut state.next_low.params;
    figures(ui, "route margins", |ui, end| {
        number(ui, "spare min", &mut params.time_margin_min, 5.0..=240.0, 1.0, 0);
        end(ui);
        number(ui, "sand lower by, m", &mut params.sand_lower_m, 0.0..=2.0, 0.02, 2);
        end(ui);
        let mut rounds = f64::from(params.rounds);
        number(ui, "search for, rounds", &mut rounds, 1.0..=100_000.0, 10.0, 0)
            .on_hover_text("The same settings and rounds give the same route");
        params.rounds = rounds as u32;
        end(ui);
        number(ui, "block, m along", &mut params.block_along_m, 5.0..=100.0, 1.0, 0);
        end(ui);
        number(ui, "block, m across", &mut params.block_across_m, 4.0..=50.0, 1.0, 0);
        end(ui);
    });
    ui.label(soft(ui, "What the weather adds to the water is set under Beach.").size(13.0));
}

/// Zones that may be closed for the day, and the hours that permissions give.
fn closed(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let shut = |u: ZoneUse| matches!(u, ZoneUse::Rocks | ZoneUse::Mud | ZoneUse::Channel | ZoneUse::NoSearch);
    // A way down is closed by taking its access away, not its zone.
    for zone in shown.book.zones_of(beach.uid).filter(|z| !shut(z.usage) && z.usage != ZoneUse::Access) {
        let mut closed = state.next_low.params.closed_zones.contains(&zone.uid);
        if switch(ui, &mut closed, &format!("closed today: {}", zone.name)).changed() {
            if closed {
                state.next_low.params.closed_zones.insert(zone.uid);
            } else {
                state.next_low.params.closed_zones.remove(&zone.uid);
            }
        }
    }
    for permission in shown.book.permissions().values().filter(|p| p.beach == beach.uid) {
        let hours = permission
            .hours
            .map_or("at any hour".to_owned(), |(a, b)| format!("from {} to {}", a.strftime("%H:%M"), b.strftime("%H:%M")));
        ui.label(soft(ui, format!("{} allows searching {hours}.", permission.name)).size(13.0));
    }
}
