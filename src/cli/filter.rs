//! Which finds and outings a reading without a window takes.

use serde_json::{Value, json};

use super::Failure;
use super::args::FilterArgs;
use crate::book::{Beach, Book, Kind, Kinds};
use crate::query::Taken;
use crate::reading::{Filter, WeightChoice};

/// The filter that the options ask for.
pub(super) fn from_args(args: &FilterArgs, book: &Book, beach: &Beach) -> Result<Filter, Failure> {
    let mut filter = Filter::default();
    for word in args.kind.iter().map(|k| k.trim()).filter(|k| !k.is_empty()) {
        let kind = Kinds::shipped().recognise(word);
        // What no word of the list fits is taken for "other", which few mean.
        if kind == Kind::keyed("other") && !word.eq_ignore_ascii_case("other") {
            let known: Vec<&str> = Kinds::shipped().general().map(Kind::key).collect();
            return Err(Failure::usage(format!("\"{word}\" is no kind of find; use one of {}", known.join(", "))));
        }
        filter.kinds.insert(kind);
    }
    filter.weight = match args.weight.as_deref().map(str::trim) {
        None => None,
        Some("heavy") => Some(WeightChoice::Heavy),
        Some("light") => Some(WeightChoice::Light),
        Some(other) => return Err(Failure::usage(format!("\"{other}\" is no weight; use heavy or light"))),
    };
    let day = |text: &str| text.trim().parse().map_err(|_| Failure::usage(format!("\"{text}\" is no day such as 2026-01-31")));
    filter.from = args.from.as_deref().map(day).transpose()?;
    filter.to = args.to.as_deref().map(day).transpose()?;
    let means = |name: &str, uid: &dyn std::fmt::Display, wanted: &str| {
        name.trim().eq_ignore_ascii_case(wanted.trim()) || uid.to_string() == wanted.trim()
    };
    let among =
        |names: Vec<&str>| if names.is_empty() { "it has none".to_owned() } else { format!("it has {}", names.join(", ")) };
    if let Some(wanted) = &args.after_storm {
        let storms = book.storms_of(beach.uid);
        let found = storms.iter().find(|s| means(&s.name, &s.uid, wanted));
        let names = || among(storms.iter().map(|s| s.name.as_str()).collect());
        filter.after_storm =
            Some(found.ok_or_else(|| Failure::usage(format!("there is no storm \"{wanted}\" on this beach; {}", names())))?.uid);
    }
    if let Some(wanted) = &args.setup {
        let found = book.setups().values().find(|s| means(&s.name, &s.uid, wanted));
        let names = || among(book.setups().values().map(|s| s.name.as_str()).collect());
        filter.setup =
            Some(found.ok_or_else(|| Failure::usage(format!("there is no set-up \"{wanted}\" in the book; {}", names())))?.uid);
    }
    filter.season = args.season.as_deref().map(str::parse).transpose().map_err(Failure::usage)?;
    Ok(filter)
}

/// Adds the filter and how much of the book it took to a document.
pub(super) fn add(document: &mut Value, filter: &Filter, taken: &Taken) -> Result<(), Failure> {
    document["filter"] = serde_json::to_value(filter).map_err(Failure::output)?;
    document["taken"] = json!({
        "finds": taken.finds.0,
        "finds_in_all": taken.finds.1,
        "outings": taken.outings.0,
        "outings_in_all": taken.outings.1,
        "undated": taken.undated,
        "of_others": taken.of_others,
    });
    Ok(())
}

/// The line that says what was read; empty when it was everything.
pub(super) fn text(filter: &Filter, taken: &Taken, book: &Book, beach: &Beach) -> String {
    let others = match taken.of_others {
        0 => String::new(),
        n => format!("{n} find(s) of other people are kept apart and not read\n"),
    };
    if filter.is_open() {
        return others;
    }
    let undated = if taken.undated > 0 {
        format!("; {} finds or tracks of no known outing or date are left out", taken.undated)
    } else {
        String::new()
    };
    format!(
        "{others}read of: {} ({} of {} finds, {} of {} outings{undated})\n",
        filter.words(book, beach).join("; "),
        taken.finds.0,
        taken.finds.1,
        taken.outings.0,
        taken.outings.1
    )
}
