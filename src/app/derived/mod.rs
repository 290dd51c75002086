//! What the views draw, made from a snapshot of the book by pure functions on a worker thread.

mod bench_lessons;
mod curve;
mod ground;
mod land;
mod lows;
mod marks;
mod outlines;
pub(crate) mod photo;
mod placing;
mod pyramid;
mod read;
mod read_ask;
mod relief;
mod routed;
mod serial;
mod shades;
mod slots;

pub(crate) use bench_lessons::BenchLessons;
pub(crate) use curve::{Curve, Span, instant};
pub(crate) use ground::{CoveredKey, GroundKey, GroundPicture, GroundShown};
pub(crate) use land::{Land, Strip};
pub(crate) use lows::{Lows, LowsAsk};
pub(crate) use marks::{Mark, MarkShape, Marks, Traces};
pub(crate) use outlines::{Area, AreaKind, Outlines};
pub(crate) use placing::Placing;
pub(crate) use pyramid::Pyramid;
pub(crate) use read::{Read, ReadOutline};
pub(crate) use read_ask::ReadAsk;
pub(crate) use relief::{Patch, Relief};
pub(crate) use routed::{Making, RouteAsk, Routed, SoFar};
pub(crate) use slots::{Derived, Revision};

/// A place on the drawing, metres: `x` along the screen, `y` down it (seaward).
pub(crate) type DrawnPoint = [f32; 2];

/// A place in both lays: as it lies, and straightened.
pub(crate) type DrawnPlace = [DrawnPoint; 2];
