//! What the weather adds to the predicted water: surge and air pressure, with their uncertainty.

use crate::app::state::FrameContext;
use crate::tide::{Surge, rounded};

/// Lowest and highest level above the prediction that the water is expected to keep within, metres: two
/// standard deviations to either side.
pub(super) fn bounds(surge: Surge) -> (f64, f64) {
    (surge.residual_m - 2.0 * surge.sd_m, surge.residual_m + 2.0 * surge.sd_m)
}

/// What the weather adds from now on, if the beach has a water.
pub(super) fn surge(shown: &FrameContext<'_>) -> Option<Surge> {
    let setting = shown.setting()?;
    setting.water.as_ref().map(|_| setting.surge)
}

/// The expected levels at an instant to come, in words.
pub(super) fn said(shown: &FrameContext<'_>, at: jiff::Timestamp, level_m: f64) -> Option<String> {
    let (low, high) = bounds(surge(shown).filter(|_| at >= shown.now)?);
    Some(format!("expected with the weather {:.1} to {:.1} m", rounded(level_m + low, 1), rounded(level_m + high, 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bounds_widen_with_the_uncertainty_and_move_with_the_residual() {
        let (low, high) = bounds(Surge { residual_m: 0.3, sd_m: 0.1 });
        assert!((low - 0.1).abs() < 1e-12 && (high - 0.5).abs() < 1e-12);
        assert_eq!(bounds(Surge { residual_m: -0.2, sd_m: 0.0 }), (-0.2, -0.2));
    }
}
