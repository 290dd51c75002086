//! A reading held against what was planted.

use super::error::TrialError;
use super::mismatch::Mismatch;
use super::oracle::{Both, evidence};
use super::world::{Cause, DropZone, ScourLine, Survey, Truth, World};
use crate::reading::{self, HotSpot, Reading, WeightChoice};

/// A told scour line must lie nearer than this to the planted one on average, metres across.
pub const PLACE_M: f64 = 6.0;
/// A told scour line must hold a level nearer than this to the planted one's, metres, ...
pub const LEVEL_M: f64 = 0.15;
/// ... or lie no further off than its width and this, metres.
const BESIDE_M: f64 = 3.0;
/// A planted line counts this much longer at either end, metres.
const LONGER_M: f64 = 10.0;
/// A told drop zone's middle may lie this far outside a planted one, metres, ...
const OUTSIDE_M: f64 = 3.0;
/// ... or in any case this far from its middle.
const MIDDLE_M: f64 = 8.0;

/// A planted pattern and what became of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Planted {
    pub(super) evidence: Both,
    pub(super) found: bool,
    /// Whether a hot spot touches it.
    pub(super) hot_spot: bool,
    pub(super) surveyed: bool,
}

/// One sort of pattern.
#[derive(Debug, Default)]
pub(super) struct Tally {
    pub(super) planted: Vec<Planted>,
    pub(super) place_error_m: Vec<f64>,
    pub(super) level_error_m: Vec<f64>,
    pub(super) missed: Vec<Mismatch>,
    pub(super) wrong: Vec<Mismatch>,
}

impl Tally {
    fn add(&mut self, mut other: Self) {
        self.planted.append(&mut other.planted);
        self.place_error_m.append(&mut other.place_error_m);
        self.level_error_m.append(&mut other.level_error_m);
        self.missed.append(&mut other.missed);
        self.wrong.append(&mut other.wrong);
    }
}

/// All that was planted and told.
#[derive(Debug, Default)]
pub(super) struct Score {
    pub(super) lines: Tally,
    pub(super) zones: Tally,
    /// Hot spots told as nothing more: right ones, and the others.
    pub(super) spots_right: usize,
    pub(super) spots_wrong: Vec<Mismatch>,
}

impl Score {
    pub(super) fn add(&mut self, mut other: Self) {
        self.lines.add(other.lines);
        self.zones.add(other.zones);
        self.spots_right += other.spots_right;
        self.spots_wrong.append(&mut other.spots_wrong);
    }
}

pub(super) fn score(world: &World, reading: &Reading) -> Result<Score, TrialError> {
    let truth = &world.truth;
    let (lines, zones) = evidence(truth);
    let spots = reading.hot_spots.iter().map(|s| Ellipse::new(truth, s)).collect::<Result<Vec<_>, _>>()?;
    let touches_line = |s: &Ellipse, l: &ScourLine| touches_line(truth, s, l);
    let (found, mut line_tally) = told_lines(world, reading)?;
    for (n, line) in truth.lines.iter().enumerate() {
        let hot_spot = spots.iter().any(|s| touches_line(s, line));
        line_tally.planted.push(Planted { evidence: lines[n], found: found[n], hot_spot, surveyed: surveyed(truth) });
        if !found[n] {
            let missed = Mismatch {
                along_m: vec![line.along_m.0, line.along_m.1],
                level_m: Some(line.level_m),
                ..of_world(
                    world,
                    line.middle_m(&truth.land, 0.5 * (line.along_m.0 + line.along_m.1)),
                    gave(truth, Cause::Line(n)),
                )
            };
            line_tally.missed.push(planted(missed, lines[n], line.times, hot_spot));
        }
    }
    let (found, mut zone_tally) = told_zones(world, reading, &spots)?;
    for (n, zone) in truth.zones.iter().enumerate() {
        let hot_spot = spots.iter().any(|s| touches_zone(s, zone));
        zone_tally.planted.push(Planted { evidence: zones[n], found: found[n], hot_spot, surveyed: surveyed(truth) });
        if !found[n] {
            let missed = Mismatch { along_m: vec![zone.along_m], ..of_world(world, zone.across_m, gave(truth, Cause::Zone(n))) };
            zone_tally.missed.push(planted(missed, zones[n], zone.times, hot_spot));
        }
    }
    let is_zone = |s: &HotSpot| s.of == WeightChoice::All && reading.drop_zones.iter().any(|z| z.hot_spot == s.number);
    let mut score = Score { lines: line_tally, zones: zone_tally, ..Score::default() };
    for (ellipse, spot) in spots.iter().zip(&reading.hot_spots).filter(|(_, s)| !is_zone(s)) {
        let on_line = truth.lines.iter().any(|l| touches_line(ellipse, l));
        if on_line || truth.zones.iter().any(|z| touches_zone(ellipse, z)) {
            score.spots_right += 1;
        } else {
            score.spots_wrong.push(spot_told(world, ellipse, spot));
        }
    }
    Ok(score)
}

/// All that is told on a beach of chance alone. A drop zone is a hot spot, so it is among them.
pub(super) fn alarms(world: &World, reading: &Reading) -> Result<Vec<Mismatch>, TrialError> {
    let mut told = Vec::new();
    for spot in &reading.hot_spots {
        told.push(spot_told(world, &Ellipse::new(&world.truth, spot)?, spot));
    }
    for line in &reading.scour_lines {
        let ends = ends(&world.truth, line)?;
        told.push(line_told(world, line, &ends));
    }
    Ok(told)
}

fn surveyed(truth: &Truth) -> bool {
    matches!(truth.survey, Survey::Dense | Survey::Sparse)
}

fn gave(truth: &Truth, cause: Cause) -> usize {
    truth.finds.iter().filter(|f| f.cause == cause).count()
}

/// What is known of any mismatch on a world.
fn of_world(world: &World, across_m: f64, finds: usize) -> Mismatch {
    let truth = &world.truth;
    Mismatch {
        seed: world.seed,
        along_m: Vec::new(),
        across_m,
        level_m: None,
        finds,
        evidence: None,
        times: None,
        hot_spot: None,
        told_log_likelihood_ratio: None,
        outings: truth.visits.len(),
        gradient: truth.richness.gradient,
        days_cv: truth.days_cv,
        receiver_m: truth.receiver.error_m,
    }
}

fn planted(missed: Mismatch, evidence: Both, times: f64, hot_spot: bool) -> Mismatch {
    Mismatch { evidence: Some(evidence), times: Some(times), hot_spot: Some(hot_spot), ..missed }
}

fn spot_told(world: &World, at: &Ellipse, spot: &HotSpot) -> Mismatch {
    Mismatch {
        along_m: vec![at.along_m - at.half_along_m, at.along_m + at.half_along_m],
        told_log_likelihood_ratio: Some(spot.log_likelihood_ratio),
        ..of_world(world, at.across_m, spot.seen)
    }
}

fn line_told(world: &World, line: &reading::ScourLine, ends: &[(f64, f64)]) -> Mismatch {
    let across_m = ends.iter().map(|e| e.1).sum::<f64>() / ends.len().max(1) as f64;
    Mismatch {
        along_m: ends.iter().map(|e| e.0).collect(),
        level_m: line.level.map(|l| l.median_m),
        told_log_likelihood_ratio: Some(line.log_likelihood_ratio),
        ..of_world(world, across_m, line.counts.heavy)
    }
}

/// The vertices of a told line, metres along and across, from one end to the other.
fn ends(truth: &Truth, line: &reading::ScourLine) -> Result<Vec<(f64, f64)>, TrialError> {
    let mut ends = line.line.iter().map(|p| truth.land.shore_of(*p)).collect::<Result<Vec<_>, _>>()?;
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(ends)
}

/// Which planted lines are found, and what was told.
fn told_lines(world: &World, reading: &Reading) -> Result<(Vec<bool>, Tally), TrialError> {
    let truth = &world.truth;
    let (mut tally, mut found) = (Tally::default(), vec![false; truth.lines.len()]);
    for told in &reading.scour_lines {
        let (ends, level_m) = (ends(truth, told)?, told.level.map(|l| l.median_m));
        let right = truth.lines.iter().enumerate().filter_map(|(n, l)| Some((n, beside(truth, &ends, level_m, l)?)));
        let right: Vec<(usize, (f64, Option<f64>))> = right.collect();
        right.iter().for_each(|(n, _)| found[*n] = true);
        match right.iter().min_by(|a, b| a.1.0.total_cmp(&b.1.0)) {
            Some((_, (place_m, level_m))) => {
                tally.place_error_m.push(*place_m);
                tally.level_error_m.extend(*level_m);
            }
            None => tally.wrong.push(line_told(world, told, &ends)),
        }
    }
    Ok((found, tally))
}

/// How far a told line lies from a planted one, in place and level (where it was told by that), metres; `None` when it is
/// not right for it.
fn beside(truth: &Truth, told: &[(f64, f64)], told_level_m: Option<f64>, planted: &ScourLine) -> Option<(f64, Option<f64>)> {
    let (first, last) = (told.first()?.0, told.last()?.0);
    let (from, to) = (first.max(planted.along_m.0 - LONGER_M), last.min(planted.along_m.1 + LONGER_M));
    if to - from <= 0.5 * (last - first) {
        return None;
    }
    let across_m = |along: f64| {
        let n = told.partition_point(|p| p.0 < along).clamp(1, told.len() - 1);
        let ((a0, c0), (a1, c1)) = (told[n - 1], told[n]);
        c0 + (c1 - c0) * if a1 > a0 { (along - a0) / (a1 - a0) } else { 0.0 }
    };
    let steps = 40;
    let off_m = (0..=steps).map(|k| {
        let along = from + (to - from) * f64::from(k) / f64::from(steps);
        (across_m(along) - planted.middle_m(&truth.land, along)).abs()
    });
    let place_m = off_m.sum::<f64>() / f64::from(steps + 1);
    let off_level_m = told_level_m.map(|m| (m - planted.level_m).abs());
    (place_m < PLACE_M && (off_level_m.is_some_and(|m| m < LEVEL_M) || place_m < planted.width_m + BESIDE_M))
        .then_some((place_m, off_level_m))
}

/// Which planted zones are found, and what was told.
fn told_zones(world: &World, reading: &Reading, spots: &[Ellipse]) -> Result<(Vec<bool>, Tally), TrialError> {
    let truth = &world.truth;
    let (mut tally, mut found) = (Tally::default(), vec![false; truth.zones.len()]);
    for told in &reading.drop_zones {
        let (along, across) = truth.land.shore_of(told.centre)?;
        let spot = reading.hot_spots.iter().position(|s| s.of == WeightChoice::All && s.number == told.hot_spot);
        let off_m = |z: &DropZone| (along - z.along_m).hypot(across - z.across_m);
        let is_right =
            |z: &DropZone| off_m(z) <= (z.half_long_m + OUTSIDE_M).max(MIDDLE_M) || spot.is_some_and(|s| overlaps(&spots[s], z));
        let right: Vec<usize> = (0..truth.zones.len()).filter(|n| is_right(&truth.zones[*n])).collect();
        right.iter().for_each(|n| found[*n] = true);
        match right.iter().map(|n| off_m(&truth.zones[*n])).min_by(f64::total_cmp) {
            Some(off_m) => tally.place_error_m.push(off_m),
            None => {
                let finds = spot.map_or(0, |s| reading.hot_spots[s].counts.finds);
                let ratio = spot.map(|s| reading.hot_spots[s].log_likelihood_ratio);
                let wrong = Mismatch { along_m: vec![along], told_log_likelihood_ratio: ratio, ..of_world(world, across, finds) };
                tally.wrong.push(wrong);
            }
        }
    }
    Ok((found, tally))
}

/// A told hot spot in the world's own metres along and across.
#[derive(Debug, Clone, Copy)]
struct Ellipse {
    along_m: f64,
    across_m: f64,
    half_along_m: f64,
    half_across_m: f64,
}

impl Ellipse {
    fn new(truth: &Truth, spot: &HotSpot) -> Result<Self, TrialError> {
        let (along_m, across_m) = truth.land.shore_of(spot.centre)?;
        Ok(Self { along_m, across_m, half_along_m: spot.half_along_m, half_across_m: spot.half_across_m })
    }

    fn holds(&self, (along_m, across_m): (f64, f64), grown_m: f64) -> bool {
        let (a, c) = (self.half_along_m + grown_m, self.half_across_m + grown_m);
        ((along_m - self.along_m) / a).hypot((across_m - self.across_m) / c) <= 1.0
    }

    fn spots(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        rounds().map(|(round, out)| {
            let (sin, cos) = (std::f64::consts::TAU * round).sin_cos();
            (self.along_m + self.half_along_m * out * cos, self.across_m + self.half_across_m * out * sin)
        })
    }
}

/// Places all over an ellipse: shares of the way round and out.
fn rounds() -> impl Iterator<Item = (f64, f64)> {
    (0..32).flat_map(|n| (0..=4).map(move |out| (f64::from(n) / 32.0, f64::from(out) / 4.0)))
}

/// Whether an ellipse and a zone share ground.
fn overlaps(spot: &Ellipse, zone: &DropZone) -> bool {
    rounds().any(|(r, o)| spot.holds(zone.spot(r, o), 0.0)) || spot.spots().any(|(a, c)| zone.holds(a, c, 0.0))
}

/// The same, but for an error of place.
fn touches_zone(spot: &Ellipse, zone: &DropZone) -> bool {
    rounds().any(|(r, o)| spot.holds(zone.spot(r, o), OUTSIDE_M)) || spot.spots().any(|(a, c)| zone.holds(a, c, OUTSIDE_M))
}

fn touches_line(truth: &Truth, spot: &Ellipse, line: &ScourLine) -> bool {
    let steps = (line.along_m.1 - line.along_m.0).ceil() as usize;
    (0..=steps).any(|n| {
        let along = line.along_m.0 + (line.along_m.1 - line.along_m.0) * n as f64 / steps.max(1) as f64;
        let middle = line.middle_m(&truth.land, along);
        [-0.5, 0.0, 0.5].iter().any(|part| spot.holds((along, middle + part * line.width_m), OUTSIDE_M))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::world::Land;

    fn line() -> (Truth, ScourLine) {
        let truth = Truth::bare(Land::even(400.0, 60.0));
        let (across_m, width_m) = (30.0, 4.0);
        let level_m = truth.land.profile_m(across_m);
        (truth, ScourLine { along_m: (100.0, 200.0), across_m, slant: 0.0, width_m, level_m, times: 4.0, from_s: None })
    }

    #[test]
    fn a_told_line_is_right_beside_a_planted_one_and_nowhere_else() {
        let (truth, planted) = line();
        let told = |from: f64, to: f64, across: f64, off_level_m: f64| {
            beside(&truth, &[(from, across), (to, across)], Some(planted.level_m + off_level_m), &planted)
        };
        let rounded = |(p, l): (f64, Option<f64>)| (p.round(), (l.unwrap() * 100.0).round());
        assert_eq!(told(100.0, 200.0, 31.0, 0.05).map(rounded), Some((1.0, 5.0)));
        // One told by its distance from the baseline alone has to lie as near.
        let by_distance = |across: f64| beside(&truth, &[(100.0, across), (200.0, across)], None, &planted);
        assert!(by_distance(35.0).is_some() && by_distance(36.1).is_none());
        // Of 160 m lie 80 beside the planted one with its 10 m more: just half, not over half.
        assert!(told(130.0, 290.0, 30.0, 0.0).is_none() && told(130.0, 288.0, 30.0, 0.0).is_some());
        // Six metres off is too far; five are not, if the level fits or the line is as wide.
        assert!(told(100.0, 200.0, 36.1, 0.0).is_none() && told(100.0, 200.0, 35.0, 0.3).is_some());
        let narrow = ScourLine { width_m: 1.0, ..planted };
        assert!(beside(&truth, &[(100.0, 35.0), (200.0, 35.0)], Some(planted.level_m + 0.3), &narrow).is_none());
        assert!(beside(&truth, &[(100.0, 35.0), (200.0, 35.0)], Some(planted.level_m + 0.1), &narrow).is_some());
        // A told line that crosses the planted one at a great angle is off on average.
        assert!(beside(&truth, &[(100.0, 10.0), (200.0, 50.0)], Some(planted.level_m), &planted).is_none());
        assert!(
            beside(&truth, &[], Some(0.0), &planted).is_none()
                && beside(&truth, &[(150.0, 30.0)], Some(planted.level_m), &planted).is_none()
        );
    }

    #[test]
    fn a_spot_touches_what_it_reaches_but_for_three_metres() {
        let (truth, planted) = line();
        let spot = |along_m: f64, across_m: f64| Ellipse { along_m, across_m, half_along_m: 8.0, half_across_m: 5.0 };
        // The line's edge lies 2 m from its middle: the spot's own 5 and 3 for an error of place reach 10 m.
        assert!(touches_line(&truth, &spot(150.0, 39.5), &planted) && !touches_line(&truth, &spot(150.0, 40.5), &planted));
        assert!(touches_line(&truth, &spot(210.0, 30.0), &planted) && !touches_line(&truth, &spot(212.0, 30.0), &planted));
        let zone = DropZone {
            along_m: 100.0,
            across_m: 30.0,
            half_long_m: 10.0,
            half_short_m: 5.0,
            turn_rad: std::f64::consts::FRAC_PI_2,
            times: 3.0,
            from_s: None,
        };
        // Its longer axis stands across the shore: 5 m to either side along, 10 across.
        assert!(overlaps(&spot(112.5, 30.0), &zone) && !overlaps(&spot(113.5, 30.0), &zone));
        assert!(touches_zone(&spot(115.5, 30.0), &zone) && !touches_zone(&spot(116.5, 30.0), &zone));
        assert!(overlaps(&spot(100.0, 44.5), &zone) && !overlaps(&spot(100.0, 45.5), &zone));
        assert!(zone.holds(104.9, 30.0, 0.0) && !zone.holds(105.1, 30.0, 0.0) && zone.holds(100.0, 39.9, 0.0));
    }
}
