//! A crowd of marks: thinned where they would cover their like, and drawn as one mesh that is made again only
//! when something about it changed, so that a frame costs the same however many there are.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use egui::epaint::{Mesh, Tessellator};
use egui::{Color32, Context, Painter, Pos2, Rect, Shape, Stroke, Vec2};

use super::kept;
use super::marks::mark;
use super::named_marks::Named;
use super::theme::palette;
use crate::app::state::{FrameContext, Selection};
use crate::query::Item;
use crate::query::drawing::{Mark, MarkShape, Marks};

/// As few as these are all drawn, however close together.
const FEW: usize = 1_200;
/// Marks drawn at most.
const MOST: usize = 2_500;
/// So much of a drawing is there for each mark before they are thinned, square points.
const PER_MARK: f32 = 220.0;
/// Side of the square in which, of each shape, the topmost alone is drawn, points; wider until few enough are left.
const SQUARE: f32 = 3.0;
/// What is picked or in the light is always drawn as long as it is no more than this.
const ALWAYS: usize = 1_000;

/// Marks that are told by words to be dangerous, at most; more would cover the ground they warn of.
const MOST_DANGERS: usize = 12;

/// A mark with its position on the screen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Placed {
    pub(crate) at: Pos2,
    /// Its place among all marks.
    pub(crate) number: u32,
    shape: MarkShape,
}

/// How marks look in a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Style {
    pub(crate) scale: f32,
    /// Radius of the ring round what is picked: so many points and so many times the mark's size.
    pub(crate) ring: (f32, f32),
    /// Width of that ring, and of the one round what was picked last.
    pub(crate) widths: (f32, f32),
}

impl Style {
    /// Radius of the ring round a mark.
    pub(crate) fn radius(&self, mark: &Mark) -> f32 {
        self.ring.0 + self.ring.1 * mark.size * self.scale
    }
}

/// What decides the colours of a crowd.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tones {
    style: Style,
    dark: bool,
    selection: u64,
    lead: Option<Item>,
    light: Option<Item>,
    read: Option<u64>,
}

/// The marks of one drawing as they were last laid out; `K` is what decided where they stand.
#[derive(Debug, Clone)]
pub(crate) struct Crowd<K> {
    key: Option<K>,
    tones: Option<Tones>,
    /// In painter's order.
    drawn: Vec<Placed>,
    /// Those that may be ordnance.
    dangers: Arc<[Pos2]>,
    /// Those not drawn, as their like stands in the very place.
    pub(crate) left_out: usize,
    mesh: Arc<Mesh>,
    /// Those that are picked.
    pub(crate) picked: Vec<Placed>,
}

impl<K> Default for Crowd<K> {
    fn default() -> Self {
        let (drawn, picked) = (Vec::new(), Vec::new());
        Self { key: None, tones: None, drawn, dangers: Arc::default(), left_out: 0, mesh: Arc::default(), picked }
    }
}

impl<K: PartialEq> Crowd<K> {
    /// Lays the marks out anew when what decides their places has changed. `at` tells where the mark of a number
    /// stands, if it is in `room`; `all` lists the numbers to try, in painter's order.
    pub(crate) fn lay(
        &mut self,
        key: K,
        room: Rect,
        marks: &Marks,
        all: impl FnOnce() -> Vec<u32>,
        at: impl Fn(u32) -> Option<Pos2>,
    ) {
        if self.key.as_ref() == Some(&key) {
            return;
        }
        let place = |number: u32| Some(Placed { at: at(number)?, number, shape: marks.spots[number as usize].shape });
        let all = all();
        let mut placed: Vec<Placed> = Vec::with_capacity(all.len());
        placed.extend(all.into_iter().filter_map(place));
        let count = placed.len();
        let dangers = placed.iter().filter(|p| p.shape == MarkShape::Danger).take(MOST_DANGERS);
        self.dangers = dangers.map(|p| p.at).collect();
        self.drawn = thinned(placed, limits(room));
        self.left_out = count - self.drawn.len();
        (self.key, self.tones) = (Some(key), None);
    }

    /// Shows what was laid out, in the colours of what is picked and in the light.
    pub(crate) fn show(
        &mut self,
        painter: &Painter,
        marks: &Marks,
        shown: &FrameContext<'_>,
        selection: &Selection,
        style: Style,
        at: impl Fn(u32) -> Option<Pos2>,
    ) {
        let ctx = painter.ctx();
        let dark = ctx.theme() == egui::Theme::Dark;
        let (light, read) = (shown.in_light(selection), shown.read().map(|(read, _)| read.serial));
        let tones = Tones { style, dark, selection: selection.version(), lead: selection.lead, light, read };
        if self.tones != Some(tones) {
            self.colour(ctx, marks, shown, selection, style, at);
            self.tones = Some(tones);
        }
        kept::apart(painter, &self.mesh);
    }

    /// What is drawn, from left to right.
    fn in_order(&self) -> Vec<Placed> {
        let mut order: Vec<Placed> = self.drawn.iter().chain(&self.picked).copied().collect();
        order.sort_by(|a, b| a.at.x.total_cmp(&b.at.x).then(a.at.y.total_cmp(&b.at.y)).then(a.number.cmp(&b.number)));
        order.dedup_by_key(|placed| placed.number);
        order
    }

    /// What is drawn, as things with names: what is picked first, then from left to right.
    pub(crate) fn named(&self, marks: &Marks) -> Vec<Named> {
        let picked: BTreeSet<u32> = self.picked.iter().map(|p| p.number).collect();
        let (first, rest): (Vec<Placed>, Vec<Placed>) = self.in_order().into_iter().partition(|p| picked.contains(&p.number));
        let all = first.into_iter().chain(rest);
        let named =
            |p: Placed| Named { item: marks.all[p.number as usize].item, rect: Rect::from_center_size(p.at, Vec2::splat(12.0)) };
        all.map(named).collect()
    }

    /// The mark after or before another as they stand from left to right; the first or last where that one is not drawn.
    pub(crate) fn step(&self, from: Option<u32>, forward: bool) -> Option<u32> {
        let order = self.in_order();
        let here = from.and_then(|from| order.iter().position(|placed| placed.number == from));
        let to = match (here, forward) {
            (None, true) => 0,
            (None, false) => order.len().checked_sub(1)?,
            (Some(n), true) => (n + 1) % order.len(),
            (Some(n), false) => (n + order.len() - 1) % order.len(),
        };
        order.get(to).map(|placed| placed.number)
    }

    /// Where marks stand that may be ordnance.
    pub(crate) fn dangers(&self) -> Arc<[Pos2]> {
        Arc::clone(&self.dangers)
    }

    /// The drawn mark nearest to a position within so many points.
    pub(crate) fn nearest(&self, to: Pos2, reach: f32) -> Option<u32> {
        let near = self.drawn.iter().chain(&self.picked).map(|p| (p.at.distance_sq(to), p.number));
        near.filter(|(d, _)| *d < reach * reach).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, number)| number)
    }

    fn colour(
        &mut self,
        ctx: &Context,
        marks: &Marks,
        shown: &FrameContext<'_>,
        selection: &Selection,
        style: Style,
        at: impl Fn(u32) -> Option<Pos2>,
    ) {
        let spotlight = shown.spotlight(selection);
        let mut stamps = Stamps::new(ctx);
        let mut mesh = kept::emptied(&mut self.mesh);
        let picked = |number: u32| !selection.is_empty() && selection.holds(marks.all[number as usize].item);
        let mut on_top = spotlight.lit(marks, ALWAYS);
        if selection.len() <= ALWAYS {
            on_top.extend(selection.items().filter_map(|i| marks.number(i)));
        }
        on_top.sort_unstable();
        on_top.dedup();
        self.picked.clear();
        let mut ringed = Vec::new();
        for placed in &self.drawn {
            let mark = &marks.all[placed.number as usize];
            let is_picked = picked(placed.number);
            let faint = spotlight.is_on() && !is_picked && !spotlight.lights(mark);
            stamps.mark(&mut mesh, placed.at, mark.shape, mark.size * style.scale, faint);
            if is_picked {
                ringed.push(*placed);
            }
        }
        // They are among those drawn on top.
        if selection.len() <= ALWAYS {
            ringed.clear();
        }
        for number in on_top {
            let (mark, Some(at)) = (&marks.all[number as usize], at(number)) else { continue };
            stamps.mark(&mut mesh, at, mark.shape, mark.size * style.scale, false);
            if picked(number) {
                ringed.push(Placed { at, number, shape: mark.shape });
            }
        }
        for placed in &ringed {
            let mark = &marks.all[placed.number as usize];
            let width = if selection.lead == Some(mark.item) { style.widths.1 } else { style.widths.0 };
            stamps.ring(&mut mesh, placed.at, style.radius(mark), width);
        }
        self.picked = ringed;
        self.mesh = Arc::new(mesh);
    }
}

/// Of how many all are drawn, and how many are drawn at most: fewer on a small drawing, where they would hide the ground.
fn limits(room: Rect) -> (usize, usize) {
    let area = room.area().max(0.0);
    (FEW.min((area / PER_MARK) as usize), MOST.min((2.0 * area / PER_MARK) as usize))
}

/// One of so many is looked at first where there are many.
const SAMPLED: usize = 16;

/// Those that are seen: of each shape the topmost in each square of the screen.
fn thinned(placed: Vec<Placed>, (few, most): (usize, usize)) -> Vec<Placed> {
    if placed.len() <= few {
        return placed;
    }
    let bounds = placed.iter().fold(Rect::NOTHING, |r, p| r.union(Rect::from_min_max(p.at, p.at)));
    let mut squares = Squares { bounds, side: SQUARE };
    // Where some of them are too many already, all are.
    while !squares.is_one() && placed.len() > SAMPLED * most && squares.topmost(placed.iter().rev().step_by(SAMPLED)).len() > most
    {
        squares.side *= WIDER;
    }
    // The topmost first.
    let mut left = squares.topmost(placed.iter().rev());
    while left.len() > most && !squares.is_one() {
        squares.side *= WIDER;
        left = squares.topmost(left.iter());
    }
    left.reverse();
    left
}

/// Squares grow by this.
const WIDER: f32 = 1.3;

/// The screen cut into squares.
struct Squares {
    bounds: Rect,
    side: f32,
}

impl Squares {
    /// Columns and rows.
    fn size(&self) -> [usize; 2] {
        [self.bounds.width(), self.bounds.height()].map(|m| (m / self.side) as usize + 1)
    }

    fn is_one(&self) -> bool {
        self.size() == [1, 1]
    }

    /// Of each shape the first in each square.
    fn topmost<'a>(&self, placed: impl Iterator<Item = &'a Placed>) -> Vec<Placed> {
        let ([columns, rows], per_point) = (self.size(), self.side.recip());
        let mut taken = vec![0_u8; columns * rows];
        let free = |p: &&Placed| {
            let place = |m: f32, count: usize| ((m * per_point) as usize).min(count - 1);
            let (x, y) = (place(p.at.x - self.bounds.left(), columns), place(p.at.y - self.bounds.top(), rows));
            let (of_square, bit) = (&mut taken[y * columns + x], 1 << p.shape as u8);
            let free = *of_square & bit == 0;
            *of_square |= bit;
            free
        };
        placed.filter(free).copied().collect()
    }
}

/// Marks cut into triangles once and then copied to where they stand.
struct Stamps<'a> {
    ctx: &'a Context,
    tessellator: Tessellator,
    made: HashMap<(MarkShape, u16, bool), Mesh>,
    rings: HashMap<(u16, u16), Mesh>,
}

/// Sizes this near to each other are one: no one sees a fiftieth.
const STEP: f32 = 0.02;

impl<'a> Stamps<'a> {
    fn new(ctx: &'a Context) -> Self {
        let options = ctx.tessellation_options(|o| *o);
        let tessellator = Tessellator::new(ctx.pixels_per_point(), options, [1, 1], Vec::new());
        Self { ctx, tessellator, made: HashMap::new(), rings: HashMap::new() }
    }

    fn mark(&mut self, mesh: &mut Mesh, at: Pos2, shape: MarkShape, size: f32, faint: bool) {
        let (ctx, tessellator) = (self.ctx, &mut self.tessellator);
        let steps = (size / STEP).round();
        let stamp = self.made.entry((shape, steps as u16, faint)).or_insert_with(|| {
            let mut made = Mesh::default();
            for part in plain(mark(Pos2::ZERO, shape, steps * STEP, palette(ctx), faint)) {
                tessellator.tessellate_shape(part, &mut made);
            }
            made
        });
        // Straight edges stay crisp.
        let pixels = ctx.pixels_per_point();
        let snapped = matches!(shape, MarkShape::Rubbish | MarkShape::Unknown);
        let by = if snapped { ((at.to_vec2() * pixels).round()) / pixels } else { at.to_vec2() };
        put(mesh, stamp, by);
    }

    fn ring(&mut self, mesh: &mut Mesh, at: Pos2, radius: f32, width: f32) {
        let (ctx, tessellator) = (self.ctx, &mut self.tessellator);
        let steps = ((radius / STEP / 5.0).round(), (width / STEP).round());
        let stamp = self.rings.entry((steps.0 as u16, steps.1 as u16)).or_insert_with(|| {
            let mut made = Mesh::default();
            let stroke = Stroke::new(width, palette(ctx).picked);
            tessellator.tessellate_shape(Shape::closed_line(corners(steps.0 * STEP * 5.0, 14), stroke), &mut made);
            made
        });
        put(mesh, stamp, at.to_vec2());
    }
}

/// The same with as few corners as do at the size of a mark: every one of them is copied for each mark and frame. A
/// disc with an edge becomes two discs.
fn plain(shape: Shape) -> Vec<Shape> {
    let Shape::Circle(circle) = shape else { return vec![shape] };
    let (r, half) = (circle.radius, circle.stroke.width / 2.0);
    if circle.fill == Color32::TRANSPARENT {
        return vec![Shape::closed_line(corners(r, 10), circle.stroke)];
    }
    let disc = |radius: f32, fill| Shape::convex_polygon(corners(radius, 8), fill, Stroke::NONE);
    vec![disc(r + half, circle.stroke.color), disc((r - half).max(0.5), circle.fill)]
}

/// A circle round the origin by some of its points.
fn corners(radius: f32, count: u8) -> Vec<Pos2> {
    let turn = |n: u8| std::f32::consts::TAU * (f32::from(n) + 0.5) / f32::from(count);
    (0..count).map(|n| (radius * Vec2::angled(turn(n))).to_pos2()).collect()
}

fn put(mesh: &mut Mesh, stamp: &Mesh, by: Vec2) {
    let first = mesh.vertices.len() as u32;
    mesh.vertices.extend(stamp.vertices.iter().map(|v| {
        let mut moved = *v;
        moved.pos += by;
        moved
    }));
    mesh.indices.extend(stamp.indices.iter().map(|i| first + i));
}

/// What the legend says of marks that are not drawn.
pub(crate) fn left_out_words(count: usize) -> String {
    format!("{count} more lie under their like")
}

#[cfg(test)]
mod tests {
    use egui::pos2;

    use super::*;

    const WIDE: (usize, usize) = (FEW, MOST);

    #[test]
    fn a_small_drawing_holds_fewer() {
        let room = |width: f32, height: f32| Rect::from_min_size(Pos2::ZERO, egui::vec2(width, height));
        assert_eq!(limits(room(1_000.0, 600.0)), WIDE);
        let (few, most) = limits(room(338.0, 216.0));
        assert!(few < FEW / 2 && few < most && most < MOST, "{few} and {most}");
        assert_eq!(limits(Rect::NOTHING).0, 0);
    }

    fn spread(count: u32, side: f32, shape: impl Fn(u32) -> MarkShape) -> Vec<Placed> {
        let at = |n: u32| pos2((n % 300) as f32 * side / 300.0, (n / 300) as f32 * side / 300.0);
        (0..count).map(|number| Placed { at: at(number), number, shape: shape(number) }).collect()
    }

    #[test]
    fn few_are_all_drawn_and_of_many_the_topmost_of_each_shape_and_square() {
        let few = thinned(spread(FEW as u32, 1.0, |_| MarkShape::Light), WIDE);
        assert_eq!(few.len(), FEW);
        // All in one square: the last of each shape is left, in painter's order.
        let shape = |n: u32| if n.is_multiple_of(2) { MarkShape::Light } else { MarkShape::Heavy };
        let left: Vec<u32> = thinned(spread(2_000, 0.5, shape), WIDE).iter().map(|p| p.number).collect();
        assert_eq!(left, [1_998, 1_999]);
        let many = thinned(spread(90_000, 2_000.0, shape), WIDE);
        assert!(many.len() <= MOST && many.len() > MOST / 3, "{}", many.len());
        assert!(many.windows(2).all(|w| w[0].number < w[1].number));
    }
}
