//! Names on a drawing that make way for each other: each takes the first free place of several, in a shorter wording where
//! a longer one has no room. What is placed first keeps its place, so what warns goes first, and it is never left out.

use std::sync::Arc;

use egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, Vec2, pos2, vec2};

use super::theme;

/// A name that is wanted.
#[derive(Debug, Clone)]
pub(crate) struct Wanted<'a> {
    /// Where it is to stand, and which of its own corners or sides stands there.
    pub(crate) at: Pos2,
    pub(crate) anchor: Align2,
    /// Its wordings, the fullest first.
    pub(crate) texts: &'a [String],
    pub(crate) font: FontId,
    pub(crate) ink: Color32,
    /// How it may be moved when there is no room where it is to stand.
    pub(crate) moves: Moves,
    /// Whether it is shown whatever else has to make way.
    pub(crate) must: bool,
}

/// How a name may be moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moves {
    /// Not at all.
    None,
    /// Up and down by up to so many of its lines.
    Lines(u8),
    /// Upwards by up to so many.
    Up(u8),
}

/// A name with its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    pub(crate) rect: Rect,
    pub(crate) text: String,
    font: FontId,
    ink: Color32,
    /// What it names, where it stands away from that and is tied to it.
    tie: Option<Pos2>,
}

impl Placed {
    /// Writes it.
    pub(crate) fn paint(&self, painter: &Painter) {
        theme::halo_text(painter, self.rect.min, Align2::LEFT_TOP, &self.text, self.font.clone(), self.ink);
    }

    /// The same, with a line from it to a place.
    pub(crate) fn tied_to(mut self, to: Pos2) -> Self {
        self.tie = Some(to);
        self
    }

    /// Where the line from it leads, if there is one.
    pub(crate) fn tie(&self) -> Option<Pos2> {
        self.tie
    }

    /// Writes it where there is a crowd of marks behind it: the crowd steps back there.
    pub(crate) fn paint_on_ground(&self, painter: &Painter) {
        if let Some(to) = self.tie {
            painter.line_segment([self.rect.clamp(to), to], Stroke::new(1.2, self.ink));
            painter.circle_filled(to, 2.5, self.ink);
        }
        theme::plate(painter, self.rect);
        self.paint(painter);
    }
}

/// Where names stand already, within the room that there is.
#[derive(Debug, Clone)]
pub(crate) struct Labels {
    inner: Rect,
    taken: Vec<Rect>,
}

/// As far as this a name that must be shown is moved before it is shortened, points.
const NEAR: f32 = 60.0;

/// Room that stays free between two names, points: more along the line, where two would read as one.
const APART: f32 = 1.0;
const APART_ALONG: f32 = 5.0;

impl Labels {
    /// No name yet but those that stand in `taken`.
    pub(crate) fn within(inner: Rect, taken: impl IntoIterator<Item = Rect>) -> Self {
        Self { inner, taken: taken.into_iter().collect() }
    }

    /// Keeps room free.
    pub(crate) fn take(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Everything that is taken.
    pub(crate) fn taken(&self) -> Arc<[Rect]> {
        self.taken.as_slice().into()
    }

    fn is_free(&self, rect: Rect) -> bool {
        let rect = rect.expand2(vec2(APART_ALONG, APART));
        !self.taken.iter().any(|t| t.intersects(rect))
    }

    /// Moves a rectangle inside the edges.
    fn inside(&self, rect: Rect) -> Rect {
        let shift = |low: f32, high: f32, from: f32, to: f32| {
            if low < from {
                from - low
            } else if high > to {
                (to - high).max(from - low)
            } else {
                0.0
            }
        };
        rect.translate(vec2(
            shift(rect.left(), rect.right(), self.inner.left(), self.inner.right()),
            shift(rect.top(), rect.bottom(), self.inner.top(), self.inner.bottom()),
        ))
    }

    /// Finds a place and keeps it; `None` where there is none, which never happens to what must be shown.
    pub(crate) fn place(&mut self, painter: &Painter, wanted: &Wanted<'_>) -> Option<Placed> {
        let found = self.find(painter, wanted)?;
        self.taken.push(found.rect);
        Some(found)
    }

    fn find(&self, painter: &Painter, wanted: &Wanted<'_>) -> Option<Placed> {
        let placed = |rect: Rect, text: &str| Placed {
            rect,
            text: text.to_owned(),
            font: wanted.font.clone(),
            ink: wanted.ink,
            tie: None,
        };
        let size = |text: &str| painter.layout_no_wrap(text.to_owned(), wanted.font.clone(), wanted.ink).size();
        let base = |text: &str| self.inside(wanted.anchor.anchor_size(wanted.at, size(text)));
        let fits = |rect: &Rect| rect.width() <= self.inner.width() && rect.height() <= self.inner.height();
        for text in wanted.texts {
            let base = base(text);
            if !fits(&base) {
                continue;
            }
            let moved =
                wanted.moves.shifts().map(|n| self.inside(base.translate(vec2(0.0, f32::from(n) * (base.height() + APART)))));
            let tried = std::iter::once(base).chain(moved).find(|rect| self.is_free(*rect));
            // What must be shown is moved a little before it is shortened.
            if let Some(rect) = tried.or_else(|| if wanted.must { self.nearest(base, NEAR) } else { None }) {
                return Some(placed(rect, text));
            }
        }
        if !wanted.must {
            return None;
        }
        // The wording that stands nearest, and never on the far side, where it would seem to name something else.
        let far = (self.inner.width() / 2.0).max(NEAR);
        let free = wanted.texts.iter().filter_map(|text| {
            let rect = self.nearest(base(text), far)?;
            Some((rect.center().distance(wanted.at), placed(rect, text)))
        });
        let anywhere = free.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, placed)| placed);
        // Nothing is free: over others, in the fewest words.
        anywhere.or_else(|| wanted.texts.last().map(|text| placed(base(text), text)))
    }

    /// Whether a name of that size would find its place free where it is to stand.
    pub(crate) fn has_room(&self, at: Pos2, anchor: Align2, size: Vec2) -> bool {
        self.is_free(self.inside(anchor.anchor_size(at, size)))
    }

    /// Of places all over the room, in steps, the free one that is nearest to a place, no further away than `reach`.
    fn nearest(&self, base: Rect, reach: f32) -> Option<Rect> {
        let (inner, size) = (self.inner, base.size());
        if size.x > inner.width() || size.y > inner.height() {
            return None;
        }
        let (columns, rows) = (
            steps(inner.left(), inner.width() - size.x, (size.x / 3.0).max(8.0), base.left()),
            steps(inner.top(), inner.height() - size.y, (size.y / 2.0).max(6.0), base.top()),
        );
        let (mut best, mut off_sq) = (None, (reach * reach).next_up());
        // Both run away from the place, so that no more is looked at than what may be nearer than the best so far.
        for (top, down_sq) in rows {
            if down_sq >= off_sq {
                break;
            }
            let near = columns.iter().take_while(|(_, along_sq)| along_sq + down_sq < off_sq);
            let mut free = near.map(|(left, along_sq)| (Rect::from_min_size(pos2(*left, top), size), along_sq + down_sq));
            if let Some((rect, sq)) = free.find(|(rect, _)| self.is_free(*rect)) {
                (best, off_sq) = (Some(rect), sq);
            }
        }
        best
    }
}

/// The steps over a stretch of room, each with the square of how far it is from a place, the nearest first.
fn steps(from: f32, room: f32, step: f32, place: f32) -> Vec<(f32, f32)> {
    let count = (room.max(0.0) / step) as u16;
    let mut all: Vec<(f32, f32)> = (0..=count)
        .map(|n| {
            let at = from + f32::from(n) * step;
            (at, (at - place) * (at - place))
        })
        .collect();
    all.sort_by(|a, b| a.1.total_cmp(&b.1));
    all
}

impl Moves {
    /// By how many lines it is tried, the nearest first.
    fn shifts(self) -> impl Iterator<Item = i8> {
        let (most, both) = match self {
            Self::None => (0, false),
            Self::Lines(n) => (n, true),
            Self::Up(n) => (n, false),
        };
        (1..=most.min(100) as i8).flat_map(move |n| [Some(-n), both.then_some(n)].into_iter().flatten())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    thread_local! {
        /// A context without a screen, its type installed.
        static CONTEXT: egui::Context = {
            let ctx = egui::Context::default();
            theme::install(&ctx);
            ctx
        };
    }

    /// A painter without a screen.
    fn with_painter(check: impl FnOnce(&Painter)) {
        let mut check = Some(check);
        CONTEXT.with(|ctx| {
            let mut output = ctx.run_ui(egui::RawInput::default(), |ui| {
                if let Some(check) = check.take() {
                    check(ui.painter());
                }
            });
            output.textures_delta.clear();
        });
    }

    fn wanted(texts: &[String], at: Pos2, must: bool) -> Wanted<'_> {
        let (font, ink) = (theme::bold_font(12.5), Color32::BLACK);
        Wanted { at, anchor: Align2::CENTER_CENTER, texts, font, ink, moves: Moves::Lines(4), must }
    }

    #[test]
    fn the_fullest_wording_that_has_room_is_taken_and_others_make_way() {
        with_painter(|painter| {
            let texts = ["West cliff: keep out".to_owned(), "keep out".to_owned()];
            let mut wide = Labels::within(Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 300.0)), []);
            let first = wide.place(painter, &wanted(&texts, pos2(200.0, 150.0), true)).unwrap();
            assert_eq!(first.text, texts[0]);
            let second = wide.place(painter, &wanted(&texts, pos2(200.0, 150.0), false)).unwrap();
            assert!(!second.rect.intersects(first.rect));
            let mut narrow = Labels::within(Rect::from_min_size(pos2(0.0, 0.0), vec2(70.0, 30.0)), []);
            assert_eq!(narrow.place(painter, &wanted(&texts, pos2(35.0, 15.0), true)).unwrap().text, "keep out");
            assert!(narrow.place(painter, &wanted(&texts, pos2(35.0, 15.0), false)).is_none(), "there is no room for another");
        });
    }

    /// Every place of the grid, looked at one after another.
    fn nearest_of_all(labels: &Labels, base: Rect, reach: f32) -> Option<f32> {
        let (inner, size) = (labels.inner, base.size());
        let step = vec2((size.x / 3.0).max(8.0), (size.y / 2.0).max(6.0));
        let mut best: Option<f32> = None;
        for row in 0..200_u16 {
            for column in 0..200_u16 {
                let corner = inner.min + vec2(f32::from(column) * step.x, f32::from(row) * step.y);
                let rect = Rect::from_min_size(corner, size);
                let off = rect.center().distance(base.center());
                if inner.contains_rect(rect) && off <= reach && labels.is_free(rect) && best.is_none_or(|b| off < b) {
                    best = Some(off);
                }
            }
        }
        best
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]
        #[test]
        fn the_nearest_free_place_is_the_nearest_of_all(
            place in (0.0f32..340.0, 0.0f32..280.0),
            size in (10.0f32..60.0, 8.0f32..20.0),
            blocks in prop::collection::vec((0.0f32..380.0, 0.0f32..280.0), 0..40),
            reach in prop_oneof![Just(60.0f32), Just(700.0f32)],
        ) {
            let blocks = blocks.iter().map(|(x, y)| Rect::from_min_size(pos2(*x, *y), vec2(50.0, 40.0)));
            // A little more room than the grid, so that the last step is never a matter of rounding.
            let labels = Labels::within(Rect::from_min_size(pos2(0.0, 0.0), vec2(400.013, 300.017)), blocks);
            let base = Rect::from_min_size(pos2(place.0, place.1), vec2(size.0, size.1));
            let found = labels.nearest(base, reach).map(|rect| rect.center().distance(base.center()));
            let all = nearest_of_all(&labels, base, reach);
            prop_assert_eq!(found.is_some(), all.is_some());
            prop_assert!((found.unwrap_or(0.0) - all.unwrap_or(0.0)).abs() < 1e-2, "{:?} and {:?}", found, all);
        }

        #[test]
        fn what_must_be_shown_is_whole_within_the_edges_and_covers_nothing_while_there_is_room(
            spots in prop::collection::vec((-50.0f32..450.0, -50.0f32..350.0), 1..9),
            blocks in prop::collection::vec((0.0f32..380.0, 0.0f32..280.0), 0..20),
        ) {
            let mut outcome = Ok(());
            with_painter(|painter| {
                let inner = Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 300.0));
                let numbers: Vec<Rect> = blocks.iter().map(|(x, y)| Rect::from_min_size(pos2(*x, *y), vec2(16.0, 13.0))).collect();
                let mut labels = Labels::within(inner, numbers.clone());
                let texts = ["a groyne of rocks: keep out".to_owned(), "keep out".to_owned()];
                let mut rects = numbers;
                for (x, y) in &spots {
                    let Some(placed) = labels.place(painter, &wanted(&texts, pos2(*x, *y), true)) else {
                        outcome = Err(TestCaseError::fail("left out"));
                        return;
                    };
                    if !inner.expand(0.01).contains_rect(placed.rect) || rects.iter().any(|r| r.intersects(placed.rect)) {
                        outcome = Err(TestCaseError::fail(format!("{placed:?} among {rects:?}")));
                    }
                    rects.push(placed.rect);
                }
            });
            outcome?;
        }
    }
}
