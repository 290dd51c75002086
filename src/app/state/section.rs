//! What Section shows beside what Plan decides.

/// Finds no further than this from the section's line are drawn in it, metres.
const REACHES_M: [f64; 4] = [10.0, 25.0, 50.0, 100.0];

/// What Section shows beside what Plan decides.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SectionView {
    /// Finds within this distance of the line are shown, metres.
    pub(crate) reach_m: f64,
}

impl Default for SectionView {
    fn default() -> Self {
        Self { reach_m: REACHES_M[1] }
    }
}
