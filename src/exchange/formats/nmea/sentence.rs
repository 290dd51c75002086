//! One sentence: its checksum, and what RMC, GGA, GNS and ZDA say.

use jiff::civil::{Date, Time};

use crate::earth::LonLat;

/// Longest sentence that is looked at, characters: the standard allows 82, receivers go beyond it.
pub(super) const LONGEST: usize = 250;

/// Why a line is no sentence to be believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bad {
    /// Its checksum says otherwise.
    Checksum,
    /// It has no checksum, though others of the file do, so it is cut off.
    CutOff,
    /// A field holds what it cannot.
    Field,
}

/// The fields of a sentence behind its address, without the checksum, and whether it had one.
///
/// The checksum is the exclusive or of all characters between `$` and `*`, as two hexadecimal digits (NMEA 0183).
pub(super) fn fields(line: &str) -> Option<Result<(Vec<&str>, bool), Bad>> {
    // What stands before the sign, such as a logger's own time, is passed over.
    let body = line.rsplit_once('$')?.1.trim_end();
    if body.len() > LONGEST {
        return Some(Err(Bad::Field));
    }
    let (body, checked) = match body.rsplit_once('*') {
        None => (body, false),
        Some((body, digits)) => {
            let stated = u8::from_str_radix(digits.trim(), 16).ok().filter(|_| digits.trim().len() == 2);
            if stated != Some(checksum(body)) {
                return Some(Err(Bad::Checksum));
            }
            (body, true)
        }
    };
    Some(Ok((body.split(',').collect(), checked)))
}

/// The exclusive or of all characters.
pub(super) fn checksum(body: &str) -> u8 {
    body.bytes().fold(0, |sum, b| sum ^ b)
}

/// What one sentence says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Said {
    pub(super) clock: Option<Time>,
    pub(super) date: Option<Date>,
    pub(super) at: Option<LonLat>,
    pub(super) height_m: Option<f64>,
    pub(super) hdop: Option<f64>,
    pub(super) satellites: Option<u8>,
    /// Whether the receiver itself says that it has no position to be believed.
    pub(super) void: bool,
}

/// What a sentence of a known sort says; `None` for any other.
pub(super) fn said(fields: &[&str]) -> Option<Result<Said, Bad>> {
    let address = fields.first()?;
    // Two letters say who talks, such as GP or GN; proprietary sentences begin with P and are something else.
    let sort = address.get(2..).filter(|_| address.len() == 5 && !address.starts_with('P'))?;
    let read = match sort {
        "RMC" => rmc(fields),
        "GGA" => gga(fields),
        "GNS" => gns(fields),
        "ZDA" => zda(fields),
        _ => return None,
    };
    Some(read.ok_or(Bad::Field))
}

fn field<'f>(fields: &[&'f str], n: usize) -> &'f str {
    fields.get(n).map_or("", |f| f.trim())
}

/// Recommended minimum: time, status, position, speed, course, date; later versions add how the position came about.
fn rmc(fields: &[&str]) -> Option<Said> {
    let status = field(fields, 2);
    let mode = field(fields, 12);
    // Autonomous and differential fixes; estimated, manual and simulated ones are no positions of a receiver.
    let void = status != "A" || !matches!(mode, "" | "A" | "D" | "P" | "R" | "F");
    let at = if void { None } else { Some(position(fields, 3)?) };
    Some(Said { clock: clock(field(fields, 1))?, date: date(field(fields, 9))?, at, void, ..Said::default() })
}

/// Fix data: time, position, quality, satellites, dilution, height above mean sea level.
fn gga(fields: &[&str]) -> Option<Said> {
    let void = !matches!(field(fields, 6), "1" | "2" | "3" | "4" | "5");
    let at = if void { None } else { Some(position(fields, 2)?) };
    let metres = field(fields, 10) != "F";
    let height_m = number(field(fields, 9))?.filter(|_| metres && !void);
    Some(Said {
        clock: clock(field(fields, 1))?,
        at,
        void,
        height_m,
        satellites: whole(field(fields, 7))?,
        hdop: number(field(fields, 8))?,
        date: None,
    })
}

/// Fix data of several systems: as GGA, its quality a letter for each system.
fn gns(fields: &[&str]) -> Option<Said> {
    let modes = field(fields, 6);
    let void = !modes.chars().any(|c| matches!(c, 'A' | 'D' | 'P' | 'R' | 'F'));
    let at = if void { None } else { Some(position(fields, 2)?) };
    Some(Said {
        clock: clock(field(fields, 1))?,
        at,
        void,
        height_m: number(field(fields, 9))?.filter(|_| !void),
        satellites: whole(field(fields, 7))?,
        hdop: number(field(fields, 8))?,
        date: None,
    })
}

/// Time and date, with all four digits of the year.
fn zda(fields: &[&str]) -> Option<Said> {
    let part = |n: usize| field(fields, n).parse::<i16>().ok();
    let day = match (field(fields, 4), part(2), part(3), part(4)) {
        ("", ..) => None,
        (_, Some(day), Some(month), Some(year)) => {
            Some(Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()?)
        }
        _ => return None,
    };
    Some(Said { clock: clock(field(fields, 1))?, date: day, ..Said::default() })
}

/// `hhmmss.ss`; an empty field says nothing.
fn clock(text: &str) -> Option<Option<Time>> {
    if text.is_empty() {
        return Some(None);
    }
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    if whole.len() != 6 || !fraction.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let two = |at: usize| whole.get(at..at + 2)?.parse::<i8>().ok();
    let nanos = format!("{fraction:0<9}").get(..9)?.parse::<i32>().ok()?;
    // A leap second is the last of its minute.
    Some(Some(Time::new(two(0)?, two(2)?, two(4)?.min(59), nanos).ok()?))
}

/// `ddmmyy`; the two digits of the year are those of 1980 to 2079, as satellite navigation began in 1980.
fn date(text: &str) -> Option<Option<Date>> {
    if text.is_empty() {
        return Some(None);
    }
    if text.len() != 6 {
        return None;
    }
    let two = |at: usize| text.get(at..at + 2)?.parse::<i8>().ok();
    let year = i16::from(two(4)?);
    let year = if year < 80 { 2000 + year } else { 1900 + year };
    Some(Some(Date::new(year, two(2)?, two(0)?).ok()?))
}

fn number(text: &str) -> Option<Option<f64>> {
    if text.is_empty() {
        return Some(None);
    }
    text.parse::<f64>().ok().filter(|v| v.is_finite()).map(Some)
}

fn whole(text: &str) -> Option<Option<u8>> {
    Some(number(text)?.map(|v| v.clamp(0.0, 255.0) as u8))
}

/// `ddmm.mmm,N,dddmm.mmm,W` from a field on: degrees and minutes, each with the letter of its side.
fn position(fields: &[&str], from: usize) -> Option<LonLat> {
    let lat = degrees(field(fields, from), 2)?;
    let lat = match field(fields, from + 1) {
        "N" => lat,
        "S" => -lat,
        _ => return None,
    };
    let lon = degrees(field(fields, from + 2), 3)?;
    let lon = match field(fields, from + 3) {
        "E" => lon,
        "W" => -lon,
        _ => return None,
    };
    LonLat::new(lon, lat).ok()
}

fn degrees(text: &str, digits: usize) -> Option<f64> {
    let whole = text.split('.').next()?;
    if whole.len() != digits + 2 || !text.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
        return None;
    }
    let (degrees, minutes) = text.split_at_checked(digits)?;
    let (degrees, minutes) = (degrees.parse::<f64>().ok()?, minutes.parse::<f64>().ok()?);
    (minutes < 60.0).then_some(degrees + minutes / 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> Option<Result<Said, Bad>> {
        match fields(line)? {
            Ok((fields, _)) => said(&fields),
            Err(bad) => Some(Err(bad)),
        }
    }

    /// A sentence published with its checksum, 28, by T. Igoe, "XOR calculation for NMEA checksums",
    /// <http://www.tigoe.net/pcomp/code/category/date/2007/11>.
    #[test]
    fn a_published_sentence_and_its_checksum() {
        let line = "$GPRMC,155123.000,A,4043.8432,N,07359.7653,W,0.15,83.25,200407,,*28";
        let said = of(line).unwrap().unwrap();
        assert_eq!((said.clock, said.date), (Some(Time::constant(15, 51, 23, 0)), Some(Date::constant(2007, 4, 20))));
        let at = said.at.unwrap();
        assert!((at.lat_deg() - (40.0 + 43.8432 / 60.0)).abs() < 1e-12 && (at.lon_deg() + 73.0 + 59.7653 / 60.0).abs() < 1e-12);
        // Any one character that is another gives another sum.
        for at in 1..line.len() - 3 {
            let mut bytes = line.as_bytes().to_vec();
            bytes[at] ^= 1;
            let changed = String::from_utf8(bytes).unwrap();
            assert!(matches!(of(&changed), Some(Err(Bad::Checksum)) | None), "{changed}");
        }
    }

    fn with_sum(body: &str) -> String {
        format!("${body}*{:02X}", checksum(body))
    }

    #[test]
    fn each_sort_says_what_it_can_and_a_void_fix_nothing() {
        let gga = of(&with_sum("GNGGA,101502.50,4500.0060,S,02000.0060,E,2,09,0.8,3.5,M,50.1,M,,")).unwrap().unwrap();
        let at = gga.at.unwrap();
        assert!((at.lat_deg() + 45.0001).abs() < 1e-12 && (at.lon_deg() - 20.0001).abs() < 1e-12);
        assert_eq!((gga.height_m, gga.hdop, gga.satellites), (Some(3.5), Some(0.8), Some(9)));
        assert_eq!(gga.clock, Some(Time::constant(10, 15, 2, 500_000_000)));
        let gns = of(&with_sum("GNGNS,101502,4500.0060,N,02000.0060,W,AAN,09,0.8,3.5,50.1,,")).unwrap().unwrap();
        assert!(gns.at.is_some() && gns.height_m == Some(3.5));
        let zda = of(&with_sum("GPZDA,101502.00,01,05,2024,00,00")).unwrap().unwrap();
        assert_eq!(zda.date, Some(Date::constant(2024, 5, 1)));
        for void in [
            "GPRMC,101502,V,,,,,,,010524,,,N",
            "GPRMC,101502,A,4500.0,N,02000.0,W,0,0,010524,,,E",
            "GPGGA,101502,,,,,0,00,,,M,,M,,",
            "GPGGA,101502,4500.0,N,02000.0,W,8,00,,,M,,M,,",
            "GNGNS,101502,,,,,NNN,00,,,,,",
        ] {
            let said = of(&with_sum(void)).unwrap().unwrap();
            assert!(said.void && said.at.is_none(), "{void}");
        }
        for other in ["GPGSV,3,1,11,03,03,111,00", "PGRME,15.0,M", "GPRM", ""] {
            assert_eq!(of(&with_sum(other)), None, "{other}");
        }
        for wrong in [
            "GPRMC,101502,A,4500.0,X,02000.0,W,0,0,010524,,",
            "GPRMC,101502,A,4560.0,N,02000.0,W,0,0,010524,,",
            "GPRMC,101502,A,450.0,N,02000.0,W,0,0,010524,,",
            "GPRMC,251502,A,4500.0,N,02000.0,W,0,0,010524,,",
            "GPRMC,101502,A,4500.0,N,02000.0,W,0,0,310224,,",
            "GPRMC,101502,A,4500.0,N,19000.0,W,0,0,010524,,",
            "GPGGA,101502,4500.0,N,02000.0,W,1,09,x,,M,,M,,",
        ] {
            assert_eq!(of(&with_sum(wrong)), Some(Err(Bad::Field)), "{wrong}");
        }
        assert_eq!(of("no sentence at all"), None);
    }
}
