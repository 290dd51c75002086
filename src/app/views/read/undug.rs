//! Undug: the signals heard and left, as the finds they are expected to be.

use egui::Ui;

use crate::app::widgets::controls::heading;
use crate::app::widgets::theme::soft;
use crate::reading::{ExpectedFinds, UndugReading};

/// Shows what the undug signals of a reading count for, band by band.
pub(super) fn show(ui: &mut Ui, undug: &UndugReading) {
    if undug.whole.signals == 0 && undug.unanswered == 0 {
        return;
    }
    heading(ui, "Heard and left");
    ui.label(format!("{}.", said(&undug.whole)));
    for band in undug.bands.iter().filter(|b| b.counts.signals > 0) {
        ui.label(soft(ui, format!("{}: {}", band.name, said(&band.counts))).size(13.0));
    }
    let unanswered = match undug.unanswered {
        0 => String::new(),
        n => format!(" {n} more signals have no answer, for want of a target ID or of readings with their set-up."),
    };
    ui.label(soft(ui, format!("By what the bench says each may be; they enter no rate.{unanswered}")).size(13.0));
}

fn said(e: &ExpectedFinds) -> String {
    let signals = if e.signals == 1 { "1 signal counts".to_owned() } else { format!("{} signals count", e.signals) };
    format!("{signals} as {:.1} finds worth going back for; by weight {:.1} heavy, {:.1} light", e.worthwhile, e.heavy, e.light)
}
