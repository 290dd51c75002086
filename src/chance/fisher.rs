//! Two shares held against each other.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::ln_gamma;

/// Tables whose chance differs by rounding alone count as equally likely.
const AS_LIKELY: f64 = 1.0 + 1e-7;

/// Fisher's exact test of a table of two by two counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fisher {
    /// Chance of a table as unlikely as this, in either direction.
    pub two_sided: f64,
    /// Chance of so large a first count.
    pub greater: f64,
}

/// Fisher's exact test (1922) of `[[a, b], [c, d]]`, margins held.
///
/// The chance of each table is hypergeometric. O(smallest margin).
pub fn fisher_exact([[a, b], [c, d]]: [[u64; 2]; 2]) -> Fisher {
    let (row, col, rest) = (a + b, a + c, b + d);
    let ln_choose = |n: u64, k: u64| ln_gamma(n as f64 + 1.0) - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0);
    let chance = |k: u64| (ln_choose(col, k) + ln_choose(rest, row - k) - ln_choose(col + rest, row)).exp();
    let (least, most) = (row.saturating_sub(rest), row.min(col));
    let seen = chance(a) * AS_LIKELY;
    let (mut two_sided, mut greater) = (0.0, 0.0);
    for k in least..=most {
        let chance = chance(k);
        two_sided += if chance <= seen { chance } else { 0.0 };
        greater += if k >= a { chance } else { 0.0 };
    }
    Fisher { two_sided: f64::min(two_sided, 1.0), greater: f64::min(greater, 1.0) }
}
