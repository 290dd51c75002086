//! What was read, on the ground: scour lines as broad soft strokes, drop zones and clusters outlined.

use egui::epaint::PathStroke;
use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use super::camera::Look;
use super::ground::on_screen;
use crate::app::State;
use crate::app::derived::ReadOutline;
use crate::app::shown::Shown;
use crate::app::state::Item;
use crate::app::theme::{self, Palette, palette};

/// Width of a scour line's stroke, points.
const SCOUR: f32 = 15.0;

/// Scour lines lie under the marks, as they are ground rather than things.
pub(super) fn under(painter: &Painter, look: &Look, shown: &Shown<'_>, state: &State) {
    let Some(read) = shown.derived.read.value().filter(|_| state.plan.verdicts) else { return };
    let p = palette(painter.ctx());
    for line in &read.scour_lines {
        let colour = if lit(state, line.item) { p.picked } else { p.accent };
        let places = on_screen(&line.places, state.plan.lay_index(), look);
        painter.add(Shape::line(places, PathStroke::new(SCOUR, colour.gamma_multiply(0.45))));
    }
}

/// Outlines and names lie over the marks.
pub(super) fn over(painter: &Painter, look: &Look, shown: &Shown<'_>, state: &State) {
    let Some(read) = shown.derived.read.value().filter(|_| state.plan.verdicts) else { return };
    let p = palette(painter.ctx());
    let wanted = crate::app::sheet::read_of(state.read.weight);
    let mut names = Names { painter, taken: Vec::new() };
    for line in &read.scour_lines {
        let places = on_screen(&line.places, state.plan.lay_index(), look);
        let Some(first) = places.iter().copied().min_by(|a, b| a.x.total_cmp(&b.x)) else { continue };
        let colour = if lit(state, line.item) { p.picked } else { p.accent };
        names.put(pos2(first.x, first.y - SCOUR / 2.0 - 1.0), &line.label, colour);
    }
    // The surest say it all; the rest is drawn while it is in the light, or when there is nothing surer.
    let zones = read.spots.iter().any(is_zone);
    let spots = zones || !read.scour_lines.is_empty();
    for spot in read.spots.iter().filter(|s| lit(state, s.item) || is_zone(s) || !spots) {
        ring(&mut names, look, state, spot, p, 2.3);
    }
    let bare = !spots && read.spots.is_empty();
    for cluster in read.clusters.iter().filter(|c| c.of == wanted && (bare || lit(state, c.item))) {
        ring(&mut names, look, state, cluster, p, 1.9);
    }
}

fn is_zone(spot: &ReadOutline) -> bool {
    spot.label.starts_with("drop zone")
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

fn ring(names: &mut Names<'_>, look: &Look, state: &State, outline: &ReadOutline, p: &Palette, width: f32) {
    let lit = lit(state, outline.item);
    let colour = if lit { p.picked } else { p.cluster };
    let mut line = on_screen(&outline.places, state.plan.lay_index(), look);
    line.extend(line.first().copied());
    let Some(top) = line.iter().copied().min_by(|a, b| a.y.total_cmp(&b.y)) else { return };
    // Paper under ink, so that the dashes read over a crowd of marks.
    names.painter.add(Shape::line(line.clone(), PathStroke::new(width + 1.6, p.card.gamma_multiply(0.7))));
    names.painter.extend(Shape::dashed_line(&line, Stroke::new(width, colour), 7.0, 4.0));
    // What lies near is named on the drawing anyway; the card and the light say it in full.
    let short = outline.label.split(" · ").next().unwrap_or_default();
    names.put(pos2(top.x - 30.0, top.y - 3.0), if lit { &outline.label } else { short }, colour);
}
