//! What is told of a file: what was refused and how it was understood, and, once with its count, what happened to many records.

use std::collections::BTreeMap;

use super::doubtful::FAR_M;
use super::{Mark, Taking};
use crate::book::{Kind, Kinds, ORDNANCE_CAUTION, OwnKind, Record, RecordKind};
use crate::exchange::error::Stop;
use crate::exchange::take_in::intake::{Intake, Refusal, Understood};
use crate::tidy::walked_already;

/// How often something happened, and where first, such as `line 7`.
#[derive(Debug, Default)]
pub(super) struct Often {
    pub(super) count: usize,
    pub(super) first: String,
}

/// Something that happens to many records alike and is told once, with its count.
pub(super) type Tally = BTreeMap<&'static str, Often>;

/// Values of one column that could not be read.
pub(super) struct Unread {
    often: Often,
    text: String,
    /// Whether they stand in the notes of their records.
    noted: bool,
    /// What is said where nothing in the column can be read.
    hint: String,
}

/// Zones that are named one by one.
const ZONES_NAMED: usize = 20;

/// What is said of the kind that may be ordnance, after the usual caution.
const BY_WORDS: &str =
    "It is told by the words alone, also where they leave it in doubt; whoever knows that it is none gives it another kind";

impl Taking<'_> {
    /// Notes that something of another person is no find, so that it is left out.
    pub(in crate::exchange) fn leave_out_of_another(&mut self, line: u64) {
        self.count(line, "record(s) of another person are no finds and were left out");
    }

    /// Notes an area whose words say no use, by its name or, without one, its line.
    pub(in crate::exchange) fn zone_without_use(&mut self, line: u64, name: &str, said: &str) {
        let name = if name.is_empty() { self.line_said(line) } else { format!("\"{name}\"") };
        let said = if said.is_empty() || name.contains(said) { String::new() } else { format!(" (\"{said}\")") };
        self.useless_zones.push(format!("{name}{said}"));
    }

    /// The line in words, with the part of the file where it has several.
    fn line_said(&self, line: u64) -> String {
        if self.part.is_empty() { format!("line {line}") } else { format!("line {line} of {}", self.part) }
    }

    /// The same count one higher.
    pub(super) fn once_more(&self, often: Often, line: u64) -> Often {
        let first = if often.count == 0 { self.line_said(line) } else { often.first };
        Often { count: often.count + 1, first }
    }

    /// Notes a word for a kind that is not known.
    pub(in crate::exchange) fn unknown_kind(&mut self, line: u64, word: &str) {
        let often = self.unknown_kinds.remove(word).unwrap_or_default();
        self.unknown_kinds.insert(word.to_owned(), self.once_more(often, line));
    }

    /// The kind that an unknown word was made earlier in the file.
    pub(in crate::exchange) fn own_kind_called(&self, word: &str) -> Option<Kind> {
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        self.own_kinds.keys().find(|kind| plain(kind.label()) == plain(word)).cloned()
    }

    /// Makes a kind of the person's own, unless it is one already, and notes that something is of it.
    pub(in crate::exchange) fn own_kind(&mut self, mark: Mark, kind: &Kind) -> Result<(), Stop> {
        let row = OwnKind::new(kind.clone());
        let known = self.book.holds(RecordKind::OwnKind, row.uid);
        if !known {
            let often = self.own_kinds.remove(kind).unwrap_or_default();
            self.own_kinds.insert(kind.clone(), self.once_more(often, mark.line));
        }
        if known || self.seen.contains_key(&(RecordKind::OwnKind, row.uid)) {
            return Ok(());
        }
        let uid = row.uid;
        self.take_as(mark, row, Some(uid))
    }

    /// Notes a value that could not be read, and whether it stands in the notes of its record.
    pub(in crate::exchange) fn unreadable(&mut self, line: u64, title: &str, text: &str, noted: bool) {
        let unread = self.unread.remove(title);
        let unread = unread.unwrap_or_else(|| Unread {
            often: Often::default(),
            text: text.to_owned(),
            noted,
            hint: self.suspected(text),
        });
        let often = self.once_more(unread.often, line);
        self.unread.insert(title.to_owned(), Unread { often, ..unread });
    }

    pub(in crate::exchange) fn refuse(&mut self, mark: Mark, why: impl Into<String>) {
        self.refused_count += 1;
        let mut why = why.into();
        let hint = self.suspects.iter().find(|(cell, _)| why.contains(cell.as_str()));
        why.extend(hint.map(|(_, hint)| hint.as_str()));
        if self.refused.len() < Intake::REFUSALS_KEPT {
            let record = format!("{} {}", mark.noun, mark.number);
            let file = if self.part.is_empty() { self.file.clone() } else { format!("{}, {}", self.file, self.part) };
            self.refused.push(Refusal { file, part: self.part.clone(), line: mark.line, record, why });
        }
    }

    /// Waypoints are read after all else: what was refused is told in the order of the file.
    pub(in crate::exchange) fn in_order_of_lines(&mut self) {
        self.refused.sort_by_key(|r| r.line);
    }

    /// Notes that a cell of the row that is read stands in a column of which nothing can be read, so that a refusal for it
    /// says so.
    pub(in crate::exchange) fn suspect(&mut self, cell: &str, hint: &str) {
        self.suspects.push((cell.trim().to_owned(), hint.to_owned()));
    }

    /// The row is done.
    pub(in crate::exchange) fn suspect_nothing(&mut self) {
        self.suspects.clear();
    }

    /// The hint for a value that could not be read.
    fn suspected(&self, cell: &str) -> String {
        self.suspects.iter().find(|(there, _)| there == cell.trim()).map(|(_, hint)| hint.clone()).unwrap_or_default()
    }

    /// Tells of the first new track that is a walk of the book's, as a second receiver saw it.
    pub(super) fn tell_walked_already(&mut self) {
        let new = self.records.iter().filter_map(|r| if let Record::Track(track) = r { Some(&**track) } else { None });
        let walked = walked_already(self.book, new);
        let Some((track, known)) = walked.first() else { return };
        let outing = known.outing.and_then(|uid| self.book.outings().get(&uid)).map(|outing| {
            let start = self.zone.to_datetime(outing.start).strftime("%Y-%m-%d %H:%M").to_string();
            if outing.name.is_empty() {
                format!(" of the outing of {start}")
            } else {
                format!(" of the outing \"{}\" of {start}", outing.name)
            }
        });
        let more = walked.len() - 1;
        let tail = if more > 0 { format!(" ({more} more tracks are such, too)") } else { String::new() };
        let said = format!(
            "the track \"{}\" is the same walk as \"{}\"{}, as a second receiver saw it{tail}: the ground would count as searched twice \
             until one of the two is merged into the other; see what stands in the book twice (`doubles`)",
            track.name,
            known.name,
            outing.unwrap_or_default()
        );
        self.warn(said);
    }

    /// Tells something once.
    pub(in crate::exchange) fn warn(&mut self, warning: impl Into<String>) {
        let warning = warning.into();
        if !self.warnings.contains(&warning) {
            self.warnings.push(warning);
        }
    }

    /// Counts something that is told once with its count: `3 times ...`.
    pub(in crate::exchange) fn count(&mut self, line: u64, what: &'static str) {
        let often = self.tally.remove(what).unwrap_or_default();
        self.tally.insert(what, self.once_more(often, line));
    }

    /// Notes how a part of the file was understood.
    pub(in crate::exchange) fn understand(&mut self, what: impl Into<String>, how: impl Into<String>) {
        self.understood.push(Understood { what: what.into(), how: how.into() });
    }

    /// The same, told once.
    pub(in crate::exchange) fn understand_once(&mut self, what: &str, how: &str) {
        if !self.understood.iter().any(|u| u.what == what && u.how == how) {
            self.understand(what, how);
        }
    }

    /// Tells what happened to many records alike, and how many values could not be read.
    pub(super) fn tell(&mut self) -> usize {
        if self.far.count > 0 {
            let Often { count, first } = std::mem::take(&mut self.far);
            self.warn(format!(
                "{count} record(s) lie more than {:.0} km from {}, the first at {first}; is this the right beach?",
                FAR_M / 1000.0,
                self.beach.name
            ));
        }
        for (what, Often { count, first }) in std::mem::take(&mut self.tally) {
            self.warn(format!("{count} {what}, first at {first}"));
        }
        let zones = std::mem::take(&mut self.useless_zones);
        if !zones.is_empty() {
            let named: Vec<&str> = zones.iter().take(ZONES_NAMED).map(String::as_str).collect();
            let more = zones.len() - named.len();
            let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
            self.warn(format!(
                "zones without a use: {}{tail} - walked and searched as any sand; if one is not to be, give it a property \"use\", such as \
                 no_search, mud or rocks",
                named.join(", ")
            ));
        }
        let mut unread_count = 0;
        for (title, unread) in std::mem::take(&mut self.unread) {
            let Often { count, first } = unread.often;
            unread_count += count;
            let kept = if unread.noted { "; kept in the notes" } else { "" };
            self.warn(format!(
                "{count} value(s) of the column \"{title}\" could not be read, first at {first}: \"{}\"{kept}{}",
                unread.text, unread.hint
            ));
        }
        for (word, Often { count, first }) in std::mem::take(&mut self.unknown_kinds) {
            self.warn(format!(
                "{count} record(s), first at {first}, are of a kind \"{word}\" that is not known here; they are kept as something else with \
                 that word, and you can make it a kind of your own"
            ));
        }
        for (kind, Often { count, first }) in std::mem::take(&mut self.own_kinds) {
            let within = Kinds::shipped().within(&kind).map_or("", |k| k.label());
            self.warn(format!(
                "{count} reading(s), first at {first}, are of a kind \"{}\" that is not known here; it is made a kind of your own within \
                 \"{within}\": if it is a slip, put it right in the file first",
                kind.label()
            ));
        }
        if self.dangerous.count > 0 {
            let Often { count, first } = &self.dangerous;
            let said = format!("{count} find(s), first at {first}, may be ordnance. {ORDNANCE_CAUTION} {BY_WORDS}");
            self.warnings.insert(0, said);
        }
        unread_count
    }
}
