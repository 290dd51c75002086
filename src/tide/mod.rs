//! The water's level: where it stands, when it turns, and when a place is dry.
//!
//! A level is predicted from a station's harmonic constituents ([`Predictor`]) or read from the
//! person's own tide table ([`TideTable`]); [`Water`] is whichever of them a beach uses. Every level
//! is metres above a stated [`Datum`]; every time is UTC.
//!
//! The shipped [`Catalogue`] holds reference stations of three publishers. Shown together with it:
//! [`ATTRIBUTION`] and [`CAUTION`].
//!
//! ```
//! use scourline::tide::{Catalogue, Water};
//! let newlyn = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").expect("a shipped station");
//! let water = Water::of_station(newlyn, newlyn.chart_datum.clone())?;
//! let from: jiff::Timestamp = "2024-03-10T00:00:00Z".parse().expect("a valid time");
//! let turns = water.turns(from, from + jiff::SignedDuration::from_hours(25));
//! assert_eq!(turns.len(), 4);
//! # Ok::<(), scourline::tide::TideError>(())
//! ```

mod analysis;
mod astro;
mod catalogue;
mod constituent;
mod dry;
mod envelope;
mod error;
mod infer;
mod levels;
mod lows;
mod missed;
mod nodal;
mod other_clock;
mod predictor;
mod station;
mod surge;
mod table;
mod turns;
mod water;
mod wave;
mod window;

pub use analysis::Analysis;
pub use catalogue::Catalogue;
pub use constituent::{Constituent, Convention};
pub use dry::{Passing, dry_windows};
pub use error::TideError;
pub use infer::{Fitted, Inferred};
pub use levels::{Level, Levels, Origin, rounded, whole};
pub use lows::{LOWS_REACH, Low, LowsAsked, LowsOrder, Moon, lows_compared, next_lows, order_lows};
pub use missed::Missed;
pub use predictor::Predictor;
pub use station::{Constant, Datum, DatumsFrom, Licence, Place, Publisher, Station};
pub use surge::Surge;
pub use table::{DoubledHour, HeightUnit, PrintedEntry, TableEntry, TideTable};
pub use turns::{Turn, TurnKind, without_small};
pub use water::{Differences, SecondaryPort, Water, WaterKind};
pub use window::Window;

/// Shown wherever a predicted level is shown.
pub const CAUTION: &str = "Not for navigation; check the official tables and local conditions.";

/// Shown wherever the shipped stations are used: what their licences ask for.
pub const ATTRIBUTION: &str = "Tide stations: Neaps tide database (https://github.com/openwatersio/tide-database), from \
    NOAA Center for Operational Oceanographic Products and Services (public domain); Hart-Davis, M., Dettmering, D., Seitz, F. \
    (2025), TICON-4: TIdal CONstants based on GESLA-4 sea-level records, SEANOE, https://doi.org/10.17882/109129 (CC BY 4.0, \
    https://creativecommons.org/licenses/by/4.0/); Kartverket / Norwegian Mapping Authority, Hydrographic Service (CC BY 4.0, \
    https://www.kartverket.no/en/api-and-data/terms-of-use). Place names from GeoNames (CC BY 4.0) and Marine Regions \
    (CC BY 4.0). Modified: a selection of stations, values rounded.";
