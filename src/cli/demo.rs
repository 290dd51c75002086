use std::path::Path;

use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

use super::args::DemoArgs;
use super::said::{clock, make_folder, over, print_json, print_text, rfc3339, rounded};
use super::{Failure, WindowArgs, beach, doubts, import, read};
use crate::Progress;
use crate::book::{Edit, Uid};
use crate::demo;
use crate::exchange::{self, Intake, Options, Source};
use crate::output;
use crate::query::{Ask as _, AtOnce, Inquiry};
use crate::reading::Reading;
use crate::shore::Setting;
use crate::store::{OpenBook, Replace, StoreError};
use crate::tide::{TurnKind, Water};
use crate::trust::Told;

const BOOK: &str = "tarrow-sands.gpkg";

pub(super) fn run(args: &DemoArgs, window: impl FnOnce(&WindowArgs) -> Result<(), Failure>) -> Result<(), Failure> {
    // The folder first: no long work for a place that cannot be written to.
    make_folder(&args.out)?;
    let path = args.out.join(BOOK);
    let mut open = OpenBook::in_memory();
    let (uid, intakes) = take_in(&mut open)?;
    make(&mut open, &path, args.force)?;
    let now = Timestamp::now();
    let inquiry = Inquiry::new(open.book(), uid, now)?;
    let handed = AtOnce::default().ask(inquiry.hand_over(None, now))?;
    let read = handed.read.as_ref().ok_or_else(|| Failure::output("the beach could not be read"))?;
    let (setting, reading) = (&*handed.setting, &read.reading);
    let (_, doubts) = doubts::of_beach(open.book(), uid)?;
    let files: Vec<_> = handed.files.iter().map(|(name, bytes)| (args.out.join(name), bytes)).collect();
    output::write_all(&files, over(args.force))?;
    let written: Vec<String> = [BOOK.to_owned()].into_iter().chain(handed.files.iter().map(|(name, _)| name.clone())).collect();
    let low = setting.water.as_ref().and_then(|w| next_low(w, now));
    if args.json {
        print_json(&document(&open, (setting, &doubts), reading, &intakes, low, &written)?)?;
    } else {
        print_text(&brief(&args.out, setting, reading, &intakes, low, &written))?;
    }
    drop(open);
    if args.no_window { Ok(()) } else { window(&WindowArgs { book: Some(path), ..WindowArgs::default() }) }
}

/// Gives the demo's book its file. One that an earlier demo made there, and nobody edited, stays and serves.
fn make(made: &mut OpenBook, path: &Path, force: bool) -> Result<(), Failure> {
    match made.save_as(path, Replace::Nothing) {
        Err(StoreError::AlreadyThere(_)) => {}
        other => return other.map_err(Failure::output),
    }
    let there = OpenBook::open(path).map_err(Failure::output)?;
    if there.complaints().is_empty() && there.book() == made.book() {
        *made = there;
        return Ok(());
    }
    drop(there);
    if !force {
        return Err(Failure::output(format!(
            "{} is a book that was edited since the demo made it; choose another folder, or give --force to replace it",
            path.display()
        )));
    }
    made.save_as(path, Replace::Book).map_err(Failure::output)
}

/// Takes the embedded files in, in their order, through the same importers as anybody's.
fn take_in(open: &mut OpenBook) -> Result<(Uid, Vec<Intake>), Failure> {
    let beach = demo::beach().map_err(Failure::input)?;
    let uid = beach.uid;
    open.apply(&Edit::put(beach))?;
    let mut intakes = Vec::new();
    for file in demo::files() {
        let what = file.import_as.map(str::parse).transpose().map_err(Failure::input)?;
        // What is invented is no plan, whatever day this machine has.
        let options = Options { what, beach: Some(uid), now: Some(Timestamp::MAX), ..Options::default() };
        let intake = exchange::look(&Source::bytes(file.name, file.bytes), open.book(), &options, &Progress::new())
            .map_err(Failure::input)?;
        open.apply_as(format!("import {}", file.name), &intake.edit)?;
        intakes.push(intake);
    }
    open.apply(&demo::keyed(open.book()))?;
    Ok((uid, intakes))
}

/// The next low water and how long the sand below mean sea level stays dry around it.
fn next_low(water: &Water, now: Timestamp) -> Option<(Timestamp, f64)> {
    let to = now.checked_add(SignedDuration::from_hours(30)).ok()?;
    water.turns(now, to).into_iter().find(|t| t.kind == TurnKind::Low).map(|t| (t.time, t.level_m))
}

fn document(
    open: &OpenBook,
    (setting, doubts): (&Setting, &[Told]),
    reading: &Reading,
    intakes: &[Intake],
    low: Option<(Timestamp, f64)>,
    written: &[String],
) -> Result<Value, Failure> {
    let mut told = beach::document(open.book(), setting, doubts, &[]);
    let sum = |of: fn(&Intake) -> usize| intakes.iter().map(of).sum::<usize>();
    let whole = json!({
        "import": {
            "taken": sum(Intake::taken_count),
            "already_there": sum(Intake::already_there_count),
            "refused": sum(|i| i.refused_count),
            "files": intakes.iter().map(import::file_document).collect::<Vec<_>>(),
        },
        "next_low": low.map(|(time, m)| json!({ "time": rfc3339(time), "m": rounded(m, 3) })),
        "written": written,
        "invented": true,
    });
    if let (Value::Object(told), Value::Object(whole), Value::Object(read)) = (&mut told, whole, read::document(reading)?) {
        told.extend(whole);
        told.extend(read);
    }
    Ok(told)
}

fn brief(
    out: &Path,
    setting: &Setting,
    reading: &Reading,
    intakes: &[Intake],
    low: Option<(Timestamp, f64)>,
    written: &[String],
) -> String {
    let taken: usize = intakes.iter().map(Intake::taken_count).sum();
    let refused: usize = intakes.iter().map(|i| i.refused_count).sum();
    let mut text = format!(
        "Tarrow Sands is a fictional beach and its finds are invented.\nTook in {} files: {taken} records, {refused} refused.\n",
        intakes.len()
    );
    text += &read::text(reading);
    if let (Some((time, m)), Ok(zone), Some(water)) = (low, setting.beach.zone(), &setting.water) {
        text += &format!("Next low water: {} beach time, {m:.2} m above {}\n", clock(time, &zone), water.datum().words());
        text += &format!("{}\n", water.caution());
    }
    text + &format!("Wrote into {}: {}\n", out.display(), written.join(", "))
}
