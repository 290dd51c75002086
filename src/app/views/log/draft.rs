//! The form of one find, signal or outing, with its figures as they are typed.

use egui::{Grid, Ui};
use jiff::Timestamp;
use jiff::civil::DateTime;

use super::draft_fields::{heard_with, kind, line, outing, setup, weight};
use crate::app::State;
use crate::app::dialogs::beach_form::number;
use crate::app::item::Item;
use crate::app::state::Shown;
use crate::app::views::bench::words;
use crate::app::widgets::controls::{switch, warning};
use crate::app::widgets::theme::strong;
use crate::bench::{find_of, read_ids};
use crate::book::{Edit, Find, Kind, Outing, Record, RecordKind, SandNote, Signal, Steadiness, Uid};
use crate::earth::LonLat;

/// How a time is typed, in the beach's time.
const TIME: &str = "%Y-%m-%d %H:%M";

enum Subject {
    Find(Box<Find>),
    Signal(Box<Signal>),
    Outing(Box<Outing>),
}

/// A find, signal or outing being edited.
pub(crate) struct DraftForm {
    subject: Subject,
    new: bool,
    /// The signal that turns into this find once it is kept.
    digs: Option<Uid>,
    /// The kind follows the words until it is chosen by hand.
    kind_by_hand: bool,
    depth_cm: String,
    target_id: String,
    target_ids: String,
    gauge_step: String,
    mass_g: String,
    from: String,
    to: String,
    lat: String,
    lon: String,
    refusal: Option<String>,
    focus: bool,
}

impl DraftForm {
    fn blank(subject: Subject, new: bool) -> Self {
        let text = String::new;
        Self {
            subject,
            new,
            digs: None,
            kind_by_hand: !new,
            depth_cm: text(),
            target_id: text(),
            target_ids: text(),
            gauge_step: text(),
            mass_g: text(),
            from: text(),
            to: text(),
            lat: text(),
            lon: text(),
            refusal: None,
            focus: true,
        }
    }

    pub(crate) fn of_find(shown: &Shown<'_>, find: Find, new: bool) -> Self {
        // At most as many digits as anyone measures, so that an untouched field says what it said.
        let text = |v: Option<f64>| v.map_or_else(String::new, |v| ((v * 1000.0).round() / 1000.0).to_string());
        let (depth_cm, target_id, mass_g) = (text(find.depth_m.map(|d| d * 100.0)), text(find.target_id), text(find.mass_g));
        let from = find.time.map_or_else(String::new, |t| shown.time(t, TIME));
        let (lat, lon) = (format!("{:.6}", find.at.lat_deg()), format!("{:.6}", find.at.lon_deg()));
        Self { depth_cm, target_id, mass_g, from, lat, lon, ..Self::blank(Subject::Find(Box::new(find)), new) }
    }

    pub(crate) fn of_outing(shown: &Shown<'_>, outing: Outing, new: bool) -> Self {
        let (from, to) = (shown.time(outing.start, TIME), shown.time(outing.end, TIME));
        Self { from, to, ..Self::blank(Subject::Outing(Box::new(outing)), new) }
    }

    pub(crate) fn of_signal(shown: &Shown<'_>, signal: Signal, new: bool) -> Self {
        let ids: Vec<String> = signal.target_ids.iter().map(ToString::to_string).collect();
        let gauge_step = signal.gauge_step.map_or_else(String::new, |s| s.to_string());
        let from = signal.time.map_or_else(String::new, |t| shown.time(t, TIME));
        let (lat, lon) = (format!("{:.6}", signal.at.lat_deg()), format!("{:.6}", signal.at.lon_deg()));
        let blank = Self::blank(Subject::Signal(Box::new(signal)), new);
        Self { target_ids: ids.join(" "), gauge_step, from, lat, lon, ..blank }
    }

    /// The find that a signal proves to be; keeping it takes the signal out in the same step.
    pub(crate) fn dig(shown: &Shown<'_>, signal: &Signal) -> Self {
        Self { digs: Some(signal.uid), ..Self::of_find(shown, find_of(signal), true) }
    }

    /// A find in the middle of Plan at the instant shown; both can be typed over.
    pub(crate) fn new_find(shown: &Shown<'_>, state: &State) -> Option<Self> {
        let beach = shown.beach?;
        let mut find = Find::new(beach.uid, middle_of_plan(shown, state)?, "", Kind::keyed("other"));
        find.time = Some(state.clock.at);
        find.outing = outing_at(shown, state.clock.at);
        Some(Self::of_find(shown, find, true))
    }

    /// A signal in the middle of Plan at the instant shown; both can be typed over.
    pub(crate) fn new_signal(shown: &Shown<'_>, state: &State) -> Option<Self> {
        let mut signal = Signal::new(shown.beach?.uid, middle_of_plan(shown, state)?);
        signal.time = Some(state.clock.at);
        signal.outing = outing_at(shown, state.clock.at);
        Some(Self::of_signal(shown, signal, true))
    }

    pub(crate) fn new_outing(shown: &Shown<'_>, at: Timestamp) -> Option<Self> {
        let end = at.checked_add(jiff::SignedDuration::from_hours(2)).ok()?;
        Some(Self::of_outing(shown, Outing::new(shown.beach?.uid, at, end), true))
    }

    /// The record as typed, or the sentence about the first field that cannot be.
    fn finish(&self, shown: &Shown<'_>) -> Result<Record, String> {
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
                ..(**find).clone()
            }
            .into()),
            Subject::Outing(outing) => {
                let instant = |what: &str, text: &str| time(what, text)?.ok_or_else(|| format!("{what} is missing"));
                let (start, end) = (instant("start", &self.from)?, instant("end", &self.to)?);
                let mut made = Outing { start, end, ..(**outing).clone() };
                if self.new {
                    made.uid = Outing::new(outing.beach, start, end).uid;
                }
                Ok(made.into())
            }
        }
    }
}

/// The place in the middle of Plan, or the beach's own where Plan shows none.
fn middle_of_plan(shown: &Shown<'_>, state: &State) -> Option<LonLat> {
    let beach = shown.beach?;
    let middle = state.plan.look().zip(state.plan.canvas).map(|(look, canvas)| look.spot(canvas.center()));
    let at = middle.zip(shown.land()).and_then(|(spot, land)| land.placing.to_lonlat(state.plan.lay_index(), spot).ok());
    Some(at.unwrap_or(beach.origin))
}

/// The outing during which an instant lies, give or take half an hour.
fn outing_at(shown: &Shown<'_>, at: Timestamp) -> Option<Uid> {
    let beach = shown.beach?;
    shown.book.outings_of(beach.uid).into_iter().find(|o| o.covers(at, 1800)).map(|o| o.uid)
}

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut DraftForm, shown: &Shown<'_>, state: &mut State) -> bool {
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
            words(ui, "Steadiness", &mut signal.steadiness, Steadiness::ALL, |s| s.label());
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
            line(ui, "Note", &mut outing.notes, 220.0, "");
        }
    });
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

fn keep(form: &mut DraftForm, shown: &Shown<'_>, state: &mut State) -> bool {
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
