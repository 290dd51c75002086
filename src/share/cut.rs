//! A book cut down to what one permission lets its holder see.

use geo::{Contains, Distance, Euclidean};
use geo_types::{Coord, Point};

use crate::book::{Access, Book, BookError, Edit, Find, Kind, Permission, Record, RecordKind, Signal, Storm, Telling, Zone};
use crate::earth::{LonLat, SquareSide};

/// What is hidden of a position where the permission names nothing, metres.
pub const USUAL_GRID_M: f64 = 100.0;

/// Why a book could not be cut down.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutError {
    /// A record that does not fit.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The beach of the permission is gone.
    #[error("the beach of the permission \"{0}\" is not in the book")]
    NoBeach(String),
}

/// How finely places are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precision {
    /// Where they are.
    Exact,
    /// As the squares of a grid fixed to the earth in which they lie.
    Squares(SquareSide),
    /// Not at all.
    Withheld,
}

impl Precision {
    /// How finely the places of one kind may be told.
    pub fn granted_for(permission: &Permission, kind: &Kind) -> Self {
        match permission.rule_for(kind) {
            None => Self::granted(permission),
            Some(Telling::Exact) => Self::Exact,
            Some(Telling::M10) => Self::Squares(SquareSide::M10),
            Some(Telling::M100) => Self::Squares(SquareSide::M100),
            Some(Telling::Km1) => Self::Squares(SquareSide::Km1),
            Some(Telling::Withheld) => Self::Withheld,
        }
    }

    /// How it is said.
    pub fn said(self) -> String {
        match self {
            Self::Exact => "exact".to_owned(),
            Self::Squares(side) => format!("as squares of {}", metres(side)),
            Self::Withheld => "withheld".to_owned(),
        }
    }

    /// What a permission grants where no kind is named.
    pub fn granted(permission: &Permission) -> Self {
        // A grid that is named as well asks for less.
        if permission.exact_positions && permission.coarsen_m.is_none() {
            Self::Exact
        } else {
            Self::Squares(SquareSide::of_at_least(permission.coarsen_m.unwrap_or(USUAL_GRID_M)))
        }
    }
}

/// A side as people say it.
pub(super) fn metres(side: SquareSide) -> String {
    if side.m() < 1000.0 { format!("{:.0} m", side.m()) } else { format!("{:.0} km", side.m() / 1000.0) }
}

/// What is left for one permission's holder, and the sentences that say so.
#[derive(Debug, Clone)]
pub struct CutBook {
    /// The beach, its shape and tide; finds and signals within the permission's ground where they lie, under the ids that
    /// its holder knows them by. No tracks, no other permissions, no private notes. It is what is read; what leaves tells
    /// places no finer than `precision`.
    pub book: Book,
    /// How finely places may be told.
    pub precision: Precision,
    /// What was left out and changed.
    pub said: Vec<String>,
}

/// Cuts a book down to one permission.
///
/// # Errors
/// When the beach is missing or a record cannot be laid on it.
pub fn cut_to(book: &Book, permission: &Permission) -> Result<CutBook, CutError> {
    let beach = book.beaches().get(&permission.beach).ok_or_else(|| CutError::NoBeach(permission.name.clone()))?;
    let precision = Precision::granted(permission);
    let inside = |at: LonLat| {
        let point = Point::from(Coord::from(at));
        // A position on the very edge belongs to the permission's ground.
        permission.area.contains(&point) || Euclidean.distance(&point, &permission.area) == 0.0
    };
    let (mut kept, mut left) = (Vec::new(), 0);
    for record in on_beach(book, permission) {
        match record {
            Record::Find(f) if inside(f.at) => kept.push(Record::Find(Find {
                uid: f.uid.disguised(permission.key),
                outing: None,
                notes: String::new(),
                photo: String::new(),
                ..worded(public(f), precision)
            })),
            Record::Signal(s) if inside(s.at) => {
                let uid = s.uid.disguised(permission.key);
                kept.push(Record::Signal(Signal { uid, outing: None, notes: String::new(), ..s }))
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
            Record::Permission(_)
            | Record::SeaRecord(_)
            | Record::Track(_)
            | Record::Outing(_)
            | Record::Plan(_)
            | Record::Receipt(_) => {}
            // Somebody's own names of grounds, drawn to the metre, tell more than squares.
            Record::Zone(_) if precision != Precision::Exact => {}
            Record::Zone(z) => kept.push(Record::Zone(Zone { notes: String::new(), ..z })),
            Record::Access(a) => kept.push(Record::Access(Access { notes: String::new(), ..a })),
            Record::Storm(s) => kept.push(Record::Storm(Storm { notes: String::new(), ..s })),
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
    said.push(match precision {
        Precision::Squares(side) => format!(
            "Finds and signals are told as the squares of {:.0} m in which they lie, of a grid that is fixed to the earth, and their times \
             as the day; so zones, clusters and rates by band are not part of it, nor words with figures that may be a place or a time. A \
             square at the edge of the ground or of the sand tells that much more.",
            side.m()
        ),
        Precision::Exact => "Positions are exact, as the permission allows.".to_owned(),
        Precision::Withheld => "Places are withheld.".to_owned(),
    });
    said.push("Tracks, outings, photos and private notes are not part of it.".to_owned());
    if !permission.report.is_empty() {
        said.push(format!("Asked to be reported: {}", permission.report));
    }
    Ok(CutBook { book: cut, precision, said })
}

/// A find whose words tell no place and no minute where those are not to be told.
fn worded(find: Find, precision: Precision) -> Find {
    if precision == Precision::Exact {
        return find;
    }
    let kept = |text: &str, digits: usize| if may_tell_a_place(text, digits) { String::new() } else { text.to_owned() };
    let what = if may_tell_a_place(&find.what, 5) { find.kind.label().to_owned() } else { find.what.clone() };
    Find { what, state: kept(&find.state, 5), age: kept(&find.age, 9), ..find }
}

/// Whether words may hold a position, a time or the name of a photograph: so many digits (an age may be two years), a figure
/// with two places and more or with minutes, or a letter of the compass at a figure.
fn may_tell_a_place(text: &str, most_digits: usize) -> bool {
    let chars: Vec<char> = text.chars().collect();
    let digits = chars.iter().filter(|c| c.is_ascii_digit()).count();
    let is_digit = |n: usize| chars.get(n).is_some_and(char::is_ascii_digit);
    let parted = |n: usize| {
        let (before, after) = (n > 0 && is_digit(n - 1), is_digit(n + 1) && is_digit(n + 2));
        before && after && matches!(chars[n], '.' | ',' | ':' | 'h' | '\u{b0}' | '\'' | '\u{2032}')
    };
    let compass = |n: usize| {
        let alone = n == 0 || !chars[n - 1].is_alphabetic();
        let beside = is_digit(n + 1) || (n > 0 && is_digit(n - 1) && chars.get(n + 1).is_none_or(|c| !c.is_alphabetic()));
        matches!(chars[n], 'N' | 'S' | 'E' | 'W') && alone && beside
    };
    digits >= most_digits || (0..chars.len()).any(|n| parted(n) || compass(n)) || chars.contains(&'\u{b0}')
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Beach, Kind, Uid};
    use geo_types::{MultiPolygon, polygon};

    fn filled(exact: bool) -> (Book, Permission) {
        let beach = Beach::new("Invented Bay", LonLat::new(-12.0, 48.9).unwrap());
        let area = MultiPolygon::new(vec![
            polygon![(x: -12.01, y: 48.89), (x: -12.0, y: 48.89), (x: -12.0, y: 48.91), (x: -12.01, y: 48.91)],
        ]);
        let permission = Permission {
            holder: "an invented estate".into(),
            report: "coins".into(),
            exact_positions: exact,
            coarsen_m: (!exact).then_some(100.0),
            ..Permission::new(beach.uid, "west half", area)
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
                assert!(!serde_json::to_string(find).unwrap().contains("private"), "{find:?}");
                assert_eq!(find.age, "of an invented century");
                let own = book.finds().values().find(|f| f.uid.disguised(permission.key) == *uid).unwrap();
                assert!(own.at == find.at && own.uid != find.uid && !cut.book.finds().contains_key(&own.uid));
            }
            let granted = if exact { Precision::Exact } else { Precision::Squares(SquareSide::M100) };
            assert_eq!(cut.precision, granted);
        }
    }

    #[test]
    fn words_that_may_be_a_place_a_time_or_a_photograph_are_known() {
        let telling = [
            "N50 20.480 W004 10.280",
            "2025-05-03 10:10:07",
            "IMG_20250503_101200",
            "ring at 50.341234, -4.171234 10:15",
            "coin 10:15",
            "SX 4567 8901",
            "50\u{b0} north",
        ];
        assert!(telling.iter().all(|t| may_tell_a_place(t, 5)));
        for text in ["penny", "penny, 1914", "20 pence", "gold ring 44", "ring, 2.5 g", "No 7", "E plated"] {
            assert!(!may_tell_a_place(text, 5), "{text}");
        }
        assert!(!may_tell_a_place("1950s to 1960s", 9) && may_tell_a_place("50.341234 -4.171234", 9));
    }

    #[test]
    fn the_same_holder_knows_a_find_again_and_another_does_not() {
        let (book, permission) = filled(false);
        let ids = |key: Uid| -> Vec<Uid> {
            cut_to(&book, &Permission { key, ..permission.clone() }).unwrap().book.finds().keys().copied().collect()
        };
        let (one, other) = (Uid::fresh(), Uid::fresh());
        assert_eq!(ids(one), ids(one));
        assert!(ids(one).iter().all(|id| !ids(other).contains(id)));
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
}
