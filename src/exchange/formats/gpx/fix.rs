use quick_xml::events::BytesStart;

use crate::book::TrackPoint;
use crate::earth::LonLat;
use crate::exchange::records::waypoint::Named;
use crate::exchange::tools::xml::read_time;

/// A `wpt`, `rtept` or `trkpt` as far as it has been read.
#[derive(Debug, Clone)]
pub(super) struct Fix {
    pub(super) line: u64,
    pub(super) at: Result<LonLat, String>,
    pub(super) named: Named,
    /// What stood where a time should, when it is none.
    pub(super) bad_time: bool,
    /// The time named no zone and was taken for UTC.
    pub(super) zoneless: bool,
    pub(super) hdop: Option<f64>,
    pub(super) satellites: Option<u8>,
    /// It used an entity the file defines itself, which is never expanded.
    pub(super) entity: bool,
}

impl Fix {
    pub(super) fn open(element: &BytesStart<'_>, line: u64) -> Self {
        Self {
            line,
            at: position(element),
            named: Named::default(),
            bad_time: false,
            zoneless: false,
            hdop: None,
            satellites: None,
            entity: false,
        }
    }

    /// Takes the text of a child element.
    pub(super) fn child(&mut self, name: &str, text: &str) {
        let text = text.trim();
        match name {
            "ele" => self.named.height_m = text.parse().ok().filter(|h: &f64| h.is_finite()),
            "time" if !text.is_empty() => match read_time(text) {
                Some((time, zoneless)) => (self.named.time, self.zoneless) = (Some(time), zoneless),
                None => self.bad_time = true,
            },
            "hdop" => self.hdop = text.parse().ok().filter(|h: &f64| h.is_finite() && *h >= 0.0),
            "sat" => self.satellites = text.parse::<u32>().ok().map(|n| n.min(255) as u8),
            "name" => text.clone_into(&mut self.named.name),
            "cmt" => text.clone_into(&mut self.named.comment),
            "desc" => text.clone_into(&mut self.named.description),
            "sym" => text.clone_into(&mut self.named.symbol),
            "type" => text.clone_into(&mut self.named.sort),
            _ => {}
        }
    }

    pub(super) fn track_point(&self) -> Option<TrackPoint> {
        let at = self.at.as_ref().ok()?;
        let point = TrackPoint::new(*at).with_time(self.named.time).with_height_m(self.named.height_m);
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
