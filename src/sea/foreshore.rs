/// Standard deviations of the slope by which a foreshore is taken steeper than its mean: as everywhere else about
/// 97.7 % of it is then no steeper.
const SIGMAS: f64 = 2.0;
/// Part of a slope that nobody measured by which it may be off, as a standard deviation (common practice, no
/// published source).
const UNMEASURED: f64 = 0.3;

/// The slope of the sand at the water's edge, with its scatter along and across the shore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foreshore {
    /// Mean slope, metres down for each metre seaward.
    pub slope: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// The steepest measured; infinite where none was.
    pub steepest: f64,
}

impl Foreshore {
    /// Where nothing is known of the sand: as steep as sandy foreshores are (common practice, no published source).
    pub const UNKNOWN: Self = Self { slope: 0.08, sd: 0.02, steepest: 0.12 };

    /// The mean and scatter of measured slopes; `None` without any.
    pub fn measured(slopes: impl IntoIterator<Item = f64>) -> Option<Self> {
        let slopes: Vec<f64> = slopes.into_iter().filter(|s| s.is_finite()).collect();
        let n = slopes.len() as f64;
        if slopes.is_empty() {
            return None;
        }
        let slope = slopes.iter().sum::<f64>() / n;
        let variance = slopes.iter().map(|s| (s - slope).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
        Some(Self { slope, sd: variance.sqrt(), steepest: slopes.iter().copied().fold(0.0, f64::max) })
    }

    /// A slope that was stated and not measured.
    pub fn stated(slope: f64) -> Self {
        Self { slope, sd: UNMEASURED * slope, steepest: f64::INFINITY }
    }

    /// The slope that run-up is worked out for: the mean and twice its scatter, but no steeper than the steepest.
    pub fn steep(self) -> f64 {
        (self.slope + SIGMAS * self.sd).min(self.steepest.max(self.slope))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scatter_makes_it_steeper_and_never_steeper_than_the_steepest() {
        let even = Foreshore::measured([0.04; 20]).unwrap();
        assert!((even.steep() - 0.04).abs() < 1e-12);
        let mixed = Foreshore::measured((0..100).map(|n| 0.02 + 0.0004 * f64::from(n))).unwrap();
        assert!(mixed.steep() > mixed.slope + mixed.sd && mixed.steep() <= 0.02 + 0.0004 * 99.0);
        assert!((Foreshore::stated(0.05).steep() - 0.08).abs() < 1e-12);
        assert_eq!(Foreshore::measured([]), None);
    }
}
