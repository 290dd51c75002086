//! A table of the book: records by their uid, shared with its copies.
//!
//! A copy costs nothing, and a change to it costs no more than the run of records in which it falls and the list of
//! the runs: of 100,000 finds that is some hundred pointers and not the finds. Records are shared too, so that the
//! same find stands in memory once, however many snapshots, edits and inverses name it.

use std::collections::BTreeMap;
use std::fmt;
use std::iter::FlatMap;
use std::ops::Index;
use std::slice;
use std::sync::Arc;

use super::Uid;

/// A run is split when it grows beyond this many records. Longer runs make one edit dearer, shorter ones the list.
const LONGEST: usize = 256;

/// Some records in order of uid; never empty.
type Run<T> = Vec<(Uid, Arc<T>)>;

/// Records by their uid, in its order.
pub struct Table<T> {
    /// In order: all uids of a run lie before those of the next.
    runs: Arc<Vec<Arc<Run<T>>>>,
    len: usize,
}

impl<T> Table<T> {
    /// How many records there are.
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// The record of a uid.
    pub fn get(&self, uid: &Uid) -> Option<&T> {
        self.shared(uid).map(Arc::as_ref)
    }

    /// The record of a uid, to be shared.
    pub(crate) fn shared(&self, uid: &Uid) -> Option<&Arc<T>> {
        let run = self.runs.get(self.run_of(uid))?;
        let at = run.binary_search_by_key(uid, |(u, _)| *u).ok()?;
        run.get(at).map(|(_, record)| record)
    }

    /// Whether there is a record of this uid.
    pub fn contains_key(&self, uid: &Uid) -> bool {
        self.shared(uid).is_some()
    }

    /// Every record with its uid, in order.
    pub fn iter(&self) -> Iter<'_, T> {
        Iter { entries: self.runs.iter().flat_map(|run| run.iter()), left: self.len }
    }

    /// Every uid, in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &Uid> + ExactSizeIterator + Clone + '_ {
        self.iter().map(|(uid, _)| uid)
    }

    /// Every record, in order of uid.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &T> + ExactSizeIterator + Clone + '_ {
        self.iter().map(|(_, record)| record)
    }

    /// Every record, in order of uid, to be shared.
    pub(crate) fn shares(&self) -> impl Iterator<Item = &Arc<T>> + '_ {
        self.runs.iter().flat_map(|run| run.iter().map(|(_, record)| record))
    }

    /// A table of those records alone that are wanted, shared with this one.
    #[must_use]
    pub(crate) fn narrowed(&self, wants: impl Fn(&T) -> bool) -> Self {
        let mut some = Self::default();
        for (uid, record) in self.runs.iter().flat_map(|run| run.iter()).filter(|(_, record)| wants(record)) {
            some.insert(*uid, Arc::clone(record));
        }
        some
    }

    /// Whether both are one and the same in memory: no change lies between them.
    pub(crate) fn is_same(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.runs, &other.runs)
    }

    /// Puts a record in, and returns the one that had its uid.
    pub(crate) fn insert(&mut self, uid: Uid, record: Arc<T>) -> Option<Arc<T>> {
        let n = self.run_of(&uid);
        let runs = Arc::make_mut(&mut self.runs);
        if n == runs.len() {
            // Beyond the last: records that come in order fill one run after the other.
            match runs.last_mut().filter(|last| last.len() < LONGEST) {
                Some(last) => {
                    let last = Arc::make_mut(last);
                    make_room(last);
                    last.push((uid, record));
                }
                None => runs.push(Arc::new(vec![(uid, record)])),
            }
            self.len += 1;
            return None;
        }
        let run = Arc::make_mut(&mut runs[n]);
        match run.binary_search_by_key(&uid, |(u, _)| *u) {
            Ok(at) => Some(std::mem::replace(&mut run[at].1, record)),
            Err(at) => {
                make_room(run);
                run.insert(at, (uid, record));
                self.len += 1;
                if run.len() > LONGEST {
                    let rest = run.split_off(LONGEST / 2);
                    runs.insert(n + 1, Arc::new(rest));
                }
                None
            }
        }
    }

    /// Takes a record out.
    pub(crate) fn remove(&mut self, uid: &Uid) -> Option<Arc<T>> {
        let n = self.run_of(uid);
        let at = self.runs.get(n)?.binary_search_by_key(uid, |(u, _)| *u).ok()?;
        let runs = Arc::make_mut(&mut self.runs);
        let run = Arc::make_mut(&mut runs[n]);
        let (_, record) = run.remove(at);
        if run.is_empty() {
            runs.remove(n);
        }
        self.len -= 1;
        Some(record)
    }

    /// Which run a uid is in, or would be; one beyond the last where it lies beyond all.
    fn run_of(&self, uid: &Uid) -> usize {
        self.runs.partition_point(|run| run.last().is_some_and(|(last, _)| last < uid))
    }
}

/// Makes room for one more record, and never for more than a run holds: of a million records that is a tenth of the memory.
fn make_room<T>(run: &mut Run<T>) {
    if run.len() == run.capacity() {
        run.reserve_exact(run.len().clamp(1, (LONGEST + 1).saturating_sub(run.len()).max(1)));
    }
}

/// The entries of one run, and of all of them.
type OfRun<'t, T> = slice::Iter<'t, (Uid, Arc<T>)>;
type OfAll<'t, T> = FlatMap<slice::Iter<'t, Arc<Run<T>>>, OfRun<'t, T>, fn(&'t Arc<Run<T>>) -> OfRun<'t, T>>;

/// Every record of a table with its uid, in order.
pub struct Iter<'t, T> {
    entries: OfAll<'t, T>,
    left: usize,
}

fn borrowed<T>((uid, record): &(Uid, Arc<T>)) -> (&Uid, &T) {
    (uid, record)
}

impl<'t, T> Iterator for Iter<'t, T> {
    type Item = (&'t Uid, &'t T);

    fn next(&mut self) -> Option<Self::Item> {
        let next = self.entries.next()?;
        self.left -= 1;
        Some(borrowed(next))
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        (self.left, Some(self.left))
    }

    fn fold<B, F: FnMut(B, Self::Item) -> B>(self, init: B, mut f: F) -> B {
        self.entries.fold(init, |sum, entry| f(sum, borrowed(entry)))
    }
}

impl<T> DoubleEndedIterator for Iter<'_, T> {
    fn next_back(&mut self) -> Option<Self::Item> {
        let next = self.entries.next_back()?;
        self.left -= 1;
        Some(borrowed(next))
    }
}

impl<T> ExactSizeIterator for Iter<'_, T> {}

impl<T> Clone for Iter<'_, T> {
    fn clone(&self) -> Self {
        Self { entries: self.entries.clone(), left: self.left }
    }
}

impl<'t, T> IntoIterator for &'t Table<T> {
    type Item = (&'t Uid, &'t T);
    type IntoIter = Iter<'t, T>;

    fn into_iter(self) -> Iter<'t, T> {
        self.iter()
    }
}

impl<T> Index<&Uid> for Table<T> {
    type Output = T;

    /// # Panics
    /// When there is no record of this uid.
    fn index(&self, uid: &Uid) -> &T {
        self.get(uid).expect("a record of this uid")
    }
}

impl<T> Clone for Table<T> {
    fn clone(&self) -> Self {
        Self { runs: Arc::clone(&self.runs), len: self.len }
    }
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Self { runs: Arc::new(Vec::new()), len: 0 }
    }
}

impl<T: PartialEq> PartialEq for Table<T> {
    fn eq(&self, other: &Self) -> bool {
        self.len == other.len && self.iter().eq(other.iter())
    }
}

impl<T: fmt::Debug> fmt::Debug for Table<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self).finish()
    }
}

impl<T> FromIterator<(Uid, T)> for Table<T> {
    fn from_iter<I: IntoIterator<Item = (Uid, T)>>(records: I) -> Self {
        let mut table = Self::default();
        // In order they fill their runs, and of each uid the last counts.
        for (uid, record) in records.into_iter().collect::<BTreeMap<_, _>>() {
            table.insert(uid, Arc::new(record));
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn uid(n: u32) -> Uid {
        format!("{n:032x}").parse().unwrap()
    }

    /// What every change must leave true: runs in order, none empty or too long, and the right count.
    fn is_sound(table: &Table<u32>) -> bool {
        let keys: Vec<&Uid> = table.keys().collect();
        table.runs.iter().all(|run| !run.is_empty() && run.len() <= LONGEST)
            && table.runs.iter().all(|run| run.capacity() <= LONGEST + 1)
            && keys.windows(2).all(|p| p[0] < p[1])
            && keys.len() == table.len()
    }

    proptest! {
        #![proptest_config(crate::cases::kept())]

        /// Beside the map of the standard library, whatever is done; and a copy never follows.
        #[test]
        fn is_a_map(steps in prop::collection::vec((0u32..900, any::<u32>(), 0u8..4), 0..2000)) {
            let (mut table, mut map) = (Table::default(), BTreeMap::new());
            let mut copies = Vec::new();
            for (n, (key, value, what)) in steps.into_iter().enumerate() {
                if n % 500 == 0 {
                    copies.push((table.clone(), map.clone()));
                }
                if what == 0 {
                    prop_assert_eq!(table.remove(&uid(key)).map(|r| *r), map.remove(&uid(key)));
                } else {
                    prop_assert_eq!(table.insert(uid(key), Arc::new(value)).map(|r| *r), map.insert(uid(key), value));
                }
            }
            copies.push((table, map));
            for (table, map) in copies {
                prop_assert!(is_sound(&table));
                prop_assert!(table.iter().eq(map.iter()) && table.iter().rev().eq(map.iter().rev()));
                prop_assert!(table.iter().len() == map.len() && table.values().len() == map.values().count());
                prop_assert!((0..900).all(|key| table.get(&uid(key)) == map.get(&uid(key))));
                prop_assert!(table.values().copied().fold(0, u32::wrapping_add) == map.values().copied().fold(0, u32::wrapping_add));
                prop_assert_eq!(&table, &map.into_iter().collect::<Table<u32>>());
            }
        }
    }

    #[test]
    fn a_change_copies_one_run_and_leaves_the_others_shared() {
        let mut table: Table<u32> = (0..10_000).map(|n| (uid(n), n)).collect();
        let before = table.clone();
        assert!(table.is_same(&before));
        table.insert(uid(5000), Arc::new(1));
        assert!(!table.is_same(&before));
        let shared = table.runs.iter().filter(|run| before.runs.iter().any(|b| Arc::ptr_eq(b, run))).count();
        assert_eq!((table.runs.len(), shared), (10_000usize.div_ceil(LONGEST), 10_000 / LONGEST));
        assert_eq!((before[&uid(5000)], table[&uid(5000)]), (5000, 1));
        assert!(Arc::ptr_eq(table.shared(&uid(0)).unwrap(), before.shared(&uid(0)).unwrap()));
    }
}
