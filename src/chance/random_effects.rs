//! How much several estimates differ beyond their errors.
//!
//! The moments of DerSimonian & Laird (1986), *Meta-analysis in clinical trials*: Cochran's Q of the estimates,
//! less what their errors alone would give, over what one unit of variance between them adds to it.

/// An estimate and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub value: f64,
    /// One over its variance; above zero.
    pub information: f64,
}

/// Variance between what is estimated, beyond the errors of the estimates; 0 of fewer than two.
pub fn variance_between(estimates: &[Estimate]) -> f64 {
    if estimates.len() < 2 {
        return 0.0;
    }
    let all: f64 = estimates.iter().map(|e| e.information).sum();
    let mean = estimates.iter().map(|e| e.value * e.information).sum::<f64>() / all;
    let q: f64 = estimates.iter().map(|e| e.information * (e.value - mean).powi(2)).sum();
    let scale = all - estimates.iter().map(|e| e.information * e.information).sum::<f64>() / all;
    ((q - (estimates.len() - 1) as f64) / scale).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand from the paper's formula: mean 4, Q = 2 (3 - 4)² + 2 (5 - 4)² = 4 on 2 degrees of freedom, scale
    /// 5 - (4 + 4 + 1) / 5 = 3.2.
    #[test]
    fn the_paper_s_formula_by_hand() {
        let told = [(3.0, 2.0), (5.0, 2.0), (4.0, 1.0)].map(|(value, information)| Estimate { value, information });
        assert!((variance_between(&told) - (4.0 - 2.0) / 3.2).abs() < 1e-12);
        assert_eq!(variance_between(&told[..1]), 0.0);
        let alike = [(3.0, 2.0), (3.1, 2.0)].map(|(value, information)| Estimate { value, information });
        assert_eq!(variance_between(&alike), 0.0);
    }
}
