//! Plan: the beach from above, the shore level across the screen, land at the top.

pub(crate) mod camera;
mod furniture;
mod ground;
mod hand;
mod marks;
mod route;
mod shade;
mod verdicts;

use std::sync::Arc;

use egui::{Rect, Role, Sense, Ui, UiBuilder, WidgetInfo, vec2};

pub use camera::Camera;
pub(crate) use camera::Look;
pub(in crate::app) use furniture::frame;
pub(in crate::app) use ground::sand_colour;
pub(in crate::app) use marks::paint_mark;

use camera::between;

use crate::app::derived::{Both, GroundShown, Land, Patch};
use crate::app::item::Item;
use crate::app::state::Lay;
use crate::app::state::Shown;
use crate::app::widgets::controls::{choice, switch};
use crate::app::widgets::theme::{self, palette};
use crate::app::{FOOT, HEAD, State};

/// A straightened beach is drawn at most so many times larger across than along.
const MOST_STRETCH: f64 = 5.0;

/// What Plan shows and from where.
#[derive(Debug, Clone)]
pub(crate) struct PlanView {
    pub(crate) lay: Lay,
    /// One for each lay; `None` until the beach was fitted into it.
    pub(crate) cameras: [Option<Camera>; 2],
    /// The size of the canvas for which each camera was fitted; `None` once it was moved by hand.
    fitted: [Option<egui::Vec2>; 2],
    /// Where the section is taken, metres along; the middle of the beach until it is moved.
    pub(crate) along_m: Option<f64>,
    pub(crate) tracks: bool,
    pub(crate) zones: bool,
    pub(crate) finds: bool,
    /// Whether what was read is drawn.
    pub(crate) verdicts: bool,
    /// What is shown of the ground itself.
    pub(crate) ground: GroundShown,
    /// Corner where a box-pick began.
    pub(crate) box_from: Option<egui::Pos2>,
    /// Whether the section's line is being dragged.
    pub(crate) drags_line: bool,
    /// The canvas as it was last laid out.
    pub(crate) canvas: Option<Rect>,
    water: WaterCache,
    meshes: ground::MeshCache,
    shade: shade::ShadeCache,
}

impl Default for PlanView {
    fn default() -> Self {
        Self {
            lay: Lay::default(),
            cameras: [None; 2],
            fitted: [None; 2],
            along_m: None,
            tracks: true,
            zones: true,
            finds: true,
            verdicts: true,
            ground: GroundShown::default(),
            box_from: None,
            drags_line: false,
            canvas: None,
            water: WaterCache::default(),
            meshes: ground::MeshCache::default(),
            shade: shade::ShadeCache::default(),
        }
    }
}

/// The water drawn last, by the land and the level it was cut from.
#[derive(Debug, Clone, Default)]
struct WaterCache {
    land: usize,
    level_mm: i64,
    cover: Arc<Patch>,
    edge: Arc<Vec<Vec<Both>>>,
}

impl WaterCache {
    fn cut(&mut self, land: &Arc<Land>, land_m: f64) {
        let key = (Arc::as_ptr(land) as usize, (land_m * 1000.0).round() as i64);
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

impl PlanView {
    /// Which of the two coordinates of a place counts.
    pub(crate) fn lay_index(&self) -> usize {
        match self.lay {
            Lay::AsItLies => 0,
            Lay::Straight => 1,
        }
    }

    /// The camera of the present lay.
    pub(crate) fn camera(&self) -> Camera {
        self.cameras[self.lay_index()].unwrap_or_default()
    }

    /// The camera of the present lay, to be moved.
    pub(crate) fn camera_mut(&mut self) -> &mut Camera {
        let lay = self.lay_index();
        self.fitted[lay] = None;
        self.cameras[lay].get_or_insert_default()
    }

    /// The look onto the canvas as it was last laid out.
    pub(crate) fn look(&self) -> Option<Look> {
        Some(self.camera().onto(self.canvas?))
    }

    /// Shows the whole beach again at the next frame.
    pub(crate) fn fit(&mut self) {
        let lay = self.lay_index();
        self.cameras[lay] = None;
    }

    /// Metres along at which the section is taken.
    pub(crate) fn section_along_m(&self, land: &Land) -> Option<f64> {
        let shore = land.placing.shore()?;
        let (low, high) = shore.along_range_m();
        Some(self.along_m.unwrap_or((low + high) / 2.0).clamp(low, high))
    }
}

/// The whole view: its controls, its canvas, its legend.
pub(crate) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    let whole = ui.available_rect_before_wrap();
    let head = Rect::from_min_size(whole.min, vec2(whole.width(), HEAD));
    let foot = Rect::from_min_max(egui::pos2(whole.left(), whole.bottom() - FOOT), whole.max);
    let canvas = Rect::from_min_max(head.left_bottom(), foot.right_top());
    ui.scope_builder(UiBuilder::new().max_rect(head), |ui| controls(ui, shown, state));
    state.plan.canvas = Some(canvas);
    let response = ui.allocate_rect(canvas, Sense::click_and_drag());
    let name = format!("Plan of {}", shown.beach_name());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    let Some(land) = shown.derived.land.value() else {
        let p = palette(ui.ctx());
        ui.painter().rect_filled(canvas, 0.0, p.unknown);
        furniture::frame(ui, canvas, response.has_focus());
        let said =
            if shown.has_beach() { "laying out the beach ..." } else { "No beach yet. Import your files, or make a beach." };
        ui.painter().text(canvas.center(), egui::Align2::CENTER_CENTER, said, theme::label_font(16.0), p.soft);
        return;
    };
    let land = Arc::clone(land);
    fit_if_asked(shown, state, &land, canvas);
    if !route::steer(ui, &response, shown, state, &land) {
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
    verdicts::under(&painter, &look, shown, state);
    marks::paint(ui, &painter, canvas, &look, shown, state);
    let named = verdicts::over(&painter, &look, shown, state);
    route::paint(&painter, canvas, &look, shown, state);
    furniture::paint(&painter, canvas, &look, shown, state, &land, named);
    if let Some(from) = state.plan.box_from
        && let Some(to) = ui.input(|i| i.pointer.latest_pos())
    {
        let p = palette(ui.ctx());
        let rect = camera::between(from, to).intersect(canvas);
        painter.rect(rect, 0.0, p.accent.gamma_multiply(0.12), egui::Stroke::new(1.0, p.accent), egui::StrokeKind::Inside);
    }
    let pointed = response.hover_pos().and_then(|at| land.placing.to_shore(state.plan.lay_index(), look.spot(at)));
    shade::legend(ui, canvas, shown, state, pointed);
    furniture::frame(ui, canvas, response.has_focus());
    ui.scope_builder(UiBuilder::new().max_rect(foot), furniture::legend);
    if let Some(item) = state.selection.hovered
        && response.hovered()
        && state.plan.box_from.is_none()
    {
        shown.card_at_pointer(&response, item);
    }
}

fn controls(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    ui.horizontal_centered(|ui| {
        ui.label(theme::strong("Plan"));
        ui.add_space(6.0);
        for (lay, label) in [(Lay::AsItLies, "as it lies"), (Lay::Straight, "straight")] {
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
        ui.add_space(8.0);
        if room < WIDE {
            ui.menu_button("shown", |ui| signs(ui, &mut state.plan)).response.on_hover_text("Finds, tracks, zones, verdicts");
        } else {
            signs(ui, &mut state.plan);
        }
        ui.add_space(4.0);
        if ui.add(egui::Button::new("fit").small()).on_hover_text("Show the whole beach (Home)").clicked() {
            state.plan.fit();
        }
        if shown.derived.land.is_busy() || shown.derived.marks.is_busy() || shown.derived.traces.is_busy() {
            ui.label(theme::soft(ui, "working ..."));
        }
    });
}

/// Less room than this over Plan, and the switches of its signs go into a list, points.
const WIDE: f32 = 600.0;
/// Less than this, and so does the choice of ground.
const NARROW: f32 = 390.0;

/// The choice of what is shown of the ground.
fn grounds(ui: &mut Ui, plan: &mut PlanView, narrow: bool) {
    let named = ui.label(theme::soft(ui, "ground"));
    let said = "What Plan shows of the ground itself (G)";
    if narrow {
        let list = egui::ComboBox::from_id_salt("ground").selected_text(plan.ground.label()).width(76.0);
        let list = list.show_ui(ui, |ui| {
            for ground in GroundShown::ALL {
                ui.selectable_value(&mut plan.ground, ground, ground.label());
            }
        });
        list.response.labelled_by(named.id).on_hover_text(said);
    } else {
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
fn fit_if_asked(shown: &Shown<'_>, state: &mut State, land: &Land, canvas: Rect) {
    let lay = state.plan.lay_index();
    // A view that nobody has moved follows the window when its size changes.
    let outgrown = state.plan.fitted[lay].is_some_and(|size| size != canvas.size());
    if state.plan.cameras[lay].is_some() && !outgrown {
        return;
    }
    let Some(marks) = shown.derived.marks.value() else { return };
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    let mut take = |b: &Both| {
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

/// How near the pointer must come to a mark, points.
const REACH: f32 = 9.0;

/// The item under a position of the screen: a mark if one is near, else what lies there.
pub(crate) fn item_at(shown: &Shown<'_>, state: &State, look: &Look, pos: egui::Pos2) -> Option<Item> {
    let lay = state.plan.lay_index();
    let spot = look.spot(pos);
    let (low, high) = look.places(Rect::from_center_size(pos, vec2(2.0, 2.0) * REACH));
    if state.plan.finds
        && let Some(marks) = shown.derived.marks.value()
    {
        let near = marks.within(lay, low, high).into_iter().map(|m| (look.pos(m.at[lay]).distance(pos), m.item));
        if let Some((_, item)) = near.filter(|(d, _)| *d <= REACH).min_by(|a, b| a.0.total_cmp(&b.0)) {
            return Some(item);
        }
    }
    if let Some(item) = verdicts::at(shown, state, look, pos) {
        return Some(item);
    }
    let outlines = shown.derived.outlines.value().filter(|_| state.plan.zones)?;
    let near = |at: &Both| look.pos(at[lay]).distance(pos) < REACH * 1.5;
    if let Some((item, ..)) = outlines.accesses.iter().find(|(_, _, at)| near(at)) {
        return Some(*item);
    }
    let inside = |a: &&crate::app::derived::Area| a.kind != crate::app::derived::AreaKind::Permission && a.fill.holds(lay, spot);
    outlines.areas.iter().rev().find(inside).map(|a| a.item)
}
