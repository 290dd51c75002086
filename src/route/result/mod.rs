//! From the order of blocks that the search found to a route one can walk: its lanes, its steps and what it tells.

mod beside_usual;
mod clocked;
mod dusk;
mod lanes;
mod likely;
mod not_off;
mod otherwise;
mod passed_over;
mod route;
mod route_clock;
pub(super) mod telling;
pub(super) mod trace;
mod way_off;

pub use dusk::EndLight;
pub use likely::on_nine_days_in_ten;
pub use not_off::NotOff;
pub use passed_over::PassedOver;
pub use route::{Checked, Doing, Ground, Margins, PermissionSaid, Route, Step, Visit, WhatIf};
pub use route_clock::RouteClock;
