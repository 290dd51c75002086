//! The route on the ground: what blocks are worth, those chosen with their times, the way between them, where it
//! sets out, and where one is now. Blocks are picked, kept in or left out here, and the start is dragged.

use egui::epaint::{Mesh, PathStroke};
use egui::{Align2, Color32, Key, Painter, PointerButton, Pos2, Rect, Response, Shape, Stroke, Ui, vec2};

use crate::app::state::FrameContext;
use crate::app::state::SheetChoice;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::next_low::Stage;
use crate::app::widgets::theme::{self, Palette, palette};
use crate::book::Uid;
use crate::query::drawing::{DrawnPlace, Land, RouteDrawing};
use crate::route::{BlockId, Start};

/// How near the start must be to be taken hold of, and an access to be set out from, points.
const REACH: f32 = 12.0;

pub(super) fn paint(painter: &Painter, canvas: Rect, look: &Look, shown: &FrameContext<'_>, state: &State, numbers: &[Number]) {
    if state.sheet != SheetChoice::NextLow {
        return;
    }
    let Some((routed, stage)) = state.next_low.current_route(shown) else { return };
    let p = palette(painter.ctx());
    // The rest steps back behind a veil, so that the way stands out among the marks.
    painter.rect_filled(canvas, 0.0, p.card.gamma_multiply(0.55));
    let lay = state.plan.lay_index();
    let pos = |b: &DrawnPlace| look.pos(b[lay]);
    ground(painter, &routed, p, &pos);
    blocks(painter, state, &routed, p, &pos);
    marked(painter, state, &routed, p, &pos);
    if let Some(other) =
        state.next_low.beside.and_then(|l| state.next_low.kept_route(shown, l)).filter(|o| o.ask().low != routed.ask().low)
    {
        let line: Vec<Pos2> = other.way.iter().filter(|(_, walking)| *walking).map(|(at, _)| pos(at)).collect();
        painter.extend(Shape::dashed_line(&line, Stroke::new(1.4, p.soft), 5.0, 5.0));
    }
    way(painter, &routed, p.ink, &pos);
    // Over the way, or that would strike them out.
    for number in numbers.iter().filter(|n| !n.text.is_empty()) {
        theme::halo_text(painter, number.at, Align2::CENTER_CENTER, &number.text, theme::bold_font(12.0), p.ink);
    }
    ends(painter, state, &routed, p, &pos);
    let now = state.clock.at;
    if now >= routed.route().depart
        && now <= routed.route().back
        && let (Some(at), Some(land)) = (routed.route().at(now), shown.land().map(|(land, _)| land))
    {
        let at = pos(&land.placing.of_local(at));
        painter.circle(at, 7.0, p.card, Stroke::new(3.0, p.danger));
        theme::halo_text(painter, at + vec2(10.0, -2.0), Align2::LEFT_BOTTOM, "you", theme::bold_font(13.0), p.ink);
    }
    said(painter, canvas, state, stage, p);
}

/// What is to be done with the pointer, or how the route shown stands, in a line at the top.
fn said(painter: &Painter, canvas: Rect, state: &State, stage: Stage, p: &Palette) {
    let text = if state.next_low.places_start {
        "click where the route is to set out"
    } else {
        match stage {
            Stage::Done => return,
            Stage::SoFar => "the best route so far; still looking",
        }
    };
    let at = canvas.center_bottom() - vec2(0.0, 10.0);
    theme::halo_text(painter, at, Align2::CENTER_BOTTOM, text, theme::bold_font(13.0), p.ink);
}

/// Every block that could be searched, the deeper the tint the more it is worth.
fn ground(painter: &Painter, routed: &RouteDrawing, p: &Palette, pos: &dyn Fn(&DrawnPlace) -> Pos2) {
    let mut mesh = Mesh::default();
    for (_, corners, worth) in &routed.ground {
        let colour = p.accent.gamma_multiply(0.04 + 0.30 * worth.clamp(0.0, 1.0));
        let first = mesh.vertices.len() as u32;
        corners.iter().for_each(|c| mesh.colored_vertex(pos(c), colour));
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first, first + 2, first + 3);
    }
    painter.add(Shape::mesh(mesh));
}

fn middle(corners: &[Pos2]) -> Pos2 {
    (corners.iter().fold(vec2(0.0, 0.0), |sum, c| sum + c.to_vec2()) / corners.len().max(1) as f32).to_pos2()
}

/// The number of a block, with its time where there is room, and where it is written.
pub(super) struct Number {
    text: String,
    at: Pos2,
    pub(super) rect: Rect,
}

/// The numbers of the blocks in view and the names of the ends: other names keep clear of them.
pub(super) fn numbers(painter: &Painter, canvas: Rect, look: &Look, shown: &FrameContext<'_>, state: &State) -> Vec<Number> {
    if state.sheet != SheetChoice::NextLow {
        return Vec::new();
    }
    let Some((routed, _)) = state.next_low.current_route(shown) else { return Vec::new() };
    let lay = state.plan.lay_index();
    let number = |text: String, at: Pos2, anchor: Align2| {
        let size = painter.layout_no_wrap(text.clone(), theme::bold_font(12.0), Color32::BLACK).size();
        Number { text, at, rect: anchor.anchor_size(at, size) }
    };
    let clock = shown.route_clock(routed.route());
    let mut all: Vec<Number> = Vec::new();
    for (n, (corners, visit)) in routed.blocks.iter().zip(&routed.route().visits).enumerate() {
        let corners: Vec<Pos2> = corners.iter().map(|c| look.pos(c[lay])).collect();
        let at = middle(&corners);
        let bounds = corners.iter().fold(Rect::NOTHING, |r, q| r.union(Rect::from_min_max(*q, *q)));
        let full = format!("{}  {}", n + 1, clock.hour(visit.begin));
        let wide = number(full, at, Align2::CENTER_CENTER);
        let made =
            if bounds.width() > wide.rect.width() { wide } else { number(format!("{}", n + 1), at, Align2::CENTER_CENTER) };
        // Where blocks are drawn small not every one has room for its number.
        if canvas.contains(at) && !all.iter().any(|o| o.rect.intersects(made.rect)) {
            all.push(made);
        }
    }
    for (end, name) in [(0, "start"), (1, "out")] {
        let (at, anchor) = beside(look.pos(routed.ends[end][lay]), canvas);
        all.push(Number { text: String::new(), ..number(name.to_owned(), at, anchor) });
    }
    all
}

/// Where the name of an end stands: over it, or under it where Plan ends above.
fn beside(end: Pos2, canvas: Rect) -> (Pos2, Align2) {
    if end.y - 28.0 < canvas.top() {
        (end + vec2(0.0, 10.0), Align2::CENTER_TOP)
    } else {
        (end - vec2(0.0, 11.0), Align2::CENTER_BOTTOM)
    }
}

fn blocks(painter: &Painter, state: &State, routed: &RouteDrawing, p: &Palette, pos: &dyn Fn(&DrawnPlace) -> Pos2) {
    // A block that must be behind one at the moment shown is drawn as lost.
    let now = state.clock.at;
    for (corners, visit) in routed.blocks.iter().zip(&routed.route().visits) {
        let corners: Vec<Pos2> = corners.iter().map(pos).collect();
        let colour = if now > visit.leave_by { p.danger } else { p.accent };
        let here = now >= visit.begin && now < visit.leave;
        painter.add(Shape::convex_polygon(
            corners,
            colour.gamma_multiply(if here { 0.75 } else { 0.4 }),
            Stroke::new(1.2, colour),
        ));
    }
}

/// Blocks kept in, left out and picked. Those left out are no longer candidates: the last route knows where they lie.
fn marked(painter: &Painter, state: &State, routed: &RouteDrawing, p: &Palette, pos: &dyn Fn(&DrawnPlace) -> Pos2) {
    let view = &state.next_low;
    for (id, corners, _) in &routed.ground {
        let closed = || {
            let mut ring: Vec<Pos2> = corners.iter().map(pos).collect();
            ring.push(ring[0]);
            ring
        };
        if view.params.pinned.contains(id) {
            painter.add(Shape::line(closed(), PathStroke::new(3.0, p.accent)));
        }
        if view.params.excluded.contains(id) {
            let c: Vec<Pos2> = corners.iter().map(pos).collect();
            painter.line_segment([c[0], c[2]], Stroke::new(1.6, p.soft));
            painter.line_segment([c[1], c[3]], Stroke::new(1.6, p.soft));
        }
        if view.hovered == Some(*id) {
            painter.add(Shape::line(closed(), PathStroke::new(1.0, p.picked)));
        }
        if view.block == Some(*id) {
            painter.add(Shape::line(closed(), PathStroke::new(2.5, p.picked)));
        }
    }
}

fn way(painter: &Painter, routed: &RouteDrawing, colour: Color32, pos: &dyn Fn(&DrawnPlace) -> Pos2) {
    let mut line: Vec<Pos2> = Vec::new();
    for (at, walking) in &routed.way {
        if !walking && !line.is_empty() {
            painter.add(Shape::line(std::mem::take(&mut line), PathStroke::new(1.8, colour)));
        }
        line.push(pos(at));
        if !walking {
            line.clear();
            line.push(pos(at));
        }
    }
    painter.add(Shape::line(line, PathStroke::new(1.8, colour)));
}

/// Where it sets out, to be dragged, and where it comes back.
fn ends(painter: &Painter, state: &State, routed: &RouteDrawing, p: &Palette, pos: &dyn Fn(&DrawnPlace) -> Pos2) {
    let [start, end] = [pos(&routed.ends[0]), pos(&routed.ends[1])];
    if start.distance(end) > 14.0 {
        painter.rect(
            Rect::from_center_size(end, vec2(11.0, 11.0)),
            0.0,
            p.card,
            Stroke::new(2.0, p.ink),
            egui::StrokeKind::Middle,
        );
        let (at, anchor) = beside(end, painter.clip_rect());
        theme::halo_text(painter, at, anchor, "out", theme::bold_font(12.0), p.ink);
    }
    let at = match painter.ctx().pointer_latest_pos().filter(|_| state.next_low.drags_start) {
        Some(pointer) => pointer,
        None => start,
    };
    painter.circle(at, 8.0, p.accent, Stroke::new(2.0, p.ink));
    let (at, anchor) = beside(at, painter.clip_rect());
    theme::halo_text(painter, at, anchor, "start", theme::bold_font(12.0), p.ink);
}

/// What pointer and keyboard do with the route; `true` when they are taken by it in this frame.
pub(super) fn steer(ui: &Ui, response: &Response, shown: &FrameContext<'_>, state: &mut State, land: &Land) -> bool {
    if state.sheet != SheetChoice::NextLow {
        return false;
    }
    let Some((routed, _)) = state.next_low.current_route(shown) else {
        return placing(response, shown, state, land);
    };
    keys(ui, response, state);
    let look = state.plan.camera().onto(response.rect);
    let lay = state.plan.lay_index();
    let start = look.pos(routed.ends[0][lay]);
    let pos = response.interact_pointer_pos().or(response.hover_pos());
    if response.drag_started_by(PointerButton::Primary)
        && ui.input(|i| i.pointer.press_origin()).is_some_and(|p| p.distance(start) <= REACH)
    {
        state.next_low.drags_start = true;
    }
    if state.next_low.drags_start {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grabbing);
        if response.drag_stopped() {
            state.next_low.drags_start = false;
            if let Some(p) = pos {
                set_start(shown, state, land, &look, p);
            }
        }
        return true;
    }
    if pos.is_some_and(|p| p.distance(start) <= REACH) && response.hovered() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grab);
    }
    if placing(response, shown, state, land) {
        return true;
    }
    // When the pointer is gone by the time of the click, what it last rested on counts.
    match pos {
        Some(p) => state.next_low.hovered = block_at(&routed, lay, &look, p),
        None if !response.clicked() => state.next_low.hovered = None,
        None => {}
    }
    let under = state.next_low.hovered;
    if response.secondary_clicked() {
        state.next_low.block = under.or(state.next_low.block);
    }
    response.context_menu(|ui| menu(ui, state));
    // On this sheet the blocks come before what else lies there.
    if response.clicked() && under.is_some() {
        response.request_focus();
        state.next_low.block = if state.next_low.block == under { None } else { under };
        return true;
    }
    false
}

/// The next click sets the start, when that was asked for.
fn placing(response: &Response, shown: &FrameContext<'_>, state: &mut State, land: &Land) -> bool {
    if !state.next_low.places_start {
        return false;
    }
    let look = state.plan.camera().onto(response.rect);
    if response.clicked()
        && let Some(p) = response.interact_pointer_pos()
    {
        state.next_low.places_start = false;
        set_start(shown, state, land, &look, p);
        return true;
    }
    false
}

fn menu(ui: &mut Ui, state: &mut State) {
    let Some(block) = state.next_low.block else {
        ui.label("No block lies here.");
        return;
    };
    let view = &mut state.next_low;
    let (pinned, excluded) = (view.params.pinned.contains(&block), view.params.excluded.contains(&block));
    if ui.button(if pinned { "Let go of this block" } else { "Keep this block in (K)" }).clicked() {
        view.keep_in(block);
        ui.close();
    }
    if ui.button(if excluded { "Take this block back" } else { "Leave this block out (X)" }).clicked() {
        view.leave_out(block);
        ui.close();
    }
}

fn keys(ui: &Ui, response: &Response, state: &mut State) {
    let Some(block) = state.next_low.block.filter(|_| response.has_focus()) else { return };
    let pressed = |key| ui.input(|i| i.key_pressed(key) && !i.modifiers.any());
    if pressed(Key::K) {
        state.next_low.keep_in(block);
    }
    // Not Delete: that is for finds that are picked.
    if pressed(Key::X) {
        state.next_low.leave_out(block);
    }
}

/// Sets out from the access near a position of the screen, else from the spot there.
fn set_start(shown: &FrameContext<'_>, state: &mut State, land: &Land, look: &Look, p: Pos2) {
    let lay = state.plan.lay_index();
    let near = |at: crate::earth::LonLat| land.placing.of_lonlat(at).map_or(f32::INFINITY, |b| look.pos(b[lay]).distance(p));
    let mine = shown.book.accesses().values().filter(|a| shown.beach.is_some_and(|b| b.uid == a.beach));
    let access: Option<Uid> =
        mine.map(|a| (near(a.at), a.uid)).filter(|(d, _)| *d <= REACH * 1.5).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, u)| u);
    state.next_low.params.start = match (access, land.placing.to_lonlat(lay, look.spot(p))) {
        (Some(uid), _) => Start::Access(uid),
        (None, Ok(at)) => Start::Place(at),
        (None, Err(_)) => Start::AnyAccess,
    };
}

/// The block under a position of the screen.
fn block_at(routed: &RouteDrawing, lay: usize, look: &Look, p: Pos2) -> Option<BlockId> {
    let inside = |corners: &[DrawnPlace; 4]| {
        let c = corners.map(|b| look.pos(b[lay]));
        let turn = |n: usize| {
            let (a, b) = (c[n], c[(n + 1) % 4]);
            (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
        };
        (0..4).all(|n| turn(n) >= 0.0) || (0..4).all(|n| turn(n) <= 0.0)
    };
    routed.ground.iter().find(|(_, corners, _)| inside(corners)).map(|(id, ..)| *id)
}
