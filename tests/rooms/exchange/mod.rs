//! Files of the world, in and out.

mod bad;
mod common;
mod gpx;
mod misread;
mod outside;
mod round;
mod strangers;
mod table;
