//! What the bench has learned.

use std::collections::BTreeMap;

use super::{Given, Question, Refusal, Work};
use crate::bench::{
    BenchTables, Calibration, Comparison, Expected, Learned, Leaving, MayBe, Mix, Pace, PaceTables, Sounded, Undug, compare,
    learn_all, leaving, pace, undug_by,
};
use crate::book::{Beach, Ground, Signal, Steadiness, Uid};

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

/// How one signal sounded, and with which set-up.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OneSignal {
    pub(crate) setup: Uid,
    pub(crate) target_ids: Vec<i32>,
    pub(crate) steadiness: Option<Steadiness>,
    pub(crate) gauge_step: Option<i32>,
    /// The ground it was heard on, where it is another than the set-up notes, or the set-up notes none.
    pub(crate) ground: Option<Ground>,
}

impl OneSignal {
    /// A signal of the book; `setup` is that of its outing, and the ground what the person says of it.
    pub(crate) fn of_book(signal: &Signal, setup: Uid, ground: Option<Ground>) -> Self {
        let (steadiness, gauge_step) = (signal.steadiness, signal.gauge_step);
        Self { setup, target_ids: signal.target_ids.clone(), steadiness, gauge_step, ground }
    }

    /// Mean of its target IDs, if it has any.
    pub(crate) fn mean(&self) -> Option<f64> {
        let ids = &self.target_ids;
        (!ids.is_empty()).then(|| ids.iter().map(|id| f64::from(*id)).sum::<f64>() / ids.len() as f64)
    }
}

/// What one signal may be, and what it costs to leave it.
#[derive(Clone, PartialEq)]
pub(crate) struct SignalQuestion {
    pub(crate) lessons: Given<BenchLessons>,
    pub(crate) pace: Option<Pace>,
    pub(crate) signal: OneSignal,
}

impl Question for SignalQuestion {
    type Answer = (MayBe, Leaving);
    const NAME: &'static str = "what the signal may be";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let OneSignal { setup, target_ids, steadiness, gauge_step, ground } = &self.signal;
        let learned = self.lessons.learned.get(setup).ok_or("nothing has been read with the set-up of the signal")?;
        let sounded = Sounded { target_ids, steadiness: *steadiness, gauge_step: *gauge_step, ground: *ground };
        let may_be = learned.may_be(&sounded, &self.lessons.mix).map_err(Refusal::missing)?;
        let leaving = leaving(&may_be, self.pace);
        Ok((may_be, leaving))
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
