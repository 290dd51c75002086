//! What planning and reading lack of a beach, said where it is missed, with one press to where it is given.

use egui::{Frame, Margin, Stroke, Ui};

use super::theme::{palette, soft, strong};
use crate::app::state::beach_form::BeachForm;
use crate::app::state::dialog::Dialog;
use crate::app::state::{FrameContext, State};
use crate::book::{Beach, TideChoice};

/// What is lacking of a beach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lacking {
    Tide,
    Offset,
}

/// That the offset is lacking, in one line.
pub(crate) const OFFSET: &str = "The datum offset is not set, so the tide cannot be laid on the sand.";

/// The first thing that is lacking, if anything is.
pub(crate) fn of_beach(beach: &Beach) -> Option<Lacking> {
    match (&beach.tide, beach.datum_offset_m) {
        (TideChoice::None, _) => Some(Lacking::Tide),
        (_, None) => Some(Lacking::Offset),
        (_, Some(_)) => None,
    }
}

/// Says what is lacking and what hangs on it. Whether anything was.
pub(crate) fn show(ui: &mut Ui, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let Some((beach, lacking)) = shown.beach.and_then(|b| Some((b, of_beach(b)?))) else { return false };
    let (head, said, button) = match lacking {
        Lacking::Tide => (
            "There is no tide source for this beach",
            "Without a station or a tide table of your own no low water, tide line or route can be told.",
            "Choose the tide ...",
        ),
        Lacking::Offset => (
            "The datum offset is missing",
            "Land heights and the tide count from different zeros. Until you say how many metres lie between them, the tide cannot \
             be laid on the sand: no tide lines or bands, no dry times, no route. It is never taken as zero.",
            "Set the datum offset ...",
        ),
    };
    // No card: that can be pressed as a whole, and would take the press meant for the button.
    let edge = Stroke::new(1.5, palette(ui.ctx()).danger);
    Frame::new().stroke(edge).inner_margin(Margin::symmetric(12, 8)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(strong(head));
        ui.label(soft(ui, said).size(13.0));
        if ui.button(button).clicked() {
            go(state, beach, lacking);
        }
    });
    ui.add_space(4.0);
    true
}

/// Opens the form of the beach where it is given.
pub(crate) fn go(state: &mut State, beach: &Beach, lacking: Lacking) {
    let form = match lacking {
        Lacking::Tide => BeachForm::from_beach(beach.clone()),
        Lacking::Offset => BeachForm::at_offset(beach.clone()),
    };
    state.dialog = Some(Dialog::Beach(Box::new(form)));
}
