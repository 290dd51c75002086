//! Quantiles of the gamma distribution.

use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

use super::normal::normal_quantile;

/// The value below which a gamma variable of this shape and unit scale falls with chance `p`.
///
/// Newton's steps on the distribution function, held in a bracket that only shrinks; the starting
/// value is that of Wilson & Hilferty (1931).
pub fn gamma_quantile(shape: f64, p: f64) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    let z = normal_quantile(p);
    let cube = 1.0 - 1.0 / (9.0 * shape) + z / (3.0 * shape.sqrt());
    let rough = shape * cube.powi(3);
    // Far in the lower tail the distribution runs as a power of x.
    let mut x = if cube > 0.3 { rough } else { ((p.ln() + ln_gamma(shape + 1.0)) / shape).exp() };
    let (mut low, mut high) = (0.0, f64::INFINITY);
    for _ in 0..200 {
        let over = if p < 0.5 { gamma_lr(shape, x) - p } else { (1.0 - p) - gamma_ur(shape, x) };
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
