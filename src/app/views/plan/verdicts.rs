//! What was read, on the ground: scour lines as broad soft strokes, drop zones and clusters outlined.

use std::sync::Arc;

use egui::epaint::PathStroke;
use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, pos2, vec2};

use super::ground::on_screen;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::plan_drawn::{Seen, VerdictsDrawn, VerdictsOver, VerdictsUnder};
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::labels::{Labels, Moves, Wanted};
use crate::app::widgets::lines;
use crate::app::widgets::theme::{self, Palette, palette};
use crate::query::Item;
use crate::query::drawing::ReadOutline;
use crate::reading::{Pattern, Verdict};

/// Width of a scour line's stroke, points.
const SCOUR: f32 = 15.0;

/// What is drawn of a reading, if it is to be drawn.
fn drawn(shown: &FrameContext<'_>, state: &State) -> Option<VerdictsDrawn> {
    let (read, _) = shown.read().filter(|_| state.plan.verdicts)?;
    let selection = &state.selection;
    let lit = |item: Item| selection.holds(item) || selection.hovered == Some(item);
    let lit = if selection.is_empty() && selection.hovered.is_none() {
        Vec::new()
    } else {
        read.outlines().map(|o| o.item).filter(|item| lit(*item)).collect()
    };
    let seen = Seen { look: state.plan.look()?, lay: state.plan.lay_index() };
    Some(VerdictsDrawn { read: read.clone(), of: state.read.weight, seen, lit })
}

impl VerdictsDrawn {
    /// The verdicts drawn, with what they tell of.
    fn told(&self) -> impl Iterator<Item = (&Verdict, &ReadOutline)> {
        self.read.verdicts(self.of).iter().filter_map(|v| Some((v, self.read.outline_of(v)?)))
    }

    fn is_lit(&self, item: Item) -> bool {
        self.lit.contains(&item)
    }
}

/// Scour lines lie under the marks, as they are ground rather than things.
pub(super) fn under(painter: &Painter, shown: &FrameContext<'_>, state: &mut State) {
    if let Some(drawn) = drawn(shown, state) {
        state.plan.verdicts_under.show(painter, VerdictsUnder(drawn));
    }
}

impl Drawing for VerdictsUnder {
    type Told = ();

    fn draw(&self, painter: &Painter) {
        let (p, Seen { look, lay }) = (palette(painter.ctx()), &self.0.seen);
        for (_, line) in self.0.told().filter(|(v, _)| matches!(v.told, Pattern::ScourLine(_))) {
            let lit = self.0.is_lit(line.item);
            let colour = if lit { p.picked } else { p.accent };
            let places = on_screen(&line.places, *lay, look);
            painter.add(Shape::line(places.clone(), PathStroke::new(SCOUR, colour.gamma_multiply(0.45))));
            if lit {
                // A rail to either side, so that being picked is more than a change of colour.
                for side in [-1.0, 1.0] {
                    let rail = places.iter().map(|q| *q + vec2(0.0, side * (SCOUR / 2.0 + 2.0))).collect();
                    painter.add(Shape::line(rail, PathStroke::new(1.6, colour)));
                }
            }
        }
    }
}

/// Outlines and names lie over the marks; the names keep clear of what is taken. Returns all that is taken then. Where a
/// route is to be drawn over it all in a veil, nothing is named: names in a veil cannot be read.
pub(super) fn over(
    painter: &Painter,
    shown: &FrameContext<'_>,
    state: &mut State,
    taken: Arc<[Rect]>,
    veiled: bool,
) -> Arc<[Rect]> {
    match drawn(shown, state) {
        Some(drawn) => state.plan.verdicts_over.show(painter, VerdictsOver { drawn, taken, veiled }),
        None => taken,
    }
}

impl Drawing for VerdictsOver {
    type Told = Arc<[Rect]>;

    fn draw(&self, painter: &Painter) -> Self::Told {
        let (p, drawn) = (palette(painter.ctx()), &self.drawn);
        let inner = painter.clip_rect().shrink2(vec2(6.0, 2.0));
        let mut names = Names { painter, labels: Labels::within(inner, self.taken.iter().copied()), veiled: self.veiled };
        for (verdict, outline) in drawn.told() {
            match verdict.told {
                Pattern::ScourLine(_) => {
                    let places = on_screen(&outline.places, drawn.seen.lay, &drawn.seen.look);
                    let Some(first) = places.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)) else { continue };
                    let colour = if drawn.is_lit(outline.item) { p.picked } else { p.accent };
                    names.put(pos2(first.x, first.y - SCOUR / 2.0 - 1.0), &outline.label, colour, drawn.is_lit(outline.item));
                }
                Pattern::DropZone(_) => ring(&mut names, drawn, outline, p, 2.3, true),
                Pattern::HotSpot(_) => ring(&mut names, drawn, outline, p, 1.4, false),
            }
        }
        let told = drawn.told().next().is_some();
        // Hot spots told with another verdict, and clusters, only while they are in the light; clusters
        // also when there is nothing surer.
        let folded = |s: &&ReadOutline| drawn.is_lit(s.item) && !drawn.told().any(|(_, o)| o.item == s.item);
        let folded = drawn.read.spots.iter().filter(folded);
        let clusters = drawn.read.clusters.iter().filter(|c| c.of == drawn.of && (!told || drawn.is_lit(c.item)));
        for outline in folded.chain(clusters) {
            ring(&mut names, drawn, outline, p, 1.7, true);
        }
        names.labels.taken()
    }
}

/// The verdict drawn at a position: on a scour line's stroke or inside a spot's outline.
pub(super) fn at(shown: &FrameContext<'_>, state: &State, look: &Look, pos: Pos2) -> Option<Item> {
    let lay = state.plan.lay_index();
    let (read, _) = shown.read().filter(|_| state.plan.verdicts)?;
    let told = read.verdicts(state.read.weight).iter().filter_map(|v| Some((v, read.outline_of(v)?)));
    let hit = |(verdict, outline): &(&Verdict, &ReadOutline)| {
        let places = on_screen(&outline.places, lay, look);
        match verdict.told {
            Pattern::ScourLine(_) => places.windows(2).any(|w| distance_to(pos, w[0], w[1]) < SCOUR / 2.0 + 1.0),
            Pattern::DropZone(_) | Pattern::HotSpot(_) => holds(&places, pos),
        }
    };
    told.into_iter().find(hit).map(|(_, outline)| outline.item)
}

/// Distance from a position to a stretch of line, points.
fn distance_to(p: Pos2, a: Pos2, b: Pos2) -> f32 {
    let d = b - a;
    let t = if d.length_sq() > 0.0 { ((p - a).dot(d) / d.length_sq()).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(a + t * d)
}

/// Whether a position lies inside a ring: it does if a ray from it crosses the ring an odd number of times.
fn holds(ring: &[Pos2], p: Pos2) -> bool {
    let crossed = ring
        .iter()
        .zip(ring.iter().cycle().skip(1))
        .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x);
    crossed.count() % 2 == 1
}

/// Names that make way for each other.
struct Names<'a> {
    painter: &'a Painter,
    labels: Labels,
    veiled: bool,
}

impl Names<'_> {
    /// Writes a name with its lower left corner there, or as little higher as there is room; in fewer words where there
    /// is none. What is in the light is always named.
    fn put(&mut self, at: Pos2, name: &str, colour: Color32, lit: bool) {
        if self.veiled {
            return;
        }
        let texts = [name.to_owned(), name.split(" · ").next().unwrap_or_default().to_owned()];
        let (anchor, font) = (Align2::LEFT_BOTTOM, theme::bold_font(13.0));
        let wanted = Wanted { at, anchor, texts: &texts, font, ink: colour, moves: Moves::Up(6), must: lit };
        if let Some(placed) = self.labels.place(self.painter, &wanted) {
            placed.paint_on_ground(self.painter);
        }
    }
}

fn ring(names: &mut Names<'_>, drawn: &VerdictsDrawn, outline: &ReadOutline, p: &Palette, width: f32, named: bool) {
    let lit = drawn.is_lit(outline.item);
    let colour = if lit { p.picked } else { p.cluster };
    let mut line = on_screen(&outline.places, drawn.seen.lay, &drawn.seen.look);
    line.extend(line.first().copied());
    let Some(top) = line.iter().copied().min_by(|a, b| a.y.total_cmp(&b.y)) else { return };
    let line = lines::plain(&line);
    // Paper under ink, so that the dashes read over a crowd of marks.
    names.painter.add(Shape::line(line.clone(), PathStroke::new(width + 1.6, p.card.gamma_multiply(0.7))));
    if lit {
        names.painter.add(Shape::line(line, PathStroke::new(width + 0.6, colour)));
    } else {
        names.painter.extend(lines::dashed(&line, &PathStroke::new(width, colour), 7.0, 4.0));
    }
    if !named && !lit {
        return;
    }
    // What lies near is named on the drawing anyway; the card and the light say it in full.
    let short = outline.label.split(" · ").next().unwrap_or_default();
    names.put(pos2(top.x - 30.0, top.y - 3.0), if lit { &outline.label } else { short }, colour, lit);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inside_is_inside_and_near_is_near() {
        let ring = [pos2(0.0, 0.0), pos2(10.0, 0.0), pos2(10.0, 10.0), pos2(0.0, 10.0)];
        assert!(holds(&ring, pos2(5.0, 5.0)) && !holds(&ring, pos2(15.0, 5.0)) && !holds(&ring, pos2(-1.0, 5.0)));
        assert!(!holds(&[], pos2(0.0, 0.0)));
        assert!((distance_to(pos2(5.0, 3.0), pos2(0.0, 0.0), pos2(10.0, 0.0)) - 3.0).abs() < 1e-6);
        assert!((distance_to(pos2(-4.0, 3.0), pos2(0.0, 0.0), pos2(0.0, 0.0)) - 5.0).abs() < 1e-6);
    }
}
