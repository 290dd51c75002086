use std::collections::BTreeMap;

use super::tables::BenchTables;
use crate::book::{Find, Kind, KindGroup, Kinds, Material, Uid};

/// What a person digs on a beach, kind by kind.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mix {
    counts: BTreeMap<Kind, f64>,
    finds: usize,
    /// Said when the finds are not of the beach itself.
    pub(super) note: Option<String>,
}

/// Finds on a beach below which those of the whole book serve instead.
const LEAST: usize = 10;

impl Mix {
    /// The finds of a beach; where there are fewer than ten, those of the whole book, which is then said.
    pub fn on(book: impl Into<BenchTables>, beach: Uid) -> Self {
        let book = book.into();
        let here = Self::from_kinds(book.finds_of(beach).map(|f| f.kind.clone()));
        if here.finds() >= LEAST || book.finds().len() == here.finds() {
            return here;
        }
        let note = format!("Only {} finds on this beach: the finds of all beaches stand in.", here.finds());
        Self { note: Some(note), ..Self::from_kinds(book.finds().values().map(|f| f.kind.clone())) }
    }

    /// The mix of kinds at hand.
    pub fn from_kinds(kinds: impl IntoIterator<Item = Kind>) -> Self {
        let mut mix = Self::default();
        for kind in kinds {
            *mix.counts.entry(kind).or_default() += 1.0;
            mix.finds += 1;
        }
        mix
    }

    /// The mix less one find of this kind.
    pub fn without(&self, kind: &Kind) -> Self {
        let mut less = self.clone();
        if let Some(count) = less.counts.get_mut(kind).filter(|c| **c >= 1.0) {
            *count -= 1.0;
            less.finds -= 1;
        }
        less
    }

    /// The mix with each kind's finds counted so many times over, and as many in all as before.
    pub(super) fn weighed(&self, times: impl Fn(&Kind) -> f64) -> Self {
        let mut weighed = self.clone();
        weighed.counts.iter_mut().for_each(|(kind, count)| *count *= times(kind));
        let (before, after): (f64, f64) = (self.counts.values().sum(), weighed.counts.values().sum());
        if after > 0.0 {
            weighed.counts.values_mut().for_each(|count| *count *= before / after);
        }
        weighed
    }

    /// Finds in all.
    pub fn finds(&self) -> usize {
        self.finds
    }

    /// Finds of each of these kinds, in their order, and of none of them. A general kind that is not among
    /// them lends its finds in equal parts to the particular ones that are.
    pub(super) fn among(&self, kinds: &[&Kind]) -> (Vec<f64>, f64) {
        let list = Kinds::shipped();
        let mut counts = vec![0.0; kinds.len()];
        let mut none = 0.0;
        for (kind, count) in &self.counts {
            let count = *count;
            let exact = kinds.iter().position(|k| *k == kind);
            let general = || list.within(kind).and_then(|g| kinds.iter().position(|k| *k == g));
            if let Some(n) = exact.or_else(general) {
                counts[n] += count;
                continue;
            }
            let particular: Vec<usize> = (0..kinds.len()).filter(|n| list.within(kinds[*n]) == Some(kind)).collect();
            for n in &particular {
                counts[*n] += count / particular.len() as f64;
            }
            if particular.is_empty() {
                none += count;
            }
        }
        (counts, none)
    }
}

/// The class in which people ask after a thing: gold, silver, lead, coins, rubbish or the rest. A coin of
/// gold or silver is of gold or silver.
pub fn class_of(kind: &Kind, material: Option<Material>) -> &'static str {
    match (material.or_else(|| Kinds::shipped().material(kind)), kind.group()) {
        (Some(Material::Gold | Material::Platinum), _) => "gold",
        (Some(Material::Silver), _) => "silver",
        (_, KindGroup::Lead) => "lead",
        (_, KindGroup::Coin) => "coins",
        (_, KindGroup::Rubbish | KindGroup::Iron) => "rubbish",
        _ => "other",
    }
}

/// The class of a find.
pub(super) fn class_of_find(find: &Find) -> &'static str {
    class_of(&find.kind, find.material)
}

/// Every class, in the order told.
pub(super) const CLASSES: [&str; 6] = ["gold", "silver", "lead", "coins", "other", "rubbish"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_of_a_general_kind_go_to_the_particular_ones_that_were_read() {
        let k = Kind::keyed;
        let mix = Mix::from_kinds([k("coin"), k("coin"), k("nail"), k("other"), k("gb_20p")]);
        let (counts, none) = mix.among(&[&k("gb_20p"), &k("gb_50p"), &k("nail")]);
        assert_eq!((counts, none), (vec![2.0, 1.0, 1.0], 1.0));
        let (counts, none) = mix.among(&[&k("coin")]);
        assert_eq!((counts, none), (vec![3.0], 2.0));
    }

    #[test]
    fn a_silver_coin_is_silver() {
        assert_eq!(class_of(&Kind::keyed("silver_coin"), None), "silver");
        assert_eq!(class_of(&Kind::keyed("ring"), Some(Material::Gold)), "gold");
        assert_eq!(class_of(&Kind::keyed("nail"), None), "rubbish");
    }
}
