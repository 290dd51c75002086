//! What Plan drew last, so that nothing is laid out twice while nothing moves.

use std::sync::Arc;

use egui::epaint::Mesh;
use egui::{Rect, TextureHandle};

use super::camera::Camera;
use crate::query::drawing::{DrawnPlace, Patch};

/// The water drawn last, by the land and the level it was cut from.
#[derive(Debug, Clone, Default)]
pub(crate) struct WaterCache {
    pub(crate) land: u64,
    pub(crate) level_mm: i64,
    pub(crate) cover: Arc<Patch>,
    pub(crate) edge: Arc<Vec<Vec<DrawnPlace>>>,
}

/// The sand as it was last placed on the screen.
#[derive(Debug, Clone, Default)]
pub(crate) struct MeshCache {
    pub(crate) key: Option<(u64, usize, Camera, Rect, bool)>,
    pub(crate) sand: Option<Arc<Mesh>>,
}

/// What traces were cut into triangles for: their serial, how they are laid, the view and its place, whether it is
/// by night and over a picture of the ground, and the tracks in the light.
pub(crate) type TracedFor = (u64, usize, Camera, Rect, bool, bool, Vec<u32>);

/// The lines of tracks as they were last cut into triangles.
#[derive(Debug, Clone, Default)]
pub(crate) struct TraceCache {
    pub(crate) key: Option<TracedFor>,
    pub(crate) mesh: Arc<Mesh>,
}

/// What a hatching was placed for: the land, how it is laid, the view, and whether it is by night.
pub(crate) type LaidFor = (u64, usize, Camera, bool);

/// What was handed to the screen last.
#[derive(Clone, Default)]
pub(crate) struct ShadeCache {
    /// The picture's serial and whether it is by night.
    pub(crate) key: Option<(u64, bool)>,
    pub(crate) texture: Option<TextureHandle>,
    pub(crate) hatch: Option<(bool, TextureHandle)>,
    /// The hatching as it was last placed, by the land and the look.
    pub(crate) laid: Option<(LaidFor, Arc<Mesh>)>,
}

impl std::fmt::Debug for ShadeCache {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ShadeCache").field("key", &self.key).finish_non_exhaustive()
    }
}
