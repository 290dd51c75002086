use std::sync::Arc;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{BookError, Uid};
use crate::earth::LonLat;

/// One fix of a receiver. Forty bytes, as a book may hold millions.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct TrackPoint {
    /// Where.
    pub at: LonLat,
    /// Milliseconds since 1970-01-01 UTC; `i64::MIN` when the file gave no time.
    time_ms: i64,
    /// Height the file gave, metres; NaN when it gave none.
    #[serde(with = "none_as_null")]
    height_m: f32,
    /// Horizontal dilution of precision; NaN when the file gave none.
    #[serde(with = "none_as_null")]
    hdop: f32,
    /// Satellites in use; 0 when the file does not say.
    satellites: u8,
}

/// What the file did not give, as a null: JSON has no word for NaN.
mod none_as_null {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
    pub(super) fn serialize<S: Serializer>(value: &f32, to: S) -> Result<S::Ok, S::Error> {
        Some(*value).filter(|v| v.is_finite()).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<f32, D::Error> {
        Ok(Option::<f32>::deserialize(from)?.unwrap_or(f32::NAN))
    }
}

impl TrackPoint {
    /// A fix of which only the place is known.
    pub fn new(at: LonLat) -> Self {
        Self { at, time_ms: i64::MIN, height_m: f32::NAN, hdop: f32::NAN, satellites: 0 }
    }

    /// The same fix with its time, kept to the millisecond.
    #[must_use]
    pub fn with_time(mut self, time: Option<Timestamp>) -> Self {
        self.time_ms = time.map_or(i64::MIN, Timestamp::as_millisecond);
        self
    }

    /// The same fix with the height the file gave, metres.
    #[must_use]
    pub fn with_height_m(mut self, height_m: Option<f64>) -> Self {
        self.height_m = height_m.map(|h| h as f32).filter(|h| h.is_finite()).unwrap_or(f32::NAN);
        self
    }

    /// The same fix with its horizontal dilution of precision.
    #[must_use]
    pub fn with_hdop(mut self, hdop: Option<f64>) -> Self {
        self.hdop = hdop.map(|h| h as f32).filter(|h| h.is_finite()).unwrap_or(f32::NAN);
        self
    }

    /// The same fix with the count of satellites in use.
    #[must_use]
    pub fn with_satellites(mut self, satellites: Option<u8>) -> Self {
        self.satellites = satellites.unwrap_or(0);
        self
    }

    /// When, if the file said so.
    pub fn time(&self) -> Option<Timestamp> {
        if self.time_ms == i64::MIN { None } else { Timestamp::from_millisecond(self.time_ms).ok() }
    }

    /// Seconds since 1970-01-01 UTC, if the file gave a time.
    pub fn time_s(&self) -> Option<f64> {
        (self.time_ms != i64::MIN).then_some(self.time_ms as f64 / 1000.0)
    }

    /// Height the file gave, metres.
    pub fn height_m(&self) -> Option<f64> {
        self.height_m.is_finite().then_some(f64::from(self.height_m))
    }

    /// Horizontal dilution of precision, if the file gave it.
    pub fn hdop(&self) -> Option<f64> {
        self.hdop.is_finite().then_some(f64::from(self.hdop))
    }

    /// Satellites in use, if the file gave them.
    pub fn satellites(&self) -> Option<u8> {
        (self.satellites > 0).then_some(self.satellites)
    }
}

/// Equal when every field is, what the file did not give being equal to itself.
impl PartialEq for TrackPoint {
    fn eq(&self, other: &Self) -> bool {
        let bits = |p: &Self| (p.time_ms, p.height_m.to_bits(), p.hdop.to_bits(), p.satellites);
        self.at == other.at && bits(self) == bits(other)
    }
}

/// Where the coil went: one or more unbroken runs of fixes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Track {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// The outing it was walked on, if known.
    pub outing: Option<Uid>,
    /// What the file or the person calls it.
    pub name: String,
    /// The runs of fixes, in order; shared, as a copy of the book must not copy them.
    pub segments: Vec<Arc<[TrackPoint]>>,
}

impl Track {
    /// Every fix in order.
    pub fn points(&self) -> impl Iterator<Item = &TrackPoint> {
        self.segments.iter().flat_map(|s| s.iter())
    }

    /// How many fixes.
    pub fn len(&self) -> usize {
        self.segments.iter().map(|s| s.len()).sum()
    }

    /// Whether it has no fix at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// First and last time, if any fix has one.
    pub fn span(&self) -> Option<(Timestamp, Timestamp)> {
        let times = || self.points().filter_map(TrackPoint::time);
        Some((times().min()?, times().max()?))
    }

    /// The uid that the content of a track gives it: every position and time in order.
    pub fn content_uid(beach: Uid, segments: &[Arc<[TrackPoint]>]) -> Uid {
        let mut bytes = Vec::with_capacity(24 * segments.iter().map(|s| s.len()).sum::<usize>() + 16);
        bytes.extend(beach.to_string().bytes());
        for segment in segments {
            bytes.extend((segment.len() as u64).to_le_bytes());
            for p in segment.iter() {
                bytes.extend(p.at.lon_deg().to_le_bytes());
                bytes.extend(p.at.lat_deg().to_le_bytes());
                bytes.extend(p.time_ms.to_le_bytes());
            }
        }
        Uid::of_content("track", [bytes.as_slice()])
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.is_empty() {
            return Err(BookError::field("track", "has no positions"));
        }
        Ok(())
    }
}
