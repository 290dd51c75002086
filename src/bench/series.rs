use crate::book::Steadiness;

/// The numbers of one reading or signal, and what is summed of them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    pub(super) numbers: Vec<f64>,
    pub(super) count: f64,
    pub(super) mean: f64,
    /// Sum of the squared distances from the mean; never less than rounding to whole numbers leaves.
    pub(super) squares: f64,
    pub(super) word: Option<Steadiness>,
}

/// Variance that rounding to whole numbers adds (Sheppard): no scatter is believed to be smaller.
pub(super) const ROUNDING: f64 = 1.0 / 12.0;

impl Series {
    /// A series of at least one number.
    pub(super) fn from_numbers(numbers: Vec<f64>) -> Self {
        let count = numbers.len() as f64;
        let mean = numbers.iter().sum::<f64>() / count;
        let squares: f64 = numbers.iter().map(|v| (v - mean).powi(2)).sum();
        // Numbers all alike still hide the rounding.
        Self { count, mean, squares: squares.max(ROUNDING * (count - 1.0)), numbers, word: None }
    }
    /// The same, each number by so much higher.
    pub(super) fn moved(&self, by: f64) -> Self {
        Self { numbers: self.numbers.iter().map(|n| n + by).collect(), mean: self.mean + by, ..self.clone() }
    }
}
