//! Finds, signals, outings and set-ups from the fields of a row.

use super::row::Row;
use crate::book::{Find, Ground, KindGroup, Kinds, Outing, Record, SandNote, Setup, Signal};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::heading::{Field, Unit};
use crate::exchange::tools::value;

/// What litter is weighed in where a heading names no unit.
const KILOGRAM: Unit = Unit { word: "kilograms", factor: 1000.0, ..Unit::GRAM };

/// Takes what a builder made under the row's own uid, or refuses the row with its sentence.
pub(in crate::exchange) fn settle(
    taking: &mut Taking<'_>,
    row: &Row,
    made: Result<impl Into<Record>, String>,
) -> Result<(), Stop> {
    match made {
        Ok(record) => {
            taking.says_other = row.text(Field::Kind).trim().eq_ignore_ascii_case("other");
            let done = taking.take_as(row.mark, record, row.uid());
            taking.says_other = false;
            done
        }
        Err(why) => {
            taking.refuse(row.mark, why);
            Ok(())
        }
    }
}

pub(in crate::exchange) fn find(taking: &mut Taking<'_>, row: &mut Row, at: LonLat) -> Result<Find, String> {
    let (from, what) =
        row.first_of(&[Field::What, Field::Target, Field::Name, Field::Description, Field::Kind]).unwrap_or((Field::What, ""));
    let what = what.to_owned();
    let spare = if from == Field::Description { String::new() } else { row.words(Field::Description) };
    let kinds = Kinds::shipped();
    let word = row.words(Field::Kind);
    let stated = taking.book.recognise(&word);
    let said = kinds.recognise(&format!("{what} {spare}"));
    // Whatever the column says, words that speak of danger are not to be read past.
    // In a file that was written from a book "other" is what its person called it, not a want of a better word.
    let says_other = word.trim().eq_ignore_ascii_case("other");
    let is_open = stated.key() == "other" && !(says_other && row.uid().is_some());
    let kind = if is_open || said.group() == KindGroup::Danger { said } else { stated };
    let kind = kinds.danger_in_notes(row.text(Field::Notes), what.is_empty()).unwrap_or(kind);
    let mut unknown = String::new();
    if kind.key() == "other" && !word.is_empty() && !kinds.is_other(&word) {
        taking.unknown_kind(row.mark.line, &word);
        if from != Field::Kind {
            unknown = format!("kind: {word}");
        }
    }
    let age = row.first_of(&[Field::Age, Field::Tp]).map(|(f, text)| (f, text.to_owned()));
    let reported = row.first_of(&[Field::Reported, Field::Report]).map(|(f, text)| (f, text.to_owned()));
    let also = [Some(from), age.as_ref().map(|a| a.0), reported.as_ref().map(|r| r.0)];
    let kept_kind = kind.key() != "other" || says_other || !unknown.is_empty() || word.is_empty() || from == Field::Kind;
    let more = row.beside(|field| {
        also.contains(&Some(field)) || is_of_a_find(field) || is_of_a_place(field, row) || (field == Field::Kind && kept_kind)
    });
    Ok(Find {
        outing: None,
        time: row.instant(taking)?,
        weight: row.read(Field::Weight, |t, _| t.parse().ok()),
        material: row.read(Field::Material, |t, _| t.parse().ok()),
        depth_m: row.measure(Field::Depth, Unit::CENTIMETRE),
        target_id: row.read(Field::TargetId, value::target_id),
        mass_g: row.measure(Field::Mass, Unit::GRAM),
        size_mm: row.measure(Field::Size, Unit::MILLIMETRE).map(|m| (m * 1e6).round() / 1e3),
        state: row.words(Field::State),
        photo: row.words(Field::Photo),
        finder: row.words(Field::Finder),
        permission: row.words(Field::Permission),
        value: row.words(Field::Value),
        age: age.map(|a| a.1).unwrap_or_default(),
        disposal: row.words(Field::Disposal),
        reported: reported.map(|r| r.1).unwrap_or_default(),
        more,
        notes: row.notes(&[&spare, &unknown]),
        ..Find::new(taking.beach.uid, at, what, kind)
    })
}

/// Whether a find has a place of its own for this field.
fn is_of_a_find(field: Field) -> bool {
    use Field::{
        Clock, Date, Depth, Description, Disposal, Finder, Mass, Material, Notes, Permission, Photo, Role, Size, State, TargetId,
        Time, Uid, Value, Weight,
    };
    matches!(
        field,
        Clock
            | Date
            | Depth
            | Description
            | Disposal
            | Finder
            | Mass
            | Material
            | Notes
            | Permission
            | Photo
            | Role
            | Size
            | State
            | TargetId
            | Time
            | Uid
            | Value
            | Weight
    )
}

/// Whether the position of a row is made of this field: where degrees stand, coordinates of a grid beside them are not.
fn is_of_a_place(field: Field, row: &Row) -> bool {
    use Field::{East, EastWest, Grid, Lat, LatMinutes, LatSeconds, Lon, LonMinutes, LonSeconds, North, NorthSouth, Pair, X, Y};
    let degrees = row.has(Lat) && row.has(Lon);
    let metres = degrees || (row.has(East) && row.has(North));
    match field {
        Lat | Lon | LatMinutes | LatSeconds | LonMinutes | LonSeconds | NorthSouth | EastWest => true,
        East | North | Grid => !degrees,
        X | Y => !metres,
        Pair => !(metres || (row.has(X) && row.has(Y))),
        _ => false,
    }
}

pub(in crate::exchange) fn signal(taking: &mut Taking<'_>, row: &mut Row, at: LonLat) -> Result<Signal, String> {
    let said = row.first_of(&[Field::What, Field::Name, Field::Description]).map(|(_, t)| t.to_owned()).unwrap_or_default();
    let others = row.others();
    Ok(Signal {
        time: row.instant(taking)?,
        target_ids: row.read(Field::TargetId, value::target_ids).unwrap_or_default(),
        steadiness: row.read(Field::Steadiness, |t, _| t.parse().ok()),
        gauge_step: row.read(Field::GaugeStep, |t, _| t.parse().ok()),
        notes: row.notes(&[&said, &others]),
        ..Signal::new(taking.beach.uid, at)
    })
}

pub(in crate::exchange) fn outing(taking: &mut Taking<'_>, row: &mut Row) -> Result<Outing, String> {
    let start = row.instant_of(taking, Field::Start)?;
    let end = if row.has(Field::End) { row.instant_of(taking, Field::End)? } else { return Err("has no end".to_owned()) };
    let setup = match row.text(Field::Setup) {
        "" => None,
        name => match taking.setup_named(name) {
            Some(uid) => Some(uid),
            None => {
                return Err(format!("names the set-up \"{name}\", which is not in the book; import or make the set-up first"));
            }
        },
    };
    let sand = row.read(Field::Sand, |t, _| {
        t.split([',', ';', '|', '+']).map(|w| w.trim().parse().ok()).collect::<Option<Vec<SandNote>>>()
    });
    let litter_kg = row.measure(Field::Litter, KILOGRAM).map(|g| g / 1000.0);
    Ok(Outing {
        name: row.words(Field::Name),
        holes_filled: row.read(Field::Holes, |t, _| value::yes(t)),
        litter_kg,
        setup,
        sand: sand.unwrap_or_default(),
        notes: row.notes(&[]),
        ..Outing::new(taking.beach.uid, start, end)
    })
}

pub(in crate::exchange) fn setup(row: &mut Row) -> Result<Setup, String> {
    let name = row.first_of(&[Field::Name, Field::Setup]).map(|(_, t)| t.to_owned()).ok_or("has no name")?;
    let settings = settings(row, name);
    let ground = ground(row);
    Ok(Setup { ground, notes: row.notes(&[]), ..settings })
}

/// The ground in the words that people write for it; under a heading that asks whether it was wet, yes and no too.
pub(super) fn ground(row: &mut Row) -> Option<Ground> {
    let asks = row.title(Field::Ground).to_lowercase().contains("wet");
    row.read(Field::Ground, |text, _| {
        let word = text.trim().to_lowercase();
        let wet = || if asks { value::yes(&word) } else { None };
        Ground::from_words(&word).or_else(|| wet().map(|wet| if wet { Ground::WetSalt } else { Ground::Dry }))
    })
}

/// The settings of a row under a name; its notes and the ground are left to the caller.
pub(super) fn settings(row: &mut Row, name: String) -> Setup {
    Setup {
        machine: row.words(Field::Machine),
        mode: row.words(Field::Mode),
        sensitivity: row.words(Field::Sensitivity),
        ground_balance: row.words(Field::GroundBalance),
        discrimination: row.words(Field::Discrimination),
        iron_audio: row.words(Field::IronAudio),
        tones: row.words(Field::Tone),
        volume: row.words(Field::Volume),
        coil: row.words(Field::Coil),
        coil_width_m: row.measure(Field::CoilWidth, Unit::CENTIMETRE),
        ..Setup::new(name)
    }
}
