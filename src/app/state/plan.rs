//! How Plan lies, from where it is seen, and what it shows.

use std::sync::Arc;

use egui::Rect;

use super::camera::{Camera, Look};
use super::plan_drawn::{
    AreaEdges, Furniture, GroundLaid, MeshCache, SafetyLaid, ShadeCache, TraceCache, VerdictsOver, VerdictsUnder, WaterCache,
};
use crate::app::widgets::crowd::Crowd;
use crate::app::widgets::kept::Kept;
use crate::app::widgets::labels::Placed;
use crate::earth::LonLat;
use crate::query::Item;
use crate::query::drawing::{GroundShown, Land};

/// How Plan lies on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PlanShape {
    /// True to shape, turned so that the shore lies level.
    AsItLies,
    /// Along and across the baseline, which becomes a straight line; Section then stands exactly beside it.
    #[default]
    Straight,
}

/// What Plan shows and from where.
#[derive(Debug)]
pub(crate) struct PlanView {
    pub(crate) lay: PlanShape,
    /// One for each lay; `None` until the beach was fitted into it.
    pub(crate) cameras: [Option<Camera>; 2],
    /// The size of the canvas for which each camera was fitted; `None` once it was moved by hand.
    pub(crate) fitted: [Option<egui::Vec2>; 2],
    /// Where the section is taken, metres along; the middle of the beach until it is moved.
    pub(crate) along_m: Option<f64>,
    pub(crate) tracks: bool,
    pub(crate) zones: bool,
    pub(crate) finds: bool,
    /// Whether what was read is drawn.
    pub(crate) verdicts: bool,
    /// What is shown of the ground itself.
    pub(crate) ground: GroundShown,
    /// Corner where a box-pick began.
    pub(crate) box_from: Option<egui::Pos2>,
    /// Whether the section's line is being dragged.
    pub(crate) drags_line: bool,
    /// Whether the place in the form is being dragged.
    pub(crate) drags_draft: bool,
    /// The baseline while it is being drawn.
    pub(crate) drawing: Option<Vec<LonLat>>,
    /// What is to be brought into view once its mark is there.
    pub(crate) bring_into_view: Option<Item>,
    /// What warns, as it was last written.
    pub(crate) warned: Arc<[Placed]>,
    /// Where words stood on Plan when it was last drawn.
    pub(crate) words: Vec<Rect>,
    /// The numbers of the route's blocks and the names of its ends, the same.
    pub(crate) numbers: Vec<(String, Rect)>,
    /// The names of tide levels on Plan, the same.
    pub(crate) levels: Arc<[(Rect, String)]>,
    /// The canvas as it was last laid out.
    pub(crate) canvas: Option<Rect>,
    pub(crate) water: WaterCache,
    pub(crate) meshes: MeshCache,
    pub(crate) shade: ShadeCache,
    /// The marks, by their serial, how they are laid, the view and its place.
    pub(crate) crowd: Crowd<(u64, usize, Camera, Rect)>,
    pub(crate) traces: TraceCache,
    pub(crate) laid: Kept<GroundLaid>,
    pub(crate) edges: Kept<AreaEdges>,
    pub(crate) furniture: Kept<Furniture>,
    pub(crate) verdicts_under: Kept<VerdictsUnder>,
    pub(crate) verdicts_over: Kept<VerdictsOver>,
    pub(crate) safety: Kept<SafetyLaid>,
}

impl Default for PlanView {
    fn default() -> Self {
        Self {
            lay: PlanShape::default(),
            cameras: [None; 2],
            fitted: [None; 2],
            along_m: None,
            tracks: true,
            zones: true,
            finds: true,
            verdicts: true,
            ground: GroundShown::default(),
            box_from: None,
            drags_line: false,
            drags_draft: false,
            drawing: None,
            bring_into_view: None,
            warned: Arc::default(),
            words: Vec::new(),
            numbers: Vec::new(),
            levels: Arc::default(),
            canvas: None,
            water: WaterCache::default(),
            meshes: MeshCache::default(),
            shade: ShadeCache::default(),
            crowd: Crowd::default(),
            traces: TraceCache::default(),
            laid: Kept::default(),
            edges: Kept::default(),
            furniture: Kept::default(),
            verdicts_under: Kept::default(),
            verdicts_over: Kept::default(),
            safety: Kept::default(),
        }
    }
}

impl PlanView {
    /// Which of the two coordinates of a place counts.
    pub(crate) fn lay_index(&self) -> usize {
        match self.lay {
            PlanShape::AsItLies => 0,
            PlanShape::Straight => 1,
        }
    }

    /// The camera of the present lay.
    pub(crate) fn camera(&self) -> Camera {
        self.cameras[self.lay_index()].unwrap_or_default()
    }

    /// The camera of the present lay, to be moved.
    pub(crate) fn camera_mut(&mut self) -> &mut Camera {
        let lay = self.lay_index();
        self.fitted[lay] = None;
        self.cameras[lay].get_or_insert_default()
    }

    /// The look onto the canvas as it was last laid out.
    pub(crate) fn look(&self) -> Option<Look> {
        Some(self.camera().onto(self.canvas?))
    }

    /// Shows the whole beach again at the next frame.
    pub(crate) fn fit(&mut self) {
        let lay = self.lay_index();
        self.cameras[lay] = None;
    }

    /// Metres along at which the section is taken.
    pub(crate) fn section_along_m(&self, land: &Land) -> Option<f64> {
        let shore = land.placing.shore()?;
        let (low, high) = shore.along_range_m();
        Some(self.along_m.unwrap_or((low + high) / 2.0).clamp(low, high))
    }
}
