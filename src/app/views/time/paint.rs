use std::sync::Arc;

use egui::{Align2, Color32, Painter, Pos2, Rangef, Rect, Shape, Stroke, Ui, pos2};

use super::axis::{Axis, ticks};
use crate::app::state::FrameContext;
use crate::app::state::SheetChoice;
use crate::app::state::State;
use crate::app::state::clock::seconds;
use crate::app::state::time::TideLaid;
use crate::app::widgets::canvas::level_words;
use crate::app::widgets::labels::{Labels, Moves, Placed, Wanted};
use crate::app::widgets::named_marks::Named;
use crate::app::widgets::terms::explained;
use crate::app::widgets::theme::{self, Palette, palette};
use crate::query::{Happening, Item};

/// Height of the strip in which outings lie, points.
const OUTINGS: f32 = 8.0;

/// Draws all of it; returns where the next low is named. `keyed`: what the hatching means stands over the drawing.
pub(super) fn paint(
    ui: &Ui,
    canvas: Rect,
    axis: &Axis,
    shown: &FrameContext<'_>,
    state: &mut State,
    keyed: bool,
) -> Option<Placed> {
    let p = palette(ui.ctx());
    let painter = ui.painter().with_clip_rect(canvas);
    // The tide of an earlier setting is never drawn; a wider or narrower stretch of the same tide is.
    let curve = shown.tide_curve().filter(|c| c.span.to_s > axis.span.from_s && c.span.from_s < axis.span.to_s);
    painter.rect_filled(canvas, 0.0, p.card);
    storms_and_outings(&painter, axis, shown, state, p);
    levels(ui, &painter, axis, shown, p);
    let (flag, _) = flag(&painter, axis, shown, state);
    let instant = Rect::from_x_y_ranges(Rangef::point(axis.x(seconds(state.clock.at))).expand(2.0), canvas.y_range());
    let fixed = [flag.expand(2.0), instant];
    let mut labels = super::turns::labels(canvas, fixed);
    let mut surge = None;
    if let Some(curve) = curve {
        let expected = super::expected::from(curve, shown);
        let drawn = state.time.tide.show(&painter, TideLaid { axis: *axis, curve: curve.clone(), expected });
        surge = expected.filter(|_| drawn).map(|(surge, _)| surge);
        let among = surge.filter(|_| !keyed);
        state.time.key = among.and_then(|surge| super::expected::key_among(&painter, axis, curve, surge, &fixed, p));
        state.time.key.iter().for_each(|key| labels.take(*key));
    }
    hours(ui, axis, shown, state, p);
    // What people stake a walk on is named first: the route, then the next low, then how high the other waters stand.
    let highs = curve.map_or_else(Vec::new, |curve| super::turns::rooms_of_highs(&painter, axis, curve, surge));
    state.time.leave = route(&painter, axis, shown, state, &mut labels, &highs);
    let next_low = curve.and_then(|curve| super::turns::name(&painter, axis, curve, shown, state, &mut labels, surge));
    storm_names(&painter, axis, shown, &mut labels, p);
    instants(&painter, axis, shown, state, &mut labels, p);
    next_low
}

/// The route on Time: from setting out to being out, and when to turn back; returns where that is written, clear of the high
/// waters and their names.
fn route(
    painter: &Painter,
    axis: &Axis,
    shown: &FrameContext<'_>,
    state: &State,
    labels: &mut Labels,
    highs: &[Rect],
) -> Option<Placed> {
    if state.sheet != SheetChoice::NextLow {
        return None;
    }
    let p = palette(painter.ctx());
    let (routed, _) = state.next_low.current_route(shown)?;
    let x = |t| axis.x(seconds(t));
    let (from, to) = (x(routed.route().depart), x(routed.route().back));
    let bar = Rect::from_x_y_ranges(from..=to, axis.rect.top()..=axis.rect.top() + 5.0);
    painter.rect_filled(bar, 0.0, p.accent);
    let turn = x(routed.route().turn_back);
    painter.vline(turn, axis.rect.y_range(), Stroke::new(2.0, p.danger));
    let when = shown.route_clock(routed.route()).hour(routed.route().turn_back);
    let texts = [format!("first to leave {when}"), format!("leave {when}")];
    let (at, font) = (pos2(turn + 4.0, axis.rect.top() + 40.0), theme::bold_font(13.0));
    let anchor = Align2::LEFT_TOP;
    if !axis.rect.x_range().contains(turn) {
        return None;
    }
    let mut clear = labels.clone();
    highs.iter().for_each(|high| clear.take(*high));
    let wanted = Wanted { at, anchor, texts: &texts, font, ink: p.danger, moves: Moves::Lines(6), must: true };
    let placed = clear.place(painter, &wanted)?;
    labels.take(placed.rect);
    // Where it had to give way it is tied to its own line.
    let near = placed.rect.clamp(pos2(turn, placed.rect.center().y));
    if (near.x - turn).abs() > 8.0 {
        painter.line_segment([pos2(turn, near.y), near], Stroke::new(1.0, p.danger));
    }
    placed.paint(painter);
    Some(placed)
}

/// Storms by their waves.
fn storm_names(painter: &Painter, axis: &Axis, shown: &FrameContext<'_>, labels: &mut Labels, p: &Palette) {
    for &Happening { item, from_s, to_s, waves_m } in shown.happenings() {
        let (Some(rect), Some(waves_m), Item::Storm(_)) = (box_of(axis, item, from_s, to_s), waves_m, item) else { continue };
        let texts = [format!("storm, waves {waves_m:.1} m"), format!("{waves_m:.1} m")];
        let at = pos2(rect.left().max(axis.rect.left()) + 4.0, axis.rect.top() + super::light::DEEP + 3.0);
        if rect.width() <= 20.0 {
            continue;
        }
        let (anchor, font) = (Align2::LEFT_TOP, theme::label_font(12.0));
        let wanted = Wanted { at, anchor, texts: &texts, font, ink: p.ink, moves: Moves::None, must: false };
        if let Some(placed) = labels.place(painter, &wanted) {
            placed.paint(painter);
        }
    }
}

/// Tide levels as lines, metres at the side.
fn levels(ui: &Ui, painter: &Painter, axis: &Axis, shown: &FrameContext<'_>, p: &Palette) {
    if shown.water().is_none() {
        let said = match (shown.setting(), shown.has_beach()) {
            (Some(_), _) => "No tide source: choose a station or a tide table under Beach.",
            (None, true) => "laying out the beach ...",
            (None, false) => "no beach yet",
        };
        painter.text(axis.rect.center(), Align2::CENTER_CENTER, said, theme::label_font(14.0), p.soft);
        return;
    }
    let span = axis.high_m - axis.low_m;
    let step = [0.5, 1.0, 2.0, 5.0].into_iter().find(|s| span / s <= f64::from(axis.rect.height()) / 20.0).unwrap_or(10.0);
    let mut level = (axis.low_m / step).ceil() * step;
    while level <= axis.high_m {
        let y = axis.y(level);
        painter.hline(axis.rect.x_range(), y, Stroke::new(0.6, p.rule.gamma_multiply(0.7)));
        let text = level_words(level, step);
        if y > axis.rect.top() + 27.0 {
            ui.painter().text(pos2(axis.rect.left() - 5.0, y), Align2::RIGHT_CENTER, text, theme::label_font(12.0), p.ink);
        }
        level += step;
    }
    // What the metres count from, and below whose clock the hours are.
    let beside = |y: f32, text: String| {
        ui.painter().text(pos2(axis.rect.left() - 5.0, y), Align2::RIGHT_TOP, text, theme::label_font(11.0), p.soft);
    };
    beside(axis.rect.top() - 1.0, "m".to_owned());
    if let Some(water) = shown.water() {
        beside(axis.rect.top() + 9.0, water.datum().code().to_owned());
        if let Some(meant) = explained(water.datum().words()) {
            let spot =
                Rect::from_min_max(axis.rect.left_top() - egui::vec2(30.0, 0.0), axis.rect.left_top() + egui::vec2(-2.0, 24.0));
            ui.interact(spot, ui.scope_id().with("datum"), egui::Sense::hover()).on_hover_text(format!("Metres above {meant}"));
        }
    }
}

/// The hours or days under the curve.
fn hours(ui: &Ui, axis: &Axis, shown: &FrameContext<'_>, state: &State, p: &Palette) {
    let zone = shown.time(state.clock.at, "%Z");
    ui.painter().text(
        pos2(axis.rect.left() - 5.0, axis.rect.bottom() + 5.0),
        Align2::RIGHT_TOP,
        zone,
        theme::label_font(11.0),
        p.soft,
    );
    let mut edge = axis.rect.left() - 8.0;
    for tick in ticks(axis.span, axis.rect.width(), shown.zone) {
        let x = axis.x(tick.time_s);
        let (width, ink) = if tick.major { (1.0, p.ink) } else { (0.7, p.soft) };
        ui.painter().vline(x, axis.rect.bottom()..=axis.rect.bottom() + 4.0, Stroke::new(width, ink));
        if tick.major {
            ui.painter().vline(x, axis.rect.y_range(), Stroke::new(0.6, p.rule));
        }
        let font = if tick.major { theme::bold_font(12.0) } else { theme::label_font(12.0) };
        let galley = ui.painter().layout_no_wrap(tick.label, font, ink);
        let left = x - galley.size().x / 2.0;
        // A name that would be cut or touch its neighbour is left out.
        if left > edge + 6.0 && left > axis.rect.left() - 20.0 && left + galley.size().x < axis.rect.right() + 2.0 {
            edge = left + galley.size().x;
            ui.painter().galley(pos2(left, axis.rect.bottom() + 4.0), galley, ink);
        }
    }
}

/// Outings at the foot, storms from the head down.
fn storms_and_outings(painter: &Painter, axis: &Axis, shown: &FrameContext<'_>, state: &State, p: &Palette) {
    let verdict = shown.verdict(&state.selection);
    let mut last = Rect::NOTHING;
    for &Happening { item, from_s, to_s, .. } in shown.happenings() {
        let Some(mut rect) = box_of(axis, item, from_s, to_s) else { continue };
        let behind = verdict.is_some_and(|v| v.rests_on(item));
        let lit = behind || state.selection.holds(item) || state.selection.hovered == Some(item);
        if behind && matches!(item, Item::Outing(_)) {
            // Taller too, so that an outing behind a verdict is told by more than its colour.
            rect.min.y -= OUTINGS;
        }
        match item {
            Item::Storm(_) => {
                painter.rect_filled(rect, 0.0, if lit { p.picked.gamma_multiply(0.30) } else { p.soft.gamma_multiply(0.22) });
            }
            // Over months, outings of one morning stand on the same points.
            _ if !lit && last.contains_rect(rect) => {}
            _ => {
                painter.rect_filled(rect, 0.0, if lit { p.picked } else { p.light });
                if !lit {
                    last = rect;
                }
            }
        }
    }
}

/// Where a happening is drawn, if it is in view.
fn box_of(axis: &Axis, item: Item, from_s: f64, to_s: f64) -> Option<Rect> {
    if to_s < axis.span.from_s || from_s > axis.span.to_s {
        return None;
    }
    let (left, right) = (axis.x(from_s), axis.x(to_s));
    // Even an hour in a year stays wide enough to be seen and pointed at.
    let right = right.max(left + 3.0);
    let rect = Rect::from_x_y_ranges(left..=right, axis.rect.y_range());
    Some(match item {
        Item::Storm(_) => rect,
        _ => Rect::from_min_max(pos2(left, axis.rect.bottom() - OUTINGS), pos2(right, axis.rect.bottom())),
    })
}

/// The outings and storms in view, by when they began.
pub(super) fn named(axis: &Axis, shown: &FrameContext<'_>) -> Vec<Named> {
    let mut seen: Vec<(f64, Named)> = shown
        .happenings()
        .iter()
        .filter_map(|h| {
            Some((h.from_s, Named { item: h.item, rect: box_of(axis, h.item, h.from_s, h.to_s)?.intersect(axis.rect) }))
        })
        .collect();
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    seen.into_iter().map(|(_, named)| named).collect()
}

/// The outing or storm in view after or before another, by when they began; the first or last where that is not in view.
pub(super) fn step(axis: &Axis, shown: &FrameContext<'_>, from: Option<Item>, forward: bool) -> Option<Item> {
    let mut seen: Vec<&Happening> =
        shown.happenings().iter().filter(|h| box_of(axis, h.item, h.from_s, h.to_s).is_some()).collect();
    seen.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    let count = seen.len();
    let here = seen.iter().position(|h| Some(h.item) == from);
    let to = match (here, forward) {
        (None, true) => 0,
        (None, false) => count.checked_sub(1)?,
        (Some(n), true) => (n + 1) % count,
        (Some(n), false) => (n + count - 1) % count,
    };
    seen.get(to).map(|h| h.item)
}

/// The outing or storm under a position; outings first, as they lie over the storms.
pub(super) fn item_at(axis: &Axis, shown: &FrameContext<'_>, at: Pos2) -> Option<Item> {
    let hit = |h: &&Happening| {
        box_of(axis, h.item, h.from_s, h.to_s).is_some_and(|r| match h.item {
            // The name of a storm is what can be pointed at; the rest of it is for the tide.
            Item::Storm(_) => r.contains(at) && at.y < axis.rect.top() + 20.0,
            _ => r.expand2(egui::vec2(2.0, 3.0)).contains(at),
        })
    };
    shown.happenings().iter().rev().find(hit).map(|h| h.item)
}

/// The wall clock and the instant the drawings show.
fn instants(painter: &Painter, axis: &Axis, shown: &FrameContext<'_>, state: &State, labels: &mut Labels, p: &Palette) {
    let now_s = seconds(shown.now);
    if now_s > axis.span.from_s && now_s < axis.span.to_s {
        let x = axis.x(now_s);
        let dash =
            Shape::dashed_line(&[pos2(x, axis.rect.top()), pos2(x, axis.rect.bottom())], Stroke::new(1.0, p.soft), 4.0, 3.0);
        painter.extend(dash);
        let (at, texts) = (pos2(x + 3.0, axis.rect.bottom() - 10.0), ["now".to_owned()]);
        let (anchor, font) = (Align2::LEFT_BOTTOM, theme::label_font(12.0));
        let wanted = Wanted { at, anchor, texts: &texts, font, ink: p.soft, moves: Moves::Lines(3), must: false };
        if let Some(placed) = labels.place(painter, &wanted) {
            placed.paint(painter);
        }
    }
    let x = axis.x(seconds(state.clock.at));
    painter.vline(x, axis.rect.y_range(), Stroke::new(2.0, p.accent));
    let (flag, galley) = flag(painter, axis, shown, state);
    painter.rect_filled(flag, 0.0, p.accent);
    painter.galley_with_override_text_color(flag.min + egui::vec2(4.0, 1.0), galley, p.card);
    if let Some(level) = shown.water_m(state.clock.at) {
        painter.circle(pos2(x, axis.y(level)), 4.0, p.card, Stroke::new(2.0, p.accent));
    }
}

/// The flag that says the instant, and where it hangs: always whole within the view.
fn flag(painter: &Painter, axis: &Axis, shown: &FrameContext<'_>, state: &State) -> (Rect, Arc<egui::Galley>) {
    let said = shown.time(state.clock.at, "%a %-d %b %H:%M");
    let galley = painter.layout_no_wrap(said, theme::bold_font(12.5), Color32::WHITE);
    let size = galley.size() + egui::vec2(8.0, 2.0);
    let left = axis.x(seconds(state.clock.at)) - size.x / 2.0;
    let most = (axis.rect.right() - size.x).max(axis.rect.left());
    (Rect::from_min_size(pos2(left.clamp(axis.rect.left(), most), axis.rect.top()), size), galley)
}
