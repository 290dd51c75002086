//! Which finds and outings the reading takes: said in words, changed by hand, cleared at once.

use egui::{ComboBox, DragValue, TextEdit, Ui};

use super::figures::whole;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::read::ReadSettings;
use crate::app::widgets::controls::{choice, switch};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::theme::{palette, soft, strong};
use crate::book::{Beach, Edit};
use crate::effort;
use crate::query::KindsQuestion;
use crate::query::drawing::ReadDrawing;
use crate::reading::{ClusterBy, Filter, Season, WeightChoice};

/// A filter in words together with the weight that is shown.
fn words(shown: &FrameContext<'_>, beach: &Beach, filter: &Filter, weight: WeightChoice) -> Vec<String> {
    let weight = Some(weight).filter(|_| weight != WeightChoice::All);
    Filter { weight, ..filter.clone() }.words(shown.book, beach)
}

/// The line above the verdicts: what the reading below was made of.
pub(super) fn said(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State, read: Option<&ReadDrawing>) {
    let Some(beach) = shown.beach else { return };
    let filter = read.map_or(&state.read.filter, |r| &r.read.filter);
    let said = words(shown, beach, filter, state.read.weight);
    ui.horizontal_wrapped(|ui| {
        if said.is_empty() {
            ui.label(soft(ui, "every find, every outing"));
        } else {
            ui.label(strong(format!("Read of: {}", said.join("; "))).color(palette(ui.ctx()).accent));
        }
        let open = state.read.choosing;
        if ui
            .small_button(if open { "done choosing" } else { "choose ..." })
            .on_hover_text("Kind, weight, dates, storm, set-up, season; how clusters are made; what counts as searched")
            .clicked()
        {
            state.read.choosing = !open;
        }
        let asked = !state.read.filter.is_open() || state.read.weight != WeightChoice::All;
        if asked && ui.small_button("clear").on_hover_text("Every find and every outing again").clicked() {
            state.read.clear_filter();
            state.selection.drop_reading();
        }
    });
    if let Some(others) = read.map(|r| r.taken().of_others).filter(|n| *n > 0) {
        ui.label(soft(ui, format!("{others} finds of other people are kept apart and not read")).size(13.0));
    }
    if let Some(read) = read.filter(|r| !r.read.filter.is_open()) {
        let taken = &read.taken();
        let mut line = format!(
            "{} of {} finds, {} of {} outings",
            whole(taken.finds.0 as f64),
            whole(taken.finds.1 as f64),
            taken.outings.0,
            taken.outings.1
        );
        if taken.undated > 0 {
            line += &format!("; {} finds or tracks of no known outing or date are left out", taken.undated);
        }
        ui.label(soft(ui, line).size(13.0));
    }
}

/// The choices themselves.
pub(super) fn choices(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let Some(beach) = shown.beach else { return };
    let before = (state.read.filter.clone(), state.read.weight);
    let kept = ReadSettings::kept_with(beach);
    let mut set = state.read.draft.take().unwrap_or_else(|| kept.clone());
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        weights(ui, state);
        kinds(ui, shown, state);
        dates(ui, state);
        seasons(ui, beach, state);
        storms(ui, shown, beach, state);
        setups(ui, shown, state);
        clusters(ui, &mut set, &mut state.read.radius_m);
        ground(ui, &mut set.effort);
        evidence(ui, &mut set);
    });
    ui.separator();
    if (&before.0, before.1) != (&state.read.filter, state.read.weight) {
        state.selection.drop_reading();
    }
    if set != kept {
        // One change to the book for one pull at a figure.
        if ui.input(|i| i.pointer.any_down()) {
            state.read.draft = Some(set);
        } else {
            state.selection.drop_reading();
            state.apply(Edit::put(set.put_into(beach)), "how the beach is read");
        }
    }
}

/// Width of the names before the choices, points.
const NAMES: f32 = 58.0;

fn row(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui, egui::Id)) {
    ui.horizontal_wrapped(|ui| {
        let size = egui::vec2(NAMES, 22.0);
        let left = egui::Layout::left_to_right(egui::Align::Center);
        let named = ui.allocate_ui_with_layout(size, left, |ui| {
            ui.set_min_size(size);
            ui.label(soft(ui, name)).id
        });
        contents(ui, named.inner);
    });
}

fn weights(ui: &mut Ui, state: &mut State) {
    row(ui, "weight", |ui, _| {
        for weight in WeightChoice::ALL {
            if choice(ui, state.read.weight == weight, weight.label()).clicked() {
                state.read.weight = weight;
            }
        }
    });
}

fn kinds(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    row(ui, "kind", |ui, named| {
        let chosen = &state.read.filter.kinds;
        let text = match chosen.len() {
            0 => "any".to_owned(),
            1 => chosen.iter().next().map_or_else(String::new, |k| k.label().to_owned()),
            n => format!("{n} kinds"),
        };
        let list = ComboBox::from_id_salt("read kinds").selected_text(text).width(150.0);
        let list = list.close_behavior(egui::PopupCloseBehavior::CloseOnClickOutside);
        let list = list.show_ui(ui, |ui| {
            let kinds = &mut state.read.filter.kinds;
            if ui.selectable_label(kinds.is_empty(), "any").clicked() {
                kinds.clear();
            }
            for (kind, finds) in shown.newest::<KindsQuestion>().map_or(&[][..], |(known, _)| known.here.as_slice()) {
                let mut on = kinds.contains(kind);
                if switch(ui, &mut on, &format!("{} ({finds})", kind.label())).changed() {
                    if on {
                        kinds.insert(kind.clone())
                    } else {
                        kinds.remove(kind)
                    };
                }
            }
        });
        list.response.labelled_by(named);
    });
}

fn dates(ui: &mut Ui, state: &mut State) {
    row(ui, "from", |ui, named| {
        let view = &mut state.read;
        let mut wrong = None;
        let mut field = |ui: &mut Ui, text: &mut String, date: &mut Option<jiff::civil::Date>, named: egui::Id| {
            let edit = TextEdit::singleline(text).desired_width(95.0).hint_text("yyyy-mm-dd");
            let response = ui.add(edit).labelled_by(named).on_hover_text("A day by the beach's calendar; empty for any");
            if response.changed() {
                let typed = text.trim();
                if typed.is_empty() {
                    *date = None;
                } else if let Ok(day) = typed.parse() {
                    *date = Some(day);
                }
            }
            if !response.has_focus() && !text.trim().is_empty() && text.trim().parse::<jiff::civil::Date>().is_err() {
                wrong = Some(format!("\"{}\" is no day such as 2026-01-31", text.trim()));
            }
        };
        field(ui, &mut view.typed.from, &mut view.filter.from, named);
        let to = ui.label(soft(ui, "to")).id;
        field(ui, &mut view.typed.to, &mut view.filter.to, to);
        if let Some(wrong) = wrong {
            ui.label(egui::RichText::new(wrong).size(13.0).color(palette(ui.ctx()).danger));
        }
    });
}

fn seasons(ui: &mut Ui, beach: &Beach, state: &mut State) {
    row(ui, "season", |ui, _| {
        ui.spacing_mut().item_spacing.x = 6.0;
        let chosen = &mut state.read.filter.season;
        if choice(ui, chosen.is_none(), "any season").clicked() {
            *chosen = None;
        }
        for season in Season::ALL {
            let months = season.months(beach.origin.lat_deg());
            if choice(ui, *chosen == Some(season), season.label()).on_hover_text(months).clicked() {
                *chosen = Some(season);
            }
        }
    });
}

fn storms(ui: &mut Ui, shown: &FrameContext<'_>, beach: &Beach, state: &mut State) {
    let storms = shown.book.storms_of(beach.uid);
    if storms.is_empty() {
        return;
    }
    row(ui, "after", |ui, named| {
        let chosen = &mut state.read.filter.after_storm;
        let text = chosen.and_then(|u| shown.book.storms().get(&u)).map_or("any storm or none", |s| s.name.as_str());
        let list = ComboBox::from_id_salt("read storm").selected_text(text).width(190.0).offer(ui, |ui| {
            ui.selectable_value(chosen, None, "any storm or none");
            for storm in &storms {
                let waves = storm.peak().map_or_else(String::new, |p| format!(", waves {:.1} m", p.hs_m));
                ui.selectable_value(chosen, Some(storm.uid), format!("{}{waves}", storm.name));
            }
        });
        list.response.labelled_by(named).on_hover_text("Outings after this storm and before the end of the next");
    });
}

fn setups(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    if shown.book.setups().is_empty() {
        return;
    }
    row(ui, "set-up", |ui, named| {
        let chosen = &mut state.read.filter.setup;
        let text = chosen.and_then(|u| shown.book.setups().get(&u)).map_or("any set-up", |s| s.name.as_str());
        let list = ComboBox::from_id_salt("read set-up").selected_text(text).width(190.0).offer(ui, |ui| {
            ui.selectable_value(chosen, None, "any set-up");
            for setup in shown.book.setups().values() {
                ui.selectable_value(chosen, Some(setup.uid), &setup.name);
            }
        });
        list.response.labelled_by(named);
    });
}

/// What counts as searched, and how wide.
fn ground(ui: &mut Ui, effort: &mut effort::Params) {
    row(ui, "swing", |ui, named| {
        let swing = DragValue::new(&mut effort.swing_m)
            .range(0.0..=5.0)
            .update_while_editing(false)
            .speed(0.02)
            .suffix(" m")
            .max_decimals(2);
        ui.add(swing).labelled_by(named).on_hover_text(
            "Way of the coil's middle from one end of a swing to the other; the ground covered is this and the coil's width",
        );
        let share = ui.label(soft(ui, "covers")).id;
        percent(ui, &mut effort.overlap, 5.0..=100.0).labelled_by(share).on_hover_text(
            "Share of that ground the coil really passes over: all of it where each swing overlaps the one before",
        );
    });
    row(ui, "walking", |ui, named| {
        let speed = DragValue::new(&mut effort.walk_m_per_s)
            .range(0.05..=10.0)
            .update_while_editing(false)
            .speed(0.01)
            .suffix(" m/s")
            .max_decimals(2);
        ui.add(speed).labelled_by(named).on_hover_text("Faster than this is walking, not searching");
        let turning = ui.label(soft(ui, "turning under")).id;
        let turn = DragValue::new(&mut effort.turn_deg)
            .range(1.0..=180.0)
            .update_while_editing(false)
            .speed(0.5)
            .suffix("°")
            .max_decimals(0);
        ui.add(turn).labelled_by(turning).on_hover_text("Who turns by more than this is searching whatever the speed");
    });
}

/// What one pass finds and how well the effort is known.
fn evidence(ui: &mut Ui, set: &mut ReadSettings) {
    row(ui, "a pass", |ui, _| {
        let pass = ui.label(soft(ui, "finds")).id;
        percent(ui, &mut set.per_pass, 1.0..=100.0)
            .labelled_by(pass)
            .on_hover_text("Chance that one pass of the coil finds what lies under it, until the finds themselves tell");
    });
    row(ui, "effort", |ui, _| {
        let known = ui.label(soft(ui, "misjudged by up to")).id;
        percent(ui, &mut set.effort_error, 0.0..=200.0)
            .labelled_by(known)
            .on_hover_text("Nothing is told that this alone could bring about");
    });
}

/// A share, shown and changed in hundredths.
fn percent(ui: &mut Ui, share: &mut f64, range: std::ops::RangeInclusive<f64>) -> egui::Response {
    let mut hundredths = (*share * 1000.0).round() / 10.0;
    let response =
        ui.add(DragValue::new(&mut hundredths).range(range).update_while_editing(false).speed(0.2).suffix(" %").max_decimals(0));
    if response.changed() {
        *share = hundredths / 100.0;
    }
    response
}

/// How clusters are made; part of the choices, as it changes the reading as much.
fn clusters(ui: &mut Ui, set: &mut ReadSettings, radius_m: &mut f64) {
    row(ui, "clusters", |ui, _| {
        ui.spacing_mut().item_spacing.x = 6.0;
        for (by, name, what) in [
            (
                ClusterBy::Dbscan,
                "by one distance",
                "DBSCAN: finds belong together within the same distance everywhere on the beach",
            ),
            (ClusterBy::Hdbscan, "by density", "HDBSCAN*: no distance is set; a loose cluster is seen beside a tight one"),
        ] {
            if choice(ui, set.cluster_by == by, name).on_hover_text(what).clicked() {
                set.cluster_by = by;
            }
        }
    });
    let by = set.cluster_by;
    if by == ClusterBy::Dbscan {
        row(ui, "within", |ui, named| distance(ui, set, radius_m, named));
    }
    row(ui, "at least", |ui, named| {
        let least = DragValue::new(&mut set.least).range(2..=200).speed(0.1);
        ui.add(least).labelled_by(named).on_hover_text(match by {
            ClusterBy::Dbscan => "Finds that make a core",
            ClusterBy::Hdbscan => "Least finds of a cluster",
        });
        ui.label(soft(ui, "finds"));
    });
}

/// The distance within which finds belong together: a fitting one, or one that is set.
fn distance(ui: &mut Ui, set: &mut ReadSettings, radius_m: &mut f64, named: egui::Id) {
    if choice(ui, set.radius_m.is_none(), "a fitting distance").on_hover_text("Taken from how densely the finds lie").clicked() {
        set.radius_m = None;
    }
    let drag = DragValue::new(radius_m).range(1.0..=200.0).speed(0.2).suffix(" m").max_decimals(1);
    let dragged = ui.add(drag).labelled_by(named).on_hover_text("Finds this near to each other belong together");
    if dragged.changed() || (set.radius_m.is_none() && dragged.clicked()) {
        set.radius_m = Some(*radius_m);
    }
}
