use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::{Beach, Book, BookError, Find, Outing, Record, RecordKind, Signal, TideChoice, Track, Uid};

/// A change to a book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Edit {
    /// Adds a record, or replaces the one with its uid.
    Put(Record),
    /// Takes a record out.
    Remove(RecordKind, Uid),
    /// Several changes that happen together or not at all, in order.
    Batch(Vec<Edit>),
}

impl Edit {
    /// Adds or replaces one record.
    pub fn put(record: impl Into<Record>) -> Self {
        Self::Put(record.into())
    }

    /// Every single change in it, in order.
    pub fn singles(&self) -> Vec<&Edit> {
        match self {
            Self::Batch(edits) => edits.iter().flat_map(Edit::singles).collect(),
            single => vec![single],
        }
    }
}

impl Book {
    /// An empty book.
    pub fn new() -> Self {
        Self::default()
    }

    /// Whether it holds nothing at all.
    pub fn is_empty(&self) -> bool {
        RecordKind::ALL.iter().all(|k| self.count(*k) == 0)
    }

    /// The book that a set of records makes, whatever their order.
    ///
    /// # Errors
    /// When a record is not valid or names one that is not among them.
    pub fn gather(records: impl IntoIterator<Item = Record>) -> Result<Self, BookError> {
        let mut book = Self::new();
        for record in records {
            record.validate()?;
            book.put_unchecked(record);
        }
        for kind in RecordKind::ALL {
            for record in book.records(*kind) {
                book.check_names(&record)?;
            }
        }
        Ok(book)
    }

    fn check_names(&self, record: &Record) -> Result<(), BookError> {
        match record.names().into_iter().find(|(kind, uid)| !self.holds(*kind, *uid)) {
            Some((missing, uid)) => Err(BookError::Dangling { record: record.kind(), missing, uid }),
            None => Ok(()),
        }
    }

    /// Applies a change and returns the change that takes it back.
    ///
    /// # Errors
    /// When a record is not valid, names one that is not there, or is removed while others still
    /// name it. The book is then as it was before.
    pub fn apply(&mut self, edit: &Edit) -> Result<Edit, BookError> {
        let mut draft = self.clone();
        let inverse = draft.step(edit)?;
        *self = draft;
        Ok(inverse)
    }

    /// Whether a change can be made, without making it.
    ///
    /// # Errors
    /// As [`Book::apply`].
    pub fn admits(&self, edit: &Edit) -> Result<(), BookError> {
        let singles = edit.singles();
        let mut put = BTreeSet::new();
        for single in &singles {
            let Edit::Put(record) = single else {
                // What takes a record out depends on all that was done before.
                return self.clone().step(edit).map(drop);
            };
            record.validate()?;
            if let Some((missing, uid)) = record.names().into_iter().find(|n| !put.contains(n) && !self.holds(n.0, n.1)) {
                return Err(BookError::Dangling { record: record.kind(), missing, uid });
            }
            if !matches!(record.kind(), RecordKind::Level | RecordKind::Find | RecordKind::Signal | RecordKind::Bench) {
                put.insert((record.kind(), record.uid()));
            }
        }
        Ok(())
    }

    fn step(&mut self, edit: &Edit) -> Result<Edit, BookError> {
        match edit {
            Edit::Put(record) => {
                record.validate()?;
                self.check_names(record)?;
                let (kind, uid) = (record.kind(), record.uid());
                Ok(self.put_unchecked(record.clone()).map_or(Edit::Remove(kind, uid), Edit::Put))
            }
            Edit::Remove(kind, uid) => {
                if !self.holds(*kind, *uid) {
                    return Err(BookError::Missing { record: *kind, uid: *uid });
                }
                let users = self.users_of(*kind, *uid);
                if users > 0 {
                    return Err(BookError::InUse { record: *kind, users });
                }
                let old = self.remove_unchecked(*kind, *uid);
                old.map(Edit::Put).ok_or(BookError::Missing { record: *kind, uid: *uid })
            }
            Edit::Batch(edits) => {
                let mut inverses = edits.iter().map(|e| self.step(e)).collect::<Result<Vec<_>, _>>()?;
                inverses.reverse();
                Ok(Edit::Batch(inverses))
            }
        }
    }

    /// How many records name this one.
    fn users_of(&self, kind: RecordKind, uid: Uid) -> usize {
        let count = |among: &[RecordKind]| {
            among.iter().flat_map(|k| self.records(*k)).filter(|r| r.names().contains(&(kind, uid))).count()
        };
        match kind {
            RecordKind::Beach => count(&RecordKind::ALL[2..]),
            RecordKind::Outing => count(&[RecordKind::Track, RecordKind::Find, RecordKind::Signal]),
            RecordKind::Setup => count(&[RecordKind::Outing, RecordKind::Bench]),
            RecordKind::TideTable | RecordKind::Gauge => count(&[RecordKind::Beach]),
            _ => 0,
        }
    }

    /// The change that takes out a record and lets go of it everywhere it is named; for a beach, all that lies on it.
    pub fn removal(&self, kind: RecordKind, uid: Uid) -> Edit {
        let mut edits = Vec::new();
        match kind {
            RecordKind::Beach => {
                if let Some(beach) = self.beaches.get(&uid) {
                    edits.push(Edit::put(Beach { tide: TideChoice::None, ..beach.clone() }));
                }
                for k in RecordKind::ALL.iter().rev().filter(|k| **k != RecordKind::Beach) {
                    let on_it = self.records(*k).filter(|r| r.names().contains(&(kind, uid)));
                    edits.extend(on_it.map(|r| Edit::Remove(*k, r.uid())));
                }
            }
            RecordKind::Outing => {
                edits.extend(
                    self.tracks
                        .values()
                        .filter(|t| t.outing == Some(uid))
                        .map(|t| Edit::put(Track { outing: None, ..t.clone() })),
                );
                edits.extend(
                    self.finds.values().filter(|f| f.outing == Some(uid)).map(|f| Edit::put(Find { outing: None, ..f.clone() })),
                );
                edits.extend(
                    self.signals
                        .values()
                        .filter(|s| s.outing == Some(uid))
                        .map(|s| Edit::put(Signal { outing: None, ..s.clone() })),
                );
            }
            RecordKind::Setup => {
                edits.extend(
                    self.outings
                        .values()
                        .filter(|o| o.setup == Some(uid))
                        .map(|o| Edit::put(Outing { setup: None, ..o.clone() })),
                );
                edits.extend(self.bench.values().filter(|b| b.setup == uid).map(|b| Edit::Remove(RecordKind::Bench, b.uid)));
            }
            RecordKind::TideTable | RecordKind::Gauge => edits.extend(
                self.beaches
                    .values()
                    .filter(|b| b.tide.record() == Some((kind, uid)))
                    .map(|b| Edit::put(Beach { tide: TideChoice::None, ..b.clone() })),
            ),
            _ => {}
        }
        edits.push(Edit::Remove(kind, uid));
        Edit::Batch(edits)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Kind, TideChoice};
    use crate::earth::LonLat;
    use jiff::Timestamp;

    fn beach() -> Beach {
        Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap())
    }

    fn filled() -> (Book, Uid, Uid, Uid) {
        let mut book = Book::new();
        let beach = beach();
        let outing = Outing::new(beach.uid, Timestamp::from_second(0).unwrap(), Timestamp::from_second(3600).unwrap());
        let mut find = Find::new(beach.uid, beach.origin, "invented penny", Kind::keyed("coin"));
        find.outing = Some(outing.uid);
        let uids = (beach.uid, outing.uid, find.uid);
        book.apply(&Edit::Batch(vec![Edit::put(beach), Edit::put(outing), Edit::put(find)])).unwrap();
        (book, uids.0, uids.1, uids.2)
    }

    #[test]
    fn an_edit_and_its_inverse_leave_the_book_as_it_was() {
        let (mut book, beach, outing, find) = filled();
        for edit in [
            Edit::put(Beach { name: "Other".into(), ..book.beaches()[&beach].clone() }),
            book.removal(RecordKind::Find, find),
            book.removal(RecordKind::Outing, outing),
            book.removal(RecordKind::Beach, beach),
        ] {
            let before = book.clone();
            book.admits(&edit).unwrap();
            assert_eq!(book, before);
            let inverse = book.apply(&edit).unwrap();
            assert_ne!(book, before);
            book.apply(&inverse).unwrap();
            assert_eq!(book, before);
        }
    }

    #[test]
    fn a_failing_batch_changes_nothing() {
        let (mut book, beach, ..) = filled();
        let before = book.clone();
        let stray = Find::new(Uid::fresh(), LonLat::new(0.0, 0.0).unwrap(), "x", Kind::keyed("coin"));
        let edit =
            Edit::Batch(vec![Edit::put(Beach { name: "Other".into(), ..book.beaches()[&beach].clone() }), Edit::put(stray)]);
        assert!(matches!(book.admits(&edit), Err(BookError::Dangling { .. })));
        assert!(matches!(book.apply(&edit), Err(BookError::Dangling { .. })));
        assert_eq!(book, before);
    }

    #[test]
    fn what_is_still_named_does_not_go() {
        let (mut book, beach, outing, _) = filled();
        assert!(matches!(book.apply(&Edit::Remove(RecordKind::Outing, outing)), Err(BookError::InUse { users: 2 | 1, .. })));
        assert!(matches!(book.apply(&Edit::Remove(RecordKind::Beach, beach)), Err(BookError::InUse { .. })));
    }

    #[test]
    fn bad_fields_are_refused_with_a_sentence() {
        let mut book = Book::new();
        let unnamed = Beach { name: " ".into(), ..beach() };
        assert_eq!(book.apply(&Edit::put(unnamed)).unwrap_err().to_string(), "beach name is empty; give it one");
        let nowhere = Beach { time_zone: "Mars/Base".into(), ..beach() };
        assert!(book.apply(&Edit::put(nowhere)).unwrap_err().to_string().contains("Mars/Base"));
        let dangling = Beach { tide: TideChoice::Table(Uid::fresh()), ..beach() };
        assert!(book.apply(&Edit::put(dangling)).is_err());
        assert!(book.is_empty());
    }
}
