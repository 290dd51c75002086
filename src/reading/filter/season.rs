use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// Three months of the year as meteorologists count them: spring in the north is March to May, in
/// the south September to November.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Season {
    /// March to May in the north.
    Spring,
    /// June to August in the north.
    Summer,
    /// September to November in the north.
    Autumn,
    /// December to February in the north.
    Winter,
}

impl Season {
    /// Every season, in the order of the year.
    pub const ALL: [Self; 4] = [Self::Spring, Self::Summer, Self::Autumn, Self::Winter];

    /// Its word.
    pub fn label(self) -> &'static str {
        match self {
            Self::Spring => "spring",
            Self::Summer => "summer",
            Self::Autumn => "autumn",
            Self::Winter => "winter",
        }
    }

    /// Its first month on a beach at this latitude, 1 to 12.
    fn first_month(self, lat_deg: f64) -> i8 {
        let north = match self {
            Self::Spring => 3,
            Self::Summer => 6,
            Self::Autumn => 9,
            Self::Winter => 12,
        };
        if lat_deg >= 0.0 { north } else { (north + 5) % 12 + 1 }
    }

    /// Whether a month (1 to 12) lies in it on a beach at this latitude.
    pub fn holds(self, month: i8, lat_deg: f64) -> bool {
        (month + 12 - self.first_month(lat_deg)) % 12 < 3
    }

    /// Its months on a beach at this latitude: "March to May".
    pub fn months(self, lat_deg: f64) -> String {
        const NAMES: [&str; 12] = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let name = |month: i8| NAMES.get((month - 1).rem_euclid(12).unsigned_abs() as usize).copied().unwrap_or_default();
        let first = self.first_month(lat_deg);
        format!("{} to {}", name(first), name(first + 2))
    }
}

impl fmt::Display for Season {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.label())
    }
}

impl FromStr for Season {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let wanted = text.trim().to_lowercase();
        let season = Self::ALL.into_iter().find(|s| s.label() == wanted);
        season.ok_or_else(|| format!("\"{text}\" is no season; use one of spring, summer, autumn, winter"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Meteorological seasons: the three-month groups of the WMO's and most national services' climate tables;
    /// the southern hemisphere has the opposite ones.
    #[test]
    fn seasons_share_out_the_year_and_turn_over_at_the_equator() {
        for month in 1..=12 {
            for lat in [50.0, -35.0] {
                assert_eq!(Season::ALL.into_iter().filter(|s| s.holds(month, lat)).count(), 1, "{month} at {lat}");
            }
        }
        assert!(Season::Winter.holds(1, 50.0) && Season::Summer.holds(1, -35.0));
        assert_eq!(Season::Winter.months(50.0), "December to February");
        assert_eq!(Season::Winter.months(-35.0), "June to August");
        assert_eq!(Season::Spring.months(-35.0), "September to November");
        assert_eq!("Autumn".parse(), Ok(Season::Autumn));
        assert!("fall".parse::<Season>().is_err());
    }
}
