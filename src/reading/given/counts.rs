//! What some finds are, told together: how many and how heavy, of what kinds, at what levels.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::ground::Ground;
use super::placed::Placed;
use crate::book::{Find, Kind, Weight};

/// Which weights of finds are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeightChoice {
    /// All of them.
    #[default]
    All,
    /// The heavy ones that are not of iron.
    Heavy,
    /// The light ones that are not of iron.
    Light,
}

impl WeightChoice {
    /// Every choice, in the order they are read.
    pub const ALL: [Self; 3] = [Self::All, Self::Heavy, Self::Light];

    /// Its place among [`WeightChoice::ALL`].
    pub(in crate::reading) fn place(self) -> usize {
        match self {
            Self::All => 0,
            Self::Heavy => 1,
            Self::Light => 2,
        }
    }

    /// Its name, for a person.
    pub fn label(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Heavy => "heavy",
            Self::Light => "light",
        }
    }

    /// Whether a find is among them.
    pub fn takes_find(self, find: &Find) -> bool {
        self == Self::All || !find.is_iron() && self.takes(find.weight_class())
    }

    /// Whether finds of a weight are among them, iron left out.
    pub(in crate::reading) fn takes(self, weight: Weight) -> bool {
        match self {
            Self::All => true,
            Self::Heavy => weight == Weight::Heavy,
            Self::Light => weight == Weight::Light,
        }
    }
}

/// Finds by how the sea handles them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Counts {
    /// All finds.
    pub finds: usize,
    /// Heavy ones that are not of iron.
    #[serde(rename = "heavy_non_ferrous")]
    pub heavy: usize,
    /// Light ones that are not of iron.
    #[serde(rename = "light_non_ferrous")]
    pub light: usize,
    /// Those of iron.
    #[serde(default)]
    pub iron: usize,
}

impl Counts {
    pub(in crate::reading) fn tally<'a>(finds: impl IntoIterator<Item = &'a Placed>) -> Self {
        finds.into_iter().fold(Self::default(), |c, f| Self {
            finds: c.finds + 1,
            heavy: c.heavy + usize::from(f.weight == Weight::Heavy),
            light: c.light + usize::from(f.weight == Weight::Light),
            iron: c.iron + usize::from(f.iron),
        })
    }

    /// These and others.
    pub(in crate::reading) fn and(self, other: Self) -> Self {
        Self {
            finds: self.finds + other.finds,
            heavy: self.heavy + other.heavy,
            light: self.light + other.light,
            iron: self.iron + other.iron,
        }
    }

    /// These without some of them.
    pub(in crate::reading) fn without(self, some: Self) -> Self {
        Self {
            finds: self.finds - some.finds,
            heavy: self.heavy - some.heavy,
            light: self.light - some.light,
            iron: self.iron - some.iron,
        }
    }

    /// These without some, of which not all need be among them.
    pub(in crate::reading) fn without_at_most(self, some: Self) -> Self {
        Self {
            finds: self.finds.saturating_sub(some.finds),
            heavy: self.heavy.saturating_sub(some.heavy),
            light: self.light.saturating_sub(some.light),
            iron: self.iron.saturating_sub(some.iron),
        }
    }

    /// How many of one choice.
    pub fn count(self, of: WeightChoice) -> usize {
        match of {
            WeightChoice::All => self.finds,
            WeightChoice::Heavy => self.heavy,
            WeightChoice::Light => self.light,
        }
    }
}

/// A kind and how often it was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KindCount {
    /// The kind.
    pub kind: Kind,
    /// How many.
    pub finds: usize,
}

/// Levels of the sand above the land datum, metres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LevelRange {
    /// The lowest.
    pub low_m: f64,
    /// The highest.
    pub high_m: f64,
    /// The middle one.
    pub median_m: f64,
}

/// Range of the levels known at some finds.
pub(in crate::reading) fn level_range(members: &[&Placed]) -> Option<LevelRange> {
    let mut sorted: Vec<f64> = members.iter().filter_map(|f| f.land_m).collect();
    sorted.sort_by(f64::total_cmp);
    let (low, high) = (sorted.first()?, sorted.last()?);
    let median_m = 0.5 * (sorted[(sorted.len() - 1) / 2] + sorted[sorted.len() / 2]);
    Some(LevelRange { low_m: *low, high_m: *high, median_m })
}

/// What some finds are, most frequent first.
pub(in crate::reading) fn kinds_of(members: &[&Placed]) -> Vec<KindCount> {
    let mut counts: BTreeMap<&Kind, usize> = BTreeMap::new();
    members.iter().for_each(|f| *counts.entry(&f.kind).or_default() += 1);
    let mut kinds: Vec<_> = counts.into_iter().map(|(kind, finds)| KindCount { kind: kind.clone(), finds }).collect();
    kinds.sort_by_key(|k| std::cmp::Reverse(k.finds));
    kinds
}

/// The band most of some finds lie in, and their share in it.
pub(in crate::reading) fn main_band(ground: &Ground, members: &[&Placed]) -> (Option<String>, Option<f64>) {
    let mut bands: BTreeMap<usize, usize> = BTreeMap::new();
    members.iter().filter_map(|f| f.band).for_each(|band| *bands.entry(band).or_default() += 1);
    let most = bands.iter().max_by_key(|(n, count)| (**count, std::cmp::Reverse(**n)));
    let name = most.and_then(|(n, _)| ground.setting.bands.get(*n)).map(|b| b.name.clone());
    (name, most.map(|(_, count)| *count as f64 / members.len() as f64))
}

/// On how many outings finds were made.
pub(in crate::reading) fn outings_of(members: &[&Placed]) -> usize {
    members.iter().filter_map(|f| f.outing).collect::<BTreeSet<_>>().len()
}
