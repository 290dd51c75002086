//! The beach's shape: shore coordinates, the level of the sand, tide lines and the bands between.
//!
//! Everything is computed in the beach's own plane ([`Local`](crate::earth::Local), metres). A
//! place also has shore coordinates ([`ShorePoint`]): metres *along* the baseline and metres
//! *across* it, seaward. Levels of the sand are above the land datum the survey used; tide levels
//! are above the tide's datum; the beach's datum offset joins the two and is never assumed.

mod band;
mod baseline;
mod dry;
mod flat;
mod foreshore;
mod guess;
mod known;
mod middle;
mod newest;
mod others;
mod rise;
mod setting;
mod settle;
mod shape;
mod source;
mod step;
mod strips;
mod surface;
mod tables;
mod tide_line;

use serde::{Deserialize, Serialize};

pub use band::{Band, TideMark};
pub use baseline::Baseline;
pub use dry::DryPlace;
pub use guess::{GuessedBaseline, guess_baseline};
pub use known::{ACROSS_MOST_M, ALONG_MOST_M, Gap, GapWay, SmallGaps};
pub use middle::Middle;
pub use newest::{NewestLevels, newest_levels};
pub use others::{OtherBeachTables, of_other_beaches};
pub use setting::{Setting, low_marks, marks_of};
pub use settle::settle;
pub use shape::{SectionPoint, Shore};
pub use source::{station_caution, surge_of};
pub use surface::{LevelSource, SandLevel};
pub use tables::{PlaceTables, SandTables};

use crate::earth::EarthError;

/// A place by the shore: metres along the baseline and metres seaward of it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ShorePoint {
    /// Metres along the baseline from its first point; negative before it.
    pub along_m: f64,
    /// Metres seaward of the baseline; negative on its landward side.
    pub across_m: f64,
}

impl ShorePoint {
    /// A place from its metres along and across.
    pub fn new(along_m: f64, across_m: f64) -> Self {
        Self { along_m, across_m }
    }
}

/// Why the shape of a beach, or a part of it, cannot be had.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShoreError {
    /// The beach has no line along its back.
    #[error("the beach \"{0}\" has no baseline; draw one along the back of the beach, or have it guessed from levels or finds")]
    NoBaseline(String),
    /// Every point of the baseline is the same.
    #[error("the baseline of \"{0}\" has no length; it needs at least two positions some metres apart")]
    FlatBaseline(String),
    /// Tide levels cannot be laid on the sand.
    #[error(
        "tide lines cannot be drawn on \"{0}\": the offset between its land datum and its tide datum is not set (tide level = land level + offset)"
    )]
    NoDatumOffset(String),
    /// Nothing is known of the level of the sand.
    #[error(
        "the level of the sand on \"{0}\" is not known: import at least three surveyed levels, or set its slope and the level at its baseline"
    )]
    NoLevels(String),
    /// There is no water to fall dry from.
    #[error("the beach \"{0}\" has no tide source; choose a station or a tide table for it")]
    NoWater(String),
    /// Too little to guess a baseline from.
    #[error(
        "a baseline cannot be guessed from {0} positions lying within a metre of each other; at least two further apart are needed"
    )]
    NothingToGuessFrom(usize),
    /// A position that cannot belong to the beach.
    #[error(transparent)]
    Earth(#[from] EarthError),
}
