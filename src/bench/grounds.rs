//! How the ground moves target IDs, and what was read on one ground as it would have read on another.
//!
//! Many targets read higher, some lower, over wet salt sand than over dry (common practice, no published source). So the
//! ground is taken as depth is ([`drifts`]): a target that was read on both grounds tells by how much it moved from one to the other,
//! each by its middle number at like depths; a kind of which some targets were read on one ground and others on the
//! other tells it too, though by far less surely. One shift for all kinds, believed by as much as it stands out of its
//! error, and each kind's own drawn towards it ([`drawn_together`]).
//!
//! Why numbers are moved and readings of other ground not merely weighed less: spreads, kernels and the leaving out count
//! whole targets, and half a target has no place in them; and the kinds that were never read on wet sand are told too,
//! once the others say how it moves them. That wet sand makes numbers jumpier as well is not taken from so few readings.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::drift::{OF_DISTANCE, OF_MEDIAN, drawn_together, drifts, middle};
use super::evidence::{Evidence, KindEvidence, Passes, Specimen};
use super::kernel::ASSUMED_TARGETS;
use crate::book::Ground;
use crate::chance::Estimate;

/// Readings on each of two grounds below which nothing is told of how they differ.
const LEAST_READINGS: usize = 6;
/// Targets to compare below which nothing is told.
const LEAST_TARGETS: usize = 3;
/// Depths no further apart than this are alike, metres.
const ALIKE_M: f64 = 0.03;
/// Numbers are whole: no difference between two middles is known better than this, nor a target's place among others.
const LEAST_SPREAD: f64 = 0.5;

/// What was made of the ground that a signal was heard on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadOn {
    /// The ground.
    pub ground: Ground,
    /// Readings on it at which a number came, and finds.
    pub readings: usize,
    /// Such readings in all.
    pub of: usize,
    /// Those among them of which no ground is known; they stay as they came.
    pub unnoted: usize,
    /// Finds among them.
    pub finds: usize,
    /// The other grounds.
    pub others: Vec<OtherGround>,
}

/// What was made of the readings of another ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OtherGround {
    /// The ground.
    pub ground: Ground,
    /// Readings on it.
    pub readings: usize,
    /// Targets by which the two were compared.
    pub targets: usize,
    /// How many numbers higher its readings are taken, lower if negative, on the mean; 0 where no difference shows, `None`
    /// where too little was read to tell.
    pub moved_by: Option<f64>,
}

impl ReadOn {
    /// What was made of the ground, in a sentence or more.
    pub fn said(&self) -> String {
        let what = if self.finds > 0 { "readings and finds with a number" } else { "readings heard" };
        let mut said = vec![format!("Taken on {}: {} of {} {what} were on it.", self.ground, self.readings, self.of)];
        said.extend(self.others.iter().map(OtherGround::said));
        if self.unnoted > 0 {
            said.push(format!("Of {} no ground is noted, and they stay as they came.", self.unnoted));
        }
        said.join(" ")
    }
}

impl OtherGround {
    fn said(&self) -> String {
        let Self { ground, readings, targets, moved_by } = self;
        let these = if *readings == 1 { format!("The one on {ground} is") } else { format!("The {readings} on {ground} are") };
        match moved_by {
            Some(by) if by.abs() >= 0.05 => {
                format!(
                    "{these} taken {:.1} {}, as {targets} targets show.",
                    by.abs(),
                    if *by > 0.0 { "higher" } else { "lower" }
                )
            }
            Some(_) => format!("{these} not moved: no difference shows."),
            None => format!(
                "{these} not moved: it takes {LEAST_READINGS} readings on each of both grounds, and {LEAST_TARGETS} targets or pairs \
                 of a kind, to tell how they differ."
            ),
        }
    }
}

/// How the numbers of another ground are moved, kind by kind.
struct Shift {
    ground: Ground,
    targets: usize,
    by: Vec<f64>,
}

impl Evidence {
    /// Whether anything was read on a ground that is known to be another than this.
    pub(super) fn holds_other_ground(&self, than: Ground) -> bool {
        self.all_passes().any(|p| p.ground.is_some_and(|g| g != than))
    }

    /// The grounds that are known, each with how many readings and finds on it gave a number.
    pub(super) fn grounds(&self) -> BTreeMap<Ground, usize> {
        let mut counts = BTreeMap::new();
        for ground in self.all_passes().filter_map(|p| p.ground) {
            *counts.entry(ground).or_default() += 1;
        }
        counts
    }

    /// What is made of the ground `here`, and everything read as it would have read there, where anything moves.
    pub(super) fn read_on(&self, here: Ground) -> (ReadOn, Option<Self>) {
        let mut counts: BTreeMap<Option<Ground>, usize> = BTreeMap::new();
        for passes in self.all_passes() {
            *counts.entry(passes.ground).or_default() += 1;
        }
        let count = |ground| counts.get(&ground).copied().unwrap_or(0);
        let levelled = self.levelled_by_ground();
        let (mut others, mut shifts) = (Vec::new(), Vec::new());
        for ground in counts.keys().flatten().filter(|g| **g != here) {
            let enough = count(Some(here)).min(count(Some(*ground))) >= LEAST_READINGS;
            let shift = if enough { Shift::between(&levelled, *ground, here) } else { None };
            let readings = count(Some(*ground));
            let moved_by = shift.as_ref().map(|s| self.mean_shift(s));
            others.push(OtherGround { ground: *ground, readings, targets: shift.as_ref().map_or(0, |s| s.targets), moved_by });
            shifts.extend(shift.filter(|s| s.by.iter().any(|by| *by != 0.0)));
        }
        let read_on = ReadOn {
            ground: here,
            readings: count(Some(here)),
            of: counts.values().sum(),
            unnoted: count(None),
            finds: self.kinds.iter().map(|k| k.finds).sum(),
            others,
        };
        (read_on, (!shifts.is_empty()).then(|| self.moved(&shifts)))
    }

    fn all_passes(&self) -> impl Iterator<Item = &Passes> {
        self.kinds.iter().flat_map(|k| &k.specimens).flat_map(|s| &s.passes)
    }

    /// The kinds as if all had been read at the usual depth, by a drift that no change of ground can feign: depths are
    /// compared on one ground alone.
    fn levelled_by_ground(&self) -> Vec<KindEvidence> {
        let parted: Vec<KindEvidence> = self.kinds.iter().map(KindEvidence::parted).collect();
        let drifts = drifts(&parted.iter().collect::<Vec<_>>());
        let usual_m = self.usual_depth_m();
        self.kinds.iter().zip(drifts).map(|(kind, drift)| kind.levelled(drift, usual_m)).collect()
    }

    fn moved(&self, shifts: &[Shift]) -> Self {
        let of = |(n, kind): (usize, &KindEvidence)| {
            let by = |ground: Option<Ground>| {
                let shift = shifts.iter().find(|s| Some(s.ground) == ground);
                shift.and_then(|s| s.by.get(n)).copied().unwrap_or(0.0)
            };
            kind.moved(by)
        };
        Self { kinds: self.kinds.iter().enumerate().map(of).collect(), ..self.clone() }
    }

    /// What the readings of a ground are moved by, on the mean.
    fn mean_shift(&self, shift: &Shift) -> f64 {
        let many = |kind: &KindEvidence| {
            let passes = kind.specimens.iter().flat_map(|s| &s.passes);
            passes.filter(|p| p.ground == Some(shift.ground)).count() as f64
        };
        let counts: Vec<f64> = self.kinds.iter().map(many).collect();
        let sum: f64 = counts.iter().zip(&shift.by).map(|(n, by)| n * by).sum();
        sum / counts.iter().sum::<f64>().max(1.0)
    }
}

impl KindEvidence {
    /// The same with what was read of a target on each ground as a target of its own.
    fn parted(&self) -> Self {
        let part = |specimen: &Specimen| {
            let grounds: BTreeSet<Option<Ground>> = specimen.passes.iter().map(|p| p.ground).collect();
            let on = |ground| specimen.passes.iter().filter(move |p| p.ground == ground).cloned().collect();
            grounds.into_iter().map(|g| Specimen { name: specimen.name.clone(), passes: on(g) }).collect::<Vec<_>>()
        };
        Self { specimens: self.specimens.iter().flat_map(part).collect(), ..self.clone() }
    }

    /// The same with the numbers of each ground so much higher.
    fn moved(&self, by: impl Fn(Option<Ground>) -> f64) -> Self {
        let passes = |p: &Passes| {
            let by = by(p.ground);
            Passes { numbers: p.numbers.iter().map(|n| n + by).collect(), mean: p.mean + by, ..p.clone() }
        };
        let specimen = |s: &Specimen| Specimen { name: s.name.clone(), passes: s.passes.iter().map(passes).collect() };
        let specimens: Vec<Specimen> = self.specimens.iter().map(specimen).collect();
        let all = specimens.iter().flat_map(|s| &s.passes);
        let raw = all.flat_map(|p| p.numbers.iter().map(move |n| (p.depth_m, *n))).collect();
        Self { specimens, raw, ..self.clone() }
    }
}

impl Specimen {
    /// Its readings on a ground: depth, metres, and the middle number.
    fn middles_on(&self, ground: Ground) -> Vec<(Option<f64>, f64)> {
        let on = self.passes.iter().filter(|p| p.ground == Some(ground));
        on.filter_map(|p| Some((p.depth_m, middle(&mut p.numbers.clone())?))).collect()
    }

    /// Where it reads on a ground, if it was read there.
    fn place_on(&self, ground: Ground) -> Option<f64> {
        middle(&mut self.middles_on(ground).into_iter().map(|m| m.1).collect::<Vec<_>>())
    }

    /// How much higher it reads on the second ground than on the first: at depths at which it was read on both, if there
    /// are any.
    fn difference(&self, from: Ground, to: Ground) -> Option<f64> {
        let (there, here) = (self.middles_on(from), self.middles_on(to));
        let alike = |a: Option<f64>, b: Option<f64>| a.zip(b).is_some_and(|(a, b)| (a - b).abs() <= ALIKE_M);
        let at = |h: &(Option<f64>, f64)| {
            let h = *h;
            there.iter().filter(move |t| alike(t.0, h.0)).map(move |t| h.1 - t.1)
        };
        let mut near: Vec<f64> = here.iter().flat_map(at).collect();
        middle(&mut near).or_else(|| Some(self.place_on(to)? - self.place_on(from)?))
    }
}

/// What a kind tells of two grounds: differences of targets that were read on both, and the places of those that were read
/// on the first alone, and on the second alone.
struct Told {
    differences: Vec<f64>,
    from: Vec<f64>,
    to: Vec<f64>,
}

impl Told {
    fn by(kind: &KindEvidence, from: Ground, to: Ground) -> Self {
        let mut told = Self { differences: Vec::new(), from: Vec::new(), to: Vec::new() };
        for specimen in &kind.specimens {
            match (specimen.difference(from, to), specimen.place_on(from), specimen.place_on(to)) {
                (Some(difference), ..) => told.differences.push(difference),
                (None, Some(place), _) => told.from.push(place),
                (None, None, Some(place)) => told.to.push(place),
                (None, None, None) => {}
            }
        }
        told
    }

    /// Targets by which it compares.
    fn targets(&self) -> usize {
        self.differences.len() + self.from.len().min(self.to.len())
    }

    /// How much higher the kind reads on the second ground, where differences and targets spread so far.
    fn estimate(&self, differences: f64, targets: f64) -> Option<Estimate> {
        let information = |n: f64, spread: f64| n / (OF_MEDIAN * spread).powi(2);
        let both = middle(&mut self.differences.clone()).map(|value| {
            let many = self.differences.len() as f64;
            Estimate { value, information: information(many, differences) }
        });
        let apart = middle(&mut self.to.clone()).zip(middle(&mut self.from.clone())).map(|(to, from)| {
            let (m, n) = (self.to.len() as f64, self.from.len() as f64);
            Estimate { value: to - from, information: information(m * n / (m + n), targets) }
        });
        let all: Vec<Estimate> = both.into_iter().chain(apart).collect();
        let information: f64 = all.iter().map(|e| e.information).sum();
        let value = all.iter().map(|e| e.value * e.information).sum::<f64>() / information;
        (information > 0.0).then_some(Estimate { value, information })
    }
}

impl Shift {
    /// By how much the kinds read higher on the second ground; `None` where too few targets compare the two.
    fn between(kinds: &[KindEvidence], from: Ground, to: Ground) -> Option<Self> {
        let told: Vec<Told> = kinds.iter().map(|k| Told::by(k, from, to)).collect();
        let targets = told.iter().map(Told::targets).sum();
        if targets < LEAST_TARGETS {
            return None;
        }
        let differences: Vec<&[f64]> = told.iter().map(|t| t.differences.as_slice()).collect();
        // Where no kind has two differences, those of all kinds say how they spread.
        let all: Vec<f64> = differences.concat();
        let of_differences = spread(&differences).or_else(|| spread(&[all.as_slice()])).unwrap_or(ASSUMED_TARGETS);
        let places: Vec<&[f64]> = told.iter().flat_map(|t| [t.from.as_slice(), t.to.as_slice()]).collect();
        let of_targets = spread(&places).unwrap_or(ASSUMED_TARGETS);
        let own: Vec<Option<Estimate>> = told.iter().map(|t| t.estimate(of_differences, of_targets)).collect();
        Some(Self { ground: from, targets, by: drawn_together(&own) })
    }
}

/// The standard deviation of values about the middle of their group, by their median distance; `None` where no group has two.
fn spread(groups: &[&[f64]]) -> Option<f64> {
    let mut off = Vec::new();
    for group in groups.iter().filter(|g| g.len() > 1) {
        let many = group.len() as f64;
        let centre = middle(&mut group.to_vec())?;
        // A middle lies nearer to its own values than to others.
        off.extend(group.iter().map(|v| (v - centre).abs() * (many / (many - 1.0)).sqrt()));
    }
    Some((OF_DISTANCE * middle(&mut off)?).max(LEAST_SPREAD))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Kind;

    const SALT: Ground = Ground::WetSalt;
    const DRY: Ground = Ground::Dry;

    fn passes(depth_m: f64, ground: Ground, at: f64) -> Option<Passes> {
        let passes = Passes::from_ids(Some(depth_m), &[at, at + 1.0, at])?;
        Some(Passes { ground: Some(ground), ..passes })
    }

    /// Four targets of a kind on dry sand at two depths, of which the first `both` were read on wet sand too.
    fn kind(key: &str, at: f64, wet_by: f64, both: usize) -> KindEvidence {
        let target = |n: usize| {
            let at = at + n as f64;
            let dry = [0.05, 0.15].map(|d| passes(d, DRY, at));
            let wet = (n < both).then(|| passes(0.15, SALT, at + wet_by)).flatten();
            Specimen { name: format!("number {n}"), passes: dry.into_iter().flatten().chain(wet).collect() }
        };
        let specimens: Vec<Specimen> = (0..4).map(target).collect();
        let all = specimens.iter().flat_map(|s| &s.passes);
        let raw = all.flat_map(|p| p.numbers.iter().map(move |n| (p.depth_m, *n))).collect();
        KindEvidence { kind: Kind::keyed(key), specimens, readings: 8 + both, unheard: 0, finds: 0, words: [0; 3], raw }
    }

    fn evidence(kinds: Vec<KindEvidence>) -> Evidence {
        Evidence { kinds, ..Evidence::from_records([], []) }
    }

    #[test]
    fn what_was_read_on_dry_sand_is_moved_by_what_targets_on_both_show() {
        // The lead was never read on wet sand, and is told by the others.
        let all = evidence(vec![kind("coin", 60.0, 6.0, 3), kind("nail", 5.0, 6.0, 4), kind("lead", 40.0, 6.0, 0)]);
        let (read_on, moved) = all.read_on(SALT);
        let other = read_on.others[0];
        assert_eq!((read_on.readings, read_on.of, other.readings, other.targets), (7, 31, 24, 7));
        assert!(other.moved_by.is_some_and(|by| (by - 6.0).abs() < 0.5), "{read_on:?}");
        let moved = moved.unwrap();
        for (was, now) in all.kinds.iter().zip(&moved.kinds) {
            for (was, now) in was.specimens.iter().zip(&now.specimens).flat_map(|(w, n)| w.passes.iter().zip(&n.passes)) {
                let by = now.mean - was.mean;
                let right = if was.ground == Some(SALT) { by == 0.0 } else { (by - 6.0).abs() < 0.5 };
                assert!(right, "{was:?} {now:?}");
            }
            assert_eq!(was.raw.len(), now.raw.len());
        }
        // Heard on dry sand it is the wet readings that move, the other way.
        let (dry, _) = all.read_on(DRY);
        assert!(dry.others[0].moved_by.is_some_and(|by| (by + 6.0).abs() < 0.5), "{dry:?}");
        assert!(
            read_on
                .said()
                .starts_with("Taken on wet salt sand: 7 of 31 readings heard were on it. The 24 on dry sand are taken ")
        );
    }

    #[test]
    fn with_no_difference_or_too_little_nothing_moves_and_it_is_said() {
        let (read_on, moved) = evidence(vec![kind("coin", 60.0, 0.0, 4), kind("nail", 5.0, 0.0, 4)]).read_on(SALT);
        assert!(moved.is_none() && read_on.others[0].moved_by == Some(0.0), "{read_on:?}");
        assert!(read_on.said().contains("not moved: no difference shows"), "{}", read_on.said());
        let few = evidence(vec![kind("coin", 60.0, 6.0, 4), kind("nail", 5.0, 6.0, 1)]);
        let (read_on, moved) = few.read_on(SALT);
        assert!(moved.is_none() && read_on.others[0].moved_by.is_none(), "{read_on:?}");
        assert!(read_on.said().contains("are not moved: it takes 6 readings"), "{}", read_on.said());
        assert_eq!(few.grounds(), BTreeMap::from([(DRY, 16), (SALT, 5)]));
        assert!(few.holds_other_ground(SALT) && !evidence(vec![kind("coin", 60.0, 0.0, 0)]).holds_other_ground(DRY));
    }

    /// Targets that drift with depth and lay deeper on wet sand do not pass for a ground that moves them.
    #[test]
    fn depth_is_not_taken_for_ground() {
        let target = |at: f64, n: usize| {
            let read = |ground, step: usize| passes(0.05 * step as f64, ground, at + n as f64 - 3.0 * step as f64);
            let on = if n.is_multiple_of(2) { DRY } else { SALT };
            let steps = if n.is_multiple_of(2) { 1..4 } else { 3..6 };
            Specimen { name: format!("number {n}"), passes: steps.filter_map(|step| read(on, step)).collect() }
        };
        let kind = |key: &str, at: f64| {
            let specimens: Vec<Specimen> = (0..6).map(|n| target(at, n)).collect();
            let all = specimens.iter().flat_map(|s| &s.passes);
            let raw = all.flat_map(|p| p.numbers.iter().map(move |n| (p.depth_m, *n))).collect();
            KindEvidence { kind: Kind::keyed(key), specimens, readings: 18, unheard: 0, finds: 0, words: [0; 3], raw }
        };
        let (read_on, moved) = evidence(vec![kind("coin", 70.0), kind("lead", 40.0)]).read_on(SALT);
        assert!(moved.is_none() && read_on.others[0].moved_by == Some(0.0), "{read_on:?}");
    }
}
