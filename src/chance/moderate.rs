//! Variances of many small groups, each drawn towards what the groups have in common.
//!
//! Smyth (2004), *Linear models and empirical Bayes methods for assessing differential expression in
//! microarray experiments*: the groups' true variances are taken as scaled inverse chi-square, with the
//! scale s0² and the d0 degrees of freedom found from the spread of ln s² between groups. A group's
//! variance becomes (d0 s0² + d s²)/(d0 + d): one read once takes the common value, one read often
//! keeps its own. The moments of ln s² are those of ln chi-square, by digamma and trigamma.

use statrs::function::gamma::digamma;

/// A variance estimated from a sample, with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variance {
    /// The estimate; above zero.
    pub value: f64,
    /// Degrees of freedom; above zero.
    pub df: f64,
}

/// What the groups have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Common {
    /// s0², the common variance.
    pub value: f64,
    /// d0: how many degrees of freedom the common value is worth; infinite when the groups do not differ.
    pub df: f64,
}

impl Common {
    /// Learns from groups; those without degrees of freedom or with no spread at all say nothing.
    /// `None` when no group says anything. One group alone is worth no more than itself.
    pub fn learn(groups: &[Variance]) -> Option<Self> {
        let told: Vec<&Variance> = groups.iter().filter(|g| g.df > 0.0 && g.value > 0.0 && g.value.is_finite()).collect();
        let n = told.len() as f64;
        let all_df: f64 = told.iter().map(|g| g.df).sum();
        let pooled = told.iter().map(|g| g.value * g.df).sum::<f64>() / all_df;
        match told.as_slice() {
            [] => return None,
            [one] => return Some(Self { value: one.value, df: 0.0 }),
            _ => {}
        }
        let e: Vec<f64> = told.iter().map(|g| g.value.ln() - digamma(g.df / 2.0) + (g.df / 2.0).ln()).collect();
        let mean = e.iter().sum::<f64>() / n;
        let between = e.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let excess = between - told.iter().map(|g| trigamma(g.df / 2.0)).sum::<f64>() / n;
        if excess <= 0.0 {
            return Some(Self { value: pooled, df: f64::INFINITY });
        }
        let df = 2.0 * trigamma_inverse(excess);
        Some(Self { value: (mean + digamma(df / 2.0) - (df / 2.0).ln()).exp(), df })
    }

    /// A group's variance drawn towards the common one, with the degrees of freedom it is then worth.
    pub fn moderate(&self, group: Option<Variance>) -> Variance {
        let own = group.filter(|g| g.df > 0.0 && g.value.is_finite()).unwrap_or(Variance { value: 0.0, df: 0.0 });
        if self.df.is_infinite() || self.df + own.df <= 0.0 {
            return Variance { value: self.value, df: self.df };
        }
        let df = self.df + own.df;
        Variance { value: (self.df * self.value + own.df * own.value) / df, df }
    }

    /// The share of a moderated variance that comes from the other groups, 0 to 1.
    pub fn lent(&self, df: f64) -> f64 {
        if self.df.is_infinite() || df <= 0.0 { 1.0 } else { self.df / (self.df + df) }
    }
}

/// The second derivative of ln gamma, for x above zero: recurrence up to 20, then the asymptotic series
/// (NIST Digital Library of Mathematical Functions, 5.15.8).
pub fn trigamma(mut x: f64) -> f64 {
    let mut sum = 0.0;
    while x < 20.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    sum + 1.0 / x + 0.5 * r + r / x * (1.0 / 6.0 - r * (1.0 / 30.0 - r * (1.0 / 42.0 - r / 30.0)))
}

/// The x at which [`trigamma`] takes a value, by Newton's steps on 1/trigamma (Smyth 2004, appendix).
fn trigamma_inverse(value: f64) -> f64 {
    if value > 1e7 {
        return 1.0 / value.sqrt();
    }
    if value < 1e-6 {
        return 1.0 / value;
    }
    let mut x = 0.5 + 1.0 / value;
    for _ in 0..50 {
        let here = trigamma(x);
        // The derivative by central difference serves: only the size of the step hangs on it.
        let h = 1e-4 * x;
        let slope = (trigamma(x + h) - trigamma(x - h)) / (2.0 * h);
        let step = here * (1.0 - here / value) / slope;
        x += step;
        if (step / x).abs() < 1e-12 {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trigamma_and_its_inverse_undo_each_other() {
        // trigamma(1) = pi²/6, trigamma(1/2) = pi²/2 (DLMF 5.15.1 and reflection).
        assert!((trigamma(1.0) - std::f64::consts::PI.powi(2) / 6.0).abs() < 1e-13);
        assert!((trigamma(0.5) - std::f64::consts::PI.powi(2) / 2.0).abs() < 1e-12);
        for x in [0.01, 0.3, 1.0, 4.5, 60.0, 5e4] {
            assert!((trigamma_inverse(trigamma(x)) / x - 1.0).abs() < 1e-6, "{x}");
        }
    }

    #[test]
    fn groups_alike_share_one_variance_and_a_lone_group_keeps_its_own() {
        let alike = [Variance { value: 2.0, df: 5.0 }, Variance { value: 2.0, df: 5.0 }];
        let common = Common::learn(&alike).unwrap();
        assert_eq!((common.value, common.df), (2.0, f64::INFINITY));
        assert_eq!(common.moderate(None).value, 2.0);
        let alone = Common::learn(&alike[..1]).unwrap();
        assert_eq!(alone.moderate(Some(alike[0])), alike[0]);
        assert!(Common::learn(&[Variance { value: 0.0, df: 4.0 }]).is_none());
    }
}
