//! The ground itself: sand, water, tide lines, areas, barriers and the tracks walked over it.

use std::sync::Arc;

use egui::epaint::{Mesh, PathStroke, Tessellator, Vertex, WHITE_UV};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::plan_drawn::{AreaEdges, GroundLaid, MeshCache, Seen, TraceCache, TracedFor};
use crate::app::widgets::hatch::{self, Slant};
use crate::app::widgets::kept::{self, Drawing};
use crate::app::widgets::lines;
use crate::app::widgets::theme::{Palette, palette, sand_colour};
use crate::book::ZoneUse;
use crate::query::drawing::{Area, AreaKind, DrawnPlace, GroundShown, Land, Patch, Trace, Traces};
use crate::query::{Given, Item, TracesQuestion};

/// Points of track drawn at most; the tolerance is raised until fewer are left.
const MOST_TRACK_POINTS: usize = 8_000;

pub(super) fn paint(
    painter: &Painter,
    canvas: Rect,
    look: &Look,
    shown: &FrameContext<'_>,
    state: &mut State,
    land: &Given<Land>,
) {
    let p = palette(painter.ctx());
    let lay = state.plan.lay_index();
    let seen = Seen { look: *look, lay };
    painter.rect_filled(canvas, 0.0, p.unknown);
    let camera = state.plan.camera();
    let dark = painter.ctx().theme() == egui::Theme::Dark;
    let key = (land.serial, lay, camera, canvas, dark);
    if state.plan.meshes.key != Some(key) {
        let mut mesh = kept::emptied(&mut state.plan.meshes.sand);
        for strip in &land.strips {
            place(&mut mesh, &strip.patch, &seen, sand_colour(p, strip.wet), canvas);
        }
        state.plan.meshes = MeshCache { key: Some(key), sand: Arc::new(mesh) };
    }
    kept::apart(painter, &state.plan.meshes.sand);
    super::shade::hatching(painter, look, shown, state, land);
    let outlines = shown.outlines().map(|(outlines, _)| outlines.clone()).filter(|_| state.plan.zones);
    let shade = super::shade::picture(painter.ctx(), shown, state);
    let (land, water) = (land.clone(), state.plan.water.clone());
    state.plan.laid.show(painter, GroundLaid { land, seen, outlines: outlines.clone(), water, shade });
    if state.plan.tracks {
        tracks(painter, canvas, look, shown, state, p);
    }
    if let Some(outlines) = outlines {
        let lit = |item: Item| state.selection.holds(item) || state.selection.hovered == Some(item);
        let lit = outlines.areas.iter().map(|a| a.item).filter(|item| lit(*item)).collect();
        state.plan.edges.show(painter, AreaEdges { outlines, seen, lit });
    }
}

impl Drawing for GroundLaid {
    type Told = ();

    fn draw(&self, painter: &Painter) {
        let (p, Seen { look, lay }) = (palette(painter.ctx()), &self.seen);
        for area in self.outlines.iter().flat_map(|outlines| &outlines.areas) {
            area_fill(painter, area, *lay, look, p);
        }
        unsurveyed(painter, &self.land.unsurveyed, *lay, look, p);
        let mut water = Mesh::default();
        place(&mut water, &self.water.cover, &self.seen, p.water, painter.clip_rect());
        painter.add(Shape::mesh(water));
        if let Some((picture, texture)) = &self.shade {
            super::shade::hang(painter, picture, *texture, &self.seen);
        }
        for run in self.land.tide_lines.iter().flat_map(|line| &line.lines) {
            let line = lines::plain(&on_screen(run, *lay, look));
            painter.add(Shape::line(line, PathStroke::new(0.9, p.tide_line.gamma_multiply(0.7))));
        }
        for run in self.water.edge.iter() {
            let line = lines::plain(&on_screen(run, *lay, look));
            painter.add(Shape::line(line, PathStroke::new(2.4, p.water_edge)));
        }
        if self.land.baseline.len() > 1 {
            let line = on_screen(&self.land.baseline, *lay, look);
            painter.extend(Shape::dashed_line(&line, Stroke::new(1.0, p.soft), 8.0, 5.0));
        }
    }
}

impl Drawing for AreaEdges {
    type Told = ();

    fn draw(&self, painter: &Painter) {
        for area in &self.outlines.areas {
            area_edge(painter, area, self.seen.lay, &self.seen.look, palette(painter.ctx()), self.lit.contains(&area.item));
        }
    }
}

/// Adds what is in view of a patch.
fn place(mesh: &mut Mesh, patch: &Patch, seen: &Seen, color: Color32, clip: Rect) {
    let places: Vec<Pos2> = patch.spots.iter().map(|s| seen.look.pos(s[seen.lay])).collect();
    let mut placed: Vec<Option<u32>> = vec![None; places.len()];
    for t in patch.triangles.chunks_exact(3) {
        let corners = [t[0], t[1], t[2]].map(|i| i as usize);
        if !Rect::from_points(&corners.map(|i| places[i])).intersects(clip) {
            continue;
        }
        for i in corners {
            let next = mesh.vertices.len() as u32;
            let number = *placed[i].get_or_insert(next);
            if number == next {
                mesh.vertices.push(Vertex { pos: places[i], uv: WHITE_UV, color });
            }
            mesh.indices.push(number);
        }
    }
}

/// A run of places as positions of the screen.
pub(super) fn on_screen(run: &[DrawnPlace], lay: usize, look: &Look) -> Vec<Pos2> {
    run.iter().map(|s| look.pos(s[lay])).collect()
}

/// The lines of tracks as one mesh, cut anew when the view, the tracks or those in the light change.
fn tracks(painter: &Painter, canvas: Rect, look: &Look, shown: &FrameContext<'_>, state: &mut State, p: &Palette) {
    let Some(traces) = shown.newest::<TracesQuestion>().map(|(traces, _)| traces) else { return };
    let lay = state.plan.lay_index();
    let lit = if state.selection.is_empty() && state.selection.hovered.is_none() {
        Vec::new()
    } else {
        traces.of_outings(|o| state.selection.holds(Item::Outing(o)) || state.selection.hovered == Some(Item::Outing(o)))
    };
    let dark = painter.ctx().theme() == egui::Theme::Dark;
    let over_ground = state.plan.ground != GroundShown::Nothing;
    let key = (traces.serial, lay, state.plan.camera(), canvas, dark, over_ground, lit);
    if state.plan.traces.key.as_ref() != Some(&key) {
        let mut mesh = kept::emptied(&mut state.plan.traces.mesh);
        trace(&mut mesh, painter, canvas, look, traces, &key, p);
        let mesh = Arc::new(mesh);
        state.plan.traces = TraceCache { key: Some(key), mesh };
    }
    kept::apart(painter, &state.plan.traces.mesh);
}

fn trace(mesh: &mut Mesh, painter: &Painter, canvas: Rect, look: &Look, traces: &Traces, key: &TracedFor, p: &Palette) {
    let (lay, over_ground, lit) = (key.1, key.5, &key.6);
    let ctx = painter.ctx();
    let mut tessellator = Tessellator::new(ctx.pixels_per_point(), ctx.tessellation_options(|o| *o), [1, 1], Vec::new());
    let view = look.places(canvas);
    let mut tolerance_m = (0.4 / (look.scale() * look.stretch())) as f32;
    let count = |t: f32| traces.all.iter().map(|trace| trace.pyramid.count(lay, t, view)).sum::<usize>();
    while count(tolerance_m) > MOST_TRACK_POINTS && tolerance_m < 1e5 {
        tolerance_m *= 2.0;
    }
    // What is picked is drawn last, over the rest.
    for picked in [false, true] {
        // Over a picture of the ground they would only blur it.
        let plain = if over_ground { p.track.gamma_multiply(0.3) } else { p.track };
        let of_round = |(n, _): &(usize, &Trace)| lit.binary_search(&(*n as u32)).is_ok() == picked;
        for (_, trace) in traces.all.iter().enumerate().filter(of_round) {
            let stroke = if picked { PathStroke::new(1.8, p.picked) } else { PathStroke::new(0.8, plain) };
            for line in trace.pyramid.lines(lay, tolerance_m, view) {
                let line = line.into_iter().map(|s| look.pos(s)).collect();
                tessellator.tessellate_shape(Shape::line(line, stroke.clone()), mesh);
            }
        }
    }
}

fn area_fill(painter: &Painter, area: &Area, lay: usize, look: &Look, p: &Palette) {
    let stroke = match area.kind {
        AreaKind::Zone(ZoneUse::NoSearch) => Stroke::new(1.0, p.danger.gamma_multiply(0.55)),
        AreaKind::Zone(ZoneUse::Rocks | ZoneUse::Mud | ZoneUse::Channel) | AreaKind::Barrier(_) => {
            Stroke::new(0.8, p.zone.gamma_multiply(0.45))
        }
        AreaKind::Zone(_) | AreaKind::Permission => return,
    };
    hatch(painter, &area.fill, lay, look, stroke, 9.0);
}

/// Slanting lines over the triangles of a patch, `spacing` points apart.
fn hatch(painter: &Painter, patch: &Patch, lay: usize, look: &Look, stroke: Stroke, spacing: f32) {
    let root = look.pos([0.0, 0.0]);
    each(patch, lay, look, |c| hatch::lines(painter, &c, root, Slant::Rising, spacing, stroke));
}

/// Ground that nobody surveyed.
fn unsurveyed(painter: &Painter, patch: &Patch, lay: usize, look: &Look, p: &Palette) {
    let (root, stroke) = (look.pos([0.0, 0.0]), Stroke::new(0.8, p.ink.gamma_multiply(0.45)));
    each(patch, lay, look, |c| hatch::unsurveyed(painter, &c, root, stroke));
}

/// Each triangle of a patch on the screen.
fn each(patch: &Patch, lay: usize, look: &Look, mut paint: impl FnMut([Pos2; 3])) {
    for t in patch.triangles.chunks_exact(3) {
        paint([t[0], t[1], t[2]].map(|i| look.pos(patch.spots[i as usize][lay])));
    }
}

fn area_edge(painter: &Painter, area: &Area, lay: usize, look: &Look, p: &Palette, lit: bool) {
    for ring in &area.rings {
        let mut line = on_screen(ring, lay, look);
        if area.closed {
            line.extend(line.first().copied());
        }
        if !Rect::from_points(&line).intersects(painter.clip_rect()) {
            continue;
        }
        let colour = match area.kind {
            _ if lit => p.picked,
            AreaKind::Zone(ZoneUse::NoSearch) => p.danger,
            AreaKind::Permission => p.light,
            AreaKind::Zone(_) | AreaKind::Barrier(_) => p.zone,
        };
        let width = if lit { 2.2 } else { 1.1 };
        match area.kind {
            AreaKind::Permission => painter.extend(Shape::dashed_line(&line, Stroke::new(width, colour), 10.0, 4.0)),
            AreaKind::Barrier(_) => {
                painter.add(Shape::line(line, PathStroke::new(if area.closed { width } else { width + 1.4 }, colour)));
            }
            AreaKind::Zone(_) => painter.extend(Shape::dotted_line(&line, colour, 4.0, width * 0.75)),
        }
    }
}
