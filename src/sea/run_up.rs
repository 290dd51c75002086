//! Run-up on a beach after Stockdon, H. F., Holman, R. A., Howd, P. A. & Sallenger, A. H. (2006), *Empirical
//! parameterization of setup, swash, and runup*, Coastal Engineering 53, 573-588,
//! doi:10.1016/j.coastaleng.2005.12.005.

use super::Waves;

/// Below this Iribarren number a beach is dissipative, and the slope no longer matters.
const DISSIPATIVE: f64 = 0.3;

/// What waves do on a foreshore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swash {
    /// Iribarren number: slope over the root of the waves' steepness. Infinite without waves.
    pub iribarren: f64,
    /// Rise of the mean water at the shore, metres (equation 10).
    pub setup_m: f64,
    /// Height of the swash from its lowest to its highest, metres (equations 7, 11 and 12).
    pub height_m: f64,
    /// Height above still water that two in a hundred run-ups pass, metres (equation 19; below an Iribarren
    /// number of 0.3 equation 18).
    pub run_up_m: f64,
}

/// What waves do on a foreshore of this slope.
///
/// # Units
/// `slope` in metres down for each metre seaward, positive.
pub fn swash(waves: Waves, slope: f64) -> Swash {
    let (height_m, length_m) = (waves.height_m, waves.length_m());
    let scale_m = (height_m * length_m).max(0.0).sqrt();
    let setup_m = 0.35 * slope * scale_m;
    let incident_m = 0.75 * slope * scale_m;
    let long_m = 0.06 * scale_m;
    let iribarren = if height_m > 0.0 { slope / (height_m / length_m).sqrt() } else { f64::INFINITY };
    let run_up_m = if iribarren < DISSIPATIVE {
        0.043 * scale_m
    } else {
        // 0.563 and 0.004 are 0.75² and 0.06² as the paper rounds them.
        1.1 * (setup_m + scale_m * (0.563 * slope * slope + 0.004).sqrt() / 2.0)
    };
    Swash { iribarren, setup_m, height_m: incident_m.hypot(long_m), run_up_m }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_sea_runs_up_nothing_and_a_higher_or_longer_one_higher() {
        assert_eq!(swash(Waves { height_m: 0.0, period_s: 8.0 }, 0.05).run_up_m, 0.0);
        let run_up = |height_m, period_s, slope| swash(Waves { height_m, period_s }, slope).run_up_m;
        assert!(run_up(1.0, 8.0, 0.05) < run_up(1.2, 8.0, 0.05));
        assert!(run_up(1.0, 8.0, 0.05) < run_up(1.0, 9.0, 0.05));
        assert!(run_up(1.0, 8.0, 0.05) < run_up(1.0, 8.0, 0.06));
    }

    #[test]
    fn a_dissipative_beach_no_longer_asks_for_its_slope() {
        let gale = Waves { height_m: 5.0, period_s: 9.0 };
        let flat = swash(gale, 0.01);
        assert!(flat.iribarren < 0.3);
        assert_eq!(flat.run_up_m, swash(gale, 0.015).run_up_m);
    }
}
