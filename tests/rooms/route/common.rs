//! Invented beaches for the tests of routes: sand by a formula, a tide table, barriers and accesses.

#![allow(dead_code, clippy::unwrap_used, reason = "each test file uses a part of it, and ends in a panic where it cannot go on")]

use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use jiff::Timestamp;
use scourline::book::{
    Access, Agreed, Barrier, BarrierKind, BarrierShape, Beach, Book, Edit, LevelPoint, Permission, Record, Seaward, TideChoice,
    TideTable, TideTurn, Uid, Zone, ZoneUse,
};
use scourline::earth::{Frame, Local, LonLat};
use scourline::route::{Asked, Expected, Params, Route, RouteError, Worth, plan};
use scourline::sea::Waves;
use scourline::shore::Setting;
use scourline::{Progress, earth};

/// Noon low water on an invented midsummer day, UTC.
pub(crate) const LOW: &str = "2026-06-21T12:00:00Z";

pub(crate) fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// A place by metres along and seaward of a straight baseline whose sea lies south.
pub(crate) fn spot(along_m: f64, across_m: f64) -> Local {
    Local::new(along_m - 200.0, 100.0 - across_m)
}

pub(crate) struct Made {
    pub(crate) book: Book,
    pub(crate) beach: Beach,
    pub(crate) frame: Frame,
}

/// A beach of this length whose sand stands at `level(along, across)` above the land datum, surveyed every `step_m`.
/// Land datum and tide datum are the same.
pub(crate) fn beach(length_m: f64, width_m: f64, step_m: f64, level: impl Fn(f64, f64) -> f64) -> Made {
    let steps = |m: f64| (m / step_m).round() as i32;
    let grid = (0..=steps(length_m)).flat_map(|x| (-1..=steps(width_m)).map(move |y| (x, y)));
    let spots = grid.map(|(x, y)| (f64::from(x) * step_m, f64::from(y) * step_m)).collect::<Vec<_>>();
    surveyed(length_m, &spots, level)
}

/// The same, surveyed at these spots along and across.
pub(crate) fn surveyed(length_m: f64, spots: &[(f64, f64)], level: impl Fn(f64, f64) -> f64) -> Made {
    let origin = LonLat::new(-12.0, 48.9).unwrap();
    let frame = Frame::centred_on(origin).unwrap();
    let place = |p: Local| frame.to_lonlat(p).unwrap();
    let bare = Beach::new("Invented Bay", origin);
    let table = tide_table(bare.uid, at(LOW), [5.8, 0.6, 5.6]);
    let beach = Beach {
        baseline: vec![place(spot(0.0, 0.0)), place(spot(length_m, 0.0))],
        seaward: Seaward::Right,
        tide: TideChoice::Table(table.uid),
        datum_offset_m: Some(0.0),
        ..bare.clone()
    };
    let mut book = Book::new();
    let mut records: Vec<Record> = vec![bare.into(), table.into(), beach.clone().into()];
    for (n, &(along, across)) in spots.iter().enumerate() {
        records.push(
            LevelPoint {
                uid: Uid::of_content("level", [&n.to_le_bytes()[..]]),
                beach: beach.uid,
                at: place(spot(along, across)),
                level_m: level(along, across),
                sigma_m: Some(0.02),
                date: None,
                survey: String::new(),
            }
            .into(),
        );
    }
    book.apply(&Edit::Batch(records.into_iter().map(Edit::put).collect())).unwrap();
    Made { book, beach, frame }
}

/// High, low and high water of these levels, 6 h 12 min apart.
pub(crate) fn tide_table(beach: Uid, low: Timestamp, levels_m: [f64; 3]) -> TideTable {
    let step = jiff::SignedDuration::from_mins(372);
    let turn = |n: i32| TideTurn { time: low + step * (n - 1), level_m: levels_m[n as usize], high: n != 1 };
    let uid = Uid::of_content("table", [&b"invented"[..]]);
    TideTable { uid, beach, name: "invented table".to_owned(), turns: (0..3).map(turn).collect() }
}

impl Made {
    pub(crate) fn put(&mut self, record: impl Into<Record>) {
        self.book.apply(&Edit::put(record)).unwrap();
    }

    pub(crate) fn place(&self, along_m: f64, across_m: f64) -> LonLat {
        self.frame.to_lonlat(spot(along_m, across_m)).unwrap()
    }

    pub(crate) fn access(&mut self, name: &str, along_m: f64, across_m: f64) {
        let (uid, beach) = (Uid::of_content("access", [name.as_bytes()]), self.beach.uid);
        let at = self.place(along_m, across_m);
        self.put(Access { uid, beach, name: name.to_owned(), at, notes: String::new() });
    }

    pub(crate) fn line(&self, spots: &[(f64, f64)]) -> LineString<f64> {
        spots.iter().map(|&(a, x)| Coord::from(self.place(a, x))).collect()
    }

    pub(crate) fn patch(&self, along: (f64, f64), across: (f64, f64)) -> MultiPolygon<f64> {
        let ring = [(along.0, across.0), (along.0, across.1), (along.1, across.1), (along.1, across.0), (along.0, across.0)];
        MultiPolygon(vec![Polygon::new(self.line(&ring), Vec::new())])
    }

    pub(crate) fn groyne(&mut self, name: &str, spots: &[(f64, f64)]) {
        let shape = BarrierShape::Line(MultiLineString(vec![self.line(spots)]));
        self.barrier(name, BarrierKind::Groyne, shape);
    }

    pub(crate) fn rocks(&mut self, name: &str, along: (f64, f64), across: (f64, f64)) {
        let shape = BarrierShape::Area(self.patch(along, across));
        self.barrier(name, BarrierKind::Rocks, shape);
    }

    fn barrier(&mut self, name: &str, kind: BarrierKind, shape: BarrierShape) {
        let (uid, beach) = (Uid::of_content("barrier", [name.as_bytes()]), self.beach.uid);
        self.put(Barrier { uid, beach, name: name.to_owned(), kind, shape, notes: String::new() });
    }

    pub(crate) fn zone(&mut self, name: &str, usage: ZoneUse, along: (f64, f64), across: (f64, f64)) {
        let (uid, beach) = (Uid::of_content("zone", [name.as_bytes()]), self.beach.uid);
        let area = self.patch(along, across);
        self.put(Zone { uid, beach, name: name.to_owned(), usage, area, closure: None, notes: String::new() });
    }

    pub(crate) fn permission(&self, along: (f64, f64), across: (f64, f64)) -> Permission {
        Permission {
            uid: Uid::of_content("permission", [&b"invented"[..]]),
            beach: self.beach.uid,
            name: "Foreshore".to_owned(),
            holder: "Invented Trust".to_owned(),
            area: self.patch(along, across),
            from: None,
            to: None,
            hours: None,
            terms: String::new(),
            report: String::new(),
            exact_positions: false,
            coarsen_m: None,
            agreed: Agreed::default(),
            key: Uid::of_content("key", []),
        }
    }

    /// Another tide: its low, and the levels of high, low and high water.
    pub(crate) fn tide(&mut self, low: Timestamp, levels_m: [f64; 3]) {
        let table = tide_table(self.beach.uid, low, levels_m);
        self.put(table);
    }

    pub(crate) fn setting(&self) -> Setting {
        Setting::from_book(&self.book, self.beach.uid).unwrap()
    }

    pub(crate) fn plan(&self, params: &Params, worth: &dyn Worth) -> Result<Route, RouteError> {
        self.plan_after(at("2026-06-21T04:00:00Z"), params, worth)
    }

    pub(crate) fn plan_after(&self, after: Timestamp, params: &Params, worth: &dyn Worth) -> Result<Route, RouteError> {
        let setting = self.setting();
        let asked =
            Asked { book: &(&self.book).into(), setting: &setting, worth, after, hours: None, low: None, doubts: &[], params };
        plan(&asked, &Progress::new())
    }
}

/// A sea that runs up no higher than the least that is kept.
pub(crate) const CALM: Waves = Waves { height_m: 0.2, period_s: 3.0 };

/// Quick settings for small beaches, on a calm day.
pub(crate) fn quick() -> Params {
    Params { rounds: 60, sea: Some(CALM), ..Params::default() }
}

/// Of what lies on the invented ground one pass finds this share.
pub(crate) const PASS: f64 = 0.6;

/// The same everywhere.
pub(crate) struct Even(pub(crate) f64);

impl Worth for Even {
    fn expected(&self, _at: earth::Local, _when: Timestamp) -> Expected {
        Expected::new(PASS * self.0, PASS * self.0)
    }
    fn said(&self) -> String {
        "Invented: the same everywhere.".to_owned()
    }
}

/// More the farther out.
pub(crate) struct Seawards;

impl Worth for Seawards {
    fn expected(&self, at: earth::Local, _when: Timestamp) -> Expected {
        let across_m = 100.0 - at.north_m;
        let per_100m2 = PASS * 0.01 * across_m.max(0.0).powi(2);
        Expected::new(per_100m2, per_100m2)
    }
    fn said(&self) -> String {
        "Invented: more the farther out.".to_owned()
    }
}

/// Worth most beyond so many metres across, and little before.
pub(crate) struct Beyond(pub(crate) f64);

impl Worth for Beyond {
    fn expected(&self, at: earth::Local, _when: Timestamp) -> Expected {
        let per_100m2 = if 100.0 - at.north_m > self.0 { 1.0 } else { 0.1 };
        Expected::new(per_100m2, per_100m2)
    }
    fn said(&self) -> String {
        "Invented: the far side is rich.".to_owned()
    }
}
