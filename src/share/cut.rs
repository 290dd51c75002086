//! A book cut down to what one permission lets its holder see.

use geo::{Contains, Distance, Euclidean};
use geo_types::{Coord, Point};

use crate::book::{Book, BookError, Edit, Find, Permission, Record, RecordKind, Signal};
use crate::earth::{EarthError, Frame, Local, LonLat};

/// The grid to which positions are coarsened where the permission names none, metres.
pub const USUAL_GRID_M: f64 = 50.0;

/// Why a book could not be cut down.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutError {
    /// A record that does not fit.
    #[error(transparent)]
    Book(#[from] BookError),
    /// A position that cannot be laid on the beach.
    #[error(transparent)]
    Earth(#[from] EarthError),
    /// The beach of the permission is gone.
    #[error("the beach of the permission \"{0}\" is not in the book")]
    NoBeach(String),
}

/// What is left for one permission's holder, and the sentences that say so.
#[derive(Debug, Clone)]
pub struct CutBook {
    /// The beach, its shape and tide; finds and signals within the permission's ground, coarsened
    /// unless it grants exact positions. No tracks, no other permissions, no private notes.
    pub book: Book,
    /// What was left out and changed.
    pub said: Vec<String>,
}

/// Cuts a book down to one permission.
///
/// # Errors
/// When the beach is missing or a record cannot be laid on it.
pub fn cut_to(book: &Book, permission: &Permission) -> Result<CutBook, CutError> {
    let beach = book.beaches().get(&permission.beach).ok_or_else(|| CutError::NoBeach(permission.name.clone()))?;
    let frame = Frame::centred_on(beach.origin)?;
    let grid_m = (!permission.exact_positions).then(|| permission.coarsen_m.unwrap_or(USUAL_GRID_M));
    let inside = |at: LonLat| {
        let point = Point::from(Coord::from(at));
        // A position on the very edge belongs to the permission's ground.
        permission.area.contains(&point) || Euclidean.distance(&point, &permission.area) == 0.0
    };
    let coarse = |at: LonLat| grid_m.map_or(Ok(at), |m| coarsened(&frame, at, m));
    let (mut kept, mut left) = (Vec::new(), 0);
    for record in on_beach(book, permission) {
        match record {
            Record::Find(f) if inside(f.at) => kept.push(Record::Find(Find {
                at: coarse(f.at)?,
                outing: None,
                notes: String::new(),
                photo: String::new(),
                ..public(f)
            })),
            Record::Signal(s) if inside(s.at) => {
                kept.push(Record::Signal(Signal { at: coarse(s.at)?, outing: None, notes: String::new(), ..s }))
            }
            Record::Find(_) | Record::Signal(_) => left += 1,
            Record::Permission(p) if p.uid == permission.uid => kept.push(Record::Permission(p)),
            // What the beach's own water level stands on goes along: without it no band could be drawn.
            source @ (Record::Gauge(_) | Record::TideTable(_)) => {
                if beach.tide.record() == Some((source.kind(), source.uid())) {
                    kept.push(source);
                }
            }
            // The sea of every hour is no business of a permission; its storms are.
            Record::Permission(_) | Record::SeaRecord(_) | Record::Track(_) | Record::Outing(_) | Record::Plan(_) => {}
            shape => kept.push(shape),
        }
    }
    let mut cut = Book::new();
    let mut bare = beach.clone();
    bare.notes = String::new();
    bare.free = crate::book::FreeHours::default();
    let first = crate::book::Beach { tide: crate::book::TideChoice::None, ..bare.clone() };
    let mut edits = vec![Edit::put(first)];
    edits.extend(kept.into_iter().map(Edit::put));
    edits.push(Edit::put(bare));
    cut.apply(&Edit::Batch(edits))?;
    let mut said = vec![format!(
        "Cut down for the permission \"{}\"; {left} finds and signals outside its ground are left out.",
        permission.name
    )];
    said.push(match grid_m {
        Some(m) => format!("Positions are coarsened to the middles of a grid of {m:.0} m."),
        None => "Positions are exact, as the permission allows.".to_owned(),
    });
    said.push("Tracks, outings, photos and private notes are not part of it.".to_owned());
    if !permission.report.is_empty() {
        said.push(format!("Asked to be reported: {}", permission.report));
    }
    Ok(CutBook { book: cut, said })
}

/// A find without what is nobody else's: who found it and under what permission, its worth, what became of it, to whom it
/// was reported, and what else a file said of it.
fn public(find: Find) -> Find {
    let (finder, permission, value) = (String::new(), String::new(), String::new());
    let (disposal, reported, more) = (String::new(), String::new(), std::collections::BTreeMap::new());
    Find { finder, permission, value, disposal, reported, more, ..find }
}

fn on_beach<'b>(book: &'b Book, permission: &'b Permission) -> impl Iterator<Item = Record> + 'b {
    let kinds = RecordKind::ALL.iter().filter(|k| !matches!(k, RecordKind::Beach | RecordKind::Setup | RecordKind::Bench));
    kinds.flat_map(|k| book.records(*k)).filter(|r| r.names().contains(&(RecordKind::Beach, permission.beach)))
}

/// The middle of the square of a grid in the beach's plane in which a position lies.
fn coarsened(frame: &Frame, at: LonLat, grid_m: f64) -> Result<LonLat, EarthError> {
    let p = frame.to_local(at)?;
    let middle = |v: f64| ((v / grid_m).floor() + 0.5) * grid_m;
    frame.to_lonlat(Local::new(middle(p.east_m), middle(p.north_m)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Kind, Uid};
    use crate::earth::distance_m;
    use geo_types::{MultiPolygon, polygon};

    fn filled(exact: bool) -> (Book, Permission) {
        let beach = Beach::new("Invented Bay", LonLat::new(-12.0, 48.9).unwrap());
        let area = MultiPolygon::new(vec![
            polygon![(x: -12.01, y: 48.89), (x: -12.0, y: 48.89), (x: -12.0, y: 48.91), (x: -12.01, y: 48.91)],
        ]);
        let permission = Permission {
            uid: Uid::fresh(),
            beach: beach.uid,
            name: "west half".into(),
            holder: "an invented estate".into(),
            area,
            from: None,
            to: None,
            hours: None,
            terms: String::new(),
            report: "coins".into(),
            exact_positions: exact,
            coarsen_m: Some(100.0),
        };
        let mut book = Book::new();
        let at = |lon| LonLat::new(lon, 48.9).unwrap();
        let private = || String::from("private");
        let find = |lon| Find {
            notes: private(),
            finder: private(),
            permission: private(),
            value: private(),
            disposal: private(),
            reported: private(),
            more: [(private(), private())].into(),
            age: "of an invented century".into(),
            ..Find::new(beach.uid, at(lon), "coin", Kind::keyed("coin"))
        };
        let edits = [find(-12.005), find(-12.003), find(-11.995)].map(Edit::put);
        book.apply(&Edit::put(beach)).unwrap();
        book.apply(&Edit::Batch(edits.to_vec())).unwrap();
        book.apply(&Edit::put(permission.clone())).unwrap();
        (book, permission)
    }

    #[test]
    fn only_finds_on_its_ground_and_no_private_notes() {
        for exact in [true, false] {
            let (book, permission) = filled(exact);
            let cut = cut_to(&book, &permission).unwrap();
            assert_eq!(cut.book.finds().len(), 2);
            for (uid, find) in cut.book.finds() {
                let moved_m = distance_m(find.at, book.finds()[uid].at);
                assert!(!serde_json::to_string(find).unwrap().contains("private"), "{find:?}");
                assert_eq!(find.age, "of an invented century");
                if exact {
                    assert_eq!(moved_m, 0.0);
                } else {
                    assert!(moved_m <= 100.0 / 2f64.sqrt() + 0.01, "{moved_m}");
                }
            }
        }
    }

    #[test]
    fn what_the_water_level_stands_on_goes_along_and_other_records_of_water_stay() {
        let (mut book, permission) = filled(true);
        let beach = book.beaches().values().next().unwrap().clone();
        let gauge = |name: &str| crate::book::GaugeRecord {
            uid: Uid::fresh(),
            beach: beach.uid,
            name: name.into(),
            readings: vec![(jiff::Timestamp::UNIX_EPOCH, 1.0)],
        };
        let (used, other) = (gauge("logger"), gauge("broken logger"));
        let choice = crate::book::TideChoice::Gauge(used.uid);
        book.apply(&Edit::Batch(vec![Edit::put(used.clone()), Edit::put(other)])).unwrap();
        book.apply(&Edit::put(Beach { tide: choice.clone(), free: "sat 8-18".parse().unwrap(), ..beach.clone() })).unwrap();
        let cut = cut_to(&book, &permission).unwrap().book;
        assert_eq!(cut.gauges().values().collect::<Vec<_>>(), [&used]);
        assert_eq!(cut.beaches()[&beach.uid].tide, choice);
        assert!(cut.beaches()[&beach.uid].free.is_always(), "when someone has time is nobody else's");
    }

    #[test]
    fn coarse_positions_hide_where_in_the_square_a_find_lay() {
        let frame = Frame::centred_on(LonLat::new(-12.0, 48.9).unwrap()).unwrap();
        let at = |e, n| coarsened(&frame, frame.to_lonlat(Local::new(e, n)).unwrap(), 50.0).unwrap();
        assert_eq!(at(1.0, 1.0), at(49.0, 49.0));
        assert_ne!(at(1.0, 1.0), at(51.0, 1.0));
        assert_ne!(at(1.0, 1.0), at(-1.0, 1.0));
    }
}
