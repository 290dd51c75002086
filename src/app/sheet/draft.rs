//! The form of one find or outing, with its figures as they are typed.

use egui::{ComboBox, Grid, TextEdit, Ui};
use jiff::Timestamp;
use jiff::civil::DateTime;

use crate::app::State;
use crate::app::beach_form::number;
use crate::app::controls::{switch, warning};
use crate::app::shown::Shown;
use crate::app::state::Item;
use crate::app::theme::{soft, strong};
use crate::book::{Edit, Find, Kind, Kinds, Outing, Record, SandNote, Uid, Weight};
use crate::earth::LonLat;

/// How a time is typed, in the beach's time.
const TIME: &str = "%Y-%m-%d %H:%M";

enum Subject {
    Find(Box<Find>),
    Outing(Box<Outing>),
}

/// A find or outing being edited.
pub(crate) struct DraftForm {
    subject: Subject,
    new: bool,
    /// The kind follows the words until it is chosen by hand.
    kind_by_hand: bool,
    depth_cm: String,
    target_id: String,
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
            kind_by_hand: !new,
            depth_cm: text(),
            target_id: text(),
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

    /// A find in the middle of Plan at the instant shown; both can be typed over.
    pub(crate) fn new_find(shown: &Shown<'_>, state: &State) -> Option<Self> {
        let beach = shown.beach?;
        let middle = state.plan.look().zip(state.plan.canvas).map(|(look, canvas)| look.spot(canvas.center()));
        let at = middle.zip(shown.land()).and_then(|(spot, land)| land.placing.to_lonlat(state.plan.lay_index(), spot).ok());
        let mut find = Find::new(beach.uid, at.unwrap_or(beach.origin), "", Kind::keyed("other"));
        find.time = Some(state.clock.at);
        find.outing = outing_at(shown, state.clock.at);
        Some(Self::of_find(shown, find, true))
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
        match &self.subject {
            Subject::Find(find) => {
                let degrees = |what: &str, text: &str| number(what, text)?.ok_or_else(|| format!("{what} is missing"));
                let typed =
                    LonLat::new(degrees("longitude", &self.lon)?, degrees("latitude", &self.lat)?).map_err(|e| e.to_string())?;
                let same_place =
                    format!("{:.6}", find.at.lat_deg()) == self.lat && format!("{:.6}", find.at.lon_deg()) == self.lon;
                let same_time = find.time.map_or_else(String::new, |t| shown.time(t, TIME)) == self.from;
                Ok(Find {
                    at: if same_place { find.at } else { typed },
                    time: if same_time { find.time } else { time("time", &self.from)? },
                    depth_m: number("depth", &self.depth_cm)?.map(|cm| cm / 100.0),
                    target_id: number("target ID", &self.target_id)?,
                    mass_g: number("mass", &self.mass_g)?,
                    ..(**find).clone()
                }
                .into())
            }
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

/// The outing during which an instant lies, give or take half an hour.
fn outing_at(shown: &Shown<'_>, at: Timestamp) -> Option<Uid> {
    let beach = shown.beach?;
    shown.book.outings_of(beach.uid).into_iter().find(|o| o.covers(at, 1800)).map(|o| o.uid)
}

/// Shows the form; whether it is done with.
pub(super) fn show(ui: &mut Ui, form: &mut DraftForm, shown: &Shown<'_>, state: &mut State) -> bool {
    let title = match (&form.subject, form.new) {
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
                find.kind = Kinds::shipped().recognise(&find.what);
            }
            form.kind_by_hand |= kind(ui, find);
            weight(ui, find);
            line(ui, "Depth, cm", &mut form.depth_cm, 70.0, "");
            line(ui, "Target ID", &mut form.target_id, 70.0, "of your own machine");
            line(ui, "Mass, g", &mut form.mass_g, 70.0, "");
            line(ui, "Time", &mut form.from, 130.0, "beach time");
            line(ui, "Latitude", &mut form.lat, 110.0, "degrees north");
            line(ui, "Longitude", &mut form.lon, 110.0, "degrees east");
            outing(ui, find, shown);
            line(ui, "Note", &mut find.notes, 220.0, "");
        }
        Subject::Outing(outing) => {
            let name = line(ui, "Name", &mut outing.name, 220.0, "");
            if focus {
                name.request_focus();
            }
            line(ui, "Start", &mut form.from, 130.0, "beach time");
            line(ui, "End", &mut form.to, 130.0, "beach time");
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
        let edit = Edit::put(record.clone());
        shown.book.clone().apply(&edit).map_err(|e| e.to_string())?;
        Ok((record, edit))
    });
    match tried {
        Ok((record, edit)) => {
            state.apply(edit, format!("{} {}", if form.new { "add" } else { "change" }, record.kind()));
            match record {
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

fn line(ui: &mut Ui, label: &str, text: &mut String, width: f32, hint: &str) -> egui::Response {
    let name = ui.label(label);
    let response = ui
        .horizontal(|ui| {
            let field = ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(name.id);
            if !hint.is_empty() {
                ui.label(soft(ui, hint).size(12.5));
            }
            field
        })
        .inner;
    ui.end_row();
    response
}

/// Whether the kind was chosen by hand.
fn kind(ui: &mut Ui, find: &mut Find) -> bool {
    let name = ui.label("Kind");
    let before = find.kind.clone();
    let combo = ComboBox::from_id_salt("kind").selected_text(find.kind.label()).width(190.0).show_ui(ui, |ui| {
        for kind in Kinds::shipped().all() {
            ui.selectable_value(&mut find.kind, kind.clone(), kind.label());
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
    find.kind != before
}

fn weight(ui: &mut Ui, find: &mut Find) {
    let name = ui.label("Weight");
    let usual = format!("as usual for its kind ({})", find.kind.weight());
    let said = find.weight.map_or_else(|| usual.clone(), |w| w.label().to_owned());
    let combo = ComboBox::from_id_salt("weight").selected_text(said).width(190.0).show_ui(ui, |ui| {
        ui.selectable_value(&mut find.weight, None, usual);
        for weight in Weight::ALL {
            ui.selectable_value(&mut find.weight, Some(*weight), weight.label());
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}

fn outing(ui: &mut Ui, find: &mut Find, shown: &Shown<'_>) {
    let name = ui.label("Outing");
    let said = find.outing.map_or_else(|| "none".to_owned(), |o| shown.name_of(Item::Outing(o)));
    let combo = ComboBox::from_id_salt("outing").selected_text(said).width(220.0).show_ui(ui, |ui| {
        ui.selectable_value(&mut find.outing, None, "none");
        for outing in shown.book.outings_of(find.beach).into_iter().rev() {
            ui.selectable_value(&mut find.outing, Some(outing.uid), shown.name_of(Item::Outing(outing.uid)));
        }
    });
    combo.response.labelled_by(name.id);
    ui.end_row();
}
