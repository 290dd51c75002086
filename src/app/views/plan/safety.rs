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
        // Away from `of`, what it warns of, a warning is tied to it.
        let mut put = |at: Pos2, texts: &[String], (of, to): (Rect, Pos2)| {
            let (font, ink) = (theme::bold_font(12.5), p.danger);
            let wanted = Wanted { at, anchor: Align2::CENTER_CENTER, texts, font, ink, moves: Moves::Lines(3), must: true };
            let found = labels.place(painter, &wanted);
            placed.extend(found.map(|found| if of.contains(found.rect.center()) { found } else { found.tied_to(to) }));
        };
        // What must not be touched comes before where not to tread.
        for at in self.dangers.iter().filter(|at| self.canvas.contains(**at)) {
            let over = *at + vec2(0.0, -14.0);
            put(over, &["possible ordnance".to_owned()], (Rect::from_two_pos(*at, over).expand(8.0), *at));
        }
        let areas = self.outlines.iter().flat_map(|o| &o.areas);
        for area in areas {
            let Some(texts) = texts(area.kind, &area.name) else { continue };
            // Only what is in view, by its corners; its middle may lie outside.
            let corners = area.rings.iter().flatten().map(|s| look.pos(s[lay]));
            let bounds = corners.fold(Rect::NOTHING, |r, q| r.union(Rect::from_min_max(q, q)));
            if bounds.intersects(self.canvas) {
                let (middle, seen) = (look.pos(area.middle[lay]), bounds.intersect(self.canvas));
                let at = if self.canvas.contains(middle) { middle } else { seen.center() };
                put(at, &texts, (seen, at));
            }
        }
        placed.into()
    }
}

/// What is said of ground that one must keep off, the fullest wording first: the name is shortened before the warning, and
/// what to do is said in each.
pub(super) fn texts(kind: AreaKind, name: &str) -> Option<Vec<String>> {
    let (full, short) = match kind {
        AreaKind::Zone(ZoneUse::NoSearch) => ("keep out", "keep out"),
        AreaKind::Zone(ZoneUse::Mud) => ("soft mud, keep off", "mud: keep off"),
        _ => return None,
    };
    let name = name.trim();
    let says_so = name.to_lowercase().contains(full);
    let named = (!name.is_empty()).then(|| if says_so { name.to_owned() } else { format!("{name}: {full}") });
    let first = name.split_whitespace().next().map(|word| word.trim_end_matches([',', ':', ';']));
    let first = first.filter(|word| word.len() < name.len() && !full.starts_with(&word.to_lowercase()));
    let cut = first.map(|word| format!("{word} ...: {full}"));
    Some(named.into_iter().chain(cut).chain([full.to_owned(), short.to_owned()]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_is_shortened_before_the_warning_and_what_to_do_is_never_lost() {
        let mud = texts(AreaKind::Zone(ZoneUse::Mud), "West mud").unwrap();
        assert_eq!(mud[..2], ["West mud: soft mud, keep off", "West ...: soft mud, keep off"]);
        assert!(mud.iter().all(|text| text.contains("keep off")), "{mud:?}");
        let out = texts(AreaKind::Zone(ZoneUse::NoSearch), "Tern plot, keep out").unwrap();
        assert_eq!(out[..2], ["Tern plot, keep out", "Tern ...: keep out"]);
        assert!(out.iter().all(|text| text.contains("keep out")), "{out:?}");
        assert_eq!(texts(AreaKind::Zone(ZoneUse::NoSearch), "Keep out").unwrap()[0], "Keep out");
        assert!(texts(AreaKind::Zone(ZoneUse::NoSearch), "").unwrap().iter().all(|text| text == "keep out"));
    }
}
