//! What a beach's own tracks and finds say of its water and sand.

use super::{Given, Question, Refusal, Work};
use crate::effort::EffortError;
use crate::shore::Setting;
use crate::witness::{self, Heard, Params, WitnessTables};

/// What a beach's own tracks and finds say of its water and sand; `None` where it has no water, offset or shape for
/// them to speak of.
#[derive(Clone, PartialEq)]
pub struct WitnessQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) tables: WitnessTables,
}

impl Question for WitnessQuestion {
    type Answer = Option<Heard>;
    const NAME: &'static str = "what your own tracks say of the water";

    fn work_out(&self, work: &Work<Option<Heard>>) -> Result<Option<Heard>, Refusal> {
        witness::heard(&self.tables, &self.setting, &Params::default(), work.progress()).map_err(|e| match e {
            EffortError::Cancelled(e) => e.into(),
            other => Refusal::missing(other),
        })
    }
}
