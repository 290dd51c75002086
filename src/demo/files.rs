//! The invented beach as files of the world: GPX, GeoJSON and CSV, written as different people write them.

use std::fmt::Write as _;

use geo_types::{MultiLineString, MultiPolygon, Polygon};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use quick_xml::escape::partial_escape;
use serde_json::{Map, Value, json};

use super::calendar::TIME_ZONE;
use super::made::{Made, Sheet};
use crate::book::{BarrierShape, Find, Outing, Track};
use crate::earth::LonLat;

/// The files to import before the tracks, and what as where they do not say it themselves.
pub(super) const BEFORE_TRACKS: &[(&str, Option<&str>)] = &[
    ("shore.geojson", None),
    ("permissions.geojson", None),
    ("levels-2025-08.csv", Some("levels")),
    ("levels-2026-03.csv", Some("levels")),
    ("sea.csv", Some("storm")),
    ("setups.csv", Some("setups")),
    ("outings.csv", Some("outings")),
    ("bench.csv", Some("bench")),
];

/// The files to import after them.
pub(super) const AFTER_TRACKS: &[(&str, Option<&str>)] = &[
    ("finds-2025.geojson", None),
    ("finds-2026.geojson", None),
    ("finds-notebook.csv", Some("finds")),
    ("finds-spreadsheet.csv", Some("finds")),
    ("signals.geojson", None),
];

impl Made {
    /// The same beach as files: name and content, in the order in which they are to be imported.
    ///
    /// Set-ups, outings and bench readings are tables; tracks are one GPX file an outing, with a few
    /// finds as waypoints; the other finds are GeoJSON by year and two CSV tables of other habits.
    pub fn files(&self) -> Vec<(String, Vec<u8>)> {
        let mut files: Vec<(String, String)> = vec![
            ("shore.geojson".into(), self.shore()),
            ("permissions.geojson".into(), self.permission_areas()),
            ("levels-2025-08.csv".into(), self.survey("summer 2025")),
            ("levels-2026-03.csv".into(), self.survey("after the gales")),
            ("sea.csv".into(), self.sea_table()),
            ("setups.csv".into(), self.setup_table()),
            ("outings.csv".into(), self.outing_table()),
            ("bench.csv".into(), self.bench_table()),
        ];
        for (number, (track, outing)) in self.tracks.iter().zip(&self.outings).enumerate() {
            files.push((format!("tracks/{}.gpx", outing.start.strftime("%Y-%m-%d")), self.gpx(number, track, outing)));
        }
        files.push(("finds-2025.geojson".into(), self.log_of(2025)));
        files.push(("finds-2026.geojson".into(), self.log_of(2026)));
        files.push(("finds-notebook.csv".into(), self.notebook()));
        files.push(("finds-spreadsheet.csv".into(), self.spreadsheet()));
        files.push(("signals.geojson".into(), self.signal_points()));
        files.into_iter().map(|(name, text)| (name, text.into_bytes())).collect()
    }

    fn on_sheet(&self, sheet: Sheet) -> impl Iterator<Item = &Find> {
        self.finds.iter().filter(move |f| self.sheets.get(&f.uid) == Some(&sheet))
    }

    fn shore(&self) -> String {
        let line: Vec<Value> = self.beach.baseline.iter().map(|p| json!(p)).collect();
        let mut features = vec![feature(
            &json!({"type": "LineString", "coordinates": line}),
            &json!({"role": "baseline", "name": self.beach.name, "seaward": self.beach.seaward.word()}),
        )];
        for z in &self.zones {
            features.push(feature(&areas(&z.area), &json!({"role": "zone", "name": z.name, "use": z.usage.word()})));
        }
        for a in &self.accesses {
            features.push(feature(&point(a.at), &json!({"role": "access", "name": a.name})));
        }
        for b in &self.barriers {
            let shape = match &b.shape {
                BarrierShape::Line(l) => lines(l),
                BarrierShape::Area(a) => areas(a),
            };
            features.push(feature(&shape, &json!({"role": "barrier", "name": b.name, "kind": b.kind.word()})));
        }
        collection(&features)
    }

    fn permission_areas(&self) -> String {
        let features = self.permissions.iter().map(|p| {
            let mut about = Map::new();
            let mut put = |key: &str, value: Value| drop(about.insert(key.to_owned(), value));
            put("role", json!("permission"));
            put("name", json!(p.name));
            put("holder", json!(p.holder));
            put("from", json!(p.from));
            put("to", json!(p.to));
            if let Some((from, to)) = p.hours {
                put("hours", json!(format!("{}-{}", from.strftime("%H:%M"), to.strftime("%H:%M"))));
            }
            put("terms", json!(p.terms));
            put("report", json!(p.report));
            put("contact", json!(p.agreed.contact));
            if !p.agreed.papers.is_empty() {
                put("papers", json!(p.agreed.papers));
            }
            if let Some(due) = p.agreed.due {
                put("report_due", json!(due.word()));
            }
            if let Some(share) = p.agreed.holder_share {
                put("holder_share", json!(share));
            }
            put("exact_positions", json!(p.exact_positions));
            if let Some(coarsen_m) = p.coarsen_m {
                put("coarsen_m", json!(coarsen_m));
            }
            feature(&areas(&p.area), &Value::Object(about))
        });
        collection(&features.collect::<Vec<_>>())
    }

    fn survey(&self, survey: &str) -> String {
        let mut text = String::from("lon,lat,level_m,sigma_m,date,survey\n");
        for l in self.levels.iter().filter(|l| l.survey == survey) {
            let (lon, lat) = (l.at.lon_deg(), l.at.lat_deg());
            let (sigma_m, date) = (l.sigma_m.unwrap_or_default(), l.date.map(|d| d.to_string()).unwrap_or_default());
            put_line(&mut text, format_args!("{lon:.7},{lat:.7},{:.3},{sigma_m},{date},{}", l.level_m, l.survey));
        }
        text
    }

    fn sea_table(&self) -> String {
        let mut text = String::from("time,hs_m,tp_s,dir_deg,surge_m\n");
        for s in &self.sea {
            let cell = |v: Option<f64>| v.map(|v| v.to_string()).unwrap_or_default();
            let (tp_s, dir_deg, surge_m) = (cell(s.tp_s), cell(s.dir_deg), cell(s.surge_m));
            put_line(&mut text, format_args!("{},{},{tp_s},{dir_deg},{surge_m}", s.time, s.hs_m));
        }
        text
    }

    fn setup_table(&self) -> String {
        let head = "name,machine,mode,sensitivity,ground_balance,discrimination,iron_audio,tones,coil,coil_width_cm,ground";
        let rows = self.setups.iter().map(|s| {
            let width_cm = s.coil_width_m.map(|w| format!("{:.0}", w * 100.0)).unwrap_or_default();
            let ground = s.ground.map(|g| g.word()).unwrap_or_default();
            let words = [
                &s.name,
                &s.machine,
                &s.mode,
                &s.sensitivity,
                &s.ground_balance,
                &s.discrimination,
                &s.iron_audio,
                &s.tones,
                &s.coil,
            ];
            words.into_iter().cloned().chain([width_cm, ground.to_owned()]).collect()
        });
        table(head, rows)
    }

    fn outing_table(&self) -> String {
        let rows = self.outings.iter().map(|o| {
            let setup = self.setups.iter().find(|s| Some(s.uid) == o.setup).map(|s| s.name.clone()).unwrap_or_default();
            let sand = o.sand.iter().map(|s| s.word()).collect::<Vec<_>>().join("; ");
            vec![o.start.to_string(), o.end.to_string(), o.name.clone(), setup, sand]
        });
        table("start,end,name,setup,sand", rows)
    }

    fn bench_table(&self) -> String {
        let rows = self.bench.iter().map(|b| {
            let setup = self.setups.iter().find(|s| s.uid == b.setup).map(|s| s.name.clone()).unwrap_or_default();
            let ids = b.target_ids.iter().map(i32::to_string).collect::<Vec<_>>().join(" ");
            vec![
                setup,
                b.target.clone(),
                b.kind.as_ref().map(|k| k.key().to_owned()).unwrap_or_default(),
                format!("{:.0}", b.depth_m * 100.0),
                b.lie.map(|l| l.word().to_owned()).unwrap_or_default(),
                ids,
                b.steadiness.map(|s| s.word().to_owned()).unwrap_or_default(),
                b.gauge_step.map(|g| g.to_string()).unwrap_or_default(),
                b.dig.map(|d| if d { "yes" } else { "no" }.to_owned()).unwrap_or_default(),
            ]
        });
        table("setup,target,kind,depth_cm,lie,target_ids,steadiness,gauge_step,dig", rows)
    }

    /// One outing as a receiver saves it; every fourth file in the older version of the standard's habits.
    fn gpx(&self, number: usize, track: &Track, outing: &Outing) -> String {
        let version = if number == 3 { "1.0" } else { "1.1" };
        let space = format!("http://www.topografix.com/GPX/{}", version.replace('.', "/"));
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        put_line(&mut text, format_args!("<gpx version=\"{version}\" creator=\"an invented receiver\" xmlns=\"{space}\">"));
        for f in self.on_sheet(Sheet::Waypoint).filter(|f| f.outing == Some(outing.uid)) {
            let time = f.time.map(|t| t.to_string()).unwrap_or_default();
            let (lat, lon) = (f.at.lat_deg(), f.at.lon_deg());
            put_line(
                &mut text,
                format_args!(
                    "<wpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><time>{time}</time><name>{}</name></wpt>",
                    partial_escape(f.what.as_str())
                ),
            );
        }
        put_line(&mut text, format_args!("<trk><name>{}</name>", partial_escape(track.name.as_str())));
        if number % 8 == 5 {
            let battery = 90 - number;
            put_line(
                &mut text,
                format_args!(
                    "<extensions><r:battery xmlns:r=\"https://example.org/receiver\">{battery}</r:battery></extensions>"
                ),
            );
        }
        for segment in &track.segments {
            text.push_str("<trkseg>\n");
            for p in segment.iter() {
                let _ = write!(text, "<trkpt lat=\"{:.6}\" lon=\"{:.6}\">", p.at.lat_deg(), p.at.lon_deg());
                if let Some(time) = p.time() {
                    let _ = write!(text, "<time>{time}</time>");
                }
                if let (Some(satellites), Some(hdop)) = (p.satellites(), p.hdop()) {
                    let _ = write!(text, "<sat>{satellites}</sat><hdop>{hdop:.1}</hdop>");
                }
                text.push_str("</trkpt>\n");
            }
            text.push_str("</trkseg>\n");
        }
        text.push_str("</trk>\n</gpx>\n");
        text
    }

    fn log_of(&self, year: i16) -> String {
        let of_year = |f: &&Find| f.time.is_some_and(|t| t.to_zoned_datetime(TimeZone::UTC).year() == year);
        let features = self.on_sheet(Sheet::Log).filter(of_year).map(|f| {
            let mut about = Map::new();
            let mut put = |key: &str, value: Option<Value>| {
                if let Some(value) = value {
                    about.insert(key.to_owned(), value);
                }
            };
            put("role", Some(json!("find")));
            put("what", Some(json!(f.what)));
            put("time", f.time.map(|t| json!(t)));
            put("depth_cm", f.depth_m.map(|d| json!((d * 100.0).round() as i64)));
            put("target_id", f.target_id.map(|t| json!(t as i64)));
            put("mass_g", f.mass_g.map(|m| json!(m)));
            put("size_mm", f.size_mm.map(|s| json!(s as i64)));
            put("material", f.material.map(|m| json!(m.word())));
            feature(&point(f.at), &Value::Object(about))
        });
        collection(&features.collect::<Vec<_>>())
    }

    /// A paper notebook typed up: day first, inches.
    fn notebook(&self) -> String {
        let rows = self.on_sheet(Sheet::Inches).map(|f| {
            let (date, time) = written_time(f.time, "%d/%m/%Y");
            let inches = f.depth_m.map(|d| format!("{:.0}", d / 0.0254)).unwrap_or_default();
            vec![
                date,
                time,
                format!("{:.7}", f.at.lat_deg()),
                format!("{:.7}", f.at.lon_deg()),
                f.what.clone(),
                inches,
                f.target_id.map(|t| t.to_string()).unwrap_or_default(),
                f.mass_g.map(|m| m.to_string()).unwrap_or_default(),
            ]
        });
        table("Date,Time,Latitude,Longitude,What,Depth in,Target ID,Weight (g)", rows)
    }

    /// A spreadsheet saved where the comma is the decimal sign.
    fn spreadsheet(&self) -> String {
        let mut text = String::from("date;time;lon;lat;find;depth_cm;target_id;mass_g\n");
        let comma = |v: String| v.replace('.', ",");
        for f in self.on_sheet(Sheet::Commas) {
            let (date, time) = written_time(f.time, "%d.%m.%Y");
            let cells = [
                date,
                time,
                comma(format!("{:.7}", f.at.lon_deg())),
                comma(format!("{:.7}", f.at.lat_deg())),
                f.what.clone(),
                f.depth_m.map(|d| format!("{:.0}", d * 100.0)).unwrap_or_default(),
                f.target_id.map(|t| t.to_string()).unwrap_or_default(),
                comma(f.mass_g.map(|m| m.to_string()).unwrap_or_default()),
            ];
            put_line(&mut text, format_args!("{}", cells.join(";")));
        }
        text
    }

    fn signal_points(&self) -> String {
        let features = self.signals.iter().map(|s| {
            let about = json!({
                "role": "signal",
                "time": s.time,
                "target_ids": s.target_ids,
                "steadiness": s.steadiness.map(|v| v.word()),
                "gauge_step": s.gauge_step,
            });
            feature(&point(s.at), &about)
        });
        collection(&features.collect::<Vec<_>>())
    }
}

/// Date in the given pattern and time to the minute, as the clock on the beach shows them.
fn written_time(time: Option<Timestamp>, date_pattern: &str) -> (String, String) {
    let zone = TimeZone::get(TIME_ZONE).unwrap_or(TimeZone::UTC);
    time.map(|t| t.to_zoned_datetime(zone))
        .map_or_else(Default::default, |z| (z.strftime(date_pattern).to_string(), z.strftime("%H:%M").to_string()))
}

fn put_line(text: &mut String, line: std::fmt::Arguments<'_>) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{line}");
}

/// A comma-separated table, cells quoted where they must be (RFC 4180, but for the line ends).
fn table(head: &str, rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut text = format!("{head}\n");
    for row in rows {
        let cells: Vec<String> = row
            .into_iter()
            .map(|c| if c.contains([',', '"', '\n']) { format!("\"{}\"", c.replace('"', "\"\"")) } else { c })
            .collect();
        put_line(&mut text, format_args!("{}", cells.join(",")));
    }
    text
}

/// One feature, its members in the order in which people read them.
fn feature(geometry: &Value, properties: &Value) -> String {
    format!(r#"{{"type":"Feature","properties":{properties},"geometry":{geometry}}}"#)
}

/// A feature collection with one feature a line.
fn collection(features: &[String]) -> String {
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", features.join(",\n"))
}

fn point(at: LonLat) -> Value {
    json!({"type": "Point", "coordinates": at})
}

fn pairs(coords: &[geo_types::Coord<f64>]) -> Value {
    json!(coords.iter().map(|c| [c.x, c.y]).collect::<Vec<_>>())
}

fn lines(lines: &MultiLineString<f64>) -> Value {
    match lines.0.as_slice() {
        [only] => json!({"type": "LineString", "coordinates": pairs(&only.0)}),
        several => json!({"type": "MultiLineString", "coordinates": several.iter().map(|l| pairs(&l.0)).collect::<Vec<_>>()}),
    }
}

fn areas(area: &MultiPolygon<f64>) -> Value {
    let rings =
        |p: &Polygon<f64>| -> Vec<Value> { std::iter::once(p.exterior()).chain(p.interiors()).map(|r| pairs(&r.0)).collect() };
    match area.0.as_slice() {
        [only] => json!({"type": "Polygon", "coordinates": rings(only)}),
        several => json!({"type": "MultiPolygon", "coordinates": several.iter().map(rings).collect::<Vec<_>>()}),
    }
}
