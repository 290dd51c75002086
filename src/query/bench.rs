//! What the bench has learned.

use std::collections::BTreeMap;

use super::{Question, Refusal, Work};
use crate::bench::{
    BenchTables, Calibration, Comparison, Expected, Learned, Mix, Pace, PaceTables, Undug, compare, learn_all, pace, undug_by,
};
use crate::book::{Beach, Uid};

/// What the bench was taught, and what it says of a beach's undug signals.
pub(crate) struct BenchLessons {
    pub(crate) learned: BTreeMap<Uid, Learned>,
    pub(crate) mix: Mix,
    undug: Undug,
}

impl BenchLessons {
    /// What an undug signal counts for, if the bench has an answer.
    pub(crate) fn expected_of(&self, signal: Uid) -> Option<&Expected> {
        let n = self.undug.expected.binary_search_by_key(&signal, |e| e.signal).ok()?;
        self.undug.expected.get(n)
    }

    /// What the undug signals of the beach count for.
    pub(crate) fn undug(&self) -> &Undug {
        &self.undug
    }
}

/// What every set-up has learned.
#[derive(Clone, PartialEq)]
pub(crate) struct BenchQuestion {
    pub(crate) tables: BenchTables,
    /// The beach whose finds say what is usual.
    pub(crate) beach: Uid,
}

impl Question for BenchQuestion {
    type Answer = BenchLessons;
    const NAME: &'static str = "what the bench learned";

    fn work_out(&self, _work: &Work<BenchLessons>) -> Result<BenchLessons, Refusal> {
        let (learned, mix) = (learn_all(&self.tables), Mix::on(&self.tables, self.beach));
        let undug = undug_by(&self.tables, self.beach, &learned, &mix);
        Ok(BenchLessons { learned, mix, undug })
    }
}

/// How long a hole takes on a beach.
#[derive(Clone, PartialEq)]
pub(crate) struct PaceQuestion {
    pub(crate) tables: PaceTables,
    pub(crate) beach: Beach,
}

impl PaceQuestion {
    /// What of a beach matters to the pace: the rest of it may change.
    pub(crate) fn place(beach: &Beach) -> Beach {
        Beach { uid: beach.uid, ..Beach::new("", beach.origin) }
    }
}

impl Question for PaceQuestion {
    type Answer = Option<Pace>;
    const NAME: &'static str = "the time at a hole";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        Ok(pace(&self.tables, &self.beach))
    }
}

/// How often the bench is right, by leaving out what it knows.
#[derive(Clone, PartialEq)]
pub(crate) struct CalibrationQuestion {
    pub(crate) tables: BenchTables,
    pub(crate) beach: Uid,
    pub(crate) setup: Uid,
}

impl Question for CalibrationQuestion {
    type Answer = Calibration;
    const NAME: &'static str = "how often the bench is right";

    fn work_out(&self, _work: &Work<Calibration>) -> Result<Calibration, Refusal> {
        Ok(Calibration::leaving_out(&self.tables, self.beach, self.setup))
    }
}

/// Two set-ups on the targets that both have read.
#[derive(Clone, PartialEq)]
pub(crate) struct ComparisonQuestion {
    pub(crate) tables: BenchTables,
    pub(crate) first: Uid,
    pub(crate) second: Uid,
}

impl Question for ComparisonQuestion {
    type Answer = Comparison;
    const NAME: &'static str = "the comparison of set-ups";

    fn work_out(&self, _work: &Work<Comparison>) -> Result<Comparison, Refusal> {
        compare(&self.tables, self.first, self.second).map_err(Refusal::missing)
    }
}
