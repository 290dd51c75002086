//! Readings of known targets from the fields of a row, with the set-up they were made with.

use super::named_setup::setup_of;
use super::row::Row;
use super::things::ground;
use crate::book::{BenchReading, Kind, KindGroup, Kinds, Uid};
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
    reading(taking, row, target_ids)
}

fn reading(taking: &mut Taking<'_>, row: &mut Row, target_ids: Vec<i32>) -> Result<Result<BenchReading, String>, Stop> {
    let target =
        row.first_of(&[Field::Target, Field::What, Field::Name, Field::Kind]).map(|(_, t)| t.to_owned()).unwrap_or_default();
    if target.is_empty() {
        let why =
            "names neither target nor kind; repeat them on each row, and write \"bare hole\" where nothing was in the ground";
        return Ok(Err(why.to_owned()));
    }
    let control = matches!(target.to_lowercase().as_str(), "control" | "bare hole" | "empty" | "nothing");
    let Some(depth_m) = row.measure(Field::Depth, Unit::CENTIMETRE) else {
        return Ok(Err("has no depth that can be read".to_owned()));
    };
    let time = match row.instant(taking) {
        Ok(time) => time,
        Err(why) => return Ok(Err(why)),
    };
    // A row that is refused makes no set-up and no kind.
    let setup = match setup_of(taking, row)? {
        Ok(setup) => setup,
        Err(why) => return Ok(Err(why)),
    };
    let kind = if control { None } else { Some(kind_of(taking, row, &target)?) };
    let others = row.others();
    Ok(Ok(BenchReading {
        uid: Uid::of_content("", []),
        setup,
        kind,
        target,
        depth_m,
        scraped_m: row.measure(Field::Scraped, Unit::CENTIMETRE).filter(|m| *m > 0.0),
        ground: ground(row),
        lie: row.read(Field::Lie, |t, _| t.parse().ok()),
        target_ids,
        steadiness: row.read(Field::Steadiness, |t, _| t.parse().ok()),
        tone: row.words(Field::Tone),
        gauge_step: row.read(Field::GaugeStep, |t, _| t.parse().ok()),
        dig: row.read(Field::Dig, |t, _| value::yes(t)),
        time,
        notes: row.notes(&[&others]),
    }))
}

/// The kind of a target, by the word for it, else by what the target is called. A word that is not known is made a kind of
/// the person's own, within the kind that the target's name tells.
fn kind_of(taking: &mut Taking<'_>, row: &Row, target: &str) -> Result<Kind, Stop> {
    let kinds = Kinds::shipped();
    let word = row.text(Field::Kind);
    let (stated, said) = (taking.book.recognise(word), taking.book.recognise(target));
    if stated.key() != "other" && said.group() != KindGroup::Danger {
        return Ok(stated);
    }
    if word.is_empty() || kinds.is_other(word) || said.group() == KindGroup::Danger {
        if said.key() == "other" && !kinds.is_other(if word.is_empty() { target } else { word }) {
            taking.unknown_kind(row.mark.line, target);
        }
        return Ok(said);
    }
    match taking.own_kind_called(word).or_else(|| Kind::own(&said, word)) {
        Some(own) => {
            taking.own_kind(row.mark, &own)?;
            Ok(own)
        }
        None => Ok(said),
    }
}

/// Words for a pass at which nothing was heard.
const NOTHING: [&str; 15] = [
    "nothing",
    "nothing heard",
    "not heard",
    "no signal",
    "unheard",
    "silent",
    "x",
    "none",
    "nichts",
    "nicht gehört",
    "rien",
    "niets",
    "nada",
    "intet",
    "niente",
];

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
    // No detector has numbers of four digits (common practice, no published source): two were run together.
    let words = || text.split(|c: char| c.is_whitespace() || matches!(c, ';' | '/' | '|' | ','));
    if let Some(digits) = words().find(|w| number(w, comma).is_some_and(|(id, _)| id.abs() > 999.0)) {
        return Err(format!(
            "has \"{digits}\" among its target IDs, which looks like several numbers run together; write each as a whole number of at most \
             three digits, such as 43 44 43"
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
