//! What a permission's holder is handed for a period: the finds read where they lie, and then told no finer than agreed.
//!
//! The one who wants the places has the pack, knows the beach, this program and its source, but not the book. So ids are
//! made from a key that never leaves; coarsened places are areas of a grid fixed to the earth, each holding at least a
//! whole square of the permission's ground; of their times the day is told; outings have no place at all; words that may
//! be a place or a time are left out; pictures are made anew of their pixels. What is left: a square says no more of the
//! sand than anybody sees of it (cliffs, water, rock), and who has packs of two holders whose grounds overlap, or of one
//! ground before and after it was drawn anew, may cross the outlines of the two grounds; an import says so.

mod account;
mod ask;
mod composed;
mod counted;
mod manifest;
mod photos;
mod places;
mod sheets;
mod told;
mod words;

pub use ask::PackAsk;
pub use composed::{Pack, PackError, compose};
pub use photos::PictureFolder;
