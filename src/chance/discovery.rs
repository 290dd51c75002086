//! Many comparisons at once.

/// Benjamini & Hochberg (1995): the share of false discoveries among all p-values as small as each.
/// In the order of the input.
pub fn false_discovery(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*b].total_cmp(&p[*a]));
    let mut q = vec![1.0; p.len()];
    let mut least = 1.0_f64;
    for (n, place) in order.into_iter().enumerate() {
        least = least.min(p[place] * p.len() as f64 / (p.len() - n) as f64);
        q[place] = least;
    }
    q
}
