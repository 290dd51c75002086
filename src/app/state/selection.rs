//! What is picked and pointed at: one set of values shared by every view.

use std::collections::BTreeSet;

use crate::book::Book;
use crate::query::Item;

/// What is picked, and what the pointer or the keyboard rests on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Selection {
    picked: BTreeSet<Item>,
    /// Counts up whenever something is picked or let go of.
    version: Version,
    /// The one picked last: its card is shown and its row is scrolled to.
    pub lead: Option<Item>,
    /// What the pointer rests on, for this frame and the next.
    pub hovered: Option<Item>,
}

/// A count of changes, of no account when selections are compared.
#[derive(Debug, Clone, Copy, Default)]
struct Version(u64);

impl PartialEq for Version {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Selection {
    /// Another one whenever something is picked or let go of.
    pub(crate) fn version(&self) -> u64 {
        self.version.0
    }

    /// Picks one thing and lets go of the rest.
    pub fn only(&mut self, item: Item) {
        self.version.0 += 1;
        self.picked.clear();
        self.picked.insert(item);
        self.lead = Some(item);
    }

    /// Adds a thing, or lets go of it when it was picked.
    pub fn toggle(&mut self, item: Item) {
        self.version.0 += 1;
        if self.picked.remove(&item) {
            self.lead = self.picked.last().copied();
        } else {
            self.picked.insert(item);
            self.lead = Some(item);
        }
    }

    /// Picks all of these and nothing else.
    pub fn these(&mut self, items: impl IntoIterator<Item = Item>) {
        self.version.0 += 1;
        self.picked = items.into_iter().collect();
        self.lead = self.picked.first().copied();
    }

    /// Lets go of everything.
    pub fn clear(&mut self) {
        self.version.0 += 1;
        self.picked.clear();
        self.lead = None;
    }

    /// Whether it is picked.
    pub fn holds(&self, item: Item) -> bool {
        self.picked.contains(&item)
    }

    /// Everything picked, in a fixed order.
    pub fn items(&self) -> impl Iterator<Item = Item> + '_ {
        self.picked.iter().copied()
    }

    /// How many things are picked.
    pub fn len(&self) -> usize {
        self.picked.len()
    }

    /// Whether nothing is picked.
    pub fn is_empty(&self) -> bool {
        self.picked.is_empty()
    }

    /// Lets go of what the book no longer holds; called at the start of a frame.
    pub(crate) fn settle(&mut self, book: &Book) {
        self.version.0 += 1;
        let there = |item: &Item| item.record().is_none_or(|(kind, uid)| book.holds(kind, uid));
        self.picked.retain(there);
        self.lead = self.lead.filter(there).or_else(|| self.picked.first().copied());
        self.hovered = self.hovered.filter(there);
    }

    /// Lets go of clusters and bands, whose numbers mean nothing in another reading.
    pub(crate) fn drop_reading(&mut self) {
        self.version.0 += 1;
        self.picked.retain(|i| i.record().is_some());
        self.lead = self.lead.filter(|i| i.record().is_some());
        self.hovered = self.hovered.filter(|i| i.record().is_some());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn toggling_twice_lets_go_and_the_lead_moves_on() {
        let (a, b) = (Item::Cluster(0), Item::Cluster(1));
        let mut s = Selection::default();
        s.only(a);
        s.toggle(b);
        assert_eq!((s.len(), s.lead), (2, Some(b)));
        s.toggle(b);
        assert_eq!((s.len(), s.lead), (1, Some(a)));
    }

    #[test]
    fn what_left_the_book_is_let_go() {
        let mut s = Selection::default();
        s.these([Item::Find(crate::book::Uid::of_content("find", [])), Item::Cluster(3)]);
        s.settle(&Book::new());
        assert_eq!(s.items().collect::<Vec<_>>(), [Item::Cluster(3)]);
        s.drop_reading();
        assert!(s.is_empty() && s.lead.is_none());
    }
}
