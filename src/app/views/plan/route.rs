//! The route on the ground: what blocks are worth, those chosen with their times, the way between them, where it
//! sets out, and where one is now. Blocks are picked, kept in or left out here, and the start is dragged.

use egui::epaint::{Mesh, PathStroke};
use egui::{Align2, Color32, Key, Painter, PointerButton, Pos2, Rect, Response, Shape, Stroke, Ui, Vec2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::SheetChoice;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::next_low::Stage;
use crate::app::widgets::labels::{Labels, Moves, Wanted};
use crate::app::widgets::theme::{self, Palette, palette};
use crate::book::Uid;
use crate::query::drawing::{DrawnPlace, Land, RouteDrawing};
use crate::route::{BlockId, Start};

/// How near the start must be to be taken hold of, and an access to be set out from, points.
const REACH: f32 = 12.0;

pub(super) fn paint(
    painter: &Painter,
    canvas: Rect,
    look: &Look,
    shown: &FrameContext<'_>,
    state: &State,
    numbers: &[Number],
    scale: Rect,
) {
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
    ends(painter, state, &routed, p, &pos);
    if let Some(at) = you(look, shown, state, &routed) {
        painter.circle(at, 7.0, p.card, Stroke::new(3.0, p.danger));
    }
    // Over the way, or that would strike them out.
    for number in numbers {
        if let Some(block) = number.of {
            painter.line_segment([number.rect.clamp(block), block], Stroke::new(1.0, p.ink));
            painter.circle_filled(block, 2.0, p.ink);
        }
        let font = theme::bold_font(number.size);
        theme::halo_text(painter, number.rect.min, Align2::LEFT_TOP, &number.text, font, p.ink);
    }
    if let (Some(text), Some(room)) = (said(state, stage), said_room(painter, canvas, scale, shown, state)) {
        theme::halo_text(painter, room.min, Align2::LEFT_TOP, text, theme::bold_font(13.0), p.ink);
    }
}

/// What is to be done with the pointer, or how the route shown stands.
fn said(state: &State, stage: Stage) -> Option<&'static str> {
    match stage {
        _ if state.next_low.places_start => Some("click where the route is to set out"),
        Stage::Done => None,
        Stage::SoFar => Some("the best route so far; still looking"),
    }
}

/// The room that this takes: a line at the bottom, over the scale where it would cover that.
pub(super) fn said_room(painter: &Painter, canvas: Rect, scale: Rect, shown: &FrameContext<'_>, state: &State) -> Option<Rect> {
    if state.sheet != SheetChoice::NextLow {
        return None;
    }
    let (_, stage) = state.next_low.current_route(shown)?;
    let size = painter.layout_no_wrap(said(state, stage)?.to_owned(), theme::bold_font(13.0), Color32::BLACK).size();
    let room = Align2::CENTER_BOTTOM.anchor_size(canvas.center_bottom() - vec2(0.0, 10.0), size);
    let over = room.expand(6.0).intersects(scale);
    Some(if over { room.translate(vec2(0.0, scale.top() - 6.0 - room.bottom())) } else { room })
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

/// The number of a block, with its time where there is room, or the name of an end of the way, and where it is written.
pub(super) struct Number {
    pub(super) text: String,
    pub(super) rect: Rect,
    size: f32,
    /// The middle of its block, where it stands beside that and is tied to it.
    of: Option<Pos2>,
}

/// Size of a number, and of one that has little room, points.
const FULL: f32 = 12.0;
const LITTLE: f32 = 10.5;

/// The numbers of the blocks in view, then the names of the ends and of where one is, clear of what is fixed and of each
/// other: other names keep clear of them. `marks` are those of the ends, which a number on its block may cover, and one
/// beside it may not.
pub(super) fn numbers(
    painter: &Painter,
    canvas: Rect,
    look: &Look,
    shown: &FrameContext<'_>,
    state: &State,
    fixed: &[Rect],
    marks: &[Rect],
) -> Vec<Number> {
    if state.sheet != SheetChoice::NextLow {
        return Vec::new();
    }
    let Some((routed, _)) = state.next_low.current_route(shown) else { return Vec::new() };
    let lay = state.plan.lay_index();
    let sized = |text: &str, at: Pos2, anchor: Align2, size: f32| {
        let wide = painter.layout_no_wrap(text.to_owned(), theme::bold_font(size), Color32::BLACK).size();
        Number { text: text.to_owned(), rect: anchor.anchor_size(at, wide), size, of: None }
    };
    let number = |text: &str, at: Pos2, anchor: Align2| sized(text, at, anchor, FULL);
    let clock = shown.route_clock(routed.route());
    let mut all: Vec<Number> = Vec::new();
    let is_free = |all: &[Number], rect: Rect| {
        // Two figures side by side would read as one.
        let taken = all.iter().map(|o| o.rect.expand2(vec2(3.0, 0.0))).chain(fixed.iter().copied());
        canvas.contains_rect(rect) && !taken.into_iter().any(|t| t.intersects(rect))
    };
    // The mark of where one is hides what lies under it.
    let you = you(look, shown, state, &routed);
    let hidden = |rect: Rect| you.is_some_and(|at| Rect::from_center_size(at, YOU).intersects(rect));
    let mut without: Vec<(usize, Pos2)> = Vec::new();
    for (n, (corners, visit)) in routed.blocks.iter().zip(&routed.route().visits).enumerate() {
        let corners: Vec<Pos2> = corners.iter().map(|c| look.pos(c[lay])).collect();
        let at = middle(&corners);
        let bounds = corners.iter().fold(Rect::NOTHING, |r, q| r.union(Rect::from_min_max(*q, *q)));
        let full = number(&format!("{}  {}", n + 1, clock.hour(visit.begin)), at, Align2::CENTER_CENTER);
        let full = Some(full).filter(|full| bounds.width() > full.rect.width());
        let short = || number(&format!("{}", n + 1), at, Align2::CENTER_CENTER);
        let tried =
            full.into_iter().chain(std::iter::once_with(short)).find(|made| is_free(&all, made.rect) && !hidden(made.rect));
        match tried {
            _ if !canvas.contains(at) => {}
            Some(made) => all.push(made),
            None => without.push((n, at)),
        }
    }
    // Where blocks are drawn small not every one has room for its number: a smaller one, or it stands beside and is tied.
    without.retain(|(n, at)| {
        let little = sized(&format!("{}", n + 1), *at, Align2::CENTER_CENTER, LITTLE);
        let fits = is_free(&all, little.rect) && !hidden(little.rect);
        if fits {
            all.push(little);
        }
        !fits
    });
    let middles = routed.blocks.iter().map(|corners| middle(&corners.map(|c| look.pos(c[lay]))));
    let small = middles.map(|at| Rect::from_center_size(at, vec2(7.0, 7.0)));
    let taken = all.iter().map(|o| o.rect).chain(fixed.iter().copied()).chain(marks.iter().copied()).chain(small);
    let mut labels = Labels::within(canvas.shrink(2.0), taken);
    for (n, at) in without {
        let text = format!("{}", n + 1);
        let wanted = Wanted {
            at,
            anchor: Align2::CENTER_CENTER,
            texts: std::slice::from_ref(&text),
            font: theme::bold_font(LITTLE),
            ink: Color32::BLACK,
            moves: Moves::Lines(1),
            must: true,
        };
        let beside =
            labels.place(painter, &wanted).map(|p| Number { text: text.clone(), rect: p.rect, size: LITTLE, of: Some(at) });
        all.extend(beside.filter(|made| is_free(&all, made.rect)));
    }
    // Where one sets out comes before where one gets off; while it is dragged its name goes with it.
    let [start, out] = [0, 1].map(|end: usize| look.pos(routed.ends[end][lay]));
    let ends = [("start", start), ("out", out)].into_iter().filter(|(name, at)| match *name {
        "start" => !state.next_low.drags_start,
        _ => at.distance(start) > ONE_END,
    });
    let of_ends = ends.map(|(name, at)| (name, beside(at, canvas).to_vec()));
    let of_you = you.map(|at| ("you", around(at).to_vec()));
    for (name, places) in of_you.into_iter().chain(of_ends) {
        let places = places.into_iter().map(|(at, anchor)| number(name, at, anchor));
        let free = places.into_iter().find(|place| is_free(&all, place.rect));
        all.extend(free);
    }
    all
}

/// Room that the mark of where one is takes.
const YOU: Vec2 = vec2(17.0, 17.0);

/// Where one is at the moment shown, while that is on the way.
fn you(look: &Look, shown: &FrameContext<'_>, state: &State, routed: &RouteDrawing) -> Option<Pos2> {
    let (route, now) = (routed.route(), state.clock.at);
    let (land, _) = shown.land().filter(|_| now >= route.depart && now <= route.back)?;
    Some(look.pos(land.placing.of_local(route.at(now)?)[state.plan.lay_index()]))
}

/// Where the name of where one is may stand.
fn around(at: Pos2) -> [(Pos2, Align2); 4] {
    [
        (at + vec2(10.0, -2.0), Align2::LEFT_BOTTOM),
        (at + vec2(-10.0, -2.0), Align2::RIGHT_BOTTOM),
        (at + vec2(10.0, 2.0), Align2::LEFT_TOP),
        (at + vec2(-10.0, 2.0), Align2::RIGHT_TOP),
    ]
}

/// Where the numbers of the blocks are to stand.
pub(super) fn places_of_numbers(look: &Look, shown: &FrameContext<'_>, state: &State) -> Vec<Rect> {
    if state.sheet != SheetChoice::NextLow {
        return Vec::new();
    }
    let Some((routed, _)) = state.next_low.current_route(shown) else { return Vec::new() };
    let lay = state.plan.lay_index();
    let middles = routed.blocks.iter().map(|corners| middle(&corners.map(|c| look.pos(c[lay]))));
    middles.map(|at| Rect::from_center_size(at, vec2(14.0, 13.0))).collect()
}

/// Where the marks of the ends of the way stand, and that of where one is.
pub(super) fn marks(look: &Look, shown: &FrameContext<'_>, state: &State) -> Vec<Rect> {
    if state.sheet != SheetChoice::NextLow {
        return Vec::new();
    }
    let Some((routed, _)) = state.next_low.current_route(shown) else { return Vec::new() };
    let lay = state.plan.lay_index();
    let ends = routed.ends.iter().map(|end| Rect::from_center_size(look.pos(end[lay]), vec2(18.0, 18.0)));
    ends.chain(you(look, shown, state, &routed).map(|at| Rect::from_center_size(at, YOU))).collect()
}

/// Ends no further apart than this are one, points.
const ONE_END: f32 = 14.0;

/// Where the name of an end may stand: over it, or under it where Plan ends above.
fn beside(end: Pos2, canvas: Rect) -> [(Pos2, Align2); 2] {
    let (over, under) = ((end - vec2(0.0, 11.0), Align2::CENTER_BOTTOM), (end + vec2(0.0, 10.0), Align2::CENTER_TOP));
    if end.y - 28.0 < canvas.top() { [under, over] } else { [over, under] }
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
    if start.distance(end) > ONE_END {
        painter.rect(
            Rect::from_center_size(end, vec2(11.0, 11.0)),
            0.0,
            p.card,
            Stroke::new(2.0, p.ink),
            egui::StrokeKind::Middle,
        );
    }
    let at = match painter.ctx().pointer_latest_pos().filter(|_| state.next_low.drags_start) {
        Some(pointer) => pointer,
        None => start,
    };
    painter.circle(at, 8.0, p.accent, Stroke::new(2.0, p.ink));
    if state.next_low.drags_start {
        let [(at, anchor), _] = beside(at, painter.clip_rect());
        theme::halo_text(painter, at, anchor, "start", theme::bold_font(12.0), p.ink);
    }
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
