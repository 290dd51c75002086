//! What the Log lists, in which order.

use std::sync::Arc;

use super::frame_context::FrameContext;
use crate::app::derived::Revision;
use crate::app::item::{Item, WeightChoice};
use crate::book::{Find, Kind, Uid};

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
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct LogFilter {
    pub(crate) listed: Listed,
    pub(crate) sort: SortBy,
    pub(crate) backwards: bool,
    pub(crate) text: String,
    pub(crate) kind: Option<Kind>,
    pub(crate) weight: WeightChoice,
    pub(crate) outing: Option<Uid>,
}

/// The rows last made and what they were made from.
#[derive(Debug, Clone, Default)]
pub(crate) struct Rows {
    key: Option<(LogFilter, Revision, Option<Uid>)>,
    items: Arc<Vec<Item>>,
}

impl Rows {
    /// The rows of a filter, made anew only when it or the book has changed.
    pub(crate) fn listed_by(&mut self, shown: &FrameContext<'_>, filter: &LogFilter) -> Arc<Vec<Item>> {
        let key = (filter.clone(), shown.revision, shown.beach.map(|b| b.uid));
        if self.key.as_ref() != Some(&key) {
            self.items = Arc::new(collect(shown, filter));
            self.key = Some(key);
        }
        Arc::clone(&self.items)
    }
}

fn collect(shown: &FrameContext<'_>, filter: &LogFilter) -> Vec<Item> {
    let Some(beach) = shown.beach else { return Vec::new() };
    let wanted = filter.text.trim().to_lowercase();
    let holds = |text: &str| wanted.is_empty() || text.to_lowercase().contains(&wanted);
    let mut items: Vec<Item> = match filter.listed {
        Listed::Finds => {
            let fits = |f: &&Find| {
                filter.kind.as_ref().is_none_or(|k| *k == f.kind)
                    && filter.weight.takes(f.weight_class())
                    && filter.outing.is_none_or(|o| f.outing == Some(o))
                    && (holds(&f.what) || holds(f.kind.label()) || holds(&f.notes))
            };
            let mut finds: Vec<&Find> = shown.book.finds_of(beach.uid).filter(fits).collect();
            finds.sort_by(|a, b| order(filter.sort, a, b).then(a.uid.cmp(&b.uid)));
            finds.into_iter().map(|f| Item::Find(f.uid)).collect()
        }
        Listed::Outings => {
            let outings = shown.book.outings_of(beach.uid).into_iter().rev();
            outings.filter(|o| holds(&o.name) || holds(&o.notes)).map(|o| Item::Outing(o.uid)).collect()
        }
        Listed::Bench => Vec::new(),
        Listed::Signals => {
            let mut signals: Vec<_> = shown.book.signals_of(beach.uid).filter(|s| holds(&s.notes)).collect();
            signals.retain(|s| filter.outing.is_none_or(|o| s.outing == Some(o)));
            signals.sort_by_key(|s| (std::cmp::Reverse(s.time), s.uid));
            signals.into_iter().map(|s| Item::Signal(s.uid)).collect()
        }
    };
    if filter.backwards {
        items.reverse();
    }
    items
}

/// Finds without the figure come last.
fn order(by: SortBy, a: &Find, b: &Find) -> std::cmp::Ordering {
    let falling = |x: Option<f64>, y: Option<f64>| y.unwrap_or(f64::NEG_INFINITY).total_cmp(&x.unwrap_or(f64::NEG_INFINITY));
    match by {
        SortBy::Time => b.time.cmp(&a.time),
        SortBy::What => a.what.to_lowercase().cmp(&b.what.to_lowercase()),
        SortBy::Depth => falling(a.depth_m, b.depth_m),
        SortBy::TargetId => falling(a.target_id, b.target_id),
    }
}
