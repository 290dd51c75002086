//! The next low: which ground, in which order, by when, and when to turn back.
//!
//! Blocks of ground that may be searched are valued by what they are expected to give. The walking
//! ground says from where and until when a person gets off the beach dry; a search finds the order of
//! blocks with the most value within that; and a separate checker, which shares no code with either, walks
//! through the result. A route that fails it is never returned.

mod accesses;
mod asked;
mod check;
mod error;
mod ground;
mod paces;
mod params;
mod plan;
mod result;
pub mod search;
mod tables;
mod worth;

pub use accesses::of_accesses;
pub use asked::Asked;
pub use check::{Breach, check};
pub use error::RouteError;
pub use ground::WayIn;
pub use paces::{Learnt, Paces};
pub use params::{BlockId, Params, Start};
pub use plan::{Onlooker, plan, plan_watched};
pub use result::{
    Checked, Doing, EndLight, Ground, Margins, NotOff, PassedOver, PermissionSaid, Route, RouteClock, Step, Visit, WhatIf,
    on_nine_days_in_ten,
};
pub use tables::{AccessTables, RouteTables};
pub use worth::{ByBand, Expected, Place, WithUndug, Worth};
