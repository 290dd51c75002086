//! What happened when on a beach: its outings and storms.

use jiff::Timestamp;

use super::{Item, Question, Refusal, Work};
use crate::book::Uid;
use crate::book::part::part;

part! {
    /// What happened.
    pub struct HappeningTables: outings, storms;
}

/// An outing or a storm, and from when to when it lasted.
pub(crate) struct Happening {
    pub(crate) item: Item,
    /// Seconds since 1970 UTC.
    pub(crate) from_s: f64,
    /// Seconds since 1970 UTC.
    pub(crate) to_s: f64,
    /// Of a storm, the significant height of its highest waves, metres.
    pub(crate) waves_m: Option<f64>,
}

/// The storms of a beach, then its outings, the earliest first.
#[derive(Clone, PartialEq)]
pub(crate) struct HappeningsQuestion {
    pub(crate) tables: HappeningTables,
    pub(crate) beach: Uid,
}

impl Question for HappeningsQuestion {
    type Answer = Vec<Happening>;
    const NAME: &'static str = "the outings and storms on Time";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let seconds = |t: Timestamp| t.as_millisecond() as f64 / 1000.0;
        let storms = self.tables.storms_of(self.beach).into_iter().filter_map(|s| {
            let (from, to) = s.span()?;
            let waves_m = s.peak().map(|p| p.hs_m);
            Some(Happening { item: Item::Storm(s.uid), from_s: seconds(from), to_s: seconds(to), waves_m })
        });
        let outings = self.tables.outings_of(self.beach).into_iter().map(|o| Happening {
            item: Item::Outing(o.uid),
            from_s: seconds(o.start),
            to_s: seconds(o.end),
            waves_m: None,
        });
        Ok(storms.chain(outings).collect())
    }
}
