//! What a photograph says of itself.

use exif::{Context, Exif, In, Tag, Value};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;

use crate::Progress;
use crate::earth::LonLat;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::source::Source;

/// Largest file that is read, bytes.
const LARGEST: u64 = 512 << 20;

/// What a photograph says of itself.
#[derive(Debug, Default)]
pub(super) struct Shot {
    /// Where, or what is wrong with what it says of that.
    pub(super) at: Option<Result<LonLat, String>>,
    /// When by satellite, which is UTC.
    pub(super) by_satellite: Option<Timestamp>,
    /// When by the camera's own clock.
    pub(super) by_camera: Option<DateTime>,
    /// How far that clock was ahead of UTC, as the camera states it, seconds.
    pub(super) offset_s: Option<i64>,
    /// How far off the place may be, as the camera states it, metres.
    pub(super) error_m: Option<f64>,
    /// Which camera, as far as it says.
    pub(super) camera: String,
    /// What somebody wrote into it.
    pub(super) description: String,
    /// Whether it says how its squares lie on the ground, as a grid of heights or a map does.
    pub(super) laid_on_ground: bool,
}

/// The tags by which a TIFF says how it lies on the ground: ModelPixelScale, ModelTiepoint, ModelTransformation and
/// GeoKeyDirectory (OGC 19-008r4, *GeoTIFF Standard* 1.1, 7.1 and annex B).
const ON_GROUND: [u16; 4] = [33550, 33922, 34264, 34735];

impl Shot {
    /// Reads what stands in the file; of one that holds nothing of the sort, nothing.
    pub(super) fn read(source: &Source, progress: &Progress) -> Result<Self, Stop> {
        progress.check().map_err(|_| Stop::Cancelled)?;
        let mut bytes = source.seekable(LARGEST)?;
        let mut reader = exif::Reader::new();
        // What can be read of a damaged one is read.
        reader.continue_on_error(true);
        let read = reader.read_from_container(&mut bytes).or_else(|e| e.distill_partial_result(|_| {}));
        match read {
            Ok(exif) => Ok(Self::of_exif(&exif)),
            Err(exif::Error::Io(error)) if error.kind() != std::io::ErrorKind::UnexpectedEof => {
                Err(Fault::Io(error.to_string()).into())
            }
            Err(_) => Ok(Self::default()),
        }
    }

    fn of_exif(exif: &Exif) -> Self {
        let text = |tag| ascii(exif, tag);
        let moment = [Tag::DateTimeOriginal, Tag::DateTimeDigitized].into_iter().find_map(|t| date_time(&text(t)));
        let offset =
            [Tag::OffsetTimeOriginal, Tag::OffsetTimeDigitized, Tag::OffsetTime].into_iter().find_map(|t| offset_s(&text(t)));
        let parts = [text(Tag::Make), text(Tag::Model), text(Tag::BodySerialNumber)];
        Self {
            at: position(exif),
            by_satellite: satellite_time(exif),
            by_camera: moment,
            offset_s: offset,
            error_m: rationals(exif, Tag::GPSHPositioningError).first().copied().filter(|m| m.is_finite() && *m > 0.0),
            camera: parts.iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>().join(" "),
            description: text(Tag::ImageDescription),
            laid_on_ground: exif.fields().any(|f| f.tag.context() == Context::Tiff && ON_GROUND.contains(&f.tag.number())),
        }
    }
}

fn ascii(exif: &Exif, tag: Tag) -> String {
    match exif.get_field(tag, In::PRIMARY).map(|f| &f.value) {
        Some(Value::Ascii(lines)) => {
            let text = lines.iter().map(|l| String::from_utf8_lossy(l).into_owned()).collect::<Vec<_>>().join(" ");
            let clean: String = text.chars().filter(|c| !c.is_control()).take(2000).collect();
            clean.trim().to_owned()
        }
        _ => String::new(),
    }
}

fn rationals(exif: &Exif, tag: Tag) -> Vec<f64> {
    match exif.get_field(tag, In::PRIMARY).map(|f| &f.value) {
        Some(Value::Rational(values)) => values.iter().map(exif::Rational::to_f64).collect(),
        _ => Vec::new(),
    }
}

/// Degrees, minutes and seconds with the letter of their side.
fn position(exif: &Exif) -> Option<Result<LonLat, String>> {
    let (lat, lon) = (rationals(exif, Tag::GPSLatitude), rationals(exif, Tag::GPSLongitude));
    if lat.is_empty() && lon.is_empty() {
        return None;
    }
    // V is a measurement that was interrupted (Exif 2.32, GPSStatus).
    if ascii(exif, Tag::GPSStatus).eq_ignore_ascii_case("V") {
        return None;
    }
    let degrees = |parts: &[f64], name: &str| {
        let whole: f64 = parts.iter().zip([1.0, 60.0, 3600.0]).map(|(part, per)| part / per).sum();
        let minutes = parts.iter().skip(1).all(|p| (0.0..=60.0).contains(p));
        if parts.is_empty() || !whole.is_finite() || !minutes {
            return Err(format!("its {name} is no number of degrees"));
        }
        Ok(whole)
    };
    let side = |tag, positive: &str, negative: &str, name: &str| match ascii(exif, tag).to_uppercase() {
        letter if letter.starts_with(positive) => Ok(1.0),
        letter if letter.starts_with(negative) => Ok(-1.0),
        _ => Err(format!("its {name} does not say whether it is {positive} or {negative}")),
    };
    let read = || {
        let lat = degrees(&lat, "latitude")? * side(Tag::GPSLatitudeRef, "N", "S", "latitude")?;
        let lon = degrees(&lon, "longitude")? * side(Tag::GPSLongitudeRef, "E", "W", "longitude")?;
        LonLat::new(lon, lat).map_err(|e| e.to_string())
    };
    Some(read())
}

/// Date and time by satellite, both UTC.
fn satellite_time(exif: &Exif) -> Option<Timestamp> {
    let date = ascii(exif, Tag::GPSDateStamp);
    let parts: Vec<&str> = date.split([':', '-']).collect();
    let [year, month, day] = parts.as_slice() else { return None };
    let date = Date::new(year.trim().parse().ok()?, month.trim().parse().ok()?, day.trim().parse().ok()?).ok()?;
    let clock = rationals(exif, Tag::GPSTimeStamp);
    let [hour, minute, second] = clock.as_slice() else { return None };
    let whole = |value: f64, below: f64| (0.0..below).contains(&value).then_some(value.floor() as i8);
    let time = Time::new(whole(*hour, 24.0)?, whole(*minute, 60.0)?, whole(*second, 60.0)?, 0).ok()?;
    TimeZone::UTC.to_timestamp(date.to_datetime(time)).ok()
}

/// `2024:05:01 10:02:03`; blanks and zeros say nothing.
fn date_time(text: &str) -> Option<DateTime> {
    let (day, clock) = text.split_once([' ', 'T'])?;
    let day: Vec<&str> = day.split([':', '-', '/']).collect();
    let clock: Vec<&str> = clock.trim().split(':').collect();
    let ([year, month, date], [hour, minute, second]) = (day.as_slice(), clock.as_slice()) else { return None };
    let date = Date::new(year.parse().ok()?, month.parse().ok()?, date.parse().ok()?).ok()?;
    let second = second.get(..2).unwrap_or(second);
    let time = Time::new(hour.parse().ok()?, minute.parse().ok()?, second.parse().ok()?, 0).ok()?;
    Some(date.to_datetime(time))
}

/// `+01:00`, as seconds.
fn offset_s(text: &str) -> Option<i64> {
    let text = text.trim();
    if text == "Z" {
        return Some(0);
    }
    let sign = match text.chars().next()? {
        '+' => 1,
        '-' => -1,
        _ => return None,
    };
    let (hours, minutes) = text.get(1..)?.split_once(':')?;
    let (hours, minutes) = (hours.parse::<i64>().ok()?, minutes.parse::<i64>().ok()?);
    ((0..=14).contains(&hours) && (0..60).contains(&minutes)).then_some(sign * (hours * 3600 + minutes * 60))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_offsets_as_cameras_write_them() {
        assert_eq!(date_time("2024:05:01 10:02:03"), Some(DateTime::constant(2024, 5, 1, 10, 2, 3, 0)));
        for blank in ["", "0000:00:00 00:00:00", "    :  :     :  :  ", "2024:05:01", "2024:13:01 10:02:03", "2024:05:01 10:02"] {
            assert_eq!(date_time(blank), None, "{blank}");
        }
        assert_eq!((offset_s("+01:00"), offset_s("-03:30"), offset_s("Z")), (Some(3600), Some(-12600), Some(0)));
        for wrong in ["", "   :  ", "01:00", "+15:00", "+1", "+é:00"] {
            assert_eq!(offset_s(wrong), None, "{wrong}");
        }
    }
}
