//! What a person digs and what they leave, kind by kind, as they said on the bench.
//!
//! Finds are what was dug. A kind that is dug at one signal in ten lies in the ground ten times as often as among the
//! finds: that is the mix by which a signal heard anew is weighed. Signals in the log were left, and if they were
//! left for something that is not noted with them, what is dug less is yet more common among them.

use std::collections::BTreeMap;

use super::evidence::readings_of;
use super::mix::Mix;
use super::tables::BenchTables;
use crate::book::{Kind, Uid};

/// Answers that the habit of all kinds is worth to one of them.
const LENT: f64 = 2.0;
/// Nobody digs less or leaves less than this share of a kind, as far as a bench can tell.
const LEAST: f64 = 0.05;

/// How often each kind is dug when heard.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Habit {
    all: f64,
    kinds: BTreeMap<Kind, f64>,
}

impl Habit {
    /// From the bench readings of a set-up that say whether one would have dug; `None` where none says so.
    pub(super) fn on_bench(book: &BenchTables, setup: Uid) -> Option<Self> {
        let mut counts: BTreeMap<&Kind, (f64, f64)> = BTreeMap::new();
        for reading in readings_of(book, setup).filter(|r| !r.target_ids.is_empty()) {
            let (Some(kind), Some(dig)) = (&reading.kind, reading.dig) else { continue };
            let count = counts.entry(kind).or_default();
            *count = (count.0 + f64::from(u8::from(dig)), count.1 + 1.0);
        }
        let (dug, said) = counts.values().fold((0.0, 0.0), |sum, c| (sum.0 + c.0, sum.1 + c.1));
        if said <= 0.0 {
            return None;
        }
        let all = (dug + 1.0) / (said + 2.0);
        let share = |(dug, said): (f64, f64)| ((dug + LENT * all) / (said + LENT)).clamp(LEAST, 1.0 - LEAST);
        Some(Self { all: all.clamp(LEAST, 1.0 - LEAST), kinds: counts.into_iter().map(|(k, c)| (k.clone(), share(c))).collect() })
    }

    fn dug(&self, kind: &Kind) -> f64 {
        self.kinds.get(kind).copied().unwrap_or(self.all)
    }

    /// What lies in the ground, by what was dug of it.
    pub(super) fn in_the_ground(&self, dug: &Mix) -> Mix {
        dug.weighed(|kind| 1.0 / self.dug(kind))
    }

    /// What was left of it, if it was left for what it is and not for what is noted of its sound.
    pub(super) fn left(&self, dug: &Mix) -> Mix {
        dug.weighed(|kind| (1.0 - self.dug(kind)) / self.dug(kind))
    }
}
