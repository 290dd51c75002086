//! Chance of a yes as a logistic function of a few figures.
//!
//! Newton's steps (iteratively reweighted least squares: McCullagh & Nelder 1989, *Generalized linear
//! models*) on the likelihood with a normal prior on each slope, so that yes and no that never overlap
//! still give finite slopes; Gelman, Jakulin, Pittau & Su (2008), *A weakly informative default prior
//! distribution for logistic and other regression models*, give the reason and the scale of 2.5 on
//! inputs of unit spread. The covariance is the inverse of the negative Hessian at the mode.

/// A fitted logistic function.
#[derive(Debug, Clone, PartialEq)]
pub struct Logistic {
    /// The coefficients, in the order of the columns.
    pub beta: Vec<f64>,
    /// Their covariance.
    pub covariance: Vec<Vec<f64>>,
}

impl Logistic {
    /// Fits rows of figures to yes or no. `prior_sd` holds one standard deviation a column; an infinite
    /// one means no prior. `None` when there is nothing to fit, rows differ in length, or the yes and no
    /// leave a column without prior undetermined.
    pub fn fit(rows: &[Vec<f64>], yes: &[bool], prior_sd: &[f64]) -> Option<Self> {
        let p = prior_sd.len();
        if rows.is_empty() || rows.len() != yes.len() || p == 0 || rows.iter().any(|r| r.len() != p) {
            return None;
        }
        let precision: Vec<f64> = prior_sd.iter().map(|sd| 1.0 / (sd * sd)).collect();
        let objective = |beta: &[f64]| {
            let fit: f64 = rows.iter().zip(yes).map(|(r, y)| -softplus(if *y { -dot(r, beta) } else { dot(r, beta) })).sum();
            fit - 0.5 * beta.iter().zip(&precision).map(|(b, k)| k * b * b).sum::<f64>()
        };
        let mut beta = vec![0.0; p];
        let mut value = objective(&beta);
        for _ in 0..100 {
            let (slope, hessian) = derivatives(rows, yes, &precision, &beta);
            let step = solve(hessian, slope)?;
            let mut share = 1.0;
            let (next, better) = loop {
                let next: Vec<f64> = beta.iter().zip(&step).map(|(b, s)| b + share * s).collect();
                let better = objective(&next);
                if better >= value - 1e-12 || share < 1e-6 {
                    break (next, better);
                }
                share *= 0.5;
            };
            let moved = next.iter().zip(&beta).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            (beta, value) = (next, better);
            if moved < 1e-11 {
                break;
            }
        }
        let (_, hessian) = derivatives(rows, yes, &precision, &beta);
        let columns = (0..p).map(|n| solve(hessian.clone(), (0..p).map(|m| if m == n { 1.0 } else { 0.0 }).collect()));
        let covariance = columns.collect::<Option<Vec<_>>>()?;
        let sound = beta.iter().chain(covariance.iter().flatten()).all(|v| v.is_finite());
        (sound && covariance.iter().enumerate().all(|(n, c)| c[n] > 0.0)).then_some(Self { beta, covariance })
    }

    /// The chance of a yes for one row of figures.
    pub fn chance(&self, row: &[f64]) -> f64 {
        1.0 / (1.0 + (-dot(row, &self.beta)).exp())
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// ln(1 + e^x) without overflow.
fn softplus(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

fn derivatives(rows: &[Vec<f64>], yes: &[bool], precision: &[f64], beta: &[f64]) -> (Vec<f64>, Vec<Vec<f64>>) {
    let p = beta.len();
    let mut slope: Vec<f64> = beta.iter().zip(precision).map(|(b, k)| -k * b).collect();
    let mut hessian = vec![vec![0.0; p]; p];
    for (n, k) in precision.iter().enumerate() {
        hessian[n][n] = *k;
    }
    for (row, y) in rows.iter().zip(yes) {
        let chance = 1.0 / (1.0 + (-dot(row, beta)).exp());
        let weight = chance * (1.0 - chance);
        for i in 0..p {
            slope[i] += row[i] * (f64::from(u8::from(*y)) - chance);
            for j in 0..p {
                hessian[i][j] += weight * row[i] * row[j];
            }
        }
    }
    (slope, hessian)
}

/// Solves a small system by elimination with the largest pivot; `None` when it has no one answer.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|x, y| a[*x][i].abs().total_cmp(&a[*y][i].abs()))?;
        let size = a[pivot][i].abs();
        if size.is_nan() || size <= 1e-14 {
            return None;
        }
        a.swap(i, pivot);
        b.swap(i, pivot);
        let (above, below) = a.split_at_mut(i + 1);
        let row = &above[i];
        for (j, other) in below.iter_mut().enumerate() {
            let times = other[i] / row[i];
            other.iter_mut().zip(row).skip(i).for_each(|(x, y)| *x -= times * y);
            b[i + 1 + j] -= times * b[i];
        }
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| a[i][k] * b[k]).sum();
        b[i] = (b[i] - known) / a[i][i];
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(x: &[f64]) -> Vec<Vec<f64>> {
        x.iter().map(|v| vec![1.0, *v]).collect()
    }

    #[test]
    fn yes_and_no_that_never_overlap_still_give_finite_slopes() {
        let yes = [true, true, true, false, false, false];
        let x = rows(&[-3.0, -2.0, -1.0, 1.0, 2.0, 3.0]);
        let fit = Logistic::fit(&x, &yes, &[10.0, 2.5]).unwrap();
        assert!(fit.beta[1] < -0.5 && fit.beta[1] > -10.0, "{:?}", fit.beta);
        assert!((fit.chance(&[1.0, 0.0]) - 0.5).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_fitted_is_none() {
        assert_eq!(Logistic::fit(&[], &[], &[1.0]), None);
        assert_eq!(Logistic::fit(&rows(&[1.0]), &[true, false], &[1.0, 1.0]), None);
        assert_eq!(Logistic::fit(&rows(&[1.0, 1.0]), &[true, false], &[f64::INFINITY, f64::INFINITY]), None);
    }
}
