//! Next low: the coming low waters and how long each band lies dry.

use std::collections::{BTreeMap, BTreeSet};

use egui::Ui;
use jiff::Timestamp;

use super::{dry_place, lows};
use crate::app::State;
use crate::app::controls::warning;
use crate::app::shown::Shown;
use crate::app::theme::soft;
use crate::route::BlockId;
use crate::tide::CAUTION;

/// The low chosen and how its route is planned.
#[derive(Debug, Clone)]
pub(crate) struct NextLowView {
    pub(crate) low: Option<Timestamp>,
    /// Minutes before low water at which one sets out at the earliest.
    pub(crate) before_min: i64,
    pub(crate) head_torch: bool,
    /// The run-up while it is being changed; the beach keeps it.
    pub(crate) run_up_m: Option<f64>,
    pub(crate) excluded: BTreeSet<BlockId>,
    /// What was planned for other lows, to compare.
    pub(crate) planned: BTreeMap<Timestamp, Planned>,
    pub(crate) folder: String,
}

impl Default for NextLowView {
    fn default() -> Self {
        Self {
            low: None,
            before_min: 240,
            head_torch: false,
            run_up_m: None,
            excluded: BTreeSet::new(),
            planned: BTreeMap::new(),
            folder: String::new(),
        }
    }
}

/// A route in a few figures.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Planned {
    pub(crate) turn_back: Timestamp,
    pub(crate) finds: f64,
    pub(crate) back: Timestamp,
}

pub(super) fn show(ui: &mut Ui, shown: &Shown<'_>, state: &mut State) {
    warning(ui, "Times are predictions. Turn back well before the water does, and mind what closes behind you.");
    ui.label(soft(ui, CAUTION).size(13.0));
    let Some(water) = shown.water() else {
        ui.add_space(6.0);
        ui.label("There is no tide source for this beach: choose a station or a tide table under Beach.");
        return;
    };
    ui.label(soft(ui, shown.source_line()).size(13.0));
    for note in shown.land().map_or(&[][..], |l| l.setting.source_notes.as_slice()) {
        ui.label(soft(ui, note.as_str()).size(13.0));
    }
    super::route::show(ui, shown, state);
    dry_place::show(ui, shown, state);
    lows::show(ui, shown, state, water);
}
