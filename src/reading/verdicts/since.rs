//! The outings since a storm: what a storm laid stands out over them, and hardly over all.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::leveled::Leveled;
use super::levels::Levels;
use crate::book::Uid;
use crate::reading::exposure::Exposure;
use crate::reading::given::{Ground, PlacedFinds};
use crate::reading::scan::ByCell;
use crate::shore::Shore;

/// A storm that something began with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Since {
    /// Its name.
    pub storm: String,
    /// Its end.
    pub from: Timestamp,
}

/// The outings that are scanned together: all, or those since a storm.
pub(super) struct Part<'a> {
    pub(super) since: Option<Since>,
    /// Exposure of each cell, m² of rested ground, and the same by outing.
    pub(super) exposure: Vec<f64>,
    pub(super) by_cell: ByCell,
    pub(super) placed: Leveled<'a>,
}

impl<'a> Part<'a> {
    pub(super) fn new(
        since: Option<(Since, &[bool])>,
        laid: &'a PlacedFinds,
        shore: &Shore,
        levels: &Levels,
        exposure: &Exposure,
    ) -> Self {
        let taken = since.as_ref().map(|(_, taken)| *taken);
        let own = taken.map(|taken| levels.grid.of_outings(taken));
        let grid = own.as_ref().unwrap_or(&levels.grid);
        let placed = Leveled::new(laid, shore, levels, exposure, taken);
        Self { since: since.map(|s| s.0), exposure: grid.weighed(|_| 1.0), by_cell: grid.by_cell(), placed }
    }
}

/// So many storms are asked about at most whether a line began with one: each takes as long as the scan itself, and its look
/// must be paid for.
const MOST_STORMS: usize = 4;
/// Fewer outings since a storm tell nothing of it.
const LEAST_SINCE: usize = 3;

/// The storms with which lines may have begun, each with the outings since its end, as many of them as of the storm before
/// or fewer.
pub(super) fn since_storms(ground: &Ground, levels: &Levels, exposure: &Exposure, least_finds: usize) -> Vec<(Since, Vec<bool>)> {
    let begins = |uid: &Option<Uid>| ground.book.outings().get(uid.as_ref()?).map(|o| o.start);
    let begins: Vec<Option<Timestamp>> = exposure.visits.outings().iter().map(begins).collect();
    let storms = ground.book.storms_of(ground.setting.beach.uid);
    let mut ends: Vec<(Timestamp, &str)> = storms.iter().filter_map(|s| Some((s.span()?.1, &*s.name))).collect();
    ends.sort_unstable();
    let searched = |n: usize| levels.grid.outings.get(n).is_some_and(|own| !own.is_empty());
    let all = (0..begins.len()).filter(|n| searched(*n)).count();
    let (mut told, mut last): (Vec<(Since, Vec<bool>)>, usize) = (Vec::new(), all);
    // What nobody searched between two storms is the later one's.
    for (from, storm) in ends.into_iter().rev() {
        let taken: Vec<bool> = begins.iter().map(|b| b.is_some_and(|b| b >= from)).collect();
        let outings = (0..taken.len()).filter(|n| taken[*n] && searched(*n)).count();
        let finds = levels.grid.finds.iter().filter(|f| taken[f.0 as usize]).count();
        if outings >= LEAST_SINCE && outings < all && finds >= least_finds && (told.is_empty() || outings > last) {
            told.push((Since { storm: storm.to_owned(), from }, taken));
            last = outings;
        }
    }
    told.reverse();
    let every = told.len().div_ceil(MOST_STORMS).max(1);
    // Evenly over the storms, the last among them.
    let skipped = (told.len().max(1) - 1) % every;
    told.into_iter().skip(skipped).step_by(every).collect()
}
