//! Verdicts of a reading as cards: what the ground is, how sure that is, and, opened, every figure
//! behind it and what would make it surer.

use std::collections::BTreeSet;

use egui::Ui;

use super::cards::{capital, figures, is_asked, pick_on, quiet, surer, title, to_top};
use super::figures::{band, chance, level, outings, rate, set, share};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::clock::seconds;
use crate::app::widgets::controls::{card, heading};
use crate::app::widgets::terms::Strength;
use crate::app::widgets::theme::{palette, soft, strong};
use crate::query::Item;
use crate::query::drawing::{ReadDrawing, ReadOutline, Span};
use crate::reading::{DropZone, HotSpot, Near, Pattern, ScourLine, ToTell, Verdict, WeightChoice};
use crate::tide::whole;

/// Verdicts shown before the rest is asked for.
const FIRST: usize = 8;

/// Shows the verdicts, the strongest evidence first.
pub(super) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, read: &ReadDrawing) {
    let p = palette(ui.ctx());
    heading(ui, "Verdicts");
    for lacking in &read.reading().not_sought {
        ui.label(soft(ui, set(lacking)).size(13.0));
    }
    if read.reading().scan_runs.is_empty() {
        let why = if read.reading().whole.swept_m2.is_none() {
            "Without tracks nobody knows which ground was covered, so nothing can be told from luck. Import the tracks of your outings: \
             the positions of finds alone mostly show where one walked."
        } else {
            "Not enough ground covered, or not enough finds on it, to tell anything from luck yet."
        };
        quiet(ui, "Not enough ground covered yet", why);
        if let Some(told) = to_tell(state, read) {
            surer(ui, &told.surer);
        }
        return;
    }
    let verdicts = read.verdicts(state.read.weight);
    if verdicts.is_empty() {
        card(ui, p.soft, false, "Nothing here is more than luck", |ui| {
            ui.label(strong("Nothing here is more than luck"));
            ui.label(format!("{}: {}", capital(Strength::None.words()), Strength::None.sentence()));
            if let Some(told) = to_tell(state, read) {
                surer(ui, &told.surer);
            }
        });
    }
    strengths(ui, read, verdicts);
    let most = if state.read.all_verdicts { usize::MAX } else { FIRST };
    for verdict in verdicts.iter().take(most) {
        let Some(outline) = read.outline_of(verdict) else { continue };
        one(ui, shown, state, read, verdict, outline);
    }
    if verdicts.len() > FIRST {
        let said = if state.read.all_verdicts { "fewer verdicts".to_owned() } else { format!("all {} verdicts", verdicts.len()) };
        if ui.link(said).clicked() {
            state.read.all_verdicts = !state.read.all_verdicts;
        }
    }
}

/// What the strengths of those that are listed mean, a sentence each.
fn strengths(ui: &mut Ui, read: &ReadDrawing, verdicts: &[Verdict]) {
    let reading = read.reading();
    let of = |v: &Verdict| match v.told {
        Pattern::ScourLine(n) => reading.scour_lines.get(n).map(|l| l.q),
        Pattern::DropZone(n) | Pattern::HotSpot(n) => reading.hot_spots.get(n).map(|s| s.q),
    };
    let there: BTreeSet<Strength> = verdicts.iter().filter_map(of).map(Strength::of_chance).collect();
    for strength in there {
        let said = format!("{}: {}", capital(strength.words()), strength.sentence());
        ui.label(soft(ui, set(&said)).size(13.0));
    }
}

/// What it takes to tell a place from luck, for the weight that is shown.
fn to_tell<'a>(state: &State, read: &'a ReadDrawing) -> Option<&'a ToTell> {
    read.reading().to_tell.iter().find(|t| t.of == state.read.weight)
}

fn one(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, read: &ReadDrawing, verdict: &Verdict, outline: &ReadOutline) {
    let p = palette(ui.ctx());
    let edge = if matches!(verdict.told, Pattern::ScourLine(_)) { p.accent } else { p.cluster };
    let open = state.selection.holds(outline.item) || verdict.also.iter().any(|n| state.selection.holds(Item::HotSpot(*n)));
    let reading = &read.reading();
    let response = card(ui, edge, open, &outline.label, |ui| {
        title(ui, edge, &capital(&outline.label), open);
        match verdict.told {
            Pattern::ScourLine(n) => {
                if let Some(line) = reading.scour_lines.get(n) {
                    scour_line(ui, shown, line, open);
                }
            }
            Pattern::DropZone(n) | Pattern::HotSpot(n) => {
                if let Some(spot) = reading.hot_spots.get(n) {
                    let zone = reading.drop_zones.iter().find(|z| spot.of == WeightChoice::All && z.hot_spot == spot.number);
                    hot_spot(ui, shown, spot, zone, open);
                }
            }
        }
        if open {
            behind(ui, shown, outline);
            also(ui, read, verdict);
        }
    });
    let was = state.selection.holds(outline.item);
    if is_asked(state.read.part.as_deref(), &outline.label) {
        to_top(&response);
        state.selection.only(outline.item);
    }
    pick_on(state, &response, outline.item);
    if state.selection.holds(outline.item) != was {
        if was { let_go(state) } else { bring_into_view(shown, state, outline) }
    }
    ui.add_space(1.0);
}

/// Puts Section through a verdict and widens Time to the outings behind it, if they are out of view.
fn bring_into_view(shown: &FrameContext<'_>, state: &mut State, outline: &ReadOutline) {
    let at = shown.land().and_then(|(land, _)| state.plan.section_along_m(land));
    if at.is_some_and(|m| outline.across_at(m).is_none()) && outline.along_m.0.is_finite() {
        state.plan.along_m = Some(0.5 * (outline.along_m.0 + outline.along_m.1));
    }
    let spans = || outline.outings.iter().filter_map(|u| shown.book.outings().get(u));
    let (from_s, to_s) =
        spans().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), o| (a.min(seconds(o.start)), b.max(seconds(o.end))));
    let span = state.time.span;
    if from_s.is_finite() && !spans().any(|o| seconds(o.start) < span.to_s && seconds(o.end) > span.from_s) {
        state.read.time_before.get_or_insert(span);
        let room = 0.04 * (to_s - from_s).max(86_400.0);
        state.time.span = Span { from_s: from_s - room, to_s: to_s + room };
    }
}

/// Time goes back to what it showed before a verdict was looked at.
fn let_go(state: &mut State) {
    if let Some(span) = state.read.time_before.take() {
        state.time.span = span;
    }
}

fn scour_line(ui: &mut Ui, shown: &FrameContext<'_>, s: &ScourLine, open: bool) {
    let place = s.band.as_ref().map_or_else(String::new, |b| format!(", {}", band(b)));
    let keeps = s.level.map_or_else(
        || format!("{:.0} to {:.0} m from the baseline, as hardly any level is known", s.across.from_m, s.across.to_m),
        |l| level(shown, l),
    );
    ui.label(format!("{}: {keeps}{place}", capital(Strength::of_chance(s.q).words())));
    if let Some(since) = &s.since {
        ui.label(format!("Since {}: of the outings from then on", since.storm));
    }
    let times = if s.expected_heavy > 0.0 {
        format!(": {:.1} times as many", s.counts.heavy as f64 / s.expected_heavy)
    } else {
        String::new()
    };
    ui.label(format!("{} heavy finds where the searching done would give {:.0}{times}", s.counts.heavy, s.expected_heavy));
    if !open {
        return;
    }
    let rows = [
        ("where", s.place.clone()),
        ("along", format!("{:.0} to {:.0} m, {:.0} m long", s.from_along_m, s.to_along_m, s.length_m)),
        ("by luck", format!("{}, all scans allowed for ({} by itself)", chance(s.q), chance(s.p))),
        ("heavy", s.rate_heavy.map_or_else(String::new, rate)),
        ("share heavy", share(s.heavy_share, s.heavy_share_elsewhere, s.shares_test.two_sided)),
        ("finds", format!("{} heavy, {} light, {} in all", s.counts.heavy, s.counts.light, s.counts.finds)),
        ("log likelihood", format!("{:.1} over even ground", s.log_likelihood_ratio)),
    ];
    figures(ui, ("scour line", s.number), &rows);
    super::shares::moved(ui, shown, s.number, &s.states);
    surer(ui, &s.surer);
}

fn hot_spot(ui: &mut Ui, shown: &FrameContext<'_>, s: &HotSpot, zone: Option<&DropZone>, open: bool) {
    let of = match s.of {
        WeightChoice::All => "",
        WeightChoice::Heavy => "heavy ",
        WeightChoice::Light => "light ",
    };
    let place = s.band.as_ref().map_or_else(String::new, |b| format!(", {}", band(b)));
    ui.label(format!(
        "{}: {:.0} × {:.0} m{place}",
        capital(Strength::of_chance(s.q).words()),
        2.0 * s.half_along_m,
        2.0 * s.half_across_m
    ));
    ui.label(format!("{} {of}finds where the searching done would give {:.0}: {:.1} times as many", s.seen, s.expected, s.ratio));
    if !open {
        return;
    }
    let kinds: Vec<String> = s.kinds.iter().take(4).map(|k| format!("{} {}", k.kind, k.finds)).collect();
    let mut rows = vec![
        ("where", zone.map_or(&s.place, |z| &z.place).clone()),
        ("middle", format!("{:.0} m along, {:.0} m across", whole(s.shore.along_m), whole(s.shore.across_m))),
        ("level", s.level.map_or_else(String::new, |l| level(shown, l))),
        ("by luck", format!("{}, all scans allowed for ({} by itself)", chance(s.q), chance(s.p))),
        ("rate", s.rate.map_or_else(String::new, rate)),
        ("kinds", kinds.join(", ")),
        ("weights", format!("{} heavy, {} light", s.counts.heavy, s.counts.light)),
    ];
    if let Some(z) = zone {
        // Of one thing that is near twice, as a path at both its ends, the nearer is told.
        let named: BTreeSet<&str> = z.near.iter().map(|n| n.name.as_str()).collect();
        let mut near: Vec<&Near> =
            named.iter().filter_map(|name| z.near.iter().filter(|n| n.name == *name).min_by(by_distance)).collect();
        near.sort_by(by_distance);
        let near: Vec<String> = near.iter().take(3).map(|n| format!("{:.0} m from {}", n.distance_m, n.name)).collect();
        rows.push((
            "share heavy",
            z.heavy_share.map_or_else(String::new, |h| share(h, z.heavy_share_elsewhere, z.shares_test.two_sided)),
        ));
        rows.push(("near", near.join(", ")));
        let beside: Vec<String> = z.together_with.iter().map(|n| format!("hot spot {n}")).collect();
        let beside =
            if beside.is_empty() { String::new() } else { format!("{}: one place or two, told together", beside.join(", ")) };
        rows.push(("against it", beside));
        let lasted = match z.storms {
            0 => String::new(),
            _ if z.storms_outlasted == 0 => {
                format!(
                    "none of {} yet; {:.1} finds were to be expected since, for all that was searched",
                    z.storms, z.expected_after
                )
            }
            storms => format!("outlasted {} of {storms}", z.storms_outlasted),
        };
        rows.push(("storms", lasted));
        rows.extend(super::shares::habit(&z.habit));
    }
    let second = if s.gi_star > 1.96 { "supports it" } else { "does not support it" };
    rows.push(("second opinion", format!("Gi* {:.1}: {second}", s.gi_star)));
    rows.push(("log likelihood", format!("{:.1} over even ground", s.log_likelihood_ratio)));
    figures(ui, ("hot spot", s.number + 1000 * (s.of as usize)), &rows);
    surer(ui, zone.map_or(&s.surer, |z| &z.surer));
}

fn by_distance(a: &&Near, b: &&Near) -> std::cmp::Ordering {
    a.distance_m.total_cmp(&b.distance_m)
}

/// The outings and storms behind it: the same that Time lights.
fn behind(ui: &mut Ui, shown: &FrameContext<'_>, outline: &ReadOutline) {
    let starts = || outline.outings.iter().filter_map(|u| shown.book.outings().get(u)).map(|o| o.start);
    let mut said = outings(outline.outings.len());
    if let (Some(first), Some(last)) = (starts().min(), starts().max()) {
        said += &format!(", {} to {}", shown.time(first, "%-d %b %Y"), shown.time(last, "%-d %b %Y"));
    }
    let storms: Vec<&str> = outline.storms.iter().filter_map(|u| shown.book.storms().get(u)).map(|s| s.name.as_str()).collect();
    let mut storms = storms;
    storms.sort_unstable();
    let storms = if storms.is_empty() { "no storm in the sixty days before".to_owned() } else { storms.join(", ") };
    ui.add_space(2.0);
    ui.label(strong("Behind it").size(13.0));
    ui.label(egui::RichText::new(format!("{}; {storms}. Time shows them.", capital(&said))).size(13.5));
}

/// The hot spots that the same ground also raised.
fn also(ui: &mut Ui, read: &ReadDrawing, verdict: &Verdict) {
    let names: Vec<&str> = verdict.also.iter().filter_map(|n| read.spots.get(*n)).map(|o| o.label.as_str()).collect();
    if !names.is_empty() {
        ui.label(soft(ui, format!("The same ground also shows as {}.", names.join(", "))).size(13.0));
    }
}
