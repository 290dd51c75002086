//! A pack, composed: every file of it, what is said beside it, what exactly leaves, and the receipt.

use std::collections::BTreeMap;

use geo::{BoundingRect as _, MapCoords as _};
use geo_types::{Coord, MultiPolygon};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::PackAsk;
use super::account::{Account, against};
use super::counted::{Sums, ToldAreas};
use super::manifest::manifest;
use super::told::{Place, Told, ToldFind, counted, own_uids, tell};
use super::{photos, sheets};
use crate::allowed::PermittedGround;
use crate::book::{Book, Permission, Receipt, RecordKind, Uid, Zone};
use crate::duties::law_said;
use crate::earth::{Frame, LonLat};
use crate::exchange::ExchangeError;
use crate::share::overview::{given_shore, ground_picture, laid, mark_of};
use crate::share::{MarkShape, PICTURE, PlanPicture, Precision, country_at};
use crate::shore::Setting;

/// Why a pack could not be composed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PackError {
    /// The outline of the ground crosses itself.
    #[error(
        "the ground of the permission \"{0}\" has an outline that crosses itself, so nobody can say what lies on it; draw it anew and import it"
    )]
    Crosses(String),
    /// A period that ends before it begins.
    #[error("the period ends before it begins")]
    Period,
    /// A shape that cannot be written.
    #[error(transparent)]
    Write(#[from] ExchangeError),
}

/// A pack, ready to be written.
pub struct Pack {
    /// Each file's name and content, the manifest last.
    pub files: Vec<(String, Vec<u8>)>,
    /// What was left out and how places are told, one sentence each.
    pub said: Vec<String>,
    /// Everything that leaves, line by line: the files, and each find and outing with every field that is told of it.
    pub leaves: Vec<String>,
    /// What was handed over, once it is; its time is that of the composing.
    pub receipt: Receipt,
}

/// Composes what a permission's holder is handed. `covered_m2` is the ground of the permission that each outing covered, m².
/// But for the receipt's time the same book, permission, period and key give the same bytes.
///
/// # Errors
/// [`PackError`] when the ground's outline crosses itself, the period is none, or a shape cannot be written.
pub fn compose(
    book: &Book,
    setting: &Setting,
    permission: &Permission,
    ask: &PackAsk,
    covered_m2: &BTreeMap<Uid, f64>,
    now: Timestamp,
) -> Result<Pack, PackError> {
    if PermittedGround::new(&permission.area).crosses_itself() {
        return Err(PackError::Crosses(permission.name.clone()));
    }
    if ask.from.zip(ask.to).is_some_and(|(from, to)| to < from) {
        return Err(PackError::Period);
    }
    let zone = setting.beach.zone().unwrap_or(TimeZone::UTC);
    let told = tell(book, permission, ask, &zone, covered_m2);
    let sums = Sums::of_told(&told);
    let mut said = sentences(permission, &told, &sums);
    let pictures = pictures(&told, ask, &mut said);
    let rows: Vec<(&ToldFind, Option<&String>)> =
        told.finds.iter().zip(&pictures).map(|(f, p)| (f, p.as_ref().map(|(name, _)| name))).collect();
    let zones: Vec<&Zone> = if all_exact(permission) { book.zones_of(permission.beach).collect() } else { Vec::new() };
    let plan = plan(book, setting, permission, &told, &zones).svg();
    // As `check` tells it, by the point that was given: the middle of the sand is moved by what lies there.
    let law = law_said(&country_at(book.beaches().get(&permission.beach).unwrap_or(&setting.beach)));
    let account = Account {
        beach: &setting.beach,
        setting,
        permission,
        ask,
        told: &told,
        sums: &sums,
        pictures: &pictures,
        plan_svg: &plan,
        law: &law,
    };
    let tables = [("finds.csv", sheets::finds_csv(&rows)?), ("outings.csv", sheets::outings_csv(&told.outings)?)];
    let mut files: Vec<(String, Vec<u8>)> = vec![
        ("finds.geojson".into(), sheets::finds_geojson(&rows)?),
        ("outings.geojson".into(), sheets::outings_geojson(&told.outings)?),
        ("zones.geojson".into(), sheets::ground_geojson(permission, &zones)?),
        ("plan.svg".into(), plan.clone().into_bytes()),
        ("report.html".into(), account.html().into_bytes()),
    ];
    files.extend(tables.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.clone())));
    files.extend(pictures.iter().flatten().cloned());
    let (listed, checksum) = manifest(&files, permission, ask, &sums);
    files.push(("manifest.json".into(), listed));
    let leaves = leaves(&files, &tables);
    let receipt = Receipt { from: ask.from, to: ask.to, finds: own_uids(&told.finds), ..Receipt::new(permission, now, checksum) };
    Ok(Pack { files, said, leaves, receipt })
}

/// Whether every kind of find is told exactly: only then zones, drawn to the metre and named by the person, go along.
fn all_exact(permission: &Permission) -> bool {
    Precision::coarsest(permission) == Precision::Exact
}

fn sentences(permission: &Permission, told: &Told, sums: &Sums) -> Vec<String> {
    let left = told.left;
    let mut said = vec![format!(
        "For the permission \"{}\": {} and {}.",
        permission.name,
        counted(sums.finds, RecordKind::Find),
        counted(sums.outings, RecordKind::Outing)
    )];
    let parts = [
        (left.outside, "outside its ground"),
        (left.of_another, "of other people"),
        (left.other_permission, "of another permission"),
        (left.other_time, "of another time"),
        (left.undated, "without a day"),
        (left.younger, "younger than its holder wants to hear of"),
        (left.told_before, "handed over before"),
    ];
    let parts: Vec<String> = parts.iter().filter(|(n, _)| *n > 0).map(|(n, why)| format!("{n} {why}")).collect();
    if !parts.is_empty() {
        said.push(format!("Left out: {}.", parts.join(", ")));
    }
    said.extend(against(told, told.on_closed));
    said.push(format!("Places are told {}.", Precision::granted(permission).said()));
    if let Some(m) = permission.coarsen_m.filter(|m| crate::earth::SquareSide::with_side(*m).is_none()) {
        said.push(format!("There are no squares of {m} m: the next coarser ones are used."));
    }
    for rule in &permission.agreed.places {
        said.push(format!("Places of {}: {}.", rule.group, rule.told));
    }
    match (told.step_m2, Precision::coarsest(permission)) {
        (_, Precision::Withheld) => said.push("How much ground was searched is not told, as places are withheld.".to_owned()),
        (Some(step_m2), Precision::Squares(_)) => {
            said.push(format!("How much ground a visit searched is told in steps of {step_m2:.0} m²: finer ones would tell where it crossed the edge."));
        }
        _ => {}
    }
    said.push("Tracks, signals, values, private notes and finders' names are not part of it.".to_owned());
    said
}

/// So many pictures that could not be had are named.
const MOST_MISSING: usize = 10;

/// The pictures of the finds, each under a name that says nothing; those that cannot be had are told.
fn pictures(told: &Told, ask: &PackAsk, said: &mut Vec<String>) -> Vec<Option<(String, Vec<u8>)>> {
    let Some(folder) = &ask.photos else { return told.finds.iter().map(|_| None).collect() };
    let mut missing = Vec::new();
    let mut one = |find: &ToldFind| {
        if find.photo.is_empty() {
            return None;
        }
        match photos::bare(folder, &find.photo) {
            Ok(bytes) => Some((format!("{}{}{}", PICTURE.0, find.id, PICTURE.1), bytes)),
            Err(why) => {
                missing.push(why);
                None
            }
        }
    };
    let all: Vec<_> = told.finds.iter().map(&mut one).collect();
    said.push("Pictures are made anew of their pixels, without place, time and camera; what they show may still tell a place, so look at each.".to_owned());
    if !missing.is_empty() {
        let count = if missing.len() == 1 { "1 picture".to_owned() } else { format!("{} pictures", missing.len()) };
        let more = missing.len().saturating_sub(MOST_MISSING);
        let and = if more > 0 { format!("; and {more} more") } else { String::new() };
        missing.truncate(MOST_MISSING);
        said.push(format!("{count} could not be had: {}{and}.", missing.join("; ")));
    }
    all
}

fn plan(book: &Book, setting: &Setting, permission: &Permission, told: &Told, zones: &[&Zone]) -> PlanPicture {
    let lines = vec![format!("{}.", counted(told.finds.len(), RecordKind::Find))];
    match given_shore(setting) {
        Some(shore) => {
            let area = |area: &MultiPolygon<f64>| shore.area_to_local(area).ok().map(|a| laid(shore, &a));
            let spot = |at: LonLat| shore.locate(at).ok().map(|p| Coord { x: p.along_m, y: p.across_m });
            filled(PlanPicture { lines, ..ground_picture(setting) }, (book, permission, told, zones), area, spot)
        }
        None => {
            let picture = PlanPicture { title: setting.beach.name.clone(), lines, seaward_deg: 180.0, ..PlanPicture::default() };
            let Some(frame) = frame_of(&permission.area) else { return picture };
            let spot = |at: LonLat| frame.to_local(at).ok().map(|p| Coord { x: p.east_m, y: -p.north_m });
            let area = |area: &MultiPolygon<f64>| area.try_map_coords(|c| LonLat::try_from(c).ok().and_then(spot).ok_or(())).ok();
            filled(picture, (book, permission, told, zones), area, spot)
        }
    }
}

/// A plane about the middle of a ground's bounds.
fn frame_of(ground: &MultiPolygon<f64>) -> Option<Frame> {
    let middle = LonLat::try_from(ground.bounding_rect()?.center()).ok()?;
    Frame::centred_on(middle).ok()
}

/// The picture with what is told, by how an area and a place are drawn.
fn filled(
    mut picture: PlanPicture,
    (book, permission, told, zones): (&Book, &Permission, &Told, &[&Zone]),
    area: impl Fn(&MultiPolygon<f64>) -> Option<MultiPolygon<f64>>,
    spot: impl Fn(LonLat) -> Option<Coord<f64>>,
) -> PlanPicture {
    picture.zones.extend(area(&permission.area).map(|a| (permission.name.clone(), a)));
    picture.zones.extend(zones.iter().filter_map(|z| Some((z.name.clone(), area(&z.area)?))));
    picture.squares = ToldAreas::of_told(told).marked(&area);
    let mark = |find: &ToldFind| -> Option<(Coord<f64>, MarkShape)> {
        let Place::Exact(at) = find.place else { return None };
        Some((spot(at)?, mark_of(book.finds().get(&find.own)?)))
    };
    picture.marks = told.finds.iter().filter_map(mark).collect();
    picture
}

/// The files with their sizes, and every row of the tables: all that GeoJSON, page and picture hold is in those.
fn leaves(files: &[(String, Vec<u8>)], tables: &[(&str, Vec<u8>)]) -> Vec<String> {
    let mut lines: Vec<String> = files.iter().map(|(name, bytes)| format!("{name}: {} bytes", bytes.len())).collect();
    for (name, bytes) in tables {
        let mut rows = csv::Reader::from_reader(bytes.as_slice());
        let Ok(heads) = rows.headers().cloned() else { continue };
        for row in rows.records().filter_map(Result::ok) {
            let told = heads.iter().zip(&row).filter(|(_, value)| !value.is_empty());
            let told: Vec<String> = told.map(|(head, value)| format!("{head} {value}")).collect();
            lines.push(format!("{name}: {}", told.join("; ")));
        }
    }
    lines
}
