//! What Section shows beside what Plan decides.

use egui::Rect;

use super::camera::Camera;
use super::plan_drawn::Seen;
use crate::app::widgets::crowd::Crowd;
use crate::app::widgets::kept::Kept;
use crate::query::drawing::{Land, ReadDrawing};
use crate::query::{Given, Item};
use crate::reading::WeightChoice;
use crate::shore::SectionPoint;

/// Finds no further than this from the section's line are drawn in it, metres.
const REACHES_M: [f64; 4] = [10.0, 25.0, 50.0, 100.0];

/// What Section shows beside what Plan decides.
#[derive(Debug)]
pub(crate) struct SectionView {
    /// Finds within this distance of the line are shown, metres.
    pub(crate) reach_m: f64,
    /// The marks as they were last laid out.
    pub(crate) crowd: Crowd<SectionKey>,
    pub(crate) sand: Kept<SandCut>,
    pub(crate) verdicts: Kept<VerdictsCut>,
}

/// The axis of levels across the screen: high sand on the left, low on the right, as seen along the shore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LevelAxis {
    pub(crate) rect: Rect,
    /// Level at the left and at the right edge, metres above the shown datum.
    pub(crate) high_m: f64,
    pub(crate) low_m: f64,
    /// Shown level = land level + this.
    pub(crate) shift_m: f64,
}

/// Where the beach is cut, and how that is seen.
#[derive(Clone, PartialEq)]
pub(crate) struct Cut {
    pub(crate) land: Given<Land>,
    pub(crate) profile: Given<Vec<SectionPoint>>,
    pub(crate) along_m: f64,
    pub(crate) seen: Seen,
    pub(crate) axis: LevelAxis,
}

/// The sand where it is cut, with the water over it.
#[derive(PartialEq)]
pub(crate) struct SandCut {
    pub(crate) cut: Cut,
    /// Level of the water above its datum, metres.
    pub(crate) water_m: Option<f64>,
}

/// What was read, where it is cut.
#[derive(PartialEq)]
pub(crate) struct VerdictsCut {
    pub(crate) cut: Cut,
    pub(crate) read: Given<ReadDrawing>,
    pub(crate) weight: WeightChoice,
    pub(crate) in_light: Option<Item>,
}

/// What decides where marks stand in Section: the marks, where along it is cut and how far it reaches, how Plan is
/// laid and seen, and the axis of levels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SectionKey {
    pub(crate) marks: u64,
    pub(crate) along_m: f64,
    pub(crate) reach_m: f64,
    pub(crate) lay: usize,
    pub(crate) camera: Camera,
    pub(crate) plan: Rect,
    pub(crate) canvas: Rect,
    pub(crate) levels_m: (f64, f64, f64),
}

impl Default for SectionView {
    fn default() -> Self {
        Self { reach_m: REACHES_M[1], crowd: Crowd::default(), sand: Kept::default(), verdicts: Kept::default() }
    }
}
