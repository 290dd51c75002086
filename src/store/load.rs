//! Reading a book: every row that makes a valid record, and a complaint for every one that does not.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

use rusqlite::Connection;
use rusqlite::types::ValueRef;

use super::cell::Cell;
use super::layer::{Fault, Layer, RowIn};
use super::layers::{
    BaselineRow, BeachRow, GaugeReadingRow, GaugeRow, LevelRow, PermissionRow, PlanRow, RecordedSeaRow, SeaRecordRow,
    SeaStateRow, StormRow, TideTableRow, TideTurnRow, TrackRow,
};
use super::rows;
use crate::book::{
    Access, Barrier, BenchReading, Find, LevelPoint, Outing, OwnKind, Permission, Receipt, Record, RecordKind, Remembered, Setup,
    Signal, TideChoice, Uid, Zone,
};

/// Something in the file that could not be taken as it stands. It is still in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// The table it is in; empty when it concerns the whole file.
    pub table: &'static str,
    /// The row (`fid`), if it concerns one.
    pub row: Option<i64>,
    /// What is wrong and what became of it.
    pub why: String,
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.row {
            Some(row) => write!(f, "{}, row {row}: {}", self.table, self.why),
            None => f.write_str(&self.why),
        }
    }
}

/// Reads every record, and what is wrong with the rest.
pub(super) fn load(conn: &Connection) -> rusqlite::Result<(Vec<Record>, Vec<Complaint>)> {
    let mut loader = Loader { conn, places: BTreeMap::new(), records: BTreeMap::new(), complaints: Vec::new() };
    loader.flat::<Setup, Setup>()?;
    loader.flat::<Outing, Outing>()?;
    loader.flat::<Find, Find>()?;
    loader.flat::<Signal, Signal>()?;
    loader.flat::<Zone, Zone>()?;
    loader.flat::<Access, Access>()?;
    loader.flat::<Barrier, Barrier>()?;
    loader.flat::<BenchReading, BenchReading>()?;
    loader.flat::<OwnKind, OwnKind>()?;
    loader.flat::<Receipt, Receipt>()?;
    loader.flat::<Remembered, Remembered>()?;
    loader.flat::<LevelRow, LevelPoint>()?;
    for (row, found) in loader.read::<PermissionRow>()?.found {
        loader.add(PermissionRow::NAME, row, Permission::try_from(found).map(Record::from));
    }
    for (row, found) in loader.read::<PlanRow>()?.found {
        loader.add(PlanRow::NAME, row, Ok(rows::plan(found).into()));
    }
    loader.beaches()?;
    loader.tracks()?;
    loader.with_parts::<StormRow, SeaStateRow>(|h| h.uid, |p| (p.storm, p.number), |h, p| rows::storm(h, p).into())?;
    loader.with_parts::<SeaRecordRow, RecordedSeaRow>(
        |h| h.uid,
        |p| (p.sea_record, p.number),
        |h, p| rows::sea_record(h, p).into(),
    )?;
    loader.with_parts::<TideTableRow, TideTurnRow>(
        |h| h.uid,
        |p| (p.tide_table, p.number),
        |h, p| rows::tide_table(h, p).into(),
    )?;
    loader.with_parts::<GaugeRow, GaugeReadingRow>(|h| h.uid, |p| (p.gauge, p.number), |h, p| rows::gauge(h, p).into())?;
    loader.settle_names();
    Ok((loader.records.into_values().collect(), loader.complaints))
}

/// The rows of a table.
struct Rows<L> {
    /// Those that could be read, with their row numbers.
    found: Vec<(i64, L)>,
    /// The owners of those that could not.
    spoilt: BTreeSet<Uid>,
}

struct Loader<'a> {
    conn: &'a Connection,
    /// Where each record stands.
    places: BTreeMap<(RecordKind, Uid), (&'static str, i64)>,
    records: BTreeMap<(RecordKind, Uid), Record>,
    complaints: Vec<Complaint>,
}

impl Loader<'_> {
    fn complain(&mut self, table: &'static str, row: i64, why: impl Into<String>) {
        self.complaints.push(Complaint { table, row: Some(row), why: why.into() });
    }

    fn read<L: Layer>(&mut self) -> rusqlite::Result<Rows<L>> {
        let table = L::table();
        let owner = 1 + usize::from(table.geom.is_some());
        let mut statement = self.conn.prepare(&table.select())?;
        let mut rows = statement.query([])?;
        let mut read = Rows { found: Vec::new(), spoilt: BTreeSet::new() };
        while let Some(row) = rows.next()? {
            let number = match row.get_ref(0)? {
                ValueRef::Integer(n) => n,
                _ => 0,
            };
            match L::read(&RowIn::new(row)) {
                Ok(value) => read.found.push((number, value)),
                Err(why) => {
                    read.spoilt.extend(Uid::take(row.get_ref(owner)?).ok());
                    self.complain(L::NAME, number, format!("{why}; left out"));
                }
            }
        }
        Ok(read)
    }

    /// Takes in a record if it is valid and the first of its uid.
    fn add(&mut self, table: &'static str, row: i64, record: Result<Record, Fault>) {
        let record = match record.and_then(|r| r.validate().map(|()| r).map_err(|e| e.to_string())) {
            Ok(record) => record,
            Err(why) => return self.complain(table, row, format!("{why}; left out")),
        };
        let key = (record.kind(), record.uid());
        if let Some((_, first)) = self.places.get(&key) {
            let why = format!("has the same uid as row {first}; left out");
            return self.complain(table, row, why);
        }
        self.places.insert(key, (table, row));
        self.records.insert(key, record);
    }

    fn flat<L: Layer + Into<R>, R: Into<Record>>(&mut self) -> rusqlite::Result<()> {
        for (row, found) in self.read::<L>()?.found {
            self.add(L::NAME, row, Ok(found.into().into()));
        }
        Ok(())
    }

    fn beaches(&mut self) -> rusqlite::Result<()> {
        let heads = self.read::<BeachRow>()?;
        let lines = self.read::<BaselineRow>()?;
        let mut by_beach: BTreeMap<Uid, BaselineRow> = BTreeMap::new();
        for (row, line) in lines.found {
            if !heads.found.iter().any(|(_, h)| h.uid == line.beach) && !heads.spoilt.contains(&line.beach) {
                self.complain(BaselineRow::NAME, row, "belongs to a beach that is not in the book; left out");
            } else if let Entry::Vacant(place) = by_beach.entry(line.beach) {
                place.insert(line);
            } else {
                self.complain(BaselineRow::NAME, row, "is the second baseline of its beach; left out");
            }
        }
        for (row, head) in heads.found {
            // A beach whose baseline cannot be read is better than no beach: everything lies on it.
            let line = by_beach.remove(&head.uid);
            self.add(BeachRow::NAME, row, head.into_beach(line).map(Record::from));
        }
        Ok(())
    }

    fn tracks(&mut self) -> rusqlite::Result<()> {
        let read = self.read::<TrackRow>()?;
        let mut by_track: BTreeMap<Uid, Vec<(i64, TrackRow)>> = BTreeMap::new();
        for (row, run) in read.found {
            by_track.entry(run.uid).or_default().push((row, run));
        }
        for (uid, mut runs) in by_track {
            if read.spoilt.contains(&uid) {
                continue;
            }
            runs.sort_by_key(|(_, run)| run.segment);
            let first = runs.first().map_or(0, |r| r.0);
            if let Some(pair) = runs.windows(2).find(|p| p[0].1.segment == p[1].1.segment) {
                let why = format!("has the same uid and segment as row {}; the track is left out", pair[0].0);
                self.complain(TrackRow::NAME, pair[1].0, why);
                continue;
            }
            self.add(TrackRow::NAME, first, rows::track(runs.into_iter().map(|r| r.1).collect()).map(Record::from));
        }
        Ok(())
    }

    /// Records of one row with a list in another table.
    fn with_parts<H: Layer, P: Layer>(
        &mut self,
        uid: fn(&H) -> Uid,
        place: fn(&P) -> (Uid, u32),
        build: fn(H, Vec<P>) -> Record,
    ) -> rusqlite::Result<()> {
        let heads = self.read::<H>()?;
        let parts = self.read::<P>()?;
        let mut lists: BTreeMap<Uid, Vec<(i64, P)>> = BTreeMap::new();
        for (row, part) in parts.found {
            lists.entry(place(&part).0).or_default().push((row, part));
        }
        for (row, head) in heads.found {
            let mut list = lists.remove(&uid(&head)).unwrap_or_default();
            if parts.spoilt.contains(&uid(&head)) {
                self.complain(H::NAME, row, format!("part of its list in {} cannot be read; left out", P::NAME));
                continue;
            }
            list.sort_by_key(|(_, part)| place(part).1);
            self.add(H::NAME, row, Ok(build(head, list.into_iter().map(|p| p.1).collect())));
        }
        for (owner, list) in lists {
            if !heads.spoilt.contains(&owner) {
                let row = list.first().map_or(0, |p| p.0);
                let why = format!("{} row(s) from here on belong to a record that is not in {}; left out", list.len(), H::NAME);
                self.complain(P::NAME, row, why);
            }
        }
        Ok(())
    }

    /// Sees to records that name one which is not there: what they can do without they lose, in
    /// memory only; the others are left out.
    fn settle_names(&mut self) {
        loop {
            let missing: Vec<_> = self
                .records
                .iter()
                .filter_map(|(key, record)| {
                    record.names().into_iter().find(|name| !self.records.contains_key(name)).map(|name| (*key, name))
                })
                .collect();
            if missing.is_empty() {
                return;
            }
            for (key, (kind, uid)) in missing {
                let (table, row) = self.places.get(&key).copied().unwrap_or(("", 0));
                let Some(mut record) = self.records.remove(&key) else { continue };
                if let_go(&mut record, kind) {
                    self.records.insert(key, record);
                    self.complain(table, row, format!("names the {kind} {uid}, which is not in the book; shown without it"));
                } else {
                    self.complain(table, row, format!("belongs to the {kind} {uid}, which is not in the book; left out"));
                }
            }
        }
    }
}

/// Clears the reference to a record of this kind, if the record can do without it.
pub(super) fn let_go(record: &mut Record, kind: RecordKind) -> bool {
    match (record, kind) {
        (Record::Beach(r), RecordKind::TideTable | RecordKind::Gauge) => Arc::make_mut(r).tide = TideChoice::None,
        (Record::Outing(r), RecordKind::Setup) => Arc::make_mut(r).setup = None,
        (Record::Track(r), RecordKind::Outing) => Arc::make_mut(r).outing = None,
        (Record::Find(r), RecordKind::Outing) => Arc::make_mut(r).outing = None,
        (Record::Signal(r), RecordKind::Outing) => Arc::make_mut(r).outing = None,
        _ => return false,
    }
    true
}
