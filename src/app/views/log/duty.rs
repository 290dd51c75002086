//! What may have to be reported of the find that is typed, at once.

use egui::Ui;

use crate::app::state::FrameContext;
use crate::app::widgets::controls::warning;
use crate::book::Find;
use crate::duties::reminders;
use crate::query::CheckQuestion;

/// Warns of each duty that the find may carry, until it is said to whom it was reported.
pub(super) fn show(ui: &mut Ui, find: &Find, shown: &FrameContext<'_>) {
    let countries = shown.newest::<CheckQuestion>().map(|(checked, _)| checked.lies_in.codes()).unwrap_or_default();
    let day = find.time.map(|t| shown.zone.to_datetime(t).date());
    for reminder in reminders(find, day, &countries) {
        let by = reminder.by.map_or_else(String::new, |by| format!(" By {by}."));
        warning(ui, &format!("{}{by}", reminder.says));
    }
}
