//! When the water turns and how high it stands then, named as far as there is room.

use std::sync::Arc;

use egui::{Align, Align2, Painter, Rect, pos2};
use jiff::Timestamp;

use super::axis::Axis;
use crate::app::state::clock::seconds;
use crate::app::state::time::TurnNames;
use crate::app::state::{FrameContext, SheetChoice, State};
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::labels::{Labels, Moves, Placed, Wanted};
use crate::app::widgets::theme::{self, palette};
use crate::query::Given;
use crate::query::drawing::Curve;
use crate::tide::{Surge, Turn, TurnKind, rounded};

/// When the water turns and how high it stands then; returns where the low that is planned, else the next one, is named.
pub(super) fn name(
    painter: &Painter,
    axis: &Axis,
    curve: &Given<Curve>,
    shown: &FrameContext<'_>,
    state: &mut State,
    labels: &mut Labels,
    surge: Option<Surge>,
) -> Option<Placed> {
    let at = state.clock.at;
    let expected = surge.map(|surge| (shown.now, super::weather::bounds(surge)));
    let lows = curve.turns.iter().filter(|t| t.kind == TurnKind::Low && t.time >= at && seen(axis, t));
    let planned = state.next_low.low.filter(|_| state.sheet == SheetChoice::NextLow);
    let is_planned = |t: &&Turn| t.kind == TurnKind::Low && Some(t.time) == planned && seen(axis, t);
    let next = curve.turns.iter().find(is_planned).map(|t| t.time).or(lows.map(|t| t.time).min());
    let (curve, zone, taken) = (curve.clone(), shown.zone.clone(), labels.taken());
    let drawing = TurnNames { axis: *axis, curve, at, next, zone, expected, taken };
    let (next_low, named) = state.time.turns.show(painter, drawing);
    named.iter().for_each(|(_, name)| labels.take(name.rect));
    state.time.named = named;
    next_low
}

/// The room for names within the view, beside what is taken.
pub(super) fn labels(canvas: Rect, taken: impl IntoIterator<Item = Rect>) -> Labels {
    Labels::within(canvas.shrink2(egui::vec2(3.0, 1.0)), taken)
}

/// High waters in view beyond which what is written makes no way for each, as there would be no room left.
const MOST_HIGHS: usize = 16;

/// The room that the high waters in view take with their names.
pub(super) fn rooms_of_highs(painter: &Painter, axis: &Axis, curve: &Curve, surge: Option<Surge>) -> Vec<Rect> {
    let highs: Vec<&Turn> = curve.turns.iter().filter(|t| t.kind == TurnKind::High && seen(axis, t)).collect();
    if highs.len() > MOST_HIGHS {
        return Vec::new();
    }
    let ink = palette(painter.ctx()).ink;
    let size = painter.layout_no_wrap("00:00  0.0 m".to_owned(), theme::label_font(12.0), ink).size();
    let most = surge.map_or(0.0, |surge| super::weather::bounds(surge).1.max(0.0));
    let room = |turn: &&Turn| {
        let x = axis.x(seconds(turn.time));
        let named = Align2::CENTER_BOTTOM.anchor_size(pos2(x, axis.y(turn.level_m + most) - 2.0), size);
        named.union(Rect::from_center_size(pos2(x, axis.y(turn.level_m)), egui::Vec2::splat(8.0)))
    };
    highs.iter().map(room).collect()
}

fn seen(axis: &Axis, turn: &Turn) -> bool {
    (axis.span.from_s..=axis.span.to_s).contains(&seconds(turn.time))
}

impl Drawing for TurnNames {
    /// Where the low that people go out for is named, and all names with the time of their turn.
    type Told = (Option<Placed>, Arc<[(Timestamp, Placed)]>);

    /// The low that people go out for always and the high water after it, then those that are near in time, in fewer words
    /// where there is little room; over long spans the lowest lows and the highest highs.
    fn draw(&self, painter: &Painter) -> Self::Told {
        let (p, axis, next) = (palette(painter.ctx()), &self.axis, self.next);
        let mut labels = labels(axis.rect, self.taken.iter().copied());
        let (mut next_low, mut named) = (None, Vec::new());
        let mut all: Vec<&Turn> = self.curve.turns.iter().filter(|t| seen(axis, t)).collect();
        // Over a year there are some 1,400: as many as could ever find room are tried.
        let most = ((axis.rect.width() / 24.0) as usize * 2).max(4);
        let few = all.len() <= most;
        // Whoever is out at the low meets this water on the way back.
        let after = next.and_then(|low| {
            let highs = self.curve.turns.iter().filter(|t| t.kind == TurnKind::High && t.time > low);
            highs.map(|t| t.time).min()
        });
        let from = next.unwrap_or(self.at);
        let rank = |t: &Turn| match t.kind {
            TurnKind::Low if Some(t.time) == next => (0, 0.0),
            TurnKind::High if Some(t.time) == after => (1, 0.0),
            _ if few => (2, (seconds(t.time) - seconds(from)).abs()),
            TurnKind::Low => (2, t.level_m),
            TurnKind::High => (3, -t.level_m),
        };
        all.sort_by(|a, b| rank(a).0.cmp(&rank(b).0).then(rank(a).1.total_cmp(&rank(b).1)));
        let narrowest = painter.layout_no_wrap("1.1".to_owned(), theme::label_font(12.0), p.ink).size();
        let cursor = axis.x(seconds(self.at));
        for turn in all.into_iter().take(most) {
            let (x, y) = (axis.x(seconds(turn.time)), axis.y(turn.level_m));
            // Clear of the hatching of what is expected.
            let (least, most) = self.expected.filter(|(from, _)| turn.time >= *from).map_or((0.0, 0.0), |(_, bounds)| bounds);
            let (anchor, at) = match turn.kind {
                TurnKind::High => (Align2::CENTER_BOTTOM, pos2(x, axis.y(turn.level_m + most.max(0.0)) - 2.0)),
                TurnKind::Low => (Align2::CENTER_TOP, pos2(x, axis.y(turn.level_m + least.min(0.0)) + 2.0)),
            };
            let is_next = Some(turn.time) == next;
            let must = is_next || Some(turn.time) == after;
            // The line of the moment shown stands beside a name rather than in place of it.
            let half = 45.0;
            let (at, anchor) = match (x - cursor).abs() {
                off if must || off > half || !few => (at, anchor),
                _ if x <= cursor => (pos2(cursor - 8.0, at.y), Align2([Align::Max, anchor.y()])),
                _ => (pos2(cursor + 8.0, at.y), Align2([Align::Min, anchor.y()])),
            };
            // Where not even the shortest has room nothing is worded or laid out.
            if !must && !labels.has_room(at, anchor, narrowest) {
                continue;
            }
            let time = turn.time.to_zoned_datetime(self.zone.clone()).strftime("%H:%M").to_string();
            let level = rounded(turn.level_m, 1);
            let mut texts = vec![format!("{time}  {level:.1} m"), format!("{level:.1} m")];
            if is_next {
                texts.insert(0, format!("low {time}  {level:.1} m"));
            } else if must {
                // Height and time alike.
                texts.truncate(1);
            } else {
                texts.push(format!("{level:.1}"));
            }
            let font = if is_next { theme::bold_font(12.0) } else { theme::label_font(12.0) };
            let moves = if must { Moves::Lines(5) } else { Moves::None };
            let wanted = Wanted { at, anchor, texts: &texts, font, ink: p.ink, moves, must };
            if let Some(placed) = labels.place(painter, &wanted) {
                if must {
                    // Where it had to give way it is tied to its own turn, and to no other.
                    let turn = pos2(x, y);
                    let near = placed.rect.clamp(turn);
                    if near.distance(turn) > 6.0 {
                        painter.line_segment([turn, near], egui::Stroke::new(1.0, p.ink));
                    }
                    painter.circle_filled(turn, 2.5, p.ink);
                }
                placed.paint(painter);
                named.push((turn.time, placed.clone()));
                if is_next {
                    next_low = Some(placed);
                }
            }
        }
        (next_low, named.into())
    }
}
