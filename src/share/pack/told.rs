//! Finds and outings as they are told: each field is here or does not leave.

use std::collections::{BTreeMap, BTreeSet};

use geo_types::MultiPolygon;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::PackAsk;
use super::places::{AreaId, Areas};
use super::words::{Of, kept, may_leave};
use crate::allowed::{AllowedTables, PermittedGround, Why, flags};
use crate::book::{Book, Find, Outing, Part as _, Permission, RecordKind, Uid, latest_year};
use crate::earth::{LonLat, SquareSide};
use crate::share::Precision;

/// Where a find lay, as it is told.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Place {
    /// There.
    Exact(LonLat),
    /// Somewhere in an area of squares of a side.
    Area(AreaId, SquareSide, MultiPolygon<f64>),
    /// It is not told.
    Withheld,
}

/// A find as it is told.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ToldFind {
    /// What its holder knows it by.
    pub(super) id: Uid,
    /// Its uid in the book, which does not leave.
    pub(super) own: Uid,
    pub(super) day: Option<Date>,
    /// Only where its place is told exactly.
    pub(super) time: Option<Timestamp>,
    pub(super) what: String,
    /// Whether other words for it were noted than are told.
    pub(super) what_dropped: bool,
    pub(super) kind: String,
    pub(super) material: Option<&'static str>,
    pub(super) age: String,
    pub(super) depth_m: Option<f64>,
    pub(super) mass_g: Option<f64>,
    pub(super) size_mm: Option<f64>,
    pub(super) state: String,
    pub(super) reported: String,
    pub(super) done_with: String,
    pub(super) rubbish: bool,
    pub(super) place: Place,
    /// What stands against it: that it came before or after the permission, and, where its place is told exactly, that it lay
    /// on closed ground; empty where nothing does.
    pub(super) remark: String,
    /// The name of its photograph in the book, which does not leave.
    pub(super) photo: String,
}

/// How much ground an outing covered, as it is told.
///
/// Of places that are not told exactly a small figure would tell where they are: with a find on a visit that covered a few
/// square metres of the ground and hours of what lies beside it, the find lies at the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Covered {
    /// No track shows any.
    NotNoted,
    /// It is not told.
    NotTold,
    /// Less than this, m².
    Below(f64),
    /// About this, m².
    About(f64),
}

/// Covered ground is told to so many metres times the side of the squares: even with a swath of 2 m a visit that covered less
/// may have come from the edge and gone back to it across any square.
const STEP_M: f64 = 10.0;
/// ... and to this where every place is told exactly, m².
const EXACT_STEP_M2: f64 = 10.0;

/// The steps in which covered ground is told, m²; `None`: it is not.
fn step_m2(permission: &Permission) -> Option<f64> {
    match Precision::coarsest(permission) {
        Precision::Exact => Some(EXACT_STEP_M2),
        Precision::Squares(side) => Some(STEP_M * side.m()),
        Precision::Withheld => None,
    }
}

impl Covered {
    /// Of an outing that has a track or none.
    fn told(m2: Option<f64>, is_tracked: bool, permission: &Permission) -> Self {
        let Some(step_m2) = step_m2(permission) else { return Self::NotTold };
        let is_exact = Precision::coarsest(permission) == Precision::Exact;
        match m2 {
            Some(m2) if is_exact || m2 >= step_m2 => Self::About((m2 / step_m2).round() * step_m2),
            // A track that shows nothing at all here is told from one that shows little by no one.
            Some(_) => Self::Below(step_m2),
            None if is_tracked && !is_exact => Self::Below(step_m2),
            None => Self::NotNoted,
        }
    }
}

/// An outing as it is told: it has no place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ToldOuting {
    pub(super) id: Uid,
    pub(super) day: Date,
    /// To the quarter of an hour.
    pub(super) hours: f64,
    /// Ground of the permission that was covered.
    pub(super) covered: Covered,
    /// How many of the finds told were made on it.
    pub(super) finds: usize,
    pub(super) holes_filled: Option<bool>,
    pub(super) litter_kg: Option<f64>,
    /// That it came before or after the permission; empty where it did not.
    pub(super) remark: String,
}

/// How many finds on the beach are not told, by why.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct LeftOut {
    pub(super) outside: usize,
    pub(super) of_another: usize,
    pub(super) other_permission: usize,
    pub(super) other_time: usize,
    /// Without a day, where a time is asked for.
    pub(super) undated: usize,
    pub(super) younger: usize,
    pub(super) told_before: usize,
}

/// What is told.
pub(super) struct Told {
    pub(super) finds: Vec<ToldFind>,
    pub(super) outings: Vec<ToldOuting>,
    pub(super) left: LeftOut,
    /// How many of the finds told lay on ground that was closed on their day. Which ones is told only where their place is: it
    /// would narrow that down.
    pub(super) on_closed: usize,
    /// How many of these are told where they lay: only those are for the holder, who knows the closed ground.
    pub(super) on_closed_exact: usize,
    /// The steps in which covered ground is told, m²; `None`: it is not.
    pub(super) step_m2: Option<f64>,
}

/// What of a book is told to a permission's holder; `covered_m2` is the ground of the permission that each outing covered.
pub(super) fn tell(
    book: &Book,
    permission: &Permission,
    ask: &PackAsk,
    zone: &TimeZone,
    covered_m2: &BTreeMap<Uid, f64>,
) -> Told {
    let ground = PermittedGround::new(&permission.area);
    let day_of = |time: Timestamp| zone.to_datetime(time).date();
    let before: BTreeSet<Uid> = if ask.new_only {
        book.receipts().values().filter(|r| r.permission == permission.uid).flat_map(|r| r.finds.iter().copied()).collect()
    } else {
        BTreeSet::new()
    };
    let closed: BTreeSet<Uid> =
        flags(&AllowedTables::of_book(book), permission.beach).iter().filter(|f| f.why == Why::Closed).map(|f| f.uid).collect();
    let mut areas = Areas::of_ground(&permission.area);
    let (mut finds, mut left, mut by_outing) = (Vec::new(), LeftOut::default(), BTreeMap::<Uid, usize>::new());
    for find in book.finds_of(permission.beach) {
        let day = find.time.map(day_of);
        let count = if !ground.holds(find.at) || is_of_the_ground_beside(book, permission, &ground, find) {
            &mut left.outside
        } else if find.is_of_another() {
            &mut left.of_another
        } else if is_under_another(book, permission, find) {
            &mut left.other_permission
        } else if !ask.takes(day) {
            if day.is_some() { &mut left.other_time } else { &mut left.undated }
        } else if is_younger(permission, find) {
            &mut left.younger
        } else if before.contains(&find.uid) {
            // A visit is told with the same figures in every account.
            if let Some(outing) = find.outing {
                *by_outing.entry(outing).or_default() += 1;
            }
            &mut left.told_before
        } else {
            if let Some(outing) = find.outing {
                *by_outing.entry(outing).or_default() += 1;
            }
            let told = told(find, permission, day, &mut areas);
            let exactly = closed.contains(&find.uid) && matches!(told.place, Place::Exact(_));
            let remarks = [not_then(permission, day), exactly.then_some("on closed ground")];
            finds.push(ToldFind { remark: remarks.into_iter().flatten().collect::<Vec<_>>().join("; "), ..told });
            continue;
        };
        *count += 1;
    }
    // By the day and then by an id that says nothing, so that no order of the book is left.
    finds.sort_by_key(|f| (f.day.is_none(), f.day, f.id));
    let outings = outings(book, permission, ask, &day_of, covered_m2, &by_outing);
    let on_closed = finds.iter().filter(|f| closed.contains(&f.own)).count();
    let is_exact = |f: &&ToldFind| matches!(f.place, Place::Exact(_));
    let on_closed_exact = finds.iter().filter(is_exact).filter(|f| closed.contains(&f.own)).count();
    Told { finds, outings, left, on_closed, on_closed_exact, step_m2: step_m2(permission) }
}

/// That a day lies before or after the days of the permission.
fn not_then(permission: &Permission, day: Option<Date>) -> Option<&'static str> {
    let day = day?;
    if permission.to.is_some_and(|to| day > to) {
        Some("after the permission ended")
    } else if permission.from.is_some_and(|from| day < from) {
        Some("before the permission began")
    } else {
        None
    }
}

/// Whether a find on the very edge of the ground belongs to one beside it: a find in the packs of two grounds that only touch would
/// lie on the line between them. It is told of the first of them by uid, unless it names the other.
fn is_of_the_ground_beside(book: &Book, permission: &Permission, ground: &PermittedGround<'_>, find: &Find) -> bool {
    if !ground.has_on_edge(find.at) || is_named(find, permission) {
        return false;
    }
    let beside = book.permissions().values().filter(|p| p.beach == permission.beach && p.uid < permission.uid);
    beside
        .map(|p| PermittedGround::new(&p.area))
        .any(|other| other.has_on_edge(find.at) && !other.crosses_itself() && ground.only_touches(&other))
}

/// Whether a find names a permission as the one it was found under.
fn is_named(find: &Find, permission: &Permission) -> bool {
    let plain = |name: &str| name.trim().to_lowercase();
    !find.permission.trim().is_empty() && plain(&find.permission) == plain(&permission.name)
}

/// Whether it was found under another permission of the book, by the name that stands with it.
fn is_under_another(book: &Book, permission: &Permission, find: &Find) -> bool {
    !is_named(find, permission) && book.permissions().values().any(|p| p.uid != permission.uid && is_named(find, p))
}

/// Whether it is known to be younger than the holder wants to hear of.
fn is_younger(permission: &Permission, find: &Find) -> bool {
    let year = latest_year(&find.age).or_else(|| latest_year(&find.what));
    permission.agreed.older_than.is_some_and(|least| year.is_some_and(|year| year >= least))
}

fn told(find: &Find, permission: &Permission, day: Option<Date>, areas: &mut Areas) -> ToldFind {
    let precision = Precision::granted_for(permission, &find.kind);
    let exact = precision == Precision::Exact;
    let place = match precision {
        Precision::Exact => Place::Exact(find.at),
        Precision::Withheld => Place::Withheld,
        Precision::Squares(side) => {
            let id = areas.around(find.at, side);
            let (side, outline) = areas.outline(id);
            Place::Area(id, side, outline)
        }
    };
    let bare = find.what.is_empty() || (!exact && !may_leave(&find.what, Of::Thing));
    // The words of a kind of one's own are somebody's own.
    let kind = kept(find.kind.label(), exact || !find.kind.is_own(), Of::Thing);
    ToldFind {
        id: find.uid.disguised(permission.key),
        own: find.uid,
        day,
        time: find.time.filter(|_| exact),
        what_dropped: bare && !find.what.is_empty(),
        what: if bare { kind.clone() } else { find.what.clone() },
        kind,
        material: find.material.map(|m| m.label()),
        age: kept(&find.age, exact, Of::Age),
        // To the millimetre: inches come back as long figures.
        depth_m: find.depth_m.map(|m| (1000.0 * m).round() / 1000.0),
        mass_g: find.mass_g,
        size_mm: find.size_mm,
        state: kept(&find.state, exact, Of::Thing),
        reported: kept(&find.reported, exact, Of::Report),
        done_with: kept(&find.disposal, exact, Of::Report),
        rubbish: find.kind.is_rubbish(),
        place,
        remark: String::new(),
        photo: find.photo.clone(),
    }
}

fn outings(
    book: &Book,
    permission: &Permission,
    ask: &PackAsk,
    day_of: &impl Fn(Timestamp) -> Date,
    covered_m2: &BTreeMap<Uid, f64>,
    by_outing: &BTreeMap<Uid, usize>,
) -> Vec<ToldOuting> {
    let all = book.outings_of(permission.beach);
    let tracked: BTreeSet<Uid> = book.tracks_of(permission.beach).filter_map(|t| t.outing).collect();
    let finding: BTreeSet<Uid> = book.finds_of(permission.beach).filter_map(|f| f.outing).collect();
    let alone = book.permissions().values().filter(|p| p.beach == permission.beach).count() == 1;
    // Of an outing that shows neither track nor find nobody knows on which ground it was.
    let elsewhere = |o: &Outing| tracked.contains(&o.uid) || finding.contains(&o.uid) || !alone;
    let was_here = |o: &Outing| covered_m2.contains_key(&o.uid) || by_outing.contains_key(&o.uid) || !elsewhere(o);
    let mut told: Vec<ToldOuting> = all
        .into_iter()
        .filter(|o| was_here(o) && ask.takes(Some(day_of(o.start))))
        .map(|o| ToldOuting {
            id: o.uid.disguised(permission.key),
            day: day_of(o.start),
            hours: (o.end.duration_since(o.start).as_secs_f64() / 900.0).round() / 4.0,
            covered: Covered::told(covered_m2.get(&o.uid).copied(), tracked.contains(&o.uid), permission),
            finds: by_outing.get(&o.uid).copied().unwrap_or(0),
            holes_filled: o.holes_filled,
            litter_kg: o.litter_kg,
            remark: not_then(permission, Some(day_of(o.start))).unwrap_or_default().to_owned(),
        })
        .collect();
    told.sort_by_key(|o| (o.day, o.id));
    told
}

/// What a receipt counts as handed over.
pub(super) fn own_uids(finds: &[ToldFind]) -> Vec<Uid> {
    let mut all: Vec<Uid> = finds.iter().map(|f| f.own).collect();
    all.sort_unstable();
    all
}

/// How many records of a kind are in a table, for people.
pub(super) fn counted(n: usize, kind: RecordKind) -> String {
    kind.counted(n)
}
