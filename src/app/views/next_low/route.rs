//! The route on the sheet: when to turn back, block by block, what if, and its files.

use std::path::PathBuf;
use std::time::Duration;

use egui::{CollapsingHeader, Id, TextEdit, Ui, UiBuilder};

use jiff::{SignedDuration, Timestamp};

use super::{lows, route_beside, route_set};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::command::Command;
use crate::app::state::command::PickFor;
use crate::app::state::next_low::{Stage, When};
use crate::app::widgets::controls::{card, heading, warning, while_fresh};
use crate::app::widgets::theme::{self, palette, soft, strong};
use crate::query::drawing::RouteDrawing;
use crate::query::{Given, LowsQuestion, NotYet, RouteQuestion};
use crate::route::Route;
use crate::share::{self, About, HandedOut};
use crate::tide::whole;

/// The route with what it is planned with, and the work under way: its times first, what to mind, then all else.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(low) = state.next_low.low else { return };
    heading(ui, &format!("Route for the low of {}", shown.time(low, "%a %-d %b, %H:%M")));
    let answer = shown.answers.answer::<RouteQuestion>();
    // Where what it rests on is not to be had, nothing is being looked for.
    let without = match shown.unplanned {
        Some(NotYet::Failed(why)) => Some(why.sentence.as_str()),
        Some(NotYet::CalledOff) => Some("the reading it rests on was called off"),
        Some(NotYet::Waiting) | None => None,
    };
    if let Some(why) = answer.failure().or(without) {
        let why = why.to_owned();
        if without.is_none() {
            progress(ui, shown, state);
        }
        if another_low(ui, state) {
            return;
        }
        card(ui, palette(ui.ctx()).danger, false, "No route", |ui| {
            ui.label(strong("No route"));
            ui.label(sentence(&why));
        });
        if ui.button("Plan again").clicked() {
            state.commands.push(Command::PlanAgain);
        }
        super::turn_back(ui);
        super::minded(ui, shown, state);
        return settings(ui, shown, state, true);
    }
    let (current, [high, rest_high]) = (state.next_low.current_route(shown), state.next_low.highs);
    // Nothing pushes the times off a small sheet: what is pressed and what else is said stands under them.
    if current.is_none() {
        progress(ui, shown, state);
        super::turn_back(ui);
    }
    let times = |ui: &mut Ui, (routed, stage): (Given<RouteDrawing>, Stage)| {
        times(ui, shown, state, routed.route());
        match stage {
            Stage::Done => drop(state.next_low.planned.insert(low, routed.ask().clone())),
            Stage::SoFar => {
                ui.label(soft(ui, "the best so far; still looking").size(13.0));
                progress(ui, shown, state);
            }
        }
    };
    state.next_low.highs[0] = while_fresh(ui, high, current.clone(), times, "No route is known yet for what is set now.");
    if another_low(ui, state) {
        return;
    }
    super::minded(ui, shown, state);
    settings(ui, shown, state, false);
    let rest = |ui: &mut Ui, (routed, stage): (Given<RouteDrawing>, Stage)| rest(ui, shown, state, &routed, stage);
    state.next_low.highs[1] = while_fresh(ui, rest_high, current, rest, "");
}

/// The way back to the list of lows; whether it was taken.
fn another_low(ui: &mut Ui, state: &mut State) -> bool {
    let button = ui.small_button("Choose another low").on_hover_text("Back to the coming lows; this plan is kept for its own");
    if button.clicked() {
        state.next_low.low = None;
        state.sheet_to_top = true;
    }
    button.clicked()
}

/// What the route is planned with, folded unless there is none.
fn settings(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, open: bool) {
    route_set::under_way(ui, shown, state);
    CollapsingHeader::new("How it is planned").id_salt(("how it is planned", open)).default_open(open).show(ui, |ui| {
        if !state.read.filter.is_open() {
            ui.label(soft(ui, "What ground is worth is taken from the reading as it is filtered on the sheet Read.").size(13.0));
        }
        // What is set here changes what stands above: a field keeps the keyboard all the same.
        ui.scope_builder(UiBuilder::new().scope_id(Id::unique("how a route is planned")), |ui| route_set::show(ui, shown, state));
    });
}

fn progress(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let answer = shown.answers.answer::<RouteQuestion>();
    if answer.not_yet() != Some(&NotYet::Waiting) {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(soft(ui, "looking for the best way ..."));
        if answer.best_so_far().is_some() && ui.button("Take this one").on_hover_text("Ends the search").clicked() {
            state.commands.push(Command::TakeRoute);
        }
        if ui.button("Call it off").clicked() {
            state.commands.push(Command::StopRoute);
        }
    });
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), chars.as_str().trim_end_matches('.')))
}

/// What the clock has overtaken of a route: nobody can set out in the past, and the finds expected and the order of
/// the blocks rest on it.
fn past(shown: &FrameContext<'_>, route: &Route) -> Option<String> {
    let now = shown.time(shown.now, "%H:%M");
    let gone = |what: &str| Some(format!("{what} is past: it is {now}. Plan anew from where you are, or choose another low."));
    if route.back <= shown.now {
        gone("This outing")
    } else if route.turn_back <= shown.now {
        gone("The time by which the first block is to be left")
    } else if route.depart <= shown.now {
        gone("The time to set out")
    } else {
        None
    }
}

/// When to be off the sand, when to turn back, and what to mind on the way.
fn times(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, route: &Route) {
    let p = palette(ui.ctx());
    let clock = shown.route_clock(route);
    let hour = |t| clock.hour(t);
    let off = if route.not_off.is_some() { "Back" } else { "Off the sand" };
    let off = format!("{off} by {}", hour(route.off_sand_by()));
    let past = past(shown, route);
    // Whoever has not set out must not take it for a plan to follow; whoever is out needs its times all the same.
    let name = if past.is_some() { format!("Set out by {} - past", hour(route.depart)) } else { off.clone() };
    let first = match route.first_to_leave() {
        Some((n, by)) => format!("First to be left: block {} by {}", n + 1, hour(by)),
        None => "First to be left: no block before that".to_owned(),
    };
    let response = card(ui, p.danger, false, &name, |ui| {
        // Nobody moves the mouse, and the hour comes all the same.
        let coming = [route.depart, route.turn_back, route.back].into_iter().find(|t| *t > shown.now);
        if let Some(wait) = coming.and_then(|t| Duration::try_from(t.duration_since(shown.now)).ok()) {
            ui.ctx().request_repaint_after(wait.min(Duration::from_secs(60)));
        }
        ui.label(egui::RichText::new(&name).font(theme::bold_font(fitting(ui, &name, 30.0))).color(p.ink));
        if past.is_some() {
            ui.label(strong(format!("{off}, for who is out on it.")));
        }
        ui.label(strong(format!("{first}. Turn back then.")));
        if let Some(past) = &past {
            warning(ui, past);
        }
        if let Some(caution) = clock.caution() {
            warning(ui, &caution);
        }
        if let Some(light) = shown.beach.map(|b| route.end_light(b.origin, &clock)) {
            if light.is_near {
                warning(ui, &light.said);
            } else {
                ui.label(light.said);
            }
        }
        super::turn_back(ui);
        if let Some(not_off) = &route.not_off {
            warning(ui, &not_off.said(hour));
        } else {
            ui.label(format!("Way off: {}. Every block has its own time below.", route.to.name));
        }
        if let Some(beach) = shown.beach {
            ui.label(format!("Tell someone before you go. Emergency {}.", share::emergency_numbers(beach)));
        }
        ui.label(format!("Sea: {}.", route.sea.sea_said()));
        ui.label(format!(
            "Set out {} from {}; out by {} at {}.",
            hour(route.depart),
            route.from.name,
            hour(route.back),
            route.to.name
        ));
        let (least, most) = route.margins.sum_m();
        ui.label(
            soft(
                ui,
                format!(
                    "About {:.0} finds expected on {:.0} m² ({}). Kept between sand and water: {least:.2} to {most:.2} m; on every way out: {} min. \
                     Checked apart at {} moments; the longest way out takes {:.0} min.",
                    route.finds,
                    route.swept_m2,
                    route.range_said(),
                    route.margins.time_min,
                    route.checked.moments,
                    (route.checked.longest_out_s / 60.0).ceil()
                ),
            )
            .size(13.0),
        );
    });
    if response.on_hover_text("Show this moment").clicked() && state.next_low.time_is_free() {
        state.go_to(route.turn_back);
    }
    if past.is_some() {
        instead(ui, shown, state, route);
    }
    cautions(ui, &route.cautions);
}

/// The largest size, up to `most`, at which words stand in one line; never too small to read.
fn fitting(ui: &Ui, text: &str, most: f32) -> f32 {
    let wide = ui.painter().layout_no_wrap(text.to_owned(), theme::bold_font(most), palette(ui.ctx()).ink).size().x;
    (most * ui.available_width() / wide.max(1.0)).floor().clamp(17.0, most)
}

/// Moments at which one sets out anew are so far apart, and the first is at least so far ahead, seconds.
const READY_S: i64 = 300;

/// What can be planned in place of a route that the clock has overtaken.
fn instead(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, route: &Route) {
    let ready = (shown.now.as_second() + 2 * READY_S - 1).div_euclid(READY_S) * READY_S;
    let anew = Timestamp::from_second(ready).ok().filter(|at| *at < route.back);
    let answer = shown.answers.answer::<LowsQuestion>();
    let after = state.next_low.low.max(Some(shown.now)).and_then(|low| low.checked_add(SignedDuration::from_secs(1)).ok());
    let next = answer.fresh().zip(after).and_then(|(lows, after)| Some(lows::coming(lows, after)?.time));
    ui.horizontal_wrapped(|ui| {
        if let Some(at) = anew {
            let name = format!("Plan from {} on", shown.time(at, "%H:%M"));
            if ui.button(strong(name)).on_hover_text("For this low, setting out no earlier than that").clicked() {
                state.next_low.when = When::At(at);
            }
        }
        if let Some(next) = next
            && ui.button(format!("Plan the next low, {}", shown.time(next, "%a %-d %b, %H:%M"))).clicked()
        {
            state.plan_at(next);
        }
    });
}

/// Its files, its blocks, and what else is told of it.
fn rest(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, routed: &RouteDrawing, stage: Stage) {
    let route = routed.route();
    if stage == Stage::Done {
        files(ui, state);
    }
    blocks(ui, shown, state, route);
    route_beside::show(ui, shown, state, routed);
    route_beside::what_if(ui, shown, route);
    // How far what was forecast came true, beside what is now.
    if let Some(forecasts) = shown.read().and_then(|(read, _)| read.reading().forecasts.as_ref()) {
        ui.label(soft(ui, forecasts.sentence()).size(13.0));
    }
    if let Some(setting) = shown.setting() {
        // When it was planned is now, the book is the one that is open, and what is doubted stands above.
        let told = [About::Clock, About::Tide, About::Sea, About::Permission, About::Confirmed];
        let all = share::stands_on(route, setting, &HandedOut::now(shown.now, None));
        folded(ui, "What it stands on", |ui| {
            for line in all.iter().filter(|s| told.contains(&s.about)) {
                ui.label(soft(ui, line.said.as_str()).size(13.0));
            }
        });
    }
    folded(ui, &format!("{} things taken for granted", route.assumptions.len()), |ui| {
        for line in &route.assumptions {
            ui.label(soft(ui, line.as_str()).size(13.0));
        }
    });
}

/// Cautions that stand open; the rest unfold.
const OPEN: usize = 4;

/// What to mind on the way, the gravest first, above the list of blocks.
fn cautions(ui: &mut Ui, all: &[String]) {
    for caution in all.iter().take(OPEN) {
        warning(ui, caution);
    }
    if all.len() > OPEN {
        folded(ui, &format!("{} more cautions", all.len() - OPEN), |ui| all.iter().skip(OPEN).for_each(|c| warning(ui, c)));
    }
}

/// Notes under a line that unfolds.
fn folded(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    CollapsingHeader::new(name).id_salt(("route", name.split_once(' ').map(|(_, rest)| rest))).show(ui, contents);
}

fn blocks(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, route: &Route) {
    let p = palette(ui.ctx());
    let clock = shown.route_clock(route);
    let hour = |t| clock.hour(t);
    heading(ui, "Blocks");
    picked_outside(ui, state, route);
    for (n, v) in route.visits.iter().enumerate() {
        let name = format!("Block {}, {} to {}", n + 1, hour(v.begin), hour(v.leave));
        let here = state.next_low.block == Some(v.block) || (state.clock.at >= v.begin && state.clock.at < v.leave);
        let pinned = state.next_low.params.pinned.contains(&v.block);
        let response = card(ui, p.accent, here, &name, |ui| {
            ui.label(strong(format!("{name}   gone by {}{}", hour(v.leave_by), if pinned { "   kept in" } else { "" })));
            let figures = format!(
                "{:.0} m along, {:.0} m across; {} lanes; about {:.1} finds ({})",
                whole(v.along_m),
                whole(v.across_m),
                v.lanes.len(),
                v.finds,
                v.range_said()
            );
            ui.label(soft(ui, figures).size(13.0));
        });
        if response.on_hover_text("Show this moment").clicked() {
            state.next_low.block = Some(v.block);
            if state.next_low.time_is_free() {
                state.go_to(v.begin);
            }
        }
        ui.horizontal(|ui| {
            if ui.small_button(format!("Leave out block {}", n + 1)).clicked() {
                state.next_low.leave_out(v.block);
            }
            let label = if pinned { format!("Let go of block {}", n + 1) } else { format!("Keep in block {}", n + 1) };
            if ui.small_button(label).clicked() {
                state.next_low.keep_in(v.block);
            }
        });
    }
}

/// The block picked on Plan, when the route leaves it aside.
fn picked_outside(ui: &mut Ui, state: &mut State, route: &Route) {
    let Some(block) = state.next_low.block.filter(|b| route.visits.iter().all(|v| v.block != *b)) else {
        ui.label(soft(ui, "Click a block on Plan to pick it; K keeps it in, X leaves it out.").size(13.0));
        return;
    };
    let p = palette(ui.ctx());
    let ground = route.ground.iter().find(|g| g.block == block);
    card(ui, p.picked, true, "The block picked on Plan", |ui| {
        ui.label(strong("The block picked on Plan"));
        match ground {
            Some(g) => ui.label(format!("About {:.1} finds expected ({}); not on the route", g.finds, g.range_said())),
            None => ui.label("left out, or it cannot be searched at this low"),
        };
    });
    ui.horizontal(|ui| {
        let view = &mut state.next_low;
        let pinned = view.params.pinned.contains(&block);
        if ui.small_button(if pinned { "Let go of it" } else { "Keep it in" }).clicked() {
            view.keep_in(block);
        }
        let excluded = view.params.excluded.contains(&block);
        if ui.small_button(if excluded { "Take it back" } else { "Leave it out" }).clicked() {
            view.leave_out(block);
        }
    });
}

fn files(ui: &mut Ui, state: &mut State) {
    heading(ui, "Take it along");
    ui.label(soft(ui, "The card as one HTML page to print, the route as GPX and GeoJSON.").size(13.0));
    let label = ui.label("Folder for the route");
    ui.add(TextEdit::singleline(&mut state.next_low.folder).desired_width(ui.available_width() - 20.0)).labelled_by(label.id);
    ui.horizontal(|ui| {
        let typed = !state.next_low.folder.trim().is_empty();
        if ui.add_enabled(typed, egui::Button::new(strong("Write the route"))).clicked() {
            state.commands.push(Command::WriteRoute(PathBuf::from(state.next_low.folder.trim())));
        }
        if ui.button("Choose a folder ...").on_hover_text("With the system's own dialog; writes at once").clicked() {
            state.commands.push(Command::Pick(PickFor::Route));
        }
    });
}
