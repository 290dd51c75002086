use serde::{Deserialize, Serialize};

use super::EffortError;
use crate::book::SearchSettings;

/// The settings that the ground covered rests on; part of every result, so that it can be made again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Params {
    /// Side of a square of the grid, metres.
    pub cell_m: f64,
    /// Width of the coil where the set-up gives none, metres. 0.28 m (11 inches) is a usual size
    /// (common practice, no published source).
    pub coil_width_m: f64,
    /// Way of the coil's middle from one end of a swing to the other, metres; 0 for a coil that is
    /// pushed straight ahead. The swath is this and the coil's width. 1.2 m is a usual swing
    /// (common practice, no published source).
    pub swing_m: f64,
    /// Share of the swath that the coil really passes over, 0 to 1: 1 where each swing overlaps the
    /// one before, less for who advances by more than the coil's width at each swing.
    pub overlap: f64,
    /// Faster than this is walking, not searching, metres per second. Measured straight from the
    /// start to the end of the window, so that turning to and fro counts as slow.
    pub walk_m_per_s: f64,
    /// Time over which speed and turning are measured, seconds: long enough that the receiver's
    /// error does not look like speed.
    pub window_s: f64,
    /// Who turns by more than this from the first half of the window to the second is searching
    /// whatever the speed, degrees.
    pub turn_deg: f64,
    /// A longer pause between two fixes is a gap, seconds.
    pub gap_s: f64,
    /// A faster change of place is a jump of the receiver, metres per second.
    pub jump_m_per_s: f64,
    /// A longer step between two fixes of which one has no time is a gap, metres.
    pub gap_m: f64,
    /// A fix with a greater horizontal dilution of precision is not used, where the file gives it.
    pub hdop_most: f64,
    /// A fix with fewer satellites is not used, where the file gives them.
    pub satellites_least: u8,
    /// The coil is over the same ground again when it comes back after at least this time, seconds.
    pub again_s: f64,
    /// Whether a track without times is taken as searched from end to end; otherwise it is left out.
    pub timeless_is_searched: bool,
}

impl Default for Params {
    fn default() -> Self {
        Self {
            cell_m: 1.0,
            coil_width_m: 0.28,
            swing_m: 1.2,
            overlap: 1.0,
            walk_m_per_s: 0.8,
            window_s: 20.0,
            turn_deg: 75.0,
            gap_s: 30.0,
            jump_m_per_s: 6.0,
            gap_m: 25.0,
            hdop_most: 8.0,
            satellites_least: 4,
            again_s: 20.0,
            timeless_is_searched: true,
        }
    }
}

impl Params {
    /// What a person set for a beach, and the usual for the rest.
    pub fn from_settings(set: &SearchSettings) -> Self {
        let usual = Self::default();
        Self {
            swing_m: set.swing_m.unwrap_or(usual.swing_m),
            coil_width_m: set.coil_width_m.unwrap_or(usual.coil_width_m),
            overlap: set.overlap.unwrap_or(usual.overlap),
            walk_m_per_s: set.walk_m_per_s.unwrap_or(usual.walk_m_per_s),
            turn_deg: set.turn_deg.unwrap_or(usual.turn_deg),
            gap_s: set.gap_s.unwrap_or(usual.gap_s),
            ..usual
        }
    }

    /// Width of the ground one passing covers with a coil of this width, metres.
    pub fn swath_m(&self, coil_width_m: Option<f64>) -> f64 {
        self.swing_m + coil_width_m.unwrap_or(self.coil_width_m)
    }

    pub(super) fn check(&self) -> Result<(), EffortError> {
        let ranges = [
            ("side of a square, m", self.cell_m, 0.1, 100.0),
            ("width of the coil, m", self.coil_width_m, 0.05, 3.0),
            ("swing, m", self.swing_m, 0.0, 5.0),
            ("overlap", self.overlap, 0.05, 1.0),
            ("speed of walking, m/s", self.walk_m_per_s, 0.05, 10.0),
            ("window, s", self.window_s, 1.0, 600.0),
            ("turning, degrees", self.turn_deg, 1.0, 180.0),
            ("pause that is a gap, s", self.gap_s, 1.0, 3600.0),
            ("speed that is a jump, m/s", self.jump_m_per_s, 0.5, 100.0),
            ("step that is a gap, m", self.gap_m, 0.5, 1000.0),
            ("dilution of precision", self.hdop_most, 0.5, 1000.0),
            ("time until ground is swept again, s", self.again_s, 0.0, 36_000.0),
        ];
        match ranges.into_iter().find(|(_, value, low, high)| !(*low..=*high).contains(value)) {
            Some((what, value, low, high)) => Err(EffortError::Parameter { what, value, low, high }),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_book_takes_is_what_can_be_used() {
        assert_eq!(Params::from_settings(&SearchSettings::default()), Params::default());
        type Field = fn(&mut SearchSettings) -> &mut Option<f64>;
        let fields: [(Field, f64, f64); 6] = [
            (|s| &mut s.swing_m, 0.0, 5.0),
            (|s| &mut s.coil_width_m, 0.05, 3.0),
            (|s| &mut s.overlap, 0.05, 1.0),
            (|s| &mut s.walk_m_per_s, 0.05, 10.0),
            (|s| &mut s.turn_deg, 1.0, 180.0),
            (|s| &mut s.gap_s, 1.0, 3600.0),
        ];
        for (field, low, high) in fields {
            for (value, fits) in [(low, true), (high, true), (low - 1e-9, false), (high + 1e-9, false), (f64::NAN, false)] {
                let mut set = SearchSettings::default();
                *field(&mut set) = Some(value);
                let used = Params::from_settings(&set);
                assert_eq!((set.validate().is_ok(), used.check().is_ok()), (fits, fits), "{value}");
                assert!(used != Params::default() || value == high, "{value} is used");
            }
        }
    }
}
