//! The window driven by its accessibility tree, without a screen or a graphics processor.

mod bench;
mod editing;
mod importing;
mod keyboard;
mod picking;
mod reading;
mod time;
