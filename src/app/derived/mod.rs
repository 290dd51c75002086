//! What the views draw, made from a snapshot of the book by pure functions on a worker thread.

mod curve;
mod ground;
mod land;
mod lows;
mod marks;
mod outlines;
mod placing;
mod pyramid;
mod read;
mod relief;
mod routed;

pub(crate) use curve::{Curve, Span, instant};
pub(crate) use ground::{CoveredKey, GroundKey, GroundPicture, GroundShown};
pub(crate) use land::{Land, Strip};
pub(crate) use lows::{Lows, LowsAsk};
pub(crate) use marks::{Mark, MarkShape, Marks, Traces};
pub(crate) use outlines::{Area, AreaKind, Outlines};
pub(crate) use placing::Placing;
pub(crate) use pyramid::Pyramid;
pub(crate) use read::{Read, ReadOutline};
pub(crate) use relief::{Patch, Relief};
pub(crate) use routed::{Making, RouteAsk, Routed, SoFar};

/// A place on the drawing, metres: `x` along the screen, `y` down it (seaward).
pub(crate) type Spot = [f32; 2];

/// A place in both lays: as it lies, and straightened.
pub(crate) type Both = [Spot; 2];
