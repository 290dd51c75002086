//! Share, under a permission: its terms, the period, what exactly would leave, and what stands against finds.

use std::collections::BTreeMap;

use egui::{ScrollArea, TextEdit, Ui};

use crate::allowed::Flag;
use crate::app::state::command::Command;
use crate::app::state::dialog::Dialog;
use crate::app::state::permission_form::PermissionForm;
use crate::app::state::{FrameContext, State};
use crate::app::widgets::controls::{heading, switch, warning};
use crate::app::widgets::theme::soft;
use crate::book::{Permission, PlaceRule, Uid};
use crate::duties::law_said;
use crate::query::{CheckQuestion, WholeBook};
use crate::share::{PackAsk, PictureFolder, Precision};

/// Lines of a list that are shown; the command `check` tells all.
const MOST_LINES: usize = 12;
/// Things that are shown where one line that stands for many is unfolded.
const MOST_UNFOLDED: usize = 60;

/// The chosen permission: what was agreed, of which time, and what would leave.
pub(super) fn show(ui: &mut Ui, permission: &Permission, shown: &FrameContext<'_>, state: &mut State) {
    ui.label(format!("Finds on its ground only, places {}.", Precision::granted(permission).said()));
    let by_kind = PlaceRule::words_of_all(&permission.agreed.places);
    for (what, text) in [("places of", &by_kind), ("terms", &permission.terms), ("wants reported", &permission.report)] {
        if !text.is_empty() {
            ui.label(soft(ui, format!("{what}: {text}")));
        }
    }
    if ui.button("Terms ...").on_hover_text("What was agreed with the holder, and how places are told").clicked() {
        state.dialog = Some(Dialog::Permission(Box::new(PermissionForm::of_permission(permission))));
    }
    let receipts = shown.book.receipts().values().filter(|r| r.permission == permission.uid);
    if let Some(last) = receipts.max_by_key(|r| r.time) {
        let (day, n) = (shown.time(last.time, "%-d %b %Y"), last.finds.len());
        ui.label(soft(ui, format!("Last handed over on {day}: {n} find(s).")));
    }
    heading(ui, "Of which time");
    let view = &mut state.share;
    let refusal = view.asked().err();
    for (name, word, text) in [("First day told", "first day", &mut view.from), ("Last day told", "last day", &mut view.to)] {
        ui.horizontal(|ui| {
            let label = ui.label(name);
            ui.add(TextEdit::singleline(text).desired_width(110.0).hint_text("any")).labelled_by(label.id);
        });
        if let Some(why) = refusal.as_deref().filter(|why| why.starts_with(word)) {
            warning(ui, why);
        }
    }
    switch(ui, &mut view.new_only, "only what was not handed over before");
    switch(ui, &mut view.pictures, "with pictures, made anew of their pixels");
    let pictures_in = shown.folder.filter(|_| view.pictures);
    if let Ok(asked) = view.asked() {
        if ui.button("Show what would leave").clicked() {
            state.commands.push(Command::Preview);
        }
        let book = WholeBook(shown.book.clone());
        // Never an old one: of another book, permission or time.
        let is_asked = |(of, ask): &(Uid, PackAsk)| {
            let has_pictures = ask.photos.as_ref().map(PictureFolder::path) == pictures_in;
            has_pictures && asked.as_ref() == Some(&(*of, PackAsk { photos: None, ..ask.clone() }))
        };
        let fresh = state.share.preview.as_ref().filter(|p| p.book == book && is_asked(&p.asked));
        if let Some(preview) = fresh {
            let lines = preview.made.said.iter().chain(&preview.made.leaves);
            let text: Vec<&str> = lines.map(String::as_str).collect();
            ScrollArea::vertical().id_salt("leaves").max_height(220.0).show_rows(ui, 16.0, text.len(), |ui, rows| {
                text[rows].iter().for_each(|line| drop(ui.label(soft(ui, *line).size(12.5))));
            });
        }
    }
}

/// What no permission covers, and what may have to be reported.
pub(super) fn checked(ui: &mut Ui, shown: &FrameContext<'_>) {
    let Some(checked) = shown.answers.answer::<CheckQuestion>().fresh() else { return };
    if !checked.flags.is_empty() {
        heading(ui, "Not covered by a permission, or on closed ground");
        // What differs in nothing but the name of the thing is alike.
        let said = |f: &Flag| f.sentence.strip_prefix(name_of(shown, f.uid).as_str()).unwrap_or(&f.sentence).to_owned();
        let groups = alike(&checked.flags, |f| (f.why, f.of, said(f)));
        for group in groups.iter().take(MOST_LINES) {
            let Some(first) = group.first() else { continue };
            warning(ui, &first.sentence);
            unfolded(ui, ("flags alike", first.uid), shown, group.iter().map(|f| f.uid));
        }
        more(ui, &groups);
    }
    if !checked.reminders.is_empty() {
        heading(ui, "May have to be reported, not yet answered");
        let groups = alike(&checked.reminders, |(uid, r)| (name_of(shown, *uid), r.subject.label(), r.by, r.says.as_str()));
        for group in groups.iter().take(MOST_LINES) {
            let Some((uid, reminder)) = group.first() else { continue };
            let by = reminder.by.map_or_else(String::new, |by| format!(", by {by}"));
            let line = format!("{}: {}{by}", name_of(shown, *uid), reminder.subject.label());
            ui.label(line).on_hover_text(&reminder.says);
            unfolded(ui, ("reminders alike", *uid), shown, group.iter().map(|(uid, _)| *uid));
        }
        more(ui, &groups);
        ui.label(soft(ui, "Note with the find to whom it was reported, or why it need not be.").size(13.0));
    }
    checked.crossing_said().iter().for_each(|said| warning(ui, said));
    // Where no list knows the place that is said openly: nothing below the line would pass for nothing to be asked.
    egui::CollapsingHeader::new("What the law may ask here").default_open(checked.law.is_empty()).show(ui, |ui| {
        for line in law_said(&checked.lies_in) {
            ui.label(line);
        }
        if let Some(how) = checked.lies_in.to_settle() {
            ui.label(how);
        }
    });
}

/// What has the same key together, in the order in which each key came first.
fn alike<'t, T, K: Ord>(all: &'t [T], key: impl Fn(&'t T) -> K) -> Vec<Vec<&'t T>> {
    let (mut places, mut groups) = (BTreeMap::new(), Vec::<Vec<&'t T>>::new());
    for one in all {
        let place = *places.entry(key(one)).or_insert(groups.len());
        match groups.get_mut(place) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
}

/// What a find or an outing is called.
fn name_of(shown: &FrameContext<'_>, uid: Uid) -> String {
    let find = shown.book.finds().get(&uid).map(|f| if f.what.is_empty() { f.kind.label().to_owned() } else { f.what.clone() });
    find.or_else(|| shown.book.outings().get(&uid).map(|o| o.name.clone())).unwrap_or_default()
}

/// Under a line that stands for several things: how many, and each of them once that is unfolded.
fn unfolded(ui: &mut Ui, salt: (&str, Uid), shown: &FrameContext<'_>, all: impl ExactSizeIterator<Item = Uid>) {
    let count = all.len();
    if count < 2 {
        return;
    }
    egui::CollapsingHeader::new(format!("all {count} of them")).id_salt(salt).show(ui, |ui| {
        for uid in all.take(MOST_UNFOLDED) {
            let find = shown.book.finds().get(&uid).map(|f| f.time);
            let time = find.unwrap_or_else(|| shown.book.outings().get(&uid).map(|o| o.start));
            let when = time.map_or_else(|| "day not known".to_owned(), |t| shown.time(t, "%-d %b %Y %H:%M"));
            ui.label(soft(ui, format!("{}, {when}", name_of(shown, uid))).size(13.0));
        }
        if count > MOST_UNFOLDED {
            ui.label(soft(ui, format!("and {} more", count - MOST_UNFOLDED)).size(13.0));
        }
    });
}

/// How many things the groups hold that are not shown.
fn more<T>(ui: &mut Ui, groups: &[Vec<&T>]) {
    let left: usize = groups.iter().skip(MOST_LINES).map(Vec::len).sum();
    if left > 0 {
        ui.label(soft(ui, format!("and {left} more")));
    }
}
