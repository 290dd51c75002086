//! A permission that comes again: the one of the book drawn or agreed anew, or another. None comes in beside the one there
//! without a word, as a find would then stand under both.

use geo::Centroid as _;
use geo_types::{LineString, MultiPolygon};

use super::{Mark, Taking};
use crate::book::{Permission, RecordKind, Uid, setup_name};
use crate::earth::{LonLat, distance_m};
use crate::exchange::take_in::unsettled::About;

/// What is said where a ground is drawn anew of which packs are in other hands.
const CROSSED: &str = "permission(s) get another ground, and packs were handed over for the old one: at its edge whoever has those and new ones can \
     tell places more narrowly than agreed";

impl Taking<'_> {
    /// The permission to be put into the book, if any: new, or the one there as the file has it.
    pub(super) fn settle_permission(&mut self, mark: Mark, file: &Permission) -> Option<Permission> {
        let book = self.book;
        // Of several of the file only one can be the one there.
        let is_changed = |uid: Uid| self.records.iter().any(|r| r.kind() == RecordKind::Permission && r.uid() == uid);
        let alike: Vec<&Permission> =
            book.permissions().values().filter(|p| is_called_alike(p, file) && !is_changed(p.uid)).collect();
        let away_m = |p: &&&Permission| match (middle(&p.area), middle(&file.area)) {
            (Some(a), Some(b)) => distance_m(a, b),
            _ => f64::INFINITY,
        };
        let nearest = alike.iter().min_by(|a, b| {
            (a.uid != file.uid, away_m(a)).partial_cmp(&(b.uid != file.uid, away_m(b))).unwrap_or(std::cmp::Ordering::Equal)
        });
        let Some(mine) = nearest.copied() else { return Some(file.clone()) };
        let (false, Some((changed, what))) = (alike.iter().any(|p| changed(p, file).is_none()), changed(mine, file)) else {
            *self.already_there.entry(RecordKind::Permission).or_default() += 1;
            return None;
        };
        let question = || {
            let holder = if mine.holder.is_empty() { String::new() } else { format!(" of {}", mine.holder) };
            format!(
                "the book has a permission \"{}\"{holder} already; the one at line {} has another {}: is it the same one, drawn or agreed \
                 anew?",
                mine.name,
                mark.line,
                what.join(", another ")
            )
        };
        match self.settle(About::Permission, question, None) {
            Some("change") => {
                if what.contains(&GROUND) && book.receipts().values().any(|r| r.permission == mine.uid) {
                    self.count(mark.line, CROSSED);
                }
                Some(changed)
            }
            // The ground alone may make the same uid of it that the one in the book has.
            Some("each") => {
                let details = serde_json::to_vec(&Permission { key: file.uid, ..file.clone() }).unwrap_or_default();
                let apart = Uid::of_content("another permission", [details.as_slice()]);
                let uid = if book.holds(RecordKind::Permission, file.uid) { apart } else { file.uid };
                Some(Permission { uid, ..file.clone() })
            }
            Some(_) => {
                *self.already_there.entry(RecordKind::Permission).or_default() += 1;
                None
            }
            None => None,
        }
    }
}

/// Whether two permissions are of one beach, name and holder, as far as the file says.
fn is_called_alike(mine: &Permission, file: &Permission) -> bool {
    let same = |a: &str, b: &str| setup_name(a) == setup_name(b);
    let one_is_silent = mine.holder.trim().is_empty() || file.holder.trim().is_empty();
    mine.uid == file.uid
        || (mine.beach == file.beach
            && same(&mine.name, &file.name)
            && (same(&mine.holder, &file.holder) || (one_is_silent && !mine.name.trim().is_empty())))
}

fn middle(area: &MultiPolygon<f64>) -> Option<LonLat> {
    LonLat::try_from(geo_types::Coord::from(area.centroid()?)).ok()
}

const GROUND: &str = "ground";

/// The book's permission with what the file says otherwise, and what that is; `None` where it says nothing otherwise. What
/// the file does not say stays, and so do its uid, its key and thereby the ids that its holder knows.
fn changed(mine: &Permission, file: &Permission) -> Option<(Permission, Vec<&'static str>)> {
    let mut new = mine.clone();
    let mut what = Vec::new();
    if outlines(&mine.area) != outlines(&file.area) {
        new.area = file.area.clone();
        what.push(GROUND);
    }
    for (mine, theirs, name) in [
        (&mut new.holder, &file.holder, "holder"),
        (&mut new.terms, &file.terms, "wording of its terms"),
        (&mut new.report, &file.report, "thing to be reported"),
        (&mut new.agreed.contact, &file.agreed.contact, "contact"),
        (&mut new.agreed.papers, &file.agreed.papers, "set of papers"),
    ] {
        if !theirs.trim().is_empty() && mine.trim() != theirs.trim() {
            mine.clone_from(theirs);
            what.push(name);
        }
    }
    take(&mut new.from, file.from, "first day", &mut what);
    take(&mut new.to, file.to, "last day", &mut what);
    take(&mut new.hours, file.hours, "time of day", &mut what);
    take(&mut new.coarsen_m, file.coarsen_m, "size of squares", &mut what);
    take(&mut new.agreed.deepest_m, file.agreed.deepest_m, "greatest depth", &mut what);
    take(&mut new.agreed.holder_share, file.agreed.holder_share, "share of the value", &mut what);
    take(&mut new.agreed.due, file.agreed.due, "time to report", &mut what);
    take(&mut new.agreed.older_than, file.agreed.older_than, "least age", &mut what);
    if !file.agreed.places.is_empty() && mine.agreed.places != file.agreed.places {
        new.agreed.places.clone_from(&file.agreed.places);
        what.push("rule for places by kind");
    }
    // That places are exact is said by the word alone; that they are not, by nothing.
    if file.exact_positions && !mine.exact_positions {
        new.exact_positions = true;
        what.push("rule for places, which are then told exactly");
    }
    (!what.is_empty()).then_some((new, what))
}

fn take<T: PartialEq + Copy>(mine: &mut Option<T>, theirs: Option<T>, name: &'static str, what: &mut Vec<&'static str>) {
    if theirs.is_some() && *mine != theirs {
        *mine = theirs;
        what.push(name);
    }
}

/// The rings of a ground, each from its first corner in order of longitude and latitude on, one way round, to 1e-7 degrees:
/// programs that write a ground anew begin its rings elsewhere.
fn outlines(ground: &MultiPolygon<f64>) -> Vec<Vec<(i64, i64)>> {
    let ring = |ring: &LineString<f64>| {
        let mut corners: Vec<(i64, i64)> =
            ring.coords().map(|c| ((c.x * 1e7).round() as i64, (c.y * 1e7).round() as i64)).collect();
        corners.pop();
        let from_first = |mut corners: Vec<(i64, i64)>| {
            let first = corners.iter().enumerate().min_by_key(|(_, c)| **c).map_or(0, |(n, _)| n);
            corners.rotate_left(first);
            corners
        };
        let back = corners.iter().rev().copied().collect();
        from_first(corners).min(from_first(back))
    };
    let mut rings: Vec<_> = ground.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())).map(ring).collect();
    rings.sort();
    rings
}

#[cfg(test)]
mod tests {
    use geo_types::polygon;

    use super::*;

    #[test]
    fn a_ground_is_the_same_from_whichever_corner_it_is_drawn() {
        let of = |corners: Vec<(f64, f64)>| {
            outlines(&MultiPolygon(vec![geo_types::Polygon::new(LineString::from(corners), Vec::new())]))
        };
        let one = of(vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)]);
        assert_eq!(one, of(vec![(1.0, 1.0), (0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]));
        assert_eq!(one, of(vec![(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 0.0)]));
        assert_ne!(one, of(vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.1), (0.0, 0.0)]));
    }

    #[test]
    fn what_is_not_said_stays_and_so_does_the_key() {
        let ground = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0)]]);
        let mine = Permission {
            holder: "a trust".into(),
            coarsen_m: Some(100.0),
            ..Permission::new(Uid::fresh(), "Strand", ground.clone())
        };
        assert_eq!(changed(&mine, &Permission::new(mine.beach, "Strand", ground)), None);
        let wider = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 2.0, y: 0.0), (x: 1.0, y: 1.0)]]);
        let (new, what) = changed(&mine, &Permission::new(mine.beach, "Strand", wider.clone())).unwrap();
        assert_eq!((what, &new.area), (vec![GROUND], &wider));
        assert_eq!((new.uid, new.key, new.coarsen_m, new.holder.as_str()), (mine.uid, mine.key, Some(100.0), "a trust"));
    }
}
