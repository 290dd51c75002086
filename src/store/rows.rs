//! Records as rows, and rows as records.

use super::cell::{FourLevels, Word};
use super::geom::{Fixes, Raised, undouble};
use super::layer::{Fault, Layer, RowOut};
use super::layers::{
    BaselineRow, BeachRow, GaugeReadingRow, GaugeRow, LevelRow, PermissionRow, PlanRow, RecordedSeaRow, SeaRecordRow,
    SeaStateRow, StormRow, TideTableRow, TideTurnRow, TrackRow,
};
use crate::book::{
    Agreed, Beach, GaugeRecord, LevelPoint, Permission, Plan, ReadingSettings, Record, SeaRecord, SeaState, SearchSettings,
    SecondaryChoice, StandardPort, Storm, TideChoice, TideTable, TideTurn, Track, TrackPoint, Weather,
};

/// The rows of a record, for each table of its kind in the order of [`super::layers::tables_of`].
pub(super) fn rows_of(record: &Record) -> Vec<Vec<RowOut>> {
    let one = |row: RowOut| vec![vec![row]];
    match record {
        Record::Beach(r) => {
            let baseline = (!r.baseline.is_empty())
                .then(|| BaselineRow { beach: r.uid, line: r.baseline.clone(), positions: count(r.baseline.len()) }.row());
            vec![vec![BeachRow::from(&**r).row()], baseline.into_iter().collect()]
        }
        Record::Setup(r) => one(r.row()),
        Record::Outing(r) => one(r.row()),
        Record::Track(r) => vec![track_rows(r)],
        Record::Find(r) => one(r.row()),
        Record::Signal(r) => one(r.row()),
        Record::Zone(r) => one(r.row()),
        Record::Access(r) => one(r.row()),
        Record::Barrier(r) => one(r.row()),
        Record::Level(r) => one(LevelRow::from(&**r).row()),
        Record::Permission(r) => one(PermissionRow::from(&**r).row()),
        Record::Storm(r) => {
            vec![vec![StormRow::from(&**r).row()], numbered(&r.series, |number, s| sea_state_row(r, number, s).row())]
        }
        Record::SeaRecord(r) => {
            let head = SeaRecordRow { uid: r.uid, beach: r.beach, name: r.name.clone() }.row();
            vec![vec![head], numbered(&r.states, |number, s| recorded_sea_row(r, number, s).row())]
        }
        Record::TideTable(r) => {
            let head = TideTableRow { uid: r.uid, beach: r.beach, name: r.name.clone() }.row();
            let turn = |number, t: &TideTurn| {
                TideTurnRow { tide_table: r.uid, number, time: t.time, level_m: t.level_m, high: t.high }.row()
            };
            vec![vec![head], numbered(&r.turns, turn)]
        }
        Record::Gauge(r) => {
            let head = GaugeRow { uid: r.uid, beach: r.beach, name: r.name.clone() }.row();
            let reading = |number, (time, level_m): &(jiff::Timestamp, f64)| {
                GaugeReadingRow { gauge: r.uid, number, time: *time, level_m: *level_m }.row()
            };
            vec![vec![head], numbered(&r.readings, reading)]
        }
        Record::Plan(r) => {
            let waypoints = count(r.points.len());
            one(PlanRow { uid: r.uid, beach: r.beach, name: r.name.clone(), line: r.points.clone(), waypoints }.row())
        }
        Record::Bench(r) => one(r.row()),
        Record::OwnKind(r) => one(r.row()),
        Record::Receipt(r) => one(r.row()),
        Record::Remembered(r) => one(r.row()),
    }
}

fn count(n: usize) -> Option<u32> {
    u32::try_from(n).ok()
}

fn numbered<T>(items: &[T], row: impl Fn(u32, &T) -> RowOut) -> Vec<RowOut> {
    (0..).zip(items).map(|(number, item)| row(number, item)).collect()
}

fn track_rows(r: &Track) -> Vec<RowOut> {
    numbered(&r.segments, |segment, run| {
        let known = |any: bool| if any { run.len() } else { 0 };
        let hdop = run.iter().map(|p| p.hdop().map(|v| v as f32)).take(known(run.iter().any(|p| p.hdop().is_some())));
        let satellites = run.iter().map(TrackPoint::satellites).take(known(run.iter().any(|p| p.satellites().is_some())));
        TrackRow {
            uid: r.uid,
            segment,
            beach: r.beach,
            outing: r.outing,
            name: r.name.clone(),
            line: Fixes(run.to_vec()),
            fixes: count(run.len()),
            hdop: hdop.collect(),
            satellites: satellites.collect(),
        }
        .row()
    })
}

fn sea_state_row(storm: &Storm, number: u32, s: &SeaState) -> SeaStateRow {
    SeaStateRow { storm: storm.uid, number, time: s.time, hs_m: s.hs_m, tp_s: s.tp_s, dir_deg: s.dir_deg, surge_m: s.surge_m }
}

fn recorded_sea_row(record: &SeaRecord, number: u32, s: &SeaState) -> RecordedSeaRow {
    let SeaState { time, hs_m, tp_s, dir_deg, surge_m } = *s;
    RecordedSeaRow { sea_record: record.uid, number, time, hs_m, tp_s, dir_deg, surge_m }
}

impl From<&Beach> for BeachRow {
    fn from(r: &Beach) -> Self {
        let port = match &r.tide {
            TideChoice::Secondary(port) => Some(port),
            _ => None,
        };
        // The station or table is the source itself, or the standard port where there are differences.
        let (tide_station, tide_table, tide_gauge) = match (&r.tide, port.map(|p| &p.standard)) {
            (TideChoice::Station(id), _) | (_, Some(StandardPort::Station(id))) => (Some(Word(id.clone())), None, None),
            (TideChoice::Table(uid), _) | (_, Some(StandardPort::Table(uid))) => (None, Some(*uid), None),
            (TideChoice::Gauge(uid), _) => (None, None, Some(*uid)),
            (TideChoice::None | TideChoice::Secondary(_), None) => (None, None, None),
        };
        Self {
            uid: r.uid,
            name: r.name.clone(),
            origin: r.origin,
            seaward: r.seaward,
            tide_station,
            tide_table,
            tide_gauge,
            tide_port: port.map(|p| Word(p.name.clone())),
            tide_differences: port.map(|p| p.differences),
            tide_standard_levels: port.and_then(|p| p.standard_levels_m).map(FourLevels),
            surge_m: r.weather.surge_m,
            surge_sd_m: r.weather.surge_sd_m,
            pressure_hpa: r.weather.pressure_hpa,
            run_up_m: r.weather.run_up_m,
            free_hours: (!r.free.is_always()).then(|| r.free.clone()),
            pace_m_per_s: r.pace_m_s,
            datum_offset_m: r.datum_offset_m,
            offset_from: r.offset_from.clone().map(Word),
            confirmed: r.confirmed.clone(),
            time_zone: r.time_zone.clone(),
            slope: r.slope,
            back_level_m: r.back_level_m,
            search_swing_m: r.search.swing_m,
            search_coil_width_m: r.search.coil_width_m,
            search_overlap: r.search.overlap,
            search_walk_m_per_s: r.search.walk_m_per_s,
            search_turn_deg: r.search.turn_deg,
            search_gap_s: r.search.gap_s,
            reading_cluster_by: r.reading.cluster_by,
            reading_cluster_distance_m: r.reading.cluster_distance_m,
            reading_cluster_points: r.reading.cluster_points,
            reading_detection_per_pass: r.reading.detection_per_pass,
            reading_effort_error: r.reading.effort_error,
            reading_storm_days: r.reading.storm_days,
            invented: Some(r.invented),
            notes: r.notes.clone(),
        }
    }
}

impl BeachRow {
    /// The beach with its baseline, if it has one.
    pub(super) fn into_beach(self, baseline: Option<BaselineRow>) -> Result<Beach, Fault> {
        let Self { tide_port, tide_differences, tide_standard_levels, .. } = &self;
        let port = |standard: StandardPort| match (tide_port, tide_differences) {
            (Some(Word(name)), Some(differences)) => Ok(Some(SecondaryChoice {
                name: name.clone(),
                standard,
                differences: *differences,
                standard_levels_m: tide_standard_levels.map(|l| l.0),
            })),
            (None, None) => Ok(None),
            _ => Err("has only one of tide_port and tide_differences; fill or clear both".to_owned()),
        };
        let tide = match (&self.tide_station, self.tide_table, self.tide_gauge) {
            (None, None, None) => TideChoice::None,
            (Some(Word(id)), None, None) => {
                port(StandardPort::Station(id.clone()))?.map_or_else(|| TideChoice::Station(id.clone()), TideChoice::Secondary)
            }
            (None, Some(uid), None) => port(StandardPort::Table(uid))?.map_or(TideChoice::Table(uid), TideChoice::Secondary),
            (None, None, Some(uid)) => TideChoice::Gauge(uid),
            _ => return Err("names more than one of tide station, tide table and gauge; clear all but one".to_owned()),
        };
        let mut line = Vec::new();
        if let Some(row) = baseline {
            line = row.line;
            undouble(&mut line, row.positions);
        }
        Ok(Beach {
            uid: self.uid,
            name: self.name,
            origin: self.origin,
            baseline: line,
            seaward: self.seaward,
            tide,
            weather: Weather {
                surge_m: self.surge_m,
                surge_sd_m: self.surge_sd_m,
                pressure_hpa: self.pressure_hpa,
                run_up_m: self.run_up_m,
            },
            free: self.free_hours.unwrap_or_default(),
            pace_m_s: self.pace_m_per_s,
            datum_offset_m: self.datum_offset_m,
            offset_from: self.offset_from.map(|Word(from)| from),
            confirmed: self.confirmed,
            time_zone: self.time_zone,
            slope: self.slope,
            back_level_m: self.back_level_m,
            search: SearchSettings {
                swing_m: self.search_swing_m,
                coil_width_m: self.search_coil_width_m,
                overlap: self.search_overlap,
                walk_m_per_s: self.search_walk_m_per_s,
                turn_deg: self.search_turn_deg,
                gap_s: self.search_gap_s,
            },
            reading: ReadingSettings {
                cluster_by: self.reading_cluster_by,
                cluster_distance_m: self.reading_cluster_distance_m,
                cluster_points: self.reading_cluster_points,
                detection_per_pass: self.reading_detection_per_pass,
                effort_error: self.reading_effort_error,
                storm_days: self.reading_storm_days,
            },
            // Empty where another program added the row.
            invented: self.invented.unwrap_or(false),
            notes: self.notes,
        })
    }
}

/// The track that runs of fixes make, in the order given; at least one.
pub(super) fn track(rows: Vec<TrackRow>) -> Result<Track, Fault> {
    let mut track: Option<Track> = None;
    for row in rows {
        let head = Track { uid: row.uid, beach: row.beach, outing: row.outing, name: row.name.clone(), segments: Vec::new() };
        let run = run(row)?;
        track.get_or_insert(head).segments.push(run.into());
    }
    track.ok_or_else(|| "has no runs of fixes".to_owned())
}

fn run(row: TrackRow) -> Result<Vec<TrackPoint>, Fault> {
    let Fixes(mut run) = row.line;
    undouble(&mut run, row.fixes);
    let fits = |what: &str, len: usize| match len {
        0 => Ok(()),
        n if n == run.len() => Ok(()),
        n => Err(format!("column {what} lists {n} values for {} fixes; correct or clear it", run.len())),
    };
    fits("hdop", row.hdop.len())?;
    fits("satellites", row.satellites.len())?;
    for (fix, hdop) in run.iter_mut().zip(row.hdop) {
        *fix = fix.with_hdop(hdop.map(f64::from));
    }
    for (fix, satellites) in run.iter_mut().zip(row.satellites) {
        *fix = fix.with_satellites(satellites);
    }
    Ok(run)
}

impl From<&LevelPoint> for LevelRow {
    fn from(r: &LevelPoint) -> Self {
        Self {
            uid: r.uid,
            beach: r.beach,
            point: Raised { at: r.at, z_m: r.level_m },
            level_m: Some(r.level_m),
            sigma_m: r.sigma_m,
            date: r.date,
            survey: r.survey.clone(),
        }
    }
}

impl From<LevelRow> for LevelPoint {
    /// A point drawn in another program may have a Z and no level yet.
    fn from(r: LevelRow) -> Self {
        Self {
            uid: r.uid,
            beach: r.beach,
            at: r.point.at,
            level_m: r.level_m.unwrap_or(r.point.z_m),
            sigma_m: r.sigma_m,
            date: r.date,
            survey: r.survey,
        }
    }
}

impl From<&Permission> for PermissionRow {
    fn from(r: &Permission) -> Self {
        Self {
            uid: r.uid,
            beach: r.beach,
            name: r.name.clone(),
            holder: r.holder.clone(),
            area: r.area.clone(),
            first_day: r.from,
            last_day: r.to,
            hours_from: r.hours.map(|h| h.0),
            hours_to: r.hours.map(|h| h.1),
            terms: r.terms.clone(),
            report: r.report.clone(),
            exact_positions: r.exact_positions,
            coarsen_m: r.coarsen_m,
            contact: r.agreed.contact.clone(),
            papers: r.agreed.papers.clone(),
            deepest_m: r.agreed.deepest_m,
            holder_share: r.agreed.holder_share,
            report_due: r.agreed.due,
            older_than: r.agreed.older_than,
            places: r.agreed.places.clone(),
            id_key: Some(r.key),
        }
    }
}

impl TryFrom<PermissionRow> for Permission {
    type Error = Fault;
    fn try_from(r: PermissionRow) -> Result<Self, Fault> {
        let hours = match (r.hours_from, r.hours_to) {
            (Some(from), Some(to)) => Some((from, to)),
            (None, None) => None,
            _ => return Err("has only one of hours_from and hours_to; fill or clear both".to_owned()),
        };
        Ok(Self {
            uid: r.uid,
            beach: r.beach,
            name: r.name,
            holder: r.holder,
            area: r.area,
            from: r.first_day,
            to: r.last_day,
            hours,
            terms: r.terms,
            report: r.report,
            exact_positions: r.exact_positions,
            coarsen_m: r.coarsen_m,
            agreed: Agreed {
                contact: r.contact,
                papers: r.papers,
                deepest_m: r.deepest_m,
                holder_share: r.holder_share,
                due: r.report_due,
                older_than: r.older_than,
                places: r.places,
            },
            // Another program that added the row knows nothing of it.
            key: r.id_key.unwrap_or_else(crate::book::Uid::fresh),
        })
    }
}

impl From<&Storm> for StormRow {
    fn from(r: &Storm) -> Self {
        Self { uid: r.uid, beach: r.beach, name: r.name.clone(), notes: r.notes.clone() }
    }
}

/// The storm with its sea, in order.
pub(super) fn storm(head: StormRow, sea: Vec<SeaStateRow>) -> Storm {
    let state = |s: SeaStateRow| SeaState { time: s.time, hs_m: s.hs_m, tp_s: s.tp_s, dir_deg: s.dir_deg, surge_m: s.surge_m };
    Storm { uid: head.uid, beach: head.beach, name: head.name, series: sea.into_iter().map(state).collect(), notes: head.notes }
}

/// The record of the sea with its states, in order.
pub(super) fn sea_record(head: SeaRecordRow, states: Vec<RecordedSeaRow>) -> SeaRecord {
    let state = |s: RecordedSeaRow| SeaState { time: s.time, hs_m: s.hs_m, tp_s: s.tp_s, dir_deg: s.dir_deg, surge_m: s.surge_m };
    SeaRecord { uid: head.uid, beach: head.beach, name: head.name, states: states.into_iter().map(state).collect() }
}

/// The tide table with its turns, in order.
pub(super) fn tide_table(head: TideTableRow, turns: Vec<TideTurnRow>) -> TideTable {
    let turns = turns.into_iter().map(|t| TideTurn { time: t.time, level_m: t.level_m, high: t.high }).collect();
    TideTable { uid: head.uid, beach: head.beach, name: head.name, turns }
}

/// The gauge record with its readings, in order.
pub(super) fn gauge(head: GaugeRow, readings: Vec<GaugeReadingRow>) -> GaugeRecord {
    let readings = readings.into_iter().map(|r| (r.time, r.level_m)).collect();
    GaugeRecord { uid: head.uid, beach: head.beach, name: head.name, readings }
}

/// The plan of a row.
pub(super) fn plan(mut row: PlanRow) -> Plan {
    undouble(&mut row.line, row.waypoints);
    Plan { uid: row.uid, beach: row.beach, name: row.name, points: row.line }
}
