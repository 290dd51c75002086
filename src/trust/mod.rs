//! What must not be believed of what a person gave: the tide's source, the offset between land and tide, and what else
//! a plan stakes a life on.
//!
//! Whoever finds a doubt returns it from a pure function. [`weighed`] joins the doubts with what the person confirmed;
//! a route is refused while one of them bars it.

mod afar;
mod age;
mod apart;
mod beside;
mod coast;
mod divided;
mod doubt;
mod exchanged;
mod far;
mod flat;
mod found;
mod gauge;
mod heights;
mod levels;
mod logger;
mod off;
mod offset;
mod pairs;
mod place;
mod port;
mod rounded;
mod shifted;
mod small_tide;
mod smooth;
mod surveys;
mod table;
#[cfg(test)]
mod trial;
mod turn;
mod twice;
mod weather;
mod zero;

pub use afar::of_afar;
pub use age::{AGED_M, AGED_SAND, SandAge, of_age, of_future};
pub use apart::{APART, APART_M, of_point};
pub use beside::{beside_station, station_beside};
pub use divided::{station_given, station_is_given};
pub use doubt::{Confirmed, Doubt, Told, Weight, unsettled, unsettled_within, weighed};
pub use far::{FAR_M, TOO_FAR_M, of_station, widened_m};
pub use flat::{FlatSand, of_flat};
pub use found::{Found, SourceError};
pub use gauge::{days_needed, of_gauge};
pub use levels::of_levels;
pub use logger::of_gauge_beside;
pub use offset::{OffsetFacts, SandFront, SandSpan, of_offset, offset_said};
pub use place::{AT_SEA, CLOCK_GUESSED, ahead_of_the_sun_h, of_place, zone_fits, zone_given, zone_is_given};
pub use port::of_secondary;
pub use small_tide::{SMALL_TIDE, of_small_tide};
pub use surveys::{Higher, HigherThanOther, SandRise, SurveyStep, of_other_beach, of_rise, of_step, of_surveys};
pub use table::of_table;
pub use weather::of_weather;
pub use zero::of_zero;
