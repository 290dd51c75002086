//! Single values of an even series that stand out from those round them, at its ends as in its middle.
//!
//! Through eleven values in a row goes a parabola with an alternating term that grows evenly (high waters of a day differ by
//! turns): five figures. If one value is wrong and the others are not, leaving that one out takes more off what the fit
//! leaves than leaving out any other, wherever it stands, so the right one is named. How far it is from what the others
//! lead to is its residual over one less its leverage (Cook and Weisberg 1982, *Residuals and Influence in Regression*, from
//! memory: a mean-shift outlier).

use super::pairs::median;

/// Values in a row that a fit goes through.
pub(super) const RUN: usize = 11;
/// What a value may be made of at a place in the series, by its turn: 1 and -1 in turns.
type Figure = fn(f64, f64) -> f64;
const PARABOLA: [Figure; 5] = [|_, _| 1.0, |s, _| s, |s, _| s * s, |_, a| a, |s, a| a * s];
const LINE: [Figure; 2] = [|_, _| 1.0, |s, _| s];
/// A line goes through so many values at least, ...
const FEWEST: usize = 5;
/// ... of which one stands out by more than so many times the error of the others.
const OUT_OF_LINE_TIMES: f64 = 4.0;
/// A value stands out by more than so many times the error that others have of it, that error being what fits leave in the
/// middle case once the worst value is left out.
const OUT_TIMES: f64 = 8.0;
/// Where leaving another one out does this part as much for the fit, either may be the wrong one.
const AS_WELL: f64 = 0.8;
/// What stands out is put right and the series looked at again so often: one wrong value hides another beside it.
const ROUNDS: usize = 3;

/// The projection onto what a fit can follow, a row a value.
struct Fit {
    rows: Vec<Vec<f64>>,
    figures: usize,
}

/// What the values of a run lead to of each of them.
struct Left {
    /// Off from what the others lead to.
    off: Vec<f64>,
    /// What leaving it out takes off the sum of squares.
    gain: Vec<f64>,
    /// Error of one value, as estimated without the worst one.
    error: f64,
}

impl Fit {
    fn new(len: usize, figures: &[Figure]) -> Self {
        let place = |n: usize| n as f64 - (len / 2) as f64;
        let turn = |n: usize| if n.is_multiple_of(2) { 1.0 } else { -1.0 };
        let mut basis: Vec<Vec<f64>> = Vec::new();
        for figure in figures {
            let mut v: Vec<f64> = (0..len).map(|n| figure(place(n), turn(n))).collect();
            for b in &basis {
                let part: f64 = v.iter().zip(b).map(|(v, b)| v * b).sum();
                v.iter_mut().zip(b).for_each(|(v, b)| *v -= part * b);
            }
            let length = v.iter().map(|v| v * v).sum::<f64>().sqrt();
            basis.push(v.into_iter().map(|v| v / length).collect());
        }
        let row = |n: usize| (0..len).map(|k| basis.iter().map(|b| b[n] * b[k]).sum()).collect();
        Self { rows: (0..len).map(row).collect(), figures: figures.len() }
    }

    /// One less the leverage of a value: that part of its error is left of it.
    fn left_of(&self, n: usize) -> f64 {
        1.0 - self.rows[n][n]
    }

    /// `run` holds as many values as the fit goes through.
    fn left(&self, run: &[f64]) -> Left {
        let fitted = |row: &Vec<f64>| run.iter().zip(row).map(|(v, p)| v * p).sum::<f64>();
        let rest: Vec<f64> = run.iter().zip(&self.rows).map(|(v, row)| v - fitted(row)).collect();
        let off: Vec<f64> = rest.iter().enumerate().map(|(n, rest)| rest / self.left_of(n)).collect();
        let gain: Vec<f64> = rest.iter().zip(&off).map(|(rest, off)| rest * off).collect();
        let most = gain.iter().copied().fold(0.0, f64::max);
        let squares = (rest.iter().map(|r| r * r).sum::<f64>() - most).max(0.0);
        Left { off, gain, error: (squares / (run.len() - self.figures - 1) as f64).sqrt() }
    }

    /// How far a value of a run is off, if that is more than `least` and so many times the error, and no other would do
    /// better.
    fn stands_out(&self, run: &Left, at: usize, least: f64, error: f64) -> Option<f64> {
        let most = run.gain.iter().copied().fold(0.0, f64::max);
        let least = least.max(error / self.left_of(at).sqrt());
        (run.off[at].abs() > least && run.gain[at] >= AS_WELL * most).then_some(run.off[at])
    }
}

/// The values of a few that stand out from a line through the others, by their number, with how far they are off. None of
/// fewer than [`FEWEST`].
pub(super) fn out_of_a_line(series: &[f64], least: f64) -> Vec<(usize, f64)> {
    if series.len() < FEWEST {
        return Vec::new();
    }
    let fit = Fit::new(series.len(), &LINE);
    let run = fit.left(series);
    (0..series.len()).filter_map(|n| Some((n, fit.stands_out(&run, n, least, OUT_OF_LINE_TIMES * run.error)?))).collect()
}

/// The values that stand out, by their number, with how far they are off from what those round them lead to: by more than
/// `least`, and more than is usual in this series. None of a series shorter than [`RUN`].
pub(super) fn standing_out(series: &[f64], least: f64) -> Vec<(usize, f64)> {
    let (fit, mut series) = (Fit::new(RUN, &PARABOLA), series.to_vec());
    let mut out: Vec<(usize, f64)> = Vec::new();
    for _ in 0..ROUNDS {
        let runs: Vec<Left> = series.windows(RUN).map(|run| fit.left(run)).collect();
        let Some(error) = median(runs.iter().map(|r| r.error)) else { break };
        let one = |n: usize| {
            // The run in whose middle it stands, or the first or last one.
            let first = n.saturating_sub(RUN / 2).min(runs.len() - 1);
            Some((n, fit.stands_out(&runs[first], n - first, least, OUT_TIMES * error)?))
        };
        let found: Vec<(usize, f64)> = (0..series.len()).filter_map(one).collect();
        if found.is_empty() {
            break;
        }
        for (n, off) in found {
            series[n] -= off;
            match out.iter_mut().find(|(known, _)| *known == n) {
                Some((_, sum)) => *sum += off,
                None => out.push((n, off)),
            }
        }
    }
    out.sort_by_key(|(n, _)| *n);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Springs and neaps with a daily inequality, metres.
    fn tide(n: usize) -> f64 {
        let (n, turn) = (n as f64, if n.is_multiple_of(2) { 1.0 } else { -1.0 });
        5.0 + 1.2 * (0.22 * n).sin() + 0.3 * turn * (0.12 * n).cos()
    }

    #[test]
    fn the_wrong_value_is_named_wherever_it_stands_and_nothing_of_a_sound_series() {
        for len in [RUN, 14, 58] {
            let sound: Vec<f64> = (0..len).map(|n| (10.0 * tide(n)).round() / 10.0).collect();
            assert_eq!(standing_out(&sound, 0.4), [], "{len}");
            for n in 0..len {
                for off in [1.0, -1.0, 2.5] {
                    let mut wrong = sound.clone();
                    wrong[n] += off;
                    let found = standing_out(&wrong, 0.4);
                    assert!(found.iter().any(|(k, m)| *k == n && (m - off).abs() < 0.5), "{n} of {len}, {off}: {found:?}");
                    assert!(found.len() == 1, "{n} of {len}, {off}: {found:?}");
                }
            }
        }
        assert_eq!(standing_out(&[1.0, 9.0, 1.0], 0.4), []);
        assert_eq!(out_of_a_line(&[10.0, 12.0, 75.0, 15.0, 17.0, 18.0], 45.0).iter().map(|o| o.0).collect::<Vec<_>>(), [2]);
        assert_eq!(out_of_a_line(&[10.0, 12.0, 13.0, 15.0, 17.0, 18.0], 0.4), []);
        assert_eq!(out_of_a_line(&[10.0, 75.0, 13.0], 0.4), []);
    }

    /// A parabola is followed without a rest, and two wrong values side by side are both named.
    #[test]
    fn what_a_fit_can_follow_leaves_nothing_and_two_wrong_ones_are_both_seen() {
        let run: Vec<f64> = (0..RUN).map(|n| (n as f64 - 3.0).powi(2)).collect();
        assert!(Fit::new(RUN, &PARABOLA).left(&run).off.iter().all(|off| off.abs() < 1e-9));
        let mut wrong: Vec<f64> = (0..58).map(tide).collect();
        wrong[20] += 1.2;
        wrong[26] -= 1.0;
        assert_eq!(standing_out(&wrong, 0.4).iter().map(|(n, _)| *n).collect::<Vec<_>>(), [20, 26]);
    }
}
