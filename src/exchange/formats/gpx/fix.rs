use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use quick_xml::events::BytesStart;

use crate::book::{TrackPoint, Uid};
use crate::earth::LonLat;

/// A `wpt`, `rtept` or `trkpt` as far as it has been read.
#[derive(Debug)]
pub(super) struct Fix {
    pub(super) line: u64,
    pub(super) at: Result<LonLat, String>,
    pub(super) height_m: Option<f64>,
    pub(super) time: Option<Timestamp>,
    /// What stood where a time should, when it is none.
    pub(super) bad_time: bool,
    /// The time named no zone and was taken for UTC.
    pub(super) zoneless: bool,
    pub(super) hdop: Option<f64>,
    pub(super) satellites: Option<u8>,
    pub(super) name: String,
    pub(super) comment: String,
    pub(super) description: String,
    pub(super) symbol: String,
    pub(super) sort: String,
    pub(super) uid: Option<Uid>,
    /// It used an entity the file defines itself, which is never expanded.
    pub(super) entity: bool,
}

impl Fix {
    pub(super) fn open(element: &BytesStart<'_>, line: u64) -> Self {
        Self {
            line,
            at: position(element),
            height_m: None,
            time: None,
            bad_time: false,
            zoneless: false,
            hdop: None,
            satellites: None,
            name: String::new(),
            comment: String::new(),
            description: String::new(),
            symbol: String::new(),
            sort: String::new(),
            uid: None,
            entity: false,
        }
    }

    /// Takes the text of a child element.
    pub(super) fn child(&mut self, name: &str, text: &str) {
        let text = text.trim();
        match name {
            "ele" => self.height_m = text.parse().ok().filter(|h: &f64| h.is_finite()),
            "time" if !text.is_empty() => match read_time(text) {
                Some((time, zoneless)) => (self.time, self.zoneless) = (Some(time), zoneless),
                None => self.bad_time = true,
            },
            "hdop" => self.hdop = text.parse().ok().filter(|h: &f64| h.is_finite() && *h >= 0.0),
            "sat" => self.satellites = text.parse::<u32>().ok().map(|n| n.min(255) as u8),
            "name" => text.clone_into(&mut self.name),
            "cmt" => text.clone_into(&mut self.comment),
            "desc" => text.clone_into(&mut self.description),
            "sym" => text.clone_into(&mut self.symbol),
            "type" => text.clone_into(&mut self.sort),
            _ => {}
        }
    }

    pub(super) fn track_point(&self) -> Option<TrackPoint> {
        let at = self.at.as_ref().ok()?;
        let point = TrackPoint::new(*at).with_time(self.time).with_height_m(self.height_m);
        Some(point.with_hdop(self.hdop).with_satellites(self.satellites))
    }
}

fn position(element: &BytesStart<'_>) -> Result<LonLat, String> {
    let (mut lon, mut lat) = (None, None);
    for attribute in element.attributes() {
        let attribute = attribute.map_err(|e| format!("has broken attributes: {e}"))?;
        let slot = match attribute.key.local_name().as_ref() {
            "lon" => &mut lon,
            "lat" => &mut lat,
            _ => continue,
        };
        let text = quick_xml::escape::unescape(&attribute.value).map_err(|e| format!("has broken attributes: {e}"))?;
        let number = text.trim().parse::<f64>();
        *slot = Some(number.map_err(|_| format!("its {} \"{}\" is not a number", attribute.key.as_ref(), text.trim()))?);
    }
    match (lon, lat) {
        (Some(lon), Some(lat)) => LonLat::new(lon, lat).map_err(|e| e.to_string()),
        _ => Err("has no lat and lon".to_owned()),
    }
}

/// An XML Schema dateTime, and whether it lacked a zone and was taken for UTC, as GPX asks.
pub(super) fn read_time(text: &str) -> Option<(Timestamp, bool)> {
    if let Ok(time) = text.parse::<Timestamp>() {
        return Some((time, false));
    }
    let local = text.parse::<DateTime>().ok()?;
    Some((TimeZone::UTC.to_timestamp(local).ok()?, true))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_with_zone_offset_or_neither() {
        let at = |text: &str| read_time(text).map(|(t, zoneless)| (t.to_string(), zoneless));
        assert_eq!(at("2024-05-01T10:00:00Z"), Some(("2024-05-01T10:00:00Z".into(), false)));
        assert_eq!(at("2024-05-01T10:00:00.25+02:00"), Some(("2024-05-01T08:00:00.25Z".into(), false)));
        assert_eq!(at("2024-05-01T10:00:00"), Some(("2024-05-01T10:00:00Z".into(), true)));
        assert_eq!(at("yesterday"), None);
    }
}
