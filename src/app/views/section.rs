//! Section: the sand across the shore, beside Plan and level with it.

use egui::epaint::{Mesh, PathStroke};
use egui::{
    Align2, Event, EventFilter, Key, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::plan_drawn::Seen;
use crate::app::state::section::{Cut, LevelAxis as Axis, SandCut, SectionKey, VerdictsCut};
use crate::app::widgets::canvas::{self, frame_edge, level_words};
use crate::app::widgets::crowd::{Style, left_out_words};
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::terms::explained;
use crate::app::widgets::theme::{self, palette, sand_colour};
use crate::app::widgets::{hatch, item_card, named_marks};
use crate::query::Item;
use crate::query::drawing::Land;
use crate::query::{Age, NotYet, ProfileQuestion};
use crate::shore::{LevelSource, SectionPoint, ShorePoint};

impl Axis {
    fn x(&self, land_m: f64) -> f32 {
        let share = (self.high_m - (land_m + self.shift_m)) / (self.high_m - self.low_m);
        self.rect.left() + share as f32 * self.rect.width()
    }
}

pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) {
    let whole = ui.available_rect_before_wrap();
    let p = palette(ui.ctx());
    ui.expand_to_include_rect(whole);
    let head = Rect::from_min_size(whole.min, vec2(whole.width(), canvas::head(ui.ctx())));
    let foot = Rect::from_min_max(pos2(whole.left(), whole.bottom() - canvas::foot(ui.ctx())), whole.max);
    let canvas = Rect::from_min_max(head.left_bottom(), foot.right_top());
    let land = shown.land().map(|(land, _)| land.clone());
    let along_m = land.as_ref().and_then(|l| state.plan.section_along_m(l));
    ui.scope_builder(UiBuilder::new().max_rect(head), |ui| {
        ui.horizontal_centered(|ui| {
            ui.label(theme::strong("Section"));
            if let (Some(mut along), Some(shore)) = (along_m, land.as_ref().and_then(|l| l.placing.shore())) {
                let (low, high) = shore.along_range_m();
                let drag = egui::DragValue::new(&mut along).range(low..=high).speed(2.0).suffix(" m").max_decimals(0);
                let named = ui.label(theme::soft(ui, "at"));
                if ui.add(drag).labelled_by(named.id).on_hover_text("Metres along the baseline").changed() {
                    state.plan.along_m = Some(along);
                }
                if state.section.crowd.left_out > 0 {
                    ui.label(theme::soft(ui, left_out_words(state.section.crowd.left_out)).size(12.5));
                }
            }
        });
    });
    let response = ui.allocate_rect(canvas, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, name(shown, along_m)));
    ui.painter().rect_filled(canvas, 0.0, p.card);
    let cut = shown.answers.answer::<ProfileQuestion>();
    let profile = cut.newest();
    let look = state.plan.look();
    match (&land, profile, look, along_m) {
        (Some(land), Some((profile, age)), Some(look), Some(along_m)) if profile.len() > 1 => {
            let water_m = shown.water_m(state.clock.at);
            let axis = axis(canvas, land, profile, water_m);
            let painter = ui.painter().with_clip_rect(canvas);
            let seen = Seen { look, lay: state.plan.lay_index() };
            let cut = Cut { land: land.clone(), profile: profile.clone(), along_m, seen, axis };
            state.section.sand.show(&painter, SandCut { cut: cut.clone(), water_m });
            if let Some((read, _)) = shown.read().filter(|_| state.plan.verdicts) {
                let (read, weight, in_light) = (read.clone(), state.read.weight, shown.verdict(&state.selection).map(|o| o.item));
                state.section.verdicts.show(&painter, VerdictsCut { cut, read, weight, in_light });
            }
            let hovered = marks(&painter, &axis, shown, state, &look, response.hover_pos());
            if response.contains_pointer() {
                state.selection.hovered = hovered;
            }
            if let (Some(item), true) = (hovered, response.hovered()) {
                if response.clicked() {
                    state.selection.only(item);
                }
                item_card::at_pointer(shown, &response, item);
            }
            if let Some((marks, _)) = shown.marks() {
                named_marks::show(ui, &response, "Section", shown, &mut state.selection, || state.section.crowd.named(marks));
            }
            keys(ui, &response, shown, state, along_m);
            if response.dragged() {
                let delta = vec2(0.0, response.drag_delta().y);
                state.plan.camera_mut().pan(delta);
            }
            ticks(ui, &axis, foot, land, profile);
            if age == Age::Old || !shown.old_drawings().is_empty() {
                let at = canvas.left_bottom() + vec2(8.0, -6.0);
                theme::halo_text(&painter, at, Align2::LEFT_BOTTOM, "before the last change", theme::bold_font(13.0), p.accent);
            }
        }
        _ => {
            let said = if land.is_none() && shown.has_beach() {
                "laying out the beach ..."
            } else if along_m.is_none() {
                "A section needs a baseline along the back of the beach."
            } else if cut.not_yet() == Some(&NotYet::Waiting) {
                "cutting the section ..."
            } else {
                "The level of the sand is not known here."
            };
            let galley = ui.painter().layout(said.to_owned(), theme::label_font(14.0), p.soft, canvas.width() - 24.0);
            ui.painter().galley(canvas.center() - galley.size() / 2.0, galley, p.soft);
        }
    }
    frame_edge(ui, canvas, response.has_focus());
}

/// How far one press of an arrow moves the cut, metres.
const STEP_M: f64 = 10.0;

/// What the keyboard does here: the cut moves along, and marks are picked one after another.
fn keys(ui: &Ui, response: &egui::Response, shown: &FrameContext<'_>, state: &mut State, along_m: f64) {
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    for event in ui.input(|i| i.filtered_events(&filter)) {
        let Event::Key { key, pressed: true, modifiers, .. } = event else { continue };
        match key {
            Key::ArrowLeft if !modifiers.command => state.plan.along_m = Some(along_m - STEP_M),
            Key::ArrowRight if !modifiers.command => state.plan.along_m = Some(along_m + STEP_M),
            Key::PageDown | Key::PageUp => {
                let Some((marks, _)) = shown.marks() else { return };
                let from = state.selection.lead.and_then(|lead| marks.number(lead));
                if let Some(to) = state.section.crowd.step(from, key == Key::PageDown) {
                    state.selection.only(marks.all[to as usize].item);
                }
            }
            _ => {}
        }
    }
}

fn name(shown: &FrameContext<'_>, along_m: Option<f64>) -> String {
    along_m.map_or_else(
        || format!("Section of {}: not known", shown.beach_name()),
        |along| format!("Section of {} at {:.0} m along", shown.beach_name(), crate::tide::whole(along)),
    )
}

fn axis(rect: Rect, land: &Land, profile: &[SectionPoint], water_m: Option<f64>) -> Axis {
    let shift_m = land.setting.beach.datum_offset_m.unwrap_or(0.0);
    let levels =
        profile.iter().map(|s| s.land_m + shift_m).chain(water_m.filter(|_| land.setting.beach.datum_offset_m.is_some()));
    let levels = levels.chain(land.tide_lines.iter().map(|t| t.tide_m));
    let (low, high) = levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let room = (high - low).max(0.5) * 0.06;
    Axis { rect, high_m: high + room, low_m: low - room, shift_m }
}

impl Cut {
    /// How far down the screen a place of the cut is.
    fn y(&self, across_m: f64) -> f32 {
        let place = self.land.placing.of_shore(ShorePoint::new(self.along_m, across_m));
        self.seen.look.pos(place[self.seen.lay]).y
    }
}

impl Drawing for SandCut {
    type Told = ();

    fn draw(&self, painter: &Painter) {
        sand(painter, &self.cut, self.water_m);
    }
}

fn sand(painter: &Painter, cut: &Cut, water_m: Option<f64>) {
    let (p, axis, land) = (palette(painter.ctx()), &cut.axis, &cut.land);
    let right = axis.rect.right();
    let rows: Vec<(f32, &SectionPoint)> = cut.profile.iter().map(|s| (cut.y(s.across_m), s)).collect();
    let water = water_m.and_then(|w| land.land_m(w));
    let (mut sand, mut wet, mut doubt) = (Mesh::default(), Mesh::default(), Mesh::default());
    for pair in rows.windows(2) {
        let [(ya, a), (yb, b)] = pair else { continue };
        let (xa, xb) = (axis.x(a.land_m), axis.x(b.land_m));
        let colour = sand_colour(p, land.wet_at(a.land_m));
        quad(&mut sand, [pos2(xa, *ya), pos2(right, *ya), pos2(right, *yb), pos2(xb, *yb)], colour);
        if let Some(level) = water.filter(|w| a.land_m < *w && b.land_m < *w) {
            let x = axis.x(level);
            quad(&mut wet, [pos2(x, *ya), pos2(xa, *ya), pos2(xb, *yb), pos2(x, *yb)], p.water);
        }
        let edge = |s: &SectionPoint, sign: f64| axis.x(s.land_m + sign * 1.96 * s.sigma_m);
        let corners = [pos2(edge(a, 1.0), *ya), pos2(edge(a, -1.0), *ya), pos2(edge(b, -1.0), *yb), pos2(edge(b, 1.0), *yb)];
        quad(&mut doubt, corners, p.ink.gamma_multiply(0.22));
    }
    painter.add(Shape::mesh(sand));
    unsurveyed(painter, axis, &rows, p.ink.gamma_multiply(0.45));
    painter.add(Shape::mesh(wet));
    let mut floor = f32::NEG_INFINITY;
    for line in &land.tide_lines {
        let x = axis.x(line.land_m);
        painter.vline(x, axis.rect.y_range(), Stroke::new(0.6, p.tide_line.gamma_multiply(0.5)));
        // The same line as in Plan, straight across.
        if let Some(at) = rows.windows(2).find(|w| w[0].1.land_m >= line.land_m && w[1].1.land_m < line.land_m) {
            let level = egui::remap(line.land_m as f32, at[0].1.land_m as f32..=at[1].1.land_m as f32, at[0].0..=at[1].0);
            painter.hline(axis.rect.x_range(), level, Stroke::new(0.7, p.tide_line.gamma_multiply(0.7)));
            // Names of lines that run close together are pushed apart.
            floor = (level - 1.0).max(floor + 13.0);
            let left = pos2(axis.rect.left() + 5.0, floor);
            theme::halo_text(painter, left, Align2::LEFT_BOTTOM, &line.name, theme::label_font(12.0), p.soft);
        }
    }
    painter.add(Shape::mesh(doubt));
    let line: Vec<Pos2> = rows.iter().map(|(y, s)| pos2(axis.x(s.land_m), *y)).collect();
    painter.add(Shape::line(line, PathStroke::new(1.8, p.ink)));
    if let Some(level) = water {
        let x = axis.x(level);
        painter.vline(x, axis.rect.y_range(), Stroke::new(0.8, p.water_edge));
        // Strong where there is water over the sand.
        for pair in rows.windows(2).filter(|w| w[0].1.land_m < level && w[1].1.land_m < level) {
            painter.vline(x, pair[0].0..=pair[1].0, Stroke::new(2.4, p.water_edge));
        }
    }
}

/// Hatches the sand whose level is a guess, as nobody surveyed it.
fn unsurveyed(painter: &Painter, axis: &Axis, rows: &[(f32, &SectionPoint)], colour: egui::Color32) {
    let (right, root) = (axis.rect.right(), axis.rect.left_top());
    for pair in rows.windows(2) {
        let [(ya, a), (yb, b)] = pair else { continue };
        if a.from != LevelSource::Surveyed || b.from != LevelSource::Surveyed {
            let corners = [pos2(axis.x(a.land_m), *ya), pos2(right, *ya), pos2(right, *yb), pos2(axis.x(b.land_m), *yb)];
            hatch::unsurveyed(painter, &corners, root, Stroke::new(0.8, colour));
        }
    }
}

impl Drawing for VerdictsCut {
    type Told = ();

    fn draw(&self, painter: &Painter) {
        verdicts(painter, self);
    }
}

/// What was read, where the section cuts it: a thick stroke on the sand between its levels or over
/// its width, and a tick for its levels at the foot. The verdict in the light is drawn even where the
/// section passes it by, as the range of level that it keeps.
fn verdicts(painter: &Painter, drawn: &VerdictsCut) {
    let VerdictsCut { cut, read, weight, in_light } = drawn;
    let (p, axis) = (palette(painter.ctx()), &cut.axis);
    let told = read.verdicts(*weight).iter().filter_map(|v| read.outline_of(v));
    let extra = in_light.and_then(|item| read.outline(item));
    let in_light = extra.map(|o| o.item);
    let mut names = Vec::new();
    let all: Vec<_> = told.filter(|o| Some(o.item) != in_light).chain(extra).collect();
    for outline in all {
        let lit = in_light == Some(outline.item);
        let line = matches!(outline.item, Item::ScourLine(_));
        let colour = if lit { p.picked } else { [p.cluster, p.accent][usize::from(line)] };
        let across = outline.across_at(cut.along_m);
        if lit && let Some((low, high)) = outline.land_m {
            let (left, right) = (axis.x(high), axis.x(low));
            let band = Rect::from_x_y_ranges(left..=right.max(left + 2.0), axis.rect.y_range());
            painter.rect_filled(band, 0.0, colour.gamma_multiply(0.16));
            for x in [left, right] {
                painter.extend(Shape::dashed_line(
                    &[pos2(x, axis.rect.top()), pos2(x, axis.rect.bottom())],
                    Stroke::new(1.0, colour),
                    4.0,
                    3.0,
                ));
            }
            let bracket = axis.rect.bottom() - 3.0;
            painter.hline(left..=right.max(left + 2.0), bracket, Stroke::new(4.0, colour));
        }
        let Some((near, far)) = across else { continue };
        // A line has no width: its stretch of sand is the one between its levels, about where it runs.
        let inside = |s: &SectionPoint| match outline.land_m.filter(|_| line) {
            Some((low, high)) => (low..=high).contains(&s.land_m) && (s.across_m - near).abs() < 25.0,
            None => (near..=far).contains(&s.across_m),
        };
        let inside = cut.profile.iter().filter(|s| inside(s));
        let run: Vec<Pos2> = inside.map(|s| pos2(axis.x(s.land_m), cut.y(s.across_m))).collect();
        let Some(top) = run.first().copied() else { continue };
        painter.add(Shape::line(run, PathStroke::new(if lit { 9.0 } else { 6.0 }, colour.gamma_multiply(0.55))));
        let short = outline.label.split(" · ").next().unwrap_or_default();
        names.push((top, short, lit, colour));
    }
    // Names run down the sand; one that would cover another is pushed below it.
    names.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    let mut floor = f32::NEG_INFINITY;
    for (top, name, lit, colour) in names {
        let font = if lit { theme::bold_font(12.5) } else { theme::label_font(12.0) };
        floor = top.y.max(floor + 13.0);
        let width = painter.layout_no_wrap(name.to_owned(), font.clone(), colour).size().x;
        // Seaward of the sand, or over it where there is no room: never across the marks on it.
        let (x, align) = if top.x + 11.0 + width <= axis.rect.right() {
            (top.x + 9.0, Align2::LEFT_CENTER)
        } else {
            (top.x - 9.0, Align2::RIGHT_CENTER)
        };
        theme::halo_text(painter, pos2(x, floor), align, name, font, colour);
    }
}

fn quad(mesh: &mut Mesh, corners: [Pos2; 4], colour: egui::Color32) {
    let first = mesh.vertices.len() as u32;
    for c in corners {
        mesh.colored_vertex(c, colour);
    }
    mesh.add_triangle(first, first + 1, first + 2);
    mesh.add_triangle(first, first + 2, first + 3);
}

/// How marks look in Section.
const STYLE: Style = Style { scale: 0.9, ring: (7.5, 0.0), widths: (1.8, 1.8) };

/// Finds near the line, at the level of the sand they lay in; returns the one under the pointer.
fn marks(
    painter: &Painter,
    axis: &Axis,
    shown: &FrameContext<'_>,
    state: &mut State,
    look: &Look,
    pointer: Option<Pos2>,
) -> Option<Item> {
    let (marks, _) = shown.marks()?;
    let (land, _) = shown.land()?;
    let along_m = state.plan.section_along_m(land)?;
    let (lay, reach_m) = (state.plan.lay_index(), state.section.reach_m);
    // Brought onto the line: the same distance across, not the same height on the screen.
    let at = |number: u32| {
        let mark = &marks.all[number as usize];
        let near = (f64::from(mark.along_m) - along_m).abs() <= reach_m && !mark.land_m.is_nan();
        let on_line = || land.placing.of_shore(ShorePoint::new(along_m, f64::from(mark.across_m)));
        let at = near.then(|| pos2(axis.x(f64::from(mark.land_m)), look.pos(on_line()[lay]).y))?;
        axis.rect.expand(12.0).contains(at).then_some(at)
    };
    let key = SectionKey {
        marks: marks.serial,
        along_m,
        reach_m,
        lay,
        camera: state.plan.camera(),
        plan: state.plan.canvas?,
        canvas: axis.rect,
        levels_m: (axis.low_m, axis.high_m, axis.shift_m),
    };
    let crowd = &mut state.section.crowd;
    crowd.lay(key, axis.rect, marks, || marks.numbers_along((along_m - reach_m) as f32, (along_m + reach_m) as f32), at);
    crowd.show(painter, marks, shown, &state.selection, STYLE, at);
    let hovered = state.selection.hovered.filter(|item| !state.selection.holds(*item));
    if let Some(at) = hovered.and_then(|item| at(marks.number(item)?)) {
        painter.circle_stroke(at, STYLE.ring.0, Stroke::new(STYLE.widths.0, palette(painter.ctx()).picked));
    }
    pointer.and_then(|pointer| crowd.nearest(pointer, 9.0)).map(|number| marks.all[number as usize].item)
}

fn ticks(ui: &Ui, axis: &Axis, foot: Rect, land: &Land, profile: &[SectionPoint]) {
    let guessed = profile.iter().any(|s| s.from != LevelSource::Surveyed);
    // Of several wordings the first that there is room for.
    let bands = if guessed {
        &["sand, 95 % band; crossed: nobody surveyed", "crossed: nobody surveyed"][..]
    } else {
        &["sand, 95 % band"]
    };
    let p = palette(ui.ctx());
    let span = axis.high_m - axis.low_m;
    let step = [0.5, 1.0, 2.0, 5.0, 10.0].into_iter().find(|s| span / s <= 7.0).unwrap_or(20.0);
    let datum = if land.setting.beach.datum_offset_m.is_some() { "m above tide datum" } else { "m above land datum" };
    let right = ui.painter().text(foot.right_bottom(), Align2::RIGHT_BOTTOM, datum, theme::label_font(12.0), p.soft);
    let mut level = (axis.low_m / step).ceil() * step;
    while level <= axis.high_m {
        let x = axis.x(level - axis.shift_m);
        ui.painter().vline(x, foot.top()..=foot.top() + 4.0, Stroke::new(1.0, p.ink));
        let figure = ui.painter().layout_no_wrap(level_words(level, step), theme::label_font(12.0), p.ink);
        let place = Align2::CENTER_TOP.anchor_size(pos2(x, foot.top() + 4.0), figure.size());
        // Where there is one line for both, what the figures count from is told first.
        if !canvas::is_low(ui.ctx()) || !place.expand2(vec2(4.0, -2.0)).intersects(right) {
            ui.painter().galley(place.min, figure, p.ink);
        }
        level += step;
    }
    if let Some(meant) = explained(datum.trim_start_matches("m above ")) {
        ui.interact(right, ui.scope_id().with("datum"), Sense::hover()).on_hover_text(meant);
    }
    if canvas::is_low(ui.ctx()) {
        return;
    }
    let laid = bands.iter().map(|words| ui.painter().layout_no_wrap((*words).to_owned(), theme::label_font(12.0), p.soft));
    if let Some(doubt) = laid.into_iter().find(|words| foot.left() + words.size().x + 10.0 < right.left()) {
        ui.painter().galley(pos2(foot.left(), right.top()), doubt, p.soft);
    }
}
