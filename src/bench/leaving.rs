//! What it costs to leave a signal, and what it saves.

use serde::Serialize;

use super::may_be::{ClassChance, MayBe};
use super::pace::Pace;

/// Signals that are reckoned with: one alone is a find or none.
const OF: usize = 10;

/// What would lie in the holes of so many signals like one that was asked of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Leaving {
    /// How many signals.
    pub of: usize,
    /// Things worth digging among them, class by class; rubbish is none.
    pub worth: Vec<ClassChance>,
    /// Things that were never read among them: they may be anything.
    pub unknown: f64,
    /// Minutes of digging that are saved, with the 95 % interval; `None` where no track shows the time at a hole.
    pub minutes_saved: Option<(f64, f64, f64)>,
}

/// Reckons what leaving ten signals like this one costs.
pub fn leaving(told: &MayBe, pace: Option<Pace>) -> Leaving {
    let many = OF as f64;
    let worth = told.classes.iter().filter(|c| c.class != "rubbish");
    let unknown: f64 = told.answers.iter().filter(|a| a.kind.is_none()).map(|a| a.chance).sum();
    Leaving {
        of: OF,
        worth: worth.map(|c| ClassChance { class: c.class, chance: many * c.chance }).collect(),
        unknown: many * unknown,
        minutes_saved: pace.map(|p| (many * p.minutes_per_hole, many * p.interval.0, many * p.interval.1)),
    }
}
