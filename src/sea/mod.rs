//! The waves: the record of the sea, and how high it runs up the sand.
//!
//! Run-up is the two-per-cent exceedance of Stockdon and others (2006), worked out from the waves offshore and
//! the slope of the foreshore. The waves are those of a [record](Seas) of the sea, of which a forecast is one
//! that lies ahead; where none covers the hours asked about, those that a person expects, or a cautious sea
//! that is named ([`SeaFrom`]), and never calmer than the record's entries within a day before and after. What comes out is a value ([`RunUp`], [`Sea`]) that dry windows and the route
//! are handed.

mod expected;
mod foreshore;
mod record;
mod run_up;
mod waves;

pub use expected::{RunUp, Sea, SeaFrom, USUAL_RUN_UP_M, USUAL_WAVES};
pub use foreshore::Foreshore;
pub use record::Seas;
pub use run_up::{Swash, swash};
pub use waves::{Waves, WavesError};
