//! What helps to read the drawing: names at the edge, scale, north, the section's line, the legend.

use std::collections::BTreeSet;
use std::sync::Arc;

use egui::{Align2, Color32, CornerRadius, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};

use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::camera::{Look, round_length_m};
use crate::app::state::plan_drawn::{Furniture, Seen};
use crate::app::widgets::crowd::left_out_words;
use crate::app::widgets::hatch;
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::labels::{Labels, Moves, Wanted};
use crate::app::widgets::marks::paint_mark;
use crate::app::widgets::theme::{self, palette};
use crate::query::Given;
use crate::query::drawing::{Area, AreaKind, DrawnPlace, Land, MarkShape};
use crate::shore::ShorePoint;

/// The line at which the section is taken, on the screen, landward end first.
pub(super) fn section_line(along_m: Option<f64>, land: &Land, seen: &Seen) -> Option<[Pos2; 2]> {
    let (along_m, shore) = (along_m?, land.placing.shore()?);
    let (low, high) = shore.across_range_m();
    let end = |across_m: f64| seen.look.pos(land.placing.of_shore(ShorePoint::new(along_m, across_m))[seen.lay]);
    Some([end(low), end(high)])
}

/// Everything that helps to read the drawing; `taken` is where names stand already.
pub(super) fn paint(
    painter: &Painter,
    canvas: Rect,
    look: &Look,
    shown: &FrameContext<'_>,
    state: &mut State,
    land: &Given<Land>,
    taken: Arc<[Rect]>,
) -> Named {
    let drawing = Furniture {
        land: land.clone(),
        seen: Seen { look: *look, lay: state.plan.lay_index() },
        canvas,
        outlines: shown.outlines().map(|(outlines, _)| outlines.clone()).filter(|_| state.plan.zones),
        along_m: state.plan.section_along_m(land),
        water: state.plan.water.clone(),
        water_m: shown.water_m(state.clock.at),
        taken,
    };
    state.plan.furniture.show(painter, drawing)
}

/// What was named.
#[derive(Debug, Clone)]
pub(crate) struct Named {
    /// Where the names of levels stand.
    pub(super) levels: Arc<[(Rect, String)]>,
    /// Where all of the names stand.
    pub(super) names: Arc<[Rect]>,
}

impl Drawing for Furniture {
    type Told = Named;

    fn draw(&self, painter: &Painter) -> Self::Told {
        let (p, canvas) = (palette(painter.ctx()), self.canvas);
        let mut names = Names { painter, labels: Labels::within(canvas.shrink(4.0), self.taken.iter().copied()) };
        scale_bar(painter, canvas, &self.seen.look);
        // Levels first: what they name is all over the drawing, and moves least.
        let levels = self.tide_names(&mut names);
        // Where one gets off comes before where the section is, which Section says too.
        self.access_names(&mut names);
        if let (Some(ends), Some(along_m)) = (section_line(self.along_m, &self.land, &self.seen), self.along_m) {
            painter.line_segment(ends, Stroke::new(1.2, p.accent));
            let top = pos2(ends[0].x, canvas.top());
            painter.extend(egui::Shape::dashed_line(&[top, ends[0]], Stroke::new(1.0, p.accent), 3.0, 3.0));
            let at = pos2(ends[0].x + 5.0, canvas.top() + 4.0);
            let _ = names.place(at, Align2::LEFT_TOP, &format!("section at {along_m:.0} m"), theme::label_font(12.5), p.accent);
        }
        self.area_names(&mut names);
        north(painter, canvas, &self.land, self.seen.lay);
        let names = names.labels.taken().iter().skip(self.taken.len()).copied().collect();
        Named { levels: levels.into(), names }
    }
}

/// A drawing lower than this is a small one, points.
const SMALL: f32 = 260.0;

/// Puts names on the drawing so that none covers another.
struct Names<'a> {
    painter: &'a Painter,
    labels: Labels,
}

impl Names<'_> {
    /// Writes a name unless others have taken all the room near it.
    fn place(&mut self, at: Pos2, anchor: Align2, name: &str, font: FontId, ink: Color32) -> Option<Rect> {
        let moves = match anchor {
            Align2::CENTER_CENTER => Moves::Lines(2),
            Align2::LEFT_CENTER => Moves::Lines(1),
            _ => Moves::None,
        };
        let texts = [name.to_owned()];
        let wanted = Wanted { at, anchor, texts: &texts, font, ink, moves, must: false };
        let placed = self.labels.place(self.painter, &wanted)?;
        placed.paint_on_ground(self.painter);
        Some(placed.rect)
    }
}

impl Furniture {
    fn access_names(&self, names: &mut Names<'_>) {
        let painter = names.painter;
        let p = palette(painter.ctx());
        let (Some(outlines), canvas, Seen { look, lay }) = (&self.outlines, self.canvas, self.seen) else { return };
        for (_, name, at) in &outlines.accesses {
            let at = look.pos(at[lay]);
            if canvas.contains(at) {
                let top = at + vec2(0.0, -10.0);
                painter.line_segment([at, top], Stroke::new(1.6, p.ink));
                painter.rect_filled(Rect::from_center_size(top, vec2(7.0, 5.0)), CornerRadius::ZERO, p.ink);
                let _ = names.place(top + vec2(7.0, -1.0), Align2::LEFT_CENTER, name, theme::label_font(12.5), p.ink);
            }
        }
    }

    fn area_names(&self, names: &mut Names<'_>) {
        let painter = names.painter;
        let p = palette(painter.ctx());
        let (Some(outlines), canvas, Seen { look, lay }) = (&self.outlines, self.canvas, self.seen) else { return };
        // One thing that is drawn as zone and barrier is named once.
        let mut named: BTreeSet<&str> = BTreeSet::new();
        for area in &outlines.areas {
            let corners = area.rings.iter().flatten().map(|s| look.pos(s[lay]));
            let bounds = corners.fold(Rect::NOTHING, |r, q| r.union(Rect::from_min_max(q, q)));
            // What warns is placed before all else.
            let warned = |other: &Area| other.name == area.name && super::safety::texts(other.kind, &other.name).is_some();
            if outlines.areas.iter().any(warned) {
                continue;
            }
            // A name much longer than what it names would only clutter.
            if (bounds.width() < 46.0 && area.closed) || !bounds.intersects(canvas) {
                continue;
            }
            // On a small drawing only what has room for its own name has one; the pointer tells the others.
            let font = theme::label_font(12.5);
            let wide = painter.layout_no_wrap(area.name.clone(), font, p.ink).size().x;
            let small = canvas.height() < SMALL && area.kind != AreaKind::Permission;
            if small && (wide > bounds.width() || matches!(area.kind, AreaKind::Barrier(_))) {
                continue;
            }
            let ink = match area.kind {
                AreaKind::Permission => p.light,
                AreaKind::Zone(_) | AreaKind::Barrier(_) => p.zone,
            };
            let (at, anchor) = if area.kind == AreaKind::Permission {
                (pos2(bounds.left().max(canvas.left()) + 6.0, bounds.top().max(canvas.top()) + 3.0), Align2::LEFT_TOP)
            } else {
                (look.pos(area.middle[lay]), Align2::CENTER_CENTER)
            };
            if !named.insert(&area.name) {
                continue;
            }
            let _ = names.place(at, anchor, &area.name, theme::label_font(12.5), ink);
        }
    }

    /// The names of tide levels: where their lines leave the right edge, moved a little where names are close; else along the
    /// line, and in fewer words. What the water does just now comes first, then the marks between which it moves.
    fn tide_names(&self, names: &mut Names<'_>) -> Vec<(Rect, String)> {
        let p = palette(names.painter.ctx());
        let mut levels: Vec<LevelName> = Vec::new();
        for line in &self.land.tide_lines {
            levels.extend(self.level(&line.lines, &line.name, None, p.ink));
        }
        if let Some(level) = self.water_m {
            let short = format!("{:.1} m", crate::tide::rounded(level, 1));
            levels.extend(self.level(&self.water.edge, &format!("water {short}"), Some(short), p.water_edge));
        }
        // Steady: of one rank the upper first.
        levels.sort_by_key(|level| level_rank(&level.texts[0]));
        let height = names.painter.layout_no_wrap("M".to_owned(), theme::bold_font(12.5), p.ink).size().y;
        let mut placed = Vec::new();
        for level in levels {
            let stands = level.texts.iter().find_map(|text| {
                let places = level.places(self.canvas.right() - 6.0, height);
                places.into_iter().find_map(|(at, anchor)| names.place(at, anchor, text, theme::bold_font(12.5), level.ink))
            });
            placed.extend(stands.map(|rect| (rect, level.texts[0].clone())));
        }
        placed
    }

    /// A level's line in view, to be named; `None` where it is out of view.
    fn level(&self, runs: &[Vec<DrawnPlace>], name: &str, short: Option<String>, ink: Color32) -> Option<LevelName> {
        let Seen { look, lay } = self.seen;
        let mut line: Vec<Pos2> = runs.iter().flatten().map(|s| look.pos(s[lay])).filter(|q| self.canvas.contains(*q)).collect();
        line.sort_by(|a, b| b.x.total_cmp(&a.x));
        let mut last = f32::INFINITY;
        line.retain(|q| {
            let keep = last - q.x >= ALONG;
            last = if keep { q.x } else { last };
            keep
        });
        let texts = std::iter::once(name.to_owned()).chain(short).collect();
        (!line.is_empty()).then_some(LevelName { line, texts, ink })
    }
}

/// Places along a line at which its name is tried are so far apart, points.
const ALONG: f32 = 12.0;

/// A level that is to be named.
struct LevelName {
    /// Where its line runs in view, from the right; at least one place.
    line: Vec<Pos2>,
    /// The fullest wording first.
    texts: Vec<String>,
    ink: Color32,
}

impl LevelName {
    /// Where its name may stand, the best first: at the right edge, over the line or a little off it; else over the line and
    /// then under it anywhere.
    fn places(&self, right: f32, height: f32) -> Vec<(Pos2, Align2)> {
        let y = self.line[0].y - 1.0;
        let off = [0.0, 0.55, 1.1, -0.55, -1.1].map(|n| (pos2(right, y + n * height), Align2::RIGHT_BOTTOM));
        let over = self.line.iter().map(|q| (*q - vec2(0.0, 1.0), Align2::RIGHT_BOTTOM));
        let under = self.line.iter().map(|q| (*q + vec2(0.0, 1.0), Align2::RIGHT_TOP));
        off.into_iter().chain(over).chain(under).collect()
    }
}

/// Which levels are named first where there is little room.
fn level_rank(name: &str) -> u8 {
    match name {
        name if name.starts_with("water") => 0,
        "MHWS" | "MHHW" => 1,
        "MSL" | "MTL" => 2,
        "MLWS" | "MLLW" => 3,
        _ => 4,
    }
}

/// The scale: its bar, how many metres that is, and what is said over it.
fn scale(canvas: Rect, look: &Look) -> (Rect, String) {
    let length_m = round_length_m(160.0_f64.min(0.4 * f64::from(canvas.width())) / look.scale());
    let left = canvas.left_bottom() + vec2(14.0, -14.0);
    let bar = Rect::from_min_size(left - vec2(0.0, 5.0), vec2(look.length(length_m), 5.0));
    let said = if length_m >= 1000.0 { format!("{} km", length_m / 1000.0) } else { format!("{length_m} m") };
    let stretched = look.stretch() > 1.01;
    (bar, if stretched { format!("{said} along, across drawn {:.1} times larger", look.stretch()) } else { said })
}

/// Where what is said of the scale stands, over its bar's left end.
const OVER_BAR: Vec2 = vec2(0.0, -3.0);

/// The room that the scale takes, so that what warns is not written over it.
pub(super) fn scale_room(painter: &Painter, canvas: Rect, look: &Look) -> Rect {
    let (bar, said) = scale(canvas, look);
    let size = painter.layout_no_wrap(said, theme::label_font(12.5), Color32::WHITE).size();
    Align2::LEFT_BOTTOM.anchor_size(bar.left_top() + OVER_BAR, size).union(bar)
}

/// Draws the scale.
fn scale_bar(painter: &Painter, canvas: Rect, look: &Look) {
    let p = palette(painter.ctx());
    let (bar, said) = scale(canvas, look);
    let width = bar.width();
    theme::plate(painter, scale_room(painter, canvas, look));
    painter.rect_filled(bar, CornerRadius::ZERO, p.card);
    // Two halves, ink and paper, as on a chart.
    painter.rect_filled(Rect::from_min_size(bar.min, vec2(width / 2.0, 5.0)), CornerRadius::ZERO, p.ink);
    painter.rect_stroke(bar, CornerRadius::ZERO, Stroke::new(1.0, p.ink), StrokeKind::Middle);
    let font = theme::label_font(12.5);
    theme::halo_text(painter, bar.left_top() + OVER_BAR, Align2::LEFT_BOTTOM, &said, font, p.ink);
}

/// How far the mark of north lies from the upper right corner, and how far it reaches about its middle, points.
const NORTH: (f32, f32) = (36.0, 34.0);

/// The room that the mark of north takes, where there is one: straightened ground has no one north.
pub(super) fn north_room(canvas: Rect, lay: usize) -> Option<Rect> {
    (lay != 1).then(|| Rect::from_center_size(canvas.right_top() + vec2(-NORTH.0, NORTH.0), Vec2::splat(2.0 * NORTH.1)))
}

fn north(painter: &Painter, canvas: Rect, land: &Land, lay: usize) {
    let Some(room) = north_room(canvas, lay) else { return };
    let p = palette(painter.ctx());
    let n = land.placing.north();
    let to = vec2(n[0], n[1]);
    let side = vec2(-to.y, to.x);
    let middle = room.center();
    let (tip, tail) = (middle + to * 16.0, middle - to * 14.0);
    painter.line_segment([tail, tip], Stroke::new(1.4, p.ink));
    let half = vec![tip, tip - to * 11.0 + side * 4.5, tip - to * 8.0];
    painter.add(egui::Shape::convex_polygon(half, p.ink, Stroke::NONE));
    theme::halo_text(painter, middle + to * 26.0, Align2::CENTER_CENTER, "N", FontId::new(14.0, theme::serif()), p.ink);
}

/// The signs and what they mean, and how many are not drawn. What warns stands first and is always there; the others in
/// as many lines as there is room.
pub(super) fn legend(ui: &mut Ui, left_out: usize, unsurveyed: Option<&[String]>) {
    let p = palette(ui.ctx());
    let bottom = ui.max_rect().bottom();
    // Two lines have room where they stand close.
    ui.spacing_mut().interact_size.y = 14.0;
    ui.spacing_mut().item_spacing.y = 0.0;
    ui.add_space(2.0);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(4.0, 0.0);
        let is_full = |ui: &Ui, wide: f32| {
            let next_line = ui.available_size_before_wrap().x < wide;
            next_line && ui.cursor().top() + 31.0 > bottom
        };
        // A sign and its word stay together.
        let whole = |ui: &mut Ui, word: &str| {
            let wide = ui.painter().layout_no_wrap(word.to_owned(), theme::label_font(12.5), p.ink).size().x;
            if ui.available_size_before_wrap().x < wide + 22.0 {
                ui.end_row();
            }
        };
        let sign = |ui: &mut Ui, shape: MarkShape, word: &str, ink: Color32| {
            whole(ui, word);
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 14.0), egui::Sense::hover());
            paint_mark(ui.painter(), rect.center(), shape, 1.0, p, false);
            ui.label(egui::RichText::new(word).size(12.5).color(ink));
            ui.add_space(6.0);
        };
        sign(ui, MarkShape::Danger, "possible ordnance", p.ink);
        if let Some(said) = unsurveyed {
            whole(ui, "nobody surveyed.");
            let (rect, _) = ui.allocate_exact_size(vec2(22.0, 14.0), egui::Sense::hover());
            let corners = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
            hatch::unsurveyed(ui.painter(), &corners, rect.left_top(), Stroke::new(0.8, p.ink));
            let label = ui.label(theme::soft(ui, "nobody surveyed").size(12.5));
            if !said.is_empty() {
                label.on_hover_text(said.join("\n"));
            }
            ui.add_space(6.0);
        }
        for (shape, word) in [
            (MarkShape::Heavy, "heavy"),
            (MarkShape::Light, "light"),
            (MarkShape::Rubbish, "iron, rubbish"),
            (MarkShape::Unknown, "weight not known"),
            (MarkShape::Undug, "undug signal"),
        ] {
            let galley = ui.painter().layout_no_wrap(word.to_owned(), theme::label_font(12.5), p.soft);
            if is_full(ui, galley.size().x + 30.0) {
                return;
            }
            sign(ui, shape, word, p.soft);
        }
        if left_out > 0 && !is_full(ui, 180.0) {
            ui.add(egui::Label::new(theme::soft(ui, left_out_words(left_out)).size(12.5)).extend());
        }
    });
}
