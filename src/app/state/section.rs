//! What Section shows beside what Plan decides.

use egui::Rect;

use super::camera::Camera;
use crate::app::widgets::crowd::Crowd;

/// Finds no further than this from the section's line are drawn in it, metres.
const REACHES_M: [f64; 4] = [10.0, 25.0, 50.0, 100.0];

/// What Section shows beside what Plan decides.
#[derive(Debug, Clone)]
pub(crate) struct SectionView {
    /// Finds within this distance of the line are shown, metres.
    pub(crate) reach_m: f64,
    /// The marks as they were last laid out.
    pub(crate) crowd: Crowd<SectionKey>,
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
        Self { reach_m: REACHES_M[1], crowd: Crowd::default() }
    }
}
