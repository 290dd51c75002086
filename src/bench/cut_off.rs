//! What is lost by leaving every signal under a target ID.

use serde::Serialize;

use super::evidence::finds_with;
use super::mix::{CLASSES, class_of_find};
use super::pace::{Pace, pace};
use super::tables::BenchTables;
use crate::book::{Book, Uid};
use crate::chance::Share;

/// Finds with a number below which no share is told.
const LEAST: usize = 10;

/// One class of finds under the cut-off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClassLost {
    /// The class.
    pub class: &'static str,
    /// How many of its finds lay under the cut-off.
    pub lost: Share,
}

/// The price of a cut-off on a beach with a set-up, from the person's own finds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutOff {
    /// Numbers below this would be left.
    pub under: f64,
    /// Class by class.
    pub classes: Vec<ClassLost>,
    /// Holes that would not have been dug, of all.
    pub holes: Share,
    /// Minutes that would have been saved in all, with the 95 % interval of the time a hole takes.
    pub minutes_saved: Option<(f64, f64, f64)>,
    /// Time at the hole.
    pub pace: Option<Pace>,
    /// Whether there are too few finds for any of this.
    pub too_little: bool,
    /// What to bear in mind.
    pub notes: Vec<String>,
}

/// Reckons a cut-off from the finds that carry a target ID and were made with the set-up on the beach.
pub fn cut_off(book: &Book, beach: Uid, setup: Uid, under: f64) -> CutOff {
    let pace = book.beaches().get(&beach).and_then(|b| pace(book, b));
    cut_off_at(book, beach, setup, under, pace)
}

/// The same when the time at the hole was measured before: that takes a walk over every track.
pub fn cut_off_at(book: impl Into<BenchTables>, beach: Uid, setup: Uid, under: f64, pace: Option<Pace>) -> CutOff {
    let book = &book.into();
    let finds: Vec<_> = finds_with(book, setup).filter(|(f, _)| f.beach == beach).collect();
    let left = |id: f64| id < under;
    let lost = |class: &str| {
        let of: Vec<_> = finds.iter().filter(|(f, _)| class_of_find(f) == class).collect();
        Share::new(of.iter().filter(|(_, id)| left(*id)).count(), of.len())
    };
    let classes = CLASSES.iter().map(|class| ClassLost { class, lost: lost(class) }).collect();
    let saved = finds.iter().filter(|(_, id)| left(*id)).count();
    let times = |minutes: f64| minutes * saved as f64;
    let too_little = finds.len() < LEAST;
    let mut notes = vec!["Finds are what was dug: what was already left in the ground is not counted.".to_owned()];
    if too_little {
        notes.push(format!("Only {} finds with a target ID were made here with this set-up: not enough.", finds.len()));
    }
    if pace.is_none() {
        notes.push("No track shows the time at six holes or more, so no minutes are reckoned.".to_owned());
    }
    CutOff {
        under,
        classes,
        holes: Share::new(saved, finds.len()),
        minutes_saved: pace.map(|p| (times(p.minutes_per_hole), times(p.interval.0), times(p.interval.1))),
        pace,
        too_little,
        notes,
    }
}
