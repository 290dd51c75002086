//! A book's own keeping: its history, what was taken out of it, its backups.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::Failure;
use super::keeping_args::BookArgs;
use super::said::{open, print_json, print_text, rfc3339, tell_remarks};
use crate::book::{Record, Uid};
use crate::store::{self, Backup, Change, Deleted, OpenBook};

pub(super) fn run(args: &BookArgs) -> Result<(), Failure> {
    let mut done = Vec::new();
    if let Some(wanted) = &args.restore {
        let backup = backup_named(&args.book, wanted)?;
        let restored = store::restore(&args.book, &backup)?;
        done.push(format!("{} holds again what {} holds", args.book.display(), backup.display()));
        done.extend(restored.before.map(|before| format!("what stood there before is {}", before.display())));
    }
    let mut open = open(&args.book)?;
    if args.back_up {
        done.push(format!("made the backup {}", open.back_up()?.path.display()));
    }
    if let Some(number) = args.take_back {
        let back = open.take_back(number)?;
        done.push(format!("took back change {number}: {}", back.what));
        done.extend(back.left);
    }
    if let Some(uid) = &args.bring_back {
        let uid: Uid = uid.parse().map_err(Failure::usage)?;
        let record = open.bring_back(uid)?;
        done.push(format!("brought back {}", name_of(&record)));
    }
    tell_remarks(&mut open);
    tell(args, &open, &done)
}

/// The backup meant: by its name in the folder of the book's backups, by a path, or the newest.
fn backup_named(book: &Path, wanted: &str) -> Result<PathBuf, Failure> {
    let all = store::backups(book);
    let by_name = all.iter().find(|b| b.name() == wanted || b.path.file_stem().is_some_and(|s| s.to_string_lossy() == wanted));
    let found = if wanted == "latest" { all.first() } else { by_name };
    if let Some(found) = found {
        return Ok(found.path.clone());
    }
    let path = PathBuf::from(wanted);
    if path.is_file() {
        return Ok(path);
    }
    let names: Vec<String> = all.iter().map(Backup::name).collect();
    let has = if names.is_empty() { "there is none yet".to_owned() } else { format!("there are {}", names.join(", ")) };
    Err(Failure::input(format!("there is no backup \"{wanted}\" in {}; {has}", store::backups_of(book).display())))
}

fn tell(args: &BookArgs, open: &OpenBook, done: &[String]) -> Result<(), Failure> {
    let (changes, deleted, backups) = (open.history(args.changes)?, open.deleted()?, store::backups(&args.book));
    if args.json {
        return print_json(&json!({
            "book": args.book.display().to_string(),
            "done": done,
            "changes": changes.iter().map(change_document).collect::<Vec<_>>(),
            "deleted": deleted.iter().map(deleted_document).collect::<Vec<_>>(),
            "backups": backups.iter().map(backup_document).collect::<Vec<_>>(),
        }));
    }
    print_text(&text(args, done, &changes, &deleted, &backups))
}

fn change_document(change: &Change) -> Value {
    json!({ "number": change.number, "time": rfc3339(change.at), "what": change.what })
}

fn deleted_document(deleted: &Deleted) -> Value {
    let record = &deleted.record;
    json!({
        "uid": record.uid(),
        "record": record.kind().word(),
        "name": name_of(record),
        "change": deleted.change.number,
        "time": rfc3339(deleted.change.at),
    })
}

fn backup_document(backup: &Backup) -> Value {
    json!({
        "name": backup.name(),
        "file": backup.path.display().to_string(),
        "time": rfc3339(backup.at),
        "occasion": backup.occasion,
    })
}

fn text(args: &BookArgs, done: &[String], changes: &[Change], deleted: &[Deleted], backups: &[Backup]) -> String {
    let mut out: String = done.iter().map(|d| format!("{d}\n")).collect();
    out += "Last changes (--take-back NUMBER takes one back):\n";
    for c in changes {
        out += &format!("  {:>6}  {}  {}\n", c.number, rfc3339(c.at), c.what);
    }
    out += if changes.is_empty() { "  none noted yet\n" } else { "" };
    if !deleted.is_empty() {
        out += "Taken out (--bring-back UID puts one back):\n";
    }
    const SHOWN: usize = 50;
    for d in deleted.iter().take(SHOWN) {
        out += &format!("  {}  {}  by change {}\n", d.record.uid(), name_of(&d.record), d.change.number);
    }
    if deleted.len() > SHOWN {
        out += &format!("  and {} more; --json tells all\n", deleted.len() - SHOWN);
    }
    out += &format!("Backups in {} (--restore NAME puts one back):\n", store::backups_of(&args.book).display());
    for b in backups {
        out += &format!("  {}  {}\n", b.name(), b.occasion.words());
    }
    out + if backups.is_empty() { "  none yet\n" } else { "" }
}

/// A record in a few words.
pub(super) fn name_of(record: &Record) -> String {
    let named = match record {
        Record::Find(f) if f.what.is_empty() => f.kind.label(),
        Record::Find(f) => &f.what,
        Record::Outing(o) => &o.name,
        Record::Track(t) => &t.name,
        Record::Setup(s) => &s.name,
        Record::Beach(b) => &b.name,
        Record::Zone(z) => &z.name,
        Record::Permission(p) => &p.name,
        _ => "",
    };
    let kind = record.kind();
    if named.is_empty() { kind.to_string() } else { format!("{kind} \"{named}\"") }
}
