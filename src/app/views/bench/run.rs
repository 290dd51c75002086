//! A run of readings by the keyboard: the next depth, the next target, the next of a list that was read before.

use std::collections::BTreeSet;

use egui::{Key, Modifiers, TextEdit, Ui};

use crate::app::state::FrameContext;
use crate::app::state::bench_forms::{EntryForm, Listed, Next};
use crate::app::widgets::form::entered;
use crate::app::widgets::theme::soft;
use crate::book::{BenchReading, Book, Kind, Uid};

/// Kinds offered at once for what is typed.
const OFFERED: usize = 4;

/// What a run goes on with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    Unheard,
    Depth,
    Target,
    List,
}

/// The step that a key asks for, wherever the focus is in the form.
pub(super) fn key(ui: &Ui) -> Option<Step> {
    let keys = [(Key::N, Step::Unheard), (Key::D, Step::Depth), (Key::T, Step::Target), (Key::L, Step::List)];
    let pressed = |key| ui.input_mut(|i| i.consume_key(Modifiers::COMMAND, key));
    keys.into_iter().find(|(key, _)| pressed(*key)).map(|(_, step)| step)
}

impl EntryForm {
    /// Remembers the depth as it was typed, for the targets to come.
    pub(super) fn note_depth(&mut self) {
        let depth = self.depth.trim();
        if !depth.is_empty() && !self.depths.iter().any(|d| d == depth) {
            self.depths.push(depth.to_owned());
        }
    }

    /// The same target at the next depth of the run; at a new one where there is none.
    pub(super) fn next_depth(&mut self) {
        let at = self.depths.iter().position(|d| d == self.depth.trim());
        let next = at.and_then(|n| self.depths.get(n + 1)).cloned();
        self.clear_heard();
        self.next = Some(if next.is_some() { Next::Ids } else { Next::Depth });
        self.depth = next.unwrap_or_default();
    }

    /// Another target, at the first depth of the run.
    pub(super) fn next_target(&mut self) {
        self.clear_heard();
        self.target.clear();
        self.chosen = false;
        if let [first, _, ..] = self.depths.as_slice() {
            self.depth.clone_from(first);
        }
        self.next = Some(Next::Target);
    }

    /// The next of the list, with its depth.
    pub(super) fn next_listed(&mut self) {
        let Some(next) = self.list.left.first() else { return };
        let (kind, target, depth_m, lie) = (next.kind.clone(), next.target.clone(), next.depth_m, next.lie);
        self.clear_heard();
        (self.kind, self.target, self.lie, self.chosen) = (kind, target, lie, true);
        self.depth = ((depth_m / self.unit.metres() * 100.0).round() / 100.0).to_string();
        self.next = Some(Next::Ids);
    }

    fn clear_heard(&mut self) {
        for text in [&mut self.ids, &mut self.step, &mut self.tone] {
            text.clear();
        }
        (self.steadiness, self.dig, self.refusal) = (None, None, None);
    }

    /// What was read with other set-ups and is yet to be read with this one; made anew when readings were added.
    pub(super) fn make_list(&mut self, book: &Book, setup: Uid) {
        let made_for = Some((setup, book.bench().len()));
        if self.list.made_for != made_for {
            self.list.made_for = made_for;
            self.list.left = left(book, setup);
        }
    }

    /// The kind that the target's own name speaks of, if it speaks of one and none was chosen.
    pub(super) fn kind_by_name(&mut self, shown: &FrameContext<'_>) {
        if self.chosen {
            return;
        }
        let said = shown.book.recognise(&self.target);
        if said.key() != "other" && self.kind.is_some() {
            self.kind = Some(said);
        }
    }
}

fn left(book: &Book, setup: Uid) -> Vec<Listed> {
    type Place<'r> = (Option<&'r Kind>, String, i64);
    let place = |r: &BenchReading| (r.target.trim().to_lowercase(), (r.depth_m * 1000.0).round() as i64);
    fn whole(r: &BenchReading, (target, depth): (String, i64)) -> Place<'_> {
        (r.kind.as_ref(), target, depth)
    }
    let read: BTreeSet<Place<'_>> = book.bench().values().filter(|r| r.setup == setup).map(|r| whole(r, place(r))).collect();
    let mut seen = BTreeSet::new();
    let others = book.bench().values().filter(|r| r.setup != setup && r.scraped_m.is_none());
    let mut left: Vec<&BenchReading> = others
        .filter(|r| {
            let at = whole(r, place(r));
            !read.contains(&at) && seen.insert(at)
        })
        .collect();
    left.sort_by(|a, b| a.target.cmp(&b.target).then(a.depth_m.total_cmp(&b.depth_m)));
    let listed = |r: &BenchReading| Listed { kind: r.kind.clone(), target: r.target.clone(), depth_m: r.depth_m, lie: r.lie };
    left.into_iter().map(listed).collect()
}

/// What is next on the list, offered; whether it was taken.
pub(super) fn offer(ui: &mut Ui, form: &EntryForm) -> bool {
    let Some(next) = form.list.left.first() else { return false };
    let said = format!("{} at {:.0} cm", next.target, 100.0 * next.depth_m);
    ui.horizontal_wrapped(|ui| {
        let taken = ui.button("Next of the list").on_hover_text("Ctrl+L").clicked();
        let left = form.list.left.len();
        ui.label(soft(ui, format!("{said}; {left} read with other set-ups are left to read with this one")).size(12.5));
        taken
    })
    .inner
}

/// A field in which a kind is found by typing; Enter takes the first that is offered.
pub(super) fn seek_kind(ui: &mut Ui, form: &mut EntryForm, shown: &FrameContext<'_>) {
    let name = ui.label("Find a kind");
    ui.horizontal_wrapped(|ui| {
        let field = ui.add(TextEdit::singleline(&mut form.sought).desired_width(110.0)).labelled_by(name.id);
        let entered = entered(ui, &field);
        let sought = form.sought.trim().to_lowercase();
        if sought.is_empty() {
            return;
        }
        let starts = |k: &&Kind| k.label().to_lowercase().starts_with(&sought);
        let holds = |k: &&Kind| !starts(k) && k.label().to_lowercase().contains(&sought);
        let kinds = shown.kinds();
        let offered: Vec<&Kind> = kinds.iter().filter(starts).chain(kinds.iter().filter(holds)).take(OFFERED).collect();
        let mut taken = if entered { offered.first().copied() } else { None };
        if offered.is_empty() {
            ui.label(soft(ui, "no kind is called so").size(12.5));
        }
        for kind in offered {
            if ui.small_button(kind.label()).clicked() {
                taken = Some(kind);
            }
        }
        if let Some(kind) = taken {
            (form.kind, form.chosen) = (Some(kind.clone()), true);
            form.sought.clear();
            form.next = Some(Next::Target);
            ui.ctx().request_repaint();
        }
    });
    ui.end_row();
}
