use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{BookError, Uid, check_range};

/// What a secondary port's high and low waters differ by from those of its standard port.
///
/// The text form is the order in which tide tables print them, parted by commas: times of high water at
/// springs and neaps and of low water at springs and neaps (minutes, or hours and minutes as `-0110`, of
/// four digits), then heights at MHWS, MHWN, MLWN and MLWS (metres).
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct PortDifferences {
    /// High water: minutes later than the standard port, at springs and at neaps.
    pub high_time_min: (f64, f64),
    /// Low water, likewise.
    pub low_time_min: (f64, f64),
    /// Metres above the standard port at MHWS, MHWN, MLWN and MLWS.
    pub heights_m: [f64; 4],
}

impl PortDifferences {
    /// The eight figures in the order of the text form.
    pub fn figures(&self) -> [f64; 8] {
        let [a, b, c, d] = self.heights_m;
        [self.high_time_min.0, self.high_time_min.1, self.low_time_min.0, self.low_time_min.1, a, b, c, d]
    }

    /// From what a person typed. A book may hold parts of minutes; who types 1.15 means an hour and a quarter, and a minute would be
    /// read.
    ///
    /// # Errors
    /// A text that is not eight figures, or a time among them with a decimal sign.
    pub fn from_typed(text: &str) -> Result<Self, BookError> {
        if let Some(time) = parted(text).into_iter().take(4).find(|t| t.contains(['.', ','])) {
            return Err(in_decimals(time));
        }
        text.parse()
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        for (n, figure) in self.figures().into_iter().enumerate() {
            if n < 4 {
                check_range("time difference", Some(figure), -720.0, 720.0, "min")?;
            } else {
                check_range("height difference", Some(figure), -15.0, 15.0, "m")?;
            }
        }
        Ok(())
    }
}

impl fmt::Display for PortDifferences {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all: Vec<String> = self.figures().iter().map(f64::to_string).collect();
        f.pad(&all.join(","))
    }
}

impl FromStr for PortDifferences {
    type Err = BookError;

    fn from_str(text: &str) -> Result<Self, BookError> {
        let wrong = || {
            BookError::field(
                "the differences",
                format!(
                    "\"{text}\" are not eight figures with commas between: high water times at springs and neaps, low water times at \
                     springs and neaps (minutes, or -0110 for 1 h 10 min), heights at MHWS, MHWN, MLWN and MLWS (metres)"
                ),
            )
        };
        let parts = parted(text);
        let [a, b, c, d, heights @ ..] = parts.as_slice() else { return Err(wrong()) };
        let time = |t: &&str| minutes(t).ok_or_else(wrong);
        let (high_time_min, low_time_min) = ((time(a)?, time(b)?), (time(c)?, time(d)?));
        let heights: Result<Vec<f64>, BookError> =
            heights.iter().map(|t| number(&t.replace(',', ".")).ok_or_else(wrong)).collect();
        let heights_m: [f64; 4] = heights?.try_into().map_err(|_| wrong())?;
        Ok(Self { high_time_min, low_time_min, heights_m })
    }
}

/// The figures of a text. Between semicolons a comma is a decimal sign.
fn parted(text: &str) -> Vec<&str> {
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    if parts.len() == 8 || !text.contains(';') { parts } else { text.split(';').map(str::trim).collect() }
}

/// Why a time with a decimal sign is not taken.
fn in_decimals(text: &str) -> BookError {
    BookError::field(
        "the time difference",
        format!(
            "\"{text}\" has a decimal sign, and may be hours and minutes or minutes alone; type it as 0115 for 1 h 15 min, or as 75 \
             for 75 minutes, with its sign before it"
        ),
    )
}

fn number(text: &str) -> Option<f64> {
    text.replace('−', "-").parse::<f64>().ok().filter(|v| v.is_finite())
}

/// Minutes; four digits are hours and minutes, as tables print them.
fn minutes(text: &str) -> Option<f64> {
    let plain = text.replace('−', "-");
    let digits = plain.trim_start_matches(['+', '-']);
    if digits.len() == 4 && digits.bytes().all(|b| b.is_ascii_digit()) {
        let both: u32 = digits.parse().ok()?;
        let sign = if plain.starts_with('-') { -1.0 } else { 1.0 };
        return (both % 100 < 60).then(|| sign * f64::from(both / 100 * 60 + both % 100));
    }
    number(&plain)
}

/// The port that another one's differences are counted from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StandardPort {
    /// A station of the shipped catalogue, by its id.
    Station(String),
    /// A tide table of the person's own, held in the book.
    Table(Uid),
}

/// A secondary port: its differences on a standard port, as offices print them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SecondaryChoice {
    /// The secondary port's name.
    pub name: String,
    /// The standard port.
    pub standard: StandardPort,
    /// Its differences.
    pub differences: PortDifferences,
    /// The standard port's MHWS, MHWN, MLWN and MLWS as printed, metres above its datum: needed with a tide
    /// table, which has none of its own; a station's own levels stand in for them.
    pub standard_levels_m: Option<[f64; 4]>,
}

impl SecondaryChoice {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.name.trim().is_empty() {
            return Err(BookError::field("secondary port", "has no name; give it one"));
        }
        self.differences.validate()?;
        for level in self.standard_levels_m.iter().flatten() {
            check_range("level of the standard port", Some(*level), -20.0, 30.0, "m")?;
        }
        if let Some([mhws, mhwn, mlwn, mlws]) = self.standard_levels_m
            && !(mhws >= mhwn && mhwn > mlwn && mlwn >= mlws)
        {
            return Err(BookError::field("levels of the standard port", "do not fall from MHWS over MHWN and MLWN to MLWS"));
        }
        if matches!(self.standard, StandardPort::Table(_)) && self.standard_levels_m.is_none() {
            return Err(BookError::field(
                "secondary port",
                "stands on a tide table, which has no springs and neaps of its own; give the standard port's MHWS, MHWN, MLWN and MLWS",
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_are_read_as_tables_print_them_and_written_so_that_they_come_back() {
        let read: PortDifferences = "-0110, +0005, -20, −15, +0.3, 0.2, 0.0, -0.1".parse().unwrap();
        assert_eq!(read.high_time_min, (-70.0, 5.0));
        assert_eq!(read.low_time_min, (-20.0, -15.0));
        assert_eq!(read.heights_m, [0.3, 0.2, 0.0, -0.1]);
        assert_eq!(read.to_string().parse::<PortDifferences>().unwrap(), read);
        for bad in ["", "1,2,3", "1,2,3,4,5,6,7,8,9", "0075,0,0,0,0,0,0,0", "a,0,0,0,0,0,0,0", "0,0,0,0,0,0,0,inf"] {
            assert!(bad.parse::<PortDifferences>().is_err(), "{bad}");
        }
    }

    /// An hour and a quarter typed as 1.15 used to be taken for a minute.
    #[test]
    fn a_time_with_a_decimal_sign_is_refused_with_what_to_type_instead() {
        for bad in [
            "1.15,1.15,1.15,1.15,0,0,0,0",
            "0,0,0,-1.15,0,0,0,0",
            "75.0,0,0,0,0,0,0,0",
            "1,15;1,15;1,15;1,15;0;0;0;0",
            "0115;0115;0,40;0115;0,3;0,2;0,0;-0,1",
        ] {
            let why = PortDifferences::from_typed(bad).unwrap_err().to_string();
            assert!(
                why.contains("decimal sign") && why.contains("0115 for 1 h 15 min") && why.contains("as 75 "),
                "{bad}: {why}"
            );
        }
        for good in ["0115,0115,0115,0115,0.5,0.5,0.5,0.5", "75;75;75;75;0.5;0.5;0.5;0.5"] {
            assert_eq!(PortDifferences::from_typed(good).unwrap().high_time_min, (75.0, 75.0), "{good}");
        }
    }

    #[test]
    fn minutes_stay_below_four_digits_so_that_the_text_form_is_plain() {
        // Whole minutes of four digits would read as a clock; validation keeps them below that.
        let odd = PortDifferences { high_time_min: (100.0, -700.0), ..PortDifferences::default() };
        assert_eq!(odd.to_string().parse::<PortDifferences>().unwrap(), odd);
        assert!(PortDifferences { low_time_min: (0.0, 721.0), ..odd }.validate().is_err());
    }
}
