//! Plan: the beach from above, the shore level across the screen, land at the top.

mod furniture;
mod ground;
mod hand;
mod marks;
mod placing;
mod pointed;
mod route;
mod safety;
mod shade;
mod steps;
mod verdicts;

use std::sync::Arc;

use egui::{Rect, Role, Sense, Ui, UiBuilder, WidgetInfo, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::{Camera, between};
use crate::app::state::plan_drawn::WaterCache;
use crate::app::state::{PlanShape, PlanView};
use crate::app::widgets::canvas::{self, frame_edge};
use crate::app::widgets::controls::{choice, switch};
use crate::app::widgets::lists::Offer;
use crate::app::widgets::terms::explained;
use crate::app::widgets::theme::{self, palette};
use crate::app::widgets::{item_card, named_marks};
use crate::query::drawing::{DrawnPlace, GroundShown, Land};

/// A straightened beach is drawn at most so many times larger across than along.
const MOST_STRETCH: f64 = 5.0;

impl WaterCache {
    fn cut(&mut self, land: &Land, land_m: f64) {
        let key = (land.serial, (land_m * 1000.0).round() as i64);
        if (self.land, self.level_mm) != key {
            let level = land_m as f32;
            *self = Self {
                land: key.0,
                level_mm: key.1,
                cover: Arc::new(land.relief.strip(f32::NEG_INFINITY, level)),
                edge: Arc::new(land.relief.contour(level)),
            };
        }
    }
}

/// The whole view: its controls, its canvas, its legend.
pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let whole = ui.available_rect_before_wrap();
    let head = Rect::from_min_size(whole.min, vec2(whole.width(), canvas::head(ui.ctx())));
    let foot = Rect::from_min_max(egui::pos2(whole.left(), whole.bottom() - canvas::foot(ui.ctx())), whole.max);
    let canvas = Rect::from_min_max(head.left_bottom(), foot.right_top());
    ui.scope_builder(UiBuilder::new().max_rect(head), |ui| controls(ui, shown, state));
    state.plan.canvas = Some(canvas);
    let response = ui.allocate_rect(canvas, Sense::click_and_drag());
    let name = format!("Plan of {}", shown.beach_name());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    let Some((land, _)) = shown.land() else {
        let p = palette(ui.ctx());
        ui.painter().rect_filled(canvas, 0.0, p.unknown);
        frame_edge(ui, canvas, response.has_focus());
        match shown.not_laid_out() {
            Some(why) => {
                let galley = ui.painter().layout(why, theme::label_font(16.0), p.soft, canvas.width() - 40.0);
                ui.painter().galley(canvas.center() - galley.size() / 2.0, galley, p.soft);
            }
            None => steps::show(ui, canvas, shown, state),
        }
        return;
    };
    let land = land.clone();
    fit_if_asked(shown, state, &land, canvas);
    placing::bring_into_view(shown, state, canvas);
    if !placing::steer(ui, &response, state, &land) && !route::steer(ui, &response, shown, state, &land) {
        hand::steer(ui, &response, shown, state, &land);
    }
    let look = state.plan.camera().onto(canvas);
    let painter = ui.painter().with_clip_rect(canvas);
    if let Some(level) = shown.water_m(state.clock.at).and_then(|w| land.land_m(w)) {
        state.plan.water.cut(&land, level);
    } else {
        state.plan.water = WaterCache::default();
    }
    ground::paint(&painter, canvas, &look, shown, state, &land);
    verdicts::under(&painter, shown, state);
    marks::paint(&painter, canvas, &look, shown, state);
    // What has its own place, whatever is named.
    let scale = furniture::scale_room(&painter, canvas, &look);
    let pointed = response.hover_pos().and_then(|at| land.placing.to_shore(state.plan.lay_index(), look.spot(at)));
    let shades = shade::Legend::lay(&painter, canvas, shown, state, pointed);
    let mut fixed = vec![scale];
    fixed.extend(furniture::north_room(canvas, state.plan.lay_index()));
    fixed.extend(shades.as_ref().map(|legend| legend.rect));
    fixed.extend(route::said_room(&painter, canvas, scale, shown, state));
    let ends = route::marks(&look, shown, state);
    // A block may lie under the mark of an end; a name need not. What warns leaves the blocks their places, and a number
    // without one stands beside its block: neither is lost to the other.
    let around = fixed.iter().chain(&ends).copied();
    let kept: Vec<Rect> = around.clone().chain(route::places_of_numbers(&look, shown, state)).collect();
    let warnings = safety::lay(&painter, canvas, &look, shown, state, kept.into());
    let clear: Vec<Rect> = fixed.iter().copied().chain(warnings.iter().map(|w| w.rect)).collect();
    let numbers = route::numbers(&painter, canvas, &look, shown, state, &clear, &ends);
    let written = numbers.iter().map(|n| n.rect);
    let taken: Arc<[Rect]> = written.chain(around).chain(warnings.iter().map(|w| w.rect)).collect();
    let named = verdicts::over(&painter, shown, state, Arc::clone(&taken), !ends.is_empty());
    route::paint(&painter, canvas, &look, shown, state, &numbers, scale);
    let told = furniture::paint(&painter, canvas, &look, shown, state, &land, Arc::clone(&named));
    warnings.iter().for_each(|w| w.paint_on_ground(&painter));
    state.plan.words.clear();
    let words = taken.iter().filter(|r| !ends.contains(r));
    state.plan.words.extend(words.chain(named.iter().skip(taken.len())).chain(told.names.iter()));
    state.plan.numbers = numbers.iter().map(|n| (n.text.clone(), n.rect)).collect();
    state.plan.levels = Arc::clone(&told.levels);
    state.plan.warned = warnings;
    placing::paint(&painter, canvas, &look, state, &land);
    if let Some(from) = state.plan.box_from
        && let Some(to) = ui.input(|i| i.pointer.latest_pos())
    {
        let p = palette(ui.ctx());
        let rect = between(from, to).intersect(canvas);
        painter.rect(rect, 0.0, p.accent.gamma_multiply(0.12), egui::Stroke::new(1.0, p.accent), egui::StrokeKind::Inside);
    }
    if let Some(legend) = shades {
        legend.show(ui, canvas, shown, state);
    }
    steps::over(ui, canvas, shown, state, &land);
    if let Some((marks, _)) = shown.marks().filter(|_| state.plan.finds) {
        named_marks::show(ui, &response, "Plan", shown, &mut state.selection, || state.plan.crowd.named(marks));
    }
    frame_edge(ui, canvas, response.has_focus());
    ui.scope_builder(UiBuilder::new().max_rect(foot), |ui| {
        let said = shown.setting().map_or(&[][..], |s| s.unsurveyed.as_slice());
        furniture::legend(ui, state.plan.crowd.left_out, (!land.unsurveyed.triangles.is_empty()).then_some(said))
    });
    let over = |at: egui::Pos2| told.levels.iter().find(|(rect, _)| rect.expand(2.0).contains(at)).map(|(_, name)| name.as_str());
    if let Some(meant) = response.hover_pos().and_then(over).and_then(explained) {
        response.on_hover_text_at_pointer(meant);
    } else if let Some(item) = state.selection.hovered
        && response.hovered()
        && state.plan.box_from.is_none()
    {
        item_card::at_pointer(shown, &response, item);
    }
}

fn controls(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    ui.horizontal_centered(|ui| {
        canvas::low_controls(ui);
        ui.label(theme::strong("Plan"));
        ui.add_space(6.0);
        for (lay, label) in [(PlanShape::AsItLies, "as it lies"), (PlanShape::Straight, "straight")] {
            if choice(ui, state.plan.lay == lay, label).clicked() {
                state.plan.lay = lay;
            }
        }
        ui.add_space(8.0);
        let room = ui.available_width();
        let signs = |ui: &mut Ui, plan: &mut PlanView| {
            switch(ui, &mut plan.finds, "finds");
            switch(ui, &mut plan.tracks, "tracks");
            switch(ui, &mut plan.zones, "zones");
            switch(ui, &mut plan.verdicts, "verdicts");
        };
        grounds(ui, &mut state.plan, room < NARROW);
        if room >= NARROW {
            ui.add_space(8.0);
        }
        let fit = |ui: &mut Ui, plan: &mut PlanView| {
            let pressed = ui.add(egui::Button::new("fit").small()).on_hover_text("Show the whole beach (Home)").clicked();
            if pressed {
                plan.fit();
            }
            pressed
        };
        if room < WIDE {
            let contents = |ui: &mut Ui| {
                signs(ui, &mut state.plan);
                // Where there is no room for it in the line it is in the list, rather than cut.
                if room < TIGHT && fit(ui, &mut state.plan) {
                    ui.close();
                }
            };
            ui.menu_button("shown", contents).response.on_hover_text("Finds, tracks, zones, verdicts");
        } else {
            signs(ui, &mut state.plan);
        }
        if room >= TIGHT {
            ui.add_space(4.0);
            fit(ui, &mut state.plan);
        }
        let old = shown.old_drawings();
        if !old.is_empty() {
            let said = format!("Drawn anew after the last change: {}", old.join(", "));
            ui.label(theme::strong("before the last change").color(palette(ui.ctx()).accent)).on_hover_text(said);
        }
    });
}

/// Less room than this over Plan, and the switches of its signs go into a list, points.
const WIDE: f32 = 600.0;
/// Less than this, and so does the choice of ground.
const NARROW: f32 = 390.0;
/// Less than this, and what shows the whole beach is in the list of signs.
const TIGHT: f32 = 175.0;
/// Less than this, and the list of it shows only what is chosen.
const NARROWEST: f32 = 230.0;

/// The choice of what is shown of the ground.
fn grounds(ui: &mut Ui, plan: &mut PlanView, narrow: bool) {
    let said = "What Plan shows of the ground itself (G)";
    if narrow {
        let full = ui.available_width() >= NARROWEST;
        let chosen = if full { format!("ground: {}", plan.ground.label()) } else { plan.ground.label().to_owned() };
        let list = egui::ComboBox::from_id_salt("ground").selected_text(chosen).width(60.0);
        let list = list.offer(ui, |ui| {
            for ground in GroundShown::ALL {
                ui.selectable_value(&mut plan.ground, ground, ground.label());
            }
        });
        list.response.accessible_name("ground").on_hover_text(said);
    } else {
        ui.label(theme::soft(ui, "ground"));
        ui.spacing_mut().item_spacing.x = 6.0;
        for ground in GroundShown::ALL {
            if choice(ui, plan.ground == ground, ground.label()).on_hover_text(said).clicked() {
                plan.ground = ground;
            }
        }
        ui.spacing_mut().item_spacing.x = 8.0;
    }
}

/// Chooses a camera that shows the beach whole when there is none yet.
fn fit_if_asked(shown: &FrameContext<'_>, state: &mut State, land: &Land, canvas: Rect) {
    let lay = state.plan.lay_index();
    // A view that nobody has moved follows the window when its size changes.
    let outgrown = state.plan.fitted[lay].is_some_and(|size| size != canvas.size());
    if state.plan.cameras[lay].is_some() && !outgrown {
        return;
    }
    let Some((marks, _)) = shown.marks() else { return };
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    let mut take = |b: &DrawnPlace| {
        for n in 0..2 {
            low[n] = low[n].min(f64::from(b[lay][n]));
            high[n] = high[n].max(f64::from(b[lay][n]));
        }
    };
    land.baseline.iter().for_each(&mut take);
    land.strips.iter().flat_map(|s| &s.patch.spots).for_each(&mut take);
    if land.relief.is_empty() {
        marks.all.iter().map(|m| &m.at).for_each(&mut take);
    }
    if !low[0].is_finite() {
        (low, high) = ([-200.0, -100.0], [200.0, 100.0]);
    }
    let most = if lay == 1 { MOST_STRETCH } else { 1.0 };
    state.plan.cameras[lay] = Some(Camera::fitting(low, high, canvas.size(), most));
    state.plan.fitted[lay] = Some(canvas.size());
}
