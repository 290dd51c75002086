//! What warns on Plan: where to keep out, and what may be ordnance. It is placed before any other name and written over
//! everything, in a shorter wording where there is little room; it is never left out.

use std::sync::Arc;

use egui::{Align2, Painter, Pos2, Rect, vec2};

use crate::app::state::camera::Look;
use crate::app::state::plan_drawn::{SafetyLaid, Seen};
use crate::app::state::{FrameContext, State};
use crate::app::widgets::kept::Drawing;
use crate::app::widgets::labels::{Labels, Moves, Placed, Wanted};
use crate::app::widgets::theme::{self, palette};
use crate::book::ZoneUse;
use crate::query::drawing::AreaKind;

/// Places the warnings, clear of the numbers of blocks; they are written later, over all else.
pub(super) fn lay(
    painter: &Painter,
    canvas: Rect,
    look: &Look,
    shown: &FrameContext<'_>,
    state: &mut State,
    taken: Arc<[Rect]>,
) -> Arc<[Placed]> {
    let dangers: Arc<[Pos2]> = if state.plan.finds { state.plan.crowd.dangers() } else { Arc::default() };
    let drawing = SafetyLaid {
        seen: Seen { look: *look, lay: state.plan.lay_index() },
        canvas,
        outlines: shown.outlines().map(|(outlines, _)| outlines.clone()),
        dangers,
        taken,
    };
    state.plan.safety.show(painter, drawing)
}

impl Drawing for SafetyLaid {
    type Told = Arc<[Placed]>;

    fn draw(&self, painter: &Painter) -> Self::Told {
        let (p, Seen { look, lay }) = (palette(painter.ctx()), self.seen);
        let mut labels = Labels::within(self.canvas.shrink(3.0), self.taken.iter().copied());
        let mut placed = Vec::new();
        let mut put = |at: Pos2, texts: &[String]| {
            let (font, ink) = (theme::bold_font(12.5), p.danger);
            let wanted = Wanted { at, anchor: Align2::CENTER_CENTER, texts, font, ink, moves: Moves::Lines(3), must: true };
            placed.extend(labels.place(painter, &wanted));
        };
        // What must not be touched comes before where not to tread.
        for at in self.dangers.iter().filter(|at| self.canvas.contains(**at)) {
            put(*at + vec2(0.0, -14.0), &["possible ordnance".to_owned(), "ordnance?".to_owned()]);
        }
        let areas = self.outlines.iter().flat_map(|o| &o.areas);
        for area in areas {
            let Some(texts) = texts(area.kind, &area.name) else { continue };
            // Only what is in view, by its corners; its middle may lie outside.
            let corners = area.rings.iter().flatten().map(|s| look.pos(s[lay]));
            let bounds = corners.fold(Rect::NOTHING, |r, q| r.union(Rect::from_min_max(q, q)));
            if bounds.intersects(self.canvas) {
                let middle = look.pos(area.middle[lay]);
                let at = if self.canvas.contains(middle) { middle } else { bounds.intersect(self.canvas).center() };
                put(at, &texts);
            }
        }
        placed.into()
    }
}

/// What is said of ground that one must keep off, the fullest wording first.
pub(super) fn texts(kind: AreaKind, name: &str) -> Option<Vec<String>> {
    let (full, short) = match kind {
        AreaKind::Zone(ZoneUse::NoSearch) => ("keep out", "keep out"),
        AreaKind::Zone(ZoneUse::Mud) => ("soft mud, keep off", "mud"),
        _ => return None,
    };
    let says_so = name.to_lowercase().contains(full);
    let named =
        (!name.trim().is_empty()).then(|| if says_so { name.trim().to_owned() } else { format!("{}: {full}", name.trim()) });
    Some(named.into_iter().chain([full.to_owned(), short.to_owned()]).collect())
}
