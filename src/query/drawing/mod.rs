//! What the views draw, made ready without knowing a screen: places on the drawing in metres, patches of
//! ground, lines at every level of detail, pictures dot by dot.

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

use std::sync::atomic::{AtomicU64, Ordering};

pub(crate) use curve::{Curve, Span, instant};
pub(crate) use ground::{GroundPicture, GroundShown, SHADES, Shades, Wanted as GroundWanted};
pub(crate) use land::{Land, Strip};
pub(crate) use lows::{Lows, LowsAsk};
pub(crate) use marks::{Mark, MarkShape, MarkTables, Marks, Trace, TraceTables, Traces};
pub(crate) use outlines::{Area, AreaKind, OutlineTables, Outlines};
pub(crate) use placing::Placing;
pub(crate) use pyramid::Pyramid;
pub(crate) use read::{ReadDrawing, ReadOutline};
pub(crate) use relief::{Patch, Relief};
pub(crate) use routed::RouteDrawing;

/// A place on the drawing, metres: `x` along the screen, `y` down it (seaward).
pub(crate) type DrawnPoint = [f32; 2];

/// A place in both lays: as it lies, and straightened.
pub(crate) type DrawnPlace = [DrawnPoint; 2];

/// Numbers whatever is drawn, so that a view knows what it has prepared for the screen already.
fn next_serial() -> u64 {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    NEXT.fetch_add(1, Ordering::Relaxed)
}
