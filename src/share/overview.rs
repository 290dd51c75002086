//! The picture and the report of one beach, composed from what was read there.

use std::collections::BTreeMap;

use geo::MapCoords as _;
use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use jiff::Timestamp;

use super::{MarkShape, PlanPicture, Report, Table};
use crate::book::{Book, Find, Kind, Weight};
use crate::earth::{Local, LonLat, bearing_deg};
use crate::reading::{BandReading, Cluster, ClusterBy, Reading, WeightChoice};
use crate::shore::{Setting, Shore, ShorePoint};
use crate::tide::{ATTRIBUTION, CAUTION};

/// Cautions that go with every report.
const CAUTIONS: [&str; 4] = [
    "A beach floods from behind: know the time of low water, turn back early, and tell someone where you are. Keep off soft mud and away from cliffs, and leave the open sand when there is lightning.",
    crate::book::ORDNANCE_CAUTION,
    "Take care with sharps.",
    "Searching needs the landowner's permission, and some finds must be reported by law: check what applies locally.",
];

/// How many of the largest clusters carry their number on the picture.
const NUMBERED: usize = 9;

/// The shape that stands for a find.
pub fn mark_of(find: &Find) -> MarkShape {
    if find.kind.is_rubbish() {
        return MarkShape::Rubbish;
    }
    match find.weight_class() {
        Weight::Heavy => MarkShape::Heavy,
        Weight::Light | Weight::Unknown => MarkShape::Light,
    }
}

/// The ground of a beach from above, the shore lying level: its bands and tide lines, and nothing that was found.
pub(super) fn ground_picture(setting: &Setting) -> PlanPicture {
    let mut picture = PlanPicture { title: setting.beach.name.clone(), ..PlanPicture::default() };
    let Ok(shore) = &setting.shore else { return picture };
    picture.bands = setting.bands.iter().map(|b| (b.name.clone(), laid(shore, &b.area))).collect();
    for mark in &setting.marks {
        if let Ok(lines) = shore.tide_line(mark.level_m) {
            picture.tide_lines.push((mark.name.clone(), lines.map_coords(|c| along_across(shore, c))));
        }
    }
    picture.seaward_deg = seaward_deg(shore).unwrap_or(180.0);
    picture
}

/// The beach from above with its zones, finds, signals and clusters, for oneself.
pub fn plan_picture(book: &Book, setting: &Setting, reading: &Reading) -> PlanPicture {
    let beach = setting.beach.uid;
    let mut picture = PlanPicture { lines: vec![sentence(book, setting, reading)], ..ground_picture(setting) };
    let Ok(shore) = &setting.shore else { return picture };
    let spot = |at: LonLat| shore.locate(at).ok().map(|p| Coord { x: p.along_m, y: p.across_m });
    for zone in book.zones_of(beach) {
        if let Ok(area) = shore.area_to_local(&zone.area) {
            picture.zones.push((zone.name.clone(), laid(shore, &area)));
        }
    }
    for cluster in reading.clusters.iter().filter(|c| c.of == WeightChoice::All) {
        let ring: LineString<f64> = cluster.hull.iter().filter_map(|p| spot(*p)).collect();
        let label = if cluster.number <= NUMBERED { cluster.number.to_string() } else { String::new() };
        picture.clusters.push((label, MultiPolygon::new(vec![Polygon::new(ring, Vec::new())])));
    }
    picture.marks = book.finds_of(beach).filter_map(|f| Some((spot(f.at)?, mark_of(f)))).collect();
    picture.marks.extend(book.signals_of(beach).filter_map(|s| Some((spot(s.at)?, MarkShape::Undug))));
    // Marks of one weight lie on top of each other in a fixed order, the rare heavy ones last.
    picture.marks.sort_by_key(|(_, shape)| match shape {
        MarkShape::Rubbish => 0,
        MarkShape::Light => 1,
        MarkShape::Undug => 2,
        MarkShape::Heavy => 3,
    });
    picture
}

/// The shore that the plan lies along, where the beach's baseline was given. One that was guessed follows the finds, so nothing
/// of it may be told.
pub(super) fn given_shore(setting: &Setting) -> Option<&Shore> {
    setting.shore.as_deref().ok().filter(|_| !Setting::is_guessed(&setting.beach))
}

/// Bearing of the sea from the middle of the baseline, degrees from true north.
fn seaward_deg(shore: &Shore) -> Option<f64> {
    let middle = 0.5 * shore.baseline().length_m();
    let at = |across_m| shore.to_lonlat(ShorePoint::new(middle, across_m)).ok();
    Some(bearing_deg(at(0.0)?, at(50.0)?))
}

fn along_across(shore: &Shore, c: Coord<f64>) -> Coord<f64> {
    let p = shore.to_shore(Local::from(c));
    Coord { x: p.along_m, y: p.across_m }
}

/// An area of the beach's plane along and across its shore.
pub(super) fn laid(shore: &Shore, area: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    area.map_coords(|c| along_across(shore, c))
}

/// What was found, in one sentence; the finds are those that are handed over beside it.
fn sentence(book: &Book, setting: &Setting, reading: &Reading) -> String {
    let (mut all, mut heavy, mut light) = (0, 0, 0);
    for find in book.finds_of(setting.beach.uid) {
        all += 1;
        // Iron is a class of its own, as a reading has it.
        match find.weight_class() {
            Weight::Heavy if !find.is_iron() => heavy += 1,
            Weight::Light if !find.is_iron() => light += 1,
            _ => {}
        }
    }
    let found = format!("{all} finds ({heavy} heavy, {light} light)");
    let clusters = reading.clusters.iter().filter(|c| c.of == WeightChoice::All).count();
    let swept = reading.whole.swept_m2.map(|m2| format!(" on {m2:.0} m² swept")).unwrap_or_default();
    format!("{found}{swept}; {clusters} clusters.")
}

/// The report of one beach; `made` is printed as the day it was made.
pub fn report(book: &Book, setting: &Setting, reading: &Reading, made: Timestamp) -> Report {
    let beach = &setting.beach;
    let zone = beach.zone().unwrap_or(jiff::tz::TimeZone::UTC);
    let outings = book.outings_of(beach.uid);
    let day = |t: Timestamp| t.to_zoned_datetime(zone.clone()).date().to_string();
    let span = match (outings.first(), outings.last()) {
        (Some(first), Some(last)) => format!(" over {} outings from {} to {}", outings.len(), day(first.start), day(last.start)),
        _ => String::new(),
    };
    let mut opening = vec![format!("{}{span}", sentence(book, setting, reading).trim_end_matches('.')) + "."];
    if let Some(water) = &setting.water {
        opening.push(format!("Tide levels are those of {}, in metres above {}.", water.name(), water.datum().words()));
    }
    if !beach.notes.is_empty() {
        opening.push(beach.notes.clone());
    }
    let tables =
        vec![clusters_table(reading), bands_table(&reading.bands), kinds_table(book, setting), storms_table(book, setting, &day)];
    let mut closing = reading.notes.clone();
    closing.push(CAUTION.to_owned());
    closing.extend(CAUTIONS.map(str::to_owned));
    closing.push(ATTRIBUTION.to_owned());
    closing.push(format!("Made on {} with Scourline {}.", day(made), env!("CARGO_PKG_VERSION")));
    Report {
        title: format!("{}: what was found", beach.name),
        opening,
        picture_svg: plan_picture(book, setting, reading).svg(),
        tables,
        closing,
    }
}

fn kinds_of(cluster: &Cluster) -> String {
    let named: Vec<String> = cluster.kinds.iter().take(4).map(|k| format!("{} {}", k.finds, k.kind)).collect();
    let more = cluster.kinds.len().saturating_sub(4);
    named.join(", ") + &if more > 0 { format!(" and {more} more kinds") } else { String::new() }
}

fn clusters_table(reading: &Reading) -> Table {
    let columns =
        ["cluster", "finds", "heavy", "light", "size, m²", "sand level, m above land datum", "band", "outings", "mostly"];
    let rows = reading.clusters.iter().filter(|c| c.of == WeightChoice::All).map(|c| {
        vec![
            c.number.to_string(),
            c.counts.finds.to_string(),
            c.counts.heavy.to_string(),
            c.counts.light.to_string(),
            format!("{:.0}", c.area_m2),
            c.level.map_or_else(String::new, |l| format!("{:.1} to {:.1}", l.low_m, l.high_m)),
            c.band.clone().unwrap_or_default(),
            c.outings.to_string(),
            kinds_of(c),
        ]
    });
    let run = reading.cluster_runs.iter().find(|r| r.of == WeightChoice::All);
    let note = run.map_or_else(String::new, |r| {
        let rule = match r.by {
            ClusterBy::Dbscan => format!("Finds within {:.1} m of each other belong together where at least {} do (DBSCAN).", r.distance_m, reading.params.cluster_points),
            ClusterBy::Hdbscan => format!("At least {} finds that lie denser than what is round them belong together (HDBSCAN*).", reading.params.cluster_points),
        };
        format!(
            "{rule} {} finds lie in no cluster. A cluster says where finds lie close, not yet that the place is rich: that also depends on the ground covered.",
            r.scattered
        )
    });
    Table { heading: "Clusters of finds".into(), columns: columns.map(str::to_owned).to_vec(), rows: rows.collect(), note }
}

fn bands_table(bands: &[BandReading]) -> Table {
    let columns = [
        "band",
        "levels, m above tide datum",
        "size, m²",
        "finds",
        "heavy",
        "light",
        "finds per 100 m² of band",
        "finds per 100 m² of rested ground (95 %)",
    ];
    let rows = bands.iter().map(|b| {
        let edge = |m: Option<f64>, open: &str| m.map_or_else(|| open.to_owned(), |m| format!("{m:.2}"));
        vec![
            b.name.clone(),
            format!("{} to {}", edge(b.low_m, "below"), edge(b.high_m, "above")),
            format!("{:.0}", b.area_m2),
            b.gave.counts.finds.to_string(),
            b.gave.counts.heavy.to_string(),
            b.gave.counts.light.to_string(),
            b.gave.density_per_100m2.map_or_else(String::new, |d| format!("{d:.2}")),
            match (&b.gave.rate, b.gave.too_little) {
                (Some(r), false) => format!("{:.2} ({:.2} to {:.2})", r.per_100m2, r.low, r.high),
                (_, true) => "not enough ground covered yet".to_owned(),
                (None, false) => String::new(),
            },
        ]
    });
    Table {
        heading: "Finds by tide band".into(),
        columns: columns.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        note: String::new(),
    }
}

fn kinds_table(book: &Book, setting: &Setting) -> Table {
    let mut counts: BTreeMap<&Kind, usize> = BTreeMap::new();
    for find in book.finds_of(setting.beach.uid) {
        *counts.entry(&find.kind).or_default() += 1;
    }
    let mut rows: Vec<(&Kind, usize)> = counts.into_iter().collect();
    rows.sort_by_key(|(kind, n)| (std::cmp::Reverse(*n), kind.label().to_owned()));
    Table {
        heading: "Finds by kind".into(),
        columns: vec!["kind".into(), "group".into(), "finds".into()],
        rows: rows.into_iter().map(|(k, n)| vec![k.to_string(), k.group().to_string(), n.to_string()]).collect(),
        note: String::new(),
    }
}

fn storms_table(book: &Book, setting: &Setting, day: &impl Fn(Timestamp) -> String) -> Table {
    let rows = book.storms_of(setting.beach.uid).into_iter().filter_map(|s| {
        let ((from, to), peak) = (s.span()?, s.peak()?);
        Some(vec![
            s.name.clone(),
            day(from),
            day(to),
            format!("{:.1}", peak.hs_m),
            peak.tp_s.map_or_else(String::new, |t| format!("{t:.0}")),
        ])
    });
    Table {
        heading: "Storms".into(),
        columns: ["storm", "from", "to", "highest waves, m", "their period, s"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
        note: String::new(),
    }
}
