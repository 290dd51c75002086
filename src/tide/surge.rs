use serde::{Deserialize, Serialize};

/// What the weather adds to the predicted level, with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Surge {
    /// Level above the prediction, metres; negative where the water is held down.
    pub residual_m: f64,
    /// Standard deviation of that figure, metres.
    pub sd_m: f64,
}

impl Surge {
    /// Nothing known of the weather: no residual, and a standard deviation of 0.2 m (common practice, no
    /// published source; a calm day on an open coast keeps within half of it, a gale does not).
    pub const UNKNOWN: Self = Self { residual_m: 0.0, sd_m: 0.2 };

    /// From air pressure alone: the inverse barometer, 1 cm for each hPa away from 1013.25.
    ///
    /// # Units
    /// Pressure in hPa at sea level; the result in metres.
    pub fn from_pressure(pressure_hpa: f64, sd_m: f64) -> Self {
        Self { residual_m: 0.01 * (1013.25 - pressure_hpa), sd_m: sd_m.abs() }
    }

    /// Two independent parts together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { residual_m: self.residual_m + other.residual_m, sd_m: self.sd_m.hypot(other.sd_m) }
    }

    /// What a margin above the predicted water must grow by so that the true water stays below it with
    /// about 97.7 % (two standard deviations), metres. A water held down is no promise: a negative residual takes
    /// nothing from the margin.
    pub fn margin_m(self) -> f64 {
        self.residual_m.max(0.0) + 2.0 * self.sd_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn low_pressure_lifts_the_water_by_a_centimetre_a_hectopascal() {
        let low = Surge::from_pressure(983.25, 0.05);
        assert!((low.residual_m - 0.30).abs() < 1e-12);
        assert!((low.margin_m() - 0.40).abs() < 1e-12);
        // High pressure holds the water down by half a metre, and the margin stays what the doubt alone asks for.
        assert!((Surge::from_pressure(1063.25, 0.05).margin_m() - 0.10).abs() < 1e-12);
        assert_eq!(Surge { residual_m: -0.5, ..Surge::UNKNOWN }.margin_m(), Surge::UNKNOWN.margin_m());
        let both = low.and(Surge { residual_m: -0.1, sd_m: 0.12 });
        assert!((both.residual_m - 0.2).abs() < 1e-12 && (both.sd_m - 0.13).abs() < 1e-12);
    }
}
