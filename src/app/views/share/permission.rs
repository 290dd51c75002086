//! Share, under a permission: its terms, the period, what exactly would leave, and what stands against finds.

use egui::{ScrollArea, TextEdit, Ui};

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
    for (name, text) in [("First day told", &mut view.from), ("Last day told", &mut view.to)] {
        ui.horizontal(|ui| {
            let label = ui.label(name);
            ui.add(TextEdit::singleline(text).desired_width(110.0).hint_text("any")).labelled_by(label.id);
        });
    }
    switch(ui, &mut view.new_only, "only what was not handed over before");
    switch(ui, &mut view.pictures, "with pictures, made anew of their pixels");
    let pictures_in = shown.folder.filter(|_| view.pictures);
    match view.asked() {
        Err(why) => warning(ui, &why),
        Ok(asked) => {
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
}

/// What no permission covers, and what may have to be reported.
pub(super) fn checked(ui: &mut Ui, shown: &FrameContext<'_>) {
    let Some(checked) = shown.answers.answer::<CheckQuestion>().fresh() else { return };
    if !checked.flags.is_empty() {
        heading(ui, "Not covered by a permission, or on closed ground");
        checked.flags.iter().take(MOST_LINES).for_each(|f| warning(ui, &f.sentence));
        more(ui, checked.flags.len());
    }
    if !checked.reminders.is_empty() {
        heading(ui, "May have to be reported, not yet answered");
        for (uid, reminder) in checked.reminders.iter().take(MOST_LINES) {
            let what = shown.book.finds().get(uid).map_or("", |f| if f.what.is_empty() { f.kind.label() } else { &f.what });
            let by = reminder.by.map_or_else(String::new, |by| format!(", by {by}"));
            ui.label(format!("{what}: {}{by}", reminder.subject.label())).on_hover_text(&reminder.says);
        }
        more(ui, checked.reminders.len());
        ui.label(soft(ui, "Note with the find to whom it was reported, or why it need not be.").size(13.0));
    }
    // Where no list knows the place that is said openly: nothing below the line would pass for nothing to be asked.
    egui::CollapsingHeader::new("What the law may ask here").default_open(checked.law.is_empty()).show(ui, |ui| {
        for line in law_said(checked.country.zip(checked.country_name)) {
            ui.label(line);
        }
    });
}

fn more(ui: &mut Ui, all: usize) {
    if all > MOST_LINES {
        ui.label(soft(ui, format!("and {} more", all - MOST_LINES)));
    }
}
