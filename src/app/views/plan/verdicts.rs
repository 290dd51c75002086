//! What was read, on the ground: scour lines as broad soft strokes, drop zones and clusters outlined.

use egui::epaint::PathStroke;
use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use super::ground::on_screen;
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::widgets::theme::{self, Palette, palette};
use crate::query::Item;
use crate::query::drawing::ReadOutline;
use crate::reading::{Pattern, Verdict};

/// Width of a scour line's stroke, points.
const SCOUR: f32 = 15.0;

/// The verdicts drawn at a choice of weight, with what they tell of.
fn drawn<'a>(shown: &FrameContext<'a>, state: &State) -> impl Iterator<Item = (&'a Verdict, &'a ReadOutline)> {
    let of = state.read.weight;
    let read = shown.read().map(|(read, _)| read).filter(|_| state.plan.verdicts);
    read.into_iter().flat_map(move |r| r.verdicts(of).iter().filter_map(|v| Some((v, r.outline_of(v)?))))
}

/// Scour lines lie under the marks, as they are ground rather than things.
pub(super) fn under(painter: &Painter, look: &Look, shown: &FrameContext<'_>, state: &State) {
    let p = palette(painter.ctx());
    for (_, line) in drawn(shown, state).filter(|(v, _)| matches!(v.told, Pattern::ScourLine(_))) {
        let lit = lit(state, line.item);
        let colour = if lit { p.picked } else { p.accent };
        let places = on_screen(&line.places, state.plan.lay_index(), look);
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

/// Outlines and names lie over the marks. Returns where its names stand, so that others make way.
pub(super) fn over(painter: &Painter, look: &Look, shown: &FrameContext<'_>, state: &State) -> Vec<Rect> {
    let Some((read, _)) = shown.read().filter(|_| state.plan.verdicts) else { return Vec::new() };
    let p = palette(painter.ctx());
    let mut names = Names { painter, taken: Vec::new() };
    for (verdict, outline) in drawn(shown, state) {
        match verdict.told {
            Pattern::ScourLine(_) => {
                let places = on_screen(&outline.places, state.plan.lay_index(), look);
                let Some(first) = places.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)) else { continue };
                let colour = if lit(state, outline.item) { p.picked } else { p.accent };
                names.put(pos2(first.x, first.y - SCOUR / 2.0 - 1.0), &outline.label, colour);
            }
            Pattern::DropZone(_) => ring(&mut names, look, state, outline, p, 2.3, true),
            Pattern::HotSpot(_) => ring(&mut names, look, state, outline, p, 1.4, false),
        }
    }
    let told = drawn(shown, state).next().is_some();
    let wanted = state.read.weight;
    // Hot spots told with another verdict, and clusters, only while they are in the light; clusters
    // also when there is nothing surer.
    let folded = read.spots.iter().filter(|s| lit(state, s.item) && !drawn(shown, state).any(|(_, o)| o.item == s.item));
    let clusters = read.clusters.iter().filter(|c| c.of == wanted && (!told || lit(state, c.item)));
    for outline in folded.chain(clusters) {
        ring(&mut names, look, state, outline, p, 1.7, true);
    }
    names.taken
}

/// The verdict drawn at a position: on a scour line's stroke or inside a spot's outline.
pub(super) fn at(shown: &FrameContext<'_>, state: &State, look: &Look, pos: Pos2) -> Option<Item> {
    let lay = state.plan.lay_index();
    let hit = |(verdict, outline): &(&Verdict, &ReadOutline)| {
        let places = on_screen(&outline.places, lay, look);
        match verdict.told {
            Pattern::ScourLine(_) => places.windows(2).any(|w| distance_to(pos, w[0], w[1]) < SCOUR / 2.0 + 1.0),
            Pattern::DropZone(_) | Pattern::HotSpot(_) => holds(&places, pos),
        }
    };
    drawn(shown, state).find(hit).map(|(_, outline)| outline.item)
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
    taken: Vec<Rect>,
}

impl Names<'_> {
    /// Writes a name with its lower left corner there, or as little higher as there is room.
    fn put(&mut self, at: Pos2, name: &str, colour: Color32) {
        let clip = self.painter.clip_rect();
        let size = self.painter.layout_no_wrap(name.to_owned(), theme::bold_font(13.0), colour).size();
        let most = (clip.right() - size.x - 6.0).max(clip.left() + 6.0);
        let mut rect = Align2::LEFT_BOTTOM.anchor_size(pos2(at.x.clamp(clip.left() + 6.0, most), at.y), size);
        for _ in 0..6 {
            if !self.taken.iter().any(|t| t.intersects(rect)) {
                break;
            }
            rect = rect.translate(vec2(0.0, -size.y));
        }
        theme::halo_text(self.painter, rect.min, Align2::LEFT_TOP, name, theme::bold_font(13.0), colour);
        self.taken.push(rect);
    }
}

fn lit(state: &State, item: Item) -> bool {
    state.selection.holds(item) || state.selection.hovered == Some(item)
}

fn ring(names: &mut Names<'_>, look: &Look, state: &State, outline: &ReadOutline, p: &Palette, width: f32, named: bool) {
    let lit = lit(state, outline.item);
    let colour = if lit { p.picked } else { p.cluster };
    let mut line = on_screen(&outline.places, state.plan.lay_index(), look);
    line.extend(line.first().copied());
    let Some(top) = line.iter().copied().min_by(|a, b| a.y.total_cmp(&b.y)) else { return };
    // Paper under ink, so that the dashes read over a crowd of marks.
    names.painter.add(Shape::line(line.clone(), PathStroke::new(width + 1.6, p.card.gamma_multiply(0.7))));
    if lit {
        names.painter.add(Shape::line(line, PathStroke::new(width + 0.6, colour)));
    } else {
        names.painter.extend(Shape::dashed_line(&line, Stroke::new(width, colour), 7.0, 4.0));
    }
    if !named && !lit {
        return;
    }
    // What lies near is named on the drawing anyway; the card and the light say it in full.
    let short = outline.label.split(" · ").next().unwrap_or_default();
    names.put(pos2(top.x - 30.0, top.y - 3.0), if lit { &outline.label } else { short }, colour);
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
