use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::book::SeaState;

/// Waves as a forecast tells them: offshore, in deep water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Waves {
    /// Significant height, metres.
    pub height_m: f64,
    /// Peak period, seconds.
    pub period_s: f64,
}

/// Waves that cannot be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WavesError {
    /// The text is no height and period.
    #[error("\"{0}\" is not a height and a period of the waves, such as 1.2m,8s")]
    Text(String),
    /// No waves are so steep.
    #[error("waves {0} would be steeper than any sea stands; are height and period swapped, or is the height in feet?")]
    Steep(String),
    /// A figure is out of range.
    #[error("waves {0} are not between 0 and 20 m high with a period of 1 to 30 s")]
    Range(String),
}

impl Waves {
    /// Waves of a significant height in metres (0 to 20) and a peak period in seconds (1 to 30).
    ///
    /// # Errors
    /// [`WavesError::Range`].
    pub fn new(height_m: f64, period_s: f64) -> Result<Self, WavesError> {
        let (waves, said) = (Self { height_m, period_s }, || format!("of {height_m} m and {period_s} s"));
        match waves {
            _ if waves.can_be() => Ok(waves),
            _ if waves.is_too_steep() && height_m <= 20.0 && period_s >= 1.0 => Err(WavesError::Steep(said())),
            _ => Err(WavesError::Range(said())),
        }
    }

    pub(crate) fn can_be(self) -> bool {
        (0.0..=20.0).contains(&self.height_m) && (1.0..=30.0).contains(&self.period_s) && !self.is_too_steep()
    }

    /// Whether no sea stands so steep; see [`SeaState::is_too_steep`].
    pub(crate) fn is_too_steep(self) -> bool {
        SeaState::is_too_steep(self.height_m, self.period_s)
    }

    /// Wave length in deep water, metres: g T² / 2π (linear theory).
    pub fn length_m(self) -> f64 {
        SeaState::length_m(self.period_s)
    }
}

impl fmt::Display for Waves {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hundredth = |v: f64| (v * 100.0).round() / 100.0;
        write!(f, "{} m, {} s", hundredth(self.height_m), hundredth(self.period_s))
    }
}

/// Reads `1.2m,8s`; the units may be left out, as may neither figure.
impl FromStr for Waves {
    type Err = WavesError;

    fn from_str(text: &str) -> Result<Self, WavesError> {
        let wrong = || WavesError::Text(text.to_owned());
        let (height, period) = text.split_once([',', ';']).ok_or_else(wrong)?;
        let number = |part: &str, unit: &str| {
            let part = part.trim();
            let bare = part.strip_suffix(unit).or_else(|| part.strip_suffix(unit.to_uppercase().as_str())).unwrap_or(part);
            bare.trim().parse::<f64>().map_err(|_| wrong())
        };
        let (height_m, period_s) = (number(height, "m")?, number(period, "s")?);
        Self::new(height_m, period_s).map_err(|e| match e {
            WavesError::Steep(_) => WavesError::Steep(format!("\"{text}\"")),
            _ => WavesError::Range(format!("\"{text}\"")),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_height_and_a_period_are_read_and_written() {
        for text in ["1.2m,8s", " 1.2 m , 8 s", "1.2;8", "1.2M,8S"] {
            assert_eq!(text.parse::<Waves>().unwrap(), Waves { height_m: 1.2, period_s: 8.0 }, "{text}");
        }
        assert_eq!(Waves { height_m: 1.204, period_s: 8.0 }.to_string(), "1.2 m, 8 s");
        for text in [
            "", "1.2", "1.2ft,8s", "8s,1.2m", "1.2m,0s", "-1m,8s", "30m,8s", "NaN,8", "1,inf", "8m,1.2s", "8,1.2", "12m,2s",
            "3m,4s",
        ] {
            assert!(text.parse::<Waves>().is_err(), "{text}");
        }
    }

    // g T² / 2π = 1.56 T²: a rule of every coastal handbook.
    #[test]
    fn eight_seconds_make_a_hundred_metres() {
        assert!((Waves { height_m: 1.0, period_s: 8.0 }.length_m() - 99.92).abs() < 0.01);
    }
}
