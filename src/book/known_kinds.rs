use super::part::part;
use super::{Book, Kind, Kinds, Part as _, Typical};

part! {
    /// Where kinds stand.
    pub struct KindTables: own_kinds, finds, bench;
}

impl KindTables {
    /// Every kind there is to choose from: the shipped list, then the person's own by name, whether they have a
    /// row of their own or only stand with a find or bench reading.
    pub fn kinds(&self) -> Vec<Kind> {
        let rows = self.own_kinds.values().map(|k| &k.kind);
        let finds = self.finds.values().map(|f| &f.kind);
        let bench = self.bench.values().filter_map(|b| b.kind.as_ref());
        let own: std::collections::BTreeSet<&Kind> = rows.chain(finds).chain(bench).filter(|k| k.is_own()).collect();
        let mut own: Vec<Kind> = own.into_iter().cloned().collect();
        own.sort_by_cached_key(|k| (k.label().to_lowercase(), k.clone()));
        Kinds::shipped().all().iter().cloned().chain(own).collect()
    }
}

impl Book {
    /// As [`KindTables::kinds`].
    pub fn kinds(&self) -> Vec<Kind> {
        KindTables::of_book(self).kinds()
    }

    /// What is typical of a kind: the person's own figures first, then those of the shipped list. `None` for a
    /// kind of which nothing is known.
    pub fn typical(&self, kind: &Kind) -> Option<Typical> {
        let listed = Kinds::shipped().typical(kind).cloned();
        let Some(own) = self.own_kinds.values().find(|k| k.kind == *kind) else { return listed };
        Some(Typical { density_kg_m3: own.density_kg_m3, mass_g: own.mass_g, size_mm: own.size_mm, source: own.source.clone() })
    }

    /// The kind a person's own words speak of: one of their own by its whole name, else as the shipped list has it.
    pub fn recognise(&self, text: &str) -> Kind {
        let wanted = text.trim().to_lowercase();
        let own = self.own_kinds.values().find(|k| k.kind.label().to_lowercase() == wanted);
        own.map_or_else(|| Kinds::shipped().recognise(text), |k| k.kind.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Edit, KindGroup, OwnKind, Weight};

    #[test]
    fn a_kind_of_one_s_own_is_what_it_belongs_to_and_is_offered() {
        let kind = Kind::own(&Kind::keyed("button"), "  naval   button ").unwrap();
        assert_eq!((kind.key(), kind.label()), ("own:button:naval button", "naval button"));
        assert_eq!((kind.group(), kind.weight()), (KindGroup::Brass, Weight::Light));
        assert_eq!(Kinds::shipped().within(&kind), Some(&Kind::keyed("button")));
        assert_eq!(Kinds::shipped().recognise(kind.key()), kind, "files give it back");
        let mut book = Book::new();
        let row = OwnKind { mass_g: Some(7.5), source: "my own scales".into(), ..OwnKind::new(kind.clone()) };
        let undo = book.apply(&Edit::put(row)).unwrap();
        assert_eq!(book.kinds().last(), Some(&kind));
        assert_eq!(book.typical(&kind).unwrap().mass_g, Some(7.5));
        assert_eq!(book.recognise("Naval button"), kind);
        book.apply(&undo).unwrap();
        assert_eq!(book.kinds().len(), Kinds::shipped().all().len());
    }

    #[test]
    fn what_cannot_be_a_kind_of_one_s_own_is_refused() {
        assert_eq!(Kind::own(&Kind::keyed("coin"), "  "), None);
        assert_eq!(Kind::own(&Kind::keyed("no such kind"), "x"), None);
        // A particular kind lends its general one; an own kind as well.
        assert_eq!(Kind::own(&Kind::keyed("gb_20p"), "worn"), Kind::own(&Kind::keyed("coin"), "worn"));
        let own = Kind::own(&Kind::keyed("coin"), "worn").unwrap();
        assert_eq!(Kind::own(&own, "cut"), Kind::own(&Kind::keyed("coin"), "cut"));
        let mut book = Book::new();
        assert!(book.apply(&Edit::put(OwnKind::new(Kind::keyed("coin")))).is_err());
        let heavy = OwnKind { density_kg_m3: Some(1e9), ..OwnKind::new(own) };
        assert!(book.apply(&Edit::put(heavy)).is_err() && book.is_empty());
    }
}
