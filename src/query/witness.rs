//! What a beach's own tracks and finds say of its water and sand.

use super::{Given, Question, Refusal, Work};
use crate::book::{FindTables, Uid};
use crate::effort::EffortError;
use crate::shore::Setting;
use crate::witness::{self, Heard, InWash, Params, WitnessTables};

/// The finds that were noted at the water's edge.
#[derive(Clone, PartialEq)]
pub struct InWashQuestion {
    pub(super) finds: FindTables,
    pub(super) beach: Uid,
}

impl Question for InWashQuestion {
    type Answer = Vec<InWash>;
    const NAME: &'static str = "the finds in the wash";

    fn is_same(earlier: &Self::Answer, new: &Self::Answer) -> bool {
        earlier == new
    }

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        Ok(witness::in_wash(&self.finds, self.beach))
    }
}

/// What a beach's own tracks and finds say of its water and sand; `None` where it has no water, offset or shape for
/// them to speak of.
#[derive(Clone, PartialEq)]
pub struct WitnessQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) tables: WitnessTables,
    pub(super) in_wash: Given<Vec<InWash>>,
}

impl Question for WitnessQuestion {
    type Answer = Option<Heard>;
    const NAME: &'static str = "what your own tracks say of the water";
    const IS_LONG: bool = true;

    fn work_out(&self, work: &Work<Option<Heard>>) -> Result<Option<Heard>, Refusal> {
        witness::heard(&self.tables, &self.in_wash, &self.setting, &Params::default(), work.progress()).map_err(|e| match e {
            EffortError::Cancelled(e) => e.into(),
            other => Refusal::missing(other),
        })
    }
}
