//! Verdicts in order of evidence: what a reading comes down to.
//!
//! Scans of all, heavy and light finds light on the same ground again and again. A scour line and a
//! drop zone say more than the hot spots on them, and of two hot spots that share most of their
//! finds the stronger one speaks; the others are told with it.

use serde::{Deserialize, Serialize};

use crate::book::Uid;
use crate::reading::given::WeightChoice;
use crate::reading::outcome::Reading;
use crate::reading::scan::HotSpot;

/// What a verdict says the ground is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pattern {
    /// A scour line; the place is one of [`Reading::scour_lines`].
    ScourLine(usize),
    /// A drop zone; the place is one of [`Reading::hot_spots`].
    DropZone(usize),
    /// A hot spot that is neither; the place is one of [`Reading::hot_spots`].
    HotSpot(usize),
}

/// One thing that a reading says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// What it is and where it stands in the reading.
    pub told: Pattern,
    /// Chance of so strong a sign by luck, all scans allowed for.
    pub q: f64,
    /// Log likelihood ratio against even ground: ranks verdicts that chance hardly ever gives.
    pub log_likelihood_ratio: f64,
    /// Hot spots of the same ground, by their place in [`Reading::hot_spots`].
    pub also: Vec<usize>,
}

/// The verdicts of a reading, the strongest evidence first: everything told of all finds and of
/// either weight, or only what is told of heavy or of light ones.
pub fn ranked(reading: &Reading, of: WeightChoice) -> Vec<Verdict> {
    let zone_of = |s: &HotSpot| s.of == WeightChoice::All && reading.drop_zones.iter().any(|z| z.hot_spot == s.number);
    let lines = reading.scour_lines.iter().enumerate().filter(|_| of != WeightChoice::Light).map(|(n, l)| Verdict {
        told: Pattern::ScourLine(n),
        q: l.q,
        log_likelihood_ratio: l.log_likelihood_ratio,
        also: Vec::new(),
    });
    let spot = |n: usize, s: &HotSpot| Verdict {
        told: if zone_of(s) { Pattern::DropZone(n) } else { Pattern::HotSpot(n) },
        q: s.q,
        log_likelihood_ratio: s.log_likelihood_ratio,
        also: Vec::new(),
    };
    let (zones, mut spots): (Vec<Verdict>, Vec<Verdict>) = reading
        .hot_spots
        .iter()
        .enumerate()
        .filter(|(_, s)| of == WeightChoice::All || s.of == of)
        .map(|(n, s)| spot(n, s))
        .partition(|v| matches!(v.told, Pattern::DropZone(_)));
    let mut told: Vec<Verdict> = lines.chain(zones).collect();
    sort(&mut spots);
    for verdict in spots {
        let Pattern::HotSpot(n) = verdict.told else { continue };
        match told.iter_mut().find(|other| covers(reading, other.told, n)) {
            Some(other) => other.also.push(n),
            None => told.push(verdict),
        }
    }
    sort(&mut told);
    told
}

/// A chance in words, for someone who has no use for a p-value: "fewer than 1 in 1000", "1 in 40", "30 in 100".
pub fn odds(chance: f64) -> String {
    if chance < 0.001 {
        "fewer than 1 in 1000".to_owned()
    } else if chance <= 0.1 {
        format!("1 in {:.0}", 1.0 / chance)
    } else {
        format!("{:.0} in 100", 100.0 * chance.min(1.0))
    }
}

fn sort(verdicts: &mut [Verdict]) {
    let by = |a: &Verdict, b: &Verdict| {
        a.q.total_cmp(&b.q).then(b.log_likelihood_ratio.total_cmp(&a.log_likelihood_ratio)).then(a.told.cmp(&b.told))
    };
    verdicts.sort_by(by);
}

/// Whether what is told already holds most of a hot spot's finds, or the hot spot most of its.
fn covers(reading: &Reading, told: Pattern, spot: usize) -> bool {
    let Some(spot) = reading.hot_spots.get(spot) else { return false };
    let (uids, of_spot): (&[Uid], usize) = match told {
        // A scour line counts heavy finds only.
        Pattern::ScourLine(n) => match reading.scour_lines.get(n) {
            Some(line) => (&line.uids, spot.counts.heavy),
            None => return false,
        },
        Pattern::DropZone(n) | Pattern::HotSpot(n) => match reading.hot_spots.get(n) {
            Some(other) => (&other.uids, spot.uids.len()),
            None => return false,
        },
    };
    let shared = uids.iter().filter(|u| spot.uids.binary_search(u).is_ok()).count();
    2 * shared > of_spot.min(uids.len()) && shared > 0
}
