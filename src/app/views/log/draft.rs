//! The form of one find, signal or outing: its fields, and what is kept of them.

use egui::{Grid, Ui};
use jiff::Timestamp;
use jiff::civil::DateTime;

use super::draft_fields::{heard_with, kind, line, outing, setup, weight};
use super::{draft_more, duty};
use crate::app::state::FrameContext;
use crate::app::state::State;
use crate::app::state::draft::{DraftForm, Subject, TIME};
use crate::app::widgets::controls::{one_of, switch, warning};
use crate::app::widgets::theme::strong;
use crate::app::widgets::typed::number;
use crate::bench::read_ids;
use crate::book::{Aside, Edit, Find, Outing, Record, RecordKind, SandNote, Signal, Steadiness};
use crate::earth::LonLat;
use crate::query::Item;

impl DraftForm {
    /// The record as typed, or the sentence about the first field that cannot be.
    fn finish(&self, shown: &FrameContext<'_>) -> Result<Record, String> {
        let time = |what: &str, text: &str| -> Result<Option<Timestamp>, String> {
            let text = text.trim();
            if text.is_empty() {
                return Ok(None);
            }
            // Typed as it was shown, it means the very same instant: seconds are not lost.
            let civil = DateTime::strptime(TIME, text)
                .map_err(|_| format!("{what}: \"{text}\" is not a time such as 2027-01-12 06:40"))?;
            let zoned =
                civil.to_zoned_datetime(shown.zone.clone()).map_err(|_| format!("{what}: \"{text}\" is beyond the calendar"))?;
            Ok(Some(zoned.timestamp()))
        };
        // What was not touched keeps all its digits.
        let placed = |was: LonLat| -> Result<LonLat, String> {
            if format!("{:.6}", was.lat_deg()) == self.lat && format!("{:.6}", was.lon_deg()) == self.lon {
                return Ok(was);
            }
            let degrees = |what: &str, text: &str| number(what, text)?.ok_or_else(|| format!("{what} is missing"));
            LonLat::new(degrees("longitude", &self.lon)?, degrees("latitude", &self.lat)?).map_err(|e| e.to_string())
        };
        let timed = |was: Option<Timestamp>| -> Result<Option<Timestamp>, String> {
            let same = was.map_or_else(String::new, |t| shown.time(t, TIME)) == self.from;
            if same { Ok(was) } else { time("time", &self.from) }
        };
        match &self.subject {
            Subject::Signal(signal) => {
                let step = self.gauge_step.trim();
                let gauge_step = match step {
                    "" => None,
                    text => Some(text.parse().map_err(|_| format!("gauge step: \"{text}\" is not a whole number"))?),
                };
                let target_ids = read_ids(&self.target_ids).map_err(|e| e.to_string())?;
                let (at, time) = (placed(signal.at)?, timed(signal.time)?);
                Ok(Signal { at, time, target_ids, gauge_step, ..(**signal).clone() }.into())
            }
            Subject::Find(find) => Ok(Find {
                at: placed(find.at)?,
                time: timed(find.time)?,
                depth_m: number("depth", &self.depth_cm)?.map(|cm| cm / 100.0),
                target_id: number("target ID", &self.target_id)?,
                mass_g: number("mass", &self.mass_g)?,
                more: find
                    .more
                    .iter()
                    .filter(|(_, text)| !text.trim().is_empty())
                    .map(|(t, text)| (t.clone(), text.clone()))
                    .collect(),
                ..(**find).clone()
            }
            .into()),
            Subject::Outing(outing) => {
                let instant = |what: &str, text: &str| time(what, text)?.ok_or_else(|| format!("{what} is missing"));
                let (start, end) = (instant("start", &self.from)?, instant("end", &self.to)?);
                // What was not touched keeps its seconds.
                let same = Aside::words_of_all(&outing.asides, shown.zone) == self.asides.trim();
                let asides = if same {
                    outing.asides.clone()
                } else {
                    Aside::read_all(&self.asides, start, shown.zone).map_err(|e| e.to_string())?
                };
                let litter_kg = number("litter", &self.litter_kg)?;
                let mut made = Outing { start, end, asides, litter_kg, ..(**outing).clone() };
                if self.new {
                    made.uid = Outing::new(outing.beach, start, end).uid;
                }
                Ok(made.into())
            }
        }
    }
}

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut DraftForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let title = match (&form.subject, form.new) {
        (Subject::Find(_), true) if form.digs.is_some() => "Dug: what was it?",
        (Subject::Signal(_), true) => "New signal",
        (Subject::Signal(_), false) => "Signal",
        (Subject::Find(_), true) => "New find",
        (Subject::Find(_), false) => "Find",
        (Subject::Outing(_), true) => "New outing",
        (Subject::Outing(_), false) => "Outing",
    };
    ui.label(strong(title).size(15.5));
    let focus = std::mem::take(&mut form.focus);
    Grid::new("draft").num_columns(2).spacing([10.0, 4.0]).show(ui, |ui| match &mut form.subject {
        Subject::Find(find) => {
            let what = line(ui, "What", &mut find.what, 220.0, "");
            if focus {
                what.request_focus();
            }
            if what.changed() && !form.kind_by_hand {
                find.kind = shown.book.recognise(&find.what);
            }
            form.kind_by_hand |= kind(ui, find, shown);
            weight(ui, find);
            line(ui, "Depth, cm", &mut form.depth_cm, 70.0, "");
            line(ui, "Target ID", &mut form.target_id, 70.0, "of your own machine");
            line(ui, "Mass, g", &mut form.mass_g, 70.0, "");
            line(ui, "Time", &mut form.from, 130.0, "beach time");
            line(ui, "Latitude", &mut form.lat, 110.0, "degrees north");
            line(ui, "Longitude", &mut form.lon, 110.0, "degrees east");
            outing(ui, &mut find.outing, find.beach, shown);
            line(ui, "Photo", &mut find.photo, 150.0, "PNG or JPEG beside the book");
            line(ui, "Note", &mut find.notes, 220.0, "");
        }
        Subject::Signal(signal) => {
            let ids = line(ui, "Target IDs", &mut form.target_ids, 130.0, "as they came: 60 61 60");
            if focus {
                ids.request_focus();
            }
            one_of(ui, "Steadiness", &mut signal.steadiness, Steadiness::ALL, |s| s.label());
            line(ui, "Gauge step", &mut form.gauge_step, 70.0, "");
            line(ui, "Time", &mut form.from, 130.0, "beach time");
            line(ui, "Latitude", &mut form.lat, 110.0, "degrees north");
            line(ui, "Longitude", &mut form.lon, 110.0, "degrees east");
            outing(ui, &mut signal.outing, signal.beach, shown);
            heard_with(ui, signal.outing, shown);
            line(ui, "Note", &mut signal.notes, 220.0, "");
        }
        Subject::Outing(outing) => {
            let name = line(ui, "Name", &mut outing.name, 220.0, "");
            if focus {
                name.request_focus();
            }
            line(ui, "Start", &mut form.from, 130.0, "beach time");
            line(ui, "End", &mut form.to, 130.0, "beach time");
            setup(ui, outing, shown);
            ui.label("Sand");
            ui.horizontal_wrapped(|ui| {
                for note in SandNote::ALL {
                    let mut on = outing.sand.contains(note);
                    if switch(ui, &mut on, note.label()).changed() {
                        outing.sand.retain(|n| n != note);
                        if on {
                            outing.sand.push(*note);
                        }
                    }
                }
            });
            ui.end_row();
            let said = "06:40-07:10 wading; 07:30-08:00 not me (or not on foot, or kept clear)";
            line(ui, "Set aside", &mut form.asides, 220.0, said);
            one_of(ui, "Holes filled", &mut outing.holes_filled, &[true, false], |all| if *all { "all" } else { "not all" });
            line(ui, "Litter taken, kg", &mut form.litter_kg, 70.0, "");
            line(ui, "Note", &mut outing.notes, 220.0, "");
        }
    });
    if let Subject::Find(find) = &mut form.subject {
        draft_more::show(ui, find, shown);
        duty::show(ui, find, shown);
    }
    if let Some(why) = &form.refusal {
        warning(ui, why);
    }
    let enter = ui.input(|i| i.modifiers.command && i.key_pressed(egui::Key::Enter));
    let mut done = false;
    ui.horizontal(|ui| {
        if ui.button("Keep").on_hover_text("Ctrl+Enter").clicked() || enter {
            done = keep(form, shown, state);
        }
        done |= ui.button("Leave").on_hover_text("Change nothing").clicked();
    });
    done
}

fn keep(form: &mut DraftForm, shown: &FrameContext<'_>, state: &mut State) -> bool {
    let tried = form.finish(shown).and_then(|record| {
        let put = Edit::put(record.clone());
        let edit = match form.digs {
            Some(signal) => Edit::Batch(vec![put, Edit::Remove(RecordKind::Signal, signal)]),
            None => put,
        };
        shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
        Ok((record, edit))
    });
    match tried {
        Ok((record, edit)) => {
            let said = if form.digs.is_some() {
                "dig signal".to_owned()
            } else {
                format!("{} {}", if form.new { "add" } else { "change" }, record.kind())
            };
            state.apply(edit, said);
            match record {
                Record::Signal(s) => state.selection.only(Item::Signal(s.uid)),
                Record::Find(f) => state.selection.only(Item::Find(f.uid)),
                Record::Outing(o) => state.selection.only(Item::Outing(o.uid)),
                _ => {}
            }
            true
        }
        Err(why) => {
            form.refusal = Some(why);
            false
        }
    }
}
