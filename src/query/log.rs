//! What the Log lists, and how much each outing brought.

use std::cmp::{Ordering, Reverse};
use std::collections::BTreeMap;

use super::{Item, Question, Refusal, Work};
use crate::book::part::part;
use crate::book::{Find, Kind, Uid};
use crate::reading::WeightChoice;

/// Which records the Log lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Listed {
    /// Things dug.
    #[default]
    Finds,
    /// Visits.
    Outings,
    /// Things heard and not dug.
    Signals,
    /// Known targets; a sheet of its own rather than a list.
    Bench,
}

/// What a list of finds is sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum SortBy {
    /// When, latest first.
    #[default]
    Time,
    /// The person's own words.
    What,
    /// Depth, deepest first.
    Depth,
    /// Target ID, highest first.
    TargetId,
}

/// What is listed and in which order.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LogFilter {
    pub(crate) listed: Listed,
    pub(crate) sort: SortBy,
    pub(crate) backwards: bool,
    pub(crate) text: String,
    pub(crate) kind: Option<Kind>,
    pub(crate) weight: WeightChoice,
    pub(crate) outing: Option<Uid>,
}

impl Default for LogFilter {
    fn default() -> Self {
        Self {
            listed: Listed::default(),
            sort: SortBy::default(),
            backwards: false,
            text: String::new(),
            kind: None,
            weight: WeightChoice::All,
            outing: None,
        }
    }
}

part! {
    /// What the Log can list.
    pub struct LogTables: outings, finds, signals;
}

/// The rows of the Log, in order.
#[derive(Clone, PartialEq)]
pub(crate) struct LogQuestion {
    pub(crate) tables: LogTables,
    pub(crate) beach: Uid,
    pub(crate) filter: LogFilter,
}

impl Question for LogQuestion {
    type Answer = Vec<Item>;
    const NAME: &'static str = "the list in the Log";
    /// Turning from one list to another and back costs nothing.
    const KEPT: usize = 4;

    fn work_out(&self, work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let (tables, filter) = (&self.tables, &self.filter);
        let wanted = filter.text.trim().to_lowercase();
        let holds = |text: &str| wanted.is_empty() || text.to_lowercase().contains(&wanted);
        let mut items: Vec<Item> = match filter.listed {
            Listed::Finds => {
                let fits = |f: &&Find| {
                    filter.kind.as_ref().is_none_or(|k| *k == f.kind)
                        && filter.weight.takes_find(f)
                        && filter.outing.is_none_or(|o| f.outing == Some(o))
                        && (holds(&f.what) || holds(f.kind.label()) || holds(&f.notes) || says(f, &holds))
                };
                let mut finds: Vec<&Find> = tables.finds_of(self.beach).filter(fits).collect();
                work.check()?;
                match filter.sort {
                    SortBy::What => finds.sort_by_cached_key(|f| (f.what.to_lowercase(), f.uid)),
                    by => finds.sort_by(|a, b| order(by, a, b).then(a.uid.cmp(&b.uid))),
                }
                finds.into_iter().map(|f| Item::Find(f.uid)).collect()
            }
            Listed::Outings => {
                let outings = tables.outings_of(self.beach).into_iter().rev();
                outings.filter(|o| holds(&o.name) || holds(&o.notes)).map(|o| Item::Outing(o.uid)).collect()
            }
            Listed::Bench => Vec::new(),
            Listed::Signals => {
                let mut signals: Vec<_> = tables.signals_of(self.beach).filter(|s| holds(&s.notes)).collect();
                signals.retain(|s| filter.outing.is_none_or(|o| s.outing == Some(o)));
                signals.sort_by_key(|s| (Reverse(s.time), s.uid));
                signals.into_iter().map(|s| Item::Signal(s.uid)).collect()
            }
        };
        if filter.backwards {
            items.reverse();
        }
        Ok(items)
    }
}

/// Finds without the figure come last.
fn order(by: SortBy, a: &Find, b: &Find) -> Ordering {
    let falling = |x: Option<f64>, y: Option<f64>| y.unwrap_or(f64::NEG_INFINITY).total_cmp(&x.unwrap_or(f64::NEG_INFINITY));
    match by {
        SortBy::Time => b.time.cmp(&a.time),
        SortBy::What => a.what.to_lowercase().cmp(&b.what.to_lowercase()),
        SortBy::Depth => falling(a.depth_m, b.depth_m),
        SortBy::TargetId => falling(a.target_id, b.target_id),
    }
}

part! {
    /// What outings brought.
    pub struct TallyTables: finds;
}

/// How many finds each outing of the book brought.
#[derive(Clone, PartialEq)]
pub(crate) struct TallyQuestion {
    pub(crate) tables: TallyTables,
}

impl Question for TallyQuestion {
    type Answer = BTreeMap<Uid, usize>;
    const NAME: &'static str = "the finds of each outing";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let mut finds = BTreeMap::new();
        for outing in self.tables.finds().values().filter_map(|f| f.outing) {
            *finds.entry(outing).or_default() += 1;
        }
        Ok(finds)
    }
}

/// Whether one of the fields that say whose a find is and what became of it holds the words sought.
fn says(find: &Find, holds: &impl Fn(&str) -> bool) -> bool {
    [&find.state, &find.finder, &find.permission, &find.value, &find.age, &find.disposal, &find.reported]
        .into_iter()
        .any(|t| holds(t))
        || find.more.values().any(|t| holds(t))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Progress;
    use crate::book::{Beach, Book, Edit, Outing, Part as _};
    use crate::earth::LonLat;

    #[test]
    fn finds_are_listed_in_the_order_asked_for_and_counted_by_outing() {
        let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
        let outing = Outing::new(beach.uid, "2026-05-01T08:00:00Z".parse().unwrap(), "2026-05-01T10:00:00Z".parse().unwrap());
        let find = |what: &str, depth_m: Option<f64>, outing: Option<Uid>| {
            let mut f = Find::new(beach.uid, beach.origin, what, Kind::keyed("coin"));
            (f.depth_m, f.outing) = (depth_m, outing);
            f
        };
        let all = [find("b", Some(0.1), Some(outing.uid)), find("A", Some(0.3), Some(outing.uid)), find("c", None, None)];
        let mut book = Book::new();
        book.apply(&Edit::Batch(vec![Edit::put(beach.clone()), Edit::put(outing.clone())])).unwrap();
        book.apply(&Edit::Batch(all.iter().cloned().map(Edit::put).collect())).unwrap();
        let listed = |filter: LogFilter| {
            let question = LogQuestion { tables: LogTables::of_book(&book), beach: beach.uid, filter };
            let items = question.work_out(&Work::unwatched(&Progress::new())).unwrap();
            items.iter().map(|i| all.iter().find(|f| Item::Find(f.uid) == *i).unwrap().what.clone()).collect::<String>()
        };
        assert_eq!(listed(LogFilter { sort: SortBy::What, ..LogFilter::default() }), "Abc");
        assert_eq!(listed(LogFilter { sort: SortBy::Depth, ..LogFilter::default() }), "Abc");
        assert_eq!(listed(LogFilter { sort: SortBy::Depth, backwards: true, ..LogFilter::default() }), "cbA");
        assert_eq!(listed(LogFilter { text: " B ".into(), ..LogFilter::default() }), "b");
        assert_eq!(listed(LogFilter { sort: SortBy::What, outing: Some(outing.uid), ..LogFilter::default() }), "Ab");
        let tally = TallyQuestion { tables: TallyTables::of_book(&book) };
        let counted = tally.work_out(&Work::unwatched(&Progress::new())).unwrap();
        assert_eq!(counted.into_iter().collect::<Vec<_>>(), [(outing.uid, 2)]);
    }
}
