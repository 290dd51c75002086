//! Finds for the exposure: of the beach, its bands and zones and every cell of it, by kind of find and by
//! state of the tide, on fresh ground, and before and after storms.

mod band;
mod cell_rates;
mod cell_reading;
mod forecast;
mod fresh;
mod kind_reading;
mod rate;
mod storm;
mod tide_state;
mod undug;
mod yields;

pub use band::{BandReading, ZoneReading};
pub use cell_rates::{CellRate, CellRates};
pub use cell_reading::{CellReading, Cells};
pub use forecast::{Differ, Forecast, Forecasts, RatioToForecast};
pub use fresh::FreshAgain;
pub use kind_reading::KindReading;
pub use rate::Rate;
pub use storm::{BeforeAfter, Days, StormReading, Storms};
pub use tide_state::{TideReading, TideState};
pub use undug::{BandUndug, ExpectedFinds, UndugReading};
pub use yields::Yield;

pub(super) use band::{bands, zones};
pub(super) use cell_reading::cells;
pub(super) use forecast::{few_for_forecasts, forecasts};
pub(super) use fresh::fresh_again;
pub(super) use kind_reading::kinds;
pub(super) use storm::storms;
pub(super) use tide_state::{tides, without_minute};
pub(super) use undug::read_undug;
pub(super) use yields::{Part, in_band, round_up, surer};

/// With fewer outings than this an interval is wide, and says so.
const FEW_OUTINGS: usize = super::exposure::LEAST_OUTINGS;
