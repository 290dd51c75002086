//! Levels that count from the tide's datum already, with the offset of a land datum on top: the offset is counted twice.
//!
//! Levels alone then are a beach, from about the lowest tide to some metres above high water of springs; with the offset the same
//! sand begins at half tide and ends where few beaches reach. A survey of the upper half of a beach with dunes behind it is the same
//! in figures, and whoever made one confirms it. The bounds are judgements with no published source, set with a sound survey of the
//! upper half of a beach at Newlyn in sight, whose top lies 2.75 m above springs.

use super::Weight;

/// An offset of less, metres and part of the way from the lowest tide to high water of springs, puts the sand nowhere else if it is
/// counted twice.
const LEAST_M: f64 = 0.8;
const LEAST_PART: f64 = 0.15;
/// Levels that begin this near to the lowest tide, as part of that way, as they stand ...
const FROM_LOWEST_PART: f64 = 0.2;
/// ... and end between so far under, as part of it, and so far above high water of springs, metres, are a beach without any offset, ...
const UNDER_SPRINGS_PART: f64 = 0.1;
const ABOVE_SPRINGS_M: f64 = 3.0;
/// ... and one of which the offset makes sand so far above springs, metres, is asked about, or blocks.
const HIGH_BACK_M: f64 = 2.9;
const HIGHER_BACK_M: f64 = 3.3;

/// Where the sand stands with an offset that its levels may hold already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Twice {
    offset_m: f64,
    /// The lowest above the lowest tide, metres, and its top above high water of springs, metres, without the offset.
    alone_m: (f64, f64),
}

impl Twice {
    /// Of sand from its lowest to its top, metres above what its levels count from, beside a tide from its lowest to high water of
    /// springs, metres above its datum; `None` where nothing speaks for it.
    pub(super) fn new((low_m, top_m): (f64, f64), (lowest_m, springs_m): (f64, f64), offset_m: f64) -> Option<Self> {
        let way_m = springs_m - lowest_m;
        let alone_m = (low_m - lowest_m, top_m - springs_m);
        let begins = alone_m.0.abs() <= FROM_LOWEST_PART * way_m;
        let ends = (-UNDER_SPRINGS_PART * way_m..=ABOVE_SPRINGS_M).contains(&alone_m.1);
        let lifts = offset_m >= LEAST_M.max(LEAST_PART * way_m) && alone_m.1 + offset_m >= HIGH_BACK_M;
        (begins && ends && lifts).then_some(Self { offset_m, alone_m })
    }

    pub(super) fn weight(&self) -> Weight {
        if self.alone_m.1 + self.offset_m >= HIGHER_BACK_M { Weight::Blocks } else { Weight::Question }
    }

    pub(super) fn said(&self) -> String {
        let from = |m: f64| format!("{:.1} m {}", m.abs(), if m < 0.0 { "under" } else { "above" });
        let (low_m, top_m) = self.alone_m;
        format!(
            "With an offset of {:+.2} m the lowest sand lies {} the lowest tide and the highest {} high water of springs; without any it reaches from {} the one to {} the other, as a beach does.",
            self.offset_m,
            from(low_m + self.offset_m),
            from(top_m + self.offset_m),
            from(low_m),
            from(top_m)
        )
    }

    /// What settles it, where the tide's heights count from `datum`.
    pub(super) fn settled(datum: &str) -> String {
        format!(
            "If your levels count from {datum} already, give an offset of 0; if they count from a land datum and the survey ends at half tide, confirm it."
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// San Felipe, Boston and Kota Kinabalu in round figures: lowest tide, springs and the offset of land levels near mean sea level.
    /// Sand from the lowest tide to a metre and a half above springs, by its own figures and rightly above land datum.
    #[test]
    fn an_offset_on_levels_that_hold_it_is_told_the_more_surely_the_farther_it_lifts_them() {
        let weight = |springs_m: f64, offset_m: f64, lifted_m: f64| {
            Twice::new((0.3 - lifted_m, springs_m + 1.5 - lifted_m), (0.0, springs_m), offset_m).map(|t| t.weight())
        };
        assert_eq!(weight(6.0, 3.6, 0.0), Some(Weight::Blocks));
        assert_eq!(weight(3.2, 1.45, 0.0), Some(Weight::Question));
        // A metre more or less at a small tide is a beach either way.
        assert_eq!(weight(1.9, 1.05, 0.0), None);
        for (springs_m, offset_m) in [(6.0, 3.6), (3.2, 1.45), (1.9, 1.05)] {
            assert_eq!(weight(springs_m, offset_m, offset_m), None);
        }
    }
}
