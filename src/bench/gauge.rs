//! The detector's depth gauge, calibrated: how deep its steps mean.
//!
//! A gauge's steps have no stated unit, so depth is fitted to step by [isotonic](Isotonic)
//! regression: deeper steps never mean shallower targets, and nothing more is assumed. The interval is
//! the jackknife+ of Barber, Candès, Ramdas & Tibshirani (2021), *Predictive inference with the
//! jackknife+*: each reading is left out in turn, and the errors made without it are laid about the
//! fits made without it. It holds a new target's depth in about 90 % of cases, never in fewer than
//! 80 %, whatever the errors look like. Its ends rise with the step, as they are order statistics of
//! lines that do. As a bench knows nothing of depths between those it read, the interval is never
//! narrower than half-way to the next depth on either side. O(n²) in the readings.

use serde::Serialize;

use super::BenchError;
use crate::book::{BenchReading, Kind};
use crate::chance::Isotonic;

/// Share of new targets that the interval is meant to miss.
const MISSES: f64 = 0.1;
/// Readings below which no interval can be given.
const LEAST: usize = 9;

/// How deep one step of the gauge means.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StepDepth {
    /// The step.
    pub step: i32,
    /// Depth it means, metres.
    pub depth_m: f64,
    /// Ends of the 90 % interval for a new target, metres; `None` with fewer than nine readings.
    pub interval_m: Option<(f64, f64)>,
    /// Bench readings at this very step; none when it lies between steps that were read.
    pub readings: usize,
}

/// A bench target that lay shallow while the gauge read full.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FullWhenShallow {
    /// What was buried.
    pub kind: Kind,
    /// What the person calls it.
    pub target: String,
    /// Depth at which it lay, metres.
    pub depth_m: f64,
}

/// One set-up's gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct DepthGauge {
    readings: Vec<(i32, f64)>,
    line: Isotonic,
    /// The line without each reading in turn, and the error it makes on that reading.
    without: Vec<(Isotonic, f64)>,
    full_when_shallow: Vec<FullWhenShallow>,
}

impl DepthGauge {
    /// Learns from the readings of one set-up; those without a step or of a bare hole say nothing.
    ///
    /// # Errors
    /// [`BenchError::NoSteps`] when fewer than two different steps were read.
    pub fn learn<'a>(readings: impl IntoIterator<Item = &'a BenchReading>) -> Result<Self, BenchError> {
        let buried: Vec<_> = readings.into_iter().filter(|r| r.kind.is_some()).collect();
        let pairs = buried.iter().filter_map(|r| Some((r.gauge_step?, r.depth_m))).collect();
        let mut gauge = Self::from_pairs(pairs)?;
        let (_, full) = gauge.ends();
        let shallow_m = 0.5 * gauge.line.at(f64::from(full));
        gauge.full_when_shallow = buried
            .into_iter()
            .filter(|r| r.gauge_step == Some(full) && r.depth_m < shallow_m)
            .filter_map(|r| Some(FullWhenShallow { kind: r.kind.clone()?, target: r.target.clone(), depth_m: r.depth_m }))
            .collect();
        Ok(gauge)
    }

    /// Learns from steps and the depths, metres, at which they were read.
    ///
    /// # Errors
    /// [`BenchError::NoSteps`] when fewer than two different steps were read.
    pub fn from_pairs(mut readings: Vec<(i32, f64)>) -> Result<Self, BenchError> {
        readings.retain(|(_, depth_m)| depth_m.is_finite());
        readings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let line_of = |left_out: Option<usize>| {
            let kept = readings.iter().enumerate().filter(|(n, _)| Some(*n) != left_out);
            Isotonic::fit(&kept.map(|(_, (step, depth))| (f64::from(*step), *depth, 1.0)).collect::<Vec<_>>())
        };
        let line = line_of(None).filter(|l| l.knots().len() >= 2).ok_or(BenchError::NoSteps)?;
        let without = readings.iter().enumerate().filter_map(|(n, (step, depth))| {
            let line = line_of(Some(n))?;
            let error = (depth - line.at(f64::from(*step))).abs();
            Some((line, error))
        });
        Ok(Self { without: without.collect(), line, readings, full_when_shallow: Vec::new() })
    }

    fn ends(&self) -> (i32, i32) {
        // There are at least two readings, or there would be no gauge.
        let step = |r: Option<&(i32, f64)>| r.map_or(0, |r| r.0);
        (step(self.readings.first()), step(self.readings.last()))
    }

    /// How deep a step means.
    ///
    /// # Errors
    /// [`BenchError::BeyondGauge`] when the bench never saw so low or so high a step.
    pub fn depth(&self, step: i32) -> Result<StepDepth, BenchError> {
        let (lowest, highest) = self.ends();
        if step < lowest || step > highest {
            return Err(BenchError::BeyondGauge { step, lowest, highest });
        }
        let x = f64::from(step);
        Ok(StepDepth {
            step,
            depth_m: self.line.at(x),
            interval_m: self.interval(x),
            readings: self.readings.iter().filter(|r| r.0 == step).count(),
        })
    }

    fn interval(&self, x: f64) -> Option<(f64, f64)> {
        let n = self.without.len();
        if n < LEAST {
            return None;
        }
        let sorted = |end: f64| {
            let mut all: Vec<f64> = self.without.iter().map(|(line, error)| line.at(x) + end * error).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        // A hair's breadth keeps whole products whole.
        let low = (MISSES * (n + 1) as f64 + 1e-9).floor() as usize;
        let high = ((1.0 - MISSES) * (n + 1) as f64 - 1e-9).ceil() as usize;
        let low = sorted(-1.0).get(low.checked_sub(1)?).copied()?;
        let high = sorted(1.0).get(high.checked_sub(1)?).copied()?;
        let (nearest_low, nearest_high) = self.cell(self.line.at(x))?;
        Some((low.min(nearest_low).max(0.0), high.max(nearest_high)))
    }

    /// The depths, metres, nearer to the one depth read that is nearest to this one than to any other.
    fn cell(&self, depth_m: f64) -> Option<(f64, f64)> {
        let mut read: Vec<f64> = self.readings.iter().map(|r| r.1).collect();
        read.sort_by(f64::total_cmp);
        read.dedup();
        let between: Vec<f64> = read.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
        let n = between.partition_point(|b| *b <= depth_m);
        let low = n.checked_sub(1).and_then(|n| between.get(n)).copied();
        let high = between.get(n).copied();
        let (first, last) = (*read.first()?, *read.last()?);
        // Above the shallowest there is the surface; below the deepest, as far again as to the one before.
        let beyond = between.last().map_or(last, |b| 2.0 * last - b);
        Some((low.unwrap_or(0.5 * first), high.unwrap_or(beyond)))
    }

    /// Every step that was read, lowest first.
    pub fn steps(&self) -> Vec<StepDepth> {
        let read = self.readings.chunk_by(|a, b| a.0 == b.0).filter_map(|same| same.first());
        read.filter_map(|(step, _)| self.depth(*step).ok()).collect()
    }

    /// Targets at the highest step that lay less than half as deep as that step usually means.
    pub fn full_when_shallow(&self) -> &[FullWhenShallow] {
        &self.full_when_shallow
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_that_was_never_seen_is_refused() {
        let gauge = DepthGauge::from_pairs(vec![(1, 0.05), (3, 0.15)]).unwrap();
        assert!((gauge.depth(2).unwrap().depth_m - 0.10).abs() < 1e-12);
        for step in [0, 4, -3, 99] {
            let why = gauge.depth(step).unwrap_err().to_string();
            assert!(why.contains("1 to 3"), "{why}");
        }
    }

    #[test]
    fn depth_and_interval_never_fall_with_the_step() {
        let pairs = (0..40).map(|n| (n % 7, 0.04 * f64::from(n % 7) + 0.02 * f64::from((n * 13) % 5))).collect();
        let gauge = DepthGauge::from_pairs(pairs).unwrap();
        for pair in gauge.steps().windows(2) {
            let (a, b) = (pair[0], pair[1]);
            assert!(a.depth_m <= b.depth_m);
            let (ia, ib) = (a.interval_m.unwrap(), b.interval_m.unwrap());
            assert!(ia.0 <= ib.0 && ia.1 <= ib.1 && ia.0 <= a.depth_m && a.depth_m <= ia.1);
        }
    }

    #[test]
    fn few_readings_give_a_depth_but_no_interval_and_one_gives_none() {
        assert_eq!(DepthGauge::from_pairs(vec![(1, 0.0), (2, 0.1)]).unwrap().depth(1).unwrap().interval_m, None);
        assert!(matches!(DepthGauge::from_pairs(vec![(1, 0.1)]), Err(BenchError::NoSteps)));
        assert!(matches!(DepthGauge::from_pairs(Vec::new()), Err(BenchError::NoSteps)));
    }
}
