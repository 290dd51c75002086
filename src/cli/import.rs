use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::Failure;
use super::args::ImportArgs;
use super::said::{Kept, keep, open_or_new, print_json, print_text, until_kept};
use crate::Progress;
use crate::book::{Beach, Book, Edit, RecordKind};
use crate::earth::LonLat;
use crate::exchange::{self, Intake, Intakes, Named, Options, Source, Unsettled, What};
use crate::shore::settle;

pub(super) fn run(args: &ImportArgs) -> Result<(), Failure> {
    until_kept(|| once(args))
}

fn once(args: &ImportArgs) -> Result<Kept, Failure> {
    let what = args.what.as_deref().map(str::parse::<What>).transpose().map_err(Failure::usage)?;
    let mut open = open_or_new(&args.book)?;
    let named = exchange::files_of(&args.files).map_err(|e| Failure::input(format!("{e}; nothing was changed")))?;
    let sources: Vec<Source> = named.files.iter().map(Source::path).collect();
    let progress = Progress::new();
    let mut options = Options {
        what,
        grid: args.grid.clone(),
        zone: args.zone.clone(),
        by: args.by.clone().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()),
        feet: args.feet,
        camera_clock_s: args.camera_clock,
        columns: args.columns.clone(),
        answers: args.answers.iter().copied().collect(),
        ..Options::default()
    };
    let mut grown = open.snapshot();
    let mut edits = Vec::new();
    let mut said = Vec::new();
    if let Some(name) = &args.beach {
        let beach = match grown.beach_named(name) {
            Some(beach) => Some(beach.uid),
            None => {
                let made = new_beach(name, &sources, &options, &progress)?;
                if let Some((beach, guesses)) = &made {
                    let edit = Edit::put(beach.clone());
                    grown.apply(&edit).map_err(Failure::input)?;
                    edits.push(edit);
                    said.extend_from_slice(guesses);
                    options.of_new_beach = true;
                }
                made.map(|m| m.0.uid)
            }
        };
        options.beach = beach;
    }
    let mut looked = exchange::look_all(&sources, &grown, &options, &progress).map_err(Failure::input)?;
    if let (Some(name), None) = (&args.beach, options.beach) {
        // Known targets lie on no beach; all else needs a place for the new one.
        if looked.taken_count() == 0 {
            // What was refused of a file is why it holds no position.
            if let Some((refused, why)) = refused_anywhere(name, &sources, &grown, &options, &progress)? {
                if args.json {
                    print_json(&document(args.dry_run, &refused, &said, &named))?;
                } else {
                    print_text(&text(args.dry_run, &refused, &said, &named))?;
                }
                return Err(why);
            }
            return Err(Failure::input(format!(
                "there is no beach \"{name}\" in the book and the files hold no position to place it by; make it first with `scourline beach --near LON,LAT`"
            )));
        }
        said.push(format!("What the files hold lies on no beach, so \"{name}\" was not made."));
    }
    // One odd file does not keep out the others; but where it is all there is, no more is said than why.
    let odd = all_refused(&looked).or_else(|| odd(&looked, args.dry_run));
    if let (Some(odd), true) = (&odd, looked.intakes.iter().all(Intake::waits) && !args.dry_run) {
        return Err(odd.clone());
    }
    if !args.dry_run && looked.taken_count() > 0 {
        edits.push(looked.take_edit());
        drop(grown);
        open.apply_as(label(&named), &Edit::Batch(edits))?;
        if keep(&mut open, &args.book)? == Kept::AnotherIsThere {
            return Ok(Kept::AnotherIsThere);
        }
    }
    if args.json {
        print_json(&document(args.dry_run, &looked, &said, &named))?;
    } else {
        print_text(&text(args.dry_run, &looked, &said, &named))?;
    }
    // A dry run shows all of it, and ends as the import would.
    odd.map_or(Ok(Kept::Yes), Err)
}

/// How the change is called in the book's history: by the names of its files, the first three of many.
fn label(named: &Named) -> String {
    let name = |path: &std::path::PathBuf| path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let first: Vec<String> = named.files.iter().take(3).map(name).collect();
    let more = named.files.len().saturating_sub(first.len());
    let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("import {}{tail}", first.join(", "))
}

/// What files are without any position that can be read, and why, where that is because every record is refused or something
/// must be answered first: told of a beach that is made for the looking alone.
fn refused_anywhere(
    name: &str,
    sources: &[Source],
    book: &Book,
    options: &Options,
    progress: &Progress,
) -> Result<Option<(Intakes, Failure)>, Failure> {
    let beach = Beach::new(name.trim(), LonLat::new(0.0, 0.0).map_err(Failure::input)?);
    let options = Options { beach: Some(beach.uid), ..options.clone() };
    let mut book = book.clone();
    book.apply(&Edit::put(beach)).map_err(Failure::input)?;
    let looked = exchange::look_all(sources, &book, &options, progress).map_err(Failure::input)?;
    let waiting = || odd(&looked, true).filter(|_| looked.intakes.iter().any(Intake::waits));
    let why = all_refused(&looked).or_else(waiting);
    Ok(why.map(|why| (looked, why)))
}

/// That all could be read and nothing of it used.
fn all_refused(looked: &Intakes) -> Option<Failure> {
    // What waits for an answer is told with the option that gives it.
    if !looked.failed.is_empty() || !looked.intakes.iter().all(|i| i.is_all_refused() && !i.waits()) {
        return None;
    }
    let refused = looked.refused_count();
    let first = looked.intakes.iter().flat_map(|i| &i.refused).next()?;
    let tail = if refused > 1 { format!("; the first of {refused}: {first}") } else { format!(": {first}") };
    Some(Failure::input(format!("every record was refused, so nothing was changed{tail}")))
}

/// That of some files nothing could be used: they cannot be read, something must be answered first, or all that they hold
/// was refused.
fn odd(looked: &Intakes, dry_run: bool) -> Option<Failure> {
    let failed = looked.failed.iter().map(ToString::to_string);
    let waiting = looked.intakes.iter().filter_map(|intake| {
        let open = intake.must_be_answered().next()?;
        let more = intake.must_be_answered().count() - 1;
        let tail = if more > 0 { format!(" (and {more} more to answer)") } else { String::new() };
        Some(format!("{}: {} Say it with {}{tail}", intake.file, open.question, open.how_to_answer()))
    });
    let refused = looked.intakes.iter().filter(|i| i.is_all_refused() && !i.waits()).filter_map(|intake| {
        let first = intake.refused.first()?;
        let many = if intake.refused_count > 1 { format!("; the first of {}", intake.refused_count) } else { String::new() };
        Some(format!("{}: every record was refused{many}: {}: {}", intake.file, first.place(), first.why))
    });
    let odd: Vec<String> = failed.chain(waiting).chain(refused).collect();
    let first = odd.first()?;
    let more = odd.len() - 1;
    let tail = if more > 0 { format!(" (and nothing of {more} more file(s))") } else { String::new() };
    let others = match looked.taken_count() {
        0 => "nothing was changed",
        _ if dry_run => "the others would be taken",
        _ => "the others were taken",
    };
    Some(Failure::input(format!("{first}{tail}; {others}")))
}

/// A beach of this name, centred on what the files hold; `None` where they hold no position.
fn new_beach(
    name: &str,
    sources: &[Source],
    options: &Options,
    progress: &Progress,
) -> Result<Option<(Beach, Vec<String>)>, Failure> {
    let extent = exchange::extent(sources, options, progress).map_err(|e| Failure::input(format!("{e}; nothing was changed")))?;
    let Some(extent) = extent else { return Ok(None) };
    let (beach, mut said) = settle(Beach::new(name.trim(), extent.middle));
    said.insert(0, format!("The beach \"{}\" is new; it is centred on the files, at {}.", beach.name, beach.origin));
    Ok(Some((beach, said)))
}

fn words(counts: &BTreeMap<RecordKind, usize>) -> Value {
    counts.iter().map(|(k, n)| (k.word().to_owned(), json!(n))).collect::<serde_json::Map<_, _>>().into()
}

pub(super) fn file_document(intake: &Intake) -> Value {
    json!({
        "file": intake.file,
        "format": intake.format.to_string(),
        "guess": intake.guess,
        "taken": words(&intake.taken),
        "already_there": words(&intake.already_there),
        "refused": intake.refused,
        "refused_count": intake.refused_count,
        "warnings": intake.warnings,
        "unread_count": intake.unread_count,
        "waits": intake.waits(),
        "unsettled": intake.unsettled.iter().map(unsettled_document).collect::<Vec<_>>(),
        "ignored_extensions": intake.ignored_extensions,
        "understood": intake.understood,
    })
}

fn unsettled_document(unsettled: &Unsettled) -> Value {
    let answers: Vec<Value> =
        unsettled.about.answers().iter().map(|(word, means)| json!({ "answer": word, "means": means })).collect();
    json!({ "about": unsettled.about, "question": unsettled.question, "answers": answers, "taken": unsettled.taken })
}

fn document(dry_run: bool, looked: &Intakes, said: &[String], named: &Named) -> Value {
    let passed_over: Vec<Value> =
        named.passed_over.iter().map(|p| json!({ "file": p.path.display().to_string(), "why": p.why })).collect();
    json!({
        "dry_run": dry_run,
        "taken": looked.taken_count(),
        "already_there": looked.intakes.iter().map(Intake::already_there_count).sum::<usize>(),
        "refused": looked.refused_count(),
        "files": looked.intakes.iter().map(file_document).collect::<Vec<_>>(),
        "failed": looked.failed.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "guessed": said,
        "passed_over": passed_over,
    })
}

fn tally(counts: &BTreeMap<RecordKind, usize>) -> String {
    let parts: Vec<String> = counts.iter().filter(|(_, n)| **n > 0).map(|(k, n)| k.counted(*n)).collect();
    if parts.is_empty() { "nothing".to_owned() } else { parts.join(", ") }
}

fn text(dry_run: bool, looked: &Intakes, said: &[String], named: &Named) -> String {
    let verb = if dry_run { "would take" } else { "took" };
    let mut out: String = said.iter().map(|s| format!("{s}\n")).collect();
    for intake in &looked.intakes {
        out += &format!("{}: {}\n", intake.file, intake.guess);
        let waits = if intake.waits() { "waits for an answer, and nothing of it is taken; it holds" } else { verb };
        out += &format!(
            "  {waits} {}; already there: {}; refused: {}\n",
            tally(&intake.taken),
            tally(&intake.already_there),
            intake.refused_count
        );
        if intake.is_all_refused() {
            out += "  look: every record of this file was refused\n";
        }
        for refusal in &intake.refused {
            out += &format!("  refused, {}: {}\n", refusal.place(), refusal.why);
        }
        if intake.refused_count > intake.refused.len() {
            out += &format!("  and {} more refused\n", intake.refused_count - intake.refused.len());
        }
        for warning in &intake.warnings {
            out += &format!("  look: {warning}\n");
        }
        for u in &intake.unsettled {
            let taken = u.taken.map_or("nothing is taken before it is answered".to_owned(), |t| format!("{t} is taken"));
            out += &format!("  asks: {} ({taken}; answer with {})\n", u.question, u.how_to_answer());
        }
        if intake.ignored_extensions > 0 {
            out += &format!("  passed over {} extension elements\n", intake.ignored_extensions);
        }
        for u in &intake.understood {
            out += &format!("  {}: {}\n", u.what, u.how);
        }
    }
    for failed in &looked.failed {
        out += &format!("{failed}; nothing of it is taken\n");
    }
    for passed in &named.passed_over {
        out += &format!("passed over {}: it {}\n", passed.path.display(), passed.why);
    }
    if dry_run {
        out += "Nothing was written (dry run).\n";
    }
    out
}
