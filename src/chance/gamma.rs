//! Quantiles of the gamma distribution.

use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

use super::normal::normal_quantile;

/// The value below which a gamma variable of this shape and unit scale falls with chance `p`.
///
/// Newton's steps on the distribution function, held in a bracket that only shrinks; the starting
/// value is that of Wilson & Hilferty (1931).
pub fn gamma_quantile(shape: f64, p: f64) -> f64 {
    if !(p > 0.0 && shape > 0.0) {
        return 0.0;
    }
    // With hardly any shape nearly all of it lies at nothing: beyond what numbers can tell from 0.
    if (p.ln() + ln_gamma(shape + 1.0)) / shape < -700.0 {
        return 0.0;
    }
    let z = normal_quantile(p);
    let cube = 1.0 - 1.0 / (9.0 * shape) + z / (3.0 * shape.sqrt());
    let rough = shape * cube.powi(3);
    // Far in the lower tail the distribution runs as a power of x.
    let mut x = if cube > 0.3 { rough } else { ((p.ln() + ln_gamma(shape + 1.0)) / shape).exp() };
    let (mut low, mut high) = (0.0, f64::INFINITY);
    for _ in 0..200 {
        let over = if p < 0.5 { lower(shape, x) - p } else { (1.0 - p) - upper(shape, x) };
        if over > 0.0 {
            high = x
        } else {
            low = x
        }
        let density = ((shape - 1.0) * x.ln() - x - ln_gamma(shape)).exp();
        let mut next = x - over / density;
        if !(next > low && next < high) {
            next = if high.is_finite() { 0.5 * (low + high) } else { 2.0 * x + 1.0 };
        }
        if (next - x).abs() <= 1e-14 * x {
            return next;
        }
        x = next;
    }
    x
}

/// Chance of a value up to `x`; none of the library's panics where `x` runs out of range.
fn lower(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else if x.is_finite() {
        gamma_lr(shape, x)
    } else {
        1.0
    }
}

/// Chance of a value above `x`.
fn upper(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        1.0
    } else if x.is_finite() {
        gamma_ur(shape, x)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cell with next to no exposure gives a shape near 0, and a start that no number can hold.
    #[test]
    fn hardly_any_shape_is_nothing_and_never_a_panic() {
        for shape in [1e-300, 1e-12, 1e-6, 1e-3, 0.01, 0.05, 1e7, 1e12] {
            for p in [1e-12, 0.025, 0.5, 0.975, 1.0 - 1e-9] {
                let x = gamma_quantile(shape, p);
                assert!(x.is_finite() && x >= 0.0, "{shape} {p}: {x}");
            }
        }
        assert_eq!((gamma_quantile(1e-6, 0.975), gamma_quantile(0.0, 0.5), gamma_quantile(f64::NAN, 0.5)), (0.0, 0.0, 0.0));
    }
}
