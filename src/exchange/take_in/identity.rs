use std::sync::Arc;

use geo_types::Coord;
use jiff::Timestamp;

use crate::book::{BarrierShape, Record, Track, Uid};
use crate::earth::LonLat;

/// The uid that a record's content gives it.
///
/// Only what was measured or named takes part: the beach, the place to 1e-7 degrees (about a
/// centimetre), the time to the millisecond, the words, numbers and shapes that tell one record
/// from the next. Notes, photos and what this program itself derives do not, so a record is known
/// again when those change. The file's name and format never take part.
pub(in crate::exchange) fn content_uid(record: &Record) -> Uid {
    let mut c = Content(Vec::with_capacity(256));
    let kind = record.kind().word();
    match record {
        Record::Beach(r) => return r.uid,
        Record::Receipt(r) => return r.uid,
        Record::Setup(r) => return crate::book::Setup::new(r.name.as_str()).uid,
        Record::Outing(r) => return crate::book::Outing::new(r.beach, r.start, r.end).uid,
        Record::Track(r) => return Track::content_uid(r.beach, &r.segments),
        Record::Find(r) => c
            .uid(r.beach)
            .at(r.at)
            .time(r.time)
            .words(&r.what)
            .number(r.depth_m)
            .number(r.target_id)
            .number(r.mass_g)
            .number(r.size_mm),
        Record::Signal(r) => {
            c.uid(r.beach).at(r.at).time(r.time).whole(r.gauge_step.map(i64::from));
            r.target_ids.iter().fold(&mut c, |c, id| c.whole(Some(i64::from(*id))))
        }
        Record::Zone(r) => c.uid(r.beach).words(&r.name).words(r.usage.word()).coords(r.area.iter().flat_map(rings)),
        Record::Access(r) => c.uid(r.beach).words(&r.name).at(r.at),
        Record::Barrier(r) => {
            c.uid(r.beach).words(&r.name).words(r.kind.word());
            match &r.shape {
                BarrierShape::Line(lines) => c.coords(lines.iter().flat_map(|l| l.coords().copied())),
                BarrierShape::Area(area) => c.coords(area.iter().flat_map(rings)),
            }
        }
        Record::Level(r) => {
            let date = r.date.map(|d| d.to_string()).unwrap_or_default();
            c.uid(r.beach).at(r.at).number(Some(r.level_m)).words(&date).words(&r.survey)
        }
        Record::Permission(r) => {
            let day = |d: Option<jiff::civil::Date>| d.map(|d| d.to_string()).unwrap_or_default();
            c.uid(r.beach).words(&r.name).words(&r.holder).words(&day(r.from)).words(&day(r.to));
            c.coords(r.area.iter().flat_map(rings))
        }
        // The peak names a storm, so that another threshold does not make another storm of it.
        Record::Storm(r) => {
            let peak = r.peak();
            c.uid(r.beach).time(peak.map(|p| p.time)).number(peak.map(|p| p.hs_m))
        }
        Record::SeaRecord(r) => return crate::book::SeaRecord::uid_of(r.beach, &r.name),
        Record::TideTable(r) => {
            c.uid(r.beach);
            r.turns.iter().fold(&mut c, |c, t| c.time(Some(t.time)).number(Some(t.level_m)))
        }
        Record::Gauge(r) => {
            c.uid(r.beach);
            r.readings.iter().fold(&mut c, |c, (time, level)| c.time(Some(*time)).number(Some(*level)))
        }
        Record::Plan(r) => {
            c.uid(r.beach).words(&r.name);
            r.points.iter().fold(&mut c, |c, p| c.at(*p))
        }
        Record::Bench(r) => {
            c.uid(r.setup).words(&r.target).words(r.kind.as_ref().map_or("", |k| k.key())).number(Some(r.depth_m));
            c.words(r.lie.map_or("", |l| l.word())).time(r.time).whole(r.gauge_step.map(i64::from));
            r.target_ids.iter().fold(&mut c, |c, id| c.whole(Some(i64::from(*id))));
            // Readings of an untouched top keep the uid they had before scraping was noted at all.
            if r.scraped_m.is_some() {
                c.words("scraped").number(r.scraped_m);
            }
            if let Some(ground) = r.ground {
                c.words("ground").words(ground.word());
            }
            &mut c
        }
        Record::OwnKind(r) => return r.uid,
        Record::Remembered(r) => return r.uid,
    };
    Uid::of_content(kind, [c.0.as_slice()])
}

/// Gives a record another uid.
pub(in crate::exchange) fn set_uid(record: &mut Record, uid: Uid) {
    if record.uid() == uid {
        return;
    }
    match record {
        Record::Beach(r) => Arc::make_mut(r).uid = uid,
        Record::Setup(r) => Arc::make_mut(r).uid = uid,
        Record::Outing(r) => Arc::make_mut(r).uid = uid,
        Record::Track(r) => Arc::make_mut(r).uid = uid,
        Record::Find(r) => Arc::make_mut(r).uid = uid,
        Record::Signal(r) => Arc::make_mut(r).uid = uid,
        Record::Zone(r) => Arc::make_mut(r).uid = uid,
        Record::Access(r) => Arc::make_mut(r).uid = uid,
        Record::Barrier(r) => Arc::make_mut(r).uid = uid,
        Record::Level(r) => Arc::make_mut(r).uid = uid,
        Record::Permission(r) => Arc::make_mut(r).uid = uid,
        Record::Storm(r) => Arc::make_mut(r).uid = uid,
        Record::SeaRecord(r) => Arc::make_mut(r).uid = uid,
        Record::TideTable(r) => Arc::make_mut(r).uid = uid,
        Record::Gauge(r) => Arc::make_mut(r).uid = uid,
        Record::Plan(r) => Arc::make_mut(r).uid = uid,
        Record::Receipt(r) => Arc::make_mut(r).uid = uid,
        Record::Bench(r) => Arc::make_mut(r).uid = uid,
        Record::OwnKind(r) => Arc::make_mut(r).uid = uid,
        Record::Remembered(r) => Arc::make_mut(r).uid = uid,
    }
}

fn rings(polygon: &geo_types::Polygon<f64>) -> impl Iterator<Item = Coord<f64>> + '_ {
    std::iter::once(polygon.exterior()).chain(polygon.interiors()).flat_map(|ring| ring.coords().copied())
}

/// A record's content as bytes, each part with its length or of fixed width.
struct Content(Vec<u8>);

impl Content {
    fn uid(&mut self, uid: Uid) -> &mut Self {
        self.words(&uid.to_string())
    }

    fn words(&mut self, words: &str) -> &mut Self {
        let words = words.trim();
        if words.is_ascii() {
            self.0.extend((words.len() as u64).to_le_bytes());
            self.0.extend(words.bytes().map(|b| b.to_ascii_lowercase()));
        } else {
            let words = words.to_lowercase();
            self.0.extend((words.len() as u64).to_le_bytes());
            self.0.extend(words.bytes());
        }
        self
    }

    fn whole(&mut self, value: Option<i64>) -> &mut Self {
        self.0.extend(value.unwrap_or(i64::MIN).to_le_bytes());
        self
    }

    /// To a hundred-thousandth, finer than any measurement here.
    fn number(&mut self, value: Option<f64>) -> &mut Self {
        self.whole(value.map(|v| (v * 1e5).round() as i64))
    }

    fn time(&mut self, time: Option<Timestamp>) -> &mut Self {
        self.whole(time.map(Timestamp::as_millisecond))
    }

    fn at(&mut self, at: LonLat) -> &mut Self {
        self.coords(std::iter::once(at.into()))
    }

    fn coords(&mut self, coords: impl Iterator<Item = Coord<f64>>) -> &mut Self {
        for c in coords {
            self.whole(Some((c.x * 1e7).round() as i64)).whole(Some((c.y * 1e7).round() as i64));
        }
        self
    }
}
