//! The standard normal distribution.

/// The value below which a standard normal variable falls with chance `p`, in standard deviations.
pub fn normal_quantile(p: f64) -> f64 {
    -std::f64::consts::SQRT_2 * statrs::function::erf::erfc_inv(2.0 * p)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: `norm.ppf(p)`.
    #[test]
    fn quantiles_agree_with_scipy() {
        for (p, want) in [(0.5, 0.0), (0.025, -1.959_963_984_540_054_5), (0.999, 3.090_232_306_167_813)] {
            assert!((normal_quantile(p) - want).abs() < 1e-9, "{p}");
        }
    }
}
