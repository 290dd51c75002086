//! What Plan drew last, so that nothing is laid out twice while nothing moves.

use std::sync::Arc;

use egui::epaint::Mesh;
use egui::{Pos2, Rect, TextureHandle, TextureId};

use super::camera::{Camera, Look};
use crate::query::drawing::{DrawnPlace, GroundPicture, Land, Outlines, Patch, ReadDrawing};
use crate::query::{Given, Item};
use crate::reading::WeightChoice;

/// The water drawn last, by the land and the level it was cut from.
#[derive(Debug, Clone, Default)]
pub(crate) struct WaterCache {
    pub(crate) land: u64,
    pub(crate) level_mm: i64,
    pub(crate) cover: Arc<Patch>,
    pub(crate) edge: Arc<Vec<Vec<DrawnPlace>>>,
}

impl PartialEq for WaterCache {
    /// The same land cut at the same level gives the same.
    fn eq(&self, other: &Self) -> bool {
        (self.land, self.level_mm) == (other.land, other.level_mm)
    }
}

/// The sand as it was last placed on the screen.
#[derive(Debug, Clone, Default)]
pub(crate) struct MeshCache {
    pub(crate) key: Option<(u64, usize, Camera, Rect, bool)>,
    pub(crate) sand: Arc<Mesh>,
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

/// From where Plan is seen, and which of the two coordinates of a place counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Seen {
    pub(crate) look: Look,
    pub(crate) lay: usize,
}

/// What lies on the sand and under the tracks: what areas are filled with, the water, the picture of the ground with
/// its texture, tide lines, the baseline.
#[derive(PartialEq)]
pub(crate) struct GroundLaid {
    pub(crate) land: Given<Land>,
    pub(crate) seen: Seen,
    pub(crate) outlines: Option<Given<Outlines>>,
    pub(crate) water: WaterCache,
    pub(crate) shade: Option<(Given<GroundPicture>, TextureId)>,
}

/// The edges of zones, permissions and barriers, and which are picked or pointed at.
#[derive(PartialEq)]
pub(crate) struct AreaEdges {
    pub(crate) outlines: Given<Outlines>,
    pub(crate) seen: Seen,
    pub(crate) lit: Vec<Item>,
}

/// What helps to read Plan: the names on it, the section's line, scale and north.
#[derive(PartialEq)]
pub(crate) struct Furniture {
    pub(crate) land: Given<Land>,
    pub(crate) seen: Seen,
    pub(crate) canvas: Rect,
    pub(crate) outlines: Option<Given<Outlines>>,
    /// Where the section is taken, metres along.
    pub(crate) along_m: Option<f64>,
    pub(crate) water: WaterCache,
    /// Level of the water above its datum, metres.
    pub(crate) water_m: Option<f64>,
    /// Where names stand already.
    pub(crate) taken: Arc<[Rect]>,
}

/// What is drawn of a reading: the verdicts at a choice of weight, and which are picked or pointed at.
#[derive(PartialEq)]
pub(crate) struct VerdictsDrawn {
    pub(crate) read: Given<ReadDrawing>,
    pub(crate) of: WeightChoice,
    pub(crate) seen: Seen,
    pub(crate) lit: Vec<Item>,
}

/// What of it lies under the marks.
#[derive(PartialEq)]
pub(crate) struct VerdictsUnder(pub(crate) VerdictsDrawn);

/// What of it lies over the marks.
#[derive(PartialEq)]
pub(crate) struct VerdictsOver {
    pub(crate) drawn: VerdictsDrawn,
    /// Where names stand already.
    pub(crate) taken: Arc<[Rect]>,
    /// Whether a veil comes over it.
    pub(crate) veiled: bool,
}

/// Where warnings stand: the areas and the marks that they are of, and what they keep clear of.
#[derive(PartialEq)]
pub(crate) struct SafetyLaid {
    pub(crate) seen: Seen,
    pub(crate) canvas: Rect,
    pub(crate) outlines: Option<Given<Outlines>>,
    /// Marks in view that may be ordnance.
    pub(crate) dangers: Arc<[Pos2]>,
    pub(crate) taken: Arc<[Rect]>,
}
