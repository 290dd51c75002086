//! How a scour line moved between storms: where its heavy finds lay before the first storm, between
//! each storm and the next, and after the last.
//!
//! Means with intervals of Student's t; changes from one state to the next with those of Welch
//! (1947). What lies outside the line's strip is not seen, so a move is told somewhat short.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::Ground;
use super::ground::Placed;
use crate::shore::ShorePoint;

/// A mean with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

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
pub(super) fn states(ground: &Ground, members: &[(&Placed, ShorePoint)], slant: f64, middle_along_m: f64) -> Vec<LineState> {
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
        let (rose_m, seaward_m) = before.map_or((None, None), |l| (difference(&l.0, &levels), difference(&l.1, &across)));
        states.push(LineState {
            after: n.checked_sub(1).and_then(|k| storms.get(k)).map(|s| s.name.clone()),
            from,
            to,
            finds: own.len(),
            level_m: mean(&levels).filter(|_| enough),
            across_m: mean(&across).filter(|_| enough),
            rose_m,
            seaward_m,
        });
        if enough {
            last = Some((levels, across));
        }
    }
    states
}

/// Mean and squared error of the mean.
fn moments(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let spread = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some((mean, spread / n))
}

fn interval(mean: f64, error2: f64, freedom: f64) -> Option<Mean> {
    if error2 <= 0.0 {
        return Some(Mean { mean, low: mean, high: mean });
    }
    let t = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.5 + 0.5 * super::COVERAGE);
    let half = t * error2.sqrt();
    Some(Mean { mean, low: mean - half, high: mean + half })
}

fn mean(values: &[f64]) -> Option<Mean> {
    let (mean, error2) = moments(values)?;
    interval(mean, error2, values.len() as f64 - 1.0)
}

/// How much greater the second mean is than the first: Welch's interval.
fn difference(before: &[f64], now: &[f64]) -> Option<Mean> {
    let ((a, ea), (b, eb)) = (moments(before)?, moments(now)?);
    let (na, nb) = (before.len() as f64 - 1.0, now.len() as f64 - 1.0);
    let freedom = if ea + eb > 0.0 { (ea + eb).powi(2) / (ea * ea / na + eb * eb / nb) } else { na + nb };
    interval(b - a, ea + eb, freedom)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values by scipy 1.17.1: `ttest_1samp(x, 0).confidence_interval()`,
    /// `ttest_ind(y, x, equal_var=False).confidence_interval()`.
    #[test]
    fn intervals_agree_with_scipy() {
        let x = [0.12, 0.31, -0.05, 0.22, 0.18, 0.09];
        let y = [0.41, 0.28, 0.55, 0.37];
        let close = |got: f64, want: f64| assert!((got - want).abs() < 1e-9, "{got} instead of {want}");
        let m = mean(&x).unwrap();
        close(m.low, 0.01582986138971207);
        close(m.high, 0.27417013861028794);
        let d = difference(&x, &y).unwrap();
        close(d.mean, 0.257_5);
        close(d.low, 0.07938753270756216);
        close(d.high, 0.43561246729243774);
        assert!(mean(&[1.0]).is_none() && difference(&[1.0], &y).is_none());
        assert_eq!(mean(&[2.0, 2.0]).unwrap().high, 2.0);
    }
}
