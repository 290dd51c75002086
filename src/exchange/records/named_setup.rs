//! The set-up that a row of readings was made with.

use super::row::Row;
use super::things::settings;
use crate::book::{Setup, Uid, setup_name};
use crate::exchange::error::Stop;
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::heading::Field;

/// The columns that describe a set-up. What the ground was is said of each reading.
const SETTINGS: [Field; 9] = [
    Field::Machine,
    Field::Mode,
    Field::Sensitivity,
    Field::GroundBalance,
    Field::Discrimination,
    Field::IronAudio,
    Field::Volume,
    Field::Coil,
    Field::CoilWidth,
];

/// The set-up of a row: by its name, made of the settings that stand beside it, or the only one there is.
pub(super) fn setup_of(taking: &mut Taking<'_>, row: &mut Row) -> Result<Result<Uid, String>, Stop> {
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
    // The tone of a reading is no setting of it, and the ground may change from one to the next.
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
    let slip = taking.setups().into_iter().find(|s| may_be_a_slip(&s.name, &name)).map(|s| (s.uid, s.name.clone()));
    if let Some((uid, other)) = slip {
        let line = row.mark.line;
        let in_book = taking.book.setups().contains_key(&uid);
        if !described && in_book && taking.answered(About::Setups).is_none() {
            let names: Vec<String> = taking.book.setups().values().map(|s| format!("\"{}\"", s.name)).collect();
            return Ok(Err(format!(
                "names the set-up \"{name}\", which is not in the book; import or make the set-up first, or name one that is: {}; or say \
                 --answer setups=one if it is \"{other}\", setups=each if it is another",
                names.join(", ")
            )));
        }
        let question = || {
            format!("the set-up \"{name}\" at line {line} is called almost as \"{other}\" is: are they one, or a set-up each?")
        };
        if taking.settle(About::Setups, question, None) == Some("one") {
            taking.understand_once(&format!("set-up \"{name}\""), &format!("a slip for \"{other}\""));
            return Ok(Ok(uid));
        }
    } else if !described && !taking.book.setups().is_empty() {
        let names: Vec<String> = taking.book.setups().values().map(|s| format!("\"{}\"", s.name)).collect();
        let said = format!(
            "the set-up \"{name}\" is new and known by its name alone; if it is one of {}, name it so in the file",
            names.join(", ")
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
}

/// Whether one name may be a slip of the pen for another: word by word the same but for a letter or two of a long word, or but
/// for where the words part. Other numbers, and other short words, are meant.
fn may_be_a_slip(known: &str, name: &str) -> bool {
    let (known, name) = (setup_name(known), setup_name(name));
    let together = |text: &str| text.replace([' ', '-', '_'], "");
    if known == name {
        return false;
    }
    if together(&known) == together(&name) {
        return true;
    }
    let (a, b): (Vec<&str>, Vec<&str>) = (known.split(' ').collect(), name.split(' ').collect());
    a.len() == b.len() && a.iter().zip(&b).all(|(a, b)| a == b || is_slip_of(a, b))
}

fn is_slip_of(a: &str, b: &str) -> bool {
    let digits = |word: &str| word.chars().filter(char::is_ascii_digit).collect::<String>();
    let short = a.chars().count().min(b.chars().count());
    let most = if short < 4 {
        0
    } else if short < 8 {
        1
    } else {
        2
    };
    digits(a) == digits(b) && strsim::damerau_levenshtein(a, b) <= most
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_told_from_names_that_are_meant() {
        for (a, b) in [
            ("Dry sand", "Dry snad"),
            ("dry sand", "drysand"),
            ("Wet-salt", "wet salt"),
            ("discrimination off", "discriminaton off"),
        ] {
            assert!(may_be_a_slip(a, b) && may_be_a_slip(b, a), "{a} / {b}");
        }
        for (a, b) in
            [("wet 1", "wet 2"), ("wet", "dry"), ("A", "B"), ("Dry sand", " dry  SAND"), ("mode 12", "mode 21"), ("low", "two")]
        {
            assert!(!may_be_a_slip(a, b), "{a} / {b}");
        }
    }
}
