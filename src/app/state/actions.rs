//! What keys and views both do to the state.

use std::path::PathBuf;

use super::command::{Ask, Command, PickFor};
use super::dialog::{Deletion, Dialog};
use super::draft::DraftForm;
use super::frame_context::FrameContext;
use super::sheet_choice::SheetChoice;
use super::window::State;
use crate::book::{Edit, RecordKind, Uid};
use crate::query::{Item, Listed};
use crate::store::Replace;
use crate::tide::TurnKind;

impl State {
    /// Picks the find after or before the one picked, in the order of the Log.
    pub(crate) fn step_find(&mut self, shown: &FrameContext<'_>, forward: bool) {
        let Some((rows, _)) = shown.rows() else { return };
        let here = self.selection.lead.and_then(|l| rows.iter().position(|r| *r == l));
        let count = rows.len();
        // Once round, from the one that is picked, to the next that is a find and still there.
        let steps = (0..count).map(|n| match here {
            None => n,
            Some(here) if forward => (here + 1 + n) % count,
            Some(here) => (here + count - 1 - n) % count,
        });
        let there = |item: &Item| matches!(item, Item::Find(uid) if shown.book.finds().contains_key(uid));
        if let Some(find) = steps.filter_map(|n| rows.get(n)).copied().find(there) {
            self.selection.only(find);
            self.log.scroll_to_lead = true;
        }
    }

    /// Opens the bench.
    pub(crate) fn open_bench(&mut self) {
        self.sheet = SheetChoice::Log;
        self.sheet_folded = false;
        self.log.filter.listed = Listed::Bench;
    }

    /// Opens the form of the find that a signal proves to be.
    pub(crate) fn dig(&mut self, shown: &FrameContext<'_>, signal: Uid) {
        if let Some(signal) = shown.book.signals().get(&signal) {
            self.open_log();
            self.draft = Some(DraftForm::dig(shown, signal));
        }
    }

    fn open_log(&mut self) {
        self.sheet = SheetChoice::Log;
        self.sheet_folded = false;
        if self.log.filter.listed == Listed::Bench {
            self.log.filter.listed = Listed::Finds;
        }
    }

    /// Opens the form of a find, signal or outing.
    pub(crate) fn edit(&mut self, shown: &FrameContext<'_>, item: Item) {
        let form = match item {
            Item::Find(uid) => shown.book.finds().get(&uid).map(|f| DraftForm::of_find(shown, f.clone(), false)),
            Item::Signal(uid) => shown.book.signals().get(&uid).map(|s| DraftForm::of_signal(shown, s.clone(), false)),
            Item::Outing(uid) => shown.book.outings().get(&uid).map(|o| DraftForm::of_outing(shown, o.clone(), false)),
            Item::Access(uid) => shown.book.accesses().get(&uid).map(|a| DraftForm::of_access(a.clone(), false)),
            _ => None,
        };
        if let Some(form) = form {
            self.open_log();
            self.draft = Some(form);
        }
    }

    /// Deletes the finds, signals and outings that are picked, as one step that can be undone.
    pub(crate) fn delete_picked(&mut self, shown: &FrameContext<'_>) {
        let ours = |i: &Item| matches!(i, Item::Find(_) | Item::Signal(_) | Item::Outing(_) | Item::Access(_));
        let records: Vec<_> = self.selection.items().filter(ours).filter_map(Item::record).collect();
        if records.is_empty() {
            return;
        }
        let label =
            if records.len() == 1 { format!("delete {}", records[0].0) } else { format!("delete {} records", records.len()) };
        // A find and its outing may go together, so the finds go first.
        let mut edits: Vec<_> =
            records.iter().filter(|r| r.0 != RecordKind::Outing).map(|(k, u)| shown.book.removal(*k, *u)).collect();
        let mut rest = shown.book.clone();
        for edit in &edits {
            if rest.apply(edit).is_err() {
                return;
            }
        }
        for (kind, uid) in records.iter().filter(|r| r.0 == RecordKind::Outing) {
            let edit = rest.removal(*kind, *uid);
            if rest.apply(&edit).is_err() {
                return;
            }
            edits.push(edit);
        }
        if records.len() > 1 {
            // One key is too little for as much as an import.
            self.dialog = Some(Dialog::Delete(Box::new(Deletion { edit: Edit::Batch(edits), label, count: records.len() })));
            return;
        }
        self.draft = None;
        self.apply(Edit::Batch(edits), label);
    }

    /// Opens the form of a new find at the instant shown.
    pub(crate) fn add_find(&mut self, shown: &FrameContext<'_>) {
        if let Some(form) = DraftForm::new_find(shown, self.clock.at) {
            self.open_log();
            self.draft = Some(form);
        }
    }

    /// Plans a route for the next low water after the instant shown.
    pub(crate) fn plan_the_next_low(&mut self, shown: &FrameContext<'_>) {
        let before = self.clock.at;
        self.go_to_low(shown, true);
        if self.clock.at != before {
            self.next_low.choose(self.clock.at);
        }
    }

    /// Moves to the low water before or after the instant.
    pub(crate) fn go_to_low(&mut self, shown: &FrameContext<'_>, later: bool) {
        let Some(water) = shown.water() else { return };
        let at = self.clock.at;
        let hours = jiff::SignedDuration::from_hours(60);
        let minute = jiff::SignedDuration::from_secs(60);
        let (Ok(from), Ok(to)) = (
            if later { at.checked_add(minute) } else { at.checked_sub(hours) },
            if later { at.checked_add(hours) } else { at.checked_sub(minute) },
        ) else {
            return;
        };
        let lows = water.turns(from, to).into_iter().filter(|t| t.kind == TurnKind::Low);
        let found = if later { lows.into_iter().next() } else { lows.into_iter().next_back() };
        if let Some(low) = found {
            self.go_to(low.time);
        }
    }

    /// Does what the files were picked for.
    pub(crate) fn use_paths(&mut self, purpose: PickFor, paths: Vec<PathBuf>) {
        if matches!(purpose, PickFor::Import | PickFor::ImportFolder) {
            self.commands.push(Command::Intake(paths));
            return;
        }
        let Some(path) = paths.into_iter().next() else { return };
        if let Some(Dialog::Book(form)) = &mut self.dialog {
            // It stays until the book's thread has done it, so that what was typed can be mended.
            form.text = path.display().to_string();
            form.sent = matches!(purpose, PickFor::Open | PickFor::New | PickFor::SaveAs);
            form.refusal = None;
        }
        let command = match purpose {
            PickFor::Open => Command::Ask(Ask::Open(path)),
            PickFor::New => Command::Ask(Ask::Create(path)),
            PickFor::SaveAs => Command::Ask(Ask::SaveAs(path, Replace::Nothing)),
            PickFor::Route => Command::WriteRoute(path),
            PickFor::HandOver | PickFor::Import | PickFor::ImportFolder => Command::HandOver(path),
        };
        self.commands.push(command);
    }

    /// What was sent to the book was kept: its form is done with, and what came in is shown.
    pub(crate) fn was_kept(&mut self) {
        self.sent_draft = None;
        match &mut self.dialog {
            Some(Dialog::Intake(form)) => {
                let Some(finds) = form.sent.take() else { return };
                self.selection.these(finds);
                self.plan.fit();
            }
            Some(Dialog::Book(form)) if form.sent => {}
            Some(Dialog::Place(form)) if form.sent => {}
            Some(Dialog::Beach(form)) if form.sent => {}
            _ => return,
        }
        self.dialog = None;
    }

    /// What was sent to the book was refused: its form says why, with all that was typed. `false` where there is none.
    pub(crate) fn was_refused(&mut self, why: &str) -> bool {
        let why = format!("{why}.");
        if let (Some(mut form), true) = (self.sent_draft.take(), self.draft.is_none()) {
            form.refusal = Some(("", why));
            self.draft = Some(form);
            self.open_log();
            return true;
        }
        match &mut self.dialog {
            Some(Dialog::Intake(form)) if form.sent.is_some() => (form.sent, form.refusal) = (None, Some(why)),
            Some(Dialog::Book(form)) if form.sent => (form.sent, form.refusal) = (false, Some(why)),
            Some(Dialog::Place(form)) if form.sent => (form.sent, form.refusal) = (false, Some(why)),
            Some(Dialog::Beach(form)) if form.sent => (form.sent, form.refusal) = (false, Some(why)),
            _ => return false,
        }
        true
    }
}
