//! Every table of a book, declared.
//!
//! A record whose fields fit one row is its own row type; the others have row types here, and
//! [`super::rows`] takes them apart and puts them together.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use geo_types::MultiPolygon;
use jiff::Timestamp;
use jiff::civil::{Date, Time};

use super::cell::{FourLevels, Word};
use super::geom::{Fixes, Raised};
use super::layer::{Layer, Table, layer};
use crate::book::{
    Access, Barrier, BenchReading, ClusterMethod, Confirmation, Find, FreeHours, Outing, OwnKind, PlaceRule, PortDifferences,
    Receipt, RecordKind, Remembered, ReportDue, Seaward, Setup, Signal, Uid, Zone,
};
use crate::earth::LonLat;

layer! { "setups", "Detector settings held constant", Setup, owner uid;
uid, name, machine, mode, sensitivity, ground_balance, discrimination, iron_audio, tones, volume, coil, coil_width_m, ground, notes }

layer! { "outings", "Visits to a beach", Outing, owner uid; uid, beach, name, start, end, setup, sand, asides, holes_filled, litter_kg, notes }

layer! { "finds", "Things dug", Find at at, owner uid;
uid, beach, outing, time, what, kind, weight, material, depth_m, target_id, mass_g, size_mm, state, photo, notes,
finder, permission, value, age, disposal, reported, more }

layer! { "signals", "Things heard and not dug", Signal at at, owner uid;
uid, beach, outing, time, target_ids, steadiness, gauge_step, notes }

layer! { "zones", "Parts of a beach and their use", Zone at area, owner uid; uid, beach, name, usage = "use", closure, notes }

layer! { "accesses", "Ways on and off a beach", Access at at, owner uid; uid, beach, name, notes }

layer! { "barriers", "What bars the way", Barrier at shape, owner uid; uid, beach, name, kind, notes }

layer! { "bench", "Known targets read at known depth", BenchReading, owner uid;
uid, setup, kind, target, depth_m, scraped_m, ground, lie, target_ids, steadiness, tone, gauge_step, dig, time, notes }

layer! { "kinds", "Kinds of one's own, beside the shipped list", OwnKind, owner uid;
uid, kind, density_kg_m3, mass_g, size_mm, source, notes }

layer! { "receipts", "What was handed to whom, and when", Receipt, owner uid;
uid, beach, permission, name, holder, time, from = "first_day", to = "last_day", finds, manifest }

layer! { "remembered", "What was answered about files, by their headings", Remembered, owner uid;
uid, headings, answers, columns, zone, time }

/// A beach but for its baseline.
#[derive(Debug, Clone)]
pub(super) struct BeachRow {
    pub(super) uid: Uid,
    pub(super) name: String,
    pub(super) origin: LonLat,
    pub(super) seaward: Seaward,
    pub(super) tide_station: Option<Word>,
    pub(super) tide_table: Option<Uid>,
    pub(super) tide_gauge: Option<Uid>,
    pub(super) tide_port: Option<Word>,
    pub(super) tide_differences: Option<PortDifferences>,
    pub(super) tide_standard_levels: Option<FourLevels>,
    pub(super) surge_m: Option<f64>,
    pub(super) surge_sd_m: Option<f64>,
    pub(super) pressure_hpa: Option<f64>,
    pub(super) run_up_m: Option<f64>,
    pub(super) free_hours: Option<FreeHours>,
    pub(super) pace_m_per_s: Option<f64>,
    pub(super) datum_offset_m: Option<f64>,
    pub(super) offset_from: Option<Word>,
    pub(super) confirmed: Vec<Confirmation>,
    pub(super) time_zone: String,
    pub(super) slope: Option<f64>,
    pub(super) back_level_m: Option<f64>,
    pub(super) search_swing_m: Option<f64>,
    pub(super) search_coil_width_m: Option<f64>,
    pub(super) search_overlap: Option<f64>,
    pub(super) search_walk_m_per_s: Option<f64>,
    pub(super) search_turn_deg: Option<f64>,
    pub(super) search_gap_s: Option<f64>,
    pub(super) reading_cluster_by: Option<ClusterMethod>,
    pub(super) reading_cluster_distance_m: Option<f64>,
    pub(super) reading_cluster_points: Option<u32>,
    pub(super) reading_detection_per_pass: Option<f64>,
    pub(super) reading_effort_error: Option<f64>,
    pub(super) reading_storm_days: Option<u32>,
    pub(super) invented: Option<bool>,
    pub(super) notes: String,
}

layer! { "beaches", "Beaches, at the centre of their local frame; datum_offset_m is tide level minus land level", BeachRow at origin, owner uid;
uid, name, seaward, tide_station, tide_table, tide_gauge, tide_port, tide_differences, tide_standard_levels,
surge_m, surge_sd_m, pressure_hpa, run_up_m, free_hours, datum_offset_m, time_zone, slope, back_level_m,
search_swing_m, search_coil_width_m, search_overlap, search_walk_m_per_s, search_turn_deg, search_gap_s,
reading_cluster_by, reading_cluster_distance_m, reading_cluster_points, reading_detection_per_pass, reading_effort_error,
reading_storm_days, invented, offset_from, confirmed, pace_m_per_s, notes }

/// The baseline of a beach.
#[derive(Debug, Clone)]
pub(super) struct BaselineRow {
    pub(super) beach: Uid,
    pub(super) line: Vec<LonLat>,
    pub(super) positions: Option<u32>,
}

layer! { "baselines", "The line along the back of each beach", BaselineRow at line, owner beach; beach, positions }

/// One unbroken run of fixes.
#[derive(Debug, Clone)]
pub(super) struct TrackRow {
    pub(super) uid: Uid,
    pub(super) segment: u32,
    pub(super) beach: Uid,
    pub(super) outing: Option<Uid>,
    pub(super) name: String,
    pub(super) line: Fixes,
    pub(super) fixes: Option<u32>,
    pub(super) hdop: Vec<Option<f32>>,
    pub(super) satellites: Vec<Option<u8>>,
}

layer! { "tracks", "Where the coil went, one row an unbroken run of fixes: Z metres, M seconds since 1970-01-01 UTC, not a number where unknown",
TrackRow at line, owner uid, number segment; uid, segment, beach, outing, name, fixes, hdop, satellites }

/// A surveyed level; the column holds the truth and Z follows it.
#[derive(Debug, Clone)]
pub(super) struct LevelRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) point: Raised,
    pub(super) level_m: Option<f64>,
    pub(super) sigma_m: Option<f64>,
    pub(super) date: Option<Date>,
    pub(super) survey: String,
}

layer! { "levels", "Surveyed levels of the sand above land datum; level_m counts, Z repeats it", LevelRow at point, owner uid;
uid, beach, level_m, sigma_m, date, survey }

/// A permission with its hours in two columns.
#[derive(Debug, Clone)]
pub(super) struct PermissionRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
    pub(super) holder: String,
    pub(super) area: MultiPolygon<f64>,
    pub(super) first_day: Option<Date>,
    pub(super) last_day: Option<Date>,
    pub(super) hours_from: Option<Time>,
    pub(super) hours_to: Option<Time>,
    pub(super) terms: String,
    pub(super) report: String,
    pub(super) exact_positions: bool,
    pub(super) coarsen_m: Option<f64>,
    pub(super) contact: String,
    pub(super) papers: String,
    pub(super) deepest_m: Option<f64>,
    pub(super) holder_share: Option<f64>,
    pub(super) report_due: Option<ReportDue>,
    pub(super) older_than: Option<i32>,
    pub(super) places: Vec<PlaceRule>,
    pub(super) id_key: Option<Uid>,
}

layer! { "permissions", "Who allows searching where and when", PermissionRow at area, owner uid;
uid, beach, name, holder, first_day, last_day, hours_from, hours_to, terms, report, exact_positions, coarsen_m,
contact, papers, deepest_m, holder_share, report_due, older_than, places, id_key }

/// A storm but for its sea.
#[derive(Debug, Clone)]
pub(super) struct StormRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
    pub(super) notes: String,
}

layer! { "storms", "Spells of heavy sea", StormRow, owner uid; uid, beach, name, notes }

/// The sea at one instant of a storm.
#[derive(Debug, Clone)]
pub(super) struct SeaStateRow {
    pub(super) storm: Uid,
    pub(super) number: u32,
    pub(super) time: Timestamp,
    pub(super) hs_m: f64,
    pub(super) tp_s: Option<f64>,
    pub(super) dir_deg: Option<f64>,
    pub(super) surge_m: Option<f64>,
}

layer! { "sea_states", "The sea through each storm: significant height, peak period, direction the waves come from, surge",
SeaStateRow, owner storm, number number; storm, number, time, hs_m, tp_s, dir_deg, surge_m }

/// A record of the sea but for its states.
#[derive(Debug, Clone)]
pub(super) struct SeaRecordRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
}

layer! { "sea_records", "Records and forecasts of the sea, whole", SeaRecordRow, owner uid; uid, beach, name }

/// The sea at one instant of a record.
#[derive(Debug, Clone)]
pub(super) struct RecordedSeaRow {
    pub(super) sea_record: Uid,
    pub(super) number: u32,
    pub(super) time: Timestamp,
    pub(super) hs_m: f64,
    pub(super) tp_s: Option<f64>,
    pub(super) dir_deg: Option<f64>,
    pub(super) surge_m: Option<f64>,
}

layer! { "recorded_sea", "The sea at each instant of a record: significant height, peak period, direction the waves come from, surge",
RecordedSeaRow, owner sea_record, number number; sea_record, number, time, hs_m, tp_s, dir_deg, surge_m }

/// A tide table but for its turns.
#[derive(Debug, Clone)]
pub(super) struct TideTableRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
}

layer! { "tide_tables", "Tide tables of one's own", TideTableRow, owner uid; uid, beach, name }

/// A high or low water of a tide table.
#[derive(Debug, Clone)]
pub(super) struct TideTurnRow {
    pub(super) tide_table: Uid,
    pub(super) number: u32,
    pub(super) time: Timestamp,
    pub(super) level_m: f64,
    pub(super) high: bool,
}

layer! { "tide_turns", "High and low waters of each tide table, above its datum", TideTurnRow, owner tide_table, number number;
tide_table, number, time, level_m, high }

/// A gauge record but for its readings.
#[derive(Debug, Clone)]
pub(super) struct GaugeRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
}

layer! { "gauges", "Records of a tide gauge or logger", GaugeRow, owner uid; uid, beach, name }

/// One reading of a gauge.
#[derive(Debug, Clone)]
pub(super) struct GaugeReadingRow {
    pub(super) gauge: Uid,
    pub(super) number: u32,
    pub(super) time: Timestamp,
    pub(super) level_m: f64,
}

layer! { "gauge_readings", "Levels of each gauge record, above its datum", GaugeReadingRow, owner gauge, number number;
gauge, number, time, level_m }

/// A planned route.
#[derive(Debug, Clone)]
pub(super) struct PlanRow {
    pub(super) uid: Uid,
    pub(super) beach: Uid,
    pub(super) name: String,
    pub(super) line: Vec<LonLat>,
    pub(super) waypoints: Option<u32>,
}

layer! { "plans", "Routes as they were planned", PlanRow at line, owner uid; uid, beach, name, waypoints }

/// The tables that the records of each kind fill, the record's own first.
static TABLES: LazyLock<BTreeMap<RecordKind, Vec<Table>>> =
    LazyLock::new(|| RecordKind::ALL.iter().map(|kind| (*kind, declared(*kind))).collect());

fn declared(kind: RecordKind) -> Vec<Table> {
    match kind {
        RecordKind::Beach => vec![BeachRow::table(), BaselineRow::table()],
        RecordKind::Setup => vec![Setup::table()],
        RecordKind::Outing => vec![Outing::table()],
        RecordKind::Track => vec![TrackRow::table()],
        RecordKind::Find => vec![Find::table()],
        RecordKind::Signal => vec![Signal::table()],
        RecordKind::Zone => vec![Zone::table()],
        RecordKind::Access => vec![Access::table()],
        RecordKind::Barrier => vec![Barrier::table()],
        RecordKind::Level => vec![LevelRow::table()],
        RecordKind::Permission => vec![PermissionRow::table()],
        RecordKind::Storm => vec![StormRow::table(), SeaStateRow::table()],
        RecordKind::SeaRecord => vec![SeaRecordRow::table(), RecordedSeaRow::table()],
        RecordKind::TideTable => vec![TideTableRow::table(), TideTurnRow::table()],
        RecordKind::Gauge => vec![GaugeRow::table(), GaugeReadingRow::table()],
        RecordKind::Plan => vec![PlanRow::table()],
        RecordKind::Bench => vec![BenchReading::table()],
        RecordKind::OwnKind => vec![OwnKind::table()],
        RecordKind::Receipt => vec![Receipt::table()],
        RecordKind::Remembered => vec![Remembered::table()],
    }
}

/// The tables that the records of a kind fill, the record's own first.
pub(super) fn tables_of(kind: RecordKind) -> &'static [Table] {
    TABLES.get(&kind).map_or(&[], Vec::as_slice)
}

/// Every table, in the order in which the file has them.
pub(super) fn tables() -> impl Iterator<Item = &'static Table> {
    TABLES.values().flatten()
}
