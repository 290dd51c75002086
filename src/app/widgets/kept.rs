//! Drawings that are cut into triangles once and shown again for as long as what they draw stays the same.
//!
//! As with the questions behind them, nobody types a key: a drawing is a value whose fields are all that it is drawn
//! from, answers among them by what they are in memory. Equal fields draw the same, and an answer that came anew, or
//! another view, is another drawing.

use std::fmt;
use std::sync::Arc;

use egui::epaint::{ClippedShape, Mesh, Primitive};
use egui::layers::ShapeIdx;
use egui::{Context, Galley, Id, LayerId, Order, Painter, Rect, Shape, Theme};

use super::theme::label_font;

/// Something drawn. [`draw`](Self::draw) is handed nothing but the fields, so that one that was forgotten does not
/// compile; of what the painter knows, colours by day and night, the clip and the size of a pixel may be used.
pub(crate) trait Drawing: PartialEq + Send + 'static {
    /// What others must know of it: where its names stand.
    type Told: Clone + Send;

    /// Draws it.
    fn draw(&self, painter: &Painter) -> Self::Told;
}

/// A drawing as it was last cut into triangles.
pub(crate) struct Kept<D: Drawing> {
    made: Option<Made<D>>,
}

struct Made<D: Drawing> {
    drawing: D,
    around: Around,
    pieces: Vec<(Rect, Arc<Mesh>)>,
    told: D::Told,
}

impl<D: Drawing> Default for Kept<D> {
    fn default() -> Self {
        Self { made: None }
    }
}

impl<D: Drawing> fmt::Debug for Kept<D> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Kept").field("pieces", &self.made.as_ref().map_or(0, |made| made.pieces.len())).finish()
    }
}

impl<D: Drawing> Kept<D> {
    /// Shows a drawing, drawn anew only if it is not the one that was shown last.
    pub(crate) fn show(&mut self, painter: &Painter, drawing: D) -> D::Told {
        let around = Around::of_painter(painter);
        let made = match self.made.take() {
            Some(made) if made.drawing == drawing && made.around == around => made,
            old => {
                if let Some(Made { drawing: old, .. }) = old {
                    // It may be the last to hold an answer, and that may be large.
                    rayon::spawn(move || drop(old));
                }
                Made::anew(painter, drawing)
            }
        };
        for (clip, mesh) in &made.pieces {
            apart(&painter.with_clip_rect(*clip), mesh);
        }
        self.made.insert(made).told.clone()
    }
}

/// Triangles from which on a mesh is handed to the screen on its own.
const LARGE: usize = 1_000;

/// Shows a ready mesh. What is shown with one clip is gathered in one mesh, which takes new memory and moves there
/// whenever it outgrows what it has: that costs more than the copying. So a large one stands between two shapes that
/// show nothing, clipped otherwise, and is copied once, into memory of just its size.
pub(crate) fn apart(painter: &Painter, mesh: &Arc<Mesh>) {
    let large = mesh.indices.len() > 3 * LARGE;
    let other = painter.clip_rect().expand(1.0);
    painter.ctx().graphics_mut(|graphics| {
        let list = graphics.entry(painter.layer_id());
        if large {
            list.add(other, Shape::Noop);
        }
        list.add(painter.clip_rect(), Shape::Mesh(Arc::clone(mesh)));
        if large {
            list.add(other, Shape::Noop);
        }
    });
}

/// A mesh to be made anew, with the memory of the one before where no one else shows that.
pub(crate) fn emptied(mesh: &mut Arc<Mesh>) -> Mesh {
    let mut mesh = Arc::try_unwrap(std::mem::take(mesh)).unwrap_or_default();
    mesh.indices.clear();
    mesh.vertices.clear();
    mesh
}

impl<D: Drawing> Made<D> {
    fn anew(painter: &Painter, drawing: D) -> Self {
        let ctx = painter.ctx();
        // Drawn where nothing else is, and taken from there before anything is shown.
        let aside = LayerId::new(Order::Background, Id::unique("kept drawings"));
        let told = drawing.draw(&painter.clone().with_layer_id(aside));
        let mut list = ctx.graphics_mut(|graphics| std::mem::take(graphics.entry(aside)));
        let mut shapes = Vec::with_capacity(list.next_idx().0);
        for n in 0..list.next_idx().0 {
            list.mutate_shape(ShapeIdx(n), |s| {
                shapes.push(ClippedShape::new(s.clip_rect, std::mem::replace(&mut s.shape, Shape::Noop)));
            });
        }
        let pieces = ctx.tessellate(shapes, ctx.pixels_per_point()).into_iter().filter_map(|piece| match piece.primitive {
            Primitive::Mesh(mesh) => Some((piece.clip_rect, Arc::new(mesh))),
            Primitive::Callback(_) => None,
        });
        // Names that are new take room among the glyphs, so this is looked at only now.
        Self { pieces: pieces.collect(), told, around: Around::of_painter(painter), drawing }
    }
}

/// What every drawing depends on besides itself.
struct Around {
    clip: Rect,
    theme: Theme,
    pixels_per_point: f32,
    glyphs: Glyphs,
}

impl Around {
    fn of_painter(painter: &Painter) -> Self {
        let ctx = painter.ctx();
        let (clip, theme, pixels_per_point) = (painter.clip_rect(), ctx.theme(), ctx.pixels_per_point());
        Self { clip, theme, pixels_per_point, glyphs: Glyphs::of_context(ctx) }
    }
}

impl PartialEq for Around {
    fn eq(&self, other: &Self) -> bool {
        (self.clip, self.theme, self.pixels_per_point) == (other.clip, other.theme, other.pixels_per_point)
            && self.glyphs == other.glyphs
    }
}

/// Where glyphs lie in the picture they are copied from: it grows, and is begun anew when it is full.
#[derive(Clone)]
pub(crate) struct Glyphs {
    size: [usize; 2],
    /// A text that is asked for in every frame: it is another one when the picture was begun anew.
    probe: Arc<Galley>,
}

impl Glyphs {
    /// As they lie now.
    pub(crate) fn of_context(ctx: &Context) -> Self {
        ctx.fonts_mut(|fonts| {
            let probe = fonts.layout_no_wrap("M".to_owned(), label_font(12.0), egui::Color32::WHITE);
            Self { size: fonts.font_image_size(), probe }
        })
    }
}

impl PartialEq for Glyphs {
    fn eq(&self, other: &Self) -> bool {
        self.size == other.size && Arc::ptr_eq(&self.probe, &other.probe)
    }
}

/// Called when all of a frame is laid out, with the glyphs as they lay at its beginning: where a text that came later
/// moved them, what was shown before it is laid out once more.
pub(crate) fn settle(ctx: &Context, before: &Glyphs) {
    if Glyphs::of_context(ctx) != *before {
        ctx.request_discard("the picture of the glyphs grew");
        if !ctx.will_discard() {
            // No further pass is granted: the next frame mends it.
            ctx.request_repaint();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use egui::{Align2, RawInput, Ui, pos2, vec2};

    use super::*;
    use crate::app::widgets::theme;
    use crate::query::Given;

    /// A name at a place, which counts how often it is drawn.
    #[derive(Clone)]
    struct Name {
        answer: Given<String>,
        x: f32,
        drawn: Arc<AtomicU32>,
    }

    impl PartialEq for Name {
        fn eq(&self, other: &Self) -> bool {
            self.answer == other.answer && self.x == other.x
        }
    }

    impl Drawing for Name {
        type Told = Rect;

        fn draw(&self, painter: &Painter) -> Rect {
            self.drawn.fetch_add(1, Ordering::Relaxed);
            painter.rect_filled(Rect::from_min_size(pos2(self.x, 5.0), vec2(30.0, 20.0)), 0.0, egui::Color32::RED);
            painter.text(pos2(self.x, 10.0), Align2::LEFT_TOP, &*self.answer, label_font(12.0), egui::Color32::BLACK)
        }
    }

    /// What one frame comes to, as the screen gets it.
    fn frame(ctx: &Context, mut contents: impl FnMut(&mut Ui)) -> Vec<(Rect, Mesh)> {
        let mut shown = ctx.run_ui(RawInput::default(), |ui| contents(ui));
        shown.textures_delta.clear();
        let pieces = ctx.tessellate(shown.shapes, shown.pixels_per_point).into_iter();
        let mesh = |primitive| match primitive {
            Primitive::Mesh(mesh) => mesh,
            Primitive::Callback(_) => Mesh::default(),
        };
        pieces.map(|piece| (piece.clip_rect, mesh(piece.primitive))).collect()
    }

    #[test]
    fn what_stays_the_same_is_drawn_once_and_looks_as_if_it_were_drawn_anew() {
        let ctx = Context::default();
        theme::install(&ctx);
        let name = Name { answer: Given::new("scour line 1".to_owned()), x: 10.0, drawn: Arc::default() };
        let mut kept = Kept::default();
        let plain = frame(&ctx, |ui| _ = name.draw(ui.painter()));
        name.drawn.store(0, Ordering::Relaxed);
        for _ in 0..3 {
            assert_eq!(frame(&ctx, |ui| _ = kept.show(ui.painter(), name.clone())), plain);
        }
        assert_eq!(name.drawn.load(Ordering::Relaxed), 1);
    }

    #[test]
    fn another_answer_another_view_or_other_colours_are_drawn_anew() {
        let ctx = Context::default();
        theme::install(&ctx);
        let name = Name { answer: Given::new("cluster 1".to_owned()), x: 10.0, drawn: Arc::default() };
        let mut kept = Kept::default();
        let mut shown = |name: &Name| frame(&ctx, |ui| _ = kept.show(ui.painter(), name.clone()));
        let mut known = vec![shown(&name)];
        // An answer that came anew is another one, whatever it says.
        for answer in ["cluster 2", "cluster 1"] {
            let other = Name { answer: Given::new(answer.to_owned()), ..name.clone() };
            known.push(shown(&other));
        }
        assert_ne!(known[0], known[1]);
        assert_eq!(known[0], known[2]);
        assert_eq!(name.drawn.load(Ordering::Relaxed), 3);
        let moved = shown(&Name { x: 40.0, ..name.clone() });
        assert_ne!(moved, known[0]);
        ctx.set_theme(Theme::Dark);
        let _ = shown(&name);
        ctx.set_theme(Theme::Light);
        let _ = shown(&name);
        assert_eq!(name.drawn.load(Ordering::Relaxed), 6);
    }

    #[test]
    fn glyphs_that_moved_are_looked_up_anew() {
        let ctx = Context::default();
        theme::install(&ctx);
        let name = Name { answer: Given::new("drop zone 1".to_owned()), x: 10.0, drawn: Arc::default() };
        let mut kept = Kept::default();
        // So many sizes of type that the picture of the glyphs must grow while a frame is laid out.
        for many in [0_u16, 60] {
            let shown = frame(&ctx, |ui| {
                let before = Glyphs::of_context(ui.ctx());
                kept.show(ui.painter(), name.clone());
                for size in 0..many {
                    let font = label_font(14.0 + f32::from(size));
                    let letters = "abcdefghijklmnopqrstuvwxyz0123456789".to_owned();
                    let _ = ui.painter().layout_no_wrap(letters, font, egui::Color32::BLACK);
                }
                settle(ui.ctx(), &before);
            });
            assert_eq!(shown, frame(&ctx, |ui| _ = name.draw(ui.painter())), "after {many} sizes of type");
        }
    }
}
