//! A person's own tracks and finds as witnesses of the water.

mod draw;
mod land;
mod planted;
mod tide;
mod told;
mod trial;
mod walk;
