//! Readings of known targets from the fields of a row, with the set-up they were made with.

use super::row::Row;
use super::things::settings;
use crate::book::{BenchReading, Kinds, Setup, Uid};
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::heading::{Field, Unit};
use crate::exchange::tools::value::{self, number};

/// A reading; `numbers` is whether the table has a place for target IDs at all.
///
/// Numbers that cannot be placed refuse the row: a reading without any would count as not heard.
pub(in crate::exchange) fn bench(
    taking: &mut Taking<'_>,
    row: &mut Row,
    numbers: bool,
) -> Result<Result<BenchReading, String>, Stop> {
    let target_ids = match heard(row, numbers) {
        Ok(ids) => ids,
        Err(why) => return Ok(Err(why)),
    };
    let setup = match setup_of(taking, row)? {
        Ok(setup) => setup,
        Err(why) => return Ok(Err(why)),
    };
    Ok(reading(taking, row, setup, target_ids))
}

fn reading(taking: &mut Taking<'_>, row: &mut Row, setup: Uid, target_ids: Vec<i32>) -> Result<BenchReading, String> {
    let target =
        row.first_of(&[Field::Target, Field::What, Field::Name, Field::Kind]).map(|(_, t)| t.to_owned()).unwrap_or_default();
    if target.is_empty() {
        let why =
            "names neither target nor kind; repeat them on each row, and write \"bare hole\" where nothing was in the ground";
        return Err(why.to_owned());
    }
    let kinds = Kinds::shipped();
    let control = matches!(target.to_lowercase().as_str(), "control" | "bare hole" | "empty" | "nothing");
    let stated = kinds.recognise(row.text(Field::Kind));
    let kind = if stated.key() == "other" { kinds.recognise(&target) } else { stated };
    let word = Some(row.text(Field::Kind)).filter(|w| !w.is_empty()).unwrap_or(&target).to_owned();
    if !control && kind.key() == "other" && !kinds.is_other(&word) {
        taking.unknown_kind(row.mark.line, &word);
    }
    let depth_m = row.measure(Field::Depth, Unit::CENTIMETRE).ok_or("has no depth that can be read")?;
    Ok(BenchReading {
        uid: Uid::of_content("", []),
        setup,
        kind: (!control).then_some(kind),
        target,
        depth_m,
        scraped_m: row.measure(Field::Scraped, Unit::CENTIMETRE).filter(|m| *m > 0.0),
        lie: row.read(Field::Lie, |t, _| t.parse().ok()),
        target_ids,
        steadiness: row.read(Field::Steadiness, |t, _| t.parse().ok()),
        tone: row.words(Field::Tone),
        gauge_step: row.read(Field::GaugeStep, |t, _| t.parse().ok()),
        dig: row.read(Field::Dig, |t, _| value::yes(t)),
        time: row.instant(taking)?,
        notes: row.notes(&[]),
    })
}

/// Words for a pass at which nothing was heard.
const NOTHING: [&str; 8] = ["nothing", "nothing heard", "not heard", "no signal", "unheard", "silent", "x", "none"];

/// The numbers of a row as they came; empty where nothing was heard.
fn heard(row: &Row, numbers: bool) -> Result<Vec<i32>, String> {
    let text = row.text(Field::TargetId).to_lowercase();
    if text.is_empty() {
        let stray = row.numbers_beside();
        if let Some(first) = stray.first() {
            let what = if stray.len() == 1 { "a number" } else { "numbers" };
            return Err(format!(
                "has no target ID but {what} under \"{first}\"{}, whose heading is not known; head such columns ID1, ID2 and so on, or a \
                 depth such as 10 cm",
                if stray.len() > 1 { " and others" } else { "" }
            ));
        }
        return if numbers {
            Ok(Vec::new())
        } else {
            Err("stands in a table without a column of target IDs; head it target_ids, or ID1, ID2 and so on".to_owned())
        };
    }
    if NOTHING.contains(&text.trim()) {
        return Ok(Vec::new());
    }
    // Numbers with a fraction are of another scale, or two numbers run together: not to be guessed.
    let comma = row.comma(Field::TargetId);
    let broken = text.split(|c: char| c.is_whitespace() || matches!(c, ';' | '/' | '|')).find(|w| {
        let one = number(w, comma).is_some_and(|(id, _)| id.fract() != 0.0);
        one || (comma && w.contains(',') && w.trim_matches(',').contains(','))
    });
    if let Some(w) = broken {
        return Err(format!(
            "has \"{w}\" among its target IDs; write whole numbers, such as 43 44 43, or nothing where none came"
        ));
    }
    if let Some(ids) = value::target_ids(&text, comma) {
        return Ok(ids);
    }
    let parts = || text.split(|c: char| c.is_whitespace() || matches!(c, ';' | '/' | '|')).filter(|w| !w.is_empty());
    // What was not read is not what was not heard.
    if parts().all(value::is_blank) && !parts().any(|w| NOTHING.contains(&w)) {
        return Err(format!(
            "says \"{text}\" for its target IDs, which is neither a number nor that nothing came; write nothing where nothing was heard, \
             or leave the row out"
        ));
    }
    // "- 5" may be five below nothing, and "12 - 14" a range.
    if parts().count() > 1 && parts().any(|w| matches!(w, "-" | "\u{2013}" | "\u{2212}")) {
        return Err(format!(
            "has a dash of its own in \"{text}\" among its target IDs; write each as a whole number, such as -5 or 12 14"
        ));
    }
    // Columns of single passes may say of one that nothing came, or write whole numbers with a fraction.
    let words = parts();
    let placed = words.filter(|w| !NOTHING.contains(w) && !value::is_blank(w)).map(|w| match number(w, true) {
        Some((id, None)) => Ok(id.round() as i32),
        _ => Err(format!("has \"{w}\" among its target IDs; write whole numbers, such as 43 44 43, or nothing where none came")),
    });
    placed.collect()
}

/// A name within so many letters of a known one may be a slip of the pen.
const SLIP: usize = 2;

/// The columns that describe a set-up.
const SETTINGS: [Field; 10] = [
    Field::Machine,
    Field::Mode,
    Field::Sensitivity,
    Field::GroundBalance,
    Field::Discrimination,
    Field::IronAudio,
    Field::Volume,
    Field::Coil,
    Field::CoilWidth,
    Field::Ground,
];

/// The set-up of a row: by its name, made of the settings that stand beside it, or the only one there is.
fn setup_of(taking: &mut Taking<'_>, row: &mut Row) -> Result<Result<Uid, String>, Stop> {
    let name = row.text(Field::Setup).to_owned();
    let described = SETTINGS.into_iter().any(|f| row.has(f));
    if name.is_empty() {
        return Ok(match taking.setups().as_slice() {
            [only] => {
                let (uid, said) = (only.uid, format!("none is named; the only one there is, \"{}\"", only.name));
                taking.understand_once("set-up", &said);
                Ok(uid)
            }
            [] => Err("names no set-up, and there is none; add a column \"setup\" with a name for the settings".to_owned()),
            _ => Err("names no set-up, and there are several; add a column \"setup\"".to_owned()),
        });
    }
    // The tone of a reading is no setting of it.
    let stated = Setup { tones: String::new(), ..settings(row, name.clone()) };
    if let Some(known) = taking.setup_named(&name) {
        let known = taking.setups().into_iter().find(|s| s.uid == known);
        let same = known.is_none_or(|k| agrees(k, &stated));
        return Ok(if same || !described {
            Ok(known.map_or(stated.uid, |k| k.uid))
        } else {
            Err(format!(
                "has other settings than the set-up \"{name}\" had before; numbers of other settings do not compare, so give it another name"
            ))
        });
    }
    if !described && !taking.book.setups().is_empty() {
        let plain = |name: &str| name.trim().to_lowercase();
        let slip = |s: &&Setup| strsim::damerau_levenshtein(&plain(&s.name), &plain(&name)) <= SLIP;
        let known: Vec<&Setup> = taking.book.setups().values().collect();
        let names = || known.iter().map(|s| format!("\"{}\"", s.name)).collect::<Vec<_>>().join(", ");
        if known.iter().any(slip) {
            return Ok(Err(format!(
                "names the set-up \"{name}\", which is not in the book; import or make the set-up first, or name one that is: {}",
                names()
            )));
        }
        let said = format!(
            "the set-up \"{name}\" is new and known by its name alone; if it is one of {}, name it so in the file",
            names()
        );
        taking.warn(said);
    }
    let uid = stated.uid;
    let said = if described { "its settings as they stand beside it" } else { "only its name is known" };
    taking.understand_once(&format!("new set-up \"{name}\""), said);
    taking.take(row.mark, stated)?;
    Ok(Ok(uid))
}

/// Whether settings that are stated are those of a set-up; what is not stated does not differ.
fn agrees(known: &Setup, stated: &Setup) -> bool {
    let texts = |s: &Setup| {
        [&s.machine, &s.mode, &s.sensitivity, &s.ground_balance, &s.discrimination, &s.iron_audio, &s.volume, &s.coil]
            .map(|t| t.trim().to_lowercase())
    };
    let same = texts(known).iter().zip(&texts(stated)).all(|(k, s)| s.is_empty() || k == s);
    same && stated.coil_width_m.is_none_or(|w| known.coil_width_m.is_none_or(|k| (k - w).abs() < 1e-6))
        && stated.ground.is_none_or(|g| known.ground == Some(g))
}
