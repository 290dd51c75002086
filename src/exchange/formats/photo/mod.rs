//! Photographs: the place and time that a camera wrote into them (Exif 2.32, CIPA DC-008), whatever the picture is in.

mod along;
mod clock;
mod read;
mod shot;

pub use along::{Along, along};
pub(in crate::exchange) use clock::Clocks;
pub(in crate::exchange) use read::read;
