use geo_types::Coord;

use crate::book::{BarrierShape, Record};
use crate::earth::LonLat;

/// Where a file's data lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// The median longitude and the median latitude: a few stray positions do not move it.
    pub middle: LonLat,
    /// How many positions it rests on; for a large file an even sample.
    pub positions: usize,
}

/// An even sample of positions, of bounded size whatever the file's.
#[derive(Debug, Clone)]
pub(in crate::exchange) struct Spots {
    kept: Vec<LonLat>,
    stride: u64,
    seen: u64,
}

const KEPT: usize = 4096;
/// How many positions of one track are looked at.
const OF_A_TRACK: usize = 64;

impl Default for Spots {
    fn default() -> Self {
        Self { kept: Vec::new(), stride: 1, seen: 0 }
    }
}

impl Spots {
    pub(in crate::exchange) fn seen(&self) -> u64 {
        self.seen
    }

    pub(in crate::exchange) fn add(&mut self, at: LonLat) {
        if self.seen.is_multiple_of(self.stride) {
            if self.kept.len() == KEPT {
                let mut n = 0;
                self.kept.retain(|_| {
                    n += 1;
                    n % 2 == 1
                });
                self.stride *= 2;
            }
            self.kept.push(at);
        }
        self.seen += 1;
    }

    pub(in crate::exchange) fn add_record(&mut self, record: &Record) {
        match record {
            Record::Track(t) => {
                let step = t.len().div_ceil(OF_A_TRACK).max(1);
                t.points().step_by(step).for_each(|p| self.add(p.at));
            }
            Record::Plan(p) => p.points.iter().for_each(|p| self.add(*p)),
            Record::Beach(b) => b.baseline.iter().for_each(|p| self.add(*p)),
            other => {
                if let Some(at) = first_position(other) {
                    self.add(at);
                }
            }
        }
    }

    /// The positions kept.
    pub(in crate::exchange) fn into_kept(self) -> impl Iterator<Item = LonLat> {
        self.kept.into_iter()
    }

    pub(in crate::exchange) fn extent(&self) -> Option<Extent> {
        let (low, high) = self.kept.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.lon_deg()), h.max(p.lon_deg())));
        // Data on both sides of the antimeridian is unrolled to one side for the median.
        let crosses = high - low > 180.0;
        let unrolled = |lon: f64| if crosses && lon < 0.0 { lon + 360.0 } else { lon };
        let lon = median(self.kept.iter().map(|p| unrolled(p.lon_deg())).collect())?;
        let lat = median(self.kept.iter().map(|p| p.lat_deg()).collect())?;
        let middle = LonLat::new(if lon > 180.0 { lon - 360.0 } else { lon }, lat).ok()?;
        Some(Extent { middle, positions: self.kept.len() })
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len().checked_sub(1)? / 2).copied()
}

/// A position that stands for a record, if it has any.
pub(in crate::exchange) fn first_position(record: &Record) -> Option<LonLat> {
    let of = |c: Option<Coord<f64>>| c.and_then(|c| LonLat::try_from(c).ok());
    let area = |a: &geo_types::MultiPolygon<f64>| of(a.0.first().and_then(|p| p.exterior().0.first().copied()));
    match record {
        Record::Track(r) => r.points().next().map(|p| p.at),
        Record::Find(r) => Some(r.at),
        Record::Signal(r) => Some(r.at),
        Record::Access(r) => Some(r.at),
        Record::Level(r) => Some(r.at),
        Record::Zone(r) => area(&r.area),
        Record::Permission(r) => area(&r.area),
        Record::Barrier(r) => match &r.shape {
            BarrierShape::Line(lines) => of(lines.0.first().and_then(|l| l.0.first().copied())),
            BarrierShape::Area(a) => area(a),
        },
        Record::Plan(r) => r.points.first().copied(),
        Record::Beach(r) => r.baseline.first().copied(),
        Record::Setup(_)
        | Record::Outing(_)
        | Record::Storm(_)
        | Record::SeaRecord(_)
        | Record::TideTable(_)
        | Record::Gauge(_)
        | Record::Bench(_)
        | Record::OwnKind(_)
        | Record::Receipt(_)
        | Record::Remembered(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    #[test]
    fn strays_do_not_move_the_middle() {
        let mut spots = Spots::default();
        assert_eq!(spots.extent(), None);
        for n in 0..50_000 {
            spots.add(at(-20.0 + f64::from(n % 100) * 1e-4, 45.0));
        }
        (0..100).for_each(|_| spots.add(at(0.0, 0.0)));
        let extent = spots.extent().unwrap();
        assert!((extent.middle.lon_deg() + 19.995).abs() < 1e-3 && extent.middle.lat_deg() == 45.0);
        assert!(extent.positions <= KEPT && extent.positions > KEPT / 4);
    }

    #[test]
    fn the_antimeridian_does_not_split_a_beach() {
        let mut spots = Spots::default();
        [179.999, -179.999, -179.998].into_iter().for_each(|lon| spots.add(at(lon, -17.0)));
        assert_eq!(spots.extent().unwrap().middle, at(-179.999, -17.0));
    }
}
