//! How a scour line moved between storms: where its heavy finds lay before the first storm, between
//! each storm and the next, and after the last.
//!
//! Means with intervals of Student's t; changes from one state to the next with those of Welch
//! (1947). What lies outside the line's strip is not seen, so a move is told somewhat short.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::chance::Mean;
use crate::reading::given::{Ground, Placed};
use crate::shore::ShorePoint;

/// A scour line between two storms.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LineState {
    /// The storm it follows; `None` before the first.
    pub after: Option<String>,
    /// The end of that storm.
    pub from: Option<Timestamp>,
    /// The start of the next storm; `None` after the last.
    pub to: Option<Timestamp>,
    /// Heavy finds in it.
    pub finds: usize,
    /// Level of the sand at them, metres above the land datum; `None` with too few.
    pub level_m: Option<Mean>,
    /// Metres across at the line's middle, its slant taken out; `None` with too few.
    pub across_m: Option<Mean>,
    /// How much higher it lay than in the last state told before, metres.
    pub rose_m: Option<Mean>,
    /// How much further seaward it lay than in the last state told before, metres.
    pub seaward_m: Option<Mean>,
}

/// Fewer heavy finds than this tell no position.
const LEAST_FINDS: usize = 4;

/// The states of a line in order of time, of its heavy finds with their place and across at the line's middle.
pub(in crate::reading) fn states(
    ground: &Ground,
    members: &[(&Placed, ShorePoint)],
    slant: f64,
    middle_along_m: f64,
) -> Vec<LineState> {
    let mut storms: Vec<_> = ground.book.storms_of(ground.setting.beach.uid);
    storms.retain(|s| s.span().is_some());
    storms.sort_by_key(|s| (s.span(), s.uid));
    let spans: Vec<(Timestamp, Timestamp)> = storms.iter().filter_map(|s| s.span()).collect();
    let mut states: Vec<LineState> = Vec::new();
    let mut last: Option<(Vec<f64>, Vec<f64>)> = None;
    for n in 0..=storms.len() {
        let from = n.checked_sub(1).and_then(|k| spans.get(k)).map(|s| s.1);
        let to = spans.get(n).map(|s| s.0);
        let own: Vec<_> = members
            .iter()
            .filter(|(f, _)| f.time.is_some_and(|t| from.is_none_or(|a| a <= t) && to.is_none_or(|b| t < b)))
            .collect();
        let levels: Vec<f64> = own.iter().filter_map(|(f, _)| f.land_m).collect();
        let across: Vec<f64> = own.iter().map(|(_, s)| s.across_m - slant * (s.along_m - middle_along_m)).collect();
        let enough = levels.len() >= LEAST_FINDS;
        let before = last.as_ref().filter(|_| enough);
        let (rose_m, seaward_m) =
            before.map_or((None, None), |l| (Mean::difference(&l.0, &levels), Mean::difference(&l.1, &across)));
        states.push(LineState {
            after: n.checked_sub(1).and_then(|k| storms.get(k)).map(|s| s.name.clone()),
            from,
            to,
            finds: own.len(),
            level_m: Mean::from_values(&levels).filter(|_| enough),
            across_m: Mean::from_values(&across).filter(|_| enough),
            rose_m,
            seaward_m,
        });
        if enough {
            last = Some((levels, across));
        }
    }
    states
}
