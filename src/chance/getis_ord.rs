//! Getis-Ord Gi*: how far the sum round a place lies from what the mean would give.
//!
//! Getis & Ord (1992) in the standard form of Ord & Getis (1995), binary weights, the place itself
//! among its neighbours. O(sum of neighbours).

/// The standard score of each place from its value and its neighbours (without itself). 0 where
/// the values do not vary or all places are neighbours.
///
/// # Units
/// Values in any unit; scores in standard deviations.
pub fn getis_ord(values: &[f64], neighbours: &[Vec<usize>]) -> Vec<f64> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let spread = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
    let score = |(place, near): (usize, &Vec<usize>)| {
        let count = near.len() as f64 + 1.0;
        let sum = values.get(place).copied().unwrap_or(mean) + near.iter().filter_map(|m| values.get(*m)).sum::<f64>();
        let error = spread * ((n * count - count * count) / (n - 1.0)).sqrt();
        if error > 0.0 { (sum - mean * count) / error } else { 0.0 }
    };
    neighbours.iter().enumerate().map(score).collect()
}
