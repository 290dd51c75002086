//! The ground shaded: how well it was covered, what it gave, how surely that is known.
//!
//! The picture is made in the background; here it becomes a texture on a net of a few thousand
//! corners, whatever the number of cells. Ground never looked at is hatched: the hatching is laid
//! over all the sand and the shades over that, so that it shows wherever they leave a hole.

use std::sync::Arc;

use egui::epaint::{Mesh, Vertex};
use egui::{
    Color32, ColorImage, Context, CornerRadius, Galley, Painter, Rect, Role, Sense, Stroke, StrokeKind, TextureFilter,
    TextureHandle, TextureId, TextureOptions, TextureWrapMode, Ui, WidgetInfo, pos2, vec2,
};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::Look;
use crate::app::state::plan_drawn::Seen;
use crate::app::widgets::kept;
use crate::app::widgets::theme::{self, palette};
use crate::query::drawing::{GroundPicture, GroundShown, Land, Strip};
use crate::query::{CoveredQuestion, Given, GroundPictureQuestion};
use crate::shore::ShorePoint;

/// Distance of the hatching's lines, points.
const HATCH: f32 = 9.0;
/// Dots of the hatching's picture along a side.
const HATCH_DOTS: usize = 32;

/// The picture to show, if one is wanted and there.
fn wanted<'a>(shown: &FrameContext<'a>, state: &State) -> Option<&'a Given<GroundPicture>> {
    let (picture, _) = shown.answers.answer::<GroundPictureQuestion>().newest()?;
    (state.plan.ground != GroundShown::Nothing && picture.what == state.plan.ground).then_some(picture)
}

/// Hatching over all the sand; what was searched is painted over it later.
pub(super) fn hatching(painter: &Painter, look: &Look, shown: &FrameContext<'_>, state: &mut State, land: &Land) {
    if wanted(shown, state).is_none_or(|picture| picture.is_empty()) {
        return;
    }
    let lay = state.plan.lay_index();
    let dark = painter.ctx().theme() == egui::Theme::Dark;
    let key = (land.serial, lay, state.plan.camera(), dark);
    let cache = &mut state.plan.shade;
    let texture = match &cache.hatch {
        Some((was, texture)) if *was == dark => texture.clone(),
        _ => {
            let texture = hatch_texture(painter.ctx(), palette(painter.ctx()).ink);
            cache.hatch = Some((dark, texture.clone()));
            cache.laid = None;
            texture
        }
    };
    // The canvas moves with its panels, so its place is part of the look.
    let origin = look.pos([0.0, 0.0]);
    let stale = cache.laid.as_ref().is_none_or(|(was, mesh)| {
        *was != key
            || mesh
                .vertices
                .first()
                .is_none_or(|v| searchable(land).flat_map(|s| &s.patch.spots).next().is_none_or(|s| look.pos(s[lay]) != v.pos))
    });
    if stale {
        let mut mesh = Mesh::with_texture(texture.id());
        for strip in searchable(land) {
            let first = mesh.vertices.len() as u32;
            mesh.vertices.extend(strip.patch.spots.iter().map(|s| {
                let pos = look.pos(s[lay]);
                let uv = ((pos - origin) / HATCH).to_pos2();
                Vertex { pos, uv, color: Color32::WHITE }
            }));
            mesh.indices.extend(strip.patch.triangles.iter().map(|i| first + i));
        }
        cache.laid = Some((key, Arc::new(mesh)));
    }
    if let Some((_, mesh)) = &cache.laid {
        kept::apart(painter, mesh);
    }
}

/// The ground that some tide leaves dry: nobody is missed below it.
fn searchable(land: &Land) -> impl Iterator<Item = &Strip> {
    let always_wet = !land.tide_lines.is_empty();
    land.strips.iter().filter(move |s| !(always_wet && s.wet >= 1.0))
}

/// One line that falls to the right, so that it is never taken for the hatching of rocks and mud.
fn hatch_texture(ctx: &egui::Context, ink: Color32) -> TextureHandle {
    let side = HATCH_DOTS as f32;
    let dots = (0..HATCH_DOTS * HATCH_DOTS).map(|n| {
        let (x, y) = ((n % HATCH_DOTS) as f32, (n / HATCH_DOTS) as f32);
        let off = (x - y).rem_euclid(side);
        let away = off.min(side - off) / side * HATCH / std::f32::consts::SQRT_2;
        ink.gamma_multiply(0.42 * (1.0 - (away - 0.35) / 0.5).clamp(0.0, 1.0))
    });
    let image = ColorImage::new([HATCH_DOTS; 2], dots.collect());
    let options = TextureOptions { wrap_mode: TextureWrapMode::Repeat, ..TextureOptions::LINEAR };
    ctx.load_texture("hatching", image, options)
}

/// The picture to show and its texture.
pub(super) fn picture(ctx: &Context, shown: &FrameContext<'_>, state: &mut State) -> Option<(Given<GroundPicture>, TextureId)> {
    let picture = wanted(shown, state).filter(|g| !g.is_empty())?;
    let dark = ctx.theme() == egui::Theme::Dark;
    let key = (picture.serial, dark);
    let cache = &mut state.plan.shade;
    if cache.key != Some(key) {
        let options = TextureOptions {
            magnification: TextureFilter::Nearest,
            minification: TextureFilter::Linear,
            wrap_mode: TextureWrapMode::ClampToEdge,
            mipmap_mode: Some(TextureFilter::Linear),
        };
        let drawn = &picture.pictures[usize::from(dark)];
        let image = ColorImage::from_rgba_premultiplied([drawn.columns, drawn.rows], drawn.dots.as_flattened());
        cache.texture = Some(ctx.load_texture("ground", image, options));
        cache.key = Some(key);
    }
    Some((picture.clone(), cache.texture.as_ref()?.id()))
}

/// The shades, hung on their net.
pub(super) fn hang(painter: &Painter, picture: &GroundPicture, texture: TextureId, seen: &Seen) {
    let mut mesh = Mesh::with_texture(texture);
    mesh.vertices.extend(picture.net.iter().map(|k| Vertex {
        pos: seen.look.pos(k.at[seen.lay]),
        uv: pos2(k.uv[0], k.uv[1]),
        color: Color32::WHITE,
    }));
    let (columns, rows) = (picture.net_columns as u32, (picture.net.len() / picture.net_columns.max(1)) as u32);
    for row in 0..rows.saturating_sub(1) {
        for column in 0..columns.saturating_sub(1) {
            let n = row * columns + column;
            mesh.add_triangle(n, n + 1, n + columns);
            mesh.add_triangle(n + 1, n + columns + 1, n + columns);
        }
    }
    painter.add(egui::Shape::mesh(mesh));
}

fn rgb([r, g, b]: [u8; 3]) -> Color32 {
    Color32::from_rgb(r, g, b)
}

/// What the shades mean, in units, and what is known where the pointer rests, laid out but not yet drawn.
pub(super) struct Legend {
    /// The room that it takes, in the lower right corner.
    pub(super) rect: Rect,
    title: Arc<Galley>,
    lines: Vec<Arc<Galley>>,
    named: Vec<Arc<Galley>>,
    unseen: Arc<Galley>,
    /// Width of one of the two columns.
    step: f32,
    rows: usize,
}

/// A swatch of the legend, points.
const SWATCH: egui::Vec2 = vec2(18.0, 12.0);

impl Legend {
    /// Lays it out; `None` where nothing is shown of the ground.
    pub(super) fn lay(
        painter: &Painter,
        canvas: Rect,
        shown: &FrameContext<'_>,
        state: &State,
        pointed: Option<ShorePoint>,
    ) -> Option<Self> {
        if state.plan.ground == GroundShown::Nothing {
            return None;
        }
        let p = palette(painter.ctx());
        let small = theme::label_font(12.5);
        let (title, lines, steps) = match wanted(shown, state) {
            Some(picture) => {
                let here = pointed.map(|s| picture.at(s)).filter(|t| !t.is_empty());
                let old = shown.answers.answer::<GroundPictureQuestion>().is_old();
                let old = old.then(|| "before the last change; working out anew ...".to_owned());
                let lines: Vec<String> =
                    [Some(picture.note.clone()), here, old].into_iter().flatten().filter(|t| !t.is_empty()).collect();
                let steps = if picture.is_empty() { Vec::new() } else { picture.steps() };
                (picture.title.clone(), lines, steps)
            }
            None => {
                let (picture, covered) =
                    (shown.answers.answer::<GroundPictureQuestion>(), shown.answers.answer::<CoveredQuestion>());
                let why = picture.failure().or(covered.failure());
                (why.map_or_else(|| "working out the ground ...".to_owned(), str::to_owned), Vec::new(), Vec::new())
            }
        };
        let most = 300.0_f32.min(canvas.width() - 36.0);
        let title = painter.layout(title, theme::bold_font(13.0), p.ink, most);
        let lines: Vec<_> = lines.into_iter().map(|t| painter.layout(t, small.clone(), p.soft, most)).collect();
        let named: Vec<_> = steps.into_iter().map(|t| painter.layout_no_wrap(t, small.clone(), p.ink)).collect();
        let unseen = painter.layout_no_wrap("never looked at".to_owned(), small, p.ink);
        let step = named.iter().map(|g| g.size().x).fold(0.0, f32::max) + SWATCH.x + 16.0;
        // Two to a row keeps it small in a corner.
        let rows = if named.is_empty() { 0 } else { (named.len() + 1).div_ceil(2) };
        let right = unseen.size().x + SWATCH.x + 6.0;
        let wide = (step + step.max(right)).max(title.size().x).max(lines.iter().map(|g| g.size().x).fold(0.0, f32::max));
        let wide = if rows == 0 { title.size().x } else { wide };
        let high = title.size().y + rows as f32 * 17.0 + lines.iter().map(|g| g.size().y + 1.0).sum::<f32>() + 14.0;
        let corner = canvas.right_bottom() - vec2(8.0, 8.0);
        let rect = Rect::from_min_max(corner - vec2(wide + 20.0, high), corner);
        Some(Self { rect, title, lines, named, unseen, step, rows })
    }

    /// Draws it, and names it for who cannot see it.
    pub(super) fn show(self, ui: &Ui, canvas: Rect, shown: &FrameContext<'_>, state: &State) {
        let p = palette(ui.ctx());
        let painter = ui.painter().with_clip_rect(canvas);
        let Self { rect, title, lines, named, unseen, step, rows } = self;
        painter.rect(rect, CornerRadius::ZERO, p.card.gamma_multiply(0.94), Stroke::new(1.0, p.rule), StrokeKind::Inside);
        let mut at = rect.min + vec2(10.0, 6.0);
        let mut said = vec![format!("Ground, {}: {}", state.plan.ground.label(), title.text())];
        at.y += title.size().y + 3.0;
        painter.galley(rect.min + vec2(10.0, 6.0), title, p.ink);
        if let Some(picture) = wanted(shown, state).filter(|_| rows > 0) {
            let colours = picture.colours(ui.ctx().theme() == egui::Theme::Dark);
            let place = |n: usize| at + vec2((n % 2) as f32 * step, (n / 2) as f32 * 17.0);
            let swatch = |n: usize| Rect::from_min_size(place(n) + vec2(0.0, 2.0), SWATCH);
            let unseen_at = named.len();
            for (n, name) in named.into_iter().enumerate() {
                let colour = rgb(colours[picture.shade_of_step(n)]);
                painter.rect(swatch(n), CornerRadius::ZERO, colour, Stroke::new(0.8, p.soft), StrokeKind::Inside);
                said.push(name.text().to_owned());
                painter.galley(place(n) + vec2(SWATCH.x + 6.0, 0.0), name, p.ink);
            }
            let box_ = swatch(unseen_at);
            painter.rect(box_, CornerRadius::ZERO, p.card, Stroke::new(0.8, p.soft), StrokeKind::Inside);
            let inside = painter.with_clip_rect(box_.intersect(canvas));
            for k in -2..4 {
                let left = box_.left() + k as f32 * 6.0;
                inside.line_segment(
                    [pos2(left, box_.top()), pos2(left + 12.0, box_.bottom())],
                    Stroke::new(1.0, p.ink.gamma_multiply(0.7)),
                );
            }
            painter.galley(place(unseen_at) + vec2(SWATCH.x + 6.0, 0.0), unseen, p.ink);
            at.y += rows as f32 * 17.0;
            said.push("hatched: never looked at".to_owned());
        }
        for line in lines {
            said.push(line.text().to_owned());
            let high = line.size().y + 1.0;
            painter.galley(at, line, p.soft);
            at.y += high;
        }
        let response = ui.interact(rect, ui.scope_id().with("ground legend"), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, said.join("; ")));
    }
}
