//! Taking back one change of the history by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::{OpenBook, key_of};
use crate::book::{Book, Edit, Record, RecordKind, Uid};
use crate::store::{Change, StoreError};

/// Which record.
type Key = (RecordKind, Uid);

/// How many of those that hold a record are named.
const NAMED: usize = 3;

/// A change that was taken back by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// What the change was.
    pub what: String,
    /// What of it was left, in a sentence each: what it brought and later records belong to, such as an outing that finds
    /// joined.
    pub left: Vec<String>,
}

impl OpenBook {
    /// Takes back one change of the history by itself: what it brought goes, unless records that stay belong to it.
    ///
    /// # Errors
    /// [`StoreError::ChangedSince`] when a later change touched the same records, as that would be lost too;
    /// [`StoreError::StillHeld`] when everything that would go is held by what came later;
    /// [`StoreError::NoChange`] and [`StoreError::CannotTakeBack`]; or as [`OpenBook::apply`].
    pub fn take_back(&mut self, number: i64) -> Result<TakenBack, StoreError> {
        let store = self.store.as_ref().ok_or(StoreError::NoChange(number))?;
        let inverse = store.inverse_of(number)?;
        let singles = inverse.singles();
        let held = held(&self.book, &singles);
        let mut left: Vec<String> = held.iter().filter_map(|(key, by)| said(&self.book, *key, by)).collect();
        let (what, changed) = self.changed_since(number, &singles)?;
        let mut edit = Vec::new();
        for single in &singles {
            let Some(key) = key_of(single).filter(|key| !held.contains_key(key)) else { continue };
            match changed.get(&key) {
                None => edit.push((*single).clone()),
                // An outing that this change made longer and later ones again: how long it lasts is theirs as well.
                Some(later) if key.0 == RecordKind::Outing && matches!(single, Edit::Put(_)) && singles.len() > 1 => {
                    let outing = self.book.record(key.0, key.1).map_or_else(|| key.0.to_string(), |r| called(&r));
                    left.push(format!(
                        "the {outing} stays as it is, as change {} (\"{}\") later touched it",
                        later.number, later.what
                    ));
                }
                Some(later) => {
                    return Err(StoreError::ChangedSince { number, later: later.number, what: later.what.clone() });
                }
            }
        }
        if let (true, Some(left)) = (edit.is_empty(), left.first()) {
            return Err(StoreError::StillHeld { number, why: left.clone() });
        }
        self.apply_as(format!("take back: {what}"), &Edit::Batch(edit))?;
        Ok(TakenBack { what, left })
    }

    /// What a change was, and of what it touched that which is no longer as the change left it, with the first later change
    /// that touched it.
    fn changed_since(&self, number: i64, singles: &[&Edit]) -> Result<(String, BTreeMap<Key, Change>), StoreError> {
        let store = self.store.as_ref().ok_or(StoreError::NoChange(number))?;
        let touched: BTreeSet<Key> = singles.iter().filter_map(|s| key_of(s)).collect();
        let mut what = String::new();
        // As each record was left by the change, told by the first later one that touched it, and which that is.
        let mut left: BTreeMap<Key, (Option<Record>, Change)> = BTreeMap::new();
        for change in store.history(usize::MAX)?.into_iter().rev().filter(|c| c.number >= number) {
            if change.number == number {
                what = change.what;
                continue;
            }
            let later = store.inverse_of(change.number)?;
            let mut before = BTreeMap::new();
            for single in later.singles() {
                if let Some(key) = key_of(single).filter(|key| touched.contains(key)) {
                    let record = if let Edit::Put(record) = single { Some(record.clone()) } else { None };
                    // Of one record in a change the last tells how it began.
                    before.insert(key, record);
                }
            }
            for (key, record) in before {
                left.entry(key).or_insert_with(|| (record, change.clone()));
            }
        }
        // What was changed and then put back as it was stands in nobody's way.
        let changed = left.into_iter().filter(|((kind, uid), (record, _))| self.book.record(*kind, *uid) != *record);
        Ok((what, changed.map(|(key, (_, change))| (key, change)).collect()))
    }
}

/// What of that which an edit takes out is named by records that stay, each with those.
fn held(book: &Book, singles: &[&Edit]) -> BTreeMap<Key, Vec<Record>> {
    let mut going: BTreeSet<Key> = BTreeSet::new();
    let mut put: BTreeMap<Key, &Record> = BTreeMap::new();
    for single in singles {
        match single {
            Edit::Remove(kind, uid) => drop(going.insert((*kind, *uid))),
            Edit::Put(record) => drop(put.insert((record.kind(), record.uid()), record)),
            // `singles` has taken batches apart.
            Edit::Batch(_) => {}
        }
    }
    let mut held: BTreeMap<Key, Vec<Record>> = BTreeMap::new();
    let is_named = |key: &Key| {
        matches!(key.0, RecordKind::Beach | RecordKind::Setup | RecordKind::Outing | RecordKind::TideTable | RecordKind::Gauge)
    };
    if !going.iter().any(is_named) {
        return held;
    }
    let of = |record: &Record, going: &BTreeSet<Key>| -> Vec<Key> {
        record.names().into_iter().filter(|key| going.contains(key)).collect()
    };
    for record in RecordKind::ALL.iter().flat_map(|kind| book.records(*kind)) {
        let key = (record.kind(), record.uid());
        if !going.contains(&key) && !put.contains_key(&key) {
            of(&record, &going).into_iter().for_each(|key| held.entry(key).or_default().push(record.clone()));
        }
    }
    for record in put.into_values() {
        of(record, &going).into_iter().for_each(|key| held.entry(key).or_default().push(record.clone()));
    }
    // What stays itself belongs to something: the outing to its beach.
    let mut todo: Vec<Key> = held.keys().copied().collect();
    while let Some(key) = todo.pop() {
        if let (true, Some(record)) = (going.remove(&key), book.record(key.0, key.1)) {
            for key in of(&record, &going) {
                held.entry(key).or_default().push(record.clone());
                todo.push(key);
            }
        }
    }
    held
}

/// That a record stays, and for whom.
fn said(book: &Book, key: Key, by: &[Record]) -> Option<String> {
    let record = book.record(key.0, key.1)?;
    let named: Vec<String> = by.iter().take(NAMED).map(called).collect();
    let more = by.len().saturating_sub(NAMED);
    let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
    let belong = if by.len() == 1 { "belongs" } else { "belong" };
    Some(format!("the {} stays, as {}{tail} {belong} to it", called(&record), named.join(", ")))
}

/// What a record is called: its kind and its name, or when it was.
fn called(record: &Record) -> String {
    let kind = record.kind();
    let name = match record {
        Record::Outing(o) if o.name.trim().is_empty() => {
            return format!("{kind} of {}", o.start.strftime("%Y-%m-%d %H:%M UTC"));
        }
        Record::Outing(o) => &o.name,
        Record::Find(f) if f.what.trim().is_empty() => f.kind.label(),
        Record::Find(f) => &f.what,
        Record::Track(t) => &t.name,
        Record::Setup(s) => &s.name,
        Record::Beach(b) => &b.name,
        Record::Zone(z) => &z.name,
        Record::Permission(p) => &p.name,
        Record::Bench(b) => &b.target,
        _ => "",
    };
    if name.trim().is_empty() { kind.to_string() } else { format!("{kind} \"{}\"", name.trim()) }
}
