//! What a set-up has to learn from: its bench readings, and the finds dug with it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::tables::BenchTables;
use crate::book::{BenchReading, Find, Ground, Kind, Lie, Steadiness, Uid};

/// The passes over one specimen at one depth.
#[derive(Debug, Clone, PartialEq)]
pub struct Passes {
    /// Depth at which it lay, metres, if known.
    pub depth_m: Option<f64>,
    /// The numbers as they came.
    pub numbers: Vec<f64>,
    /// How many numbers came.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// Sum of their squared distances from the mean.
    pub squares: f64,
    /// The ground it was read on, if known.
    pub ground: Option<Ground>,
    /// How the target was read, where each of its passes was noted by itself.
    pub(super) noted_singly: Option<HowRead>,
}

/// How a target is read: readings that differ in it are no passes of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct HowRead {
    lie: Option<Lie>,
    ground: Option<Ground>,
    scraped_mm: Option<i64>,
}

impl HowRead {
    pub(super) fn of(reading: &BenchReading) -> Self {
        let scraped_mm = reading.scraped_m.map(|m| (m * 1000.0).round() as i64);
        Self { lie: reading.lie, ground: reading.ground, scraped_mm }
    }
}

/// Depth taken for usual where none was ever noted, metres.
const DEPTH_M: f64 = 0.1;
/// Targets of a kind on the bench from which on they tell alone how it sounds.
const ENOUGH: usize = 3;
/// Depths nearer to each other than this are the same, metres.
const SAME_DEPTH_M: f64 = 1e-6;

impl Passes {
    /// The passes that gave these numbers; `None` for no number.
    pub fn from_ids(depth_m: Option<f64>, ids: &[f64]) -> Option<Self> {
        if ids.is_empty() {
            return None;
        }
        let mean = ids.iter().sum::<f64>() / ids.len() as f64;
        let squares = ids.iter().map(|v| (v - mean).powi(2)).sum();
        Some(Self { depth_m, numbers: ids.to_vec(), count: ids.len(), mean, squares, ground: None, noted_singly: None })
    }

    /// Adds one more number, where this holds passes over the same target, noted one by one, at the same depth.
    fn joined(&mut self, depth_m: f64, id: f64, reading: HowRead) -> bool {
        let same = self.noted_singly == Some(reading) && self.depth_m.is_some_and(|d| (d - depth_m).abs() < SAME_DEPTH_M);
        if same {
            self.numbers.push(id);
            *self = Self::from_ids(self.depth_m, &self.numbers)
                .map_or_else(|| self.clone(), |joined| Self { noted_singly: Some(reading), ground: self.ground, ..joined });
        }
        same
    }
}

/// One thing that was read: a bench target, which may be read at several depths, or a find.
#[derive(Debug, Clone, PartialEq)]
pub struct Specimen {
    /// What the person calls it; empty for a find.
    pub name: String,
    /// Its passes, depth by depth.
    pub passes: Vec<Passes>,
}

impl Specimen {
    /// Its distinct numbers, rising, with weights that add up to 1.
    pub(super) fn points(&self) -> Vec<(f64, f64)> {
        let mut all: Vec<f64> = self.passes.iter().flat_map(|p| p.numbers.iter().map(|n| n.round())).collect();
        all.sort_by(f64::total_cmp);
        let each = 1.0 / all.len() as f64;
        let same = all.chunk_by(|a, b| a == b);
        same.filter_map(|same| Some((*same.first()?, each * same.len() as f64))).collect()
    }
}

/// Everything read of one kind with one set-up.
#[derive(Debug, Clone, PartialEq)]
pub struct KindEvidence {
    /// The kind.
    pub kind: Kind,
    /// Its specimens, bench targets first.
    pub specimens: Vec<Specimen>,
    /// Bench readings, whether or not a number came.
    pub readings: usize,
    /// Bench readings at which no number came.
    pub unheard: usize,
    /// Finds with a target ID.
    pub finds: usize,
    /// Bench readings called steady, jumpy and broken.
    pub words: [usize; 3],
    /// Every number as it came, with the depth, metres, if known.
    pub raw: Vec<(Option<f64>, f64)>,
}

/// Everything read with one set-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Kind by kind, in order of key.
    pub kinds: Vec<KindEvidence>,
    /// Readings of the bare hole.
    pub controls: usize,
    /// Readings of the bare hole at which a number came: the ground itself speaks.
    pub controls_heard: usize,
    /// Targets that were read both before and after some of the top had been scraped off.
    pub scraped: Scraped,
    /// The ground that the set-up notes: that of all that notes none of its own.
    pub ground: Option<Ground>,
}

/// Readings of the same targets before and after some of the top was scraped off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Scraped {
    /// Readings before, heard and made.
    pub before: (usize, usize),
    /// Readings after, heard and made.
    pub after: (usize, usize),
}

impl Scraped {
    fn from_readings(readings: &[&BenchReading]) -> Self {
        type Counts = [(usize, usize); 2];
        let mut targets: BTreeMap<(&Kind, &str), Counts> = BTreeMap::new();
        for r in readings {
            let Some(kind) = &r.kind else { continue };
            let counts = &mut targets.entry((kind, r.target.trim())).or_default()[usize::from(r.scraped_m.is_some())];
            counts.0 += usize::from(!r.target_ids.is_empty());
            counts.1 += 1;
        }
        let mut scraped = Self::default();
        for [before, after] in targets.into_values().filter(|[before, after]| before.1 > 0 && after.1 > 0) {
            scraped.before = (scraped.before.0 + before.0, scraped.before.1 + before.1);
            scraped.after = (scraped.after.0 + after.0, scraped.after.1 + after.1);
        }
        scraped
    }
}

pub(super) fn word_index(word: Steadiness) -> usize {
    match word {
        Steadiness::Steady => 0,
        Steadiness::Jumpy => 1,
        Steadiness::Broken => 2,
    }
}

/// Bench readings made with a set-up, in order of uid.
pub(super) fn readings_of(book: &BenchTables, setup: Uid) -> impl Iterator<Item = &BenchReading> {
    book.bench().values().filter(move |r| r.setup == setup)
}

/// Finds with a target ID made on outings with a set-up, on every beach, in order of uid.
pub(super) fn finds_with(book: &BenchTables, setup: Uid) -> impl Iterator<Item = (&Find, f64)> {
    let with = move |f: &&Find| f.outing.and_then(|o| book.outings().get(&o)).is_some_and(|o| o.setup == Some(setup));
    book.finds().values().filter(with).filter_map(|f| Some((f, f.target_id.filter(|t| t.is_finite())?)))
}

impl Evidence {
    /// What the book holds for a set-up. Finds whose kind is not known are left out: they teach nothing.
    pub fn from_book(book: impl Into<BenchTables>, setup: Uid) -> Self {
        let book = &book.into();
        let ground = book.setups().get(&setup).and_then(|s| s.ground);
        Self::from_records(readings_of(book, setup), finds_with(book, setup)).with_ground(ground)
    }

    /// The same where the set-up notes the ground it is used on.
    pub(super) fn with_ground(mut self, ground: Option<Ground>) -> Self {
        self.ground = ground;
        for passes in self.kinds.iter_mut().flat_map(|k| &mut k.specimens).flat_map(|s| &mut s.passes) {
            passes.ground = passes.ground.or(ground);
        }
        self
    }

    /// The same from records at hand, all of one set-up.
    pub fn from_records<'a>(
        readings: impl IntoIterator<Item = &'a BenchReading>,
        finds: impl IntoIterator<Item = (&'a Find, f64)>,
    ) -> Self {
        let mut kinds: BTreeMap<Kind, KindEvidence> = BTreeMap::new();
        let (mut controls, mut controls_heard) = (0, 0);
        let readings: Vec<&BenchReading> = readings.into_iter().collect();
        for reading in &readings {
            let Some(kind) = &reading.kind else {
                controls += 1;
                controls_heard += usize::from(!reading.target_ids.is_empty());
                continue;
            };
            let e = kinds.entry(kind.clone()).or_insert_with(|| KindEvidence::new(kind));
            e.take_reading(reading);
        }
        for (find, id) in finds {
            if find.kind.key() == "other" {
                continue;
            }
            let e = kinds.entry(find.kind.clone()).or_insert_with(|| KindEvidence::new(&find.kind));
            e.finds += 1;
            e.raw.push((find.depth_m, id));
            let passes = Passes::from_ids(find.depth_m, &[id]).into_iter().collect();
            e.specimens.push(Specimen { name: String::new(), passes });
        }
        let (kinds, scraped) = (kinds.into_values().collect(), Scraped::from_readings(&readings));
        Self { kinds, controls, controls_heard, scraped, ground: None }
    }

    /// The same without the finds of kinds of which the bench has targets enough, if there are any such finds: what was dug was
    /// chosen by its sound where signals were left, so it does not tell how all of a kind sounds.
    pub(super) fn without_chosen(&self) -> Option<Self> {
        let chosen = |k: &KindEvidence| k.finds > 0 && k.specimens.len() >= k.finds + ENOUGH;
        if !self.kinds.iter().any(chosen) {
            return None;
        }
        let mut without = self.clone();
        for kind in without.kinds.iter_mut().filter(|k| chosen(k)) {
            // They come after the bench's, one number each.
            kind.specimens.truncate(kind.specimens.len() - kind.finds);
            kind.raw.truncate(kind.raw.len() - kind.finds);
            kind.finds = 0;
        }
        Some(without)
    }

    /// Whether no number was read of any kind.
    pub fn is_empty(&self) -> bool {
        self.kinds.iter().all(|k| k.raw.is_empty())
    }

    /// Mean depth of all that was read, metres.
    pub(super) fn usual_depth_m(&self) -> f64 {
        let depths: Vec<f64> = self.kinds.iter().flat_map(|k| k.raw.iter().filter_map(|r| r.0)).collect();
        if depths.is_empty() { DEPTH_M } else { depths.iter().sum::<f64>() / depths.len() as f64 }
    }

    /// Lowest and highest number that ever came, if any did.
    pub fn range(&self) -> Option<(f64, f64)> {
        let all = || self.kinds.iter().flat_map(|k| k.raw.iter().map(|r| r.1));
        all().next()?;
        Some((all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)))
    }
}

impl KindEvidence {
    fn new(kind: &Kind) -> Self {
        Self { kind: kind.clone(), specimens: Vec::new(), readings: 0, unheard: 0, finds: 0, words: [0; 3], raw: Vec::new() }
    }

    fn take_reading(&mut self, reading: &BenchReading) {
        self.readings += 1;
        if let Some(word) = reading.steadiness {
            self.words[word_index(word)] += 1;
        }
        let ids: Vec<f64> = reading.target_ids.iter().map(|id| f64::from(*id)).collect();
        let Some(passes) = Passes::from_ids(Some(reading.depth_m), &ids) else {
            self.unheard += 1;
            return;
        };
        self.raw.extend(ids.iter().map(|id| (Some(reading.depth_m), *id)));
        let name = reading.target.trim();
        // Some note each pass by itself: such readings of a target at one depth are its passes.
        let how = HowRead::of(reading);
        let single = if let [id] = ids.as_slice() { Some(*id) } else { None };
        let passes = Passes { noted_singly: single.map(|_| how), ground: reading.ground, ..passes };
        match self.specimens.iter_mut().find(|s| s.name == name && !name.is_empty()) {
            Some(specimen) => {
                let joins = |id: f64| specimen.passes.iter_mut().any(|p| p.joined(reading.depth_m, id, how));
                if !single.is_some_and(joins) {
                    specimen.passes.push(passes);
                }
            }
            None => self.specimens.push(Specimen { name: name.to_owned(), passes: vec![passes] }),
        }
    }
}
